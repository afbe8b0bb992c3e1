"""Rounds of drawing further patterns: tasks are packed while the work allowed for them lasts."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from scrapstore.matching.patterns import Task
from scrapstore.matching.search import ScrapSearch
from scrapstore.packing import PieceKind

__all__ = ["Rounds"]

_OVERHEAD = 0.1  # seconds that a task takes besides its search, about
_MOST_SECONDS = 1.0

_Key = tuple[int, tuple[tuple[str, int, float], ...]]


@dataclass
class Rounds:
    """Draws patterns with `effort` seconds of work for one core, counted and not clocked.

    `seconds` of it go into a task that is packed for the first time.
    """

    search: ScrapSearch
    effort: float
    seconds: float
    _asked: dict[_Key, int] = field(init=False, default_factory=dict)

    def pack(self, tasks: Sequence[tuple[int, Task]], budget: float) -> bool:
        """Lay as many of the tasks as `budget` seconds of work allow, and learn from them.

        Tell whether any pattern was worth having.
        """
        within: list[tuple[int, Task]] = []
        for row, task in tasks:
            budget -= task.seconds + _OVERHEAD
            if budget < 0 and within:
                break
            within.append((row, task))
            self.effort -= task.seconds + _OVERHEAD
        layouts = self.search.pack_all([task for _, task in within])
        learnt = False
        for (row, task), layout in zip(within, layouts, strict=True):
            learnt |= self.search.learn(row, task, layout)
        return learnt

    def again(self, row: int, kinds: Sequence[PieceKind]) -> list[tuple[int, Task]]:
        """Return the task, longer and with another seed each time the same is asked; or none."""
        if not kinds:
            return []
        search = self.search
        key = row, tuple((kind.name, kind.wanted, kind.worth) for kind in kinds)
        times = self._asked[key] = self._asked.get(key, 0) + 1
        seconds = self.seconds * 2 ** (times - 1)
        if seconds > _MOST_SECONDS:
            return []
        return [(row, search.task(row, kinds, seconds=seconds, seed=search.seed + times))]
