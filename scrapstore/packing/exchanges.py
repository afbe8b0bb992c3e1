"""Which more valuable set of pieces to try next, and where its new pieces come in.

The new pieces are put where they overlap least: the more room they find, the likelier the overlap
can be removed. Three ways to a more valuable set are compared, with some chance, so that a search
does not try the same one for ever:

* one piece more, or a piece changed for one of another kind, all of them;
* a few pieces, each changed for two, with every kind as the first of the two;
* ruin and recreate: a piece of any kind in place of pieces worth little, and more in the gaps.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scrapstore.packing.compiled import (
    Tables,
    add_cover,
    cheapest_exchanges,
    cheapest_spots,
    covers,
)
from scrapstore.packing.state import State

__all__ = ["Exchanges"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Singles = NDArray[np.float32]

_NOISE = 0.3  # an overlap counts for between this and all of it
_FLOOR = 0.05  # of a step, added to every overlap, so that chance works on those without any too
_SPOT_NOISE = 0.5  # of the overlap at a spot
_DOUBLES = 4  # pieces for which a change for two others is tried
_RUINS = 3  # pieces that are tried in place of those that they overlap
_DEEP = 1.0  # of a step: overlap from which a piece is taken out

# The work that looking through exchanges counts for, as measured.
_LOOK_WORK = 50_000
_FILL_WORK = 10_000


@dataclass
class _Option:
    """Pieces `out` of a state for pieces at the spots `into`; `score` is how much they overlap."""

    score: float
    out: list[int]
    into: list[int]


class Exchanges:
    """Chooses more valuable sets of pieces for the states of one problem.

    `worth` and `wanted` (kinds,); `step` is what overlap is measured by, in inches.
    """

    def __init__(
        self,
        tables: Tables,
        worth: Floats,
        wanted: Ints,
        step: float,
        random: np.random.Generator,
    ) -> None:
        self.tables, self.worth, self.wanted = tables, worth, wanted
        self.step, self.random = step, random
        self.many = int((np.diff(tables.turn_from) > 0).sum()) > 1

    def more_valuable(self, state: State, most: float, wish: float, work: Ints) -> State | None:
        """Return a set worth more than `state` by up to `most`, by `wish` or more where possible.

        `work[0]` falls by what that took. None when there is no such set.
        """
        cover = covers(self.tables, state.turn, state.x, state.y)
        work[0] -= 4 * cover.size + _LOOK_WORK
        left = self.wanted - np.bincount(state.kind, minlength=len(self.worth))
        options = [self._single(state, cover, left, most, wish)]
        if self.many:
            options += [
                option
                for out in self.random.permutation(len(state.kind))[:_DOUBLES].tolist()
                for option in self._doubles(state, cover, left, out, most, wish, work)
            ]
            options += [self._ruin(state, cover, left, most, wish, work) for _ in range(_RUINS)]
        found = [option for option in options if option is not None]
        if not found:
            return None
        best = min(found, key=lambda option: option.score)
        return self._exchanged(state, best)

    def _single(
        self, state: State, cover: Singles, left: Ints, most: float, wish: float
    ) -> _Option | None:
        """Return the best of all ways to add one piece, or to change one for another."""
        depth = np.empty((len(state.kind) + 1, len(self.worth)))
        cheapest_exchanges(self.tables, cover, depth)
        gain = self.worth - np.append(self.worth[state.kind], 0.0)[:, None]
        score = self._scores(depth, gain, left, most, wish)
        row, kind = np.unravel_index(int(score.argmin()), score.shape)
        if score[row, kind] == np.inf:
            return None
        out = [int(row)] if row < len(state.kind) else []
        total = cover.sum(axis=0) - cover[out].sum(axis=0)
        first, last = self.tables.spot_from[self.tables.turn_from[[kind, kind + 1]]]
        # Not always the very cheapest spot: where one piece is added again and again to the same
        # layout, it must not always come in at the same place.
        own = (total[first:last] + 1e-3 * self.step) * self.random.uniform(
            1.0 - _SPOT_NOISE, 1.0, int(last - first)
        )
        return _Option(float(score[row, kind]), out, [int(first + own.argmin())])

    def _doubles(
        self, state: State, cover: Singles, left: Ints, out: int, most: float, wish: float,
        work: Ints,
    ) -> list[_Option | None]:  # fmt: skip
        """Return ways to change piece `out` for two others, one for each kind as the first."""
        total = cover.sum(axis=0) - cover[out]
        depth, spot = self._cheapest(total)
        gain = self.worth - self.worth[state.kind[out]]
        found = []
        for kind in np.flatnonzero((left > 0) & (depth < 1e30) & (gain < most)).tolist():
            rest = left - (np.arange(len(left)) == kind)
            start = _Option(float(depth[kind]), [out], [int(spot[kind])])
            found.append(self._filled(start, total, rest, gain[kind], most, wish, 1, work))
        return found

    def _ruin(
        self, state: State, cover: Singles, left: Ints, most: float, wish: float, work: Ints
    ) -> _Option | None:
        """Return a piece in place of pieces worth little that it overlaps, and more in the gaps."""
        open_kinds = np.flatnonzero((left > 0) & (np.diff(self.tables.turn_from) > 0))
        if not len(open_kinds):
            return None
        kind = int(self.random.choice(open_kinds))
        first, last = self.tables.spot_from[self.tables.turn_from[[kind, kind + 1]]]
        overlapped = cover[:, first:last] > _DEEP * self.step
        work[0] -= 2 * overlapped.size + _FILL_WORK
        lost = (self.worth[state.kind, None] * overlapped).sum(axis=0)
        lost *= self.random.uniform(0.5, 1.0, int(last - first))
        spot = int(lost.argmin())
        out = np.flatnonzero(overlapped[:, spot]).tolist()
        if not out:
            return None
        total = cover.sum(axis=0) - cover[out].sum(axis=0)
        rest = left + np.bincount(state.kind[out], minlength=len(left))
        rest[kind] -= 1
        gain = float(self.worth[kind] - self.worth[state.kind[out]].sum())
        start = _Option(float(total[first + spot]), out, [int(first + spot)])
        if 1e-9 < gain <= most:
            return _Option(start.score + _FLOOR * self.step, out, start.into)
        if gain > most:
            return None
        return self._filled(start, total, rest, gain, most, wish, 4, work)

    def _filled(
        self, start: _Option, total: Singles, left: Ints, gain: float, most: float, wish: float,
        pieces: int, work: Ints,
    ) -> _Option | None:  # fmt: skip
        """Return `start` with up to `pieces` more that make it worth enough; None if they do not.

        `total` is the overlap at each spot before the last piece of `start` came in, `gain` the
        worth that `start` adds.
        """
        total, left = total.copy(), left.copy()
        score, into = start.score, list(start.into)
        for _ in range(pieces):
            add_cover(self.tables, into[-1], total)
            work[0] -= 3 * len(total) + _FILL_WORK
            depth, spot = self._cheapest(total)
            enough = self._scores(depth, gain + self.worth, left, most, wish)
            kind = int(enough.argmin())
            if enough[kind] < np.inf:
                return _Option(score + float(enough[kind]), start.out, [*into, int(spot[kind])])
            open_kinds = (left > 0) & (depth < 1e30) & (gain + self.worth <= most)
            if not open_kinds.any():
                return None
            noise = self.random.uniform(_NOISE, 1.0, len(depth))
            each = np.where(open_kinds, (depth + _FLOOR * self.step) / self.worth * noise, np.inf)
            kind = int(each.argmin())
            score += float(depth[kind])
            gain += float(self.worth[kind])
            left[kind] -= 1
            into.append(int(spot[kind]))
        return None

    def _cheapest(self, total: Singles) -> tuple[Floats, Ints]:
        depth, spot = np.empty(len(self.worth)), np.empty(len(self.worth), np.int64)
        cheapest_spots(self.tables, total, depth, spot)
        return depth, spot

    def _scores(self, depth: Floats, gain: Floats, left: Ints, most: float, wish: float) -> Floats:
        """Return depth with some noise where the gain is right, infinite elsewhere."""
        right = (left > 0) & (depth < 1e30) & (gain > 1e-9) & (gain <= most)
        enough = right & (gain >= wish) if (right & (gain >= wish)).any() else right
        noise = self.random.uniform(_NOISE, 1.0, depth.shape)
        return np.where(enough, (depth + _FLOOR * self.step) * noise, np.inf)

    def _exchanged(self, state: State, option: _Option) -> State:
        into = np.array(option.into, np.int64)
        turn = np.searchsorted(self.tables.spot_from, into, side="right") - 1
        kind = np.searchsorted(self.tables.turn_from, turn, side="right") - 1
        x, y = self.tables.spot[into].T
        kept = [i for i in range(len(state.kind)) if i not in option.out]
        return state.kept(kept).joined(State(kind, turn, x.copy(), y.copy()))
