"""``cut``: what was cut of a kept plan goes into the store, and what is left of its cloth too."""

from dataclasses import dataclass

from scrapstore.actions.plan import answer_of
from scrapstore.errors import PlanError
from scrapstore.planning.cut_request import (
    CutRequest,
    PlannedCut,
    chosen_sources,
    new_cut,
    planned_cuts,
)
from scrapstore.planning.cut_sources import CutSource, cut_sources
from scrapstore.planning.result import MatchResult
from scrapstore.settings import Settings
from scrapstore.store import Plan, Reader, ReadyCut, Scrap, Store, book_cuts

__all__ = ["CutPreview", "CutResult", "book_cut", "look_at_cut"]


@dataclass(frozen=True, kw_only=True)
class CutPreview:
    """What is about to be booked. `later` is what of the plan is still to be cut after it.

    `settings` are those of the match, with the user's own `smallest_offcut`.
    """

    plan: Plan
    result: MatchResult
    settings: Settings
    request: CutRequest
    cuts: tuple[PlannedCut, ...]
    later: tuple[CutSource, ...]

    @property
    def fetched(self) -> tuple[CutSource, ...]:
        """What is cut, in the order in which to fetch it: by place, largest pieces first."""
        sources = [cut.source for cut in self.cuts]
        return tuple(sorted(sources, key=lambda one: (one.cloth.place or "", -one.largest)))


@dataclass(frozen=True, kw_only=True)
class CutResult:
    """What a cut made: lots of pieces, offcuts and spoilt pieces as scraps of the store."""

    preview: CutPreview
    lots: tuple[ReadyCut, ...]
    offcuts: tuple[Scrap, ...]
    spoilt: dict[str, Scrap]


def look_at_cut(store: Store, name: str, request: CutRequest, settings: Settings) -> CutPreview:
    """Return what `book_cut` would book; nothing is changed.

    Raises NotFoundError for a plan that there is not, PlanError when nothing of it is left to cut
    or it was kept by a version that did not keep how, UsageError for a request that does not fit.
    """
    with store.read() as reader:
        return _looked_at(reader, name, request, settings)


def book_cut(store: Store, seen: CutPreview, settings: Settings) -> CutResult:
    """Book what was `seen`, all of it or nothing.

    Raises PlanError when the plan, or the cloth it holds, is no longer as it was seen.
    """
    with store.change("cut") as writer:
        now = _looked_at(writer, seen.plan.name, seen.request, settings)
        if _made_of(now) != _made_of(seen):
            msg = (
                f"{seen.plan.name!r} was changed or cut meanwhile; nothing was booked. Look at it "
                f"again: cut {seen.plan.name!r}"
            )
            raise PlanError(msg)
        project = now.result.project
        cuts = [new_cut(cut, now.request, project, held=True) for cut in now.cuts]
        booked = book_cuts(writer, now.plan.name, cuts)
        return CutResult(
            preview=now,
            lots=tuple(writer.ready_cut_lot(number) for number in booked.lots),
            offcuts=tuple(writer.scrap(number) for number in booked.offcuts),
            spoilt={label: writer.scrap(number) for label, number in booked.spoilt.items()},
        )


def _looked_at(reader: Reader, name: str, request: CutRequest, settings: Settings) -> CutPreview:
    plan, result, then = answer_of(reader, name, settings)
    if result is None:
        msg = (
            f"{plan.name!r} was kept by another version, which did not keep how its scraps are "
            f"cut; release it (plan release {plan.name!r}) and match again"
        )
        raise PlanError(msg)
    left = [one for one in cut_sources(result) if not set(one.labels) & plan.pieces.keys()]
    if not left:
        raise PlanError(_nothing_left(plan))
    chosen = chosen_sources(left, request)
    return CutPreview(
        plan=plan,
        result=result,
        settings=then.model_copy(update={"smallest_offcut": settings.smallest_offcut}),
        request=request,
        cuts=planned_cuts(chosen, request, result.project, settings.smallest_offcut),
        later=tuple(one for one in left if one not in chosen),
    )


def _nothing_left(plan: Plan) -> str:
    if not plan.pieces:
        return f"nothing of {plan.name!r} is cut from cloth you have: its pieces are ready cut"
    return (
        f"all of {plan.name!r} is cut. When it is sewn: plan done {plan.name!r}; to take the last "
        "change back: undo"
    )


def _made_of(preview: CutPreview) -> list[tuple[object, ...]]:
    """Return what a cut is made of: the sources with their pieces, and the offcuts."""
    return [
        (
            cut.source.scrap and cut.source.scrap.id,
            cut.source.length and cut.source.length.id,
            cut.source.labels,
            [(one.letter, one.kept, one.scrap.outline.wkb) for one in cut.offcuts],
        )
        for cut in preview.cuts
    ]
