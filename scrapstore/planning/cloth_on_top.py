"""How the cloth of a cut piece lies where the piece comes on the top.

A piece may be turned there as often as its shape looks the same; one of a one-way print is turned
so that the print is as upright as that allows.
"""

import cmath
import math
from collections.abc import Iterator
from typing import Final, NamedTuple

from shapely import Polygon

from scrapstore.packing import Placement
from scrapstore.shapes import corners_of
from scrapstore.store import Scrap

__all__ = ["ClothLie", "has_way_up", "lie_of_cloth"]

_SLACK: Final = 0.01
"""Inches: a finished shape of a project file may be rounded by so much against its design's."""
_STRAIGHT: Final = 1e-6
_FINE: Final = 9  # decimals: no noise of rounding in what is kept


class ClothLie(NamedTuple):
    """How far a print is off upright, from 0 to 180, and where the top's inches lie in the scrap.

    Cloth without a way up is never off. `to_scrap` is as in `Place`.
    """

    off_deg: float
    to_scrap: tuple[float, float, float, float, float, float]


def has_way_up(scrap: Scrap | None) -> bool:
    """Tell whether a scrap is of a one-way print."""
    return bool(scrap and scrap.fabric and scrap.fabric.one_way_print)


def lie_of_cloth(
    spot: Polygon, finished: Polygon, cut: Polygon, scrap: Scrap, placement: Placement
) -> ClothLie | None:
    """Return how cloth lies where a piece, placed on its scrap, comes to `spot` on the top.

    `finished` and `cut` are its outlines in one frame. None where the finished outline is not that
    of the spot.
    """
    # In complex numbers: z of the shape lies at move + turn · z on the top, and in the scrap
    # (there -conj(z) for z where it is mirrored).
    turn = cmath.rect(1, math.radians(placement.rotation_deg))
    own = _centre(cut)
    move = _centre(placement.outline) - turn * (-own.conjugate() if placement.mirrored else own)
    way_up = has_way_up(scrap)
    up = cmath.rect(1, math.radians(scrap.grain_deg or 0.0)) / turn  # in the shape
    up = -up.conjugate() if placement.mirrored else up

    def off_deg(way: tuple[complex, complex]) -> float:
        """Return how far the print is off upright; of other cloth, how far the shape is turned."""
        return round(abs(math.degrees(cmath.phase(way[0] * up / 1j if way_up else way[0]))), _FINE)

    best = min(_ways(finished, spot), key=off_deg, default=None)
    if best is None:
        return None
    turn_top, move_top = best

    def in_scrap(top: complex) -> complex:
        z = (top - move_top) / turn_top
        return move + turn * (-z.conjugate() if placement.mirrored else z)

    origin = in_scrap(0)
    across, along = in_scrap(1) - origin, in_scrap(1j) - origin
    a, b, d, e, x, y = (
        round(value, _FINE) + 0.0
        for value in (across.real, along.real, across.imag, along.imag, origin.real, origin.imag)
    )
    return ClothLie(off_deg(best) if way_up else 0.0, (a, b, d, e, x, y))


def _centre(shape: Polygon) -> complex:
    return complex(shape.centroid.x, shape.centroid.y)


def _ways(shape: Polygon, spot: Polygon) -> Iterator[tuple[complex, complex]]:
    """Yield (turn, move) for each way in which a shape lies on a spot: turn · z + move."""
    drawn, there = _corners(shape), _corners(spot)
    if len(drawn) != len(there):
        return
    middle, middle_there = (sum(one) / len(one) for one in (drawn, there))
    for first in range(len(there)):
        moved = there[first:] + there[:first]
        turn = sum(
            (to - middle_there) * (z - middle).conjugate()
            for z, to in zip(drawn, moved, strict=True)
        )
        turn /= abs(turn) or 1
        move = middle_there - turn * middle
        if all(abs(turn * z + move - to) < _SLACK for z, to in zip(drawn, moved, strict=True)):
            yield turn, move


def _corners(shape: Polygon) -> list[complex]:
    """Return the corners counter-clockwise, without those on a straight edge."""
    points = [complex(x, y) for x, y in corners_of(shape)]
    kept = []
    for before, at, after in zip(points[-1:] + points[:-1], points, points[1:] + points[:1],
                                 strict=True):  # fmt: skip
        if abs(((at - before).conjugate() * (after - at)).imag) > _STRAIGHT:
            kept.append(at)
    return kept
