"""``match``: what a project can be cut from, what stays short, and what to buy for it."""

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Required, TypedDict, Unpack

from scrapstore.actions.project import read_project_file
from scrapstore.errors import NotFoundError, PlanError
from scrapstore.matching import (
    DEFAULT_AIMS,
    EFFORT,
    Aim,
    Answer,
    HelpfulChange,
    Need,
    PackAll,
    Progress,
    ReadyStock,
    RoleRule,
    ScrapStock,
    faults,
    helpful_changes,
    kind_on,
    match_answers,
    nearest_misses,
    pack_all,
    pieced_from_two,
)
from scrapstore.near_words import did_you_mean
from scrapstore.packing import Layout, verify
from scrapstore.planning.allocate import inches_to_buy
from scrapstore.planning.cuttable_regions import scrap_stock
from scrapstore.planning.matching_inputs import piece_need, ready_stock, role_rule
from scrapstore.planning.places import place_pieces
from scrapstore.planning.result import MatchResult, ReadyUse, ScrapCut
from scrapstore.planning.scrap_cuts import MapAll, answer_with_cuts, cut_scraps
from scrapstore.planning.scrappy_fill import fill_notes
from scrapstore.planning.shortages import YardageOffer, pieces_of_fabrics, unmet_conditions
from scrapstore.planning.spoken_for import left_after
from scrapstore.projects import Project
from scrapstore.settings import Settings
from scrapstore.store import CuttableScrap, Reader, StockFilter, Store

__all__ = ["as_stored", "match_loaded", "match_project", "project_answers"]

_ARRANGED = 1000.0  # what a piece weighs that an arrangement counts on, beside one of any cloth
_NO_FIBRES = "none says its fibre yet: fabric edit NAME --fibre cotton"
_STOPPED = (
    "The search was stopped, and pieces were left where they lay: a whole search may need fewer "
    "templates."
)


class Options(TypedDict, total=False):
    """What `match_loaded` may be given besides the store and the project."""

    settings: Required[Settings]
    seed: int
    aims: Sequence[Aim]
    effort: float
    prove: float
    stopping: Callable[[], None] | None
    why: bool
    pack_all: PackAll
    map_all: MapAll
    progress: Progress | None
    scrap_ids: Collection[int] | None
    with_ready: bool
    with_yardage: bool
    weights: Mapping[str, float]
    taken: Mapping[str, Mapping[str, int]]
    spoken_for: Sequence[MatchResult]
    nested: bool


def match_project(store: Store, project_file: Path, **options: Unpack[Options]) -> MatchResult:
    """Return the best answer for one project; see `match_loaded`."""
    (result,) = project_answers(store, project_file, 1, **options)
    return result


def project_answers(
    store: Store, project_file: Path, answers: int, **options: Unpack[Options]
) -> tuple[MatchResult, ...]:
    """Match the project in a file; see `match_loaded`.

    Raises ProjectError for a file that cannot be used.
    """
    project = read_project_file(project_file, options["settings"])
    return match_loaded(store, project, answers, **options)


def as_stored(reader: Reader, project: Project) -> tuple[Project, tuple[str, ...]]:
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
        there = (
            {s.id for s in reader.scraps(StockFilter(ids=role.scraps))} if role.scraps else set()
        )
        unknown += [
            f"{name}: scrap {number} is not there to be cut"
            for number in role.scraps
            if number not in there
        ]
        roles[name] = replace(role, fabrics=tuple(fabrics))
    return replace(project, roles=roles), tuple(unknown)


def match_loaded(
    store: Store,
    project: Project,
    answers: int,
    *,
    settings: Settings,
    seed: int = 0,
    aims: Sequence[Aim] = DEFAULT_AIMS,
    effort: float = EFFORT,
    prove: float = 0.0,
    stopping: Callable[[], None] | None = None,
    why: bool = True,
    pack_all: PackAll = pack_all,
    map_all: MapAll = map,
    progress: Progress | None = None,
    scrap_ids: Collection[int] | None = None,
    with_ready: bool = True,
    with_yardage: bool = True,
    weights: Mapping[str, float] | None = None,
    taken: Mapping[str, Mapping[str, int]] | None = None,
    spoken_for: Sequence[MatchResult] = (),
    nested: bool = False,
) -> tuple[MatchResult, ...]:
    """Match one project against everything that is available in the store.

    Up to `answers` clearly different answers are given, the best first.

    `effort` is work, in seconds of one core, that goes into covering what is short, and `prove`
    such work for each scrap into proving how much could be covered. With `stopping`, an interrupt
    while plans are looked for is not raised but takes the best so far, after that was called. With
    `why`, what stays short in the best answer is explained: near misses, and single changes that
    would help.

    With `scrap_ids` only those of these scraps are offered that are available. Without `with_ready`
    no ready-cut pieces are, and without `with_yardage` what is short is not planned from yardage:
    the answer has no shortages. `weights` are those of pieces by name (else 1; see
    `matching.Need`), and `taken` is what roles have of each fabric already (see
    `matching.RoleRule`). What the answers `spoken_for` take is not offered.
    With `nested` what is to be bought is nested freely, too, for comparison.

    Raises PlanError, before anybody sees the plan, if a second opinion finds a fault in it.
    """
    with store.read() as reader:
        offered = reader.cuttable_scraps()
        if scrap_ids is not None:
            offered = tuple(scrap for scrap in offered if scrap.id in scrap_ids)
        lots = reader.ready_cut() if with_ready else ()
        offered, lots, lengths = left_after(spoken_for, offered, lots, reader.yardage())
        fabrics = reader.fabrics()
        bags = reader.crumbs()
        project, unknown = as_stored(reader, project)
    stock = scrap_stock(offered)
    ready = [ready_stock(lot) for lot in lots]
    allowance = project.seam_allowance
    if weights is None:
        weights = dict.fromkeys(project.arranged, _ARRANGED)
    needs = [
        replace(piece_need(piece, allowance), weight=weights.get(piece.name, 1.0))
        for piece in project.pieces
    ]
    roles = {
        name: replace(role_rule(project, name), taken=(taken or {}).get(name))
        for name in project.roles
    }
    yardage = YardageOffer(project, roles, lengths, fabrics, settings)

    def to_buy(short: Mapping[str, int]) -> float:
        return inches_to_buy(yardage.shortages(short, by_length=True))

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
        pack_all=pack_all,
        progress=progress,
        to_buy=to_buy if with_yardage else None,
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
    pieced = pieced_from_two(best, stock, needs, roles, allowance, ready=ready) if why else ()
    # Who has interrupted does not want to wait for trials of changes.
    tried = why and not best.stopped
    changes: tuple[HelpfulChange, ...] = ()
    if tried:
        changes = helpful_changes(
            best, stock, needs, roles, ready=ready, pack_all=pack_all,
            fat_quarters={name: yardage.fat_quarter(name) for name in roles},
        )  # fmt: skip

    lot_of = {lot.id: lot for lot in lots}
    of_design = project.design.notes if project.design else ()
    plans = [
        (
            answer,
            tuple(
                ReadyUse(lot_of[lot_id], need, count, answer.ready_parts.get((lot_id, need), 1))
                for (lot_id, need), count in answer.ready_uses.items()
            ),
            cut_scraps(project, answer, cuts, by_id, step),
        )
        for answer, cuts in zip(found, planned, strict=True)
    ]
    short = [
        yardage.shortages(
            {supply.need: supply.short for supply in answer.supplies},
            pieces_of_fabrics(project, ready_uses, cuts),
        )
        if with_yardage
        else ()
        for answer, ready_uses, cuts in plans
    ]
    if nested:
        short = [yardage.nested(shortages) for shortages in short]
    not_kept = [
        unmet_conditions(answer, shortages)
        for (answer, _, _), shortages in zip(plans, short, strict=True)
    ]
    fill = fill_notes(project, bags, settings.units)
    results = [
        MatchResult(
            project=project,
            supplies=answer.supplies,
            ready=ready_uses,
            cuts=cuts,
            shortages=shortages,
            notes=(*unknown, *unmet, *_quickly_cut(answer, cuts), *fill, *of_design),
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
        for (answer, ready_uses, cuts), shortages, unmet in zip(plans, short, not_kept, strict=True)
    ]
    return tuple(replace(one, places=place_pieces(one)) for one in results)


def _quickly_cut(answer: Answer, cuts: Sequence[ScrapCut]) -> tuple[str, ...]:
    """Return what must be said of the cuts of an answer that was taken before its time."""
    if answer.stopped and any(piece.template for cut in cuts for piece in cut.cutting.pieces):
        return (_STOPPED,)
    return ()


def _refuse_changed(read: Sequence[CuttableScrap], now: Sequence[CuttableScrap]) -> None:
    """Raise PlanError when a scrap that is used is not as it was `read` before the match."""
    before = {scrap.id: scrap for scrap in read}
    for scrap in now:
        if scrap != before[scrap.id]:
            raise PlanError(f"scrap {scrap.id} was changed while the match ran; match again")


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
