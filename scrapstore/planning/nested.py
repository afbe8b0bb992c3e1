"""Pieces nested freely on fabric of full width: what strips cost beside it."""

import math
from collections.abc import Sequence
from typing import Final

from shapely import box

from scrapstore.packing import PieceKind, fill, verify
from scrapstore.yardage import StripPiece

__all__ = ["TRIES", "nested_length"]

TRIES: Final = 8
"""Lengths that are tried, each half way between one that is too short and one that will do."""


def nested_length(
    pieces: Sequence[StripPiece],
    width: float,
    known: float,
    *,
    work: float = 1.0,
    workers: int = 2,
) -> float:
    """Return the shortest length found that holds all `pieces` anywhere on it, at most `known`.

    Inches; `known` is a length that is enough. They lie as their grain allows, not turned over,
    and no ruler need part them: they are cut by template. `work` is that for each try, as
    `packing.fill` counts it.
    """
    kinds = [
        PieceKind(piece.name, piece.cut, piece.count, piece.rotations_deg, mirror=False)
        for piece in pieces
        if piece.count
    ]
    wanted = sum(kind.wanted for kind in kinds)
    low = math.fsum(kind.outline.area * kind.wanted for kind in kinds) / width
    high = known
    for _ in range(TRIES):
        middle = (low + high) / 2
        region = box(0, 0, middle, width)
        layout = fill(region, kinds, work, workers=workers)
        if len(layout.placements) == wanted and not verify(region, kinds, layout):
            high = min(middle, max(placed.outline.bounds[2] for placed in layout.placements))
        else:
            low = middle
    return high
