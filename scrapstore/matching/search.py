"""Looking through the scraps: patterns for those that might serve, the most promising first."""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from scrapstore.matching.aims import DEFAULT_AIMS, Aim
from scrapstore.matching.choose import Choice
from scrapstore.matching.forms import Need, ReadyStock, RoleRule
from scrapstore.matching.patterns import (
    PackAll,
    Pattern,
    Task,
    class_kinds,
    cut_classes,
    undominated,
)
from scrapstore.matching.screen import Screen
from scrapstore.matching.supply import LookingOrder
from scrapstore.packing import Layout, PieceKind

__all__ = ["ScrapSearch"]

_BATCH = 8  # scraps looked at between two reckonings of what is still wanting
_ALL = 32  # so few scraps are all looked at
_NO_LIMIT = 10**9


@dataclass
class ScrapSearch:
    """The scraps that might serve, and what is known of those that were looked at.

    `found[row]` are the patterns of a scrap, `gives_of[row]` the most pieces of each class in one
    of them, `at_most[row, class]` what is proven.
    """

    screened: Screen
    ready: Sequence[ReadyStock]
    needs: Sequence[Need]
    roles: Mapping[str, RoleRule]
    seconds: float
    seed: int
    pack_all: PackAll
    aims: Sequence[Aim] = DEFAULT_AIMS
    classes: dict[str, str] = field(init=False)
    found: dict[int, tuple[Pattern, ...]] = field(init=False, default_factory=dict)
    gives_of: dict[int, dict[str, int]] = field(init=False, default_factory=dict)
    at_most: dict[tuple[int, str], int] = field(init=False, default_factory=dict)

    _order: LookingOrder = field(init=False)
    _gives: dict[tuple[int, str], int] = field(init=False, default_factory=dict)
    _asked: set[tuple[int, str]] = field(init=False, default_factory=set)

    def __post_init__(self) -> None:
        self.classes = cut_classes(self.needs)
        self._order = LookingOrder(self.screened, self.needs, self.roles, self.classes, self.aims)

    def patterns(self) -> list[Pattern]:
        """Return the patterns found, by scrap."""
        return [p for row in sorted(self.found) for p in self.found[row]]

    def kinds(self, row: int) -> tuple[PieceKind, ...]:
        """Return all that may be cut from a scrap, a kind for each class."""
        usable = [need for j, need in enumerate(self.needs) if self.screened.may[row, j]]
        return class_kinds(self.screened.scraps[row], usable, self.classes)

    def task(
        self,
        row: int,
        kinds: Iterable[PieceKind],
        *,
        seconds: float | None = None,
        seed: int | None = None,
        packed: Pattern | None = None,
    ) -> Task:
        """Return the task of packing `kinds` freely on a scrap."""
        scrap = self.screened.scraps[row]
        return Task(
            scrap_id=scrap.id,
            region=scrap.region,
            kinds=tuple(kinds),
            seconds=self.seconds if seconds is None else seconds,
            seed=self.seed if seed is None else seed,
            packed=packed.placements if packed else (),
        )

    def look(self, oversupply: float, most_looks: int) -> Iterable[int]:
        """Look at scraps, most promising first; see `match` for when it ends.

        Yields after every few scraps how many were looked at. Called again, it goes on where it
        ended.
        """
        order, gives, asked = self._order, self._gives, self._asked
        if len(self.screened.scraps) <= _ALL:
            oversupply = math.inf
        while len(self.gives_of) < most_looks:
            short = order.wanting(gives, oversupply)
            rows: list[int] = []
            for j in short:
                done = {row for row, name in asked if name == self.classes[self.needs[j].name]}
                share = max(1, _BATCH // len(short))
                rows += [r for r in order.take(j, share, done) if r not in rows]
            if not rows:
                break
            open_classes = {self.classes[self.needs[j].name] for j in short}
            asked |= {(row, name) for row in rows for name in open_classes}
            for row, name in self._look(rows, open_classes):
                gives[row, name] = self.gives_of[row][name]
            yield len(self.gives_of)

    def _look(self, rows: Sequence[int], open_classes: set[str]) -> list[tuple[int, str]]:
        """Lay every open class on every scrap in rows; return what gives a piece."""
        tasks: list[Task] = []
        of_row: list[int] = []
        for row in rows:
            scrap = self.screened.scraps[row]
            for kind in self.kinds(row):
                if kind.name in open_classes and (row, kind.name) not in self.at_most:
                    tasks.append(
                        Task(scrap.id, scrap.region, (kind,), self.seconds, self.seed, True)
                    )
                    of_row.append(row)
        served = []
        for row, task, layout in zip(of_row, tasks, self.pack_all(tasks), strict=True):
            self.learn(row, task, layout)
            if self.gives_of[row][task.kinds[0].name]:
                served.append((row, task.kinds[0].name))
        return served

    def learn(self, row: int, task: Task, layout: Layout) -> bool:
        """Note what a layout gives and proves; return whether its pattern is worth having."""
        counts = layout.counts()
        known = self.gives_of.setdefault(row, {})
        for kind in task.kinds:
            known[kind.name] = max(known.get(kind.name, 0), counts.get(kind.name, 0))
        if len(task.kinds) == 1 and not task.packed:
            (kind,) = task.kinds
            most = int(layout.bound / kind.worth + 1e-6)
            # A bound that comes to all that the task wanted says nothing about the scrap.
            limit = most if most < kind.wanted else _NO_LIMIT
            self.at_most[row, kind.name] = min(limit, self.at_most.get((row, kind.name), limit))
        before = self.found.get(row, ())
        if layout.placements:
            pattern = Pattern(task.scrap_id, layout.placements)
            self.found[row] = undominated((*before, pattern))
        else:
            self.found[row] = before
        return self.found[row] != before

    def tighten(self, names: set[str], seconds: float) -> Iterable[tuple[int, int]]:
        """Prove closer limits on the classes `names`, `seconds` of work for each scrap and class.

        Only scraps that were looked at and might still give more are packed again. Yields how many
        of how many are done.
        """
        tasks: list[Task] = []
        of_row: list[int] = []
        for row, gives in sorted(self.gives_of.items()):
            for kind in self.kinds(row):
                limit = self.at_most.get((row, kind.name), _NO_LIMIT)
                if kind.name in names and gives.get(kind.name, 0) < min(limit, kind.wanted):
                    tasks.append(replace(self.task(row, [kind]), prove=seconds))
                    of_row.append(row)
        for k, (task, layout) in enumerate(zip(tasks, self.pack_all(tasks), strict=True)):
            self.learn(of_row[k], task, layout)
            yield k + 1, len(tasks)

    def short(self, choice: Choice) -> set[str]:
        """Return the classes of which `choice` leaves pieces short."""
        return {
            self.classes[need.name] for need in self.needs if choice.counts(need.name) < need.wanted
        }

    def most(self) -> NDArray[np.int64]:
        """Return the proven limits, (scraps that might serve, needs)."""
        most = self.screened.most.copy()
        for (row, name), count in self.at_most.items():
            for j, need in enumerate(self.needs):
                if self.classes[need.name] == name:
                    most[row, j] = min(most[row, j], count)
        return most
