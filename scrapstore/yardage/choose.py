"""Which patterns to cut, and how many strips of each: a cutting-stock problem.

Patterns are found by column generation: a linear programme (HiGHS, in SciPy) tells what each piece
is worth, the patterns worth more than their strips are added, until there are none. What the linear
programme then needs no whole plan can undercut. CP-SAT (OR-tools) chooses whole strips.

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

from scrapstore.yardage.patterns import Pattern, Way, best_patterns, with_rest_refilled

__all__ = ["Problem", "Solution", "Supply", "generate", "least", "most_area", "simplest"]

_EFFORT: Final = 1.0
"""CP-SAT's own count of work for one question, about seconds on a quiet machine."""

_ROUNDS: Final = 200
_AREA_UNITS: Final = 1000


@dataclass(frozen=True, slots=True)
class Problem:
    """`wanted` pieces of each kind, and the ways in which they may lie on strips `room` long."""

    ways: tuple[Way, ...]
    wanted: tuple[int, ...]
    areas: tuple[float, ...]
    room: float


@dataclass(frozen=True, slots=True)
class Supply:
    """Patterns to choose from; `bound` ruler marks of width are needed whatever is chosen.

    `first` is a whole plan, made quickly: how many strips of each pattern.
    """

    patterns: tuple[Pattern, ...]
    first: tuple[int, ...]
    bound: int


@dataclass(frozen=True, slots=True)
class Solution:
    """`times` strips of each pattern, together `marks` ruler marks wide, giving `counts` pieces."""

    times: Mapping[Pattern, int]
    marks: int
    counts: tuple[int, ...]


def generate(problem: Problem) -> Supply:
    """Return the patterns that the linear programme asks for, and its bound."""
    ways, wanted = problem.ways, problem.wanted
    found: dict[Pattern, tuple[int, ...]] = {}

    def add(pattern: Pattern) -> bool:
        if pattern in found:
            return False
        found[pattern] = pattern.counts(ways, len(wanted))
        return True

    for index, way in enumerate(ways):
        add(Pattern(way.marks, ((index, len(way.lengths)),)))
    amounts, duals = _relaxed(found, wanted)
    factor = 1.0
    # First without rests: the plan that is simplest to cut is made of such patterns.
    for rests in (False, True):
        for _ in range(_ROUNDS):
            best = best_patterns(ways, duals, problem.room, rests=rests)
            factor = min([1.0, *(marks / value for marks, (value, _) in best.items())])
            new = [add(pattern) for _, pattern in best.values()]
            if not any(new):
                break
            amounts, duals = _relaxed(found, wanted)
    bound = math.ceil(factor * math.fsum(map(operator.mul, duals, wanted)) - 1e-6)
    patterns = tuple(found)
    # Whole plans, some that follow the linear programme and some that do not: they are something to
    # begin with, and their patterns fill the gaps that whole strips leave.
    plans = [
        _finish(problem, patterns, [share * amount for amount in amounts], worth)
        for share in (1.0, 0.0)
        for worth in (duals, problem.areas)
    ]
    for plan in plans:
        for pattern in plan:
            add(pattern)
    first = min(plans, key=lambda plan: sum(p.marks * n for p, n in plan.items()))
    return Supply(tuple(found), tuple(first.get(pattern, 0) for pattern in found), bound)


def _relaxed(
    found: Mapping[Pattern, Sequence[int]], wanted: Sequence[int]
) -> tuple[list[float], list[float]]:
    """Return how many strips of each pattern need least in fractions, and each piece's worth."""
    from scipy.optimize import linprog

    gives = np.asarray(list(found.values()), dtype=float).T
    solved = linprog(
        [p.marks for p in found], A_ub=-gives, b_ub=-np.asarray(wanted, dtype=float), method="highs"
    )
    assert solved.x is not None  # there is a pattern for every piece
    return list(solved.x), [max(0.0, -float(dual)) for dual in solved.ineqlin.marginals]


def _finish(
    problem: Problem,
    patterns: Sequence[Pattern],
    amounts: Sequence[float],
    worth: Sequence[float],
) -> dict[Pattern, int]:
    """Return a whole plan: the whole strips of `amounts`, then for the rest one strip at a time."""
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
        # A piece that the linear programme thinks worthless must be cut all the same.
        values = [
            max(w, 1e-6 * a) if count > 0 else 0.0
            for w, a, count in zip(worth, problem.areas, left, strict=True)
        ]
        best = best_patterns(fewer, values, problem.room)
        _, pattern = max(best.values(), key=lambda found: found[0] / found[1].marks)
        if pattern.rest:
            pattern = with_rest_refilled(pattern, ways, values, left, problem.room)
        plan[pattern] = plan.get(pattern, 0) + 1
        for kind, count in enumerate(pattern.counts(ways, kinds)):
            left[kind] -= count
    return {pattern: times for pattern, times in plan.items() if times}


def least(problem: Problem, supply: Supply) -> Solution:
    """Return the plan that needs the least width of strips."""
    model = _Model(problem, supply)
    model.cover()
    model.model.minimize(model.marks)
    return model.solve(hint=supply.first)


def simplest(problem: Problem, supply: Supply, most: int, first: Solution) -> Solution:
    """Return the plan that is simplest to cut among those at most `most` ruler marks wide.

    `first` is one of them. Of equally simple ones the narrowest.
    """
    model = _Model(problem, supply)
    model.cover()
    model.model.add(model.marks <= most)
    model.model.minimize(model.steps() * (most + 1) + model.marks)
    return model.solve(hint=tuple(first.times.get(p, 0) for p in supply.patterns))


def most_area(
    problem: Problem, supply: Supply, most: int, *, sets: int = 1, at_most: int | None = None
) -> Solution:
    """Return what gives the largest area of wanted pieces on at most `most` ruler marks.

    Pieces of each kind count in full `sets` only; `at_most` limits how many pieces count in all.
    """
    model = _Model(problem, supply)
    model.model.add(model.marks <= most)
    counts = model.counted(sets)
    if at_most is not None:
        model.model.add(sum(counts) <= at_most)
    units = [round(area * _AREA_UNITS) for area in problem.areas]
    gain = sum(unit * count for unit, count in zip(units, counts, strict=True))
    model.model.maximize(gain * (most + 1) - model.marks)
    return model.solve(hint=(0,) * len(supply.patterns), counts=counts)


class _Model:
    """The whole-number programme that all questions share."""

    def __init__(self, problem: Problem, supply: Supply) -> None:
        from ortools.sat.python import cp_model

        self.problem, self.patterns = problem, supply.patterns
        kinds = len(problem.wanted)
        self.gives = [pattern.counts(problem.ways, kinds) for pattern in supply.patterns]
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
        """Return how much there is to say, and to cut: each pattern once, each strip, each trim."""
        told = []
        for pattern, x in zip(self.patterns, self.times, strict=True):
            used = self.model.new_bool_var("")
            self.model.add(x == 0).only_enforce_if(~used)
            told.append(pattern.steps * used + pattern.trims(self.problem.ways) * x)
        return sum(told) + sum(self.times)

    def solve(self, hint: Sequence[int], counts: Sequence[Any] | None = None) -> Solution:
        """Return the best found; `hint` is a plan that will do if nothing better is found.

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
