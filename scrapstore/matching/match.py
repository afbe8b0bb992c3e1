"""The whole answer: screen the stock, draw patterns, choose, and say what stays short."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from operator import is_
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from scrapstore.matching.aimed import Aimed
from scrapstore.matching.aims import DEFAULT_AIMS, Aim
from scrapstore.matching.answers import answer_of
from scrapstore.matching.bought import ToBuy, least_bought
from scrapstore.matching.choose import Choice, choose
from scrapstore.matching.column_generation import ColumnGeneration
from scrapstore.matching.forms import (
    Answer,
    Need,
    ReadyStock,
    RoleRule,
    ScrapStock,
)
from scrapstore.matching.limits import limit_each, limit_together
from scrapstore.matching.patterns import PackAll, Pattern, pack_all
from scrapstore.matching.screen import screen
from scrapstore.matching.search import ScrapSearch

__all__ = ["DIFFER", "EFFORT", "Progress", "match", "match_answers"]

Progress = Callable[[int, int, int | None], None]
"""Called with (scraps looked at, scraps that might serve, pieces covered so far or None)."""

EFFORT: Final = 10.0
"""Seconds of one core's work that go into better patterns where something stays short."""

DIFFER: Final = 1 / 3
"""How much of a plan, by area, must be cut otherwise in another that counts as different."""

OVERSUPPLY: Final = 2.0
"""How many times over the scraps looked at could give what is wanted, before the looking ends."""

_FOR_OTHERS = 2.0  # as much again is looked through for the second answer and the third
_FOR_THE_SHORT = 4.0  # and where the first choice leaves something short
# Of the work that would go into covering more, what goes into the other aims. It helps where there
# are few scraps to choose among; a plan of very many scraps hardly gains by it.
_FOR_AIMS, _FEW, _FOR_AIMS_OF_MANY, _VERY_MANY = 0.3, 32, 0.1, 24
_TASK_FOR_AIMS = 0.025  # seconds for one layout there: all that is wanted is little, as a rule
_LEAST_COVER = 0.9  # of what the best plan covers, for one that is shown beside it
_FIRST_REPORT = 128  # scraps looked at before the first report; then after twice as many, and so on
_QUICK = 0.5  # the work of a choice that is only reported or improved on
_CHOICE = 4.0
_AT_ONCE = 0.1  # of one that is made only because somebody stopped the looking


@dataclass(frozen=True)
class _Work:
    """How much is looked at, and how much work goes into it; see `match`."""

    oversupply: float
    most_looks: int
    effort: float
    prove: float
    stoppable: bool


def match(
    scraps: Sequence[ScrapStock],
    ready: Sequence[ReadyStock],
    needs: Sequence[Need],
    roles: Mapping[str, RoleRule],
    *,
    aims: Sequence[Aim] = DEFAULT_AIMS,
    seconds_per_scrap: float = 0.1,
    oversupply: float = OVERSUPPLY,
    most_looks: int = 1500,
    effort: float = EFFORT,
    prove: float = 0.0,
    stoppable: bool = True,
    seed: int = 0,
    pack_all: PackAll = pack_all,
    progress: Progress | None = None,
    to_buy: ToBuy | None = None,
) -> Answer:
    """Return the best plan found for covering `needs` from `ready` and `scraps`.

    Scraps are screened all at once; those that might serve are looked at, most promising first,
    until what they could give comes to `oversupply` times what is wanted of every need, until all
    have been looked at, or `most_looks` have. A scrap that could only give what is plentiful
    already is passed over. Where something stays short, `effort` seconds of one core's work go
    into better patterns, and `prove` seconds for each scrap into closer limits of what could be.
    `to_buy` says how much fabric must be bought for what is short: of plans that cover nearly as
    much, one after which least is bought is taken (None: the area covered alone decides).

    An interrupt (Ctrl-C) ends the looking, and the best plan so far is returned with `stopped` set;
    where that is of no use (not `stoppable`) the interrupt is raised. The same input and seed give
    the same plan, however many processes `pack_all` uses.
    """
    search = ScrapSearch(
        screen(scraps, needs, roles), ready, needs, roles, seconds_per_scrap, seed, pack_all, aims
    )
    work = _Work(oversupply, most_looks, effort, prove, stoppable)
    (answer,) = _answers(search, scraps, 1, aims, work, progress, to_buy)
    return answer


def match_answers(
    scraps: Sequence[ScrapStock],
    ready: Sequence[ReadyStock],
    needs: Sequence[Need],
    roles: Mapping[str, RoleRule],
    answers: int,
    *,
    aims: Sequence[Aim] = DEFAULT_AIMS,
    seconds_per_scrap: float = 0.1,
    most_looks: int = 1500,
    effort: float = EFFORT,
    prove: float = 0.0,
    stoppable: bool = True,
    seed: int = 0,
    pack_all: PackAll = pack_all,
    progress: Progress | None = None,
    to_buy: ToBuy | None = None,
) -> tuple[Answer, ...]:
    """Return up to so many clearly different plans, the best first; see `match`.

    Of what one plan cuts from scraps, at least a third (by the area of the pieces) is in each other
    plan cut from other scraps, or as other pieces. A plan that covers less than nine tenths of what
    the best covers is not among them; so there may be fewer plans than asked for.
    """
    search = ScrapSearch(
        screen(scraps, needs, roles), ready, needs, roles, seconds_per_scrap, seed, pack_all, aims
    )
    work = _Work(OVERSUPPLY, most_looks, effort, prove, stoppable)
    return _answers(search, scraps, answers, aims, work, progress, to_buy)


def _answers(
    search: ScrapSearch,
    scraps: Sequence[ScrapStock],
    count: int,
    aims: Sequence[Aim],
    work: _Work,
    progress: Progress | None,
    to_buy: ToBuy | None,
) -> tuple[Answer, ...]:
    needs, ready, roles = search.needs, search.ready, search.roles

    so_far: Choice | None = None

    def chosen(effort: float = _CHOICE, aims: Sequence[Aim] = (), **held: Any) -> Choice:
        nonlocal so_far
        found = choose(
            scraps, search.patterns(), ready, needs, roles, aims=aims, effort=effort, **held
        )
        if so_far is None or found.area >= so_far.area - 1e-6:
            so_far = found
        return found

    reported: tuple[list[Pattern], Choice] | None = None

    def quick() -> Choice:
        nonlocal reported
        patterns = search.patterns()
        # Asked again and again, and often nothing new was found.
        if reported is None or not _same(reported[0], patterns):
            reported = patterns, chosen(_QUICK)
        return reported[1]

    choices: list[Choice] = []
    stopped = False
    try:
        # The first answer is the same however many are asked for.
        choices.append(_first(search, aims, work, chosen, quick, progress, to_buy))
        if count > 1:
            more = _FOR_OTHERS * work.oversupply
            _look(search, more, work.most_looks, quick, progress)
        while len(choices) < count:
            other = chosen(aims=aims, unlike=choices, differ=DIFFER)
            if other.area < _LEAST_COVER * choices[0].area or not other.cut:
                break
            choices.append(other)
    except KeyboardInterrupt:
        if not work.stoppable:
            raise
        stopped = True
        choices = choices or [so_far or chosen(_AT_ONCE)]

    most = search.most()
    limits = limit_each(most, search.screened, ready, needs, roles)
    covered_all = not search.short(choices[0])
    together = (0, 0.0) if covered_all else _limits_together(search, most, limits)
    return tuple(
        answer_of(choice, search, scraps, limits, together, stopped=stopped) for choice in choices
    )


def _first(
    search: ScrapSearch,
    aims: Sequence[Aim],
    work: _Work,
    chosen: Callable[..., Choice],
    quick: Callable[[], Choice],
    progress: Progress | None,
    to_buy: ToBuy | None,
) -> Choice:
    """Return the best choice that could be found."""
    floors: dict[str, int] = {}
    at_most = 0.0
    _find(search, work, quick, progress)
    best = quick()
    if to_buy is not None and search.short(best):
        at_most = best.area_at_most
        best, floors = least_bought(
            best, lambda floors: chosen(_QUICK, floors=floors), search.needs, to_buy
        )
    settled = _refine(search, best, partial(chosen, _QUICK, aims, floors=floors), aims, work.effort)
    if work.prove > 0:
        _tighten(search, quick(), work.prove, progress)
    found = settled or chosen(aims=aims, floors=floors)
    return replace(found, area_at_most=max(at_most, found.area)) if floors else found


def _find(
    search: ScrapSearch, work: _Work, quick: Callable[[], Choice], progress: Progress | None
) -> None:
    """Look for patterns that cover as much as can be."""
    _look(search, work.oversupply, work.most_looks, quick, progress)
    if search.short(quick()):
        # What competes for the same scraps is short though others are left to look at.
        _look(search, _FOR_THE_SHORT * work.oversupply, work.most_looks, quick, progress)
    _improve(search, quick, work.effort, progress)


def _look(
    search: ScrapSearch,
    oversupply: float,
    most_looks: int,
    quick: Callable[[], Choice],
    progress: Progress | None,
) -> None:
    """Look through the scraps; where it takes long, report how much the plan so far covers."""
    report_at, covered = _FIRST_REPORT, None
    for looked in search.look(oversupply, most_looks):
        if progress is None:
            continue
        if looked >= report_at:
            covered, report_at = _pieces(quick(), search.needs), 2 * report_at
        progress(looked, len(search.screened.scraps), covered)


def _improve(
    search: ScrapSearch, quick: Callable[[], Choice], effort: float, progress: Progress | None
) -> None:
    """Draw better patterns where the choice leaves anything short."""
    choice = quick()
    if not search.short(choice) or effort <= 0:
        return
    if progress is not None:
        progress(0, 100, _pieces(choice, search.needs))
    most = search.most()
    limits = limit_each(most, search.screened, search.ready, search.needs, search.roles)
    area = [need.worth for need in search.needs]
    args = most, limits, search.screened, search.ready, search.needs, search.roles
    better = ColumnGeneration(search, effort, search.seconds, quick, limit_together(*args, area))
    for best in better.rounds(choice):
        if progress is not None:
            done = round(100 * (1 - max(0.0, better.effort) / effort))
            progress(done, 100, _pieces(best, search.needs))


def _refine(
    search: ScrapSearch,
    best: Choice,
    again: Callable[[], Choice],
    aims: Sequence[Aim],
    effort: float,
) -> Choice | None:
    """Draw patterns that serve the aims after "cover"; return the choice if it is settled."""
    if effort <= 0 or not set(aims) & {"whole", "scraps"} or not best.patterns:
        return None
    found = again()
    few = len(search.screened.scraps) <= _FEW
    if few or len(found.patterns) <= _VERY_MANY:
        work = effort * (_FOR_AIMS if few else _FOR_AIMS_OF_MANY)
        found = Aimed(search, work, _TASK_FOR_AIMS, again, aims).improved(found)
    return found if found.settled else None


def _tighten(search: ScrapSearch, choice: Choice, prove: float, progress: Progress | None) -> None:
    """Prove closer limits where the choice leaves anything short."""
    for done, of_all in search.tighten(search.short(choice), prove):
        if progress is not None:
            progress(done, of_all, _pieces(choice, search.needs))


def _same(some: Sequence[Pattern], others: Sequence[Pattern]) -> bool:
    return len(some) == len(others) and all(map(is_, some, others))


def _pieces(choice: Choice, needs: Sequence[Need]) -> int:
    return sum(choice.counts(need.name) for need in needs)


def _limits_together(
    search: ScrapSearch, most: NDArray[np.int64], limits: Sequence[int]
) -> tuple[int, float]:
    """Return how many pieces, and how much area, all needs together can get at the very most."""
    area = [need.worth for need in search.needs]
    args = most, limits, search.screened, search.ready, search.needs, search.roles
    pieces = int(limit_together(*args, [1.0] * len(area)) + 1e-6)
    return pieces, limit_together(*args, area)
