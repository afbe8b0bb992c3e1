"""Rings of points: their area, their parts, the few points that keep their shape."""

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from scrapstore.photo.arrays import Floats

__all__ = ["farthest", "polygons_of", "ring_breaks", "signed_area", "simplify_ring"]


def polygons_of(shape: BaseGeometry) -> list[Polygon]:
    """Return the polygons that a geometry is made of."""
    return [part for part in shapely.get_parts(shape) if isinstance(part, Polygon)]


def signed_area(ring: Floats) -> float:
    """Return twice the area of a ring (n × 2): positive counter-clockwise, negative clockwise."""
    x, y = ring[:, 0], ring[:, 1]
    return float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)))


def farthest(points: Floats, place: Floats) -> int:
    """Return which of the points is farthest from a place."""
    return int(np.argmax(np.linalg.norm(points - place, axis=1)))


def simplify_ring(points: Floats, tolerance: float) -> Floats:
    """Return the corners of a polygon that stays within `tolerance` of the ring `points`."""
    return points[ring_breaks(points, tolerance)]


def ring_breaks(ring: Floats, tolerance: float) -> list[int]:
    """Return the places of the ring where a chord would leave it (Douglas and Peucker).

    Like shapely's `simplify`, but a point's distance is that to the chord's whole line, and the
    answer is the places, not the points. Where a thread doubles back the two differ.
    """
    size = len(ring)
    # Start at the two points farthest apart: corners, unlike the ring's arbitrary beginning.
    first = farthest(ring, ring.mean(axis=0))
    turned = np.roll(ring, -first, axis=0)
    far = farthest(turned, turned[0])
    closed = np.vstack([turned, turned[:1]])
    kept = {0, far}
    stack = [(0, far), (far, size)]
    while stack:
        a, b = stack.pop()
        if b - a < 2:
            continue
        stray = _stray(closed[a + 1 : b], closed[a], closed[b])
        worst = int(np.argmax(stray))
        if stray[worst] > tolerance:
            middle = a + 1 + worst
            kept.add(middle)
            stack += [(a, middle), (middle, b)]
    return sorted((k + first) % size for k in kept)


def _stray(points: Floats, start: Floats, end: Floats) -> Floats:
    along = end - start
    length = float(np.hypot(*along))
    if length < 1e-9:
        return np.asarray(np.linalg.norm(points - start, axis=1))
    return np.asarray(np.abs((points - start) @ np.array([-along[1], along[0]])) / length)
