"""Known words near one that is not: every message that asks "did you mean" gets them here."""

from collections.abc import Collection, Iterable
from difflib import SequenceMatcher

__all__ = ["did_you_mean", "near_words", "perhaps"]

_ALIKE = 0.6
_MOST = 3


def near_words(word: str, known: Collection[str]) -> list[str]:
    """Return those of `known` that `word` may have been meant to be, the likeliest first.

    Capitals do not count. Beside words spelled alike, one that holds all of `word` counts, as
    "tea towel" is part of "galley tea towel".

    >>> near_words("teel", ["teal", "rust"]), near_words("sage", ["orange", "sage green"])
    (['teal'], ['sage green'])
    """
    plain = word.strip().lower()
    scores = {one: _likeness(plain, one.lower()) for one in known}
    best = max(scores.values(), default=0.0)
    near = [one for one in scores if scores[one] >= max(_ALIKE, best - 0.1)]
    return sorted(near, key=lambda one: -scores[one])[:_MOST]


def did_you_mean(
    word: str, known: Collection[str], *, listed: Collection[str] | None = None
) -> str:
    """Return ``did you mean teal?``, or what is known where nothing is near; no full stop.

    `listed` is shown in place of all that is known.
    """
    near = near_words(word, known)
    return _question(near) if near else f"use one of {', '.join(listed or known)}"


def perhaps(word: str, known: Collection[str], *, quoted: bool = False) -> str:
    """Return ``did you mean teal? Else `` where something is near, else nothing."""
    near = near_words(word, known)
    return f"{_question(map(repr, near) if quoted else near)} Else " if near else ""


def _question(near: Iterable[str]) -> str:
    return f"did you mean {' or '.join(near)}?"


def _likeness(word: str, known: str) -> float:
    """Return 0 to 1; words of different first letters must be the more alike."""
    if len(word) > 2 and f" {word} " in f" {known} ":
        return 0.9
    ratio = SequenceMatcher(None, word, known).ratio()
    return ratio if word[:1] == known[:1] else ratio - 0.2
