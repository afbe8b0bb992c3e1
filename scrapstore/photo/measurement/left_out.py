"""What is said of things that were not measured: what to act on first, and where it lies."""

from collections.abc import Iterable, Sequence
from typing import Final

import shapely

from scrapstore.photo.forms import Refusal
from scrapstore.sentences import several

__all__ = ["letters", "most_helpful_first", "said_of_left_out"]

_MOST_NAMED: Final = 8
"""Letters in one sentence; of more, the others are counted."""


def most_helpful_first(refusals: Iterable[Refusal]) -> list[Refusal]:
    """Return the refusals in the order in which a person best acts on them.

    What lies over the scale comes first: it is surely there, and it spoils the measuring of the
    rest. Then by area in the picture, the largest first, as cloth is larger than creases, motifs
    and what lies at the rim; last what has no one place.
    """

    def rank(refusal: Refusal) -> tuple[bool, bool, float]:
        if refusal.in_picture is None:
            return (True, True, 0.0)
        area = float(shapely.Polygon(refusal.in_picture).buffer(0).area)
        return (False, refusal.code != "over the scale", -area)

    return sorted(refusals, key=rank)


def letters(refusals: Sequence[Refusal]) -> list[str]:
    """Return the letter that stands in the preview on each thing left out; "" without a place."""
    found: list[str] = []
    count = 0
    for refusal in refusals:
        found.append("" if refusal.in_picture is None else _letter(count))
        count += refusal.in_picture is not None
    return found


def _letter(number: int) -> str:
    """Return A to Z for 0 to 25, then AA, AB and so on."""
    more, last = divmod(number, 26)
    return (_letter(more - 1) if more else "") + chr(ord("A") + last)


def said_of_left_out(refusals: Sequence[Refusal]) -> list[str]:
    """Return a sentence for each reason, with the letters of all things that it holds for."""
    placed: dict[str, list[str]] = {}
    for refusal, letter in zip(refusals, letters(refusals), strict=True):
        placed.setdefault(str(refusal), []).extend([letter] if letter else [])
    return [
        f"{_named(where)} in the preview: {sentence}" if where else sentence
        for sentence, where in placed.items()
    ]


def _named(where: list[str]) -> str:
    if len(where) > _MOST_NAMED:
        return f"{', '.join(where[:_MOST_NAMED])} and {len(where) - _MOST_NAMED} more"
    return several(where)
