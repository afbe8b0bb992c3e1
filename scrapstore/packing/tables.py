"""Arrays of a problem for the compiled loops and for the exact separation."""

from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon

from scrapstore.packing.compiled import Tables
from scrapstore.packing.convex import half_planes, inset
from scrapstore.packing.pieces import alike, lengths, products
from scrapstore.packing.problem import PackingProblem
from scrapstore.packing.regions import TOLERANCE, region_edges

__all__ = ["obstacles", "tables"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

_REPEATED = 1e-5  # inches between the corners of two turns that a search takes for one
_ROOMY = 0.01  # square inches of positions; with less, the last millionth may decide


def tables(problem: PackingProblem, spots_per_kind: int) -> Tables:
    """Return the tables of a problem, with about `spots_per_kind` spots to try for each kind.

    The spots of a turn are the corners of its feasible positions, points along their edges and an
    even grid inside. A turn that all but repeats an earlier one has none.
    """
    pair, fit, sides = _pairs(problem)
    own = [not _repeats(problem, turn) for turn in range(len(problem.turns))]
    by_kind = _steps(problem, own, spots_per_kind)
    steps = [by_kind[turn.kind] for turn in problem.turns]
    spots = [
        _spots(at, step) if tried else np.empty((0, 2))
        for at, step, tried in zip(problem.feasible, steps, own, strict=True)
    ]
    rings = [np.concatenate(region_edges(at), axis=1) for at in problem.feasible]
    kinds = [turn.kind for turn in problem.turns]
    return Tables(
        size=np.array([turn.size for turn in problem.turns]),
        step=np.array(steps),
        pair=pair,
        fit=fit,
        sides=sides,
        spot=np.concatenate(spots),
        across=np.concatenate(spots)[:, 0].astype(np.float32),
        up=np.concatenate(spots)[:, 1].astype(np.float32),
        spot_from=np.cumsum([0, *map(len, spots)]),
        ring=np.concatenate(rings),
        ring_from=np.cumsum([0, *map(len, rings)]),
        turn_from=np.array(
            [sum(k < kind for k in kinds) for kind in range(len(problem.kinds) + 1)]
        ),
    )


def _pairs(problem: PackingProblem) -> tuple[Ints, Ints, Floats]:
    """Return the no-fit polygons of all pairs of turns as `pair`, `fit` and `sides` of the tables.

    The sides of the no-fit polygon of convex parts a and b are those of a and of b's mirror image,
    each as far out as both parts together reach.
    """
    small = [[inset(part, TOLERANCE).tobytes() for part in parts] for parts in problem.parts]
    count = len(problem.turns)
    pair = np.zeros((count, count, 2), np.int64)
    fit: list[tuple[int, int]] = []
    sides: list[Floats] = []
    rows = 0
    for a in range(count):
        for b in range(count):
            first = len(fit)
            for fixed in small[a]:
                for moving in small[b]:
                    sides.append(_sides(fixed, moving))
                    fit.append((rows, rows + len(sides[-1])))
                    rows += len(sides[-1])
            pair[a, b] = first, len(fit)
    return pair, np.array(fit, np.int64), np.concatenate(sides)


@lru_cache(maxsize=8192)
def _sides(fixed: bytes, moving: bytes) -> Floats:
    """Return the sides of the no-fit polygon of two convex parts, given as the bytes of corners.

    Cached: the same pieces are placed on scrap after scrap.
    """
    one, other = (np.frombuffer(data).reshape(-1, 2) for data in (fixed, moving))
    normals = _different(np.concatenate((half_planes(one)[:, :2], -half_planes(other)[:, :2])))
    reach = products(normals, one).max(axis=1) - products(normals, other).min(axis=1)
    found: Floats = np.column_stack((normals, reach))
    found.setflags(write=False)
    return found


def _different(normals: Floats) -> Floats:
    """Return the normals without those that repeat an earlier one."""
    alike = np.abs(normals[:, None] - normals[None]).max(axis=2) < 1e-9
    kept: Floats = normals[~np.tril(alike, -1).any(axis=1)]
    return kept


def _repeats(problem: PackingProblem, turn: int) -> bool:
    """Return whether a turn repeats an earlier one, as far as a search can distinguish them.

    Drawn with six decimals, a diamond turned by half a circle is another outline by a millionth of
    an inch. Both are kept only where so little decides which of them fits.
    """
    return problem.feasible[turn].area > _ROOMY and any(
        problem.turns[turn].kind == problem.turns[earlier].kind
        and problem.feasible[earlier].area > _ROOMY
        and alike(problem.turns[turn].corners, problem.turns[earlier].corners, _REPEATED)
        for earlier in range(turn)
    )


def _steps(problem: PackingProblem, own: list[bool], spots_per_kind: int) -> dict[int, float]:
    """Return how far apart the spots of each kind are, in inches; `own`: which turns have any."""
    found = {}
    areas = {turn.kind: turn.area for turn in problem.turns}
    for kind in {turn.kind for turn in problem.turns}:
        places = [
            at
            for turn, at, tried in zip(problem.turns, problem.feasible, own, strict=True)
            if tried and turn.kind == kind
        ]
        area = sum(at.area for at in places)
        edge = sum(at.length for at in places)
        # area / step² + edge / step = spots
        even = (edge + np.sqrt(edge * edge + 4 * spots_per_kind * area)) / (2 * spots_per_kind)
        found[kind] = max(float(even), 0.12 * float(np.sqrt(areas[kind])))
    return found


def obstacles(problem: PackingProblem, turn: int) -> list[Floats]:
    """Return what the region's edges forbid to each convex part of `turn`: sets of positions.

    Each array has shape (sets, sides, 3), rows (nx, ny, c): a position is inside a set when
    nx·x + ny·y < c for all its sides. The positions at which a convex part meets an edge of the
    region are the sum of the edge and the part's mirror image: its sides are those of the mirror
    image, moved out to the edge's further end, and two along the edge.
    """
    start, end = region_edges(problem.region)
    long = np.any(start != end, axis=1)
    start, end = start[long], end[long]
    along = (end - start) / lengths(end - start)[:, None]
    across = np.column_stack((along[:, 1], -along[:, 0]))
    found = []
    for part in problem.parts[turn]:
        own = half_planes(inset(part, TOLERANCE))
        planes = np.empty((len(start), len(own) + 2, 3))
        planes[:, :-2, :2] = -own[:, :2]
        planes[:, :-2, 2] = own[:, 2] - np.minimum(
            products(start, own[:, :2]), products(end, own[:, :2])
        )
        reach = products(across, inset(part, TOLERANCE))
        level = np.sum(across * start, axis=1)
        planes[:, -2, :2], planes[:, -2, 2] = across, level - reach.min(axis=1)
        planes[:, -1, :2], planes[:, -1, 2] = -across, reach.max(axis=1) - level
        found.append(planes)
    return found


def _spots(positions: MultiPolygon, step: float) -> Floats:
    low_x, low_y, high_x, high_y = positions.bounds
    x, y = np.meshgrid(
        np.arange(low_x + step / 2, high_x, step), np.arange(low_y + step / 2, high_y, step)
    )
    grid = np.column_stack((x.ravel(), y.ravel()))
    shapely.prepare(positions)
    grid = grid[shapely.contains_xy(positions, grid[:, 0], grid[:, 1])]
    edge = np.unique(shapely.get_coordinates(shapely.segmentize(positions, step)), axis=0)
    found = np.concatenate((edge, grid))
    return found[np.lexsort(found.T)]
