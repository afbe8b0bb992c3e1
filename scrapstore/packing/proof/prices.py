"""Prices of cloth by the square inch: the linear program that finds the cheapest.

See `bound` for what prices prove. Nothing here needs to be exact: prices from any source prove a
bound once `inspection` has examined every position.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from ortools.pdlp import solvers_pb2
from ortools.pdlp.python import pdlp
from scipy.ndimage import distance_transform_edt
from scipy.optimize import linprog
from scipy.sparse import coo_matrix, vstack
from shapely.geometry import MultiPolygon

from scrapstore.packing.problem import PackingProblem
from scrapstore.packing.proof.price_integrals import covered_shares

__all__ = ["Demand", "PriceProgram", "Prices"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

_MARGIN = 3  # cells round the region's bounds, for positions that a box of them reaches over
_SLIVER = 1e-3  # of a cell: less than this would only get prices out of all measure
_ROUGHLY = 1e-3  # the relative error at which the quick solver stops
_LOOK = 25.0  # entries that take as long as the boxes round a position
_MOST_STEPS = 10_000


@dataclass(frozen=True)
class Prices:
    """What cloth and pieces cost.

    `cloth` (rows, columns): of a square inch in each cell; `kind` (kinds,): of one piece of each
    kind, for that only so many are wanted.
    """

    cloth: Floats
    kind: Floats

    def __add__(self, other: "Prices") -> "Prices":
        return Prices(self.cloth + other.cloth, self.kind + other.kind)


@dataclass(frozen=True)
class Demand:
    """Constraints: pieces in a turn at `at` (n, 2), region's frame, cover prices of `due` (n,)."""

    turn: int
    at: Floats
    due: Floats


class PriceProgram:
    """The linear program of the cheapest prices of a region's cells at which demands are met.

    Its dual, which is what the solvers are given, places fractions of pieces at the positions so
    that no cell is covered by more than its area in the region.
    """

    def __init__(self, problem: PackingProblem, work: float) -> None:
        """Choose the side of a cell: `work` is about the entries of the linear program.

        Each sample position counts for some entries more, for the boxes to be examined near it.
        """
        places = sum(at.area for at in problem.feasible)
        mass = sum(at.area * t.area for at, t in zip(problem.feasible, problem.turns, strict=True))
        least = min(float(np.sqrt(turn.area)) for turn in problem.turns)
        # With n = 1/step² there are places · n positions, each of which covers area · n cells:
        # mass · n² + places · extra · n = work.
        extra = places * _LOOK
        fine = 2 * work / (extra + float(np.sqrt(extra**2 + 4 * mass * work)))
        self.step = min(max(fine**-0.5, 0.03 * least), 0.3 * least)
        low_x, low_y, high_x, high_y = problem.region.bounds
        self.problem = problem
        self.low = np.array([low_x, low_y]) - _MARGIN * self.step
        self.columns = int((high_x - low_x) / self.step) + 2 * _MARGIN + 2
        self.rows = int((high_y - low_y) / self.step) + 2 * _MARGIN + 2
        self.wanted = np.array(problem.wanted(), np.float64)
        self.room = self._room()
        self._last: tuple[Floats, Floats] | None = None
        self._nearest = _nearest(self.room > _SLIVER)

    def _room(self) -> Floats:
        """Return the share of each cell that is in the region."""
        column, row = np.meshgrid(np.arange(self.columns), np.arange(self.rows))
        corner = self.low + np.column_stack((column.ravel(), row.ravel())) * self.step
        cells = shapely.box(*corner.T, *(corner + self.step).T)
        inside = shapely.area(shapely.intersection(cells, self.problem.region))
        room: Floats = inside.reshape(self.rows, self.columns) / self.step**2
        return room

    def worth_of(self, prices: Prices) -> float:
        """Return the price of the whole region."""
        return float((prices.cloth * self.room).sum() * self.step**2)

    def samples(self) -> list[Demand]:
        """Return positions of all turns, each due what the piece is worth."""
        return [
            self.full_price(turn, self._samples(feasible))
            for turn, feasible in enumerate(self.problem.feasible)
        ]

    def full_price(self, turn: int, at: Floats) -> Demand:
        """Return the demand that a piece at each of the positions (n, 2) covers all its worth."""
        return Demand(turn, at, np.full(len(at), self.problem.worth(turn)))

    def _samples(self, feasible: MultiPolygon) -> Floats:
        """Return positions (n, 2): points along the edge of `feasible` and a grid in it."""
        low_x, low_y, high_x, high_y = feasible.bounds
        x, y = np.meshgrid(np.arange(low_x, high_x, self.step), np.arange(low_y, high_y, self.step))
        inner = np.column_stack((x.ravel(), y.ravel()))
        shapely.prepare(feasible)
        inner = inner[shapely.contains_xy(feasible, inner)]
        edge = shapely.get_coordinates(shapely.segmentize(feasible, self.step))
        # Corners of a torn edge lie closer than is of use: one in each quarter of a cell is kept.
        at = np.concatenate((edge, inner))
        _, kept = np.unique(np.floor(2 * at / self.step), axis=0, return_index=True)
        return at[np.sort(kept)]

    def cheapest(
        self, demands: Sequence[Demand], *, roughly: bool, error: float = _ROUGHLY
    ) -> Prices | None:
        """Return about the least prices that meet all of `demands`.

        `roughly` takes the solver that is quick for many demands. None when a solver gives up.
        """
        count = np.cumsum([0, *(len(demand.at) for demand in demands)])
        found = [self._covers(demand) for demand in demands]
        place = np.concatenate([f[1] + n for f, n in zip(found, count[:-1], strict=True)])
        used = np.flatnonzero(self.room > _SLIVER)
        cell = np.searchsorted(used, np.concatenate([f[0] for f in found]))
        share = np.concatenate([f[2] for f in found])
        kinds = np.repeat([self.problem.turns[d.turn].kind for d in demands], np.diff(count))
        covers = coo_matrix((share, (cell, place)), shape=(len(used), count[-1]))
        own = (kinds, np.arange(count[-1]))
        member = coo_matrix((np.ones(count[-1]), own), shape=(len(self.wanted), count[-1]))
        program = (
            np.concatenate([demand.due for demand in demands]),
            vstack((covers, member)).tocsc(),
            np.concatenate((self.room.ravel()[used], self.wanted)),
        )
        price: Floats | None
        if roughly:
            self._last = _approximate(*program, self._last, error)
            price = self._last[1]
        else:
            price = _exact_dual(*program)
        if price is None or not np.isfinite(price).all():
            return None
        flat = np.zeros(self.rows * self.columns)
        flat[used] = np.maximum(price[: len(used)], 0.0) / self.step**2
        cloth = flat.reshape(self.rows, self.columns)
        # Outside the region cloth costs nothing and no piece covers it: with the price of the
        # cells next to it the prices do not end at the edge, and are easier to prove.
        spread = np.ascontiguousarray(cloth[tuple(self._nearest)])
        return Prices(spread, np.maximum(price[len(used) :], 0.0))

    def _covers(self, demand: Demand) -> tuple[Ints, Ints, Floats]:
        """Return as three columns which cell the piece covers at which position, by which share."""
        oriented = self.problem.turns[demand.turn]
        wide, tall = (int(side / self.step) + 3 for side in oriented.size)
        most = len(demand.at) * wide * tall
        cell, place, share = np.empty(most, np.int64), np.empty(most, np.int64), np.empty(most)
        outline, at = np.ascontiguousarray(oriented.corners), demand.at - self.low
        n = covered_shares(outline, at, self.step, self.columns, cell, place, share)
        kept = np.flatnonzero((share[:n] > _SLIVER) & (self.room.ravel()[cell[:n]] > _SLIVER))
        return cell[kept], place[kept], share[kept]


def _nearest(inside: NDArray[np.bool_]) -> Ints:
    """Return for every cell (2, rows, columns) the row and column of the nearest one inside."""
    nearest = distance_transform_edt(~inside, return_distances=False, return_indices=True)
    return np.asarray(nearest, np.int64)


def _exact_dual(worth: Floats, matrix: object, room: Floats) -> Floats | None:
    """Return the dual of: most worth · x, matrix · x ≤ room, x ≥ 0, by an interior point."""
    result = linprog(  # type: ignore[call-overload]
        -worth, A_ub=matrix, b_ub=room, bounds=(0, None), method="highs-ipm"
    )
    return None if result.ineqlin.marginals is None else -np.asarray(result.ineqlin.marginals)


def _approximate(
    worth: Floats,
    matrix: object,
    room: Floats,
    start: tuple[Floats, Floats] | None,
    error: float,
) -> tuple[Floats, Floats]:
    """Return about its solution and dual by a first-order method, quicker where it is large.

    `start` is a solution and dual for the first so many columns of the program. One thread and a
    limit of steps, so that the same input gives the same prices.
    """
    program = pdlp.QuadraticProgram()
    program.resize_and_initialize(len(worth), len(room))
    program.objective_vector = -worth
    program.constraint_matrix = matrix
    program.constraint_lower_bounds = np.full(len(room), -np.inf)
    program.constraint_upper_bounds = room
    program.variable_lower_bounds = np.zeros(len(worth))
    program.variable_upper_bounds = np.full(len(worth), np.inf)
    how = solvers_pb2.PrimalDualHybridGradientParams()
    good = how.termination_criteria.simple_optimality_criteria
    good.eps_optimal_relative = good.eps_optimal_absolute = error
    how.termination_criteria.iteration_limit = _MOST_STEPS
    how.num_threads = 1
    first = None
    if start is not None:
        first = pdlp.PrimalAndDualSolution()
        first.primal_solution = np.concatenate((start[0], np.zeros(len(worth) - len(start[0]))))
        first.dual_solution = -start[1]
    found = pdlp.primal_dual_hybrid_gradient(program, how, first)
    return np.asarray(found.primal_solution), -np.asarray(found.dual_solution)
