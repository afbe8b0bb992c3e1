"""``finish``: the sizes of a top, its back, its binding: does it reach, and where from."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from scrapstore.actions.plan import Named
from scrapstore.errors import NotFoundError, PlanError
from scrapstore.finishing import (
    BindingPlan,
    FinishNeeds,
    FinishSizes,
    StripEnds,
    TopOutline,
    plan_binding,
    plan_without_strips,
    strip_rests,
)
from scrapstore.planning.back_sources import BackFit, BackSources, back_fit, back_sources
from scrapstore.planning.finish_needs import needs_of
from scrapstore.planning.notions import batting_for, form_for, zip_for
from scrapstore.planning.purchases import shop_of
from scrapstore.planning.strip_supply import (
    StripLength,
    lengths_for_piece,
    lengths_for_strips,
    scraps_with_room,
)
from scrapstore.projects import Project
from scrapstore.report.binding_picture import write_binding_picture
from scrapstore.sentences import several
from scrapstore.settings import Settings
from scrapstore.store import (
    BindingStrip,
    Notion,
    Plan,
    Reader,
    Scrap,
    StockFilter,
    Store,
    StripRest,
    hold_strips,
    plan_named,
    use_strips,
)
from scrapstore.units import round_up_to_mark

__all__ = [
    "BindingAsked",
    "BindingResult",
    "FinishResult",
    "SewnBinding",
    "TopAsked",
    "keep_strips",
    "plan_finish",
    "use_up_strips",
]


@dataclass(frozen=True, kw_only=True)
class BindingAsked:
    """The top that is bound and how; inches. `hems` are stretches of the edge from corner 0.

    `strip_width` is what strips that lack are cut to where there are none yet; `start` where the
    ends are to meet, None for the best place.
    """

    outline: TopOutline
    seam: float
    finished_width: float
    clearance: float
    strip_width: float
    hems: tuple[tuple[float, float], ...] = ()
    bias: bool = False
    start: float | None = None


@dataclass(frozen=True, kw_only=True)
class TopAsked:
    """The project whose top is finished, as asked for, its file or plan, and the top's sizes."""

    project: Project
    named: Named
    sizes: FinishSizes


@dataclass(frozen=True)
class BindingResult:
    """The plan of a binding; `strips` are the store's, in the order the plan numbers them.

    `long_enough` are the scraps that a strip of the length which lacks can be cut from, `lengths`
    the yardage. `best` is the plan with the best start, where another was asked for.
    """

    asked: BindingAsked
    plan: BindingPlan
    strips: tuple[BindingStrip, ...]
    long_enough: tuple[Scrap, ...] = ()
    lengths: tuple[StripLength, ...] = ()
    best: BindingPlan | None = None

    @property
    def used(self) -> tuple[BindingStrip, ...]:
        """The strips that are joined, in order."""
        return tuple(self.strips[placed.index] for placed in self.plan.strips)


@dataclass(frozen=True)
class FinishResult:
    """How a top is finished; `binding` is None for a cover that is turned.

    The rest is that of a project: what it needs, and what the store has of it. `backing` are scraps
    and lengths with room for the layer that the top is quilted on.
    """

    binding: BindingResult | None
    top: TopAsked | None = None
    needs: FinishNeeds | None = None
    back: BackFit | None = None
    sources: BackSources | None = None
    batting: tuple[Notion, ...] = ()
    backing: tuple[Scrap | StripLength, ...] = ()
    form: Notion | None = None
    zip: Notion | None = None
    picture: Path | None = None


def plan_finish(
    store: Store,
    asked: BindingAsked | None,
    top: TopAsked | None,
    only: StockFilter,
    numbers: Sequence[int],
    settings: Settings,
    picture: Path | None = None,
) -> FinishResult:
    """Plan the binding from the strips that `only` lets through; those of `numbers` if any.

    With `top` also what else its project takes. The store is not changed. Raises NotFoundError
    where one of `numbers` is not among the strips.
    """
    with store.read() as reader:
        for name in only.fabrics:
            reader.fabric(name)
        plan = None if top is None else top.named.plan
        binding = None
        if asked is not None:
            binding = _binding(reader, asked, plan, only, numbers, settings)
        result = FinishResult(binding)
        if top is not None:
            result = _with_project(reader, result, top, settings)
    if picture is not None and binding is not None:
        ids = [strip.id for strip in binding.strips]
        asked = binding.asked
        written = write_binding_picture(
            picture, asked.outline, binding.plan, ids, asked.hems, settings.page
        )
        result = replace(result, picture=written)
    return result


def _binding(
    reader: Reader,
    asked: BindingAsked,
    plan: Plan | None,
    only: StockFilter,
    numbers: Sequence[int],
    settings: Settings,
) -> BindingResult:
    strips = reader.binding_strips(replace(only, ids=tuple(numbers)))
    if plan is not None and plan.binding_ids:
        held = reader.binding_strips(
            StockFilter(ids=tuple({*plan.binding_ids} & {*(numbers or plan.binding_ids)}) or (0,),
                        statuses=())
        )  # fmt: skip
        strips = tuple(sorted({*strips, *held}, key=lambda one: one.id))
    missing = sorted(set(numbers) - {strip.id for strip in strips})
    if missing:
        what = several([str(number) for number in missing])
        verb = "is" if len(missing) == 1 else "are"
        msg = f"--strip: {what} {verb} not among the strips that may be used"
        raise NotFoundError(f"{msg}; scrapstore binding list shows those that are available")
    found = _planned(asked, strips, asked.start)
    best = None if asked.start is None else _planned(asked, strips, None)
    if found.extra is None:
        return BindingResult(asked, found, strips, best=best)
    length = round_up_to_mark(found.extra, settings.mark)
    wider = replace(only, statuses=("available",), places=())
    scraps = reader.scraps(replace(wider, at_least=(length, found.width)))
    return BindingResult(
        asked,
        found,
        strips,
        scraps_with_room(
            scraps, reader.cuttable_scraps([scrap.id for scrap in scraps]), length, found.width,
            bias=asked.bias,
        ),
        lengths_for_strips(
            reader.yardage(wider), length, found.width, settings.usable_width, shop_of(settings),
            bias=asked.bias,
        ),
    )  # fmt: skip


def _planned(
    asked: BindingAsked, strips: Sequence[BindingStrip], start: float | None
) -> BindingPlan:
    if not strips:
        return plan_without_strips(
            asked.outline, asked.strip_width, seam=asked.seam, finished_width=asked.finished_width
        )
    return plan_binding(
        asked.outline.sides, _ends(strips), seam=asked.seam, finished_width=asked.finished_width,
        corners_deg=asked.outline.corners_deg, corner_clearance=asked.clearance,
        keep_off=asked.hems, start=start,
    )  # fmt: skip


def _ends(strips: Sequence[BindingStrip]) -> list[StripEnds]:
    return [
        StripEnds(strip.length, strip.width, strip.start_slope_deg, strip.end_slope_deg)
        for strip in strips
    ]


def _with_project(
    reader: Reader, result: FinishResult, top: TopAsked, settings: Settings
) -> FinishResult:
    needs = needs_of(top.project, top.sizes, settings)
    named = top.named
    back = back_fit(top.project, top.sizes)
    sources = None
    if named.result is not None and named.plan is not None and back is not None:
        sources = back_sources(named.result, named.plan.pieces)
    backing: tuple[Scrap | StripLength, ...] = ()
    if needs.backing is not None:
        width, height = needs.backing
        scraps = reader.scraps(StockFilter(at_least=needs.backing))
        cuttable = reader.cuttable_scraps([scrap.id for scrap in scraps])
        backing = (
            *scraps_with_room(scraps, cuttable, width, height, bias=False),
            *lengths_for_piece(
                reader.yardage(), width, height, settings.usable_width, shop_of(settings)
            ),
        )
    return replace(
        result,
        top=top,
        needs=needs,
        back=back,
        sources=sources,
        batting=batting_for(reader.notions("batting"), needs.batting) if needs.batting else (),
        backing=backing,
        form=form_for(reader.notions("form"), needs.form) if needs.form else None,
        zip=zip_for(reader.notions("zip"), needs.zip_length) if needs.zip_length else None,
    )


def keep_strips(store: Store, result: FinishResult, settings: Settings) -> Plan:
    """Set the strips of a planned binding aside for the kept plan; return it as it is now.

    They take the place of those it held. Raises PlanError where there is no kept plan, where the
    strips do not reach, or where one was taken or changed meanwhile.
    """
    plan = None if result.top is None else result.top.named.plan
    binding = result.binding
    if plan is None:
        raise PlanError(
            "--set-aside: strips are set aside for a kept plan; plan keep PROJECT makes one"
        )
    if binding is None or binding.plan.short or not binding.strips:
        raise PlanError(f"--set-aside: there are no strips that reach round {plan.name!r} yet")
    rests = strip_rests(binding.plan, _ends(binding.strips), settings.smallest_offcut)
    kept = {
        strip.id: tuple(StripRest(**rest._asdict()) for rest in left)
        for strip, left in zip(binding.used, rests, strict=True)
    }
    with store.change("finish set aside") as writer:
        now = [writer.binding_strip(strip.id) for strip in binding.used]
        if plan_named(writer, plan.name).id != plan.id or _ends(now) != _ends(binding.used):
            msg = f"{plan.name!r} or its strips were changed meanwhile; nothing was set aside"
            raise PlanError(f"{msg}, plan it again")
        hold_strips(writer, plan.id, plan.name, kept)
        return plan_named(writer, plan.name)


@dataclass(frozen=True)
class SewnBinding:
    """Strips that were used up, and the strips that are left of them."""

    plan: Plan
    used: tuple[int, ...]
    rests: tuple[BindingStrip, ...]


def use_up_strips(store: Store, name: str) -> SewnBinding:
    """Use up the strips set aside for a plan; what is left of them are strips of the store.

    Raises NotFoundError, and PlanError where it holds none.
    """
    with store.change("finish done") as writer:
        plan = plan_named(writer, name)
        used, rests = use_strips(writer, plan.id)
        if not used:
            msg = f"{plan.name!r} holds no binding strips; finish {plan.name!r} --set-aside keeps"
            raise PlanError(f"{msg} some for it")
        return SewnBinding(plan, used, tuple(writer.binding_strip(number) for number in rests))
