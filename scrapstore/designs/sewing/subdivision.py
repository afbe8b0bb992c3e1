"""The seams of a top as a plane graph: points, straight edges between them, and pieces beside them.

An edge ends wherever a corner of any piece lies, so that it has one piece on either side. Edges
that go on in a straight line make up a line, the longest that could be one straight seam.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import zip_longest
from typing import Final

import numpy as np
import shapely
from shapely import LineString, Point, Polygon, STRtree

from scrapstore.errors import ShapeError
from scrapstore.shapes import corners_of

__all__ = ["Assembly", "SeamEdge", "Subdivision"]

Corner = tuple[float, float]
Assembly = frozenset[int]
"""Pieces, by their place in the list, that are sewn together."""

NEAR: Final = 1e-5
"""Inches. Corners that are nearer to one another, or to a seam, lie on it."""
_STRAIGHT: Final = 1e-6
"""The sine of the angle by which edges of one line may differ."""


@dataclass(frozen=True, slots=True)
class SeamEdge:
    """A straight edge from one point to another; pieces by their numbers, None beyond the top."""

    start: int
    end: int
    left: int | None
    right: int | None

    def other(self, point: int) -> int:
        """Return its other point."""
        return self.end if point == self.start else self.start


class Subdivision:
    """The plane graph of finished outlines that lie beside one another.

    Raises ShapeError where two of them overlap along an edge.
    """

    def __init__(self, outlines: Sequence[Polygon]) -> None:
        self.count = len(outlines)
        corners = [corners_of(one if one.exterior.is_ccw else one.reverse()) for one in outlines]
        self.points, rings = _merged(corners)
        sides: dict[tuple[int, int], int] = {}
        for piece, ring in enumerate(_with_points_between(self.points, rings)):
            for start, end in zip(ring, ring[1:] + ring[:1], strict=True):
                if (start, end) in sides:
                    raise ShapeError(f"sewing: pieces {sides[start, end]} and {piece} overlap")
                sides[start, end] = piece
        self.edges: list[SeamEdge] = []
        self.edges_of: list[list[int]] = [[] for _ in outlines]
        self.edges_at: list[list[int]] = [[] for _ in self.points]
        for (start, end), piece in sides.items():
            beyond = sides.get((end, start))
            if beyond is None or start < end:
                number = len(self.edges)
                self.edges.append(SeamEdge(start, end, piece, beyond))
                for each in (start, end):
                    self.edges_at[each].append(number)
                for beside in (piece, beyond):
                    if beside is not None:
                        self.edges_of[beside].append(number)

    def direction(self, edge: int, point: int) -> Corner:
        """Return the unit vector along an edge away from one of its points."""
        (x, y), (to_x, to_y) = self.points[point], self.points[self.edges[edge].other(point)]
        long = math.hypot(to_x - x, to_y - y)
        return (to_x - x) / long, (to_y - y) / long

    def length(self, edges: Iterable[int]) -> float:
        """Return how long edges are together, inches."""
        ends = ((self.edges[edge].start, self.edges[edge].end) for edge in edges)
        return math.fsum(math.dist(self.points[a], self.points[b]) for a, b in ends)

    @cached_property
    def onward(self) -> dict[tuple[int, int], int]:
        """The edge that goes straight on from (edge, point), where there is one."""
        found: dict[tuple[int, int], int] = {}
        for point, edges in enumerate(self.edges_at):
            ways = [(edge, *self.direction(edge, point)) for edge in edges]
            for edge, x, y in ways:
                for other, to_x, to_y in ways:
                    straight = abs(x * to_y - y * to_x) < _STRAIGHT
                    if straight and x * to_x + y * to_y < 0:
                        found[edge, point] = other
        return found

    @cached_property
    def crossed(self) -> list[bool]:
        """For each point whether a straight line goes through it."""
        passed = {point for _, point in self.onward}
        return [point in passed for point in range(len(self.points))]

    @cached_property
    def lines(self) -> list[list[int]]:
        """All edges, once each, in straight lines as long as can be, in order along them."""
        lines: list[list[int]] = []
        seen: set[int] = set()
        for first in range(len(self.edges)):
            if first in seen:
                continue
            # Back to where the line begins, then along it.
            edge, point = first, self.edges[first].start
            while (before := self.onward.get((edge, point))) is not None:
                edge, point = before, self.edges[before].other(point)
            line, point = [edge], self.edges[edge].other(point)
            while (after := self.onward.get((edge, point))) is not None:
                edge, point = after, self.edges[after].other(point)
                line.append(edge)
            seen.update(line)
            lines.append(line)
        return lines

    @cached_property
    def line_of(self) -> dict[int, int]:
        """The number of the line that an edge is part of."""
        return {edge: number for number, line in enumerate(self.lines) for edge in line}

    def seams(self, assembly: Assembly) -> set[int]:
        """Return the edges inside an assembly: those with two of its pieces beside them."""
        return {
            edge
            for piece in assembly
            for edge in self.edges_of[piece]
            if self.edges[edge].left in assembly and self.edges[edge].right in assembly
        }

    def outer_edges(self, assembly: Assembly) -> set[int]:
        """Return the edges of the outline of an assembly."""
        return {
            edge
            for piece in assembly
            for edge in self.edges_of[piece]
            if self.edges[edge].left not in assembly or self.edges[edge].right not in assembly
        }

    def outline(self, assembly: Assembly) -> Polygon:
        """Return the outline of an assembly, its corners as exact as those of its pieces."""
        lines = [
            LineString([self.points[edge.start], self.points[edge.end]])
            for edge in map(self.edges.__getitem__, sorted(self.outer_edges(assembly)))
        ]
        outline, *others = shapely.get_parts(shapely.polygonize(lines)).tolist()
        # Parts that touch at a mere point: no straight side runs through it.
        whole = shapely.union_all([outline, *others]).convex_hull if others else outline
        assert isinstance(whole, Polygon)
        return whole

    def rim(self, assembly: Assembly) -> set[int]:
        """Return the points on the outline of an assembly."""
        ends = (self.edges[edge] for edge in self.outer_edges(assembly))
        return {point for edge in ends for point in (edge.start, edge.end)}

    def spread(self, start: int, assembly: Assembly, barred: set[int]) -> Iterator[int]:
        """Yield the pieces of an assembly reached from one of them across edges not `barred`."""
        reached, todo = {start}, [start]
        while todo:
            piece = todo.pop()
            yield piece
            for number in self.edges_of[piece]:
                if number in barred:
                    continue
                edge = self.edges[number]
                beside = edge.right if edge.left == piece else edge.left
                if beside is not None and beside in assembly and beside not in reached:
                    reached.add(beside)
                    todo.append(beside)

    def connected(self, pieces: Assembly) -> bool:
        """Return whether each of them is reached from any other across edges."""
        return sum(1 for _ in self.spread(min(pieces), pieces, set())) == len(pieces)

    def encloses(self, pieces: Assembly) -> bool:
        """Return whether connected pieces go round others, by Euler's formula for plane graphs."""
        edges = {edge for piece in pieces for edge in self.edges_of[piece]}
        ends = (self.edges[edge] for edge in edges)
        points = {point for edge in ends for point in (edge.start, edge.end)}
        return len(points) - len(edges) + len(pieces) != 1

    def parted(
        self, one: int, other: int, assembly: Assembly, barred: set[int]
    ) -> tuple[Assembly, Assembly] | None:
        """Return the parts of an assembly around two pieces, which the `barred` edges separate.

        None where they do not. It takes as long as the smaller part is large.
        """
        found = list[int](), list[int]()
        spreads = self.spread(one, assembly, barred), self.spread(other, assembly, barred)
        for steps in zip_longest(*spreads):
            for own, piece in zip(found, steps, strict=True):
                if piece is not None:
                    own.append(piece)
            if None in steps:
                break
        small = frozenset(found[len(found[1]) < len(found[0])])
        if one in small and other in small:
            return None
        rest = assembly - small
        return (small, rest) if one in small else (rest, small)


def _merged(corners: Sequence[Sequence[Corner]]) -> tuple[list[Corner], list[list[int]]]:
    """Return the distinct points, and each ring of corners as numbers of them."""
    flat = [corner for ring in corners for corner in ring]
    placed = [Point(corner) for corner in flat]
    near = STRtree(placed).query(placed, predicate="dwithin", distance=NEAR)
    first = np.arange(len(flat))
    np.minimum.at(first, near[0], near[1])
    distinct = sorted(set(first.tolist()))
    number = {corner: index for index, corner in enumerate(distinct)}
    named = iter(number[int(corner)] for corner in first)
    return [flat[corner] for corner in distinct], [[next(named) for _ in ring] for ring in corners]


def _with_points_between(
    places: Sequence[Corner], rings: Iterable[Sequence[int]]
) -> list[list[int]]:
    """Return rings with the points that lie on their edges taken in."""
    tree = STRtree([Point(place) for place in places])
    made: list[list[int]] = []
    for ring in rings:
        whole: list[int] = []
        ends = [(a, b) for a, b in zip(ring, [*ring[1:], ring[0]], strict=True) if a != b]
        lines = [LineString([places[a], places[b]]) for a, b in ends]
        on = [set[int]() for _ in ends]
        for edge, point in tree.query(lines, predicate="dwithin", distance=NEAR).T.tolist():
            on[edge].add(point)
        for (start, end), between in zip(ends, on, strict=True):
            inner = between - {start, end}
            whole += [start, *sorted(inner, key=lambda p: math.dist(places[start], places[p]))]
        made.append(whole)
    return made
