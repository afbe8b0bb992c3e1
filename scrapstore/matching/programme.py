"""The whole-number programme of a choice: its columns and rows, and what each stands for."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from scrapstore.matching.forms import Need, ReadyStock, RoleRule, ScrapStock
from scrapstore.matching.model import Model
from scrapstore.matching.patterns import Pattern, cut_classes, kind_on
from scrapstore.matching.ready import pieces_each

__all__ = ["AREA_UNITS", "Programme", "programme_of"]

AREA_UNITS: Final = 1000
"""To the square inch: CP-SAT reckons in whole numbers."""

_Sources = dict[str, dict[str, list[int]]]
"""Need → fabric → the columns that count its pieces."""


@dataclass(frozen=True)
class Programme:
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
    floors: dict[str, int] = field(default_factory=dict)

    def hold_at_least(self, need: str, least: int) -> None:
        """Ask for at least so many pieces of a need."""
        given = (*self.cut.items(), *self.used.items())
        self.model.row({column: 1 for (_, name), column in given if name == need}, least, None)
        self.floors[need] = least

    def nothing(self) -> NDArray[np.int64]:
        """Return the solution that cuts nothing: it keeps every condition, for fabrics may lack."""
        solution = np.zeros(len(self.model.upper), dtype=np.int64)
        for column in self.lacking.values():
            solution[column] = self.model.upper[column]
        return solution


def programme_of(
    scraps: Sequence[ScrapStock],
    patterns: Sequence[Pattern],
    ready: Sequence[ReadyStock],
    needs: Sequence[Need],
    roles: Mapping[str, RoleRule],
    min_fabrics: Mapping[str, int],
    *,
    every: bool = False,
) -> Programme:
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
    area = {need.name: round(need.worth * AREA_UNITS) for need in needs}
    covered = {column: area[name] for (_, name), column in (*cut.items(), *used.items())}
    return Programme(model, taken, cut, used, covered, one_pattern, sharing, lacking)


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
        for fabric, terms in whole.items():
            model.row(terms, 0, role.most_from(fabric))
    if not min_fabrics:
        return None
    shows = {fabric: model.column(1) for fabric in fabrics if fabric not in (role.taken or ())}
    for fabric, column in shows.items():
        model.row(whole[fabric] | {column: -1}, 0, None)
    lacking = model.column(min_fabrics)
    model.row(dict.fromkeys(shows.values(), 1) | {lacking: 1}, min_fabrics, None)
    if role.taken is not None:
        # Of each fabric that lacks, a set at least is still to come.
        size = role.same_fabric_sets or 1
        most = max(sum(need.wanted for need in needs), size * min_fabrics)
        model.row({c: 1 for terms in whole.values() for c in terms} | {lacking: size}, None, most)
    return lacking
