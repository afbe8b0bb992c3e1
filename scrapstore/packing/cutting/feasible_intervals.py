"""The intervals in which a piece may move along a row and stay inside the usable region."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon

from scrapstore.packing.pieces import following
from scrapstore.packing.regions import region_edges

__all__ = ["FeasibleIntervals", "Interval"]

Floats = NDArray[np.float64]
Interval = tuple[float, float]

_TOLERANCE = 3e-7  # inches by which a piece is shrunk, so that an exact fit has a place


class FeasibleIntervals:
    """The feasible intervals of convex pieces in a region whose rows run along x; cached.

    `edges` (n, 4) are the region's edges, each from its lower end to its upper one.
    """

    def __init__(self, region: Polygon | MultiPolygon) -> None:
        self.edges: Floats = np.concatenate(region_edges(region), axis=1)
        falling = self.edges[:, 1] > self.edges[:, 3]
        self.edges[falling] = self.edges[falling][:, [2, 3, 0, 1]]
        self.bounds = region.bounds
        self._known: dict[tuple[bytes, float], list[Interval]] = {}
        self._profiles: dict[bytes, Floats] = {}

    def at(self, corners: Floats, y: float) -> list[Interval]:
        """Return the shifts along x, as (least, most), that are feasible for a piece moved up by y.

        `corners` (n, 2) are those of a convex piece.
        """
        self.compute(corners, [y])
        return self._known[corners.tobytes(), round(y, 9)]

    def compute(self, corners: Floats, ys: Sequence[float]) -> None:
        """Find the intervals at several heights at once, for `at` to return."""
        name = corners.tobytes()
        new = [y for y in ys if (name, round(y, 9)) not in self._known]
        if not new:
            return
        if name not in self._profiles:
            self._profiles[name] = _profile(corners)
        levels, left, right = self._profiles[name].T
        up = np.array(new)[:, None]
        low, high = levels[0] + up + _TOLERANCE, levels[-1] + up - _TOLERANCE
        x0, y0, x1, y1 = self.edges.T
        # Every edge forbids the shifts between two extremes, which are reached at its ends or at
        # the heights of the piece's corners.
        t = np.empty((len(new), len(self.edges), len(levels)))
        t[..., 0], t[..., 1] = np.maximum(y0, low), np.minimum(y1, high)
        beside = t[..., 1] <= t[..., 0]
        beside &= ~((y1 == y0) & (y0 > low) & (y0 < high))
        for k, level in enumerate(levels[1:-1].tolist()):
            t[..., 2 + k] = np.clip(level + up, t[..., 0], np.maximum(t[..., 0], t[..., 1]))
        flat = y1 - y0 < 1e-12
        slope = (x1 - x0) / np.where(flat, 1.0, y1 - y0)
        x = x0[:, None] + (t - y0[:, None]) * slope[:, None]
        x[:, flat, 0], x[:, flat, 1] = x0[flat], x1[flat]
        heights = t - up[..., None]
        least = (x - np.interp(heights, levels, right)).min(axis=2) + _TOLERANCE
        most = (x - np.interp(heights, levels, left)).max(axis=2) - _TOLERANCE
        middle = (low + high) / 2
        crossed = (y0 <= middle) & (y1 > middle)
        at = x0 + (middle - y0) * slope
        centre = (low + high)[:, 0] / 2 - up[:, 0]
        own = (np.interp(centre, levels, left) + np.interp(centre, levels, right)) / 2
        for k, height in enumerate(new):
            near = ~beside[k]
            self._known[name, round(height, 9)] = _gaps(
                least[k][near].tolist(),
                most[k][near].tolist(),
                at[k][crossed[k]].tolist(),
                float(own[k]),
            )


def _gaps(
    least: list[float], most: list[float], crossings: list[float], own: float
) -> list[Interval]:
    """Return the gaps between the forbidden intervals (least, most) that lie in the region.

    The line through the middle of the piece meets the region's edges at `crossings`; on it the
    middle of the piece is at `own` plus the shift.
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


def _profile(corners: Floats) -> Floats:
    """Return rows (y, left, right), lowest first: the extent in x at each corner's height."""
    after = following(corners).tolist()
    rows = []
    for y in np.unique(np.round(corners[:, 1], 9)).tolist():
        at = []
        for (ax, ay), (bx, by) in zip(corners.tolist(), after, strict=True):
            if min(ay, by) - 1e-8 <= y <= max(ay, by) + 1e-8:
                if abs(ay - by) < 1e-8:
                    at += [ax, bx]
                else:
                    at.append(ax + min(1.0, max(0.0, (y - ay) / (by - ay))) * (bx - ax))
        rows.append((y, min(at), max(at)))
    return np.array(rows)
