r"""Which strips are joined in which order with the least loss; exact.

Strips of one width, right side up, are joined by diagonal seams, all of slope +45 (``/``) or
-45 (``\``). A strip can be turned end for end, which keeps the slope of its ends, but not over.

Why only the slopes at both ends of a strip matter, and not the order: let the two slopes be the two
nodes of a graph, and each strip an edge from the slope of the join at its start to that at its
end. A ring of strips is a closed walk that takes each edge once, in either direction (turning a
strip takes its edge backwards). By Euler's theorem there is one exactly where each node has an even
number of edge ends and the edges are connected: the number of *mixed* strips, with one join of each
slope, is even, and it is not nought where there are strips with both joins ``/`` and others with
both ``\``. What a strip loses depends on the slopes of its own two joins alone. So the least loss
is found by choosing for each strip one of three kinds (both ``/``, both ``\``, mixed), with dynamic
programming over: how many strips, whether an odd number are mixed, and which kinds there are.
"""

import math
from collections.abc import Iterator, Sequence
from typing import Final, Literal, NamedTuple

from scrapstore.finishing.forms import StripEnds

__all__ = ["Joined", "best_rings", "end_loss", "least_length", "ring_orders"]

Kind = Literal["/", "\\", "mixed"]
_SAME: Final = 1e-6
"""Degrees by which two slopes differ that are the same."""
_NEAR: Final = 1e-9
"""Inches that are nothing."""
_LEAN: Final = 45.0


class Joined(NamedTuple):
    """A strip of a ring: what it can give, and the slopes of the joins at its own two ends.

    `strip` is its place among the strips given.
    """

    strip: int
    length: float
    start_deg: float
    end_deg: float

    @property
    def mixed(self) -> bool:
        """Whether its joins have different slopes."""
        return self.start_deg != self.end_deg


def end_loss(slope_deg: float, join_deg: float, width: float, seam: float) -> float:
    """Return what an end loses at a join, in inches along the centre line.

    `slope_deg` is how the end is cut, `join_deg` the slope of the join. An end of the join's slope
    loses the seam allowance, measured along the strip. Two square ends are crossed at right angles
    and sewn from corner to corner; the allowance lies in what is cut off. Any other end is cut
    anew to the join's slope, and loses the allowance too.
    """
    allowance = seam / math.cos(math.radians(join_deg))
    if abs(slope_deg - join_deg) < _SAME:
        return allowance
    apart = abs(math.tan(math.radians(join_deg)) - math.tan(math.radians(slope_deg)))
    return width / 2 * apart + (0.0 if abs(slope_deg) < _SAME else allowance)


def least_length(strip: Joined, width: float) -> float:
    """Return the least length between the joins of a strip: their seams must not cross in it."""
    return width if strip.mixed else 0.0


def _options(index: int, strip: StripEnds, width: float, seam: float) -> Iterator[Joined]:
    """Yield what a strip gives as each kind, where it gives anything."""
    found: dict[Kind, Joined] = {}
    for start_deg in (_LEAN, -_LEAN):
        for end_deg in (_LEAN, -_LEAN):
            lost = end_loss(strip.start_slope_deg, start_deg, width, seam)
            lost += end_loss(strip.end_slope_deg, end_deg, width, seam)
            one = Joined(index, strip.length - lost, start_deg, end_deg)
            best = found.get(_kind(one))
            enough = one.length > least_length(one, width) + _NEAR
            if enough and (best is None or one.length > best.length):
                found[_kind(one)] = one
    yield from found.values()


def _kind(strip: Joined) -> Kind:
    if strip.mixed:
        return "mixed"
    return "/" if strip.start_deg > 0 else "\\"


class _State(NamedTuple):
    """What matters of the strips chosen so far."""

    number: int = 0
    odd: bool = False
    kinds: frozenset[Kind] = frozenset()

    def after(self, strip: Joined, apart: int) -> "_State":
        kinds = self.kinds | {_kind(strip)}
        return _State(min(self.number + 1, apart + 1), self.odd ^ strip.mixed, kinds)

    @property
    def closes(self) -> bool:
        return self.number > 0 and not self.odd and self.kinds != {"/", "\\"}


class _Chosen(NamedTuple):
    """Strips that were chosen one after another, and their length together."""

    length: float = 0.0
    last: Joined | None = None
    before: "_Chosen | None" = None

    def strips(self) -> tuple[Joined, ...]:
        found: list[Joined] = []
        chosen: _Chosen | None = self
        while chosen is not None and chosen.last is not None:
            found.append(chosen.last)
            chosen = chosen.before
        return tuple(reversed(found))


def best_rings(
    strips: Sequence[StripEnds],
    width: float,
    seam: float,
    *,
    apart: int,
    needs: Joined | None = None,
) -> dict[int, tuple[Joined, ...]]:
    """Return, by the number of strips in it, the longest ring; no entry where there is none.

    Numbers up to `apart` are kept apart; the longest of all larger rings is at `apart` + 1. Strips
    may be left out, but the one that a ring `needs`, just so, is in it beside them.
    """
    states: dict[_State, _Chosen] = {_State(): _Chosen()}
    choices = [tuple(_options(index, strip, width, seam)) for index, strip in enumerate(strips)]
    if needs is not None:
        choices.append((needs,))
    for index, options in enumerate(choices):
        longer = {} if index == len(strips) else dict(states)
        for state, chosen in states.items():
            for one in options:
                after = state.after(one, apart)
                length = chosen.length + one.length
                if after not in longer or length > longer[after].length:
                    longer[after] = _Chosen(length, one, chosen)
        states = longer
    best: dict[int, _Chosen] = {}
    for state, chosen in states.items():
        if state.closes and (state.number not in best or chosen.length > best[state.number].length):
            best[state.number] = chosen
    return {count: chosen.strips() for count, chosen in sorted(best.items())}


def ring_orders(strips: Sequence[Joined]) -> Iterator[tuple[tuple[Joined, bool], ...]]:
    """Yield the orders in which strips that close can be joined, each with whether it is turned.

    All begin with the first strip, so each ring comes once in either direction; orders of lower
    indexes come first. A strip whose joins have one slope is not turned: it would change nothing.
    """
    first = strips[0]
    for turned in (False, True) if first.mixed else (False,):
        start, at = (first.end_deg, first.start_deg) if turned else first[2:]
        for rest in _walks(tuple(strips[1:]), at, start):
            yield ((first, turned), *rest)


def _walks(
    rest: tuple[Joined, ...], at: float, goal: float
) -> Iterator[tuple[tuple[Joined, bool], ...]]:
    """Yield the walks over all of `rest` from the slope `at` to the slope `goal`."""
    if not rest:
        if at == goal:
            yield ()
        return
    # Euler's conditions for what is left, so that no walk begun here comes to a dead end.
    mixed = sum(one.mixed for one in rest)
    if (mixed % 2 == 1) != (at != goal):
        return
    if not mixed and any(one.start_deg != at for one in rest):
        return
    for place, one in enumerate(rest):
        if not one.mixed and one.start_deg != at:
            continue
        turned = one.mixed and one.start_deg != at
        left = rest[:place] + rest[place + 1 :]
        for walk in _walks(left, -at if one.mixed else at, goal):
            yield ((one, turned), *walk)
