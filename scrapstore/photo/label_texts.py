"""What the code on a label of ours says: the number of a scrap, as ``SCRAP 12``.

Nothing in it belongs to one store's files: the number is the one that stands beside it in plain
figures. Capitals, figures and the space are the alphanumeric set of ISO/IEC 18004, so a number of
ten figures still fits the smallest symbol.
"""

import re
from typing import Final

__all__ = ["label_number", "label_text"]

_LABEL: Final = re.compile(r"\s*scrap\s*#?\s*([0-9]{1,9})\s*", re.IGNORECASE)


def label_text(number: int) -> str:
    """Return what the code of scrap `number` says.

    >>> label_text(12)
    'SCRAP 12'
    """
    return f"SCRAP {number}"


def label_number(text: str) -> int | None:
    """Return the number of the scrap that a code names, None for a code that is no label of ours.

    >>> label_number("scrap 12"), label_number("SCRAP 0"), label_number("https://scrap.test/12")
    (12, None, None)
    """
    found = _LABEL.fullmatch(text)
    return int(found[1]) or None if found else None
