"""From pieces to strips, and from strips to the length to buy."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from shapely import Polygon

from scrapstore.errors import ShapeError
from scrapstore.units import INCHES_PER_CM, INCHES_PER_YARD, round_up_to_mark
from scrapstore.yardage.nesting import SLACK, Row, StripPiece, lay_row

__all__ = [
    "RolePlan",
    "Run",
    "Strip",
    "StripPlan",
    "length_to_buy",
    "plan_role",
    "plan_strips",
    "plan_yardage",
]


@dataclass(frozen=True, slots=True)
class StripPlan:
    """How one piece alone is cut from strips, all sizes in inches.

    `strip_width` is the cut height of the piece as it lies, rounded **up** to a ruler mark;
    `height` is the exact one. `per_strip` pieces come from each of `strips` strips, one every
    `spacing` along the strip, after `first_cut_loss` for slanted ends. The last strip gives
    `on_last_strip` pieces and leaves `left_on_last_strip` of its length; `spare` more pieces would
    still have come from it. `alternates` tells that every other piece is turned. `outlines` draws
    one full strip: x along it from 0, y across it from 0.
    """

    piece: str
    count: int
    strip_width: float
    height: float
    spacing: float
    first_cut_loss: float
    per_strip: int
    strips: int
    on_last_strip: int
    left_on_last_strip: float
    spare: int
    alternates: bool
    outlines: tuple[Polygon, ...]

    @property
    def length(self) -> float:
        """Return the length of fabric that the strips take, inches."""
        return self.strips * self.strip_width


@dataclass(frozen=True, slots=True)
class Run:
    """Neighbouring pieces of one kind on a strip, from `start` to `end` along it, inches."""

    piece: str
    start: float
    end: float
    outlines: tuple[Polygon, ...]


@dataclass(frozen=True, slots=True)
class Strip:
    """A strip to cut, and what to sub-cut from it; `times` strips are cut alike."""

    width: float
    times: int
    runs: tuple[Run, ...]
    left_over: float

    def counts(self) -> dict[str, int]:
        """Return how many pieces of each name all `times` strips give."""
        found: dict[str, int] = {}
        for run in self.runs:
            found[run.piece] = found.get(run.piece, 0) + len(run.outlines) * self.times
        return found


@dataclass(frozen=True, slots=True)
class RolePlan:
    """All strips of one role and the fabric to buy for them.

    `pieces` holds each piece as if cut alone; `strips` what is really cut, with other pieces in
    the ends of strips of the same width. `length` is what the strips take and `straightening` is
    kept for squaring up the end, inches. `buy_yards` is rounded up to the eighth of a yard,
    `buy_cm` to ten centimetres. `too_long` says in a sentence each why a piece cannot come from
    this width.
    """

    role: str
    usable_width: float
    pieces: tuple[StripPlan, ...]
    strips: tuple[Strip, ...]
    length: float
    straightening: float
    buy_yards: float
    buy_cm: int
    too_long: tuple[str, ...]


def plan_strips(
    piece: StripPiece,
    usable_width: float = 40.0,
    *,
    step: float = 1 / 8,
    along_grain: bool = False,
) -> StripPlan:
    """Return the strips for one piece, laid so that they take the least fabric.

    `usable_width` is the length of a strip in inches: the width of the fabric without selvages.
    `step` is the distance of ruler marks. `along_grain` cuts strips along the lengthwise grain.

    Raises ShapeError where the piece is longer than a strip in every allowed position.

    >>> from shapely import box
    >>> plan = plan_strips(StripPiece("square", box(0, 0, 2.5, 2.5), 50))
    >>> plan.per_strip, plan.strips, plan.on_last_strip
    (16, 4, 2)
    """
    _check(usable_width, step)
    row = _best_row(piece, usable_width, step, along_grain=along_grain)
    return _strip_plan(piece, row, usable_width, step)


def _strip_plan(piece: StripPiece, row: Row, strip_length: float, step: float) -> StripPlan:
    per_strip = row.fits(strip_length)
    strips = math.ceil(piece.count / per_strip)
    on_last = piece.count - per_strip * (strips - 1) if strips else 0
    return StripPlan(
        piece=piece.name,
        count=piece.count,
        strip_width=round_up_to_mark(row.height, step),
        height=row.height,
        spacing=row.spacing,
        first_cut_loss=row.first_cut_loss,
        per_strip=per_strip,
        strips=strips,
        on_last_strip=on_last,
        left_on_last_strip=strip_length - row.length(on_last) if strips else 0.0,
        spare=per_strip - on_last if strips else 0,
        alternates=row.alternates,
        outlines=row.outlines(per_strip),
    )


def plan_role(
    role: str,
    pieces: Iterable[StripPiece],
    usable_width: float = 40.0,
    *,
    straightening: float = 1.0,
    step: float = 1 / 8,
) -> RolePlan:
    """Return the strips and the length to buy for all `pieces` of one cloth.

    Widest strips first; a piece goes into the free end of a strip that is already there when its
    own strip would have the same width, and gets strips of its own for the rest. `straightening`
    inches are added once, for squaring up the cut end (1 in is common practice); nothing is added
    for shrinkage. Pieces with count 0 are passed over.

    Raises ShapeError for a usable width, step or straightening that cannot be.
    """
    _check(usable_width, step, straightening)
    rows: list[tuple[StripPiece, Row]] = []
    too_long = []
    for piece in pieces:
        if piece.count == 0:
            continue
        try:
            rows.append((piece, _best_row(piece, usable_width, step, along_grain=False)))
        except ShapeError as error:
            too_long.append(str(error))
    plans = tuple(_strip_plan(piece, row, usable_width, step) for piece, row in rows)
    strips = _cut(rows, usable_width, step)
    length = math.fsum(strip.width * strip.times for strip in strips)
    yards, cm = length_to_buy(length, straightening)
    return RolePlan(
        role, usable_width, plans, strips, length, straightening, yards, cm, tuple(too_long)
    )


def plan_yardage(
    pieces: Iterable[StripPiece],
    usable_width: float = 40.0,
    *,
    straightening: float = 1.0,
    step: float = 1 / 8,
) -> tuple[RolePlan, ...]:
    """Return one plan for each role among `pieces`, in the order in which roles appear."""
    by_role: dict[str, list[StripPiece]] = {}
    for piece in pieces:
        if piece.count:
            by_role.setdefault(piece.role, []).append(piece)
    return tuple(
        plan_role(role, some, usable_width, straightening=straightening, step=step)
        for role, some in by_role.items()
    )


def length_to_buy(length: float, straightening: float = 0.0) -> tuple[float, int]:
    """Return yards, rounded up to the eighth, and centimetres, rounded up to ten, for inches.

    Nothing to cut is nothing to buy.

    >>> length_to_buy(9.0), length_to_buy(9.0, 1.0), length_to_buy(0.0, 1.0)
    ((0.25, 30), (0.375, 30), (0.0, 0))
    """
    if length <= 0:
        return 0.0, 0
    inches = length + straightening
    yards = round_up_to_mark(inches / INCHES_PER_YARD, 1 / 8)
    return yards, round(round_up_to_mark(inches / INCHES_PER_CM, 10))


def _best_row(piece: StripPiece, strip_length: float, step: float, *, along_grain: bool) -> Row:
    """Return the row that takes the least fabric for all pieces; fewer strips, then less waste."""
    best: tuple[tuple[float, ...], Row] | None = None
    shortest = math.inf
    for rotation in piece.rotations_deg:
        row = lay_row(piece, rotation, along_grain=along_grain)
        shortest = min(shortest, row.length(1))
        per_strip = row.fits(strip_length)
        if not per_strip:
            continue
        strips = math.ceil(max(piece.count, 1) / per_strip)
        fabric = strips * round_up_to_mark(row.height, step)
        cost = (round(fabric, 9), strips, -per_strip, round(row.height, 9))
        if best is None or cost < best[0]:
            best = cost, row
    if best is None:
        msg = (
            f"{piece.name}: at least {shortest:.2f} in long in every position that its grain "
            f"allows, and the strip is {strip_length:.2f} in; piece it from two parts, or allow "
            "another grain direction"
        )
        raise ShapeError(msg)
    return best[1]


@dataclass(slots=True)
class _Open:
    """A strip while it is being filled."""

    width: float
    used: float
    runs: list[Run]


def _cut(
    rows: Sequence[tuple[StripPiece, Row]], strip_length: float, step: float
) -> tuple[Strip, ...]:
    """Fill strips piece by piece and gather those that are cut alike."""
    strips: list[_Open] = []
    # Wide strips and long pieces first, so that small ones find the ends; names settle ties.
    for piece, row in sorted(rows, key=lambda pr: (-pr[1].height, -pr[1].spacing, pr[0].name)):
        width, wanted = round_up_to_mark(row.height, step), piece.count
        ends = [strip for strip in strips if abs(strip.width - width) < SLACK]
        while wanted:
            strip = ends.pop(0) if ends else _Open(width, 0.0, [])
            count = min(wanted, row.fits(strip_length - strip.used))
            if not count:
                continue
            if not strip.runs:
                strips.append(strip)
            end = strip.used + row.length(count)
            outlines = row.outlines(count, strip.used)
            strip.runs.append(Run(piece.name, strip.used, end, outlines))
            strip.used = end
            wanted -= count
    return _gathered(strips, strip_length)


def _gathered(strips: Sequence[_Open], strip_length: float) -> tuple[Strip, ...]:
    alike: dict[tuple[object, ...], tuple[_Open, int]] = {}
    for strip in strips:
        key = (strip.width, *((run.piece, len(run.outlines)) for run in strip.runs))
        first, times = alike.get(key, (strip, 0))
        alike[key] = first, times + 1
    return tuple(
        Strip(strip.width, times, tuple(strip.runs), strip_length - strip.used)
        for strip, times in alike.values()
    )


def _check(usable_width: float, step: float, straightening: float = 0.0) -> None:
    if not (math.isfinite(usable_width) and usable_width > 0):
        raise ShapeError(f"usable width: {usable_width} in will not do; give for example 40")
    if not (math.isfinite(step) and step > 0):
        raise ShapeError(f"ruler step: {step} in will not do; give for example 0.125")
    if not (math.isfinite(straightening) and straightening >= 0):
        raise ShapeError(f"straightening: {straightening} in will not do; give 0 or more")
