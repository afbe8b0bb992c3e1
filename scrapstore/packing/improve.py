"""Improvement: lay more than fits, then lessen the overlap until nothing overlaps.

From the best layout so far a dearer set of pieces is chosen: one more piece, or a piece changed for
a larger one. The set is laid with overlaps allowed, every piece always inside the region, and the
compiled search moves one piece at a time to where it overlaps least, with weights that grow on
stubborn pairs. What is left of the overlap, once small, is separated exactly. A set that comes out
without overlap is the new best layout.

Effort is counted in steps of the loops, never in time, so the same seed gives the same layout on
every machine.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scrapstore.packing.board import Board, Spot
from scrapstore.packing.compiled import depths, lessen_overlap, push_apart
from scrapstore.packing.ruler import ruler_measure
from scrapstore.packing.separate import Separator
from scrapstore.packing.tables import tables

__all__ = ["WORK_PER_SECOND", "Improver"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

WORK_PER_SECOND = 500_000_000
"""Units of work that the compiled loops do in a second, about two nanoseconds each."""

_SEPARATION_WORK = 4_000_000  # what one exact separation counts for
_SPOTS = 600  # to try for each kind
_MOST_SPOTS = 4000  # and for all kinds together
_UP = 1.2
_DOWN = 0.8
_SLIP = 0.03
_BACK = 0.1
_MEASURES = 10  # times that two layouts of equal worth are compared for ease
_MEASURE_WORK = 2_000_000
_PUSHES = 60
_LP_SHARE = 0.2
_PUSH_WORK = 500
_PASSES = 10  # passes of the compiled search between looks at the overlap
_ROUNDS = 4  # of those before a set is given up


@dataclass
class _State:
    """Pieces on the board, overlaps allowed: shape (n,) each."""

    kind: Ints
    turn: Ints
    x: Floats
    y: Floats

    def copy(self) -> "_State":
        return _State(self.kind.copy(), self.turn.copy(), self.x.copy(), self.y.copy())


class Improver:
    """Improves layouts of one board with a given amount of work and a seed."""

    def __init__(self, board: Board, seed: int, work: int) -> None:
        self.board = board
        self.work = np.array([work], np.int64)
        self.random = np.random.default_rng(seed)
        self.state = np.array([seed * 2654435761 % 2**63 + 88172645463325252], np.uint64)
        used = {turn.kind for turn in board.turns}
        self.kinds = sorted(used)
        least = min(board.kinds[k].outline.area for k in self.kinds)
        self._measures = _MEASURES
        self.step = float(np.sqrt(least)) / 6
        self.tables = tables(board, min(_SPOTS, _MOST_SPOTS // len(self.kinds)))
        self.separator = Separator(board, self.tables)
        self.worth = np.array([kind.worth for kind in board.kinds])
        self.wanted = np.array([kind.wanted for kind in board.kinds])

    def improve(self, spots: list[Spot], bound: float) -> list[Spot]:
        """Return the best layout found from `spots` until the work is used up or `bound` met."""
        best = _state(self.board, spots)
        value = self._value(best)
        first = self._crowd(0.62 * self.board.reachable_area())
        if not self._settle(first):
            first = self._thinned(first)
        if self._value(first) > value + 1e-9:
            best, value = first, self._value(first)
        base, rise = best, 1.5
        while self.work[0] > 0 and value < bound - 1e-9:
            trial = self._dearer(base, rise, bound)
            if trial is None:
                break
            if self._settle(trial):
                rise = min(rise * _UP, 4.0)
            else:
                rise = max(rise * _DOWN, 0.3)
                trial = self._thinned(trial)
            worth = self._value(trial)
            if worth > value + 1e-9 or (worth > value - 1e-9 and self._easier(trial, best)):
                best, value = trial, worth
            if worth >= self._value(base) - _SLIP * value * self.random.random() ** 2:
                base = trial
            elif self._value(base) < value - 1e-9 and self.random.random() < _BACK:
                base = best
        return _spots(best)

    def _easier(self, one: _State, other: _State) -> bool:
        """Tell whether `one`, worth as much as `other`, is easier to cut."""
        if self._measures == 0:
            return False
        self._measures -= 1
        self.work[0] -= _MEASURE_WORK
        return self._cuts(one) < self._cuts(other)

    def _cuts(self, state: _State) -> int:
        return ruler_measure(self.board.layout(_spots(state), 0.0).placements).cuts

    def _value(self, state: _State) -> float:
        return float(self.worth[state.kind].sum())

    def _settle(self, state: _State) -> bool:
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
            if left <= enough:
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
            if self.work[0] <= 0:
                break
        return False

    def _crowd(self, area: float) -> _State:
        """Return pieces of all kinds at random spots, dearest first, that cover about `area`."""
        state = _state(self.board, [])
        added: list[int] = []
        order = sorted(self.kinds, key=lambda k: -self.worth[k] / self.board.kinds[k].outline.area)
        shares = {k: self.wanted[k] * self.board.kinds[k].outline.area for k in order}
        total = sum(shares.values())
        share = min(1.0, area / total)
        for kind in order:
            added += [kind] * int(self.wanted[kind] * share)
        return self._with(state, [], added)

    def _thinned(self, state: _State) -> _State:
        """Return `state` without the pieces that overlap most for their worth, until none do."""
        count = len(state.kind)
        depth = np.zeros((count, count))
        depths(self.tables, state.turn, state.x, state.y, depth)
        kept = list(range(count))
        while True:
            rest = depth[np.ix_(kept, kept)].sum(axis=1)
            if not len(kept) or rest.max() <= 0.0:
                return _State(state.kind[kept], state.turn[kept], state.x[kept], state.y[kept])
            del kept[int(np.argmax(rest / self.worth[state.kind[kept]]))]

    def _shaken(self, state: _State) -> _State:
        """Return `state` with a third of its pieces thrown to random spots."""
        shaken = state.copy()
        count = len(state.kind)
        for i in self.random.choice(count, max(1, count // 3), replace=False):
            shaken.turn[i], shaken.x[i], shaken.y[i] = self._anywhere(int(state.kind[i]))
        return shaken

    def _anywhere(self, kind: int) -> tuple[int, float, float]:
        """Return a random spot of a random turn of `kind`."""
        at = self.tables
        first, last = at.spot_from[at.turn_from[kind]], at.spot_from[at.turn_from[kind + 1]]
        spot = int(self.random.integers(first, last))
        turn = int(np.searchsorted(at.spot_from, spot, side="right")) - 1
        return turn, float(at.spot[spot, 0]), float(at.spot[spot, 1])

    def _dearer(self, best: _State, rise: float, bound: float) -> _State | None:
        """Return a set worth more than `best`, by about `rise` times the least piece; None if none.

        Pieces are added, or changed for others, at random.
        """
        least = min(self.worth[k] for k in self.kinds)
        for _ in range(50):
            kind = best.kind.tolist()
            kept = list(range(len(kind)))
            added: list[int] = []
            counts = np.bincount(best.kind, minlength=len(self.worth))
            gain = 0.0
            for _ in range(4):
                drop = -1
                if kept and len(self.kinds) > 1 and self.random.random() < 0.6:
                    drop = int(self.random.integers(len(kept)))
                open_kinds = [k for k in self.kinds if counts[k] < self.wanted[k]]
                if not open_kinds:
                    break
                new = int(self.random.choice(open_kinds))
                if drop >= 0:
                    old = kind[kept.pop(drop)]
                    counts[old] -= 1
                    gain -= self.worth[old]
                added.append(new)
                counts[new] += 1
                gain += self.worth[new]
                if gain > 1e-9 and gain >= self.random.uniform(0.0, 1.0) * rise * least:
                    break
            if 1e-9 < gain <= max(2.0 * rise, 1.0) * least and (
                self._value(best) + gain <= bound + 1e-6
            ):
                return self._with(best, kept, added)
        return None

    def _with(self, best: _State, kept: list[int], added: list[int]) -> _State:
        places = [self._anywhere(kind) for kind in added]
        return _State(
            np.concatenate((best.kind[kept], np.array(added, np.int64))),
            np.concatenate((best.turn[kept], np.array([p[0] for p in places], np.int64))),
            np.concatenate((best.x[kept], np.array([p[1] for p in places]))),
            np.concatenate((best.y[kept], np.array([p[2] for p in places]))),
        )


def _state(board: Board, spots: list[Spot]) -> _State:
    return _State(
        np.array([board.turns[s.turn].kind for s in spots], np.int64),
        np.array([s.turn for s in spots], np.int64),
        np.array([s.x for s in spots], np.float64),
        np.array([s.y for s in spots], np.float64),
    )


def _spots(state: _State) -> list[Spot]:
    return [
        Spot(int(t), float(x), float(y))
        for t, x, y in zip(state.turn, state.x, state.y, strict=True)
    ]
