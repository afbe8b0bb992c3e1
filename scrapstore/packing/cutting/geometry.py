"""Plane geometry of cuts: directions, corners and how far a line overhangs a side."""

import math
from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from scrapstore.packing.convex import half_planes
from scrapstore.packing.pieces import following, preceding

__all__ = [
    "cross",
    "distinct_normals",
    "half_plane_box",
    "overhang",
    "upward_normal",
    "vertices",
    "vertices_with_directions",
]

Floats = NDArray[np.float64]


def cross(a: Floats, b: Floats) -> float:
    """Return the cross product of two vectors (2,): above 0 where `b` lies to the left of `a`."""
    return float(a[0] * b[1] - a[1] * b[0])


def half_plane_box(normal: Floats, offset: float, near: Floats, reach: float) -> Floats:
    """Return the corners (4, 2) of a box on the side of a line to which `normal` points.

    The line is normal · point = offset. The box reaches `reach` inches from the point of the line
    that is nearest to `near`: along the line both ways, and away from it.
    """
    foot = near + normal * (offset - float(normal @ near))
    along, away = np.array([normal[1], -normal[0]]) * reach, normal * reach
    return np.array([foot - along, foot + along, foot + along + away, foot - along + away])


def upward_normal(direction: Floats) -> Floats:
    """Return the unit normal (2,) of a direction that points up, or right where it is level."""
    normal = np.array([-direction[1], direction[0]]) / math.hypot(*direction)
    # Exact for sides along the axes, so that straight cloth stays straight.
    normal[np.abs(normal) < 1e-12] = 0.0
    if normal[1] < -1e-9 or (abs(normal[1]) <= 1e-9 and normal[0] < 0):
        normal = -normal
    return normal + 0.0


def distinct_normals(directions: Iterable[Floats]) -> list[Floats]:
    """Return the upward unit normals of directions (2,), each once, in the order of the first."""
    found: dict[tuple[float, ...], Floats] = {}
    for direction in directions:
        normal = upward_normal(direction)
        found.setdefault(tuple(normal.round(5).tolist()), normal)
    return list(found.values())


def vertices(ring: Floats) -> Floats:
    """Return the corners (n, 2) of an open ring at which it turns."""
    return vertices_with_directions(ring)[0]


def vertices_with_directions(ring: Floats) -> tuple[Floats, Floats, Floats]:
    """Return the corners at which an open ring turns, and the unit directions in and out.

    Each has shape (n, 2).
    """
    before, after = ring - preceding(ring), following(ring) - ring
    into, out = (way / np.hypot(*way.T)[:, None] for way in (before, after))
    turns = np.abs(into[:, 0] * out[:, 1] - into[:, 1] * out[:, 0]) > 1e-7
    return ring[turns], into[turns], out[turns]


def overhang(ring: Floats, line: Floats) -> float:
    """Return how far the ends of a line (2, 2) lie beyond the side of a piece that it runs along.

    `ring` (n, 2) is convex and counter-clockwise. Infinite where the line runs along no side.
    """
    planes = half_planes(ring)
    beyond = line @ planes[:, :2].T - planes[:, 2]
    along = np.abs(planes[:, :2] @ (line[1] - line[0])) < 0.5 * math.dist(*line)
    beyond[:, ~along] = math.inf
    return float(beyond.max(axis=0).min())
