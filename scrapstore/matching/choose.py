"""Which pattern to cut from which scrap, under the conditions of every role.

A whole-number programme, solved by CP-SAT (OR-tools). The aims follow one another: cover the pieces
that save most yardage; covering just as much, take ready-cut pieces first; then the aims of
:mod:`scrapstore.matching.aims` in the order asked for, each held near its best while the next is
sought.

The same programme with parts of pieces allowed tells what one more piece from a scrap would be
worth: the prices by which further patterns are drawn.
"""

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scrapstore.matching.aims import DEFAULT_AIMS, Aim, costs
from scrapstore.matching.forms import Need, ReadyStock, RoleRule, ScrapStock
from scrapstore.matching.model import EFFORT, Model
from scrapstore.matching.patterns import Pattern, cut_classes, kind_on
from scrapstore.matching.ready import pieces_each

__all__ = ["Choice", "Prices", "choose", "prices", "prices_of_aim"]

_AREA_UNITS = 1000  # to the square inch: CP-SAT reckons in whole numbers

_Sources = dict[str, dict[str, list[int]]]
"""Need → fabric → the columns that count its pieces."""


@dataclass(frozen=True)
class Choice:
    """What to cut: per scrap its pattern and how many pieces of each need; ready-cut pieces used.

    `min_fabrics` holds, for each role that asks for at least N fabrics, the number that the plan
    was held to: N, or fewer where the stock cannot give N. `area` is what the plan covers, square
    inches of cut pieces; no other choice among the patterns covers more than `area_at_most`.
    `stopped` tells that an interrupt left out some of the aims.
    """

    patterns: Mapping[int, Pattern]
    cut: Mapping[tuple[int, str], int]
    ready: Mapping[tuple[int, str], int]
    min_fabrics: Mapping[str, int]
    area: float = 0.0
    area_at_most: float = 0.0
    stopped: bool = False

    @property
    def proven(self) -> bool:
        """Whether no other choice among the patterns covers more."""
        return self.area_at_most - self.area < 1 / _AREA_UNITS

    def counts(self, need: str) -> int:
        """Return how many pieces of `need` are covered."""
        given = (*self.cut.items(), *self.ready.items())
        return sum(count for (_, name), count in given if name == need)


@dataclass(frozen=True)
class Prices:
    """What further patterns would have to bring: square inches of cover, or the cost of an aim.

    `piece` maps (scrap, class of pieces) to what one more piece of it is worth; a new pattern of a
    scrap helps when its pieces are worth more than `scrap` already brings.
    """

    piece: Mapping[tuple[int, str], float]
    scrap: Mapping[int, float]


@dataclass(frozen=True)
class _Programme:
    """The programme of one choice, and which of its columns and rows stand for what.

    `lacking` has, for each role that asks for different fabrics, the column of how many it lacks.
    """

    model: Model
    taken: Sequence[int]
    cut: Mapping[tuple[int, str], int]
    used: Mapping[tuple[int, str], int]
    covered: Mapping[int, int]
    one_pattern: Mapping[int, int]
    sharing: frozenset[int]
    lacking: Mapping[str, int]

    def nothing(self) -> NDArray[np.int64]:
        """Return the solution that cuts nothing: it keeps every condition, for fabrics may lack."""
        solution = np.zeros(len(self.model.upper), dtype=np.int64)
        for column in self.lacking.values():
            solution[column] = self.model.upper[column]
        return solution


def choose(
    scraps: Sequence[ScrapStock],
    patterns: Sequence[Pattern],
    ready: Sequence[ReadyStock],
    needs: Sequence[Need],
    roles: Mapping[str, RoleRule],
    *,
    aims: Sequence[Aim] = DEFAULT_AIMS,
    effort: float = EFFORT,
    unlike: Sequence[Choice] = (),
    differ: float = 0.0,
) -> Choice:
    """Choose at most one pattern a scrap; see the module's text for the aims.

    A role that asks for more different fabrics than can be had gets as many as can, and the choice
    says so; no other role suffers. Of what each choice of `unlike` cuts from scraps, the share
    `differ` of its area is cut from other scraps, or not at all.
    """
    asked = {r.name: r.min_fabrics for r in roles.values() if r.min_fabrics}
    programme = _programme(scraps, patterns, ready, needs, roles, asked)
    for other in unlike:
        _hold_unlike(programme, other, needs, differ)
    return _solve(programme, scraps, patterns, asked, aims, effort)


def prices(
    scraps: Sequence[ScrapStock],
    patterns: Sequence[Pattern],
    ready: Sequence[ReadyStock],
    needs: Sequence[Need],
    roles: Mapping[str, RoleRule],
) -> Prices:
    """Return what pieces are worth beside `patterns`, parts of pieces and patterns allowed.

    Every scrap of `patterns` gets a price for each class that may be cut from it.
    """
    programme = _programme(scraps, patterns, ready, needs, roles, {}, every=True)
    gain = {column: value / _AREA_UNITS for column, value in programme.covered.items()}
    return _told(programme, {column: -value for column, value in gain.items()}, gain, needs)


def prices_of_aim(
    scraps: Sequence[ScrapStock],
    patterns: Sequence[Pattern],
    ready: Sequence[ReadyStock],
    needs: Sequence[Need],
    roles: Mapping[str, RoleRule],
    *,
    wanted: Mapping[str, int],
    costs: Mapping[int, float],
) -> Prices:
    """Return what pieces are worth where so many of each need shall be `wanted` and are given.

    Cutting into a scrap costs `costs`; a new pattern of it helps when its pieces are worth more
    than that and than what the scrap already brings.
    """
    programme = _programme(scraps, patterns, ready, needs, roles, {}, every=True)
    given = (*programme.cut.items(), *programme.used.items())
    for need in needs:
        columns = {column: 1 for (_, name), column in given if name == need.name}
        if columns and wanted[need.name]:
            programme.model.row(columns, wanted[need.name], None)
    spent = {
        column: costs[pattern.scrap_id]
        for column, pattern in zip(programme.taken, patterns, strict=True)
    }
    return _told(programme, spent, {}, needs)


def _told(
    programme: _Programme,
    cost: Mapping[int, float],
    gain: Mapping[int, float],
    needs: Sequence[Need],
) -> Prices:
    """Return the prices of pieces and scraps at the least `cost`; a column brings its `gain`."""
    relaxed = programme.model.relaxed(cost)
    if relaxed is None:
        return Prices({}, {})
    paid: dict[int, float] = defaultdict(float)
    for number, (terms, _, _) in enumerate(programme.model.rows):
        if number not in programme.sharing and relaxed.prices[number]:
            for column, weight in terms.items():
                paid[column] += weight * float(relaxed.prices[number])
    classes = cut_classes(needs)
    piece: dict[tuple[int, str], float] = {}
    for (scrap_id, name), column in programme.cut.items():
        key = scrap_id, classes[name]
        piece[key] = max(gain.get(column, 0.0) - paid[column], piece.get(key, 0.0))
    brings = {s: float(relaxed.prices[r]) for s, r in programme.one_pattern.items()}
    return Prices(piece, brings)


def _programme(
    scraps: Sequence[ScrapStock],
    patterns: Sequence[Pattern],
    ready: Sequence[ReadyStock],
    needs: Sequence[Need],
    roles: Mapping[str, RoleRule],
    min_fabrics: Mapping[str, int],
    *,
    every: bool = False,
) -> _Programme:
    """Return the columns and rows of a choice; with `every`, also for needs no pattern serves."""
    model = Model()
    by_scrap: dict[int, list[int]] = defaultdict(list)
    for index, pattern in enumerate(patterns):
        by_scrap[pattern.scrap_id].append(index)
    taken = [model.column(1) for _ in patterns]
    one_pattern = {
        scrap_id: model.row({taken[i]: 1 for i in indices}, 0, 1)
        for scrap_id, indices in by_scrap.items()
    }
    cloths = {scrap.id: scrap for scrap in scraps}
    allowed = {s: [n for n in needs if _may_cut(n, cloths[s], roles)] for s in by_scrap}
    first = len(model.rows)
    cut = _cut_columns(model, patterns, taken, by_scrap, allowed, cut_classes(needs), every=every)
    sharing = frozenset(range(first, len(model.rows)))
    used = _ready_columns(model, ready, needs, roles)
    ready_fabric_of = {stock.id: stock.cloth_key for stock in ready}
    sources: _Sources = {need.name: defaultdict(list) for need in needs}
    for (scrap_id, name), column in cut.items():
        sources[name][cloths[scrap_id].cloth_key].append(column)
    for (stock_id, name), column in used.items():
        sources[name][ready_fabric_of[stock_id]].append(column)
    for need in needs:
        model.row({c: 1 for cs in sources[need.name].values() for c in cs}, 0, need.wanted)
    lacking: dict[str, int] = {}
    for role in roles.values():
        own = [need for need in needs if need.role == role.name]
        asked = min_fabrics.get(role.name, 0)
        lacks = _hold_role(model, role, own, sources, asked)
        if lacks is not None:
            lacking[role.name] = lacks
    area = {need.name: round(need.outline.area * _AREA_UNITS) for need in needs}
    covered = {column: area[name] for (_, name), column in (*cut.items(), *used.items())}
    return _Programme(model, taken, cut, used, covered, one_pattern, sharing, lacking)


def _hold_unlike(
    programme: _Programme, other: Choice, needs: Sequence[Need], differ: float
) -> None:
    """Hold what is cut just as in `other` to all but the share `differ` of what `other` cuts."""
    model = programme.model
    area = {need.name: round(need.outline.area * _AREA_UNITS) for need in needs}
    alike: dict[int, int] = {}
    for key, before in other.cut.items():
        column = programme.cut.get(key)
        if column is None:
            continue
        most = model.upper[column]
        if most > before:
            # The lesser of the two counts: at least the new one, unless `over` says that it is
            # the greater; then the old one.
            lesser, over = model.column(before), model.column(1)
            model.row({lesser: 1, column: -1, over: most - before}, 0, None)
            model.row({lesser: 1, over: -before}, 0, None)
            column = lesser
        alike[column] = area[key[1]]
    whole = sum(count * area[name] for (_, name), count in other.cut.items())
    model.row(alike, None, math.floor((1 - differ) * whole))


def _solve(
    programme: _Programme,
    scraps: Sequence[ScrapStock],
    patterns: Sequence[Pattern],
    min_fabrics: Mapping[str, int],
    aims: Sequence[Aim],
    effort: float,
) -> Choice:
    model, covered, taken = programme.model, programme.covered, programme.taken
    if not covered:
        return Choice({}, {}, {}, dict.fromkeys(min_fabrics, 0))
    # To begin with: however little the effort, there is an answer.
    solution = programme.nothing()
    if programme.lacking:
        kept = model.minimise(
            dict.fromkeys(programme.lacking.values(), 1), start=solution, effort=effort
        )
        solution = solution if kept is None else kept.values
        for column in programme.lacking.values():
            model.row({column: 1}, None, int(solution[column]))
    most = sum(value * model.upper[column] for column, value in covered.items())
    solved = model.minimise(
        {column: -value for column, value in covered.items()}, start=solution, effort=effort
    )
    if solved is not None:
        solution, most = solved.values, math.floor(-solved.bound + 1e-3)
    reached = sum(v * int(solution[c]) for c, v in covered.items())
    model.row(covered, reached, None)
    areas = {scrap.id: scrap.area for scrap in scraps if scrap.id in programme.one_pattern}
    # Ready-cut pieces first: of plans that cover as much, those that take most of them.
    stages: list[tuple[dict[int, int], float]] = [(dict.fromkeys(programme.used.values(), -1), 0.0)]
    stages += [
        (dict(zip(taken, cost, strict=True)), give)
        for aim in aims
        if aim != "cover"
        for cost, give in costs(aim, patterns, areas)
    ]
    stopped = False
    for number, (cost, give) in enumerate(stages):
        if not any(cost.values()):
            continue
        try:
            better = model.minimise(cost, start=solution, effort=effort)
        except KeyboardInterrupt:
            stopped = True
            break
        if better is not None:
            solution = better.values
        spent = sum(weight * int(solution[c]) for c, weight in cost.items())
        if number < len(stages) - 1:
            model.row(cost, None, math.floor(spent * (1 + give)))

    return Choice(
        patterns={patterns[i].scrap_id: patterns[i] for i, c in enumerate(taken) if solution[c]},
        cut={key: int(solution[c]) for key, c in programme.cut.items() if solution[c]},
        ready={key: int(solution[c]) for key, c in programme.used.items() if solution[c]},
        min_fabrics={
            name: count - int(solution[programme.lacking[name]])
            for name, count in min_fabrics.items()
        },
        area=reached / _AREA_UNITS,
        area_at_most=max(reached, most) / _AREA_UNITS,
        stopped=stopped,
    )


def _may_cut(need: Need, scrap: ScrapStock, roles: Mapping[str, RoleRule]) -> bool:
    return roles[need.role].allows(scrap) and kind_on(need, scrap) is not None


def _cut_columns(
    model: Model,
    patterns: Sequence[Pattern],
    taken: Sequence[int],
    by_scrap: Mapping[int, list[int]],
    allowed: Mapping[int, Sequence[Need]],
    classes: Mapping[str, str],
    *,
    every: bool,
) -> dict[tuple[int, str], int]:
    """Add, per scrap and need, the pieces cut; those of one class share what a pattern gives."""
    cut: dict[tuple[int, str], int] = {}
    for scrap_id, indices in by_scrap.items():
        sharing: dict[str, list[int]] = defaultdict(list)
        for need in allowed[scrap_id]:
            name = classes[need.name]
            most = max(patterns[i].counts.get(name, 0) for i in indices)
            if most or every:
                column = cut[scrap_id, need.name] = model.column(min(most, need.wanted))
                sharing[name].append(column)
        for name, columns in sharing.items():
            gives = {taken[i]: -patterns[i].counts.get(name, 0) for i in indices}
            model.row({**dict.fromkeys(columns, 1), **gives}, None, 0)
    return cut


def _ready_columns(
    model: Model,
    ready: Sequence[ReadyStock],
    needs: Sequence[Need],
    roles: Mapping[str, RoleRule],
) -> dict[tuple[int, str], int]:
    """Add, per stack of ready-cut pieces and need, the pieces taken; no more than the stack.

    Those that are cut up for a need count as taken whole.
    """
    used: dict[tuple[int, str], int] = {}
    for stock in ready:
        taken: list[int] = []
        for need in needs:
            each = pieces_each(stock, need) if roles[need.role].allows(stock) else 0
            if not each:
                continue
            column = used[stock.id, need.name] = model.column(min(each * stock.count, need.wanted))
            if each > 1:
                pieces, column = column, model.column(stock.count)
                model.row({pieces: 1, column: -each}, None, 0)
            taken.append(column)
        if taken:
            model.row(dict.fromkeys(taken, 1), 0, stock.count)
    return used


def _hold_role(
    model: Model,
    role: RoleRule,
    needs: Sequence[Need],
    sources: _Sources,
    min_fabrics: int,
) -> int | None:
    """Add the rows for sets from one fabric, at least N fabrics, and no more than N from one.

    Return the column of how many of the `min_fabrics` fabrics are lacking; None where 0 are asked.
    """
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
    if not min_fabrics:
        return None
    shows = {fabric: model.column(1) for fabric in fabrics}
    for fabric, terms in whole.items():
        model.row(terms | {shows[fabric]: -1}, 0, None)
    lacking = model.column(min_fabrics)
    model.row(dict.fromkeys(shows.values(), 1) | {lacking: 1}, min_fabrics, None)
    return lacking
