"""From pieces to strips, and from strips to the length to buy."""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from shapely import Polygon

from scrapstore.errors import ShapeError
from scrapstore.units import INCHES_PER_CM, INCHES_PER_YARD, round_up_to_mark
from scrapstore.yardage.filling import Strip, fill_strips, rows_by_width
from scrapstore.yardage.nesting import Row, StripPiece

__all__ = [
    "RolePlan",
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
class RolePlan:
    """All strips of one role and the fabric to buy for them.

    `pieces` holds each piece as if cut alone; `strips` what is really cut, with other pieces in
    the ends of strips of the same width (for which a piece may lie otherwise than alone). `length`
    is what the strips take and `straightening` is kept for squaring up the end, inches.
    `buy_yards` is rounded up to the eighth of a yard, `buy_cm` to ten centimetres. `too_long` says
    in a sentence each why a piece cannot come from this width.
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
    rows = rows_by_width(piece, usable_width, step, along_grain=along_grain)
    return _strip_plan(piece, rows[0], usable_width, step)


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
    own strip would have the same width, and gets strips of its own for the rest. Where a piece may
    lie several ways, the ways are chosen together, so that less fabric is needed in all.
    `straightening` inches are added once, for squaring up the cut end (1 in is common practice);
    nothing is added for shrinkage. Pieces with count 0 are passed over.

    Raises ShapeError for a usable width, step or straightening that cannot be.
    """
    _check(usable_width, step, straightening)
    wishes: list[tuple[StripPiece, list[Row]]] = []
    too_long = []
    for piece in pieces:
        if piece.count == 0:
            continue
        try:
            wishes.append((piece, rows_by_width(piece, usable_width, step)))
        except ShapeError as error:
            too_long.append(str(error))
    plans = tuple(_strip_plan(piece, rows[0], usable_width, step) for piece, rows in wishes)
    strips = fill_strips(wishes, usable_width, step)
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


def _check(usable_width: float, step: float, straightening: float = 0.0) -> None:
    if not (math.isfinite(usable_width) and usable_width > 0):
        raise ShapeError(f"usable width: {usable_width} in will not do; give for example 40")
    if not (math.isfinite(step) and step > 0):
        raise ShapeError(f"ruler step: {step} in will not do; give for example 0.125")
    if not (math.isfinite(straightening) and straightening >= 0):
        raise ShapeError(f"straightening: {straightening} in will not do; give 0 or more")
