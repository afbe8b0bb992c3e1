"""Further patterns where something is short, by column generation.

First the scraps that serve what is short are filled freely instead of in rows. Then, in rounds,
each of them gets two further layouts: one by the dual prices of the relaxed choice (a pattern that
is worth more than what its scrap brings already can help), and one that mends the plan at hand: the
pieces the scrap gives in it and those that are short, more of nothing. Where neither helps, the
patterns between are drawn: so many of one kind and no more, the rest for the others. The choice is
made anew after every round.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from scrapstore.matching.choose import Choice
from scrapstore.matching.patterns import Task
from scrapstore.matching.prices import dual_prices
from scrapstore.matching.rounds import Rounds

__all__ = ["ColumnGeneration"]

_IDLE = 4  # rounds without gain before it is given up
_STEEPER = 0.25  # in a round without gain prices are shaken by so much

_PREFERRED = 4.0  # times its area, for a kind that shall be there in the number asked for


@dataclass
class ColumnGeneration(Rounds):
    """Improves what a choice covers with `effort` seconds of work, counted and not clocked."""

    choose: Callable[[], Choice]
    area_at_most: float

    def rounds(self, choice: Choice) -> Iterator[Choice]:
        """Yield the best choice after each round; ends when the effort is spent or nothing helps.

        Only what the choice covers counts here, no other aim.
        """
        rows = self._rows(choice)
        first = [task for row in rows for task in self._free(row, choice)]
        whole = self.effort
        self.pack(first, whole)
        # Where there are many scraps, the rounds get half as much work besides.
        self.effort = max(self.effort, 0.5 * whole)
        best = self._better(choice)
        yield best
        idle = 0
        while idle < _IDLE and not self._done(best) and self.effort > 0:
            rows = self._rows(best)
            tasks = self._between(rows) if idle == 1 else []
            # Scrap by scrap, so that little effort is not spent on the one way alone.
            drawn = [*self._priced(rows, idle), *self._mending(rows, best)]
            tasks = tasks or sorted(drawn, key=lambda task: rows.index(task[0]))
            if not tasks:
                break
            self.pack(tasks, self.effort)
            better = self._better(best)
            idle = 0 if better.area > best.area + 1e-6 else idle + 1
            best = better
            yield best

    def _done(self, choice: Choice) -> bool:
        return not self.search.short(choice) or choice.area >= self.area_at_most - 1e-3

    def _better(self, best: Choice) -> Choice:
        found = self.choose()
        return found if found.area > best.area + 1e-6 else best

    def _rows(self, choice: Choice) -> list[int]:
        """Return the scraps that may give what is short, those of the choice first.

        The others follow by what might be gained: the area between what is proven and what the
        patterns give.
        """
        search = self.search
        short = search.short(choice)
        chosen = choice.patterns.keys()
        gain: dict[int, float] = {}
        for row, gives in search.gives_of.items():
            kinds = [kind for kind in search.kinds(row) if kind.name in short & gives.keys()]
            if kinds:
                gain[row] = sum(
                    (min(kind.wanted, search.at_most.get((row, kind.name), kind.wanted))
                     - gives[kind.name]) * kind.outline.area
                    for kind in kinds
                )  # fmt: skip
        return sorted(gain, key=lambda r: (search.screened.scraps[r].id not in chosen, -gain[r], r))

    def _free(self, row: int, choice: Choice) -> Iterator[tuple[int, Task]]:
        """Yield the first tasks of a scrap: without rows, each kind alone, together, beside."""
        search = self.search
        short = search.short(choice)
        kinds = search.kinds(row)
        wanting = [kind for kind in kinds if kind.name in short]
        for kind in wanting:
            proven = search.at_most.get((row, kind.name), kind.wanted)
            if search.gives_of[row].get(kind.name, 0) < min(proven, kind.wanted):
                yield row, search.task(row, [kind])
        if len(wanting) > 1:
            yield row, search.task(row, wanting)
        pattern = choice.patterns.get(search.screened.scraps[row].id)
        if pattern is not None:
            others = [kind for kind in kinds if kind.name not in pattern.counts]
            if others:
                yield row, search.task(row, others, packed=pattern)

    def _priced(self, rows: Sequence[int], idle: int) -> list[tuple[int, Task]]:
        search = self.search
        duals = dual_prices(
            search.screened.scraps, search.patterns(), search.ready, search.needs, search.roles
        )
        tasks = []
        for row in rows:
            scrap_id = search.screened.scraps[row].id
            kinds = []
            for number, kind in enumerate(search.kinds(row)):
                worth = duals.piece.get((scrap_id, kind.name), kind.outline.area)
                if idle and (row + number) % 2:
                    worth *= 1 + _STEEPER * idle
                if worth > 1e-3 * kind.outline.area:
                    kinds.append(replace(kind, value=float(f"{worth:.5g}")))
            tasks += self.again(row, kinds)
        return tasks

    def _mending(self, rows: Sequence[int], choice: Choice) -> list[tuple[int, Task]]:
        search = self.search
        lacking = dict.fromkeys(search.classes.values(), 0)
        for need in search.needs:
            lacking[search.classes[need.name]] += need.wanted - choice.counts(need.name)
        tasks = []
        for row in rows:
            scrap_id = search.screened.scraps[row].id
            given = dict.fromkeys(lacking, 0)
            for (scrap, name), count in choice.cut.items():
                if scrap == scrap_id:
                    given[search.classes[name]] += count
            kinds = []
            for kind in search.kinds(row):
                wanted = min(kind.wanted, given[kind.name] + lacking[kind.name])
                if wanted:
                    kinds.append(replace(kind, wanted=wanted))
            tasks += self.again(row, kinds)
        return tasks

    def _between(self, rows: Sequence[int]) -> list[tuple[int, Task]]:
        """Return, for each kind on a scrap, the tasks that take less of it than the scrap gives.

        Prices lead to the patterns of the greatest worth; a plan of whole pieces may need one of
        those between, which is worth less but gives the right numbers.
        """
        tasks = []
        for row in rows:
            kinds = self.search.kinds(row)
            gives = self.search.gives_of[row]
            for kind in kinds:
                others = [other for other in kinds if other is not kind]
                for count in range(gives.get(kind.name, 0) - 1, 0, -1) if others else ():
                    first = replace(kind, wanted=count, value=_PREFERRED * kind.outline.area)
                    tasks += self.again(row, [first, *others])
        return tasks
