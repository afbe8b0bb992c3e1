"""Squares from a rectangle of cloth, against the charts in print."""

import math

import pytest
from shapely import box

from scrapstore.errors import ShapeError
from scrapstore.yardage import StripPiece, grid_count, plan_quarters, plan_strips, squares_from

# docsbay.net "Number of Squares from a Fat Quarter"; quilterscache.com math charts (2002)
FAT_QUARTER_CHART = {
    2: 99, 2.5: 56, 3: 42, 3.5: 30, 4: 20, 4.5: 16, 5: 12, 5.5: 12, 6: 9, 6.5: 6,
}  # fmt: skip

# quilterscache.com math charts (2002), 36 × 44 in usable. The chart prints 35 squares of 7 in;
# plain division gives 5 × 6 = 30, and 36 / 7 is no more than five rows.
ONE_YARD_CHART = {
    2: 396, 2.5: 238, 2.875: 180, 3.5: 120, 4: 99, 4.5: 72, 5: 56, 5.5: 48, 6: 42, 6.5: 30,
    7: 30, 8.5: 20, 10: 12, 12.5: 6,
}  # fmt: skip


@pytest.mark.parametrize(("side", "count"), FAT_QUARTER_CHART.items())
def test_the_fat_quarter_chart(side: float, count: int) -> None:
    assert squares_from(22, 18, side) == count


@pytest.mark.parametrize(("side", "count"), ONE_YARD_CHART.items())
def test_the_one_yard_chart(side: float, count: int) -> None:
    assert squares_from(44, 36, side) == count


@pytest.mark.parametrize(("side", "count"), ONE_YARD_CHART.items())
def test_strips_reach_the_one_yard_chart(side: float, count: int) -> None:
    """The chart's number of squares needs no more than the yard, one more needs another strip."""
    square = box(0, 0, side, side)
    assert plan_strips(StripPiece("square", square, count), 44).length <= 36
    assert plan_strips(StripPiece("square", square, count + 1), 44).length > 36


@pytest.mark.parametrize(("side", "count"), FAT_QUARTER_CHART.items())
def test_fat_quarters_reach_their_chart(side: float, count: int) -> None:
    square = box(0, 0, side, side)
    assert plan_quarters([StripPiece("square", square, count)]).quarters == 1
    assert plan_quarters([StripPiece("square", square, count + 1)]).quarters == 2


def test_lengths_that_just_fit_are_not_lost_to_rounding() -> None:
    assert squares_from(0.3, 0.3, 0.1) == 9
    assert grid_count(40 / 2.54, 20 / 2.54, 10 / 2.54, 5 / 2.54) == 16


def test_cloth_smaller_than_the_piece_gives_none() -> None:
    assert squares_from(1, 40, 2) == 0
    assert squares_from(0, 0, 2) == 0


@pytest.mark.parametrize("side", [0, -1, math.nan, math.inf])
def test_a_piece_without_size_is_refused(side: float) -> None:
    with pytest.raises(ShapeError, match="piece width"):
        squares_from(22, 18, side)


@pytest.mark.parametrize("width", [-1, math.nan, math.inf])
def test_impossible_cloth_is_refused(width: float) -> None:
    with pytest.raises(ShapeError, match="cloth width"):
        squares_from(width, 18, 2)
