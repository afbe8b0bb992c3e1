"""Pieces for the tests: one of every kind, random ones, and small geometry that shares nothing
with the code under test."""

import math
from itertools import pairwise

from hypothesis import strategies as st
from shapely import LineString, Polygon, symmetric_difference

from scrapstore.errors import ShapeError
from scrapstore.shapes import KINDS, Shape, make_polygon, make_shape

NAMED_KINDS = [kind for kind in KINDS.values() if not kind.by_corners]

EXAMPLES: dict[str, Shape] = {
    kind.name: make_shape(kind.name, **kind.example) for kind in NAMED_KINDS
}
"""One shape of every named kind."""

BENCH_END = make_polygon([(0, 0), (6, 0), (6, 2), (3.5, 2), (3.5, 5), (0, 5)], label="bench end")
"""An L, with one inward corner."""


def shapes(*, least: float = 1.0, most: float = 12.0) -> st.SearchStrategy[Shape]:
    """Shapes of every named kind, sizes in sixteenths of an inch."""
    sizes = st.integers(math.ceil(least * 16), math.floor(most * 16)).map(lambda n: n / 16)

    def build(choice: tuple[str, tuple[str, ...]], numbers: list[float]) -> Shape | None:
        kind, names = choice
        try:
            return make_shape(kind, **dict(zip(names, numbers, strict=False)))
        except ShapeError:  # sizes that make no such trapezoid or kite
            return None

    choices = [(kind.name, names) for kind in NAMED_KINDS for names in kind.takes]
    made = st.builds(build, st.sampled_from(choices), st.lists(sizes, min_size=3, max_size=3))
    return made.filter(lambda shape: shape is not None).map(lambda shape: shape or BENCH_END)


@st.composite
def ring_corners(draw: st.DrawFn) -> list[tuple[float, float]]:
    """Corners of a simple polygon, convex or not: seen whole from the origin, 1 to 6 in away."""
    count = draw(st.integers(3, 9))
    gaps = draw(st.lists(st.integers(3, 5), min_size=count, max_size=count))
    radii = draw(st.lists(st.integers(16, 96), min_size=count, max_size=count))
    turned, total, corners = draw(st.integers(0, 359)), 0, []
    for gap, radius in zip(gaps, radii, strict=True):
        total += gap
        angle = math.radians(turned + 360 * total / sum(gaps))
        corners.append((radius / 16 * math.cos(angle), radius / 16 * math.sin(angle)))
    return corners


def edges(outline: Polygon) -> list[LineString]:
    """The edges of an outline in order."""
    points = list(outline.exterior.coords)
    return [LineString(pair) for pair in pairwise(points)]


def same(a: Polygon, b: Polygon, *, within: float = 1e-9) -> bool:
    """Whether two outlines cover the same cloth, but for a sliver of `within` square inches."""
    # On a grid: without one, GEOS takes outlines that differ in their last bits for quite other
    # ones (seen with shapely 2.2: two kites 2e-16 in apart, the difference as large as both).
    return bool(symmetric_difference(a, b, grid_size=1e-9).area <= within)


def same_corners(a: Polygon, b: Polygon) -> bool:
    """Whether two outlines have the same corners in the same order, but for rounding."""
    if len(a.exterior.coords) != len(b.exterior.coords):
        return False
    pairs = zip(a.exterior.coords, b.exterior.coords, strict=True)
    return all(math.dist(p, q) < 1e-9 for p, q in pairs)
