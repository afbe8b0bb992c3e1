"""Strips for a handful of rectangles by trying everything: slow and obvious."""

from functools import cache
from itertools import product

Rect = tuple[float, float]
"""Length along the strip, height across it."""


def least_by_trying(rects: tuple[Rect, ...], room: float, *, turn: bool) -> float:
    """Return the least total width of strips `room` long that give `rects`.

    A strip is as wide as its highest pieces; they come first, and its end is cut into narrower
    strips one above the other, whose pieces lie end to end. With `turn` each may lie either way.
    """
    if not turn:
        return _least(tuple(sorted(rects)), room)
    ways = product(*(((w, h), (h, w)) for w, h in rects))
    return min(_least(tuple(sorted(way)), room) for way in set(ways))


def _least(rects: tuple[Rect, ...], room: float) -> float:
    def narrow(members: int, length: float) -> float:
        """Width of one strip with all `members` end to end; infinite where it is too short."""
        some = [r for i, r in enumerate(rects) if members >> i & 1]
        if sum(w for w, _ in some) > length + 1e-9:
            return float("inf")
        return max(h for _, h in some)

    @cache
    def stacked(members: int, length: float) -> float:
        if not members:
            return 0.0
        first = members & -members
        return min(
            narrow(block, length) + stacked(members & ~block, length)
            for block in _parts(members)
            if block & first
        )

    def strip(members: int) -> float:
        some = [i for i in range(len(rects)) if members >> i & 1]
        width = max(rects[i][1] for i in some)
        main = [i for i in some if rects[i][1] == width]
        rest = room - sum(rects[i][0] for i in main)
        if rest < -1e-9:
            return float("inf")
        others = sum(1 << i for i in some if i not in main)
        return width if stacked(others, rest) <= width + 1e-9 else float("inf")

    @cache
    def best(members: int) -> float:
        if not members:
            return 0.0
        first = members & -members
        return min(
            strip(block) + best(members & ~block) for block in _parts(members) if block & first
        )

    return best((1 << len(rects)) - 1)


def _parts(members: int) -> list[int]:
    """Return the sets of some of `members`, as bits, but not none."""
    found, part = [], members
    while part:
        found.append(part)
        part = (part - 1) & members
    return found
