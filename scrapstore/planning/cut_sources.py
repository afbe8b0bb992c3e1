"""What of a plan is cut in one go, and what each part of it then is in the store."""

import math
from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace
from typing import Any, Final

import shapely
from shapely import LineString, MultiLineString, Polygon

from scrapstore.planning.after_cutting import AfterCutting
from scrapstore.planning.allocate import OnHand
from scrapstore.planning.result import MatchResult, ReadyUse
from scrapstore.planning.strip_cuts import StripCuttings, strip_cuttings
from scrapstore.projects import PieceNeed, Project
from scrapstore.shapes import CuttingPlan
from scrapstore.store import NewReadyCut, NewScrap, ReadyCut, Scrap, Yardage

__all__ = ["CutSource", "cut_sources", "offcut_of", "ready_lots", "spare_pieces", "spoilt_scrap"]

_ON_EDGE: Final = 1e-6  # inches
_SHORTEST: Final = 1e-4  # inches of an old edge
_FINE: Final = 9  # decimals of an inch
_NO_FLAW: Final = 1e-6  # square inches
_ACROSS_DEG, _ALONG_DEG = 90.0, 0.0
"""The lengthwise grain of a strip that lies level, cut across or along the length."""


@dataclass(frozen=True)
class CutSource:
    """A scrap, a strip across a length, or all strips along one, with how it is cut.

    `inches` is what is taken off the `length`. `rest` is what is left beside strips along the
    grain, as it lies beyond the last of them. Or `ready`: pieces that are cut up into others, or
    taken as they are for the pieces with these `ready_labels`.
    """

    plans: tuple[CuttingPlan, ...] = ()
    scrap: Scrap | None = None
    length: Yardage | None = None
    inches: float = 0.0
    along_grain: bool = False
    rest: Polygon | None = None
    ready: ReadyUse | None = None
    ready_labels: tuple[str, ...] = ()

    @property
    def labels(self) -> tuple[str, ...]:
        """The labels of its pieces."""
        own = tuple(piece.label for plan in self.plans for piece in plan.pieces)
        return own or self.ready_labels

    @property
    def largest(self) -> float:
        """The area of its largest piece, square inches."""
        areas = [piece.outline.area for plan in self.plans for piece in plan.pieces]
        return max(areas, default=0.0)

    @property
    def cloth(self) -> Scrap | Yardage | ReadyCut:
        """The scrap, the length, or the lot."""
        lot = self.ready.lot if self.ready else None
        found = self.scrap or self.length or lot
        assert found is not None
        return found


def cut_sources(result: MatchResult) -> tuple[CutSource, ...]:
    """Return all that an answer cuts of the store: scraps, ready-cut pieces, strips of lengths.

    The first strip of a length takes the inches with it that square up its end. Pieces that are
    cut from ready-cut ones have one label together.
    """
    sources = [CutSource((cut.cutting,), scrap=cut.scrap) for cut in result.cuts]
    sources += [
        CutSource(ready=use, ready_labels=(f"{use.need}, ready {number}",))
        for number, use in enumerate(result.ready, start=1)
        if use.parts > 1
    ]
    straightened: set[int] = set()
    for shortage, cuttings in zip(result.shortages, strip_cuttings(result), strict=True):
        for hand, plans in zip(shortage.on_hand, cuttings.on_hand, strict=True):
            found = _of_length(hand, plans)
            if found and hand.yardage.id not in straightened:
                straightened.add(hand.yardage.id)
                found[0] = replace(found[0], inches=found[0].inches + hand.straightening)
            sources += found
    return tuple(sources)


def _of_length(hand: OnHand, plans: tuple[StripCuttings, ...]) -> list[CutSource]:
    strips = [
        (strip.width, cutting)
        for strip, alike in zip(hand.plan.strips, plans, strict=True)
        for cutting in alike
    ]
    if not hand.plan.along_grain:
        return [
            CutSource((cutting,), length=hand.yardage, inches=width) for width, cutting in strips
        ]
    # They lie side by side on a piece that is first cut off the length.
    beside = hand.plan.usable_width - math.fsum(width for width, _ in strips)
    rest = shapely.box(0, 0, hand.plan.length, beside) if beside > _ON_EDGE else None
    cuttings = tuple(cutting for _, cutting in strips)
    return [CutSource(cuttings, length=hand.yardage, inches=hand.plan.length, along_grain=True,
                      rest=rest)]  # fmt: skip


def ready_lots(
    project: Project, source: CutSource, after: Iterable[AfterCutting]
) -> tuple[tuple[NewReadyCut, tuple[str, ...]], ...]:
    """Return the pieces that were cut as lots of ready-cut pieces, each with its labels."""
    labels: defaultdict[str, list[str]] = defaultdict(list)
    for piece in (piece for one in after for piece in one.pieces):
        labels[piece.name].append(piece.label)
    counts = {name: len(some) for name, some in labels.items()}
    if source.ready is not None:
        labels[source.ready.need] += source.ready_labels
        counts[source.ready.need] = source.ready.count
    return tuple(
        (_pieces(project, need, counts[need.name], source), tuple(labels[need.name]))
        for need in project.pieces
        if need.name in counts
    )


def spare_pieces(project: Project, source: CutSource) -> tuple[NewReadyCut, ...]:
    """Return the pieces that cutting up ready-cut ones gives beyond those that are asked for."""
    use = source.ready
    spare = 0 if use is None else use.taken * use.parts - use.count
    return tuple(
        _pieces(project, need, spare, source)
        for need in project.pieces
        if use is not None and spare and need.name == use.need
    )


def _pieces(project: Project, need: PieceNeed, count: int, source: CutSource) -> NewReadyCut:
    return NewReadyCut(
        kind=need.shape.kind, label=need.shape.label, measures=dict(need.shape.measures),
        cut=need.cut, count=count, seam_allowance=project.seam_allowance, **_colour(source),
    )  # fmt: skip


def offcut_of(
    source: CutSource,
    plan: CuttingPlan | None,
    outline: Polygon,
    project: str,
    *,
    typed: bool = False,
) -> NewScrap:
    """Return the scrap that a part of `source` is, its `outline` in the frame of `plan`.

    It has what its parent has: fabric, place, colours, photo. Its outline lies where it lay in the
    parent, so that the parent's picture is its picture too; one that was `typed` does not. The
    parent's margin is kept from the parent's edge alone, not from fresh ones. `plan` None stands
    for the rest beside strips.
    """
    scrap = source.scrap
    if scrap is None:
        grain = _ALONG_DEG if source.along_grain else _ACROSS_DEG
        return NewScrap(
            outline=_fine(outline), grain_deg=grain, from_project=project,
            place=source.cloth.place, **_colour(source),
        )  # fmt: skip
    assert plan is not None
    own = outline if typed else _fine(plan.frame.in_cloth(outline))
    edges = None if typed else _old_edges(own, scrap)
    fresh = edges is not None and edges.is_empty
    grain_deg = scrap.grain_deg
    if typed and grain_deg is not None:
        grain_deg = 0.0  # in the drawing it lies level
    return NewScrap(
        outline=own,
        flaws=() if typed else _flaws_in(own, scrap.flaws),
        grain_deg=grain_deg,
        margin=0.0 if fresh else scrap.margin,
        uncertainty=0.0 if fresh else scrap.uncertainty,
        old_edges=None if fresh else edges,
        name=scrap.name,
        from_project=scrap.from_project or project,
        photo=scrap.photo,
        cut_out=None if typed else scrap.cut_out,
        swatches=scrap.swatches,
        accents=scrap.accents,
        corrected=scrap.corrected,
        parent_id=scrap.id,
        place=scrap.place,
        **_colour(source),
    )


def spoilt_scrap(
    source: CutSource,
    plan: CuttingPlan,
    outline: Polygon,
    label: str,
    project: Project,
    *,
    measured: bool,
) -> NewScrap:
    """Return the scrap that a spoilt piece is.

    Where nobody said by how much it is short (not `measured`), its outline may be off by a seam
    allowance.
    """
    made = offcut_of(source, plan, outline, project.name)
    unsure = made.uncertainty if measured else max(made.uncertainty, project.seam_allowance)
    note = f"spoilt: {label} of {project.name}" + ("" if measured else "; measure it")
    return replace(made, uncertainty=unsure, note=note)


def _colour(source: CutSource) -> dict[str, Any]:
    """Return what pieces and offcuts have from their cloth."""
    cloth = source.cloth
    if isinstance(cloth, Yardage):
        return {"fabric": cloth.fabric}
    return {"fabric": cloth.fabric, "family": cloth.family, "value": cloth.value}


def _fine(shape: Polygon) -> Polygon:
    """Return the shape without the noise of rotations, where that leaves it whole."""
    plain: Polygon = shapely.transform(shape, lambda at: at.round(_FINE) + 0.0)
    return plain if plain.is_valid and not plain.is_empty else shape


def _old_edges(part: Polygon, whole: Scrap) -> MultiLineString:
    """Return what of the edge of `part` is old edge of `whole`; empty where nothing is."""
    old = whole.outline.boundary if whole.old_edges is None else whole.old_edges
    found = shapely.get_parts(part.boundary.intersection(old.buffer(_ON_EDGE)))
    merged = shapely.get_parts(shapely.line_merge(shapely.multilinestrings(
        [one for one in found.tolist() if isinstance(one, LineString)]
    )))  # fmt: skip
    # Where a fresh edge ends on an old one they run together for a hair's breadth.
    return MultiLineString([one for one in merged.tolist() if one.length > _SHORTEST])


def _flaws_in(part: Polygon, flaws: Collection[Polygon]) -> tuple[Polygon, ...]:
    return tuple(
        one
        for flaw in flaws
        for one in shapely.get_parts(flaw.intersection(part)).tolist()
        if isinstance(one, Polygon) and one.area > _NO_FLAW
    )
