"""How easy a layout is to cut with a ruler and a rotary cutter.

A cut is a straight line. A line along the side of some piece that runs between the others without
touching their insides divides the cloth edge to edge; each side is then divided by itself. A layout
is cut *edge to edge* when that goes on until every piece is alone. Any dividing line leaves the
others in place, so it does not matter which is taken first.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scrapstore.packing.pieces import Placement, following, products

__all__ = ["RulerMeasure", "ruler_measure"]

Floats = NDArray[np.float64]

_STRAIGHT = 1e-4  # inches: sides this close to a line are cut along it


@dataclass(frozen=True, order=True)
class RulerMeasure:
    """`cuts`: straight cuts to free all pieces; `edge_to_edge`: whether each goes right across.

    Where no line divides some pieces, each of their sides counts as a cut of its own, sides in one
    line together as one.
    """

    cuts: int
    edge_to_edge: bool


def ruler_measure(placements: Sequence[Placement]) -> RulerMeasure:
    """Return how many straight cuts free the pieces, and whether all go from edge to edge."""
    rings = [np.asarray(p.outline.exterior.coords, dtype=np.float64)[:-1] for p in placements]
    cuts, whole = 0, True
    groups: list[tuple[list[Floats], Floats]] = [(rings, np.empty((0, 3)))] if rings else []
    while groups:
        group, made = groups.pop()
        lines = _lines(group, made)
        best = _dividing_line(group, lines)
        if best is None:
            # One piece, or several that no line divides: every side that is not cut yet.
            cuts += len(lines)
            whole = whole and len(group) == 1 and _is_convex(group[0])
            continue
        cuts += 1
        line, below = best
        made = np.vstack((made, line))
        groups += [
            ([ring for ring, low in zip(group, below, strict=True) if low == side], made)
            for side in (True, False)
        ]
    return RulerMeasure(cuts, whole)


def _dividing_line(group: list[Floats], lines: Floats) -> tuple[Floats, Floats] | None:
    """Return the line (1, 3) that divides the group along most sides, and which pieces lie below.

    None where no line divides it.
    """
    points = np.concatenate(group)
    first = np.cumsum([0, *map(len, group[:-1])])
    off = products(lines[:, :2], points) - lines[:, 2:]
    low = np.minimum.reduceat(off, first, axis=1)
    high = np.maximum.reduceat(off, first, axis=1)
    below, above = high < _STRAIGHT, low > -_STRAIGHT
    divides = np.all(below | above, axis=1) & below.any(axis=1) & above.any(axis=1)
    if not divides.any():
        return None
    sides = (np.abs(low) < _STRAIGHT).sum(axis=1) + (np.abs(high) < _STRAIGHT).sum(axis=1)
    best = int(np.where(divides, sides, -1).argmax())
    return lines[best : best + 1], below[best]


def _lines(group: list[Floats], made: Floats) -> Floats:
    """Return the different lines (nx, ny, c) along the sides of the group that are not made yet."""
    ring = np.concatenate(group)
    edge = np.concatenate([following(own) - own for own in group])
    length = np.hypot(edge[:, 0], edge[:, 1])
    normal = np.column_stack((edge[:, 1], -edge[:, 0])) / length[:, None]
    # A line has two normals: take the one that points right, or straight up.
    flip = (normal[:, 0] < -1e-9) | ((np.abs(normal[:, 0]) <= 1e-9) & (normal[:, 1] < 0))
    normal[flip] *= -1.0
    lines = np.column_stack((normal, np.sum(normal * ring, axis=1)))
    every = np.concatenate((made, lines))
    alike = np.abs(lines[:, None] - every[None]).max(axis=2) < _STRAIGHT
    earlier = np.tril(alike, len(made) - 1).any(axis=1)
    new: Floats = lines[~earlier]
    return new


def _is_convex(ring: Floats) -> bool:
    edge = following(ring) - ring
    after = following(edge)
    turn = edge[:, 0] * after[:, 1] - edge[:, 1] * after[:, 0]
    return bool(np.all(turn > -1e-9) or np.all(turn < 1e-9))
