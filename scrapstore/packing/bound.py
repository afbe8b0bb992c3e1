"""How good a layout can be at most.

Three upper limits, each valid by itself:

* **Reachable area.** No layout covers more than the part of the region that some placement can
  reach, so the pieces' worth is at most that of the best cut of so much area, pieces divided at
  will. Of a single kind the number is rounded down.
* **Fractional choice on a grid.** Every position of a piece lies in some square cell of a grid. The
  points that a piece covers wherever in its cell it lies, the piece shrunk by the rounding of the
  grid, are covered by no other piece. So any true layout gives a choice of cells in which no point
  is covered twice, and the most that such a choice can be worth is an upper limit. Cells with no
  position in the region are left out; cells are kept as long as a true position lies in them, so
  the region is not grown by the rounding. Letting cells be chosen by fractions can only raise the
  limit and makes it a linear program; its dual, any set of prices of points, proves the limit by
  plain addition, so rounding in the solver cannot make it wrong.
* **Exact choice on the same grid**: the same with whole cells, by branch and bound; stopped early,
  the solver's dual bound still holds.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from shapely import box, intersects, prepare
from shapely.geometry import MultiPolygon, Polygon

from scrapstore.packing.board import Board
from scrapstore.packing.convex import Points, half_planes
from scrapstore.packing.pieces import Layout, PieceKind
from scrapstore.packing.regions import as_region

__all__ = ["prove"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

_ENTRIES_PER_SECOND = 100_000  # covered points of all cells that a linear program copes with
_MOST_ENTRIES = 320_000
_EXACT_FROM_SECONDS = 10.0


def prove(
    region: Polygon | MultiPolygon,
    kinds: Sequence[PieceKind],
    layout: Layout,
    seconds: float = 3.0,
) -> Layout:
    """Return `layout` with the lowest bound that about `seconds` of work could prove.

    The placements stay as they are. `seconds` sets the grid; from 10 on the exact choice follows
    the fractional one, and there it is a limit of time, so the bound (never the plan) may then come
    out higher on a slower machine.
    """
    board = Board(as_region(region), kinds)
    bound = layout.bound
    if not board.turns or layout.proven or seconds <= 0:
        return layout
    grid = _Grid(board, min(_ENTRIES_PER_SECOND * seconds, _MOST_ENTRIES))
    bound = min(bound, _whole(board, grid.fractional()))
    if seconds >= _EXACT_FROM_SECONDS and bound > layout.value + 1e-9:
        bound = min(bound, _whole(board, grid.exact(seconds)))
    return replace(layout, bound=max(bound, layout.value))


def _whole(board: Board, bound: float) -> float:
    """Round the bound down to a value that pieces of a single worth can have."""
    worths = {board.worth(turn) for turn in range(len(board.turns))}
    if len(worths) > 1:
        return bound
    (worth,) = worths
    return float(np.floor(bound / worth + 1e-7)) * worth


class _Grid:
    """The cells of all turns, and the grid points that a piece in each cell always covers."""

    def __init__(self, board: Board, entries: float) -> None:
        # scipy takes most of a second to load; only a proof pays for it.
        from scipy.sparse import coo_matrix, vstack

        mass = sum(at.area * t.area for at, t in zip(board.feasible, board.turns, strict=True))
        least = min(float(np.sqrt(turn.area)) for turn in board.turns)
        # A cell for every step² of positions, a point for every step² of the piece.
        self.step = min(max(float(mass / entries) ** 0.25, 0.01 * least), 0.3 * least)
        low_x, low_y, high_x, _ = board.region.bounds
        # A hair lower, so that positions on the very edge do not open a row of cells of their own.
        self.low = np.array([low_x, low_y]) - 1e-5
        self.width = int((high_x - low_x) / self.step) + 2
        rows: list[Ints] = []
        columns: list[Ints] = []
        worth: list[Floats] = []
        kind: list[Ints] = []
        cells = 0
        for turn, oriented in enumerate(board.turns):
            own = self._cells(board.feasible[turn])
            offsets = self._covered(board.parts[turn], oriented.size)
            at = own[:, None] + offsets[None]
            rows.append((at[..., 1] * self.width + at[..., 0]).ravel())
            columns.append(np.repeat(cells + np.arange(len(own)), len(offsets)))
            worth.append(np.full(len(own), board.worth(turn)))
            kind.append(np.full(len(own), oriented.kind))
            cells += len(own)
        _, points = np.unique(np.concatenate(rows), return_inverse=True)
        self.worth = np.concatenate(worth)
        shape = (int(points.max(initial=-1)) + 1, cells)
        covers = coo_matrix((np.ones(len(points)), (points, np.concatenate(columns))), shape=shape)
        kinds = np.concatenate(kind)
        member = coo_matrix(
            (np.ones(cells), (kinds, np.arange(cells))), shape=(len(board.kinds), cells)
        )
        self.matrix = vstack((covers, member)).tocsr()
        self.most = np.concatenate((np.ones(shape[0]), np.array(board.wanted(), np.float64)))

    def _cells(self, feasible: MultiPolygon) -> Ints:
        """Return the cells (n, 2) that hold a position of `feasible`."""
        bounds = np.array(feasible.bounds).reshape(2, 2)
        first, last = np.floor((bounds - self.low) / self.step).astype(int)
        x, y = np.meshgrid(np.arange(first[0], last[0] + 1), np.arange(first[1], last[1] + 1))
        cells = np.column_stack((x.ravel(), y.ravel()))
        corner = self.low + cells * self.step
        prepare(feasible)
        # A hair larger, so that rounding cannot lose a position on the line between two cells.
        squares = box(*(corner - 1e-9).T, *(corner + self.step + 1e-9).T)
        kept: Ints = cells[intersects(feasible, squares)]
        return kept

    def _covered(self, parts: list[Points], size: tuple[float, float]) -> Ints:
        """Return the points (n, 2), counted from the cell, that a piece in the cell covers."""
        x, y = np.meshgrid(*(np.arange(int(side / self.step) + 2) for side in size))
        points = np.column_stack((x.ravel(), y.ravel()))
        inside = np.zeros(len(points), dtype=bool)
        for part in parts:
            side = half_planes(part)
            # The least of n·t over the cell, for t from (0, 0) to (step, step).
            least = self.step * np.minimum(side[:, :2], 0.0).sum(axis=1)
            # Pieces may overlap by the packer's tolerance: a point nearer the side is not counted.
            most = side[:, 2] + least - 1e-6
            inside |= np.all(points * self.step @ side[:, :2].T < most, axis=1)
        return points[inside]

    def fractional(self) -> float:
        """Return the limit that the linear program's prices prove."""
        from scipy.optimize import linprog

        result = linprog(  # type: ignore[call-overload]
            -self.worth,
            A_ub=self.matrix,
            b_ub=self.most,
            bounds=np.tile([0.0, 1.0], (len(self.worth), 1)),
            method="highs-ipm",
        )
        if result.ineqlin.marginals is None:
            return float("inf")
        prices = np.maximum(-np.asarray(result.ineqlin.marginals), 0.0)
        missing = np.maximum(self.worth - self.matrix.T @ prices, 0.0)
        return float(prices @ self.most + missing.sum()) + 1e-9

    def exact(self, seconds: float) -> float:
        """Return the limit that branch and bound proves within `seconds`."""
        from scipy.optimize import Bounds, LinearConstraint, milp

        result = milp(
            -self.worth,
            constraints=LinearConstraint(self.matrix, -np.inf, self.most),
            integrality=np.ones(len(self.worth), np.int64),
            bounds=Bounds(0, 1),
            options={"time_limit": seconds},
        )
        found = result.mip_dual_bound
        return float("inf") if found is None else -float(found) + 1e-6
