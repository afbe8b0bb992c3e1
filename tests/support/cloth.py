"""Cloth and pieces that several tests share, all in inches."""

import math

from shapely.affinity import rotate, translate
from shapely.geometry import Point, Polygon

from scrapstore.packing import PieceKind

QUARTERS = (0.0, 90.0, 180.0, 270.0)
ROOT3 = math.sqrt(3)

DIAMOND = Polygon([(0, 0), (2, 0), (3, ROOT3), (1, ROOT3)])
TRIANGLE = Polygon([(0, 0), (2, 0), (1, ROOT3)])
HALF = Polygon([(0, 0), (1, 0), (0, ROOT3)])
ELL = Polygon([(0, 0), (2, 0), (2, 1), (1, 1), (1, 2), (0, 2)])


def kind(
    outline: Polygon,
    wanted: int = 99,
    rotations_deg: tuple[float, ...] = QUARTERS,
    *,
    mirror: bool = False,
    name: str = "piece",
    value: float | None = None,
) -> PieceKind:
    """A kind with the usual turns."""
    return PieceKind(name, outline, wanted, rotations_deg, mirror, value)


def moved(outline: Polygon, x: float, y: float, turn_deg: float = 0.0) -> Polygon:
    """The outline turned about its first corner, then moved."""
    return translate(rotate(outline, turn_deg, origin=Point(outline.exterior.coords[0])), x, y)


def torn(corners: int, across: float = 6.0) -> Polygon:
    """A scrap with a torn edge: a round outline whose reach wavers."""
    ring = []
    for k in range(corners):
        angle = 2 * math.pi * k / corners
        reach = across * (1 + 0.08 * math.sin(7 * angle) + 0.02 * math.sin(131 * angle))
        ring.append((reach * math.cos(angle), reach * math.sin(angle)))
    return Polygon(ring)
