"""Where an assembly comes apart in two: along one straight line, or along one with bends.

A cut runs inside the assembly from one point of its outline to another. Sewn, it is one join. A
bend at a point that no straight line goes through cannot be spared: whatever is joined last round
that point meets there at an angle. Such bends are called due here, the others extra.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from scrapstore.designs.sewing.subdivision import Assembly, Subdivision

__all__ = ["SeamCut", "bent_cuts", "due_points", "seam_between", "straight_cuts"]

_Path = tuple[tuple[int, ...], tuple[int, ...], int]
"""Edges, points, and how many bends are not due."""


@dataclass(frozen=True, slots=True)
class SeamCut:
    """Edges and points in order from rim to rim, and the pieces on either side, left first."""

    edges: tuple[int, ...]
    points: tuple[int, ...]
    left: Assembly
    right: Assembly

    def bends(self, top: Subdivision) -> tuple[int, ...]:
        """Return the points at which it does not go straight on."""
        return tuple(
            point
            for (before, after), point in zip(pairwise(self.edges), self.points[1:-1], strict=True)
            if top.onward.get((before, point)) != after
        )


def due_points(top: Subdivision, assembly: Assembly) -> frozenset[int]:
    """Return the points inside an assembly through which no straight line goes."""
    rim = top.rim(assembly)
    inside = {end for edge in top.seams(assembly) for end in _ends(top, edge)}
    return frozenset(point for point in inside - rim if not top.crossed[point])


def straight_cuts(top: Subdivision, assembly: Assembly) -> list[SeamCut]:
    """Return every cut along one straight line, in the order of the lines of `top`."""
    seams, rim = top.seams(assembly), top.rim(assembly)
    found: list[list[int]] = []
    for line in sorted({top.line_of[edge] for edge in seams}):
        run: list[int] = []
        for edge in [*top.lines[line], None]:
            if edge is None or edge not in seams:
                found += _between_rims(top, run, rim)
                run = []
            else:
                run.append(edge)
    return [cut for run in found if (cut := _cut(top, assembly, run)) is not None]


def _between_rims(top: Subdivision, run: Sequence[int], rim: set[int]) -> Iterator[list[int]]:
    """Yield the parts of a straight run of edges from one point of the rim to the next."""
    if not run:
        return
    points = _points_along(top, run)
    at = [place for place, point in enumerate(points) if point in rim]
    for start, end in pairwise(at):
        yield list(run[start:end])


def bent_cuts(
    top: Subdivision, assembly: Assembly, extra: int, most: int
) -> tuple[list[SeamCut], bool]:
    """Return the cuts with exactly `extra` bends that are not due, those with fewest bends first.

    Also whether that is all of them: no more than `most` paths are followed.
    """
    seams, rim = top.seams(assembly), top.rim(assembly)
    due = due_points(top, assembly)
    layer: list[_Path] = [
        ((edge,), (point, top.edges[edge].other(point)), 0)
        for edge in sorted(seams)
        for point in _ends(top, edge)
        if point in rim
    ]
    found: dict[frozenset[int], tuple[int, ...]] = {}
    steps = 0
    while layer and steps < most:
        turned = list[_Path]()  # each layer has one bend more
        while layer and steps < most:
            steps += 1
            edges, points, spent = layer.pop()
            here = points[-1]
            if here in rim:
                if spent == extra:
                    found.setdefault(frozenset(edges), edges)
                continue
            straight = top.onward.get((edges[-1], here))
            for edge in top.edges_at[here]:
                end = top.edges[edge].other(here)
                if end in points:
                    continue
                cost = 0 if edge == straight or here in due else 1
                if spent + cost <= extra:
                    step = ((*edges, edge), (*points, end), spent + cost)
                    (layer if edge == straight else turned).append(step)
        layer = layer or turned
    cuts = [_cut(top, assembly, edges) for edges in found.values()]
    return [cut for cut in cuts if cut is not None], not layer


def seam_between(top: Subdivision, one: Assembly, other: Assembly) -> SeamCut | None:
    """Return the cut where two assemblies meet; None where it is not one path without branches."""
    small, large = sorted((one, other), key=len)
    shared = {
        edge
        for piece in small
        for edge in top.edges_of[piece]
        if {top.edges[edge].left, top.edges[edge].right} & large
    }
    return _cut(top, small | large, _chained(top, shared))


def _chained(top: Subdivision, edges: set[int]) -> list[int]:
    """Return edges in order along the path that they make; none where they make no path."""
    at: dict[int, list[int]] = {}
    for edge in edges:
        for point in _ends(top, edge):
            at.setdefault(point, []).append(edge)
    ends = sorted(point for point, here in at.items() if len(here) == 1)
    if len(ends) != 2 or any(len(here) > 2 for here in at.values()):
        return []
    point, path = ends[0], list[int]()
    left = set(edges)
    while step := [edge for edge in at[point] if edge in left]:
        path.append(step[0])
        left.discard(step[0])
        point = top.edges[step[0]].other(point)
    return path if not left else []


def _cut(top: Subdivision, assembly: Assembly, edges: Sequence[int]) -> SeamCut | None:
    """Return the cut along these edges; None where it does not part the assembly in two.

    Whichever way the edges come, it starts at its lower left end.
    """
    if not edges:
        return None
    points = _points_along(top, edges)
    if _reading(top, points[-1]) < _reading(top, points[0]):
        edges, points = edges[::-1], points[::-1]
    first = top.edges[edges[0]]
    left, right = (
        (first.left, first.right) if first.start == points[0] else (first.right, first.left)
    )
    assert left is not None
    assert right is not None
    sides = top.parted(left, right, assembly, set(edges))
    return None if sides is None else SeamCut(tuple(edges), tuple(points), *sides)


def _points_along(top: Subdivision, edges: Sequence[int]) -> list[int]:
    """Return the points of edges that follow one another."""
    first = top.edges[edges[0]]
    if len(edges) == 1:
        return [first.start, first.end]
    start = first.start if first.end in _ends(top, edges[1]) else first.end
    points = [start]
    for edge in edges:
        points.append(top.edges[edge].other(points[-1]))
    return points


def _reading(top: Subdivision, point: int) -> tuple[float, float]:
    x, y = top.points[point]
    return round(x, 4), round(y, 4)


def _ends(top: Subdivision, edge: int) -> tuple[int, int]:
    return top.edges[edge].start, top.edges[edge].end
