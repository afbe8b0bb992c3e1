"""Rows: pieces side by side between two straight lines, as a ruler and a cutter like them.

Along each row the pieces follow greedily, each in the orientation that reaches least far. Where the
rows start is chosen by dynamic programming over the heights at which a row can rest: corners of the
feasible positions, heights one or more rows above them, and an even grid between.
"""

from bisect import bisect_left
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon

from scrapstore.packing.convex import Points
from scrapstore.packing.pieces import following
from scrapstore.packing.problem import PackingProblem, Pose
from scrapstore.packing.regions import TOLERANCE, region_edges

__all__ = ["best_rows"]

Interval = tuple[float, float]

_GRID = 1 / 8  # inches between heights that are tried besides the exact ones


def best_rows(
    problem: PackingProblem, kind: int, axis: int, wanted: int, most_heights: int
) -> list[Pose]:
    """Return rows of one kind along x (`axis` 0) or y (`axis` 1), at most `wanted` pieces.

    Orientations of the same height across the row share a row; each such height is tried. At most
    `most_heights` places for a row are tried.
    """
    heights: dict[float, list[int]] = {}
    for turn, oriented in enumerate(problem.turns):
        if oriented.kind == kind:
            heights.setdefault(round(oriented.size[1 - axis], 6), []).append(turn)
    best: list[Pose] = []
    for turns in heights.values():
        rows = _Rows(problem, turns, axis, most_heights)
        poses = rows.solve()[:wanted]
        if len(poses) > len(best):
            best = poses
        if len(best) == wanted:
            break
    return best


class _Rows:
    """Rows of some orientations of one kind that are equally high across the row."""

    def __init__(
        self, problem: PackingProblem, turns: Sequence[int], axis: int, most_heights: int
    ) -> None:
        self.problem, self.turns, self.axis = problem, list(turns), axis
        self.most_heights = most_heights
        self.height = problem.turns[self.turns[0]].size[1 - axis]
        self.edges = {t: _ring_edges(problem.feasible[t], axis) for t in self.turns}
        self.gap = {(a, b): self._spacing(a, b) for a in self.turns for b in self.turns}
        self.middle = {t: float(np.mean(problem.turns[t].corners[:, axis])) for t in self.turns}

    def solve(self) -> list[Pose]:
        """Return the poses of the best set of rows that do not overlap across."""
        heights = self._heights()
        inside = {t: _intervals(self.edges[t], np.array(heights)) for t in self.turns}
        rows = [self._row(at, {t: inside[t][k] for t in inside}) for k, at in enumerate(heights)]
        step = self.height - 2 * TOLERANCE
        best = [0] * (len(heights) + 1)
        chosen: list[tuple[int, bool]] = [(0, False)] * (len(heights) + 1)
        # best[k]: the most pieces in rows that start at heights[k] or above.
        for k in range(len(heights) - 1, -1, -1):
            after = bisect_left(heights, heights[k] + step)
            take = len(rows[k]) + best[after]
            best[k], chosen[k] = max((best[k + 1], (k + 1, False)), (take, (after, True)))
        poses: list[Pose] = []
        k = 0
        while k < len(heights):
            follow, taken = chosen[k]
            if taken:
                poses += rows[k]
            k = follow
        return poses

    def _heights(self) -> list[float]:
        corners = np.concatenate(
            [
                shapely.get_coordinates(self.problem.feasible[t])[:, 1 - self.axis]
                for t in self.turns
            ]
        )
        low, high = corners.min(), corners.max()
        exact = np.concatenate((corners - TOLERANCE / 2, corners + TOLERANCE / 2))
        step = self.height - 1.5 * TOLERANCE
        count = 1 + int((high - low) / self.height + 1e-6)
        # Stacked from either end, a row always counts; of the others as many as are asked for.
        ends = [low + TOLERANCE / 2 + k * step for k in range(count)]
        ends += [high - TOLERANCE / 2 - k * step for k in range(count)]
        others = np.concatenate(
            [*(exact + k * step for k in range(count)), np.arange(low, high, _GRID)]
        )
        others = np.unique(np.round(others, 9))
        others = others[(others >= low) & (others <= high)]
        if len(others) > self.most_heights:
            others = others[np.linspace(0, len(others) - 1, self.most_heights).astype(int)]
        return sorted({float(at) for at in (*others, *ends) if low <= at <= high})

    def _row(self, height: float, intervals: dict[int, list[Interval]]) -> list[Pose]:
        """Return the pieces of one row, from the left; each time the one that reaches least far.

        `intervals` are the feasible positions of each turn along the row.
        """
        poses: list[Pose] = []
        last: tuple[int, float] | None = None
        while True:
            best: tuple[float, int, float] | None = None
            for turn in self.turns:
                start = -np.inf if last is None else last[1] + self.gap[last[0], turn]
                for low, high in intervals[turn]:
                    if high >= start:
                        at = max(low, start)
                        reach = at + self.middle[turn]
                        if best is None or reach < best[0] - 1e-9:
                            best = (reach, turn, at)
                        break
            if best is None:
                return poses
            last = best[1], best[2]
            x, y = (best[2], height) if self.axis == 0 else (height, best[2])
            poses.append(Pose(best[1], x, y))

    def _spacing(self, fixed: int, moving: int) -> float:
        """Return how far along the row `moving` must stay from `fixed`."""
        furthest = 0.0
        for corners in self.problem.no_fits(fixed, moving):
            (crossings,) = _intervals(_edges_of(corners, self.axis), np.zeros(1))
            furthest = max([furthest, *(high for _, high in crossings)])
        return furthest


def _edges_of(ring: Points, axis: int) -> NDArray[np.float64]:
    at = ring if axis == 0 else ring[:, ::-1]
    return np.concatenate((at, following(at)), axis=1)


def _ring_edges(positions: MultiPolygon, axis: int) -> NDArray[np.float64]:
    """Return the edges of all rings, shape (n, 4): along and across at both ends."""
    way = slice(None, None, 1 if axis == 0 else -1)
    return np.concatenate([ends[:, way] for ends in region_edges(positions)], axis=1)


def _intervals(edges: NDArray[np.float64], heights: NDArray[np.float64]) -> list[list[Interval]]:
    """Return for each height where the line there runs inside the rings, as (from, to) along it."""
    above = edges[:, [1, 3]] <= heights[:, None, None]
    line, edge = np.nonzero(above[..., 0] != above[..., 1])
    x0, y0, x1, y1 = edges[edge].T
    at = x0 + (heights[line] - y0) / (y1 - y0) * (x1 - x0)
    at = at[np.lexsort((at, line))]
    # A ring is crossed as often inwards as outwards, so no pair straddles two lines.
    pairs = list(zip(at[::2].tolist(), at[1::2].tolist(), strict=True))
    ends = (np.searchsorted(line, np.arange(len(heights) + 1)) // 2).tolist()
    return [pairs[first:last] for first, last in pairwise(ends)]
