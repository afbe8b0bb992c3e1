"""Pieces that must stay whole while the cloth round them is cut."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from scrapstore.packing.cutting.cloth import normal_of
from scrapstore.packing.pieces import following

__all__ = ["Guard", "guards_within", "normals_of_sides"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Guard:
    """A piece that must stay whole: its number, and its convex corners (n, 2)."""

    number: int
    corners: Floats

    def moved(self, shift: Floats) -> "Guard":
        """Return the guard moved."""
        return Guard(self.number, self.corners + shift)


def guards_within(outline: Polygon, guards: list[Guard]) -> list[Guard]:
    """Return the guards whose middle lies in an outline."""
    if not guards:
        return []
    middles = shapely.points([guard.corners.mean(axis=0) for guard in guards])
    inside = shapely.contains(outline, middles).tolist()
    return [guard for guard, lies in zip(guards, inside, strict=True) if lies]


def normals_of_sides(guards: Sequence[Guard]) -> list[Floats]:
    """Return the different normals of the guards' sides."""
    found: dict[tuple[float, float], Floats] = {}
    for guard in guards:
        for side in following(guard.corners) - guard.corners:
            normal = normal_of(side)
            found.setdefault((round(float(normal[0]), 5), round(float(normal[1]), 5)), normal)
    return [found[key] for key in sorted(found)]
