"""Improvement: lay more than fits, then lessen the overlap until nothing overlaps.

From the best layout so far a dearer set of pieces is chosen: one more piece, or some changed for
others. The set is laid with overlaps allowed, every piece always inside the region, and the
compiled search moves one piece at a time to where it overlaps least, with weights that grow on
stubborn pairs. What is left of the overlap, once small, is separated exactly. A set that comes out
without overlap is the new best layout.

Effort is counted in steps of the loops, never in time, so the same seed gives the same layout on
every machine.
"""

from concurrent.futures import ThreadPoolExecutor

import numpy as np
from numpy.typing import NDArray

from scrapstore.packing.board import Board, Spot
from scrapstore.packing.compiled import Tables, depths
from scrapstore.packing.exchange import Exchanges
from scrapstore.packing.moves import lessen_overlap, push_apart
from scrapstore.packing.ruler import ruler_measure
from scrapstore.packing.separate import Separator
from scrapstore.packing.state import State
from scrapstore.packing.tables import tables

__all__ = ["WORK_PER_SECOND", "improved"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

WORK_PER_SECOND = 400_000_000
"""Units of work in a second: 2.5 ns each, with all that goes on around the compiled loops."""

# What steps outside the compiled loops count for, measured.
_SEPARATION_WORK = 4_000_000
_MEASURE_WORK = 2_000_000
_THINNING_WORK = 120_000
_PUSH_WORK = 500  # for each pair of pieces

_MEETINGS = 20  # of the searches that run side by side
_PATIENCE = 0.25  # part of the work to go on without a further piece, where all are worth the same
_SPOTS = 600  # to try for each kind
_MOST_SPOTS = 4000  # and for all kinds together
_CROWD = 0.62  # part of the reachable area that the first pieces cover
_PASSES = 120  # of the compiled search before a set is given up
_ROUNDS = 4  # of those, each after what was left could not be separated
_PUSHES = 60  # rounds of pushing apart before the exact separation
_LP_SHARE = 0.2  # of a step: overlap that the exact separation may still undo
_RISE = 1.5  # how much dearer the first set is, in pieces of the least worth
_LEAST_RISE, _MOST_RISE = 0.3, 4.0
_UP, _DOWN = 1.2, 0.8  # how the rise changes after success and failure
_SLIP = 0.03  # part of the value that the layout to go on from may fall back by
_BACK = 0.1  # how often the search then returns to the best
_MEASURES = 4  # times that two layouts of equal worth are compared for ease


def improved(
    board: Board, spots: list[Spot], bound: float, seconds: float, seed: int, workers: int
) -> list[Spot]:
    """Return the best layout that `workers` searches of `seconds` of work each find together.

    The searches run side by side on threads (the compiled loops let others run) and meet now and
    then, to go on from the best layout of all. When they meet depends on their work alone, so the
    result is the same whichever is faster. Where all pieces are worth the same, the search ends
    when a quarter of the work has gone by without a further piece.
    """
    work = int(seconds * WORK_PER_SECOND)
    made = tables(board, min(_SPOTS, _MOST_SPOTS // len({turn.kind for turn in board.turns})))
    start = State.of(board, spots)
    # Seeds far apart: the next seed of a caller must not repeat the second search of this one.
    searches = [Search(board, made, start, seed + k * 1_000_003) for k in range(workers)]
    alike = len({board.worth(turn) for turn in range(len(board.turns))}) == 1
    best, idle = start, 0
    with ThreadPoolExecutor(workers) as pool:
        for _ in range(_MEETINGS):
            value = searches[0].value(best)
            if value >= bound - 1e-9 or (alike and idle >= _PATIENCE * _MEETINGS):
                break
            share = work // _MEETINGS
            found = list(pool.map(lambda s: s.go_on(share, bound), searches))  # noqa: B023
            best = max(found, key=searches[0].value)
            idle = 0 if searches[0].value(best) > value + 1e-9 else idle + 1
            for search in searches:
                search.learn(best)
    return best.spots()


class Search:
    """A search of one board from a layout, with a seed of its own, a share of work at a time."""

    def __init__(self, board: Board, made: Tables, start: State, seed: int) -> None:
        self.board = board
        self.work = np.zeros(1, np.int64)
        self.random = np.random.default_rng(seed)
        self.state = np.array([seed * 2654435761 % 2**63 + 88172645463325252], np.uint64)
        self.kinds = sorted({turn.kind for turn in board.turns})
        least = min(board.kinds[k].outline.area for k in self.kinds)
        self.step = float(np.sqrt(least)) / 6
        self.tables = made
        self.separator = Separator(board, self.tables)
        self.worth = np.array([kind.worth for kind in board.kinds])
        self.wanted = np.array([kind.wanted for kind in board.kinds])
        self.exchanges = Exchanges(self.tables, self.worth, self.wanted, self.step, self.random)
        self.best = self.base = start
        self.rise = _RISE
        self._begun = False
        self._measures = _MEASURES

    def value(self, state: State) -> float:
        """Return what the pieces of `state` are worth together."""
        return float(self.worth[state.kind].sum())

    def learn(self, other: State) -> None:
        """Go on from `other` if it is worth more than the best known here."""
        if self.value(other) > self.value(self.best) + 1e-9:
            self.best = self.base = other

    def go_on(self, work: int, bound: float) -> State:
        """Return the best layout known after `work` more, or once it is worth `bound`."""
        self.work[0] += work
        if not self._begun:
            self._begun = True
            first = self._crowd(_CROWD * self.board.reachable_area())
            if not self._settle(first):
                first = self._thinned(first)
            self.learn(first)
        value = self.value(self.best)
        while self.work[0] > 0 and value < bound - 1e-9:
            trial = self._dearer(bound)
            if trial is None:
                break
            if self._settle(trial):
                self.rise = min(self.rise * _UP, self._most_rise())
            else:
                self.rise = max(self.rise * _DOWN, _LEAST_RISE)
                trial = self._thinned(trial)
            worth = self.value(trial)
            if worth > value + 1e-9 or (worth > value - 1e-9 and self._easier(trial, self.best)):
                self.best, value = trial, worth
            if worth >= self.value(self.base) - _SLIP * value * self.random.random() ** 2:
                self.base = trial
            elif self.value(self.base) < value - 1e-9 and self.random.random() < _BACK:
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
        return ruler_measure(self.board.layout(state.spots(), 0.0).placements).cuts

    def _settle(self, state: State) -> bool:
        """Move the pieces of `state` until none overlap; False when that is given up."""
        count = len(state.kind)
        weight = np.ones((count, count))
        enough = 0.5 * self.step
        for _ in range(_ROUNDS):
            left = lessen_overlap(
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
            if left > _LP_SHARE * self.step:
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

    def _crowd(self, area: float) -> State:
        """Return pieces of all kinds at random spots, dearest first, that cover about `area`."""
        added: list[int] = []
        order = sorted(self.kinds, key=lambda k: -self.worth[k] / self.board.kinds[k].outline.area)
        shares = {k: self.wanted[k] * self.board.kinds[k].outline.area for k in order}
        total = sum(shares.values())
        share = min(1.0, area / total)
        for kind in order:
            added += [kind] * int(self.wanted[kind] * share)
        return self._laid(added)

    def _thinned(self, state: State) -> State:
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

    def _anywhere(self, kind: int) -> tuple[int, float, float]:
        """Return a random spot of a random turn of `kind`."""
        at = self.tables
        first, last = at.spot_from[at.turn_from[kind]], at.spot_from[at.turn_from[kind + 1]]
        spot = int(self.random.integers(first, last))
        turn = int(np.searchsorted(at.spot_from, spot, side="right")) - 1
        return turn, float(at.spot[spot, 0]), float(at.spot[spot, 1])

    def _dearer(self, bound: float) -> State | None:
        """Return a set worth more than the base, by about the rise; None if there is none."""
        least = float(self.worth[self.kinds].min())
        room = bound + 1e-6 - self.value(self.base)
        while True:
            most = min(max(2.0 * self.rise, 1.0) * least + 1e-9, room)
            wish = self.random.uniform(0.0, 1.0) * self.rise * least
            found = self.exchanges.dearer(self.base, most, wish, self.work)
            if found is not None or self.rise >= self._most_rise():
                return found
            self.rise = min(2.0 * self.rise, self._most_rise())

    def _most_rise(self) -> float:
        """Return the most the rise may be: enough for any one piece to come in."""
        worth = self.worth[self.kinds]
        return max(_MOST_RISE, float(worth.max() / worth.min()))

    def _laid(self, added: list[int]) -> State:
        """Return pieces of the kinds `added` at random spots."""
        places = [self._anywhere(kind) for kind in added]
        return State(
            np.array(added, np.int64),
            np.array([p[0] for p in places], np.int64),
            np.array([p[1] for p in places]),
            np.array([p[2] for p in places]),
        )
