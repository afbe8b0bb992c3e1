"""The aims of a plan, and what they weigh: cloth kept whole, scraps to fetch, ruler cuts."""

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Final, Literal, get_args

import numpy as np
import shapely
from numpy.typing import NDArray
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
    return float(_worths(np.array([region], dtype=object))[0])


def _worths(regions: NDArray[np.object_]) -> NDArray[np.float64]:
    """Return what each of some regions is worth, (n,); see `cloth_worth`."""
    rectangles = _largest_rectangles(regions)
    beside = np.maximum(0.0, shapely.area(regions) - rectangles)
    worths: NDArray[np.float64] = rectangles**_POWER + _BESIDE * beside
    return worths


def spent(regions: Mapping[int, Polygon | MultiPolygon], patterns: Sequence[Pattern]) -> list[int]:
    """Return what cutting each pattern takes from the worth of its region, whole numbers ≥ 1."""
    ids = list(dict.fromkeys(pattern.scrap_id for pattern in patterns))
    before = dict(zip(ids, _worths(np.array([regions[i] for i in ids], dtype=object)), strict=True))
    taken = [shapely.union_all([p.outline for p in pattern.placements]) for pattern in patterns]
    left = shapely.difference([regions[pattern.scrap_id] for pattern in patterns], taken)
    parts, owner = shapely.get_parts(left, return_index=True)
    counts = (shapely.get_type_id(parts) == shapely.GeometryType.POLYGON) & (
        shapely.area(parts) > 1
    )
    after = np.zeros(len(patterns))
    np.add.at(after, owner[counts], _worths(parts[counts]))
    return [
        max(1, round(float(before[pattern.scrap_id] - rest)))
        for pattern, rest in zip(patterns, after, strict=True)
    ]


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


def _largest_rectangles(regions: NDArray[np.object_]) -> NDArray[np.float64]:
    """Return the area of the largest rectangle along the axes in each region, (n,)."""
    cells = np.zeros((len(regions), _CELLS, _CELLS), dtype=np.bool_)
    cell_area = np.zeros(len(regions))
    for number, region in enumerate(regions):
        if region.is_empty:
            continue
        x0, y0, x1, y1 = region.bounds
        xs, ys = np.linspace(x0, x1, _CELLS + 1), np.linspace(y0, y1, _CELLS + 1)
        # A hair outwards, so that the corners of a straight rectangle count as inside.
        near = region.buffer(1e-6, join_style="mitre")
        shapely.prepare(near)
        inside = shapely.contains_xy(near, xs[None, :], ys[:, None])
        cells[number] = inside[:-1, :-1] & inside[1:, :-1] & inside[:-1, 1:] & inside[1:, 1:]
        cell_area[number] = (x1 - x0) * (y1 - y0) / _CELLS**2
    best = np.zeros(len(regions), dtype=np.int64)
    free = cells
    for height in range(1, _CELLS + 1):
        # free[n, r, c]: the cells of column c from row r on are free, so many as `height`.
        if height > 1:
            free = free[:, :-1] & cells[:, height - 1 :]
        run = np.zeros(free.shape[:2], dtype=np.int64)
        for column in range(_CELLS):
            run = (run + 1) * free[:, :, column]
            np.maximum(best, height * run.max(axis=1), out=best)
    rectangles: NDArray[np.float64] = best * cell_area
    return rectangles


def costs(
    aim: Aim,
    patterns: Sequence[Pattern],
    regions: Mapping[int, Polygon | MultiPolygon],
) -> list[int]:
    """Return what each pattern costs under one of the aims that follow "cover"."""
    if aim == "keep":
        return spent(regions, patterns)
    if aim == "cuts":
        return [ruler_cuts(pattern) for pattern in patterns]
    return [1] * len(patterns)
