"""``gives``: which pieces scraps give for what is open, to be cut while they lie on the table."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta
from pathlib import Path
from typing import Final

from scrapstore.actions.match import match_loaded
from scrapstore.actions.plan import answer_again, list_plans
from scrapstore.actions.project import read_project_file
from scrapstore.errors import NotFoundError, PlanError
from scrapstore.matching import EFFORT, PackAll, Progress, pack_all
from scrapstore.planning.given import only_given
from scrapstore.planning.result import MatchResult
from scrapstore.planning.scrap_cuts import MapAll
from scrapstore.planning.still_wanted import (
    Merged,
    ReadyLeft,
    StillWanted,
    less_kept,
    merged,
    wanted_by_plan,
    wanted_of,
)
from scrapstore.projects import PieceNeed
from scrapstore.sentences import several
from scrapstore.settings import Settings
from scrapstore.store import Reader, Scrap, StockFilter, Store

__all__ = ["GivesResult", "Open", "ScrapGives", "what_is_open", "what_scraps_give"]

_EFFORT: Final = EFFORT / 5  # somebody stands at the table
_ONE_VISIT: Final = timedelta(hours=1)
"""Photos that were logged one after another, with no longer pause, are of one visit."""
_LOOKED_BACK: Final = 500
"""Changes that are looked through for the newest scraps."""
_NOTHING_OPEN: Final = (
    "nothing is open: name a project with --for PROJECT.toml, keep a plan (plan keep), or write a "
    "list of the sizes you always keep in stock (project new FILE --stock-list), and say where it "
    "is with: settings set stock_list FILE"
)


@dataclass(frozen=True)
class Open:
    """What still wants pieces, what comes first at the front.

    `asked` tells whether there is anything that could: a project named, a plan, a stock list.
    `left_out` says in a sentence each what is not offered any cloth.
    """

    wanted: tuple[StillWanted, ...]
    asked: bool
    left_out: tuple[str, ...] = ()


@dataclass(frozen=True)
class ScrapGives:
    """So many pieces of one kind that one scrap gives for one thing that is open."""

    scrap: Scrap
    piece: PieceNeed
    wanted: StillWanted
    count: int


@dataclass(frozen=True)
class GivesResult:
    """What the scraps give; `answer` is how they are cut for it, None where they give nothing."""

    scraps: tuple[Scrap, ...]
    open: Open
    given: tuple[ScrapGives, ...] = ()
    answer: MatchResult | None = None


def what_is_open(store: Store, project_files: Sequence[Path], settings: Settings) -> Open:
    """Return what still wants pieces: projects named, plans that are short, and the stock list.

    Ready-cut pieces that are free are counted in this order, each once, and pieces that a kept
    answer of `gives` has for any of them as well. All must have one seam
    allowance; what has another than the first is left out.

    Raises ProjectError for a file that cannot be used.
    """
    plans = [(plan.name, answer_again(store, plan.name, settings)[1]) for plan in list_plans(store)]
    kept = [(name, result) for name, result in plans if result is not None]
    with store.read() as reader:
        ready = ReadyLeft(reader.ready_cut())
    found = [
        wanted_of("project", read_project_file(file, settings), ready) for file in project_files
    ]
    found += [wanted_by_plan(name, result, ready) for name, result in kept]
    if settings.stock_file is not None:
        found.append(wanted_of("stock", read_project_file(settings.stock_file, settings), ready))
    names: set[str] = set()
    wanted: list[StillWanted] = []
    left_out: list[str] = []
    for one in found:
        one = less_kept(_by_another_name(one, names), [result for _, result in kept])
        names.add(one.name)
        if not one.project.pieces:
            continue
        if wanted and one.project.seam_allowance != wanted[0].project.seam_allowance:
            left_out.append(
                f"{one.called} has another seam allowance than {wanted[0].called} and is left out"
            )
        else:
            wanted.append(one)
    return Open(tuple(wanted), bool(found), tuple(left_out))


def _by_another_name(wanted: StillWanted, taken: set[str]) -> StillWanted:
    number, name = 2, wanted.name
    while name in taken:
        name, number = f"{wanted.name} ({number})", number + 1
    return replace(wanted, name=name)


def what_scraps_give(
    store: Store,
    numbers: Sequence[int],
    opened: Open,
    *,
    settings: Settings,
    stopping: Callable[[], None] | None = None,
    pack_all: PackAll = pack_all,
    map_all: MapAll = map,
    progress: Progress | None = None,
) -> GivesResult:
    """Return which pieces the scraps give for what is open, and how they are cut.

    Without `numbers` the available ones of those that were logged or added last are taken. Other
    scraps of the store, ready-cut pieces and yardage are not looked at.

    Raises NotFoundError and PlanError for scraps that are not there or not available, and PlanError
    when nothing is open at all.
    """
    if not opened.asked:
        raise PlanError(_NOTHING_OPEN)
    with store.read() as reader:
        scraps = _named(reader, numbers) if numbers else _newest(reader)
    if not opened.wanted:
        return GivesResult(scraps, opened)
    whole = merged(opened.wanted)
    (result,) = match_loaded(
        store, whole.project, 1, settings=settings, effort=_EFFORT, why=False, stopping=stopping,
        scrap_ids={scrap.id for scrap in scraps}, with_ready=False, with_yardage=False,
        weights=whole.weights, taken=whole.taken, pack_all=pack_all, map_all=map_all,
        progress=progress,
    )  # fmt: skip
    if not result.cuts:
        return GivesResult(scraps, opened)
    given = _given(result, whole)
    names = dict.fromkeys(one.wanted.name for one in given)
    return GivesResult(scraps, opened, given, only_given(result, several(list(names))))


def _given(result: MatchResult, whole: Merged) -> tuple[ScrapGives, ...]:
    return tuple(
        ScrapGives(cut.scrap, piece, wanted, cut.counts[name])
        for cut in result.cuts
        for name, (wanted, piece) in whole.wants.items()
        if name in cut.counts
    )


def _named(reader: Reader, numbers: Sequence[int]) -> tuple[Scrap, ...]:
    scraps = tuple(reader.scrap(number) for number in dict.fromkeys(numbers))
    for scrap in scraps:
        if scrap.status != "available":
            whose = f" for {scrap.set_aside_for!r}" if scrap.set_aside_for else ""
            msg = (
                f"scrap {scrap.id} is {scrap.status}{whose}; only available scraps are offered: "
                "scrap list shows them"
            )
            raise PlanError(msg)
    return scraps


def _newest(reader: Reader) -> tuple[Scrap, ...]:
    """Return the scraps of the newest visit that logged or added any, the available ones."""
    visit: list[int] = []
    last = None
    for change in reader.history(kind="scrap", most=_LOOKED_BACK):
        added = [row.row_id for row in change.rows if row.kind == "scrap" and row.before is None]
        if change.what not in ("log", "scrap add") or not added:
            if visit:
                break
            continue
        if last is not None and last - change.at > _ONE_VISIT:
            break
        visit, last = visit + added, change.at
    scraps = reader.scraps(StockFilter(ids=tuple(visit))) if visit else ()
    if not scraps:
        msg = "no scrap that was logged or added lately is available; give numbers: gives 3 5-8"
        raise NotFoundError(msg)
    return scraps
