"""Guided local search: place more than fits, then minimise the overlap until nothing overlaps.

From the best layout so far a more valuable set of pieces is chosen: one more piece, or some changed
for others. The set is placed with overlaps allowed, every piece always inside the region. The
compiled search moves one piece at a time to where it overlaps least, with weights that grow on
stubborn pairs. Overlap that is left, once small, is removed by a linear program. A set that comes
out without overlap is the new best layout.

Effort is counted in steps of the loops, never in time, so the same seed gives the same layout on
every machine.
"""

from concurrent.futures import ThreadPoolExecutor

import numpy as np
from numpy.typing import NDArray

from scrapstore.packing.compiled import Tables, depths
from scrapstore.packing.exchanges import Exchanges
from scrapstore.packing.moves import minimize_overlap, push_apart
from scrapstore.packing.problem import PackingProblem, Pose
from scrapstore.packing.ruler_cuts import ruler_measure
from scrapstore.packing.separation import Separator
from scrapstore.packing.state import State
from scrapstore.packing.tables import tables

__all__ = ["WORK_PER_SECOND", "improve"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

WORK_PER_SECOND = 400_000_000
"""Units of work in a second: 2.5 ns each, with all that goes on around the compiled loops."""

# The work that steps outside the compiled loops count for, as measured.
_SEPARATION_WORK = 4_000_000
_MEASURE_WORK = 2_000_000
_THINNING_WORK = 120_000
_PUSH_WORK = 500  # for each pair of pieces

_EXCHANGES = 20  # of the searches that run side by side
_PATIENCE = 0.25  # part of the work without a further piece that ends it, if all are worth the same
_SPOTS = 600  # to try for each kind
_MOST_SPOTS = 4000  # and for all kinds together
_START_SHARE = 0.62  # part of the reachable area that the first pieces cover
_PASSES = 120  # of the compiled search before a set is given up
_ROUNDS = 4  # of those, each after the overlap left could not be removed
_PUSHES = 60  # rounds of pushing apart before the exact separation
_SEPARABLE = 0.2  # of a step: overlap that the exact separation may still remove
_RISE = 1.5  # how much more the first set is worth, in pieces of the least worth
_LEAST_RISE, _MOST_RISE = 0.3, 4.0
_UP, _DOWN = 1.2, 0.8  # how the rise changes after success and failure
_ACCEPTED_LOSS = 0.03  # part of the value that the next start may be worth less than the last
_RETURN_RATE = 0.1  # how often the search returns to the best where that happens
_MEASURES = 4  # times that two layouts of equal worth are compared for ease


def improve(
    problem: PackingProblem,
    poses: list[Pose],
    bound: float,
    seconds: float,
    seed: int,
    workers: int,
) -> list[Pose]:
    """Return the best layout that `workers` searches of `seconds` of work each find together.

    The searches run side by side on threads (the compiled loops let others run) and meet now and
    then, to go on from the best layout of all. When they meet depends on their work alone, so the
    result is the same whichever is faster. Where all pieces are worth the same, the search ends
    when a quarter of the work has gone by without a further piece.
    """
    work = int(seconds * WORK_PER_SECOND)
    made = tables(problem, min(_SPOTS, _MOST_SPOTS // len({turn.kind for turn in problem.turns})))
    start = State.of(problem, poses)
    # Seeds far apart: the next seed of a caller must not repeat the second search of this one.
    searches = [
        GuidedLocalSearch(problem, made, start, seed + k * 1_000_003) for k in range(workers)
    ]
    alike = len({problem.worth(turn) for turn in range(len(problem.turns))}) == 1
    best, idle = start, 0
    with ThreadPoolExecutor(workers) as pool:
        for _ in range(_EXCHANGES):
            value = searches[0].value(best)
            if value >= bound - 1e-9 or (alike and idle >= _PATIENCE * _EXCHANGES):
                break
            share = work // _EXCHANGES
            found = list(pool.map(lambda s: s.run(share, bound), searches))  # noqa: B023
            best = max(found, key=searches[0].value)
            idle = 0 if searches[0].value(best) > value + 1e-9 else idle + 1
            for search in searches:
                search.adopt(best)
    return best.poses()


class GuidedLocalSearch:
    """A search of one problem from a layout, with a seed of its own, a share of work at a time."""

    def __init__(self, problem: PackingProblem, made: Tables, start: State, seed: int) -> None:
        self.problem = problem
        self.work = np.zeros(1, np.int64)
        self.random = np.random.default_rng(seed)
        self.state = np.array([seed * 2654435761 % 2**63 + 88172645463325252], np.uint64)
        self.kinds = sorted({turn.kind for turn in problem.turns})
        least = min(problem.kinds[k].outline.area for k in self.kinds)
        self.step = float(np.sqrt(least)) / 6
        self.tables = made
        self.separator = Separator(problem, self.tables)
        self.worth = np.array([kind.worth for kind in problem.kinds])
        self.wanted = np.array([kind.wanted for kind in problem.kinds])
        self.exchanges = Exchanges(self.tables, self.worth, self.wanted, self.step, self.random)
        self.best = self.base = start
        self.rise = _RISE
        # The most that the rise may be: enough for any one piece to come in.
        worth = self.worth[self.kinds]
        self.most_rise = max(_MOST_RISE, float(worth.max() / worth.min()))
        self._begun = False
        self._measures = _MEASURES

    def value(self, state: State) -> float:
        """Return what the pieces of `state` are worth together."""
        return float(self.worth[state.kind].sum())

    def adopt(self, other: State) -> None:
        """Go on from `other` if it is worth more than the best known here."""
        if self.value(other) > self.value(self.best) + 1e-9:
            self.best = self.base = other

    def run(self, work: int, bound: float) -> State:
        """Return the best layout known after `work` more, or once it is worth `bound`."""
        self.work[0] += work
        if not self._begun:
            self._begun = True
            first = self._random_start(_START_SHARE * self.problem.reachable_area)
            if not self._remove_overlap(first):
                first = self._thinned_out(first)
            self.adopt(first)
        value = self.value(self.best)
        while self.work[0] > 0 and value < bound - 1e-9:
            trial = self._more_valuable(bound)
            if trial is None:
                break
            if self._remove_overlap(trial):
                self.rise = min(self.rise * _UP, self.most_rise)
            else:
                self.rise = max(self.rise * _DOWN, _LEAST_RISE)
                trial = self._thinned_out(trial)
            worth = self.value(trial)
            if worth > value + 1e-9 or (worth > value - 1e-9 and self._easier(trial, self.best)):
                self.best, value = trial, worth
            if worth >= self.value(self.base) - _ACCEPTED_LOSS * value * self.random.random() ** 2:
                self.base = trial
            elif self.value(self.base) < value - 1e-9 and self.random.random() < _RETURN_RATE:
                self.base = self.best
        return self.best

    def _easier(self, one: State, other: State) -> bool:
        """Tell whether `one`, worth as much as `other`, is easier to cut."""
        if self._measures == 0:
            return False
        self._measures -= 1
        self.work[0] -= _MEASURE_WORK
        return self._cuts(one) < self._cuts(other)

    def _cuts(self, state: State) -> int:
        return ruler_measure(self.problem.layout(state.poses(), 0.0).placements).cuts

    def _remove_overlap(self, state: State) -> bool:
        """Move the pieces of `state` until none overlap; False when that is given up."""
        count = len(state.kind)
        weight = np.ones((count, count))
        enough = 0.5 * self.step
        for _ in range(_ROUNDS):
            left = minimize_overlap(
                self.tables, state.kind, state.turn, state.x, state.y, weight,
                self.state, enough, _PASSES, self.work,
            )  # fmt: skip
            if left <= 0.0:
                return True
            if left > enough:
                break
            self.work[0] -= _PUSH_WORK * count * count
            pushed = state.copy()
            left = push_apart(self.tables, state.turn, pushed.x, pushed.y, _PUSHES)
            if left == 0.0:
                state.x, state.y = pushed.x, pushed.y
                return True
            if left > _SEPARABLE * self.step:
                enough *= 0.7
                continue
            state.x, state.y = pushed.x, pushed.y
            self.work[0] -= _SEPARATION_WORK
            left, state.x, state.y = self.separator.separate(
                state.turn, state.x, state.y, self.step
            )
            if left == 0.0:
                return True
            enough = min(enough, 0.7 * left)
        return False

    def _random_start(self, area: float) -> State:
        """Return pieces of all kinds at random spots that cover about `area`, best worth first."""
        area_of = [kind.outline.area for kind in self.problem.kinds]
        order = sorted(self.kinds, key=lambda k: -self.worth[k] / area_of[k])
        share = min(1.0, area / sum(self.wanted[k] * area_of[k] for k in order))
        return self._at_random_spots([k for k in order for _ in range(int(self.wanted[k] * share))])

    def _thinned_out(self, state: State) -> State:
        """Return `state` without the pieces that overlap most for their worth, until none do."""
        count = len(state.kind)
        depth = np.zeros((count, count))
        depths(self.tables, state.turn, state.x, state.y, depth)
        kept = list(range(count))
        self.work[0] -= _THINNING_WORK
        while True:
            rest = depth[np.ix_(kept, kept)].sum(axis=1)
            if not len(kept) or rest.max() <= 0.0:
                return state.kept(kept)
            del kept[int(np.argmax(rest / self.worth[state.kind[kept]]))]

    def _random_spot(self, kind: int) -> tuple[int, float, float]:
        """Return a random spot of a random turn of `kind`."""
        at = self.tables
        first, last = at.spot_from[at.turn_from[kind]], at.spot_from[at.turn_from[kind + 1]]
        spot = int(self.random.integers(first, last))
        turn = int(np.searchsorted(at.spot_from, spot, side="right")) - 1
        return turn, float(at.spot[spot, 0]), float(at.spot[spot, 1])

    def _more_valuable(self, bound: float) -> State | None:
        """Return a set worth more than the base, by about the rise; None if there is none."""
        least = float(self.worth[self.kinds].min())
        room = bound + 1e-6 - self.value(self.base)
        while True:
            most = min(max(2.0 * self.rise, 1.0) * least + 1e-9, room)
            wish = self.random.uniform(0.0, 1.0) * self.rise * least
            found = self.exchanges.more_valuable(self.base, most, wish, self.work)
            if found is not None or self.rise >= self.most_rise:
                return found
            self.rise = min(2.0 * self.rise, self.most_rise)

    def _at_random_spots(self, added: list[int]) -> State:
        """Return pieces of the kinds `added` at random spots."""
        places = [self._random_spot(kind) for kind in added]
        turn = np.array([place[0] for place in places], np.int64)
        x, y = np.array([place[1:] for place in places]).reshape(-1, 2).T.copy()
        return State(np.array(added, np.int64), turn, x, y)
