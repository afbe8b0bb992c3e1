"""Exact separation: move pieces that overlap by a little until they only touch.

For every pair near each other one side of their no-fit polygon is chosen, the one they are nearest
to passing, and for every near edge of the region one side of what it forbids. With the sides fixed
this is a linear program: the least sum of overlaps over small moves of all pieces together. The
sides are chosen again after each program; what was found stays allowed, so the sum never grows.
"""

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog
from scipy.sparse import coo_matrix

from scrapstore.packing.compiled import Tables
from scrapstore.packing.problem import PackingProblem
from scrapstore.packing.tables import obstacles

__all__ = ["Separator"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

_DONE = 1e-8  # inches of overlap that count as none; the packer's tolerance is ten times as much


class Separator:
    """Separates layouts of one problem."""

    def __init__(self, problem: PackingProblem, tables: Tables) -> None:
        self.problem, self.tables = problem, tables
        self._obstacles: dict[int, list[Floats]] = {}

    def separate(
        self, turn: Ints, x: Floats, y: Floats, reach: float, rounds: int = 8
    ) -> tuple[float, Floats, Floats]:
        """Return the overlap that is left (0 when there is none) and the new positions.

        `reach` is how far, in inches along either axis, a piece may move in one round.
        """
        left = np.inf
        for _ in range(rounds):
            before, after, x, y = self._round(turn, x, y, reach)
            if after <= _DONE:
                return 0.0, x, y
            if after > 0.9 * before:
                return after, x, y
            left = after
        return float(left), x, y

    def _round(
        self, turn: Ints, x: Floats, y: Floats, reach: float
    ) -> tuple[float, float, Floats, Floats]:
        """Solve one program; return the overlap before and after it, and the new positions."""
        count = len(turn)
        program = _Program(count)
        for i in range(count):
            self._keep_inside(program, i, int(turn[i]), x[i], y[i], reach)
        width, height = self.tables.size[turn].T
        for i in range(count):
            dx, dy = x[i + 1 :] - x[i], y[i + 1 :] - y[i]
            near = (dx > -width[i + 1 :] - 3 * reach) & (dx < width[i] + 3 * reach)
            near &= (dy > -height[i + 1 :] - 3 * reach) & (dy < height[i] + 3 * reach)
            for k in np.flatnonzero(near).tolist():
                self._keep_apart(program, i, i + 1 + k, turn, dx[k], dy[k], reach)
        if program.overlap <= _DONE:
            return program.overlap, 0.0, x, y
        moves, after = program.solve(reach)
        return program.overlap, after, x + moves[0::2], y + moves[1::2]

    def _keep_inside(
        self, program: "_Program", i: int, turn: int, x: float, y: float, reach: float
    ) -> None:
        if turn not in self._obstacles:
            self._obstacles[turn] = obstacles(self.problem, turn)
        for part in self._obstacles[turn]:
            gap = part[..., 0] * x + part[..., 1] * y - part[..., 2]
            side = gap.argmax(axis=1)
            widest = gap[np.arange(len(gap)), side]
            near = np.flatnonzero(widest < 1.5 * reach)
            planes, widest = part[near, side[near]], widest[near]
            # Of sides in one direction only the nearest matters.
            order = np.lexsort((widest, *np.round(planes[:, :2].T, 7)))
            planes, widest = planes[order], widest[order]
            if len(planes):
                new = np.any(np.abs(np.diff(planes[:, :2], axis=0)) > 1e-6, axis=1)
                first = np.concatenate(([True], new))
                program.inside(i, planes[first, :2], np.maximum(widest[first], 0.0))

    def _keep_apart(
        self, program: "_Program", i: int, j: int, turn: Ints, dx: float, dy: float, reach: float
    ) -> None:
        sides, fit = self.tables.sides, self.tables.fit
        first, last = self.tables.pair[turn[i], turn[j]]
        for begin, end in fit[first:last]:
            gap = sides[begin:end, 0] * dx + sides[begin:end, 1] * dy - sides[begin:end, 2]
            k = int(gap.argmax())
            if gap[k] < 3 * reach:
                program.apart(i, j, sides[begin + k, :2], float(gap[k]))


class _Program:
    """A linear program: moves of all pieces, and how much each overlapping pair still overlaps."""

    def __init__(self, count: int) -> None:
        self.count, self.overlap = count, 0.0
        self._pairs = self._rows = 0
        self._at: list[tuple[Ints, Ints, Floats]] = []
        self._most: list[Floats] = []

    def inside(self, i: int, normal: Floats, gap: Floats) -> None:
        """Let piece `i` move against each `normal` by no more than its `gap`."""
        rows = self._rows + np.arange(len(gap))
        columns = np.tile([2 * i, 2 * i + 1], len(gap))
        self._add(np.repeat(rows, 2), columns, -normal.ravel(), gap)

    def apart(self, i: int, j: int, normal: Floats, gap: float) -> None:
        """Let piece `j` move against `normal`, seen from `i`, by no more than `gap`.

        When `gap` is negative the two overlap, and what is left of that is counted.
        """
        columns, values = [2 * i, 2 * i + 1, 2 * j, 2 * j + 1], [*normal, *-normal]
        if gap < 0:
            columns.append(2 * self.count + self._pairs)
            values.append(-1.0)
            self._pairs += 1
            self.overlap -= gap
        rows = np.full(len(columns), self._rows)
        self._add(rows, np.array(columns), np.array(values), np.array([gap]))

    def _add(self, rows: Ints, columns: Ints, values: Floats, most: Floats) -> None:
        self._at.append((rows, columns, values))
        self._most.append(most)
        self._rows += len(most)

    def solve(self, reach: float) -> tuple[Floats, float]:
        """Return the moves (2 a piece) with the least overlap left, and that overlap."""
        moves = 2 * self.count
        rows, columns, values = (np.concatenate(part) for part in zip(*self._at, strict=True))
        limits = np.tile([-reach, reach], (moves, 1))
        shape = (self._rows, moves + self._pairs)
        # The stubs know no sparse matrix here.
        result = linprog(  # type: ignore[call-overload]
            np.concatenate((np.zeros(moves), np.ones(self._pairs))),
            A_ub=coo_matrix((values, (rows, columns)), shape=shape).tocsr(),
            b_ub=np.concatenate(self._most),
            bounds=np.concatenate((limits, np.tile([0.0, np.inf], (self._pairs, 1)))),
            method="highs-ds",
            options={"primal_feasibility_tolerance": 1e-10, "presolve": False},
        )
        if result.x is None:
            return np.zeros(moves), self.overlap
        return np.asarray(result.x[:moves]), float(result.fun)
