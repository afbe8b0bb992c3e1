"""Where the joins of a binding come to lie: as far from corners and given stretches as can be.

Lengths are inches along the binding, which starts at corner 0 and is as long as what is needed.
A join may lie in gaps between what it keeps off. With the margin m each gap loses m at both ends.
Join i lies at q[i], and from it to the next one strip reaches: least[i] <= q[i+1] - q[i] <=
most[i]; the last reaches the first, a whole round later.

For joins in given gaps these are difference constraints. Their solutions have a smallest one, in
which every join is held back by a chain of tight constraints that begins at the lower end of a gap:
forward from an earlier join over least lengths, or back from a later one over greatest lengths. So
the first join need be tried in those few places only, and all else follows by carrying forward the
intervals that the next join can lie in. The greatest margin is found by bisection on m.
"""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from itertools import accumulate, combinations
from math import inf
from typing import Final

__all__ = ["Gap", "fewest_shortened", "places", "widest_margin"]

Gap = tuple[float, float]
_NEAR: Final = 1e-9
"""Inches that are nothing."""
_HALVINGS: Final = 60
_ALL_SUBSETS: Final = 6
"""With more strips not all sets of them are tried for which are shortened."""


def places(
    margin: float,
    gaps: Sequence[Gap],
    needed: float,
    least: Sequence[float],
    most: Sequence[float],
    start: float | None = None,
) -> tuple[float, ...] | None:
    """Return where the joins lie with this margin, the first as early as it can; None for nowhere.

    With `start` the first lies there, whatever it should keep off. They are in order along the
    binding; those beyond `needed` are in the next round.
    """
    open_gaps = sorted(
        (low + margin + turn * needed, high - margin + turn * needed)
        for low, high in gaps
        if low + margin <= high - margin + _NEAR
        for turn in (-1, 0, 1, 2)
    )
    if start is not None:
        return _round(start, open_gaps, needed, least, most)
    for first in sorted({at % needed for at in _first_places(margin, gaps, least, most)}):
        if any(low - _NEAR <= first <= high + _NEAR for low, high in open_gaps):
            found = _round(first, open_gaps, needed, least, most)
            if found is not None:
                return found
    return None


def _first_places(
    margin: float, gaps: Sequence[Gap], least: Sequence[float], most: Sequence[float]
) -> Iterator[float]:
    forward = [sum(least[join:]) for join in range(len(least))]
    back = list(accumulate(most, initial=0.0))[:-1]
    for low, _ in gaps:
        for join in range(len(least)):
            yield low + margin + (forward[join] if join else 0.0)
            yield low + margin - back[join]


def _round(
    start: float,
    gaps: Sequence[Gap],
    needed: float,
    least: Sequence[float],
    most: Sequence[float],
) -> tuple[float, ...] | None:
    """Return where the joins lie when the first is at `start`, None where they cannot."""
    can: list[list[Gap]] = [[(start, start)]]
    for shortest, longest in zip(least[:-1], most[:-1], strict=True):
        reach = [(low + shortest, high + longest) for low, high in can[-1]]
        found = _common(reach, gaps)
        if not found:
            return None
        can.append(found)
    joins = [start + needed]
    for intervals, shortest, longest in reversed(list(zip(can, least, most, strict=True))):
        after = joins[0]
        at = next(
            (
                max(low, after - longest)
                for low, high in intervals
                if max(low, after - longest) <= min(high, after - shortest) + _NEAR
            ),
            None,
        )
        if at is None:
            return None
        joins.insert(0, at)
    return tuple(joins[:-1])


def _common(reach: Sequence[Gap], gaps: Sequence[Gap]) -> list[Gap]:
    """Return what intervals and gaps, both in order of where they begin, have in common."""
    joined: list[Gap] = []
    for low, high in reach:
        if joined and low <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(high, joined[-1][1]))
        else:
            joined.append((low, high))
    found: list[Gap] = []
    for low, high in joined:
        # Gaps are all of them widened or narrowed alike, so they end in the order they begin in.
        for gap_low, gap_high in gaps[max(0, bisect_right(gaps, (low, inf)) - 1) :]:
            if gap_low > high + _NEAR:
                break
            start, end = max(low, gap_low), min(high, gap_high)
            if start <= end + _NEAR:
                found.append((start, max(start, end)))
    return found


def widest_margin(
    gaps: Sequence[Gap],
    needed: float,
    least: Sequence[float],
    most: Sequence[float],
    beyond: float | None = None,
    start: float | None = None,
) -> float | None:
    """Return the greatest margin for which `places` finds any; None where none is above `beyond`.

    It is below 0 where a join cannot but lie in what it should keep off.
    """
    high = max((high - low) / 2 for low, high in gaps)
    low = -needed if beyond is None else beyond
    if places(low + _NEAR, gaps, needed, least, most, start) is None:
        return None
    if places(high, gaps, needed, least, most, start) is not None:
        return high
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        if places(middle, gaps, needed, least, most, start) is None:
            high = middle
        else:
            low = middle
    return low


def fewest_shortened(
    margin: float,
    gaps: Sequence[Gap],
    needed: float,
    least: Sequence[float],
    most: Sequence[float],
    start: float | None = None,
) -> tuple[float, ...]:
    """Return where the joins lie with this margin when as few strips as can be are shortened.

    Of as many, those joined last are: that is where a length is cut off in practice.
    """
    for shortened in _subsets(len(most)):
        lower = [least[at] if at in shortened else most[at] for at in range(len(most))]
        found = places(margin, gaps, needed, lower, most, start)
        if found is not None:
            return found
    raise AssertionError("all may be shortened, so a margin that was found is found again")


def _subsets(count: int) -> Iterator[tuple[int, ...]]:
    """Yield which strips may be shortened: few first, the last first; of many, runs at the end."""
    last_first = range(count - 1, -1, -1)
    if count <= _ALL_SUBSETS:
        for size in range(1, count + 1):
            yield from combinations(last_first, size)
    else:
        yield from ((at,) for at in last_first)
        yield from (tuple(last_first[:size]) for size in range(2, count + 1))
