"""From pieces to strips, from strips to the length to buy; what a length at hand gives."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Literal

from scrapstore.errors import ShapeError
from scrapstore.units import INCHES_PER_CM, INCHES_PER_YARD, Units, round_up_to_mark
from scrapstore.yardage.cutting_stock import (
    CuttingStockProblem,
    Solution,
    generate_columns,
    maximise_area,
    minimise_steps,
    minimise_width,
)
from scrapstore.yardage.nesting import SLACK, StripPiece
from scrapstore.yardage.strips import Strip, draw_strips
from scrapstore.yardage.ways import cutting_stock_problem

__all__ = ["TRIES", "BoughtAs", "RolePlan", "length_to_buy", "plan_length", "plan_role", "unwashed"]

BoughtAs = Literal["length", "fat quarter", "fat eighth"]
"""How fabric is sold."""

TRIES = 24
"""Plans that `plan_role` rounds from the relaxation; more hardly ever find a shorter length."""
_EIGHTH_YARD = INCHES_PER_YARD / 8
_LONGEST_STRIP = 10 * INCHES_PER_YARD  # nobody cuts longer ones along the grain
_TEN_CM = 10 * INCHES_PER_CM


@dataclass(frozen=True, slots=True)
class RolePlan:
    """The strips that give the pieces of one role, and the fabric they take; inches throughout.

    `pieces` says how many of each the strips give. Strips run from selvage to selvage, or along the
    lengthwise grain where `along_grain`; they are `strip_length` long. `length` is the fabric the
    strips take, `straightening` is kept for squaring up the end, and washing takes the share
    `shrinkage` of all of it first. No plan of such strips that gives as much takes less than
    `least`; 0 where that was not asked. `buy_yards` is rounded up to the eighth of a yard, `buy_cm`
    to ten centimetres, or both to a shop's own step. `too_long` says in a sentence each why a piece
    cannot come from this width. A precut that is bought (`bought_as`) counts as the length off the
    bolt that is as much cloth.
    """

    role: str
    usable_width: float
    pieces: Mapping[str, int]
    strips: tuple[Strip, ...]
    along_grain: bool
    strip_length: float
    length: float
    least: float
    straightening: float
    buy_yards: float
    buy_cm: int
    too_long: tuple[str, ...]
    shrinkage: float = 0.0
    bought_as: BoughtAs = "length"

    @property
    def needed(self) -> float:
        """Return the inches of unwashed fabric that the strips and the straightening take."""
        return unwashed(self.length, self.straightening, self.shrinkage)


def plan_role(
    role: str,
    pieces: Iterable[StripPiece],
    usable_width: float = 40.0,
    *,
    straightening: float = 1.0,
    shrinkage: float = 0.0,
    shop_step: float | None = None,
    step: float = 1 / 8,
    units: Units = "in",
    tries: int = TRIES,
) -> RolePlan:
    """Return the strips and the length to buy for all `pieces` of one cloth.

    The length to buy, a multiple of `shop_step` inches (else of an eighth of a yard or of ten
    centimetres, as `units` says), is the shortest found; of plans that buy the same the one that is
    simplest to cut. Strips across the fabric are taken unless strips along it buy less.
    `usable_width` is the width of the fabric without selvages, `step` the distance of ruler marks.
    `straightening` inches are added once, for squaring up the cut end (1 in is common practice).
    Washing takes the share `shrinkage` of the length that is bought; the width is the one after it.
    Pieces with count 0 are passed over. `tries` is work for a shorter length.

    Raises ShapeError for a usable width, step, straightening or shrinkage that cannot be.

    >>> from shapely import box
    >>> squares = [StripPiece("large", box(0, 0, 6, 6), 6), StripPiece("small", box(0, 0, 3, 3), 2)]
    >>> plan = plan_role("top", squares, 42)
    >>> plan.length, plan.buy_yards, plan.strips[0].counts()
    (6.0, 0.25, {'large': 6, 'small': 2})
    """
    _check(usable_width, step, straightening, shrinkage)
    wanted = tuple(piece for piece in pieces if piece.count)
    problem, able, too_long = cutting_stock_problem(
        wanted, usable_width, step, along_grain=False, units=units
    )
    unit = shop_step or (_TEN_CM if units == "cm" else _EIGHTH_YARD)
    cloth = _Cloth(role, usable_width, straightening, step, able, too_long, shrinkage, shop_step)
    if not able:
        return cloth.plan(())
    pool = generate_columns(problem, tries)
    narrowest = minimise_width(problem, pool)
    # As much as is bought anyway may be cut up: of that the simplest plan.
    bought = round_up_to_mark(unwashed(narrowest.marks * step, straightening, shrinkage), unit)
    most = max(narrowest.marks, math.floor(cloth.usable(bought) / step + 1e-6))
    found = minimise_steps(problem, pool, most, narrowest)
    return _along(cloth, bought, unit, tries) or cloth.across(problem, found, pool.bound * step)


def plan_length(
    role: str,
    pieces: Iterable[StripPiece],
    usable_width: float,
    length: float,
    *,
    step: float = 1 / 8,
    sets: int = 1,
    at_most: int | None = None,
) -> RolePlan:
    """Return what `length` inches of fabric, straightened already, give of `pieces`.

    All of them if they fit, else those that make up the largest area. Pieces of each kind come in
    full `sets`, and no more than `at_most` pieces in all. `pieces` of the result says what it
    gives; its `straightening` is 0. Raises ShapeError as `plan_role` does.

    >>> from shapely import box
    >>> plan_length("top", [StripPiece("square", box(0, 0, 6, 6), 20)], 42, 13).pieces
    {'square': 14}
    """
    _check(usable_width, step)
    wanted = tuple(piece for piece in pieces if piece.count)
    best = _Cloth(role, usable_width, 0.0, step, (), ()).plan(())
    covered = 0.0
    for along_grain in (False, True):
        room, width = (length, usable_width) if along_grain else (usable_width, length)
        problem, able, too_long = cutting_stock_problem(wanted, room, step, along_grain=along_grain)
        if not able:
            continue
        most = math.floor(width / step + 1e-6)
        pool = generate_columns(problem)
        found = maximise_area(problem, pool, most, sets=sets, at_most=at_most)
        if found.counts == problem.wanted:
            # What is not cut into goes back on the shelf: simpler cuts must not take more.
            narrowest = minimise_width(problem, pool)
            found = minimise_steps(problem, pool, narrowest.marks, narrowest)
        area = math.fsum(a * n for a, n in zip(problem.areas, found.counts, strict=True))
        if area > covered + SLACK:
            cloth = _Cloth(role, usable_width, 0.0, step, able, too_long)
            best = cloth.along(problem, found) if along_grain else cloth.across(problem, found)
            covered = area
        if sum(best.pieces.values()) == sum(piece.count for piece in wanted):
            break
    return best


@dataclass(frozen=True, slots=True)
class _Cloth:
    """What a plan is about, however the strips run."""

    role: str
    usable_width: float
    straightening: float
    step: float
    pieces: tuple[StripPiece, ...]
    too_long: tuple[str, ...]
    shrinkage: float = 0.0
    shop_step: float | None = None

    def usable(self, bought: float) -> float:
        """Return what `bought` inches give, washed and straightened."""
        return bought * (1 - self.shrinkage) - self.straightening

    @property
    def names(self) -> tuple[str, ...]:
        return tuple(piece.name for piece in self.pieces)

    def across(self, problem: CuttingStockProblem, found: Solution, least: float = 0.0) -> RolePlan:
        """Return the plan of strips from selvage to selvage."""
        strips = draw_strips(problem, found, self.names, self.step)
        length = math.fsum(strip.width * strip.times for strip in strips)
        return self.plan(strips, length=length, least=least, strip_length=problem.room)

    def along(self, problem: CuttingStockProblem, found: Solution) -> RolePlan:
        """Return the plan of strips along the lengthwise grain, no longer than they need be."""
        strips = draw_strips(problem, found, self.names, self.step)
        reach = max((run.end for strip in strips for run in strip.all_runs), default=0.0)
        length = min(round_up_to_mark(reach, self.step), problem.room)
        strips = draw_strips(replace(problem, room=length), found, self.names, self.step)
        area = math.fsum(piece.cut.area * self.count(strips, piece.name) for piece in self.pieces)
        least = area / self.usable_width
        return self.plan(strips, length=length, least=least, strip_length=length, along_grain=True)

    def plan(
        self,
        strips: tuple[Strip, ...],
        *,
        length: float = 0.0,
        least: float = 0.0,
        strip_length: float | None = None,
        along_grain: bool = False,
    ) -> RolePlan:
        """Return the plan of `strips`."""
        counts = {piece.name: self.count(strips, piece.name) for piece in self.pieces}
        yards, cm = length_to_buy(length, self.straightening, self.shrinkage, self.shop_step)
        return RolePlan(
            role=self.role,
            usable_width=self.usable_width,
            pieces={name: count for name, count in counts.items() if count},
            strips=strips,
            along_grain=along_grain,
            strip_length=self.usable_width if strip_length is None else strip_length,
            length=length,
            least=least,
            straightening=self.straightening,
            buy_yards=yards,
            buy_cm=cm,
            too_long=self.too_long,
            shrinkage=self.shrinkage,
        )

    @staticmethod
    def count(strips: Iterable[Strip], name: str) -> int:
        """Return how many pieces of a name the strips give."""
        return sum(strip.counts().get(name, 0) for strip in strips)


def _along(cloth: _Cloth, bought: float, unit: float, tries: int) -> RolePlan | None:
    """Return a plan of strips along the lengthwise grain if it needs less than `bought` inches.

    A shop cuts whole `unit`s. All strips are as long as the fabric, so a longer fabric never gives
    less: the shortest length to buy is found by halving.
    """
    width = cloth.usable_width
    area = math.fsum(piece.cut.area * piece.count for piece in cloth.pieces)
    shops = [cloth.usable(unit * n) for n in range(1, round(bought / unit))]
    lengths = [
        length for length in shops if area - SLACK <= length * width and length <= _LONGEST_STRIP
    ]
    best = None
    low, high = 0, len(lengths)
    while low < high:
        middle = (low + high) // 2
        plan = _along_within(cloth, lengths[middle], tries)
        if plan is None:
            low = middle + 1
        else:
            best, high = plan, middle
    return best


def _along_within(cloth: _Cloth, length: float, tries: int) -> RolePlan | None:
    """Return a plan of strips `length` long side by side on the fabric; None if none was found."""
    problem, able, _ = cutting_stock_problem(cloth.pieces, length, cloth.step, along_grain=True)
    if len(able) < len(cloth.pieces):
        return None
    most = math.floor(cloth.usable_width / cloth.step + 1e-6)
    for more in (0, tries):  # the first is often enough
        pool = generate_columns(problem, more)
        if pool.bound > most:
            return None
        narrowest = minimise_width(problem, pool)
        if narrowest.marks <= most:
            break
    else:
        return None
    found = minimise_steps(problem, pool, most, narrowest)
    return cloth.along(problem, found)


def unwashed(length: float, straightening: float = 0.0, shrinkage: float = 0.0) -> float:
    """Return the inches of fabric that are `length` inches once washed and straightened.

    >>> round(unwashed(4.5, 0.35, 0.03), 9)
    5.0
    """
    return (length + straightening) / (1 - shrinkage)


def length_to_buy(
    length: float,
    straightening: float = 0.0,
    shrinkage: float = 0.0,
    shop_step: float | None = None,
) -> tuple[float, int]:
    """Return yards, rounded up to the eighth, and centimetres, rounded up to ten, for inches.

    With a `shop_step` in inches both are rounded up to a multiple of it first, then to the eighth
    and to the centimetre. Nothing to cut is nothing to buy.

    >>> length_to_buy(9.0), length_to_buy(9.0, 1.0), length_to_buy(0.0, 1.0)
    ((0.25, 30), (0.375, 30), (0.0, 0))
    >>> length_to_buy(9.0, 1.0, shop_step=18)
    (0.5, 46)
    """
    if length <= 0:
        return 0.0, 0
    inches = unwashed(length, straightening, shrinkage)
    if shop_step:
        inches = round_up_to_mark(inches, shop_step)
    yards = round_up_to_mark(inches / INCHES_PER_YARD, 1 / 8)
    return yards, round(round_up_to_mark(inches / INCHES_PER_CM, 1 if shop_step else 10))


def _check(
    usable_width: float, step: float, straightening: float = 0.0, shrinkage: float = 0.0
) -> None:
    if not (math.isfinite(usable_width) and usable_width > 0):
        raise ShapeError(f"usable width: {usable_width} in will not do; give for example 40")
    if not (math.isfinite(step) and step > 0):
        raise ShapeError(f"ruler step: {step} in will not do; give for example 0.125")
    if not (math.isfinite(straightening) and straightening >= 0):
        raise ShapeError(f"straightening: {straightening} in will not do; give 0 or more")
    if not 0 <= shrinkage < 1:
        raise ShapeError(f"shrinkage: {shrinkage} will not do; give a share such as 0.03")
