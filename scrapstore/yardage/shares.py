"""Pieces of one role shared out among fabrics, where no fabric may give all of them."""

import math
from collections.abc import Sequence
from dataclasses import replace

from scrapstore.yardage.nesting import StripPiece

__all__ = ["fabric_shares"]

_Unit = tuple[int, int]
"""A kind of piece, by its place in the list, and how many of it must stay together."""


def fabric_shares(
    wanted: Sequence[StripPiece], *, at_least: int = 1, at_most: int | None = None, sets: int = 1
) -> tuple[tuple[StripPiece, ...], ...]:
    """Return what each fabric gives: as few fabrics as can be, and about as many pieces from each.

    There are `at_least` fabrics, as far as the pieces go round, and no fabric gives more than
    `at_most` pieces. Pieces of one kind stay together in full `sets`; a set larger than `at_most`
    stays whole all the same.

    >>> from shapely import box
    >>> shares = fabric_shares([StripPiece("square", box(0, 0, 4, 4), 16)], at_least=3)
    >>> [[piece.count for piece in share] for share in shares]
    [[6], [5], [5]]
    """
    units = [
        (kind, min(sets, piece.count - at))
        for kind, piece in enumerate(wanted)
        for at in range(0, piece.count, sets)
    ]
    if not units:
        return ()
    total = sum(size for _, size in units)
    fewest = max(1, min(at_least, len(units)), math.ceil(total / at_most) if at_most else 1)
    for fabrics in range(min(fewest, len(units)), len(units) + 1):
        shares = _in_order(units, fabrics)
        if at_most is None or all(sum(n for _, n in share) <= at_most for share in shares):
            break
    return tuple(_pieces(wanted, share) for share in shares)


def _in_order(units: Sequence[_Unit], fabrics: int) -> list[list[_Unit]]:
    """Share out `units` in their order; each fabric gets one at least, and all about as much."""
    shares: list[list[_Unit]] = []
    at, left = 0, sum(size for _, size in units)
    for fabric in range(fabrics, 0, -1):
        share: list[_Unit] = []
        fair, size = math.ceil(left / fabric), 0
        while len(units) - at > fabric - 1 and (not share or size + units[at][1] <= fair):
            share.append(units[at])
            size += units[at][1]
            at += 1
        if fabric == 1:
            share += units[at:]
        left -= sum(size for _, size in share)
        shares.append(share)
    return shares


def _pieces(wanted: Sequence[StripPiece], share: Sequence[_Unit]) -> tuple[StripPiece, ...]:
    counts = dict.fromkeys(range(len(wanted)), 0)
    for kind, size in share:
        counts[kind] += size
    return tuple(replace(wanted[kind], count=n) for kind, n in counts.items() if n)
