"""What was cut of a plan, as it really went, and what comes of it."""

import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import count
from typing import Final

import numpy as np
import shapely
from shapely import Polygon

from scrapstore.errors import UsageError
from scrapstore.planning.after_cutting import AfterCutting, Spoilt, after_cutting, pieces_of
from scrapstore.planning.cut_sources import (
    CutSource,
    offcut_of,
    ready_lots,
    spare_pieces,
    spoilt_scrap,
)
from scrapstore.projects import Project
from scrapstore.shapes import CutPiece, CuttingPlan
from scrapstore.shapes.typed_outlines import TypedOutline
from scrapstore.store import NewCut, NewScrap, Plan
from scrapstore.units import Units, format_size

__all__ = [
    "CutRequest",
    "Offcut",
    "PlannedCut",
    "chosen_sources",
    "new_cut",
    "planned_cuts",
    "spoilt_since",
]

_LETTERS: Final = 26
_SLACK: Final = 1 / 8
"""Inches by which cloth may be larger all round than the store says, beside its uncertainty."""


@dataclass(frozen=True, kw_only=True)
class CutRequest:
    """What was cut: all that is left of the plan, or what is named.

    `strips` are labels of pieces on strips. `spoilt` and `not_cut` go by label. Of the offcuts,
    which go by letter, `leave_out` are not to be kept, and `typed` have the outline given here.
    `again`: not what is left of the plan, but pieces that were spoilt or not cut. Errors name
    lengths in `units`.
    """

    scraps: Collection[int] = ()
    lengths: Collection[int] = ()
    strips: Collection[str] = ()
    spoilt: Mapping[str, Spoilt] = field(default_factory=dict)
    not_cut: Collection[str] = ()
    leave_out: Collection[str] = ()
    typed: Mapping[str, TypedOutline] = field(default_factory=dict)
    again: bool = False
    units: Units = "in"


@dataclass(frozen=True, kw_only=True)
class Offcut:
    """A part of the cloth that goes back into the store, unless it is not `kept`.

    `outline` lies in the frame of the drawing of `plan`; None is the rest beside strips. `typed` is
    what it is like according to the user.
    """

    letter: str
    plan: CuttingPlan | None
    outline: Polygon
    scrap: NewScrap
    kept: bool = True
    typed: Polygon | None = None

    @property
    def size(self) -> tuple[float, float]:
        """Width and height as it lies in the drawing, or as typed; inches."""
        left, bottom, right, top = (self.typed or self.outline).bounds
        return right - left, top - bottom


@dataclass(frozen=True, kw_only=True)
class PlannedCut:
    """What will be booked of one source: what each of its plans leaves, and the offcuts."""

    source: CutSource
    after: tuple[AfterCutting, ...]
    offcuts: tuple[Offcut, ...]

    @property
    def untouched(self) -> bool:
        """Whether none of its pieces was cut: then the cloth lies there as it was."""
        return _untouched(self.source, self.after)

    @property
    def waste_area(self) -> float:
        """Square inches that do not go back into the store."""
        left_out = sum(one.outline.area for one in self.offcuts if not one.kept)
        return sum(one.waste_area for one in self.after) + left_out


def chosen_sources(sources: Sequence[CutSource], request: CutRequest) -> tuple[CutSource, ...]:
    """Return those of `sources`, which are still to be cut, that the request names; else all.

    Raises UsageError for what is not among them.
    """
    pieces_of([plan for one in sources for plan in one.plans], request.strips)
    strips = {label.casefold() for label in request.strips}
    if not (request.scraps or request.lengths or strips):
        return tuple(sources)
    there = {one.scrap.id for one in sources if one.scrap}
    lengths = {one.length.id for one in sources if one.length}
    for what, named, known in (
        ("scrap", request.scraps, there),
        ("length", request.lengths, lengths),
    ):
        for number in named:
            if number not in known:
                shown = ", ".join(map(str, sorted(known))) or "none"
                msg = f"{what} {number} is not still to be cut for this plan; of {what}s: {shown}"
                raise UsageError(msg)
    return tuple(
        one
        for one in sources
        if (one.scrap and one.scrap.id in request.scraps)
        or (one.length and one.length.id in request.lengths)
        or strips & {label.casefold() for label in one.labels}
    )


def planned_cuts(
    sources: Sequence[CutSource],
    request: CutRequest,
    project: Project,
    smallest: float,
) -> tuple[PlannedCut, ...]:
    """Return what comes of `sources`; offcuts are lettered on from one to the next.

    Offcuts less than `smallest` inches wide are waste. Raises UsageError for labels and letters
    that there are not, and for typed offcuts that their cloth cannot have left.
    """
    plans = [plan for source in sources for plan in source.plans]
    spoilt = {
        piece.label: request.spoilt[label]
        for label in request.spoilt
        for piece in pieces_of(plans, [label]).values()
    }
    not_cut = set(pieces_of(plans, request.not_cut))
    if both := sorted(not_cut & spoilt.keys()):
        raise UsageError(f"{both[0]} cannot be both spoilt and not cut; say one of the two")
    letters = map(_letter, count())
    cuts = []
    for source in sources:
        flaws = source.scrap.flaws if source.scrap else ()
        after = tuple(
            after_cutting(
                plan,
                smallest=smallest,
                spoilt=spoilt,
                not_cut=not_cut,
                flaws=[plan.frame.drawn(flaw) for flaw in flaws],
                units=request.units,
            )
            for plan in source.plans
        )
        if _untouched(source, after):
            whole = tuple(replace(one, offcuts=(), waste=()) for one in after)
            cuts.append(PlannedCut(source=source, after=whole, offcuts=()))
            continue
        parts: list[tuple[CuttingPlan | None, Polygon]] = [
            (plan, part)
            for plan, one in zip(source.plans, after, strict=True)
            for part in one.offcuts
        ]
        parts += [(None, source.rest)] if source.rest is not None else []
        offcuts = tuple(
            Offcut(
                letter=next(letters),
                plan=plan,
                outline=part,
                scrap=offcut_of(source, plan, part, project.name),
            )
            for plan, part in parts
        )
        cuts.append(PlannedCut(source=source, after=after, offcuts=offcuts))
    amended = _amended(cuts, request, project)
    for cut in amended:
        _refuse_too_large(cut, request.units)
    return amended


def _untouched(source: CutSource, after: Sequence[AfterCutting]) -> bool:
    return bool(source.plans) and not any(one.pieces or one.spoilt for one in after)


def _amended(
    cuts: Sequence[PlannedCut], request: CutRequest, project: Project
) -> tuple[PlannedCut, ...]:
    """Return the cuts with those offcuts left out or changed that the request names."""
    leave_out = {letter.strip().lower() for letter in request.leave_out}
    typed = {letter.strip().lower(): outline for letter, outline in request.typed.items()}
    known = [one.letter for cut in cuts for one in cut.offcuts]
    for letter in (*leave_out, *typed):
        if letter not in known:
            there = ", ".join(known) or "none"
            raise UsageError(f"no offcut is called {letter!r}; there are {there}")

    def amended(cut: PlannedCut, one: Offcut) -> Offcut:
        if one.letter in typed:
            outline = typed[one.letter].outline
            scrap = offcut_of(cut.source, one.plan, outline, project.name, typed=True)
            one = replace(one, scrap=scrap, typed=outline)
        return replace(one, kept=one.letter not in leave_out)

    return tuple(
        replace(cut, offcuts=tuple(amended(cut, one) for one in cut.offcuts)) for cut in cuts
    )


def _refuse_too_large(cut: PlannedCut, units: Units) -> None:
    """Raise UsageError for a typed offcut longer than its cloth, or larger than what is left."""
    scrap = cut.source.scrap
    slack = _SLACK + (scrap.uncertainty if scrap else 0.0)
    for one in cut.offcuts:
        if one.typed is None or not one.kept:
            continue
        if one.plan is None:
            cloth, taken = one.outline, 0.0
        else:
            after = cut.after[cut.source.plans.index(one.plan)]
            cloth = one.plan.outline
            gone = [*(piece.outline for piece in after.pieces), *after.spoilt.values()]
            taken = math.fsum(part.area for part in gone)
        room = cloth.buffer(slack, join_style="mitre")
        beside = [other for other in cut.offcuts if other.kept and other.plan is one.plan]
        together = math.fsum((other.typed or other.outline).area for other in beside)
        if _longest(one.typed) > _longest(room) or together > room.area - taken:
            size = format_size(*one.size, units)
            left, bottom, right, top = cloth.bounds
            msg = (
                f"offcut {one.letter}: {size} cannot be left of {_cloth_words(cut.source)}, which "
                f"was {format_size(right - left, top - bottom, units)} as drawn, beside what was "
                "cut of it; measure it again"
            )
            raise UsageError(msg)


def _longest(shape: Polygon) -> float:
    """Return the greatest distance between two points of a shape."""
    corners = shapely.get_coordinates(shape.convex_hull)
    return float(np.linalg.norm(corners[:, None] - corners, axis=2).max())


def _cloth_words(source: CutSource) -> str:
    if source.scrap is not None:
        return f"scrap {source.scrap.id}"
    return f"a strip of length {source.cloth.id}"


def spoilt_since(
    plan: Plan, sources: Sequence[CutSource], request: CutRequest, project: Project
) -> dict[str, NewScrap]:
    """Return the scraps that pieces become which the request calls spoilt and `plan` calls cut.

    Raises UsageError when the request says more than that.
    """
    said = {label.casefold(): one for label, one in request.spoilt.items()}
    booked = {piece.label: piece for piece in plan.pieces.values() if piece.state == "cut"}
    found: dict[str, NewScrap] = {}
    for source, drawn, piece in _drawn_pieces(sources):
        label = piece.label
        if label in booked and label.casefold() in said:
            spoilt = said[label.casefold()]
            after = after_cutting(drawn, smallest=0.0, spoilt={label: spoilt}, units=request.units)
            found[label] = spoilt_scrap(
                source, drawn, after.spoilt[label], label, project,
                measured=spoilt.short is not None,
            )  # fmt: skip
    more = (request.scraps, request.lengths, request.strips, request.not_cut, request.leave_out,
            request.typed)  # fmt: skip
    if found and (len(found) < len(said) or any(more)):
        shown = ", ".join(found)
        msg = f"{shown} is booked as cut already; say in a call of its own that it was spoilt since"
        raise UsageError(msg)
    return found


def _drawn_pieces(
    sources: Sequence[CutSource],
) -> Iterator[tuple[CutSource, CuttingPlan, CutPiece]]:
    for source in sources:
        for drawn in source.plans:
            for piece in drawn.pieces:
                yield source, drawn, piece


def new_cut(cut: PlannedCut, request: CutRequest, project: Project, *, held: bool) -> NewCut:
    """Return what is to be booked of one source; `held` as in `NewCut`."""
    source = cut.source
    measured = {label.casefold(): one.short is not None for label, one in request.spoilt.items()}
    return NewCut(
        scrap_id=source.scrap.id if source.scrap else None,
        yardage_id=source.length.id if source.length else None,
        inches=source.inches,
        ready_cut_id=source.ready.lot.id if source.ready else None,
        taken=source.ready.taken if source.ready else 0,
        lots=ready_lots(project, source, cut.after),
        spare=spare_pieces(project, source),
        spoilt={
            label: spoilt_scrap(
                source, plan, outline, label, project, measured=measured[label.casefold()]
            )
            for plan, after in zip(source.plans, cut.after, strict=True)
            for label, outline in after.spoilt.items()
        },
        not_cut=tuple(label for after in cut.after for label in after.not_cut),
        offcuts=tuple(one.scrap for one in cut.offcuts if one.kept),
        held=held,
        untouched=cut.untouched,
    )


def _letter(index: int) -> str:
    """Return a, b, … z, aa, ab and so on."""
    before, last = divmod(index, _LETTERS)
    return (_letter(before - 1) if before else "") + chr(ord("a") + last)
