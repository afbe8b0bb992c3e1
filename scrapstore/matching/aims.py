"""The aims of a plan, and what they weigh: cloth kept whole, scraps to fetch, ruler cuts."""

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Final, Literal, get_args

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon

from scrapstore.errors import PlanError
from scrapstore.matching.patterns import Pattern

__all__ = [
    "AIMS",
    "DEFAULT_AIMS",
    "Aim",
    "checked_aims",
    "cloth_worth",
    "costs",
    "ruler_cuts",
    "spent",
]

Aim = Literal["cover", "keep", "scraps", "cuts"]
"""Most yardage saved; small scraps used up and large ones kept whole; fewest scraps to fetch;
fewest ruler cuts."""

AIMS: Final[tuple[Aim, ...]] = get_args(Aim)
DEFAULT_AIMS: Final[tuple[Aim, ...]] = ("cover", "keep", "scraps", "cuts")

# What is left is worth its largest rectangle to the power 5/4, so that one piece of 100 sq in is
# worth more than four of 25; a quarter is given for what lies beside that rectangle.
_POWER = 1.25
_BESIDE = 0.25
_CELLS = 24  # the region is looked at in so many cells each way


def checked_aims(words: Sequence[str]) -> tuple[Aim, ...]:
    """Return the aims in the order of `words`, those left out behind them in the usual order.

    Raises PlanError for an unknown word, and where another aim stands before "cover": fewest
    scraps first, for example, is best kept by cutting nothing at all.
    """
    named = [word.strip().lower() for word in words]
    unknown = [word for word in named if word not in AIMS]
    if unknown or len(set(named)) < len(named):
        wrong = f"{unknown[0]!r} is none" if unknown else "one is named twice"
        raise PlanError(f"aims: {wrong}; put some of {', '.join(AIMS)} in your order")
    if named and named[0] != "cover":
        msg = (
            f"aims: {named[0]!r} before 'cover' is best kept by cutting nothing; put cover first, "
            f"as in cover,{','.join(word for word in named if word != 'cover')}"
        )
        raise PlanError(msg)
    first = [aim for word in named for aim in AIMS if aim == word]
    return (*first, *(aim for aim in DEFAULT_AIMS if aim not in named))


def cloth_worth(region: Polygon | MultiPolygon) -> float:
    """Return what a region is worth to keep: its largest rectangle counts more than slivers.

    The rectangle lies along the grain and is found on a grid, so it may come out a little small;
    this weighs plans and proves nothing. Zero for an empty region.
    """
    if region.is_empty:
        return 0.0
    rectangle = _largest_rectangle(region)
    return float(rectangle**_POWER + _BESIDE * max(0.0, region.area - rectangle))


def spent(region: Polygon | MultiPolygon, pattern: Pattern) -> int:
    """Return what cutting `pattern` takes from the worth of its region, a whole number ≥ 1."""
    taken = shapely.union_all([placement.outline for placement in pattern.placements])
    left = region.difference(taken)
    parts = [part for part in getattr(left, "geoms", [left]) if isinstance(part, Polygon)]
    after = sum(cloth_worth(part) for part in parts if part.area > 1)
    return max(1, round(cloth_worth(region) - after))


def ruler_cuts(pattern: Pattern) -> int:
    """Return along how many straight lines the edges of a pattern's pieces lie."""
    lines = set()
    for placement in pattern.placements:
        corners = np.asarray(placement.outline.exterior.coords)
        for (x0, y0), (x1, y1) in pairwise(corners.tolist()):
            angle = math.atan2(y1 - y0, x1 - x0) % math.pi
            if angle > math.pi - 1e-4:
                angle = 0.0
            offset = y0 * math.cos(angle) - x0 * math.sin(angle)
            lines.add((round(angle, 2), round(offset, 2)))
    return len(lines)


def _largest_rectangle(region: Polygon | MultiPolygon) -> float:
    x0, y0, x1, y1 = region.bounds
    xs, ys = np.linspace(x0, x1, _CELLS + 1), np.linspace(y0, y1, _CELLS + 1)
    # A hair outwards, so that the corners of a straight rectangle count as inside.
    near = region.buffer(1e-6, join_style="mitre")
    shapely.prepare(near)
    inside = shapely.contains_xy(near, xs[None, :], ys[:, None])
    cells = inside[:-1, :-1] & inside[1:, :-1] & inside[:-1, 1:] & inside[1:, 1:]
    step = (x1 - x0) / _CELLS, (y1 - y0) / _CELLS
    heights = [0] * _CELLS
    best = 0
    for row in cells.tolist():
        heights = [height + 1 if free else 0 for height, free in zip(heights, row, strict=True)]
        best = max(best, _widest(heights))
    return best * step[0] * step[1]


def _widest(heights: Sequence[int]) -> int:
    """Return the most cells of a rectangle under a histogram."""
    best, open_at = 0, list[tuple[int, int]]()
    for at, height in enumerate([*heights, 0]):
        start = at
        while open_at and open_at[-1][1] >= height:
            start, tall = open_at.pop()
            best = max(best, tall * (at - start))
        open_at.append((start, height))
    return best


def costs(
    aim: Aim,
    patterns: Sequence[Pattern],
    regions: Mapping[int, Polygon | MultiPolygon],
) -> list[int]:
    """Return what each pattern costs under one of the aims that follow "cover"."""
    if aim == "keep":
        return [spent(regions[pattern.scrap_id], pattern) for pattern in patterns]
    if aim == "cuts":
        return [ruler_cuts(pattern) for pattern in patterns]
    return [1] * len(patterns)
