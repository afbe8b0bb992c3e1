"""The shape of a piece as a working form, and the check that an outline can be a piece."""

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Final

from shapely import Polygon, is_valid_reason

from scrapstore.errors import ShapeError

__all__ = [
    "Corner",
    "EdgeLength",
    "Reach",
    "Shape",
    "checked_outline",
    "corners_of",
    "edge_directions_deg",
]

Corner = tuple[float, float]

SHORTEST_EDGE: Final = 0.01
"""Inches. Anything shorter is a slip of the pen, not an edge to sew."""

LARGEST_SIZE: Final = 10_000.0
"""Inches. Beyond this an outline was typed in the wrong unit."""


@dataclass(frozen=True, slots=True)
class Shape:
    """A piece shape, finished size.

    `kind` is the name in the catalogue (``diamond-60``, or ``polygon``); `label` says it as the
    trade does. `outline` is the finished outline, counter-clockwise, drawn as it lies at rotation
    0. `measures` holds every named size in inches (those given and those that follow).
    `straight_edges` are the edges that may lie on the straight grain when nothing else is said;
    edge *i* runs from corner *i* to the next.
    """

    kind: str
    label: str
    outline: Polygon
    measures: dict[str, float] = field(hash=False)
    straight_edges: tuple[int, ...]


def corners_of(outline: Polygon) -> list[Corner]:
    """Return the corners of `outline` in order, the first not repeated at the end."""
    return [(x, y) for x, y, *_ in outline.exterior.coords[:-1]]


def edge_directions_deg(outline: Polygon) -> list[float]:
    """Return the direction of each edge, degrees counter-clockwise from +x, in (-180, 180]."""
    corners = corners_of(outline)
    return [
        math.degrees(math.atan2(y1 - y0, x1 - x0))
        for (x0, y0), (x1, y1) in zip(corners, corners[1:] + corners[:1], strict=True)
    ]


@dataclass(frozen=True, slots=True)
class EdgeLength:
    """A size read along one edge of a finished outline."""

    edge: int

    def of(self, outline: Polygon) -> float:
        """Return the length of that edge of `outline`, inches."""
        points = corners_of(outline)
        return math.dist(points[self.edge], points[(self.edge + 1) % len(points)])


@dataclass(frozen=True, slots=True)
class Reach:
    """A size read between two parallel lines that hold the outline: its reach along a direction."""

    direction_deg: float

    def of(self, outline: Polygon) -> float:
        """Return how far `outline` reaches along the direction, inches."""
        cos = math.cos(math.radians(self.direction_deg))
        sin = math.sin(math.radians(self.direction_deg))
        along = [x * cos + y * sin for x, y in corners_of(outline)]
        return max(along) - min(along)


def checked_outline(corners: Iterable[Corner], *, what: str = "outline") -> Polygon:
    """Return the polygon with these corners, turned counter-clockwise, its first corner kept first.

    Corners on a straight edge (match points) stay. Raises ShapeError, naming `what`, for fewer
    than three corners, numbers that are not finite or too large, an edge shorter than a hundredth
    of an inch, edges that cross or touch one another, or no area.
    """
    points = [(float(x), float(y)) for x, y in corners]
    if len(points) > 1 and points[0] == points[-1]:
        points.pop()
    if len(points) < 3:
        raise ShapeError(f"{what}: {len(points)} corners make no piece; give at least three")
    for number, point in enumerate(points, 1):
        if not all(math.isfinite(c) and abs(c) <= LARGEST_SIZE for c in point):
            msg = f"{what}: corner {number} is {point}; give inches within ±{LARGEST_SIZE:.0f}"
            raise ShapeError(msg)
    for number, (a, b) in enumerate(zip(points, points[1:] + points[:1], strict=True), 1):
        if math.dist(a, b) < SHORTEST_EDGE:
            following = number % len(points) + 1
            msg = f"{what}: corners {number} and {following} lie on one another; leave one out"
            raise ShapeError(msg)
    polygon = Polygon(points)
    if not polygon.is_valid:
        near = re.search(r"\[(\S+) (\S+)\]", is_valid_reason(polygon))
        where = f" near {float(near[1]):g},{float(near[2]):g}" if near else ""
        msg = f"{what}: its edges cross or touch{where}; give the corners in order round it"
        raise ShapeError(msg)
    if polygon.area < SHORTEST_EDGE**2:
        raise ShapeError(f"{what}: it has no width; its corners lie on one line")
    if not polygon.exterior.is_ccw:
        polygon = Polygon([points[0], *reversed(points[1:])])
    return polygon
