"""Which pattern to cut from which scrap, under the conditions of every role.

A mixed-integer programme, solved by HiGHS through :func:`scipy.optimize.milp`. Two aims, one after
the other: cover the pieces that save most yardage; then, covering just as much, take ready-cut
pieces first, few scraps, and small scraps before large ones.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from scrapstore.matching.forms import Need, ReadyStock, RoleRule, ScrapStock
from scrapstore.matching.patterns import Pattern, cut_classes, kind_on
from scrapstore.matching.ready import serves

__all__ = ["Choice", "choose"]

# HiGHS stops at this many branches rather than at a time, so that a plan does not depend on how
# busy the machine is.
_NODES = 2000
_READY_FIRST = 1000.0

_Sources = dict[str, dict[str, list[int]]]
"""Need → fabric → the columns that count its pieces."""


@dataclass(frozen=True)
class Choice:
    """What to cut: per scrap its pattern and how many pieces of each need; ready-cut pieces used.

    `min_fabrics` holds, for each role that asks for at least N fabrics, the number that the plan
    was held to: N, or fewer where the stock cannot give N.
    """

    patterns: Mapping[int, Pattern]
    cut: Mapping[tuple[int, str], int]
    ready: Mapping[tuple[int, str], int]
    min_fabrics: Mapping[str, int]


@dataclass
class _Model:
    """Columns and rows of a mixed-integer programme, gathered one by one."""

    upper: list[float] = field(default_factory=list)
    rows: list[tuple[dict[int, float], float, float]] = field(default_factory=list)

    def column(self, upper: float) -> int:
        """Add a whole-number variable between 0 and `upper`; return its index."""
        self.upper.append(upper)
        return len(self.upper) - 1

    def row(self, terms: Mapping[int, float], low: float, high: float) -> None:
        """Hold the weighted sum of columns between `low` and `high`."""
        self.rows.append((dict(terms), low, high))

    def minimise(self, cost: Mapping[int, float]) -> NDArray[np.int64] | None:
        """Return the whole-number solution, or None when there is none."""
        from scipy.optimize import Bounds, LinearConstraint, milp
        from scipy.sparse import coo_array

        size = len(self.upper)
        where = [(i, j, a) for i, (terms, _, _) in enumerate(self.rows) for j, a in terms.items()]
        i, j, a = (np.array(part) for part in zip(*where, strict=True))
        matrix = coo_array((a, (i, j)), shape=(len(self.rows), size)).tocsr()
        weights = np.zeros(size)
        for column, weight in cost.items():
            weights[column] = weight
        found = milp(
            weights,
            integrality=np.ones(size, dtype=np.int64),
            bounds=Bounds(np.zeros(size), np.array(self.upper)),
            constraints=LinearConstraint(
                matrix, np.array([r[1] for r in self.rows]), np.array([r[2] for r in self.rows])
            ),
            options={"node_limit": _NODES, "mip_rel_gap": 1e-6},
        )
        return None if found.x is None else np.rint(found.x).astype(np.int64)


def choose(
    scraps: Sequence[ScrapStock],
    patterns: Sequence[Pattern],
    ready: Sequence[ReadyStock],
    needs: Sequence[Need],
    roles: Mapping[str, RoleRule],
) -> Choice:
    """Choose at most one pattern a scrap; see the module's text for the aims.

    Conditions that the stock cannot keep at all (more different fabrics than there are) are
    relaxed as little as needed, and the choice says so.
    """
    asked = {r.name: r.min_fabrics for r in roles.values() if r.min_fabrics}
    held = dict(asked)
    while True:
        choice = _solve(scraps, patterns, ready, needs, roles, held)
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

    area = {need.name: need.outline.area for need in needs}
    covered = {column: area[name] for (_, name), column in (*cut.items(), *used.items())}
    first = model.minimise({column: -value for column, value in covered.items()})
    if first is None:
        return None
    best = sum(value * float(first[column]) for column, value in covered.items())
    model.row(covered, best - 1e-6 * max(best, 1), np.inf)
    size = {scrap.id: scrap.region.area for scrap in scraps}
    usual = float(np.median([size[s] for s in by_scrap])) if by_scrap else 1.0
    cost = {taken[i]: 1 + size[s] / usual for s, indices in by_scrap.items() for i in indices}
    cost |= dict.fromkeys(used.values(), -_READY_FIRST)
    second = model.minimise(cost)
    solution = first if second is None else second

    return Choice(
        patterns={patterns[i].scrap_id: patterns[i] for i, c in enumerate(taken) if solution[c]},
        cut={key: int(solution[column]) for key, column in cut.items() if solution[column]},
        ready={key: int(solution[column]) for key, column in used.items() if solution[column]},
        min_fabrics=dict(min_fabrics),
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
            gives = {taken[i]: -float(patterns[i].counts.get(name, 0)) for i in indices}
            model.row({**dict.fromkeys(columns, 1.0), **gives}, -np.inf, 0)
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
    whole: dict[str, dict[int, float]] = {}
    for fabric in fabrics:
        whole[fabric] = {c: 1.0 for n in needs for c in sources[n.name].get(fabric, ())}
    if role.same_fabric_sets:
        for need in needs:
            for columns in sources[need.name].values():
                sets = model.column(need.wanted // role.same_fabric_sets)
                model.row(dict.fromkeys(columns, 1.0) | {sets: -role.same_fabric_sets}, 0, 0)
    if role.max_per_fabric:
        for terms in whole.values():
            model.row(terms, 0, role.max_per_fabric)
    if min_fabrics.get(role.name):
        shows = {fabric: model.column(1) for fabric in fabrics}
        for fabric, terms in whole.items():
            model.row(terms | {shows[fabric]: -1.0}, 0, np.inf)
        model.row(dict.fromkeys(shows.values(), 1.0), min_fabrics[role.name], np.inf)
