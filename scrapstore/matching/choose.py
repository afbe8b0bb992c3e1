"""Which pattern to cut from which scrap, under the conditions of every role.

A whole-number programme, solved by CP-SAT (OR-tools). The aims follow one another: cover the pieces
that save most yardage; covering just as much, take ready-cut pieces first; then the aims of
:mod:`scrapstore.matching.aims` in the order asked for, each held near its best while the next is
sought.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from scrapstore.matching.aims import DEFAULT_AIMS, Aim, costs
from scrapstore.matching.forms import Need, ReadyStock, RoleRule, ScrapStock
from scrapstore.matching.model import EFFORT
from scrapstore.matching.patterns import Pattern
from scrapstore.matching.programme import AREA_UNITS, Programme, programme_of

__all__ = ["Choice", "choose"]


@dataclass(frozen=True)
class Choice:
    """What to cut: per scrap its pattern and how many pieces of each need; ready-cut pieces used.

    `min_fabrics` holds, for each role that asks for at least N fabrics, the number that the plan
    was held to: N, or fewer where the stock cannot give N. `area` is what the plan covers, square
    inches of cut pieces; no other choice among the patterns covers more than `area_at_most`.
    `settled` says that each aim was brought to its best.
    """

    patterns: Mapping[int, Pattern]
    cut: Mapping[tuple[int, str], int]
    ready: Mapping[tuple[int, str], int]
    min_fabrics: Mapping[str, int]
    area: float = 0.0
    area_at_most: float = 0.0
    settled: bool = False

    @property
    def proven(self) -> bool:
        """Whether no other choice among the patterns covers more."""
        return self.area_at_most - self.area < 1 / AREA_UNITS

    def counts(self, need: str) -> int:
        """Return how many pieces of `need` are covered."""
        given = (*self.cut.items(), *self.ready.items())
        return sum(count for (_, name), count in given if name == need)


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
    floors: Mapping[str, int] | None = None,
) -> Choice:
    """Choose at most one pattern a scrap; see the module's text for the aims.

    A role that asks for more different fabrics than can be had gets as many as can, and the choice
    says so; no other role suffers. Of what each choice of `unlike` cuts from scraps, the share
    `differ` of its area is cut from other scraps, or not at all. Of each need in `floors` at least
    so many pieces are covered; where that was not found the choice is empty.
    """
    asked = {r.name: r.fabrics_lacking for r in roles.values() if r.fabrics_lacking}
    programme = programme_of(scraps, patterns, ready, needs, roles, asked)
    for name, least in (floors or {}).items():
        programme.hold_at_least(name, least)
    for other in unlike:
        _hold_unlike(programme, other, needs, differ)
    return _solve(programme, scraps, patterns, asked, aims, effort)


def _hold_unlike(programme: Programme, other: Choice, needs: Sequence[Need], differ: float) -> None:
    """Hold what is cut just as in `other` to all but the share `differ` of what `other` cuts."""
    model = programme.model
    area = {need.name: round(need.outline.area * AREA_UNITS) for need in needs}
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
    programme: Programme,
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
    if solved is None and programme.floors:
        return Choice({}, {}, {}, dict.fromkeys(min_fabrics, 0))
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
    settled = solved is not None and solved.proven
    for number, (cost, give) in enumerate(stages):
        if not any(cost.values()):
            continue
        better = model.minimise(cost, start=solution, effort=effort)
        settled &= better is not None and better.proven
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
        area=reached / AREA_UNITS,
        area_at_most=max(reached, most) / AREA_UNITS,
        settled=settled,
    )
