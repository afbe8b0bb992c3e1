"""Cutting plans made by hand, with every number written out."""

import math
from typing import Final

from shapely import Polygon, box

from scrapstore.shapes import Cut, CutPiece, CuttingPlan, Frame, Line

__all__ = ["DIAMONDS", "SQUARES", "TRIMMED"]

SQUARES: Final = CuttingPlan(
    Frame(),
    box(0, 0, 9, 6),
    (
        Cut(0, ((0, 0.25), (9, 0.25)), (1, 2), "edge", 0.25, 0),
        Cut(1, ((0, 2.75), (9, 2.75)), (3, 4), 0, 2.5, 0),
        Cut(3, ((0, 5.25), (9, 5.25)), (5, 6), 1, 2.5, 0),
        Cut(4, ((0.25, 0), (0.25, 6)), (7, 8), 0, 0, 90),
        Cut(8, ((2.75, 0), (2.75, 6)), (9, 10), 3, 2.5, 0),
        Cut(10, ((5.25, 0), (5.25, 6)), (11, 12), 4, 2.5, 0),
        Cut(6, ((0.25, 0), (0.25, 6)), (13, 14), "edge", 0.25, 0),
        Cut(14, ((2.75, 0), (2.75, 6)), (15, 16), 6, 2.5, 0),
        Cut(15, ((0.25, 2.75), (2.75, 5.25)), (17, 18), corners=True),
    ),
    (
        CutPiece("A1", "square", box(0.25, 0.25, 2.75, 2.75), 9),
        CutPiece("A2", "square", box(2.75, 0.25, 5.25, 2.75), 11),
        CutPiece("B1", "half", Polygon([(0.25, 2.75), (2.75, 5.25), (0.25, 5.25)]), 17),
        CutPiece("B2", "half", Polygon([(0.25, 2.75), (2.75, 2.75), (2.75, 5.25)]), 18),
        CutPiece("C1", "leaf", Polygon([(3, 3), (5, 3), (6, 5), (4, 5)]), 16, template=True),
    ),
    1 / 8,
)
"""Two squares, a square cut into two half-square triangles, and one piece by template."""

_RISE: Final = math.sqrt(3) / 2
_HIGH: Final = 1.75
_WIDE: Final = _HIGH / _RISE
_LEAN: Final = _WIDE / 2


def _slanted(x: float) -> Line:
    return (x, 0.25), (x + 0.5, 0.25 + _RISE)


def _diamond(x: float) -> Polygon:
    return Polygon([(x, 0.25), (x + _WIDE, 0.25), (x + _WIDE + _LEAN, 2), (x + _LEAN, 2)])


_LEFT: Final = 0.1 + 0.2 * 0.25 / 5.5  # where the left edge meets the first cut
_CORNER: Final = (_LEFT, 0.25)
_IN: Final = 0.125
_FIRST: Final = _LEFT + _IN / _RISE

DIAMONDS: Final = CuttingPlan(
    Frame(),
    Polygon([(0.1, 0), (8.6, 0.2), (8, 6), (0.3, 5.5)]),
    (
        Cut(0, ((0, 0.25), (9, 0.25)), (1, 2)),
        Cut(1, ((0, 2), (9, 2)), (3, 4), 0, 1.75, 0),
        Cut(4, _slanted(_FIRST), (5, 6), 0, 0, 60, point=_CORNER, point_distance=_IN),
        Cut(6, _slanted(_FIRST + _WIDE), (7, 8), 2, 1.75, 0),
        Cut(8, _slanted(_FIRST + 2 * _WIDE), (9, 10), 3, 1.75, 0),
    ),
    (
        CutPiece("C1", "diamond", _diamond(_FIRST), 7),
        CutPiece("C2", "diamond", _diamond(_FIRST + _WIDE), 9),
    ),
    1 / 8,
)
"""Two 60° diamonds in one strip, from cloth without a straight edge along its grain."""

_TIP: Final = 0.25 / _RISE
"""Along the strip, of a tip 1/4 in deep: the tip is an equilateral triangle."""

TRIMMED: Final = CuttingPlan(
    Frame(),
    box(0, 0, 9, 6),
    (
        Cut(0, ((0, 0.25), (9, 0.25)), (1, 2), "edge", 0.25, 0),
        Cut(1, ((0, 2), (9, 2)), (3, 4), 0, 1.75, 0),
        Cut(4, _slanted(0.25), (5, 6), 0, 0, 60),
        Cut(6, _slanted(0.25 + _WIDE), (7, 8), 2, 1.75, 0),
        Cut(7, ((0.25 + _TIP, 0.25), (0.25 + _TIP - 0.5, 0.25 + _RISE)), (9, 10), 3, 0, 60,
            point=(0.25, 0.25), point_distance=0.25),
    ),
    (
        CutPiece(
            "C1",
            "diamond",
            Polygon(
                [(0.25 + _TIP, 0.25), (0.25 + _WIDE, 0.25), (0.25 + _WIDE + _LEAN, 2),
                 (0.25 + _LEAN, 2), (0.25 + _TIP / 2, 0.25 + _TIP * _RISE)]
            ),
            10,
        ),
    ),
    1 / 8,
)  # fmt: skip
"""One diamond of which the sharp tip is trimmed."""
