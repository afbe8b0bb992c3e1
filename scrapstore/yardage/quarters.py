"""Fat quarters instead of yardage: how many would do."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from scrapstore.errors import ShapeError
from scrapstore.yardage.nesting import SLACK, StripPiece
from scrapstore.yardage.plan import StripPlan, plan_strips

__all__ = ["FAT_QUARTER", "QuarterPlan", "plan_quarters"]

FAT_QUARTER: Final = (22.0, 18.0)
"""Width across the grain and length along it, inches: half the width of half a yard (the trade's
usual figure; a fat quarter from wider or narrower fabric differs)."""


@dataclass(frozen=True, slots=True)
class QuarterPlan:
    """How many fat quarters the pieces of one role need when no strip is shared by two kinds.

    `quarters` would do; a cleverer layout may need fewer. `strips` says for each piece how its
    strips are cut; all run across the quarter (`along_grain` false) or all along its grain.
    `shelves` lists for each quarter the pieces whose strips it gives, a name for every strip.
    """

    quarters: int
    along_grain: bool
    strips: tuple[StripPlan, ...]
    shelves: tuple[tuple[str, ...], ...]


def plan_quarters(
    pieces: Iterable[StripPiece],
    size: tuple[float, float] = FAT_QUARTER,
    *,
    step: float = 1 / 8,
) -> QuarterPlan:
    """Return how many cloths of `size` (width, length along the grain; inches) the pieces need.

    Strips run all across or all along the grain, whichever needs fewer quarters. Raises ShapeError
    where a piece fits into no quarter either way.
    """
    wanted = [piece for piece in pieces if piece.count]
    plans, refusals = [], []
    for along_grain in (False, True):
        try:
            plans.append(_shelve(wanted, size, step, along_grain=along_grain))
        except ShapeError as error:
            refusals.append(error)
    if not plans:
        raise refusals[0]
    return min(plans, key=lambda plan: plan.quarters)


def _shelve(
    pieces: list[StripPiece], size: tuple[float, float], step: float, *, along_grain: bool
) -> QuarterPlan:
    across, along = size
    strip_length, room = (along, across) if along_grain else (across, along)
    strips = [
        plan_strips(piece, strip_length, step=step, along_grain=along_grain) for piece in pieces
    ]
    shelves: list[list[str]] = []
    free: list[float] = []
    # Widest strips first, each into the first quarter with room for it.
    for plan in sorted(strips, key=lambda plan: -plan.strip_width):
        if plan.strip_width > room + SLACK:
            msg = (
                f"{plan.piece}: a strip of {plan.strip_width} in is wider than a fat quarter "
                f"of {across:g} × {along:g} in; buy yardage for it"
            )
            raise ShapeError(msg)
        for _ in range(plan.strips):
            place = next((i for i, f in enumerate(free) if f >= plan.strip_width - SLACK), None)
            if place is None:
                place = len(free)
                free.append(room)
                shelves.append([])
            free[place] -= plan.strip_width
            shelves[place].append(plan.piece)
    return QuarterPlan(len(shelves), along_grain, tuple(strips), tuple(map(tuple, shelves)))
