"""Small random tilings, and the least number of bends in their seams by trying everything.

The trying shares nothing with the program: it takes shared boundaries from shapely, and all ways in
which a connected set of pieces comes apart in two connected ones that meet in one path.
"""

import math
import random
from collections.abc import Sequence
from functools import cache
from itertools import combinations, pairwise

import shapely
from shapely import LineString, MultiLineString, Polygon

__all__ = ["blocks", "fewest_bends", "guillotine", "merged_triangles", "spiral"]


def guillotine(seed: int, count: int) -> list[Polygon]:
    """Return rectangles made by cutting a rectangle `count - 1` times right across a part."""
    chance = random.Random(seed)
    parts = [(0.0, 0.0, 12.0, 9.0)]
    while len(parts) < count:
        west, south, east, north = parts.pop(chance.randrange(len(parts)))
        share = chance.choice((0.25, 1 / 3, 0.5, 0.6))
        if chance.random() < (east - west) / (east - west + north - south):
            at = west + share * (east - west)
            parts += [(west, south, at, north), (at, south, east, north)]
        else:
            at = south + share * (north - south)
            parts += [(west, south, east, at), (west, at, east, north)]
    return [shapely.box(*part) for part in parts]


def spiral() -> list[Polygon]:
    """Return five rectangles, four of them chasing one another round the first."""
    boxes = [(1, 1, 2, 2), (0, 0, 2, 1), (2, 0, 3, 2), (1, 2, 3, 3), (0, 1, 1, 3)]
    return [shapely.box(*corners) for corners in boxes]


def blocks(rows: int, columns: int) -> list[Polygon]:
    """Return hexagons of three 60° diamonds each, in rows."""
    half, side = math.sqrt(3) / 2, 1.0
    made = []
    for row in range(rows):
        for column in range(columns):
            x, y = (2 * column + row % 2) * half, 1.5 * row
            rim = [
                (x + side * math.cos(math.radians(a)), y + side * math.sin(math.radians(a)))
                for a in range(30, 390, 60)
            ]
            made += [
                Polygon([(x, y), rim[k], rim[(k + 1) % 6], rim[(k + 2) % 6]]) for k in (0, 2, 4)
            ]
    return made


def merged_triangles(seed: int, count: int) -> list[Polygon]:
    """Return pieces without holes: the triangles of a grid of squares, neighbours merged."""
    chance = random.Random(seed)
    cells: list[Polygon] = []
    for x in range(3):
        for y in range(3):
            a, b, c, d = (x, y), (x + 1, y), (x + 1, y + 1), (x, y + 1)
            cells += (
                [Polygon([a, b, c]), Polygon([a, c, d])]
                if chance.random() < 0.5
                else [Polygon([a, b, d]), Polygon([b, c, d])]
            )
    while len(cells) > count:
        first, second = chance.sample(range(len(cells)), 2)
        merged = cells[first].union(cells[second])
        if not isinstance(merged, Polygon) or merged.interiors:
            continue
        if cells[first].intersection(cells[second]).length > 1e-9:
            cells = [one for k, one in enumerate(cells) if k not in (first, second)]
            cells.append(merged)
    return cells


def fewest_bends(pieces: Sequence[Polygon]) -> float:
    """Return the least number of bends in all seams together; infinite where there is no order."""
    shared = {
        (i, j): _lines(pieces[i].intersection(pieces[j]))
        for i, j in combinations(range(len(pieces)), 2)
    }

    def meet(one: int, other: int) -> bool:
        return bool(shared[min(one, other), max(one, other)])

    @cache
    def connected(group: frozenset[int]) -> bool:
        todo = [min(group)]
        reached = set(todo)
        while todo:
            here = todo.pop()
            found = {k for k in group - reached if meet(here, k)}
            reached |= found
            todo += found
        return reached == group

    @cache
    def least(group: frozenset[int]) -> float:
        if len(group) == 1:
            return 0
        first, *rest = sorted(group)
        best = math.inf
        for many in range(len(rest)):
            for others in combinations(rest, many):
                one = frozenset((first, *others))
                other = group - one
                if not (connected(one) and connected(other)):
                    continue
                lines = [line for i in one for j in other for line in shared[min(i, j), max(i, j)]]
                bends = _bends(lines)
                if bends < best:
                    best = min(best, bends + least(one) + least(other))
        return best

    return least(frozenset(range(len(pieces))))


def _lines(shape: shapely.Geometry) -> list[LineString]:
    parts = shapely.get_parts(shapely.line_merge(_only_lines(shape))).tolist()
    return [part for part in parts if part.length > 1e-9]


def _only_lines(shape: shapely.Geometry) -> shapely.Geometry:
    lines = [part for part in shapely.get_parts(shape).tolist() if isinstance(part, LineString)]
    return MultiLineString(lines)


def _bends(lines: Sequence[LineString]) -> float:
    """Return the bends of the one path that lines make; infinite where they make none."""
    path = shapely.line_merge(shapely.node(MultiLineString(lines)))
    if not isinstance(path, LineString) or path.is_ring:
        return math.inf
    corners = shapely.get_coordinates(path).tolist()
    ways = [math.atan2(y - b, x - a) for (a, b), (x, y) in pairwise(corners)]
    return sum(abs(math.sin(after - before)) > 1e-6 for before, after in pairwise(ways))
