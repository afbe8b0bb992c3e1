"""Where along a row a piece lies inside the usable region: intervals, for one height at a time."""

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon

from scrapstore.packing.pieces import following

__all__ = ["Room"]

Floats = NDArray[np.float64]
Interval = tuple[float, float]

_HAIR = 3e-7  # inches: so much a piece is taken smaller, so that an exact fit has a place


class Room:
    """A usable region whose rows run along x; answers are remembered."""

    def __init__(self, region: Polygon | MultiPolygon) -> None:
        edges = []
        for part in shapely.get_parts(region):
            for ring in shapely.get_rings(part):
                at = shapely.get_coordinates(ring)
                edges.append(np.concatenate((at[:-1], at[1:]), axis=1))
        made = np.concatenate(edges) if edges else np.empty((0, 4))
        # From the lower end of each edge to its upper one.
        turned = made[:, 1] > made[:, 3]
        made[turned] = made[turned][:, [2, 3, 0, 1]]
        self.edges: Floats = made
        self.bounds = region.bounds
        self._known: dict[tuple[bytes, float], list[Interval]] = {}
        self._chains: dict[bytes, tuple[Floats, Floats]] = {}

    def places(self, corners: Floats, y: float) -> list[Interval]:
        """Return how far along x a convex piece, moved up by `y`, may move, as (least, most)."""
        key = corners.tobytes(), round(y, 9)
        known = self._known.get(key)
        if known is None:
            self.look(corners, [y])
            known = self._known[key]
        return known

    def look(self, corners: Floats, ys: Sequence[float]) -> None:
        """Find the places at several heights at once, for `places` to return."""
        name = corners.tobytes()
        new = [y for y in ys if (name, round(y, 9)) not in self._known]
        if not new:
            return
        left, right = self._sides(corners)
        up = np.array(new)[:, None]
        low, high = left[0, 1] + up + _HAIR, left[-1, 1] + up - _HAIR
        x0, y0, x1, y1 = self.edges.T
        # Every edge keeps out what lies between two places; the extremes are at its ends and at
        # the heights of the piece's corners.
        inner = np.unique(np.concatenate((left[1:-1, 1], right[1:-1, 1])))
        t = np.empty((len(new), len(self.edges), 2 + len(inner)))
        t[..., 0], t[..., 1] = np.maximum(y0, low), np.minimum(y1, high)
        beside = t[..., 1] <= t[..., 0]
        beside &= ~((y1 == y0) & (y0 > low) & (y0 < high))
        for k, level in enumerate(inner.tolist()):
            t[..., 2 + k] = np.clip(level + up, t[..., 0], np.maximum(t[..., 0], t[..., 1]))
        tall = np.where(y1 - y0 < 1e-12, 1.0, y1 - y0)
        slope = (x1 - x0) / tall
        x = x0[:, None] + (t - y0[:, None]) * slope[:, None]
        flat = y1 - y0 < 1e-12
        x[:, flat, 0], x[:, flat, 1] = x0[flat], x1[flat]
        heights = t - up[..., None]
        least = (x - np.interp(heights, right[:, 1], right[:, 0])).min(axis=2) + _HAIR
        most = (x - np.interp(heights, left[:, 1], left[:, 0])).max(axis=2) - _HAIR
        middle = (low + high) / 2
        crossed = (y0 <= middle) & (y1 > middle)
        at = x0 + (middle - y0) * slope
        centre = (low + high)[:, 0] / 2 - up[:, 0]
        own = (
            np.interp(centre, left[:, 1], left[:, 0]) + np.interp(centre, right[:, 1], right[:, 0])
        ) / 2
        for k, height in enumerate(new):
            near = ~beside[k]
            self._known[name, round(height, 9)] = _gaps(
                least[k][near].tolist(),
                most[k][near].tolist(),
                at[k][crossed[k]].tolist(),
                float(own[k]),
            )

    def _sides(self, corners: Floats) -> tuple[Floats, Floats]:
        """Return the chains (x, y), from below, at the left and at the right of a convex piece."""
        key = corners.tobytes()
        if key not in self._chains:
            sides = []
            for way in (1.0, -1.0):
                levels = np.unique(np.round(corners[:, 1], 9))
                at = [_extent(corners, level, way) for level in levels.tolist()]
                sides.append(np.column_stack((at, levels)))
            self._chains[key] = sides[0], sides[1]
        return self._chains[key]


def _gaps(
    least: list[float], most: list[float], crossings: list[float], own: float
) -> list[Interval]:
    """Return what lies between the intervals (least, most), where it is inside the region.

    The line through the middle of the piece meets the region's edges at `crossings`; there the
    middle of the piece is `own` from where it is said to be.
    """
    found: list[Interval] = []
    reach = -np.inf
    for low, high in sorted(zip(least, most, strict=True)):
        if low >= reach > -np.inf:
            middle = (reach + low) / 2 + own
            if sum(crossing < middle for crossing in crossings) % 2:
                found.append((reach, low))
        reach = max(reach, high)
    return found


def _extent(corners: Floats, level: float, way: float) -> float:
    """Return the x at which a convex piece begins (way 1) or ends (-1) at one level."""
    after = following(corners)
    found = []
    for (ax, ay), (bx, by) in zip(corners.tolist(), after.tolist(), strict=True):
        if min(ay, by) - 1e-8 <= level <= max(ay, by) + 1e-8:
            if abs(ay - by) < 1e-8:
                found += [ax, bx]
            else:
                share = min(1.0, max(0.0, (level - ay) / (by - ay)))
                found.append(ax + share * (bx - ax))
    return float(min(found) if way > 0 else max(found))
