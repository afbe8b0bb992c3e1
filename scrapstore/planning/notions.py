"""Which batting, form and zip of the store will do for a cover."""

from collections.abc import Sequence
from itertools import combinations
from math import dist
from typing import Final

from scrapstore.store import Notion

__all__ = ["batting_for", "form_for", "zip_for"]

_NEAR: Final = 1e-6
_OFF: Final = 1.0
"""Inches by which the sides of a form may differ from what suits the pocket."""
_SHORT: Final = 0.7
"""Share of the opening that a zip takes up at least."""


def batting_for(pieces: Sequence[Notion], needed: tuple[float, float]) -> tuple[Notion, ...]:
    """Return the smallest piece that covers `needed`, else two that do so butted; else nothing.

    Two pieces lie edge to edge with nothing lapped; either may be turned.
    """
    one = [piece for piece in pieces if _ways(piece, needed)]
    if one:
        return (min(one, key=_area),)
    pairs = [
        pair
        for pair in combinations([each for each in pieces for _ in range(min(each.count, 2))], 2)
        if _butted(pair, needed)
    ]
    return min(pairs, key=lambda pair: sum(map(_area, pair)), default=())


def _ways(piece: Notion, needed: tuple[float, float]) -> bool:
    (short, long), (least, most) = sorted(_sides(piece)), sorted(needed)
    return short >= least - _NEAR and long >= most - _NEAR


def _butted(pair: tuple[Notion, ...], needed: tuple[float, float]) -> bool:
    """Tell whether two pieces lie side by side over `needed`, along either of its sides."""
    for across, deep in (needed, needed[::-1]):
        reach = 0.0
        for piece in pair:
            wide, high = _sides(piece)
            reach += max(
                (w for w, h in ((wide, high), (high, wide)) if h >= deep - _NEAR), default=0.0
            )
        if reach >= across - _NEAR:
            return True
    return False


def _sides(notion: Notion) -> tuple[float, float]:
    assert notion.width is not None  # a zip alone has none
    return notion.width, notion.length


def _area(notion: Notion) -> float:
    wide, high = _sides(notion)
    return wide * high


def form_for(forms: Sequence[Notion], wanted: tuple[float, ...]) -> Notion | None:
    """Return the form nearest to the one `wanted`; None where no side is within an inch of it."""
    if len(wanted) != 2:
        return None  # a form that is no rectangle is not stored
    aim = sorted(wanted)
    near = [
        form
        for form in forms
        if all(abs(a - b) <= _OFF + _NEAR for a, b in zip(sorted(_sides(form)), aim, strict=True))
    ]
    return min(near, key=lambda form: dist(sorted(_sides(form)), aim), default=None)


def zip_for(zips: Sequence[Notion], opening: float) -> Notion | None:
    """Return the longest zip that an opening of this length takes; else the shortest longer one.

    A longer one is sewn across and cut off.
    """
    fit = [one for one in zips if _SHORT * opening <= one.length <= opening + _NEAR]
    if fit:
        return max(fit, key=lambda one: one.length)
    longer = [one for one in zips if one.length > opening]
    return min(longer, key=lambda one: one.length, default=None)
