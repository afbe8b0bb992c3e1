"""The size that a scrap is told by: the smallest rectangle round it."""

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import Polygon, box

from scrapstore.shapes import bounding_sides, sides_as_drawn


@given(st.floats(0.5, 30), st.floats(0.5, 30), st.floats(0, 360))
def test_of_a_turned_rectangle_it_is_the_rectangle(
    length: float, width: float, turn_deg: float
) -> None:
    turned = affinity.rotate(box(0, 0, length, width), turn_deg)
    assert bounding_sides(turned) == pytest.approx(
        (max(length, width), min(length, width)), rel=1e-6
    )


def test_of_an_equal_triangle_it_is_side_and_height() -> None:
    side = 6.0
    triangle = Polygon([(0, 0), (side, 0), (side / 2, side * 3**0.5 / 2)])
    assert bounding_sides(triangle) == pytest.approx((side, side * 3**0.5 / 2))


@given(st.integers(0, 2**32 - 1))
def test_a_right_triangle_measured_a_little_wrong_keeps_its_legs(seed: int) -> None:
    """The rectangle along its long edge has the same area, and a ruler is laid along the legs."""
    rng = np.random.default_rng(seed)
    corners = np.array([(0, 0), (8, 0), (0, 6)]) + rng.normal(0, 0.006, (3, 2))
    assert bounding_sides(Polygon(corners)) == pytest.approx((8, 6), abs=0.1)


PLACES = st.integers(-9000, 9000).map(lambda thousandths: thousandths / 1000)


@given(st.lists(st.tuples(PLACES, PLACES), min_size=3, max_size=9, unique=True))
def test_its_area_is_that_of_shapelys_rectangle_to_a_hundredth(
    corners: list[tuple[float, float]],
) -> None:
    hull = shapely.MultiPoint(corners).convex_hull
    if not isinstance(hull, Polygon) or hull.area < 0.01:
        return
    long, short = bounding_sides(hull)
    least = shapely.minimum_rotated_rectangle(hull).area
    assert least * (1 - 1e-6) <= long * short <= least * 1.0101


@given(st.integers(0, 2**32 - 1))
def test_a_measured_rectangle_is_not_told_larger_than_its_smallest(seed: int) -> None:
    rng = np.random.default_rng(seed)
    corners = np.array([(0, 0), (4, 0), (8, 0), (8, 5), (4, 5), (0, 5)], float)
    measured = Polygon(corners + rng.normal(0, 0.02, corners.shape))
    long, short = bounding_sides(measured)
    assert long * short == pytest.approx(shapely.minimum_rotated_rectangle(measured).area, rel=1e-9)


@given(st.floats(0.5, 30), st.floats(0.5, 30), st.floats(-40, 40))
def test_the_side_that_lies_nearer_to_level_is_told_first(
    across: float, up: float, turn_deg: float
) -> None:
    turned = affinity.rotate(box(0, 0, across, up), turn_deg)
    told = sides_as_drawn(*bounding_sides(turned), turned.bounds)
    assert told == pytest.approx((across, up), rel=1e-6)
