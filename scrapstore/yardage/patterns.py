"""What one strip may give: pieces of the strip's own width, and narrower ones from its end.

A strip lies level, `room` inches long. From its left end come runs of pieces whose rows are as wide
as the strip. What is left of it, its *rest*, is as wide as the strip and may be cut along into
narrower strips, one above the other; each of these is sub-cut in turn, and may be trimmed once more
for what follows in it. Every cut goes straight through what it cuts, so all of it is done with a
ruler and a rotary cutter.

Widths are whole numbers of ruler marks. Lengths are exact: nothing is rounded to a grid.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from scrapstore.yardage.nesting import SLACK, Row

__all__ = ["Part", "StripPattern", "Way", "price_patterns", "with_rest_refilled"]

Part = tuple[int, int]
"""A run on a strip: which way (its index), and how many pieces."""

_Floats = NDArray[np.float64]
_Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Way:
    """One way for one piece to lie: `marks` is the width of its strip in ruler marks.

    `piece` is an index; `lengths` says how long 1, 2, … pieces are, inches, up to as many as are
    wanted or as one strip holds.
    """

    piece: int
    row: Row
    marks: int
    lengths: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class StripPattern:
    """What is cut from one strip of `marks` ruler marks.

    `main` are the runs as wide as the strip; `rest` the narrower strips cut from its end, each a
    tuple of runs, none wider than the first.
    """

    marks: int
    main: tuple[Part, ...]
    rest: tuple[tuple[Part, ...], ...] = ()

    def counts(self, ways: Sequence[Way], pieces: int) -> tuple[int, ...]:
        """Return how many of each of `pieces` pieces one such strip gives."""
        found = [0] * pieces
        for runs in (self.main, *self.rest):
            for way, count in runs:
                found[ways[way].piece] += count
        return tuple(found)

    def trims(self, ways: Sequence[Way]) -> int:
        """Return how many cuts trim single pieces of one such strip."""
        runs = [part for parts in (self.main, *self.rest) for part in parts]
        return sum(ways[way].row.trims * count for way, count in runs) // 2

    @property
    def steps(self) -> int:
        """Return a count of what has to be said about it: the fewer, the simpler to cut."""
        return 1 + len(self.main) + sum(3 + len(runs) for runs in self.rest)


def price_patterns(
    ways: Sequence[Way], worth: Sequence[float], room: float, *, rests: bool = True
) -> dict[int, tuple[float, StripPattern]]:
    """Solve the pricing problem: return for each strip width the pattern worth most, and its worth.

    `worth` is per piece. `rests=False` leaves the ends of strips alone. Exact for the patterns
    that the module's text describes: no such pattern is worth more.
    """
    widths = sorted({way.marks for way in ways})
    at_most = _at_most(ways, worth, room)
    found = {}
    for marks in widths:
        main = _Runs.none()
        for index, way in enumerate(ways):
            if way.marks == marks:
                main = main.and_some(index, way.lengths, worth[way.piece], room)
        if len(main.values) == 1:  # nothing of this width is worth cutting
            continue
        value = main.values
        stack = None
        if rests and marks > widths[0]:
            narrower = {width: at_most[width] for width in widths if width < marks}
            stack = _Stack(narrower, room - main.lengths, marks)
            value = value + stack.values
        at = int(np.argmax(value[1:])) + 1  # a strip begins with pieces of its own width
        rest = stack.parts(at, ways) if stack is not None else ()
        found[marks] = float(value[at]), StripPattern(marks, main.parts(at), rest)
    return found


def with_rest_refilled(
    pattern: StripPattern,
    ways: Sequence[Way],
    worth: Sequence[float],
    left: Sequence[int],
    room: float,
) -> StripPattern:
    """Return `pattern` with its rest filled anew, from what is `left` of each piece after its runs.

    One narrower strip after the other, each for what the ones before it leave wanting.
    """
    left = list(left)
    for way, count in pattern.main:
        left[ways[way].piece] -= count
    end = sum(ways[way].lengths[count - 1] for way, count in pattern.main)
    rest: list[tuple[Part, ...]] = []
    height = pattern.marks
    while True:
        some = [
            replace(way, lengths=way.lengths[: max(left[way.piece], 0)])
            if way.marks <= height and way.marks < pattern.marks
            else replace(way, lengths=())
            for way in ways
        ]
        at_most = {
            marks: runs
            for marks, runs in _at_most(some, worth, room - end).items()
            if marks <= height
        }
        parts = _Stack(at_most, np.array([room - end]), height).parts(0, ways) if at_most else ()
        if not parts:
            return StripPattern(pattern.marks, pattern.main, _widest_first(rest, ways))
        rest.append(parts[0])
        height -= ways[parts[0][0][0]].marks
        for way, count in parts[0]:
            left[ways[way].piece] -= count


def _at_most(ways: Sequence[Way], worth: Sequence[float], room: float) -> dict[int, "_Runs"]:
    """Return for each width the runs of all ways that are no wider."""
    found: dict[int, _Runs] = {}
    runs = _Runs.none()
    for marks in sorted({way.marks for way in ways}):
        for index, way in enumerate(ways):
            if way.marks == marks:
                runs = runs.and_some(index, way.lengths, worth[way.piece], room)
        found[marks] = runs
    return found


def _widest_first(
    rest: Iterable[tuple[Part, ...]], ways: Sequence[Way]
) -> tuple[tuple[Part, ...], ...]:
    return tuple(sorted(rest, key=lambda runs: (-ways[runs[0][0]].marks, runs)))


class _Runs:
    """Runs one after another: for each length the most they can be worth.

    Both `lengths` and `values` increase; entry 0 is no run at all. The other fields are for finding
    the runs again: with ``before, count = divmod(came[i], options)``, entry i is entry `before` of
    `earlier` and then `count` pieces.
    """

    def __init__(self, lengths: _Floats, values: _Floats) -> None:
        self.lengths, self.values = lengths, values
        self.earlier: _Runs | None = None
        self.way, self.options = -1, 1
        self.came: _Ints = np.zeros(1, dtype=np.int64)

    @classmethod
    def none(cls) -> "_Runs":
        return cls(np.zeros(1), np.zeros(1))

    def and_some(self, way: int, lengths: Sequence[float], worth: float, room: float) -> "_Runs":
        """Return these runs followed by none or more pieces that lie as `way` says."""
        if worth <= 0 or not lengths:
            return self
        more = np.concatenate(([0.0], lengths))
        length = (self.lengths[:, None] + more).ravel()
        value = (self.values[:, None] + worth * np.arange(len(more))).ravel()
        order = np.lexsort((-value, length))
        order = order[length[order] <= room + SLACK]
        most = np.maximum.accumulate(value[order])
        # Longer and worth no more: of no use.
        kept = order[np.concatenate(([True], most[1:] > most[:-1] + 1e-12))]
        runs = _Runs(length[kept], value[kept])
        runs.earlier, runs.way, runs.options, runs.came = self, way, len(more), kept
        return runs

    def within(self, rooms: _Floats) -> _Ints:
        """Return for each room the entry worth most that fits into it."""
        return np.searchsorted(self.lengths, rooms + SLACK, side="right") - 1

    def parts(self, at: int) -> tuple[Part, ...]:
        """Return the runs of entry `at`, in the order in which they were added."""
        found: list[Part] = []
        runs = self
        while runs.earlier is not None:
            at, count = divmod(int(runs.came[at]), runs.options)
            if count:
                found.append((runs.way, count))
            runs = runs.earlier
        return tuple(reversed(found))


class _Stack:
    """The narrower strips that rests of several lengths are worth most in, one above the other."""

    def __init__(self, at_most: Mapping[int, _Runs], rooms: _Floats, marks: int) -> None:
        self._at_most, self._rooms = at_most, rooms
        worth = {width: runs.values[runs.within(rooms)] for width, runs in at_most.items()}
        # Whole-number knapsacks side by side, one for each rest, over the widths that sums reach.
        best = {0: np.zeros(len(rooms))}
        self._last: dict[int, NDArray[np.int64]] = {}
        reached = {0}
        for total in range(1, marks + 1):
            lower = [width for width in at_most if total - width in reached]
            if not lower:
                continue
            reached.add(total)
            ways = np.stack([best[total - width] + worth[width] for width in lower])
            pick = np.argmax(ways, axis=0)
            best[total] = np.take_along_axis(ways, pick[None], axis=0)[0]
            self._last[total] = np.asarray(lower, dtype=np.int64)[pick]
        totals = sorted(best)
        every = np.stack([best[total] for total in totals])
        at = np.argmax(every, axis=0)
        self._total = np.asarray(totals, dtype=np.int64)[at]
        self.values: _Floats = np.take_along_axis(every, at[None], axis=0)[0]

    def parts(self, at: int, ways: Sequence[Way]) -> tuple[tuple[Part, ...], ...]:
        """Return the runs of each narrower strip in rest `at`, the widest strip first."""
        found = []
        total = int(self._total[at])
        while total:
            width = int(self._last[total][at])
            runs = self._at_most[width]
            parts = runs.parts(int(runs.within(self._rooms[at : at + 1])[0]))
            if parts:
                found.append(tuple(sorted(parts, key=lambda part: (-ways[part[0]].marks, part))))
            total -= width
        return _widest_first(found, ways)
