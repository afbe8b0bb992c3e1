"""``cut``: what was cut of a kept plan goes into the store, and what is left of its cloth too."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from scrapstore.actions.match import match_loaded
from scrapstore.actions.plan import answer_of
from scrapstore.errors import PlanError
from scrapstore.planning.cut_request import (
    CutRequest,
    PlannedCut,
    chosen_sources,
    new_cut,
    planned_cuts,
    spoilt_since,
)
from scrapstore.planning.cut_sources import CutSource, cut_sources
from scrapstore.planning.replacements import (
    Lost,
    attempts,
    covered_labels,
    lost_pieces,
    replacement_sources,
)
from scrapstore.planning.result import MatchResult
from scrapstore.report.yardage_text import buy_text
from scrapstore.sentences import several
from scrapstore.settings import Settings
from scrapstore.store import (
    NewScrap,
    Plan,
    Reader,
    ReadyCut,
    Scrap,
    Store,
    Writer,
    Yardage,
    book_cuts,
    spoil_cut_pieces,
)

__all__ = ["CutPreview", "CutResult", "book_cut", "look_at_cut"]


@dataclass(frozen=True, kw_only=True)
class CutPreview:
    """What is about to be booked. `later` is what of the plan is still to be cut after it.

    `settings` are those of the match, with the user's own `smallest_offcut`. `replacements` are
    the answers that say where to cut pieces once more that were spoilt or not cut; `advice` says
    in sentences which of them nothing gives. `spoilt_since`: nothing is cut, but pieces that were
    booked as cut are these scraps now, by label.
    """

    plan: Plan
    result: MatchResult
    settings: Settings
    request: CutRequest
    cuts: tuple[PlannedCut, ...]
    later: tuple[CutSource, ...] = ()
    replacements: tuple[MatchResult, ...] = ()
    advice: tuple[str, ...] = ()
    spoilt_since: Mapping[str, NewScrap] = field(default_factory=dict)

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

    @property
    def lost(self) -> bool:
        """Whether pieces are to be cut once more."""
        return bool(self.spoilt) or any(one.not_cut for cut in self.preview.cuts
                                        for one in cut.after)  # fmt: skip


def look_at_cut(store: Store, name: str, request: CutRequest, settings: Settings) -> CutPreview:
    """Return what `book_cut` would book; nothing is changed.

    When all of the plan is cut, or the request says `again`: where the pieces that were spoilt or
    not cut are to be cut once more. Raises NotFoundError for a plan that there is not, PlanError
    when nothing is left to cut or the plan was kept by a version that did not keep how, UsageError
    for a request that does not fit.
    """
    with store.read() as reader:
        plan, result, then = _answer(reader, name, settings)
        if scraps := spoilt_since(plan, cut_sources(result), request, result.project):
            scraps = {label: _of_its_lot(reader, plan, label, scrap)
                      for label, scrap in scraps.items()}  # fmt: skip
            return CutPreview(plan=plan, result=result, settings=then, request=request, cuts=(),
                              spoilt_since=scraps)  # fmt: skip
        left = _left(plan, result)
        if left and not request.again:
            return _of_plan(plan, result, then, request, left)
    lost = lost_pieces(plan, result)
    if not lost:
        raise PlanError(_nothing_left(plan, left))
    return _once_more(store, plan, result, then, request, lost)


def book_cut(store: Store, seen: CutPreview, settings: Settings) -> CutResult:
    """Book what was `seen`, all of it or nothing.

    Raises PlanError when the plan, or the cloth it holds, is no longer as it was seen.
    """
    with store.change("cut") as writer:
        if seen.spoilt_since:
            _refuse_changed(writer, seen)
            spoilt = spoil_cut_pieces(writer, seen.plan.name, seen.spoilt_since)
            return CutResult(preview=seen, lots=(), offcuts=(), spoilt=spoilt)
        if seen.replacements:
            _refuse_changed(writer, seen)
            now = seen
        else:
            plan, result, then = _answer(writer, seen.plan.name, settings)
            now = _of_plan(plan, result, then, seen.request, _left(plan, result))
            if _made_of(now) != _made_of(seen):
                raise _changed(seen)
        project, held = now.result.project, not now.replacements
        cuts = [new_cut(cut, now.request, project, held=held) for cut in now.cuts]
        booked = book_cuts(writer, now.plan.name, cuts)
        return CutResult(
            preview=now,
            lots=tuple(writer.ready_cut_lot(number) for number in booked.lots),
            offcuts=tuple(writer.scrap(number) for number in booked.offcuts),
            spoilt={label: writer.scrap(number) for label, number in booked.spoilt.items()},
        )


def _answer(reader: Reader, name: str, settings: Settings) -> tuple[Plan, MatchResult, Settings]:
    plan, result, then = answer_of(reader, name, settings)
    if result is None:
        msg = (
            f"{plan.name!r} was kept by another version, which did not keep how its scraps are "
            f"cut; release it (plan release {plan.name!r}) and match again"
        )
        raise PlanError(msg)
    return plan, result, then.model_copy(update={"smallest_offcut": settings.smallest_offcut})


def _of_its_lot(reader: Reader, plan: Plan, label: str, scrap: NewScrap) -> NewScrap:
    """Return the scrap that a piece is now; one cut once more is of its lot's fabric."""
    number = plan.pieces[label].ready_cut_id
    assert number is not None  # as it is cut
    lot = reader.ready_cut_lot(number)
    if lot.fabric == scrap.fabric:
        return scrap
    return NewScrap(
        outline=scrap.outline, uncertainty=scrap.uncertainty, note=scrap.note,
        from_project=scrap.from_project, fabric=lot.fabric, family=lot.family, value=lot.value,
    )  # fmt: skip


def _left(plan: Plan, result: MatchResult) -> list[CutSource]:
    """Return what of a plan nothing was booked of yet."""
    return [one for one in cut_sources(result) if not set(one.labels) & plan.pieces.keys()]


def _of_plan(
    plan: Plan,
    result: MatchResult,
    settings: Settings,
    request: CutRequest,
    left: Sequence[CutSource],
) -> CutPreview:
    if not left:
        raise PlanError(_nothing_left(plan, left))
    chosen = chosen_sources(left, request)
    return CutPreview(
        plan=plan,
        result=result,
        settings=settings,
        request=request,
        cuts=planned_cuts(chosen, request, result.project, settings.smallest_offcut),
        later=tuple(one for one in left if one not in chosen),
    )


@dataclass
class _Found:
    """Where lost pieces can be cut; no cloth is taken twice."""

    sources: list[CutSource] = field(default_factory=list)
    answers: list[MatchResult] = field(default_factory=list)
    advice: list[str] = field(default_factory=list)

    @property
    def taken(self) -> set[tuple[type, int]]:
        return {(type(one.cloth), one.cloth.id) for one in self.sources}


def _once_more(
    store: Store,
    plan: Plan,
    result: MatchResult,
    settings: Settings,
    request: CutRequest,
    lost: Sequence[Lost],
) -> CutPreview:
    """Return where `lost` pieces are best cut once more; PlanError when nothing gives any."""
    with store.read() as reader:
        scraps = reader.scraps()
    found = _Found()
    for one in lost:
        _seek(store, result, settings, one, scraps, found)
    if not found.sources:
        raise PlanError(f"{plan.name!r}: {' '.join(found.advice)}")
    return CutPreview(
        plan=plan,
        result=result,
        settings=settings,
        request=request,
        cuts=planned_cuts(found.sources, request, result.project, settings.smallest_offcut),
        replacements=tuple(found.answers),
        advice=tuple(found.advice),
    )


def _seek(
    store: Store,
    result: MatchResult,
    settings: Settings,
    lost: Lost,
    scraps: Sequence[Scrap],
    found: _Found,
) -> None:
    """Add to `found` where lost pieces of one cloth can be cut, the best places first."""
    labels = dict(lost.labels)
    used = {cut.scrap.id for cut in result.cuts}
    to_buy = ""
    for attempt in attempts(lost, used, scraps):
        free = [number for number in attempt.scrap_ids if (Scrap, number) not in found.taken]
        if not (free or attempt.ready or attempt.yardage):
            continue
        (answer,) = match_loaded(
            store, attempt.project(result.project, labels), 1, settings=settings, why=False,
            scrap_ids=free, with_ready=attempt.ready, with_yardage=attempt.yardage,
        )  # fmt: skip
        if attempt.yardage and not to_buy:
            to_buy = several([buy_text(one, settings.units) for one in answer.shortages if one.buy])
            cloth = f"cloth for {lost.role.name}"
            if lost.fabric is not None:
                alone = lost.role.same_fabric_sets is not None
                cloth = lost.fabric if alone else f"{lost.fabric}, or other {cloth}"
            to_buy = to_buy and f"Buy {to_buy} of {cloth}."
        sources = [
            one
            for one in replacement_sources(answer)
            if (type(one.cloth), one.cloth.id) not in found.taken
        ]
        if sources:
            found.sources += sources
            found.answers.append(answer)
        given = covered_labels(sources)
        labels = {name: tuple(one for one in some if one not in given)
                  for name, some in labels.items()}  # fmt: skip
        if not any(labels.values()):
            return
    missing = ", ".join(label for some in labels.values() for label in some)
    if found.sources:
        to_buy = f"Offcuts of these cuts may: book them, and seek again. If they do not: {to_buy}"
    found.advice.append(f"nothing you have gives {missing}. {to_buy}".rstrip())


def _refuse_changed(reader: Writer, seen: CutPreview) -> None:
    """Raise PlanError when a replacement's cloth, or the plan, is no longer as it was seen."""
    find = {Scrap: reader.scrap, ReadyCut: reader.ready_cut_lot, Yardage: reader.yardage_length}
    plan, _, _ = answer_of(reader, seen.plan.name, seen.settings)
    now = [find[type(cut.source.cloth)](cut.source.cloth.id) for cut in seen.cuts]
    if plan.pieces != seen.plan.pieces or now != [cut.source.cloth for cut in seen.cuts]:
        raise _changed(seen)


def _changed(seen: CutPreview) -> PlanError:
    return PlanError(
        f"{seen.plan.name!r} or its cloth was changed or cut meanwhile; nothing was booked. Look "
        f"at it again: cut {seen.plan.name!r}"
    )


def _nothing_left(plan: Plan, left: Sequence[CutSource]) -> str:
    if left:
        return f"no piece of {plan.name!r} was spoilt or left uncut, so none is cut once more"
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
            type(cut.source.cloth),
            cut.source.cloth.id,
            cut.source.labels,
            [(one.letter, one.kept, one.scrap.outline.wkb) for one in cut.offcuts],
        )
        for cut in preview.cuts
    ]
