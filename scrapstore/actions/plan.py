"""Kept plans: keep an answer, list, show and release; what is kept is set aside in the store."""

from collections import Counter, defaultdict
from collections.abc import Callable, Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

from shapely.errors import ShapelyError

from scrapstore.actions.project import read_project_file
from scrapstore.errors import NotFoundError, PlanError
from scrapstore.planning.allocate import OnHand
from scrapstore.planning.cut_sources import cut_sources
from scrapstore.planning.kept_answer import Finders, from_plain, to_plain
from scrapstore.planning.left_over import left_over_lots
from scrapstore.planning.places import places_now
from scrapstore.planning.result import MatchResult
from scrapstore.projects import Project
from scrapstore.report.cutting_report import make_sheets
from scrapstore.report.picture_file import checked_picture_path
from scrapstore.report.plan_picture import write_top
from scrapstore.settings import Settings
from scrapstore.store import (
    NewPlan,
    Plan,
    Reader,
    ReadyCut,
    Scrap,
    Store,
    Writer,
    Yardage,
    finish_plan,
    keep_plan,
    plan_named,
    plans,
    release_plan,
)

__all__ = [
    "Named",
    "answer_again",
    "answer_of",
    "finish_kept",
    "keep_answer",
    "left_over",
    "list_plans",
    "picture_again",
    "project_or_plan",
    "release_kept",
    "sheets_again",
    "show_plan",
]

_KEPT: Final = "kept"
"""The key, beside those of the printed answer, of what shows and draws an answer again."""
_NO_LETTERS: Final = "{!r} was kept by another version; its pieces have no letters to go by"
_NOT_READ: Final = (
    ValueError, TypeError, LookupError, AttributeError, OverflowError, ShapelyError,
)  # fmt: skip
"""What reading an answer that this version did not write may end in."""


def keep_answer(
    store: Store,
    result: MatchResult,
    document: Mapping[str, Any],
    name: str | None = None,
    settings: Settings | None = None,
) -> Plan:
    """Keep `result` under `name` (else the project's) and set aside all it takes.

    `document` is the result as JSON shows it, and stays readable for later versions. `settings` are
    those of the match: the units and the ruler's marks are kept with the answer.
    Raises PlanError when it takes nothing, or when any of it was taken or changed since the match
    looked at it; nothing is kept then.
    """
    lengths: dict[int, float] = {}
    for shortage in result.shortages:
        for hand in shortage.on_hand:
            taken = lengths.get(hand.yardage.id, 0.0)
            lengths[hand.yardage.id] = taken + hand.takes
    if not result.cuts and not result.ready and not lengths:
        msg = (
            f"{result.project.name}: nothing you have is used, so there is no plan to keep; match "
            "says why the pieces are short"
        )
        raise PlanError(msg)
    ready = Counter[int]()
    for use in result.ready:
        ready[use.lot.id] += use.taken
    plan = NewPlan(
        name=(name or result.project.name).strip(),
        project=result.project.name,
        document={
            **document,
            _KEPT: {
                "result": to_plain(result),
                "settings": {
                    key: getattr(settings or Settings(), key) for key in ("units", "ruler_step")
                },
            },
        },
        scrap_ids=tuple(cut.scrap.id for cut in result.cuts),
        ready=dict(ready),
        yardage=lengths,
    )
    with store.change("plan keep") as writer:
        _refuse_changed(writer, result)
        return keep_plan(writer, plan)


def _refuse_changed(writer: Writer, result: MatchResult) -> None:
    """Raise PlanError when something used is not as the match saw it: its cuts would be wrong."""
    lots = {use.lot.id: use.lot for use in result.ready}
    lengths = {hand.yardage.id: hand.yardage for one in result.shortages for hand in one.on_hand}
    seen: list[tuple[str, Scrap | ReadyCut | Yardage, Scrap | ReadyCut | Yardage]] = [
        *(("scrap", cut.scrap, writer.scrap(cut.scrap.id)) for cut in result.cuts),
        *(("ready-cut pieces no.", lot, writer.ready_cut_lot(lot.id)) for lot in lots.values()),
        *(("length", one, writer.yardage_length(one.id)) for one in lengths.values()),
    ]
    changed = [f"{what} {now.id}" for what, then, now in seen if _relied(then) != _relied(now)]
    if changed:
        more = f" and {len(changed) - 3} more" if len(changed) > 3 else ""
        msg = (
            f"the plan cannot be kept: changed while the match ran: {', '.join(changed[:3])}{more}."
            " Nothing was kept; match again"
        )
        raise PlanError(msg)


def _relied(thing: Scrap | ReadyCut | Yardage) -> tuple[object, ...]:
    """Return what of a thing its cuts and the conditions of a role hang on."""
    fabric = thing.fabric
    cloth = fabric and (fabric.id, fabric.fibre, fabric.one_way_print, fabric.alike)
    if isinstance(thing, Yardage):
        width = thing.usable_width or thing.fabric.usable_width
        return cloth, width, thing.fabric.family, thing.fabric.value
    colour = (
        thing.family or (fabric and fabric.family),
        thing.value or (fabric and fabric.value),
    )
    if isinstance(thing, ReadyCut):
        return cloth, colour, thing.kind, thing.cut.wkb, thing.seam_allowance
    flaws = tuple(flaw.wkb for flaw in thing.flaws)
    edge = thing.margin + thing.uncertainty, thing.old_edges
    return cloth, colour, thing.outline.wkb, flaws, thing.grain_deg, edge


def list_plans(store: Store) -> tuple[Plan, ...]:
    """Return the kept plans."""
    with store.read() as reader:
        return plans(reader)


def show_plan(store: Store, name: str) -> Plan:
    """Return one plan by name or number; NotFoundError."""
    with store.read() as reader:
        return plan_named(reader, name)


def answer_again(
    store: Store, name: str, settings: Settings
) -> tuple[Plan, MatchResult | None, Settings]:
    """Return a kept plan with its answer as the match gave it, and `settings` as they were then.

    Its places are those of now, after what was cut. The answer is None where the version that kept
    it did not keep enough to draw it again. NotFoundError.
    """
    with store.read() as reader:
        return answer_of(reader, name, settings)


def answer_of(
    reader: Reader, name: str, settings: Settings
) -> tuple[Plan, MatchResult | None, Settings]:
    """Return what `answer_again` does, as `reader` sees the store."""
    plan = plan_named(reader, name)
    kept = plan.document.get(_KEPT)
    if kept is None:
        return plan, None, settings
    earlier = {other.name for other in plans(reader) if other.id < plan.id}
    held = {home: lot for lot, home in plan.taken_from.items()}

    def length(number: int) -> Yardage:
        found = reader.yardage_length(number)
        promised = tuple(p for p in found.promised if p.plan in earlier)
        return replace(found, promised=promised)

    def lot(number: int) -> ReadyCut:
        return reader.ready_cut_lot(held.get(number, number))

    finders: Finders = {Scrap: reader.scrap, ReadyCut: lot, Yardage: length}
    try:
        result = from_plain(MatchResult, kept["result"], finders)
        result = replace(result, places=places_now(result, plan.pieces, lot))
        then = settings.model_copy(update=dict(kept["settings"]))
    except _NOT_READ:
        return plan, None, settings  # of another version
    return plan, _with_lengths_before(result, plan), then


def _with_lengths_before(result: MatchResult, plan: Plan) -> MatchResult:
    """Return the answer with its lengths as long as they were before the plan was cut."""
    takes: defaultdict[int, float] = defaultdict(float)
    for shortage in result.shortages:
        for hand in shortage.on_hand:
            takes[hand.yardage.id] += hand.takes
    for source in cut_sources(result):
        states = {plan.pieces[one].state for one in source.labels if one in plan.pieces}
        if source.length is not None and states == {"not cut"}:
            takes[source.length.id] -= source.inches  # let go, and not taken off

    def before(hand: OnHand) -> OnHand:
        length = hand.yardage
        gone = takes[length.id] - plan.yardage.get(length.id, 0.0)
        # A row that is used up still has the length that its last cut took.
        was = max(length.length, gone) if length.status == "used up" else length.length + gone
        return replace(hand, yardage=replace(length, length=was))

    shortages = tuple(
        replace(shortage, on_hand=tuple(map(before, shortage.on_hand)))
        for shortage in result.shortages
    )
    return replace(result, shortages=shortages)


@dataclass(frozen=True)
class Named:
    """A project that was named by its file or by the plan kept of it.

    `plan` and `result` are those of the plan: None for a file, `result` also where an older version
    did not keep the answer. `settings` are those it was matched with.
    """

    project: Project
    settings: Settings
    plan: Plan | None = None
    result: MatchResult | None = None


def project_or_plan(
    open_store: Callable[[], AbstractContextManager[Store]], name: str, settings: Settings
) -> Named:
    """Return the project in the file `name`, else that of the kept plan called so.

    The store is opened for a plan alone. Raises ProjectError for a file that cannot be used,
    NotFoundError where there is neither, PlanError for a plan without what it was made from.
    """
    file = Path(name)
    if file.is_file() or file.suffix.lower() == ".toml":
        return Named(read_project_file(file, settings), settings)
    with open_store() as store:
        try:
            plan, result, then = answer_again(store, name, settings)
        except NotFoundError as error:
            msg = f"{name!r} is neither the file of a project nor a kept plan; {error}"
            raise NotFoundError(msg) from None
    if result is None:
        msg = (
            f"{plan.name!r} was kept by another version, which did not keep the project; name the "
            "project file instead"
        )
        raise PlanError(msg)
    return Named(result.project, then, plan, result)


def sheets_again(store: Store, name: str, settings: Settings, folder: Path) -> list[Path]:
    """Write the sheets of a kept plan into `folder` anew; return the files as `make_sheets`.

    NotFoundError; PlanError for a plan that an older version kept; SheetError.
    """
    result, then = _drawn_again(store, name, settings, "sheets")
    return make_sheets(store, result, then, folder)


def picture_again(
    store: Store, name: str, settings: Settings, file: Path, *, grey: bool = False
) -> Path:
    """Write the picture of a kept plan's top to `file`; return where it is.

    NotFoundError; PlanError for a plan that an older version kept, or whose project has no design;
    UsageError, SheetError for a file that cannot be written.
    """
    checked_picture_path(file)
    result, then = _drawn_again(store, name, settings, "a picture")
    return write_top(store, result, file, then, grey=grey)


def _drawn_again(
    store: Store, name: str, settings: Settings, what: str
) -> tuple[MatchResult, Settings]:
    plan, result, then = answer_again(store, name, settings)
    if result is None:
        msg = (
            f"{plan.name!r} was kept by another version, which did not keep what {what} "
            f"{'are' if what == 'sheets' else 'is'} drawn from; plan show {plan.name!r} tells what "
            f"it cuts. For {what} release it and match again"
        )
        raise PlanError(msg)
    return result, then


def release_kept(store: Store, name: str) -> Plan:
    """Release a plan and free its cloth; return it with what is free again. NotFoundError."""
    with store.change("plan release") as writer:
        return release_plan(writer, name)


def left_over(store: Store, name: str, left: Sequence[str]) -> tuple[tuple[int, ReadyCut], ...]:
    """Return which pieces `left` names, before the plan is closed: how many of which lot.

    Raises as `finish_kept` does.
    """
    if not left:
        return ()
    with store.read() as reader:
        plan, result, _ = answer_of(reader, name, Settings())
        if result is None:
            raise PlanError(_NO_LETTERS.format(plan.name))
        lots = left_over_lots(plan, result, left, lambda lot: reader.ready_cut_lot(lot).count)
        return tuple((count, reader.ready_cut_lot(lot)) for lot, count in lots.items() if count)


def finish_kept(store: Store, name: str, left: Sequence[str] = ()) -> Plan:
    """Close a plan whose pieces are sewn; return it with the lots that were set aside for it.

    `left` says which pieces were left over, as ``2 A``, ``2 corner square`` or ``A3``: those are
    free again. NotFoundError; PlanError while something of it is not cut; UsageError.
    """
    with store.change("plan done") as writer:
        plan, result, _ = answer_of(writer, name, Settings())
        if left and result is None:
            raise PlanError(_NO_LETTERS.format(plan.name))
        lots = (
            left_over_lots(plan, result, left, lambda lot: writer.ready_cut_lot(lot).count)
            if result is not None
            else {}
        )
        return finish_plan(writer, name, lots)
