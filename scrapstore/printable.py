"""What may be shown of a text that somebody typed or a file brought along.

A name can hold bytes that move a terminal's cursor or that no SVG file may contain. Every printing
edge (terminal, JSON, sheets) passes its texts through here; typed texts that need it are refused.
"""

import re
from typing import Final

__all__ = ["escaped", "is_printable", "printable"]

_CONTROL: Final = re.compile(
    "["
    "\x00-\x08\x0b-\x1f\x7f-\x9f"  # control characters, but for tab and line feed
    "\u202a-\u202e\u2066-\u2069"  # turn the reading direction of what follows
    "\ud800-\udfff"  # bytes of a file name that are not UTF-8
    "\ufffe\uffff"  # no characters; not allowed in XML
    "]"
)


def printable(text: str) -> str:
    """Return `text` with `�` for each character that controls a terminal or is none.

    Tabs and line feeds stay. The result is fit for a terminal, UTF-8 and XML (once escaped there).
    """
    return _CONTROL.sub("\ufffd", text)


def is_printable(text: str) -> bool:
    """Return whether `printable` would leave `text` as it is."""
    return _CONTROL.search(text) is None


def escaped(json_text: str) -> str:
    r"""Return a JSON text with such characters as ``\u001b``: the same document, safe to show.

    Half of a surrogate pair, which stands for no character, becomes `�`.
    """
    return _CONTROL.sub(_escape, json_text)


def _escape(found: "re.Match[str]") -> str:
    code = ord(found[0])
    return "\ufffd" if 0xD800 <= code <= 0xDFFF else f"\\u{code:04x}"
