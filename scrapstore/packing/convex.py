"""Convex polygons: the arithmetic behind no-fit polygons and the erosion of a region.

A convex polygon is an (n, 2) array of corners in inches, counter-clockwise, without straight
corners. A piece that is not convex is a list of convex parts.
"""

from collections.abc import Iterator
from functools import lru_cache
from itertools import combinations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from scrapstore.packing.pieces import following, lengths, preceding

__all__ = [
    "convex_parts",
    "half_planes",
    "hulls",
    "inset",
    "is_convex",
    "minkowski_sum",
    "no_fit",
]

Points = NDArray[np.float64]


def is_convex(corners: Points) -> bool:
    """Tell whether a counter-clockwise polygon turns left at every corner."""
    edge = following(corners) - corners
    after = following(edge)
    return bool(np.all(edge[:, 0] * after[:, 1] - edge[:, 1] * after[:, 0] > 0))


def convex_parts(corners: Points) -> list[Points]:
    """Cut a simple polygon into convex parts; a convex one comes back whole.

    Triangles of a constrained Delaunay triangulation are joined while the union stays convex, so
    the number of parts is small, not always the least.
    """
    if is_convex(corners):
        return [corners]
    triangles = shapely.get_parts(shapely.constrained_delaunay_triangles(Polygon(corners)))
    parts: list[BaseGeometry] = [t for t in triangles if t.area > 1e-12]
    while joined := next(_convex_unions(parts), None):
        i, j, parts[i] = joined
        del parts[j]
    return [_hull(shapely.get_coordinates(part)) for part in parts]


def _convex_unions(parts: list[BaseGeometry]) -> Iterator[tuple[int, int, BaseGeometry]]:
    """Yield pairs of parts, by number, whose union is convex, with the union."""
    for i, j in combinations(range(len(parts)), 2):
        union = parts[i].union(parts[j])
        if union.geom_type == "Polygon" and _fills_hull(union):
            yield i, j, union


def half_planes(polygon: Points) -> Points:
    """Return the sides of a convex polygon as rows (nx, ny, c): n·p < c inside, |n| = 1."""
    edge = following(polygon) - polygon
    normal = np.column_stack((edge[:, 1], -edge[:, 0])) / lengths(edge)[:, None]
    return np.column_stack((normal, np.sum(normal * polygon, axis=1)))


def inset(corners: Points, distance: float) -> Points:
    """Move every edge of a convex polygon inwards by `distance` (much less than its width)."""
    edge = following(corners) - corners
    normal = np.column_stack((-edge[:, 1], edge[:, 0])) / lengths(edge)[:, None]  # points inwards
    before = preceding(normal)
    # The corner moves by m with m·normal = m·before = distance.
    share = 1.0 + np.sum(normal * before, axis=1)
    moved: Points = corners + distance * (normal + before) / share[:, None]
    return moved


def minkowski_sum(a: Points, b: Points) -> Points:
    """Return the sum of two convex polygons: the hull of all sums of two corners.

    The textbook way, merging edges by direction, is quicker, but rounding can turn the order of
    two edges that are parallel but for a last bit; the hull cannot go wrong and is done only once
    for each pair of orientations.
    """
    return _hull((a[:, None] + b[None]).reshape(-1, 2))


def no_fit(fixed: Points, moving: Points) -> Points:
    """Return the positions of `moving` at which its inside meets the inside of `fixed`.

    Both convex, each with its own origin; a position is that of the origin of `moving`. Cached: the
    same pieces are placed on scrap after scrap.
    """
    return _no_fit(fixed.tobytes(), moving.tobytes())


@lru_cache(maxsize=4096)
def _no_fit(fixed: bytes, moving: bytes) -> Points:
    one, other = (np.frombuffer(data).reshape(-1, 2) for data in (fixed, moving))
    found = minkowski_sum(one, -other)
    found.setflags(write=False)
    return found


def _without_straight(corners: Points) -> Points:
    before, after = preceding(corners), following(corners)
    a, b = corners - before, after - corners
    turn = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
    reach = lengths(a) * lengths(b)
    kept: Points = corners[turn > 1e-12 * np.maximum(reach, 1e-12)]
    return kept


def _fills_hull(polygon: BaseGeometry) -> bool:
    return bool(polygon.convex_hull.area - polygon.area < 1e-10 * max(1.0, polygon.area))


def _hull(points: Points) -> Points:
    (hull,) = hulls(points[None])
    assert isinstance(hull, Polygon)
    corners = np.asarray(hull.exterior.coords)[:-1]
    return _without_straight(corners if hull.exterior.is_ccw else corners[::-1].copy())


def hulls(points: Points) -> list[BaseGeometry]:
    """Return the convex hull of each set of points; `points` has shape (sets, points, 2)."""
    return list(np.atleast_1d(np.asarray(shapely.convex_hull(shapely.multipoints(points)))))
