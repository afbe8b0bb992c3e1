"""The strips of a plan as they are cut and drawn."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from shapely import Polygon
from shapely.affinity import translate

from scrapstore.shapes import CutPiece, CuttingPlan, Frame
from scrapstore.yardage.carving import Carving
from scrapstore.yardage.cutting_stock import CuttingStockProblem, Solution
from scrapstore.yardage.nesting import Row
from scrapstore.yardage.patterns import Part, StripPattern, Way

__all__ = ["NarrowStrip", "Rest", "Run", "Strip", "draw_strips"]

_SAME: Final = 1e-6  # inches
_UP: Final = (0.0, 1.0)
_BACK: Final = (-1.0, 0.0)
"""Directions of cuts: what is wanted lies left of them."""


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
    it from 0, inches. `left_over` is the length at its end that nothing is cut from. `cutting` says
    how one such strip is cut; its labels count the pieces of the strip.
    """

    width: float
    times: int
    runs: tuple[Run, ...]
    rest: Rest | None
    left_over: float
    cutting: CuttingPlan

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


def draw_strips(
    problem: CuttingStockProblem, solution: Solution, names: Sequence[str], step: float
) -> tuple[Strip, ...]:
    """Return the strips of `solution`, widest first, without a piece more than it counts.

    `names` are those of the problem's pieces; `step` is a ruler mark, inches.
    """
    made = [pattern for pattern, times in solution.times.items() for _ in range(times)]
    made.sort(key=lambda p: (-p.marks, len(p.rest), [-n for _, n in p.main], p.main, p.rest))
    trimmed = _without_surplus(made, problem.ways, solution.counts)
    alike: dict[StripPattern, int] = {}
    for pattern in trimmed:
        alike[pattern] = alike.get(pattern, 0) + 1
    ordered = sorted(alike, key=lambda p: -p.marks)
    return tuple(
        _Drawing(pattern, problem, names, step).strip(alike[pattern]) for pattern in ordered
    )


def _without_surplus(
    made: Sequence[StripPattern], ways: Sequence[Way], counts: Sequence[int]
) -> list[StripPattern]:
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
    trimmed: list[StripPattern] = []
    for pattern, main, rest in zip(made, reversed(mains), reversed(rests), strict=True):
        if main:
            trimmed.append(StripPattern(pattern.marks, main, rest))
        else:  # nothing of its own width is left to cut: its narrower strips stand alone
            trimmed += [_alone(runs, ways) for runs in rest]
    return trimmed


def _alone(runs: tuple[Part, ...], ways: Sequence[Way]) -> StripPattern:
    """Return the strip that a narrower strip of a rest would be by itself."""
    marks = ways[runs[0][0]].marks
    main = tuple(part for part in runs if ways[part[0]].marks == marks)
    narrower = runs[len(main) :]
    return StripPattern(marks, main, (narrower,) if narrower else ())


class _Drawing:
    """One strip while it is cut up, from its left end on."""

    def __init__(
        self, pattern: StripPattern, problem: CuttingStockProblem, names: Sequence[str], step: float
    ) -> None:
        self.pattern, self.ways, self.names = pattern, problem.ways, names
        self.step, self.length = step, problem.room
        self.width = pattern.marks * step
        self.carving = Carving(self.length, self.width, step)
        self.pieces: list[CutPiece] = []

    def strip(self, times: int) -> Strip:
        """Return the strip, to be cut `times` over."""
        runs, end, part = self._runs(self.pattern.main, 0, start=0.0, low=0.0)
        rest, used = None, end
        if self.pattern.rest:
            assert part is not None  # the pattern says that something is left
            part = self.carving.cut(part, (end, 0.0), _UP)[1]
            narrow, used = self._rest(part, end)
            rest = Rest(end, self.length, narrow)
        pieces = tuple(self.pieces)
        cutting = CuttingPlan(
            Frame(), self.carving.outline, tuple(self.carving.cuts), pieces, self.step
        )
        left_over = max(0.0, self.length - used)
        return Strip(self.width, times, runs, rest, left_over, cutting)

    def _rest(self, part: int | None, start: float) -> tuple[tuple[NarrowStrip, ...], float]:
        """Return the narrower strips of a rest from `start` on, and where they end."""
        low, used, found = 0.0, start, []
        for runs in self.pattern.rest:
            assert part is not None
            width = self.ways[runs[0][0]].marks * self.step
            strip, part = self.carving.cut(part, (start, low + width), _BACK)
            assert strip is not None
            narrow, end, _ = self._runs(runs, strip, start=start, low=low)
            found.append(NarrowStrip(width, low, narrow))
            low, used = low + width, max(used, end)
        return tuple(found), used

    def _runs(
        self, parts: Sequence[Part], part: int, *, start: float, low: float
    ) -> tuple[tuple[Run, ...], float, int | None]:
        """Cut runs from `part`, one after another from `start`, with their lower edge at `low`.

        Return them, where they end, and what is then left.
        """
        found = []
        left: int | None = part
        ends = (start, start)  # of the cut before: at the lower edge, and at the upper one
        width = self.ways[parts[0][0]].marks * self.step
        for index, count in parts:
            way = self.ways[index]
            row = way.row
            assert left is not None
            if row.width < width - _SAME:
                lower, upper = ends
                ends = lower, lower + (upper - lower) * row.width / width
                width = row.width
                left = self.carving.cut(left, (start, low + width), _BACK)[0]
                assert left is not None
            if row.template:
                shift = max(ends)
                cuts = [(shift + row.length(count), 0.0)]
            else:
                at = max(ends[0], ends[1] - row.leans[0] * width)
                shift = at - next(row.cuts(0))[0]
                cuts = [(c + shift, lean) for c, lean in row.cuts(count)]
            outlines = tuple(translate(o, shift, low) for o in row.outlines(count))
            left, outlines = self._row(left, row, cuts, outlines, low, self.names[way.piece])
            c, lean = cuts[-1]
            begin = min(max(ends), min(o.bounds[0] for o in outlines))
            end = min(max(c, c + lean * width), self.length)
            ends = (c, c + lean * width)
            found.append(Run(self.names[way.piece], width, begin, end, outlines))
        return tuple(found), min(max(ends), self.length), left

    def _row(
        self,
        part: int,
        row: Row,
        cuts: Sequence[tuple[float, float]],
        outlines: Sequence[Polygon],
        low: float,
        name: str,
    ) -> tuple[int | None, tuple[Polygon, ...]]:
        """Cut a row of pieces; return what is left of the strip, and where the pieces lie now."""
        if row.template:
            cell, left = self._across(part, cuts[-1], low)
            assert cell is not None
            self._keep(outlines, [(cell, True)] * len(outlines), name)
            return left, tuple(outlines)
        cells: list[int] = []
        left = self._across(part, cuts[0], low)[1]
        size = 2 if row.pairs else 1
        for i in range(0, len(outlines), size):
            assert left is not None
            cell, left = self._across(left, cuts[min(i + size, len(outlines))], low)
            assert cell is not None
            cells.append(cell)
        if row.pairs:
            pairs, cells = cells, []
            for i, pair in enumerate(pairs):
                both = 2 * i + 1 < len(outlines)
                parted = self._across(pair, cuts[2 * i + 1], low) if both else (pair,)
                cells += [cell for cell in parted if cell is not None]
        assert len(cells) == len(outlines)
        parts, settled = [], []
        for outline, cell in zip(outlines, cells, strict=True):
            hull = outline.convex_hull
            assert isinstance(hull, Polygon)  # it has an area
            moved = self.carving.settled(cell, hull)
            by = moved.bounds[0] - hull.bounds[0], moved.bounds[1] - hull.bounds[1]
            settled.append(translate(outline, *by))
            trimmed = self.carving.trim(cell, moved)
            parts.append((cell, True) if trimmed is None else (trimmed, False))
        self._keep(settled, parts, name)
        return left, tuple(settled)

    def _keep(
        self, outlines: Sequence[Polygon], parts: Sequence[tuple[int, bool]], name: str
    ) -> None:
        """Note the pieces, each with its part and whether it is cut from that by template."""
        for outline, (part, template) in zip(outlines, parts, strict=True):
            label = f"{name} {1 + sum(piece.name == name for piece in self.pieces)}"
            self.pieces.append(CutPiece(label, name, outline, part, template))

    def _across(
        self, part: int, cut: tuple[float, float], low: float
    ) -> tuple[int | None, int | None]:
        """Cut `part` from its lower edge upwards; return what lies left and right."""
        c, lean = cut
        return self.carving.cut(part, (c, low), (lean, 1.0))
