"""``match``: what a project can be cut from, what stays short, and what to buy for it."""

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Required, TypedDict, Unpack

from shapely import MultiPolygon, Polygon, affinity

from scrapstore.actions.project import read_project_file
from scrapstore.errors import NotFoundError, PlanError
from scrapstore.matching import (
    DEFAULT_AIMS,
    EFFORT,
    Aim,
    Answer,
    Change,
    LayAll,
    Need,
    Progress,
    ReadyStock,
    RoleRule,
    ScrapStock,
    faults,
    helpful_changes,
    kind_on,
    lay_all,
    match_answers,
    nearest_misses,
    pieced_from_two,
)
from scrapstore.near_words import did_you_mean
from scrapstore.packing import Layout, Placement, Planned, usable_region, verify
from scrapstore.planning.allocate import NO_NAME, Shortage, inches_to_buy, share_out
from scrapstore.planning.cuttable_regions import scrap_stock
from scrapstore.planning.matching_inputs import piece_need, ready_stock, role_rule
from scrapstore.planning.result import MatchResult, ReadyUse, ScrapCut
from scrapstore.planning.scrap_cuts import MapAll, answer_with_cuts, cutting_plan
from scrapstore.projects import Project
from scrapstore.settings import Settings
from scrapstore.shapes import CuttingPlan, cut_shape, labelled, piece_letters, precuts
from scrapstore.store import CuttableScrap, Reader, ReadyCut, Scrap, StockFilter, Store, Yardage
from scrapstore.yardage import StripPiece

__all__ = ["match_project", "project_answers"]

_NO_FIBRES = "none says its fibre yet: fabric edit NAME --fibre cotton"


class Options(TypedDict, total=False):
    """What `project_answers` may be given besides the store and the project."""

    settings: Required[Settings]
    seed: int
    aims: Sequence[Aim]
    effort: float
    prove: float
    stopping: Callable[[], None] | None
    why: bool
    lay_all: LayAll
    map_all: MapAll
    progress: Progress | None


def match_project(store: Store, project_file: Path, **options: Unpack[Options]) -> MatchResult:
    """Return the best answer for one project; see `project_answers`."""
    (result,) = project_answers(store, project_file, 1, **options)
    return result


def _as_stored(reader: Reader, project: Project) -> tuple[Project, tuple[str, ...]]:
    """Return the project with its named fabrics spelled as in the store, and which are unknown.

    One that the store does not know may be yet to buy, or misspelt: that is for the user to see.
    So are fibres that no fabric of the store is of.
    """
    roles, unknown = {}, []
    fibres = {one.fibre.strip().lower(): one.fibre for one in reader.fabrics() if one.fibre}
    for name, role in project.roles.items():
        fabrics = []
        for fabric in role.fabrics:
            try:
                fabrics.append(reader.fabric(fabric).name)
            except NotFoundError as error:
                fabrics.append(fabric)
                unknown.append(f"{name}: {error}")
        unknown += [
            f"{name}: no fabric here is of {fibre}; "
            + (did_you_mean(fibre, fibres.values()) if fibres else _NO_FIBRES)
            for fibre in role.fibres
            if fibre.strip().lower() not in fibres
        ]
        roles[name] = replace(role, fabrics=tuple(fabrics))
    return replace(project, roles=roles), tuple(unknown)


def project_answers(
    store: Store,
    project_file: Path,
    answers: int,
    *,
    settings: Settings,
    seed: int = 0,
    aims: Sequence[Aim] = DEFAULT_AIMS,
    effort: float = EFFORT,
    prove: float = 0.0,
    stopping: Callable[[], None] | None = None,
    why: bool = True,
    lay_all: LayAll = lay_all,
    map_all: MapAll = map,
    progress: Progress | None = None,
) -> tuple[MatchResult, ...]:
    """Match one project against everything that is available in the store.

    Up to `answers` clearly different answers are given, the best first.

    `effort` is work, in seconds of one core, that goes into covering what is short, and `prove`
    such work for each scrap into proving how much could be covered. With `stopping`, an interrupt
    while plans are looked for is not raised but takes the best so far, after that was called. With
    `why`, what stays short in the best answer is explained: near misses, and single changes that
    would help.

    Raises ProjectError for a project file that cannot be used and PlanError, before anybody sees
    the plan, if a second opinion finds a fault in it.
    """
    project = read_project_file(project_file, settings)
    with store.read() as reader:
        offered = reader.cuttable_scraps()
        lots = reader.ready_cut()
        lengths = reader.yardage()
        fabrics = reader.fabrics()
        project, unknown = _as_stored(reader, project)
    widths = {one.name: one.usable_width for one in fabrics if one.usable_width is not None}
    stock = scrap_stock(offered)
    ready = [ready_stock(lot) for lot in lots]
    needs = [piece_need(piece, project.seam_allowance) for piece in project.pieces]
    roles = {name: role_rule(project, name) for name in project.roles}
    found = match_answers(
        stock,
        ready,
        needs,
        roles,
        answers,
        aims=aims,
        effort=effort,
        prove=prove,
        stoppable=stopping is not None,
        seed=seed,
        lay_all=lay_all,
        progress=progress,
        to_buy=lambda short: inches_to_buy(
            _share_out(project, short, roles, {}, lengths, widths, settings)
        ),
    )
    if found[0].stopped and stopping is not None:
        stopping()
    used = tuple({use.scrap_id for answer in found for use in answer.scrap_uses})
    with store.read() as reader:
        scraps = reader.scraps(StockFilter(ids=used, statuses=())) if used else ()
        _refuse_changed(offered, reader.cuttable_scraps(used))
    by_id = {scrap.id: scrap for scrap in scraps}
    offers = {one.id: one for one in stock}
    step = settings.mark
    found, planned = zip(
        *(answer_with_cuts(answer, offers, by_id, needs, step, map_all) for answer in found),
        strict=True,
    )
    for answer in found:
        _second_opinion(answer, stock, ready, needs, roles)
    best = found[0]
    misses = nearest_misses(best, stock, needs, roles, ready=ready) if why else ()
    allowance = project.seam_allowance
    pieced = pieced_from_two(best, stock, needs, roles, allowance, ready=ready) if why else ()
    # Who has interrupted does not want to wait for trials of changes.
    tried = why and not best.stopped
    changes: tuple[Change, ...] = ()
    if tried:
        changes = helpful_changes(
            best, stock, needs, roles, ready=ready, lay_all=lay_all,
            fat_quarters={
                name: _fat_quarter(_width_to_buy(project, name, widths), settings) for name in roles
            },
        )  # fmt: skip

    lot_of = {lot.id: lot for lot in lots}
    taken = [
        (
            answer,
            tuple(
                ReadyUse(lot_of[lot_id], need, count, answer.ready_parts.get((lot_id, need), 1))
                for (lot_id, need), count in answer.ready_uses.items()
            ),
            _cuts(project, answer, plans, by_id, step),
        )
        for answer, plans in zip(found, planned, strict=True)
    ]
    short = [
        _shortages(project, answer, roles, (ready_uses, cuts), lengths, widths, settings)
        for answer, ready_uses, cuts in taken
    ]
    not_kept = [
        _unmet(answer, shortages) for (answer, _, _), shortages in zip(taken, short, strict=True)
    ]
    return tuple(
        MatchResult(
            project=project,
            supplies=answer.supplies,
            ready=ready_uses,
            cuts=cuts,
            shortages=shortages,
            notes=(*unknown, *unmet),
            unmet=unmet,
            scraps_in_store=len(offered),
            scraps_looked_at=answer.scraps_looked_at,
            seed=seed,
            together=answer.together,
            misses=misses if answer is best else (),
            changes=changes if answer is best else (),
            pieced=pieced if answer is best else (),
            choice_proven=answer.choice_proven,
            stopped=answer.stopped,
            best_covered=best.together.covered,
        )
        for (answer, ready_uses, cuts), shortages, unmet in zip(taken, short, not_kept, strict=True)
    )


def _unmet(answer: Answer, shortages: Sequence[Shortage]) -> tuple[str, ...]:
    """Return what the whole plan does not keep: where yardage has its part, it has been asked."""
    asked = tuple(f"{shortage.role}: " for shortage in shortages)
    kept = [sentence for sentence in answer.unmet if not sentence.startswith(asked)]
    return (*kept, *(sentence for shortage in shortages for sentence in shortage.unmet))


def _refuse_changed(read: Sequence[CuttableScrap], now: Sequence[CuttableScrap]) -> None:
    """Raise PlanError when a scrap that is used is not as it was `read` before the match."""
    before = {scrap.id: scrap for scrap in read}
    for scrap in now:
        if scrap != before[scrap.id]:
            raise PlanError(f"scrap {scrap.id} was changed while the match ran; match again")


def own_region(scrap: Scrap) -> MultiPolygon:
    """Return what may be cut of a scrap, in its own inches."""
    return usable_region(scrap.outline, scrap.flaws, scrap.margin + scrap.uncertainty)


def _second_opinion(
    answer: Answer,
    stock: Sequence[ScrapStock],
    ready: Sequence[ReadyStock],
    needs: Sequence[Need],
    roles: dict[str, RoleRule],
) -> None:
    """Raise PlanError unless every count, condition and drawn piece stands up to checking."""
    wrong = faults(answer, stock, ready, needs, roles)
    by_id = {scrap.id: scrap for scrap in stock}
    for use in answer.scrap_uses:
        scrap = by_id[use.scrap_id]
        kinds = [kind for need in needs if (kind := kind_on(need, scrap)) is not None]
        value = sum(placement.outline.area for placement in use.placements)
        layout = Layout(use.placements, value, float("inf"))
        wrong += [f"scrap {scrap.id}: {fault}" for fault in verify(scrap.region, kinds, layout)]
    if wrong:
        msg = (
            "the plan did not stand up to its check and is not shown ("
            + "; ".join(wrong[:3])
            + "); please report this with the project file"
        )
        raise PlanError(msg)


def _cuts(
    project: Project,
    answer: Answer,
    plans: Mapping[int, Planned],
    scraps: Mapping[int, Scrap],
    step: float,
) -> tuple[ScrapCut, ...]:
    """Return how each scrap is cut; labels run on from scrap to scrap."""
    letters = piece_letters([piece.name for piece in project.pieces])
    counts: Counter[str] = Counter()
    cuts = []
    for use in answer.scrap_uses:
        scrap = scraps[use.scrap_id]
        cutting = labelled(cutting_plan(scrap, plans[use.scrap_id], step), letters, counts)
        cuts.append(_cut(scrap, use.placements, cutting))
    return tuple(cuts)


def _cut(scrap: Scrap, placements: Sequence[Placement], cutting: CuttingPlan) -> ScrapCut:
    """Turn placements back from the grain frame into the scrap's own."""
    turn = scrap.grain_deg or 0.0
    return ScrapCut(
        scrap=scrap,
        region=own_region(scrap),
        placements=tuple(
            Placement(p.kind, affinity.rotate(p.outline, turn, origin=(0, 0)),
                      (p.rotation_deg + turn) % 360, p.mirrored)
            for p in placements
        ),
        grain_assumed=scrap.grain_deg is None,
        cutting=cutting,
    )  # fmt: skip


def _shortages(
    project: Project,
    answer: Answer,
    roles: dict[str, RoleRule],
    taken: tuple[Sequence[ReadyUse], Sequence[ScrapCut]],
    lengths: Sequence[Yardage],
    widths: Mapping[str, float],
    settings: Settings,
) -> tuple[Shortage, ...]:
    """Return what each role wants from yardage, after the ready-cut pieces and scraps `taken`."""
    short = {supply.need: supply.short for supply in answer.supplies}
    used = _pieces_of_fabrics(project, *taken)
    return _share_out(project, short, roles, used, lengths, widths, settings)


def _share_out(
    project: Project,
    short: Mapping[str, int],
    roles: dict[str, RoleRule],
    used_fabrics: Mapping[str, Counter[str]],
    lengths: Sequence[Yardage],
    widths: Mapping[str, float],
    settings: Settings,
) -> tuple[Shortage, ...]:
    """Return what each role wants from yardage where so many pieces are `short`."""
    return share_out(
        _short_pieces(project, short),
        roles,
        lengths,
        {name: _width_to_buy(project, name, widths) for name in roles},
        {name: used_fabrics.get(name, Counter()) for name in roles},
        usual_width=settings.usable_width,
        step=settings.mark,
        units=settings.units,
        one_way=frozenset(piece.role for piece in project.pieces if piece.one_way),
    )


def _short_pieces(project: Project, short: Mapping[str, int]) -> tuple[StripPiece, ...]:
    """Return what neither scraps nor ready-cut pieces give."""
    return tuple(
        StripPiece(
            name=piece.name,
            cut=piece.cut,
            count=short[piece.name],
            rotations_deg=piece.rotations_deg,
            role=piece.role,
            blank=cut_shape(piece.shape, project.seam_allowance)
            if piece.tips != "pointed"
            else None,
        )
        for piece in project.pieces
        if short[piece.name]
    )


def _pieces_of_fabrics(
    project: Project, ready: Sequence[ReadyUse], cuts: Sequence[ScrapCut]
) -> dict[str, Counter[str]]:
    """Return for each role how many of its pieces the plan takes from each fabric."""
    role_of = {piece.name: piece.role for piece in project.pieces}
    found: dict[str, Counter[str]] = {name: Counter() for name in project.roles}
    for use in ready:
        found[role_of[use.need]][_cloth_name(use.lot)] += use.count
    for cut in cuts:
        for need, count in cut.counts.items():
            found[role_of[need]][_cloth_name(cut.scrap)] += count
    return found


def _cloth_name(thing: Scrap | ReadyCut) -> str:
    """Return the name of a thing's fabric; cloth without one is a fabric of its own."""
    return thing.fabric.name if thing.fabric else f"{NO_NAME}{type(thing).__name__} {thing.id}"


def _fat_quarter(usable_width: float, settings: Settings) -> Polygon:
    """Return what can be used of a fat quarter bought, its lengthwise grain at 0°."""
    bought = precuts(usable_width, settings.precut_straightening)["fat quarter"]
    return affinity.rotate(bought.outline, -(bought.grain_deg or 0.0), origin=(0, 0))


def _width_to_buy(project: Project, role: str, widths: Mapping[str, float]) -> float:
    """Return the usable width that a length to buy is planned on.

    Where the role names its fabrics, the narrowest of them decides: whichever is bought, the
    length must be enough. A named fabric of unknown width counts with the project's width.
    """
    named = project.roles[role].fabrics
    return min((widths.get(name, project.usable_width) for name in named),
               default=project.usable_width)  # fmt: skip
