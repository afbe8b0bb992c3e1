"""Where a piece may lie: by the definition, sampled, and remembered by content."""

import numpy as np
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import MultiPolygon, Polygon, box

from scrapstore.packing.regions import feasible_positions
from tests.support.cloth import torn

SQUARE = np.array([(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)])


@given(st.integers(12, 200), st.floats(-7, 6), st.floats(-7, 6))
def test_a_position_is_feasible_where_the_piece_lies_inside(
    corners: int, x: float, y: float
) -> None:
    """Against shapely's own `covers`, but for a hair on the edge."""
    region = MultiPolygon([torn(corners, 5.0)])
    allowed = feasible_positions(region, [SQUARE])
    here = shapely.Point(x, y)
    if here.distance(allowed.boundary) > 1e-5:
        inside = shapely.transform(Polygon(SQUARE), lambda at: at + np.array([x, y]))
        assert allowed.contains(here) == region.covers(inside)


def test_the_same_region_and_piece_are_eroded_once() -> None:
    """Remembered by their bytes: a piece or a region that differs at all is eroded anew."""
    first = feasible_positions(MultiPolygon([box(0, 0, 5, 4)]), [SQUARE])
    assert feasible_positions(MultiPolygon([box(0, 0, 5, 4)]), [SQUARE.copy()]) is first
    assert feasible_positions(MultiPolygon([box(0, 0, 5, 4.1)]), [SQUARE]).area > first.area
    assert feasible_positions(MultiPolygon([box(0, 0, 5, 4)]), [1.1 * SQUARE]).area < first.area
