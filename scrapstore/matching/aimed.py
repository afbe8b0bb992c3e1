"""Patterns for the aims: what is covered stays covered, from fewer scraps or from smaller ones.

Column generation again, with what cutting into a scrap costs in place of what a piece covers. Each
scrap is filled freely with all kinds at once; then, in rounds, it gets a layout by the prices of
the choice with parts of pieces allowed, and one that takes over the pieces of a scrap that costs
much. The choice is made anew after every round.
"""

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

from scrapstore.matching.aims import Aim, scrap_costs
from scrapstore.matching.choose import Choice
from scrapstore.matching.patterns import Task
from scrapstore.matching.prices import dual_prices_of_aim
from scrapstore.matching.rounds import Rounds

__all__ = ["Aimed"]

_IDLE = 2  # rounds without gain before it is given up
_GIVEN_UP = 4  # scraps of the plan, the costliest, whose pieces others are tried for
_LESSER = 0.01  # what the aims after the first weigh beside it


@dataclass
class Aimed(Rounds):
    """Improves a choice under `aims` with `effort` seconds of work, counted and not clocked."""

    choose: Callable[[], Choice]
    aims: Sequence[Aim]
    _cost: dict[int, float] = field(init=False, default_factory=dict)

    def improved(self, choice: Choice) -> Choice:
        """Return the best choice found while effort is left and something helps."""
        rows = sorted(self.search.gives_of)
        areas = [self.search.screened.scraps[row].area for row in rows]
        self._cost = dict(zip(rows, _weighed(self.aims, areas), strict=True))
        best, idle = choice, 0
        tasks = [task for row in self._rows(best) for task in self._whole(row, best)]
        budget = self.effort / 2  # the rest is for what prices ask for
        while tasks and idle < _IDLE and self.effort > 0:
            learnt = self.pack(tasks, budget)
            budget = self.effort
            found = self.choose() if learnt else best
            gain = self._spent(best) - self._spent(found)
            same = found.area >= best.area - 1e-6
            idle = 0 if same and gain > 1e-6 * self._spent(best) else idle + 1
            best = found if same and gain >= 0 else best
            tasks = [*self._taking_over(best), *self._priced(best)]
        return best

    def _spent(self, choice: Choice) -> float:
        row_of = {self.search.screened.scraps[row].id: row for row in self._cost}
        return sum(self._cost[row_of[number]] for number in choice.patterns)

    def _rows(self, choice: Choice) -> list[int]:
        """Return the scraps that give anything, those of the choice first, the cheapest first."""
        scraps = self.search.screened.scraps
        dearest = max(
            (self._cost[row] for row in self._cost if scraps[row].id in choice.patterns),
            default=0.0,
        )
        giving = [
            row
            for row, gives in self.search.gives_of.items()
            if any(gives.values()) and self._cost[row] <= dearest
        ]
        return sorted(
            giving,
            key=lambda r: (
                scraps[r].id not in choice.patterns, self._cost[r], -scraps[r].region.area, r,
            ),
        )  # fmt: skip

    def _whole(self, row: int, choice: Choice) -> list[tuple[int, Task]]:
        """Return the task of all kinds together, so many as the plan has of them."""
        kinds = [
            replace(kind, wanted=count)
            for kind in self.search.kinds(row)
            if (count := self._planned(choice)[kind.name])
        ]
        return self.again(row, kinds) if len(kinds) > 1 else []

    def _planned(self, choice: Choice) -> Counter[str]:
        """Return how many pieces of each class the plan cuts from scraps."""
        return self._cut_from(choice, None)

    def _cut_from(self, choice: Choice, scrap_id: int | None) -> Counter[str]:
        found: Counter[str] = Counter()
        for (number, name), count in choice.cut.items():
            if scrap_id is None or number == scrap_id:
                found[self.search.classes[name]] += count
        return found

    def _taking_over(self, choice: Choice) -> list[tuple[int, Task]]:
        """Return tasks by which other scraps give the pieces of one that costs much."""
        search = self.search
        rows = self._rows(choice)
        used = [r for r in rows if search.screened.scraps[r].id in choice.patterns]
        tasks = []
        for costly in sorted(used, key=lambda r: (-self._cost[r], r))[:_GIVEN_UP]:
            more = self._cut_from(choice, search.screened.scraps[costly].id)
            for row in rows:
                if row == costly or (row not in used and self._cost[row] >= self._cost[costly]):
                    continue
                own = self._cut_from(choice, search.screened.scraps[row].id)
                kinds = [
                    replace(kind, wanted=wanted)
                    for kind in search.kinds(row)
                    if (wanted := own[kind.name] + more[kind.name])
                ]
                taken = sum(kind.outline.area * own[kind.name] for kind in kinds)
                least = min(
                    (kind.outline.area for kind in kinds if more[kind.name]), default=float("inf")
                )
                if taken + least <= search.screened.area[row] + 1e-9:
                    tasks += self.again(row, kinds)
        return tasks

    def _priced(self, choice: Choice) -> list[tuple[int, Task]]:
        search = self.search
        scraps = search.screened.scraps
        duals = dual_prices_of_aim(
            scraps, search.patterns(), search.ready, search.needs, search.roles,
            wanted={need.name: choice.counts(need.name) for need in search.needs},
            costs={scraps[row].id: cost for row, cost in self._cost.items()},
        )  # fmt: skip
        tasks = []
        for row in self._rows(choice):
            number = scraps[row].id
            kinds = [
                replace(kind, value=float(f"{worth:.5g}"))
                for kind in search.kinds(row)
                if (worth := duals.piece.get((number, kind.name), 0.0)) > 1e-9
            ]
            most = sum(kind.worth * kind.wanted for kind in kinds)
            if most > self._cost[row] + duals.scrap.get(number, 0.0) + 1e-9:
                tasks += self.again(row, kinds)
        return tasks


def _weighed(aims: Sequence[Aim], areas: Sequence[float]) -> list[float]:
    """Return what each scrap costs under all the aims at once, the first far before the others."""
    total, weight = [0.0] * len(areas), 1.0
    for aim in aims:
        for costs, _ in scrap_costs(aim, areas) if aim in ("whole", "scraps") else ():
            most = max([*costs, 1])
            total = [t + weight * c / most for t, c in zip(total, costs, strict=True)]
            weight *= _LESSER
    return total
