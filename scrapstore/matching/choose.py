"""Which pattern to cut from which scrap, under the conditions of every role.

A whole-number programme, solved by CP-SAT (OR-tools). The aims follow one another: cover the pieces
that save most yardage; covering just as much, take ready-cut pieces first; then the aims of
:mod:`scrapstore.matching.aims` in the order asked for, each held to within a twentieth of its best
while the next is sought.
"""

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from scrapstore.matching.aims import DEFAULT_AIMS, Aim, costs
from scrapstore.matching.forms import Need, ReadyStock, RoleRule, ScrapStock
from scrapstore.matching.patterns import Pattern, cut_classes, kind_on
from scrapstore.matching.ready import serves

__all__ = ["Choice", "choose"]

_EFFORT = 4.0  # CP-SAT's own count of work, about seconds on a quiet machine
_AREA_UNITS = 1000  # to the square inch: CP-SAT reckons in whole numbers
_GIVE = 0.05  # a twentieth of one aim may be given up for the aims after it

_Sources = dict[str, dict[str, list[int]]]
"""Need → fabric → the columns that count its pieces."""


@dataclass(frozen=True)
class Choice:
    """What to cut: per scrap its pattern and how many pieces of each need; ready-cut pieces used.

    `min_fabrics` holds, for each role that asks for at least N fabrics, the number that the plan
    was held to: N, or fewer where the stock cannot give N. `proven` tells that no other choice
    among the patterns covers more.
    """

    patterns: Mapping[int, Pattern]
    cut: Mapping[tuple[int, str], int]
    ready: Mapping[tuple[int, str], int]
    min_fabrics: Mapping[str, int]
    proven: bool = True


@dataclass
class _Model:
    """Columns and rows of a whole-number programme, gathered one by one; all weights are whole."""

    upper: list[int] = field(default_factory=list)
    rows: list[tuple[dict[int, int], int | None, int | None]] = field(default_factory=list)

    def column(self, upper: int) -> int:
        """Add a whole-number variable between 0 and `upper`; return its index."""
        self.upper.append(upper)
        return len(self.upper) - 1

    def row(self, terms: Mapping[int, int], low: int | None, high: int | None) -> None:
        """Hold the weighted sum of columns between `low` and `high`; None is no limit."""
        self.rows.append((dict(terms), low, high))

    def minimise(
        self, cost: Mapping[int, int], start: NDArray[np.int64] | None = None
    ) -> tuple[NDArray[np.int64], bool] | None:
        """Return a solution and whether it is proven best; None when there is none."""
        from ortools.sat.python import cp_model

        model = cp_model.CpModel()
        columns = [model.new_int_var(0, most, "") for most in self.upper]
        for terms, low, high in self.rows:
            held = sum(weight * columns[c] for c, weight in terms.items())
            if low is not None:
                model.add(held >= low)
            if high is not None:
                model.add(held <= high)
        model.minimize(sum(weight * columns[c] for c, weight in cost.items()))
        if start is not None:
            for column, value in zip(columns, start, strict=True):
                model.add_hint(column, int(value))
        solver = cp_model.CpSolver()
        # One worker and a limit in its own count of work rather than in seconds: a plan does not
        # depend on how busy the machine is.
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = 0
        solver.parameters.max_deterministic_time = _EFFORT
        status = solver.solve(model)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return None
        values = np.array([solver.value(column) for column in columns], dtype=np.int64)
        return values, status == cp_model.OPTIMAL


def choose(
    scraps: Sequence[ScrapStock],
    patterns: Sequence[Pattern],
    ready: Sequence[ReadyStock],
    needs: Sequence[Need],
    roles: Mapping[str, RoleRule],
    *,
    aims: Sequence[Aim] = DEFAULT_AIMS,
) -> Choice:
    """Choose at most one pattern a scrap; see the module's text for the aims.

    Conditions that the stock cannot keep at all (more different fabrics than there are) are
    relaxed as little as needed, and the choice says so.
    """
    asked = {r.name: r.min_fabrics for r in roles.values() if r.min_fabrics}
    held = dict(asked)
    while True:
        choice = _solve(scraps, patterns, ready, needs, roles, held, aims)
        if choice is not None:
            return choice
        # Without this condition "cut nothing" is always allowed, so the loop ends.
        held = {name: count - 1 for name, count in held.items() if count > 1}


def _solve(
    scraps: Sequence[ScrapStock],
    patterns: Sequence[Pattern],
    ready: Sequence[ReadyStock],
    needs: Sequence[Need],
    roles: Mapping[str, RoleRule],
    min_fabrics: Mapping[str, int],
    aims: Sequence[Aim],
) -> Choice | None:
    model = _Model()
    by_scrap: dict[int, list[int]] = defaultdict(list)
    for index, pattern in enumerate(patterns):
        by_scrap[pattern.scrap_id].append(index)
    taken = [model.column(1) for _ in patterns]
    cloths = {scrap.id: scrap for scrap in scraps}
    allowed = {s: [n for n in needs if _may_cut(n, cloths[s], roles)] for s in by_scrap}
    cut = _cut_columns(model, patterns, taken, by_scrap, allowed, cut_classes(needs))
    used = _ready_columns(model, ready, needs, roles)
    ready_fabric_of = {stock.id: stock.cloth_key for stock in ready}
    sources: _Sources = {need.name: defaultdict(list) for need in needs}
    for (scrap_id, name), column in cut.items():
        sources[name][cloths[scrap_id].cloth_key].append(column)
    for (stock_id, name), column in used.items():
        sources[name][ready_fabric_of[stock_id]].append(column)
    for need in needs:
        model.row({c: 1 for cs in sources[need.name].values() for c in cs}, 0, need.wanted)
    for role in roles.values():
        _hold_role(model, role, [n for n in needs if n.role == role.name], sources, min_fabrics)
    if not cut and not used:
        return Choice({}, {}, {}, dict.fromkeys(min_fabrics, 0))

    area = {need.name: round(need.outline.area * _AREA_UNITS) for need in needs}
    covered = {column: area[name] for (_, name), column in (*cut.items(), *used.items())}
    solved = model.minimise({column: -value for column, value in covered.items()})
    if solved is None:
        return None
    solution, proven = solved
    model.row(covered, sum(v * int(solution[c]) for c, v in covered.items()), None)
    regions = {scrap.id: scrap.region for scrap in scraps if scrap.id in by_scrap}
    # Ready-cut pieces first: of plans that cover as much, those that take most of them.
    stages: list[tuple[dict[int, int], float]] = [(dict.fromkeys(used.values(), -1), 0.0)]
    stages += [
        (dict(zip(taken, costs(aim, patterns, regions), strict=True)), _GIVE)
        for aim in aims
        if aim != "cover"
    ]
    for number, (cost, give) in enumerate(stages):
        if not cost:
            continue
        better = model.minimise(cost, start=solution)
        if better is not None:
            solution = better[0]
        reached = sum(weight * int(solution[c]) for c, weight in cost.items())
        if number < len(stages) - 1:
            model.row(cost, None, math.floor(reached * (1 + give)))

    return Choice(
        patterns={patterns[i].scrap_id: patterns[i] for i, c in enumerate(taken) if solution[c]},
        cut={key: int(solution[column]) for key, column in cut.items() if solution[column]},
        ready={key: int(solution[column]) for key, column in used.items() if solution[column]},
        min_fabrics=dict(min_fabrics),
        proven=proven,
    )


def _may_cut(need: Need, scrap: ScrapStock, roles: Mapping[str, RoleRule]) -> bool:
    return roles[need.role].allows(scrap) and kind_on(need, scrap) is not None


def _cut_columns(
    model: _Model,
    patterns: Sequence[Pattern],
    taken: Sequence[int],
    by_scrap: Mapping[int, list[int]],
    allowed: Mapping[int, Sequence[Need]],
    classes: Mapping[str, str],
) -> dict[tuple[int, str], int]:
    """Add, per scrap and need, the pieces cut; those of one class share what a pattern gives."""
    cut: dict[tuple[int, str], int] = {}
    for scrap_id, indices in by_scrap.items():
        model.row({taken[i]: 1 for i in indices}, 0, 1)
        sharing: dict[str, list[int]] = defaultdict(list)
        for need in allowed[scrap_id]:
            name = classes[need.name]
            most = max(patterns[i].counts.get(name, 0) for i in indices)
            if most:
                column = cut[scrap_id, need.name] = model.column(min(most, need.wanted))
                sharing[name].append(column)
        for name, columns in sharing.items():
            gives = {taken[i]: -patterns[i].counts.get(name, 0) for i in indices}
            model.row({**dict.fromkeys(columns, 1), **gives}, None, 0)
    return cut


def _ready_columns(
    model: _Model,
    ready: Sequence[ReadyStock],
    needs: Sequence[Need],
    roles: Mapping[str, RoleRule],
) -> dict[tuple[int, str], int]:
    """Add, per stack of ready-cut pieces and need, the pieces taken; no more than the stack."""
    used: dict[tuple[int, str], int] = {}
    for stock in ready:
        fits = [n for n in needs if roles[n.role].allows(stock) and serves(stock, n)]
        for need in fits:
            used[stock.id, need.name] = model.column(min(stock.count, need.wanted))
        if fits:
            model.row({used[stock.id, n.name]: 1 for n in fits}, 0, stock.count)
    return used


def _hold_role(
    model: _Model,
    role: RoleRule,
    needs: Sequence[Need],
    sources: _Sources,
    min_fabrics: Mapping[str, int],
) -> None:
    """Add the rows for sets from one fabric, at least N fabrics, and no more than N from one."""
    fabrics = sorted({fabric for need in needs for fabric in sources[need.name]})
    whole: dict[str, dict[int, int]] = {}
    for fabric in fabrics:
        whole[fabric] = {c: 1 for n in needs for c in sources[n.name].get(fabric, ())}
    if role.same_fabric_sets:
        for need in needs:
            for columns in sources[need.name].values():
                sets = model.column(need.wanted // role.same_fabric_sets)
                model.row(dict.fromkeys(columns, 1) | {sets: -role.same_fabric_sets}, 0, 0)
    if role.max_per_fabric:
        for terms in whole.values():
            model.row(terms, 0, role.max_per_fabric)
    if min_fabrics.get(role.name):
        shows = {fabric: model.column(1) for fabric in fabrics}
        for fabric, terms in whole.items():
            model.row(terms | {shows[fabric]: -1}, 0, None)
        model.row(dict.fromkeys(shows.values(), 1), min_fabrics[role.name], None)
