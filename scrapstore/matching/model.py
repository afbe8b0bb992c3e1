"""A whole-number programme: gathered row by row, solved by CP-SAT, priced by HiGHS."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from threading import Thread
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

__all__ = ["EFFORT", "Model", "Relaxed", "Solved"]

EFFORT = 4.0
"""CP-SAT's own count of work, about seconds on a quiet machine."""

_POLL: Final = 0.05  # seconds, at the most, until Ctrl-C is handled


@dataclass(frozen=True)
class Solved:
    """A solution; no other costs less than `bound`."""

    values: NDArray[np.int64]
    cost: float
    bound: float

    @property
    def proven(self) -> bool:
        """Whether no solution costs less; costs are whole numbers."""
        return self.cost - self.bound < 1 - 1e-6


@dataclass(frozen=True)
class Relaxed:
    """The programme with parts of pieces allowed.

    `prices[r]` is what one more on the right-hand side of row r would save: ≥ 0 where the upper
    limit binds, ≤ 0 where the lower one does.
    """

    cost: float
    prices: NDArray[np.float64]


@dataclass
class Model:
    """Columns and rows of a whole-number programme, gathered one by one; all weights are whole."""

    upper: list[int] = field(default_factory=list)
    rows: list[tuple[dict[int, int], int | None, int | None]] = field(default_factory=list)
    _model: Any = field(default=None, init=False)
    _columns: list[Any] = field(default_factory=list, init=False)
    _read_duals: int = field(default=0, init=False)

    def column(self, upper: int) -> int:
        """Add a whole-number variable between 0 and `upper`; return its index."""
        self.upper.append(upper)
        return len(self.upper) - 1

    def row(self, terms: Mapping[int, int], low: int | None, high: int | None) -> int:
        """Hold the weighted sum of columns between `low` and `high` (None: no limit)."""
        self.rows.append((dict(terms), low, high))
        return len(self.rows) - 1

    def minimise(
        self,
        cost: Mapping[int, int],
        start: NDArray[np.int64] | None = None,
        effort: float = EFFORT,
    ) -> Solved | None:
        """Return the best solution found with so much work; None when there is none."""
        from ortools.sat.python import cp_model

        model = self._model = self._model or cp_model.CpModel()
        columns = self._columns
        columns += [model.new_int_var(0, most, "") for most in self.upper[len(columns) :]]

        def weighed(terms: Mapping[int, int]) -> cp_model.LinearExprT:
            return cp_model.LinearExpr.weighted_sum(
                [columns[c] for c in terms], list(terms.values())
            )

        # One model serves all the aims; only what was added since is added to it.
        for terms, low, high in self.rows[self._read_duals :]:
            least = cp_model.INT_MIN if low is None else low
            most = cp_model.INT_MAX if high is None else high
            model.add_linear_constraint(weighed(terms), least, most)
        self._read_duals = len(self.rows)
        model.clear_objective()
        model.minimize(weighed(cost))
        model.clear_hints()
        if start is not None:
            for column, value in zip(columns, start, strict=True):
                model.add_hint(column, int(value))
        solver = cp_model.CpSolver()
        # One worker and a limit in its own count of work rather than in seconds: a plan does not
        # depend on how busy the machine is.
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = 0
        solver.parameters.max_deterministic_time = effort
        # Its own handling of Ctrl-C takes away Python's, for good.
        solver.parameters.catch_sigint_signal = False
        status = _solved(solver, model)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return None
        optimal = status == cp_model.OPTIMAL
        reached = solver.objective_value
        return Solved(
            values=np.array([solver.value(column) for column in columns], dtype=np.int64),
            cost=reached,
            bound=reached if optimal else solver.best_objective_bound,
        )

    def relaxed(self, cost: Mapping[int, float]) -> Relaxed | None:
        """Return the price of every row, parts of pieces allowed; None when there is no solution.

        Columns have no upper limit of their own here: what limits them must be a row.
        """
        from scipy.optimize import linprog
        from scipy.sparse import coo_array

        where: list[tuple[int, int, float]] = []
        limits: list[float] = []
        owner: list[tuple[int, int]] = []
        for number, (terms, low, high) in enumerate(self.rows):
            # A lower limit is an upper limit of the negative.
            for limit, sign in ((high, 1), (None if low is None else -low, -1)):
                never = sign < 0 and limit == 0 and min(terms.values(), default=0) >= 0
                if limit is None or never:
                    continue
                where += [(len(limits), c, sign * weight) for c, weight in terms.items()]
                limits.append(float(limit))
                owner.append((number, sign))
        weights = np.zeros(len(self.upper))
        for column, weight in cost.items():
            weights[column] = weight
        r, c, a = (np.array(part) for part in zip(*where, strict=True))
        matrix = coo_array((a, (r, c)), shape=(len(limits), len(self.upper))).tocsr()
        found = linprog(  # type: ignore[call-overload]
            weights, A_ub=matrix, b_ub=np.array(limits), bounds=(0, None), method="highs-ds"
        )
        if found.status != 0:
            return None
        prices = np.zeros(len(self.rows))
        for (number, sign), marginal in zip(owner, found.ineqlin.marginals, strict=True):
            prices[number] -= sign * float(marginal)
        return Relaxed(float(found.fun), prices)


def _solved(solver: Any, model: Any) -> Any:
    """Return the status of the solved model; Ctrl-C ends the solving at once.

    The solver runs on another thread: the thread that waits in it handles no signal.
    """
    solved: list[Any] = []
    other = Thread(target=lambda: solved.append(solver.solve(model)), daemon=True)
    try:
        other.start()
        while other.is_alive():
            other.join(_POLL)
    except KeyboardInterrupt:
        # Asked once to stop, it may not have begun yet.
        while other.is_alive():
            solver.stop_search()
            other.join(_POLL)
        raise
    return solved[0]
