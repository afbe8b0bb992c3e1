"""Parts of sentences."""

from collections.abc import Sequence

__all__ = ["several"]


def several(words: Sequence[str], joined: str = "and") -> str:
    """Return the words with commas between, the last one joined by a word; nothing for none.

    >>> several(["a", "b", "c"]), several(["a", "b"], "or")
    ('a, b and c', 'a or b')
    """
    *first, last = words or [""]
    return f"{', '.join(first)} {joined} {last}" if first else last
