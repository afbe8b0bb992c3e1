"""Which patterns to cut, and how many strips of each: a cutting-stock problem.

Patterns are found by column generation. The relaxed master problem (HiGHS, in SciPy) gives a dual
value for each piece; patterns worth more than the strip they need are added until there are none.
The optimum of the relaxation is then a lower bound for every plan. CP-SAT (OR-tools) chooses whole
strips.

The method is Gilmore and Gomory's for the cutting-stock problem (Operations Research 9, 1961, and
13, 1965); the bound from duals that do not quite suffice is Farley's (Operations Research 38,
1990).
"""

import math
import operator
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from scrapstore.yardage.patterns import StripPattern, Way, price_patterns, with_rest_refilled

__all__ = [
    "CuttingStockProblem",
    "PatternPool",
    "Solution",
    "generate_columns",
    "maximise_area",
    "minimise_steps",
    "minimise_width",
]

_EFFORT: Final = 1.0
"""CP-SAT's own count of work for one question, about seconds on a quiet machine."""

_ROUNDS: Final = 200
_SHARES: Final = (0.0, 0.5, 0.8, 1.0)
"""Of the relaxation, how much is kept before strips are added one by one."""
_FACTORS: Final = (0.6, 1.5)
_GOLDEN: Final = (math.sqrt(5) - 1) / 2
_AREA_UNITS: Final = 1000


@dataclass(frozen=True, slots=True)
class CuttingStockProblem:
    """The demand (`wanted`) for each kind of piece, and its positions on strips `room` long."""

    ways: tuple[Way, ...]
    wanted: tuple[int, ...]
    areas: tuple[float, ...]
    room: float


@dataclass(frozen=True, slots=True)
class PatternPool:
    """The columns found. `bound` is a lower bound on the width of any plan, in ruler marks.

    `first` is a feasible plan from a rounding heuristic: the number of strips of each pattern.
    """

    patterns: tuple[StripPattern, ...]
    first: tuple[int, ...]
    bound: int


@dataclass(frozen=True, slots=True)
class Solution:
    """`times` strips of each pattern, together `marks` ruler marks wide, giving `counts` pieces."""

    times: Mapping[StripPattern, int]
    marks: int
    counts: tuple[int, ...]


def generate_columns(problem: CuttingStockProblem, tries: int = 0) -> PatternPool:
    """Return the columns that the relaxation asks for, with its lower bound and a first plan.

    The relaxation does not ask for patterns that only fit together in whole strips. Further plans
    are rounded from it, `tries` of them, each with the worth of pieces changed a little; their
    patterns are columns, too.
    """
    ways, wanted = problem.ways, problem.wanted
    found: dict[StripPattern, tuple[int, ...]] = {}

    def add(pattern: StripPattern) -> bool:
        if pattern in found:
            return False
        found[pattern] = pattern.counts(ways, len(wanted))
        return True

    for index, way in enumerate(ways):
        add(StripPattern(way.marks, ((index, len(way.lengths)),)))
    amounts, duals = _solve_relaxation(found, wanted)
    factor = 1.0
    # First without rests: the plan that is simplest to cut is made of such patterns.
    for rests in (False, True):
        for _ in range(_ROUNDS):
            best = price_patterns(ways, duals, problem.room, rests=rests)
            factor = min([1.0, *(marks / value for marks, (value, _) in best.items())])
            new = [add(pattern) for _, pattern in best.values()]
            if not any(new):
                break
            amounts, duals = _solve_relaxation(found, wanted)
    bound = math.ceil(factor * math.fsum(map(operator.mul, duals, wanted)) - 1e-6)
    patterns = tuple(found)
    # Integer plans from rounding the relaxation, and from nothing: they give an upper bound, and
    # their patterns fill the gaps that whole strips leave.
    plans = [
        _round_up(problem, patterns, [share * amount for amount in amounts], worth)
        for share in (1.0, 0.0)
        for worth in (duals, problem.areas)
    ]
    for number in range(tries if len(wanted) > 1 else 0):
        worth = [
            max(value, 1e-6 * area) * _factor(number, kind)
            for kind, (value, area) in enumerate(
                zip((duals, problem.areas)[number % 2], problem.areas, strict=True)
            )
        ]
        share = _SHARES[number % len(_SHARES)]
        plans.append(_round_up(problem, patterns, [share * amount for amount in amounts], worth))
    for plan in plans:
        for pattern in plan:
            add(pattern)
    first = min(plans, key=lambda plan: sum(p.marks * n for p, n in plan.items()))
    return PatternPool(tuple(found), tuple(first.get(pattern, 0) for pattern in found), bound)


def _factor(number: int, kind: int) -> float:
    """Return by how much one of the tries changes the worth of a kind: spread evenly."""
    low, high = _FACTORS
    return low + (high - low) * ((number + 1) * (kind + 1) * _GOLDEN % 1.0)


def _solve_relaxation(
    found: Mapping[StripPattern, Sequence[int]], wanted: Sequence[int]
) -> tuple[list[float], list[float]]:
    """Return the optimum of the relaxed master problem, and the dual value of each piece."""
    from scipy.optimize import linprog

    gives = np.asarray(list(found.values()), dtype=float).T
    solved = linprog(
        [p.marks for p in found], A_ub=-gives, b_ub=-np.asarray(wanted, dtype=float), method="highs"
    )
    assert solved.x is not None  # there is a pattern for every piece
    return list(solved.x), [max(0.0, -float(dual)) for dual in solved.ineqlin.marginals]


def _round_up(
    problem: CuttingStockProblem,
    patterns: Sequence[StripPattern],
    amounts: Sequence[float],
    worth: Sequence[float],
) -> dict[StripPattern, int]:
    """Return an integer plan: `amounts` rounded down, then greedily one strip at a time."""
    ways, kinds = problem.ways, len(problem.wanted)
    plan = {p: math.floor(n + 1e-9) for p, n in zip(patterns, amounts, strict=True)}
    left = list(problem.wanted)
    for pattern, times in plan.items():
        for kind, count in enumerate(pattern.counts(ways, kinds)):
            left[kind] -= times * count
    while any(count > 0 for count in left):
        fewer = [
            Way(way.piece, way.row, way.marks, way.lengths[: max(left[way.piece], 0)])
            for way in ways
        ]
        # A piece with dual value 0 must be cut all the same.
        values = [
            max(w, 1e-6 * a) if count > 0 else 0.0
            for w, a, count in zip(worth, problem.areas, left, strict=True)
        ]
        best = price_patterns(fewer, values, problem.room)
        _, pattern = max(best.values(), key=lambda found: found[0] / found[1].marks)
        if pattern.rest:
            pattern = with_rest_refilled(pattern, ways, values, left, problem.room)
        plan[pattern] = plan.get(pattern, 0) + 1
        for kind, count in enumerate(pattern.counts(ways, kinds)):
            left[kind] -= count
    return {pattern: times for pattern, times in plan.items() if times}


def minimise_width(problem: CuttingStockProblem, pool: PatternPool) -> Solution:
    """Return the plan that needs the least width of strips."""
    model = _Model(problem, pool)
    model.cover()
    model.model.minimize(model.marks)
    return model.solve(hint=pool.first)


def minimise_steps(
    problem: CuttingStockProblem, pool: PatternPool, most: int, first: Solution
) -> Solution:
    """Return the plan that is simplest to cut among those at most `most` ruler marks wide.

    `first` is one of them. Of equally simple ones the narrowest.
    """
    model = _Model(problem, pool)
    model.cover()
    model.model.add(model.marks <= most)
    model.model.minimize(model.steps() * (most + 1) + model.marks)
    return model.solve(hint=tuple(first.times.get(p, 0) for p in pool.patterns))


def maximise_area(
    problem: CuttingStockProblem,
    pool: PatternPool,
    most: int,
    *,
    sets: int = 1,
    at_most: int | None = None,
) -> Solution:
    """Return what gives the largest area of wanted pieces on at most `most` ruler marks.

    Pieces of each kind count in full `sets` only; `at_most` limits how many pieces count in all.
    """
    model = _Model(problem, pool)
    model.model.add(model.marks <= most)
    counts = model.counted(sets)
    if at_most is not None:
        model.model.add(sum(counts) <= at_most)
    units = [round(area * _AREA_UNITS) for area in problem.areas]
    gain = sum(unit * count for unit, count in zip(units, counts, strict=True))
    model.model.maximize(gain * (most + 1) - model.marks)
    return model.solve(hint=(0,) * len(pool.patterns), counts=counts)


class _Model:
    """The integer programme that the objectives share."""

    def __init__(self, problem: CuttingStockProblem, pool: PatternPool) -> None:
        from ortools.sat.python import cp_model

        self.problem, self.patterns = problem, pool.patterns
        kinds = len(problem.wanted)
        self.gives = [pattern.counts(problem.ways, kinds) for pattern in pool.patterns]
        self.model = cp_model.CpModel()
        self.times = [
            self.model.new_int_var(0, max(self._enough(gives)), "") for gives in self.gives
        ]
        self.marks: Any = sum(p.marks * x for p, x in zip(self.patterns, self.times, strict=True))

    def _enough(self, gives: Sequence[int]) -> list[int]:
        pairs = zip(gives, self.problem.wanted, strict=True)
        return [math.ceil(wanted / count) for count, wanted in pairs if count]

    def _given(self, kind: int) -> Any:
        return sum(g[kind] * x for g, x in zip(self.gives, self.times, strict=True) if g[kind])

    def cover(self) -> None:
        """Ask for every wanted piece."""
        for kind, wanted in enumerate(self.problem.wanted):
            self.model.add(self._given(kind) >= wanted)

    def counted(self, sets: int) -> list[Any]:
        """Return for each piece how many count: from the strips, wanted, and in full sets."""
        counts = []
        for kind, wanted in enumerate(self.problem.wanted):
            full = self.model.new_int_var(0, wanted // sets, "")
            self.model.add(self._given(kind) >= sets * full)
            counts.append(sets * full)
        return counts

    def steps(self) -> Any:
        """Return the number of steps to cut by: each pattern once, each strip, each trim."""
        steps = []
        for pattern, x in zip(self.patterns, self.times, strict=True):
            used = self.model.new_bool_var("")
            self.model.add(x == 0).only_enforce_if(~used)
            steps.append(pattern.steps * used + pattern.trims(self.problem.ways) * x)
        return sum(steps) + sum(self.times)

    def solve(self, hint: Sequence[int], counts: Sequence[Any] | None = None) -> Solution:
        """Return the best plan found; `hint` is a feasible plan to start from.

        `counts` are the pieces that count, all that are wanted where it is None.
        """
        from ortools.sat.python import cp_model

        for x, value in zip(self.times, hint, strict=True):
            self.model.add_hint(x, value)
        solver = cp_model.CpSolver()
        # One worker and a limit in its own count of work rather than in seconds: a plan does not
        # depend on how busy the machine is.
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = 0
        solver.parameters.max_deterministic_time = _EFFORT
        found = solver.solve(self.model) in (cp_model.OPTIMAL, cp_model.FEASIBLE)
        amounts = [solver.value(x) for x in self.times] if found else list(hint)
        times = {p: n for p, n in zip(self.patterns, amounts, strict=True) if n}
        given = self.problem.wanted
        if counts is not None:
            given = tuple(solver.value(c) if found else 0 for c in counts)
        return Solution(times, sum(p.marks * n for p, n in times.items()), given)
