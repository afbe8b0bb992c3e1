"""Precuts of the trade: what of each can be used, and how its lengthwise grain runs.

The one place that knows it: sizes typed for the store, and trials with a fat quarter bought, both
come from here. Common practice, no source.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from shapely import Polygon, box

__all__ = ["Precut", "precuts"]


@dataclass(frozen=True, slots=True)
class Precut:
    """A precut as it can be used; `outline` in inches, its lower left corner at the origin.

    The measure said first lies level. `grain_deg` is the direction of the lengthwise grain in that
    frame, None where it is not known. `bought` is the nominal size, along the lengthwise
    grain first, where less than that can be used; else None.
    """

    name: str
    outline: Polygon
    grain_deg: float | None = None
    bought: tuple[float, float] | None = None


def precuts(usable_width: float, straightening: float) -> Mapping[str, Precut]:
    """Return the precuts by name, from fabric `usable_width` inches wide between the selvages.

    A fat quarter is half a yard, 18 in along the selvage, cut in two at the fold; so its lengthwise
    grain runs along the 18 in. It can be used over half the usable width, and squaring up its cut
    edges takes `straightening` inches of the 18. A fat eighth is half of that, 9 in along the
    selvage, or cut the other way (11 × 18). Squares are used to the edge; a strip is as long as the
    fabric is wide, between the selvages.

    >>> precuts(40, 0.5)["fat quarter"].outline.bounds
    (0.0, 0.0, 17.5, 20.0)
    """
    half, tall, low = usable_width / 2, 18 - straightening, 9 - straightening
    known = (
        Precut("fat quarter", box(0, 0, tall, half), 0.0, bought=(18, 22)),
        Precut("fat eighth", box(0, 0, low, half), 0.0, bought=(9, 22)),
        Precut("fat eighth 11 x 18", box(0, 0, half / 2, tall), 90.0, bought=(18, 11)),
        Precut("5 in square", box(0, 0, 5, 5)),
        Precut("10 in square", box(0, 0, 10, 10)),
        Precut("2 1/2 in strip", box(0, 0, 2.5, usable_width), 0.0),
    )
    return {precut.name: precut for precut in known}
