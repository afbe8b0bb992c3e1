"""Checks of drawn strips, by shapely alone."""

from itertools import combinations

from shapely import Polygon, box


def lie_sound(outlines: tuple[Polygon, ...], length: float, width: float) -> None:
    """All inside the strip, no two overlapping."""
    strip = box(0, 0, length, width).buffer(1e-6)
    for outline in outlines:
        assert strip.covers(outline)
    for a, b in combinations(outlines, 2):
        assert a.intersection(b, grid_size=1e-9).area < 1e-6
