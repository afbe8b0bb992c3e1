"""What to measure: a seam before the work, and an assembly once it is sewn and pressed."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from shapely import Polygon

from scrapstore.designs.sewing.forms import Side
from scrapstore.shapes import corners_of
from scrapstore.units import INCHES_PER_CM, Units

__all__ = ["SeamTest", "seam_test", "sides_to_measure"]

_NEAR: Final = 1e-6


def sides_to_measure(outline: Polygon) -> tuple[Side, ...]:
    """Return at most two measures of a finished outline, the one square to its longest side first.

    Between parallel sides where it has some, else along its longest straight side.
    """
    sides = sorted(_sides(outline), key=lambda side: -round(side[0], 6))
    across: list[Side] = []
    taken: list[tuple[float, float]] = []
    for at, (_, way, off) in enumerate(sides):
        if not _outermost(outline, way, off) or any(_parallel(way, other) for other in taken):
            continue
        for _, other, beyond in sides[at + 1 :]:
            if _facing(way, other) and _outermost(outline, other, beyond):
                across.append(Side(abs(off + beyond), 2, "across"))
                taken.append(way)
                break
    if across:
        return tuple(across[:2])
    return (Side(sides[0][0], 0, "along"),)


def _sides(outline: Polygon) -> Iterator[tuple[float, tuple[float, float], float]]:
    """Yield each straight side: length, unit vector to the left, distance off the origin there."""
    ring = corners_of(outline if outline.exterior.is_ccw else outline.reverse())
    corners = [
        (x, y)
        for (a, b), (x, y), (c, d) in zip(
            [ring[-1], *ring[:-1]], ring, [*ring[1:], ring[0]], strict=True
        )
        if abs((x - a) * (d - y) - (y - b) * (c - x)) > _NEAR
    ]
    for (x, y), (to_x, to_y) in zip(corners, [*corners[1:], corners[0]], strict=True):
        long = math.hypot(to_x - x, to_y - y)
        left = ((y - to_y) / long, (to_x - x) / long)
        yield long, left, left[0] * x + left[1] * y


def _parallel(one: tuple[float, float], other: tuple[float, float]) -> bool:
    return abs(one[0] * other[1] - one[1] * other[0]) < _NEAR


def _facing(one: tuple[float, float], other: tuple[float, float]) -> bool:
    # Two sides on one line, as the mitred ends of a corner are, bound no width between them.
    return _parallel(one, other) and one[0] * other[0] + one[1] * other[1] < 0


def _outermost(outline: Polygon, left: tuple[float, float], off: float) -> bool:
    """Return whether all of the outline lies to the left of a side."""
    corners = outline.exterior.coords
    return all(left[0] * x + left[1] * y > off - 1e-4 for x, y in corners)


@dataclass(frozen=True, slots=True)
class SeamTest:
    """Strips that are sewn side by side, each `strip` wide: together they are `across` wide."""

    strips: int
    strip: float
    across: float


def seam_test(seam: float, units: Units = "in") -> SeamTest:
    """Return what three strips measure once they are sewn; all in inches.

    Strips of 1 1/2 in, or of 4 cm, and for wide seams such that the middle one shows a third of its
    width at least. Source: common practice; 1 1/2 in sewn with 1/4 in measure 3 1/2 in.

    >>> seam_test(0.25)
    SeamTest(strips=3, strip=1.5, across=3.5)
    """
    usual = 1.5 if units == "in" else 4 * INCHES_PER_CM
    strip = usual
    while strip - 2 * seam < strip / 3 - 1e-9:
        strip += usual / 3
    return SeamTest(3, strip, 3 * strip - 4 * seam)
