"""The strips of a plan as they are cut and drawn."""

from collections.abc import Sequence
from dataclasses import dataclass

from shapely import Polygon
from shapely.affinity import translate

from scrapstore.yardage.choose import Problem, Solution
from scrapstore.yardage.patterns import Part, Pattern, Way

__all__ = ["NarrowStrip", "Rest", "Run", "Strip", "lay_out"]


@dataclass(frozen=True, slots=True)
class Run:
    """Neighbouring pieces of one kind, from `start` to `end` along the strip, inches.

    `width` is that of the strip they are cut from: their height as they lie, rounded up to a mark.
    """

    piece: str
    width: float
    start: float
    end: float
    outlines: tuple[Polygon, ...]


@dataclass(frozen=True, slots=True)
class NarrowStrip:
    """A strip cut along the rest of a wider one, `low` inches above its lower edge.

    The first run is as wide as it is; before a narrower run it is trimmed to that run's width.
    """

    width: float
    low: float
    runs: tuple[Run, ...]


@dataclass(frozen=True, slots=True)
class Rest:
    """What a strip has left after its own pieces, from `start` to `end`, and what it gives."""

    start: float
    end: float
    strips: tuple[NarrowStrip, ...]


@dataclass(frozen=True, slots=True)
class Strip:
    """A strip to cut, and what to sub-cut from it; `times` strips are cut alike.

    `runs` are as wide as the strip. Outlines are drawn with x along the strip from 0 and y across
    it from 0, inches. `left_over` is the length at its end that nothing is cut from.
    """

    width: float
    times: int
    runs: tuple[Run, ...]
    rest: Rest | None
    left_over: float

    @property
    def all_runs(self) -> tuple[Run, ...]:
        """Return the runs of the strip and of its rest."""
        narrow = self.rest.strips if self.rest else ()
        return (*self.runs, *(run for strip in narrow for run in strip.runs))

    def counts(self) -> dict[str, int]:
        """Return how many pieces of each name all `times` strips give."""
        found: dict[str, int] = {}
        for run in self.all_runs:
            found[run.piece] = found.get(run.piece, 0) + len(run.outlines) * self.times
        return found


def lay_out(
    problem: Problem, solution: Solution, names: Sequence[str], step: float
) -> tuple[Strip, ...]:
    """Return the strips of `solution`, widest first, without a piece more than it counts.

    `names` are those of the problem's pieces; `step` is a ruler mark, inches.
    """
    made = [pattern for pattern, times in solution.times.items() for _ in range(times)]
    made.sort(key=lambda p: (-p.marks, len(p.rest), [-n for _, n in p.main], p.main, p.rest))
    trimmed = _without_surplus(made, problem.ways, solution.counts)
    alike: dict[Pattern, int] = {}
    for pattern in trimmed:
        alike[pattern] = alike.get(pattern, 0) + 1
    ordered = sorted(alike, key=lambda p: -p.marks)
    return tuple(_drawn(p, alike[p], problem, names, step) for p in ordered)


def _without_surplus(
    made: Sequence[Pattern], ways: Sequence[Way], counts: Sequence[int]
) -> list[Pattern]:
    """Take away pieces beyond `counts`: from rests before strips, from the last strip first."""
    surplus = [-count for count in counts]
    for pattern in made:
        for kind, count in enumerate(pattern.counts(ways, len(counts))):
            surplus[kind] += count

    def fewer(runs: tuple[Part, ...]) -> tuple[Part, ...]:
        left = []
        for way, count in runs:
            gone = min(count, surplus[ways[way].piece])
            surplus[ways[way].piece] -= gone
            if count > gone:
                left.append((way, count - gone))
        return tuple(left)

    rests = [tuple(filter(None, map(fewer, pattern.rest))) for pattern in reversed(made)]
    mains = [fewer(pattern.main) for pattern in reversed(made)]
    trimmed: list[Pattern] = []
    for pattern, main, rest in zip(made, reversed(mains), reversed(rests), strict=True):
        if main:
            trimmed.append(Pattern(pattern.marks, main, rest))
        else:  # nothing of its own width is left to cut: its narrower strips stand alone
            trimmed += [_alone(runs, ways) for runs in rest]
    return trimmed


def _alone(runs: tuple[Part, ...], ways: Sequence[Way]) -> Pattern:
    """Return the strip that a narrower strip of a rest would be by itself."""
    marks = ways[runs[0][0]].marks
    main = tuple(part for part in runs if ways[part[0]].marks == marks)
    narrower = runs[len(main) :]
    return Pattern(marks, main, (narrower,) if narrower else ())


def _drawn(
    pattern: Pattern, times: int, problem: Problem, names: Sequence[str], step: float
) -> Strip:
    ways = problem.ways
    runs, end = _runs(pattern.main, ways, names, step, start=0.0, low=0.0)
    rest, used = None, end
    if pattern.rest:
        low, strips = 0.0, []
        for parts in pattern.rest:
            narrow, reach = _runs(parts, ways, names, step, start=end, low=low)
            strips.append(NarrowStrip(narrow[0].width, low, narrow))
            low += narrow[0].width
            used = max(used, reach)
        rest = Rest(end, problem.room, tuple(strips))
    return Strip(pattern.marks * step, times, runs, rest, max(0.0, problem.room - used))


def _runs(
    parts: Sequence[Part],
    ways: Sequence[Way],
    names: Sequence[str],
    step: float,
    *,
    start: float,
    low: float,
) -> tuple[tuple[Run, ...], float]:
    """Return runs one after another from `start`, lying on `low`, and where they end."""
    runs = []
    for index, count in parts:
        way = ways[index]
        end = start + way.lengths[count - 1]
        outlines = tuple(translate(o, 0, low) for o in way.row.outlines(count, start))
        runs.append(Run(names[way.piece], way.marks * step, start, end, outlines))
        start = end
    return tuple(runs), start
