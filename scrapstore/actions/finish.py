"""``finish``: does the binding in the store reach round a top, how is it joined, where to start."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

import shapely

from scrapstore.errors import NotFoundError
from scrapstore.finishing import BindingPlan, StripEnds, TopOutline, plan_binding
from scrapstore.packing import PieceKind, fill
from scrapstore.planning.cuttable_regions import scrap_stock
from scrapstore.report.binding_picture import write_binding_picture
from scrapstore.sentences import several
from scrapstore.settings import Settings
from scrapstore.store import BindingStrip, Reader, Scrap, StockFilter, Store
from scrapstore.units import round_up_to_mark

__all__ = ["BindingAsked", "FinishResult", "plan_finish"]

_TURNS: Final = (0.0, 90.0)


@dataclass(frozen=True, kw_only=True)
class BindingAsked:
    """The top that is bound and how; inches. `hems` are stretches of the edge from corner 0."""

    outline: TopOutline
    seam: float
    finished_width: float
    clearance: float
    hems: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True)
class FinishResult:
    """The plan of a binding; `strips` are the store's, in the order the plan numbers them.

    `long_enough` are the scraps that a strip of the length which lacks can be cut from.
    """

    asked: BindingAsked
    plan: BindingPlan
    strips: tuple[BindingStrip, ...]
    long_enough: tuple[Scrap, ...]
    picture: Path | None = None

    @property
    def used(self) -> tuple[BindingStrip, ...]:
        """The strips that are joined, in order."""
        return tuple(self.strips[placed.index] for placed in self.plan.strips)


def plan_finish(
    store: Store,
    asked: BindingAsked,
    only: StockFilter,
    numbers: Sequence[int],
    settings: Settings,
    picture: Path | None = None,
) -> FinishResult:
    """Plan the binding from the strips that `only` lets through; those of `numbers` if any.

    The store is not changed. Raises NotFoundError where there is no strip, or one of `numbers` is
    not among them.
    """
    with store.read() as reader:
        for name in only.fabrics:
            reader.fabric(name)
        strips = reader.binding_strips(replace(only, ids=tuple(numbers)))
        missing = sorted(set(numbers) - {strip.id for strip in strips})
        if missing:
            what = several([str(number) for number in missing])
            verb = "is" if len(missing) == 1 else "are"
            msg = f"--strip: {what} {verb} not among the strips that may be used"
            raise NotFoundError(f"{msg}; scrapstore binding list shows those that are available")
        if not strips:
            msg = (
                f"the binding needs {asked.outline.perimeter:.2f} in, and there are no strips for "
                "it; cut some and add them with scrapstore binding add, or leave out a filter"
            )
            raise NotFoundError(msg)
        ends = [
            StripEnds(strip.length, strip.width, strip.start_slope_deg, strip.end_slope_deg)
            for strip in strips
        ]
        plan = plan_binding(
            asked.outline.sides, ends, seam=asked.seam, finished_width=asked.finished_width,
            corners_deg=asked.outline.corners_deg, corner_clearance=asked.clearance,
            keep_off=asked.hems,
        )  # fmt: skip
        long_enough: tuple[Scrap, ...] = ()
        if plan.extra is not None:
            length = round_up_to_mark(plan.extra, settings.mark)
            long_enough = _long_enough(reader, only, plan.width, length)
    result = FinishResult(asked, plan, strips, long_enough, picture)
    if picture is not None:
        write_binding_picture(picture, asked.outline, plan, [s.id for s in strips], asked.hems)
    return result


def _long_enough(
    reader: Reader, only: StockFilter, width: float, length: float
) -> tuple[Scrap, ...]:
    """Return the scraps with room for a rectangle along or across their grain, the smallest first.

    Of the fabric and colours of the strips, wherever they are kept.
    """
    scraps = {
        scrap.id: scrap
        for scrap in reader.scraps(
            replace(only, statuses=("available",), places=(), at_least=(length, width))
        )
    }
    strip = PieceKind("strip", shapely.box(0, 0, length, width), 1, _TURNS, mirror=False)
    stock = scrap_stock(reader.cuttable_scraps(list(scraps)))
    fit = [one for one in stock if fill(one.region, [strip], rows_only=True).placements]
    return tuple(scraps[one.id] for one in sorted(fit, key=lambda one: (one.true_area, one.id)))
