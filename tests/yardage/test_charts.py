"""Squares from a rectangle of cloth, against the charts in print."""

import pytest
from shapely import box

from scrapstore.yardage import RolePlan, StripPiece, plan_length, plan_role

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


def squares(side: float, count: int) -> list[StripPiece]:
    return [StripPiece("square", box(0, 0, side, side), count, (0.0,))]


def across(plan: RolePlan) -> float:
    """Return the fabric that the strips take, cut across it."""
    return sum(strip.width * strip.times for strip in plan.strips)


@pytest.mark.parametrize(("side", "count"), ONE_YARD_CHART.items())
def test_strips_reach_the_one_yard_chart(side: float, count: int) -> None:
    """The chart's number of squares needs no more than the yard, one more needs more."""
    exact = plan_role("r", squares(side, count), 44, straightening=0)
    assert exact.length <= 36
    assert exact.buy_yards <= 1
    assert plan_role("r", squares(side, count + 1), 44, straightening=0).length > 36


@pytest.mark.parametrize(("side", "count"), FAT_QUARTER_CHART.items())
def test_a_fat_quarter_gives_what_its_chart_says_and_no_more(side: float, count: int) -> None:
    plan = plan_length("r", squares(side, count + 5), 22, 18)
    assert plan.pieces == {"square": count}


@pytest.mark.parametrize(("side", "count"), ONE_YARD_CHART.items())
def test_a_yard_at_hand_gives_what_its_chart_says_and_no_more(side: float, count: int) -> None:
    assert plan_length("r", squares(side, count + 5), 44, 36).pieces == {"square": count}


def test_lengths_that_just_fit_are_not_lost_to_rounding() -> None:
    """Oblongs of 8 × 4 cm from 40 × 20 cm: 5 × 5, on a ruler in millimetres."""
    piece = StripPiece("oblong", box(0, 0, 8 / 2.54, 4 / 2.54), 30, (90.0,))
    plan = plan_length("r", [piece], 40 / 2.54, 20 / 2.54, step=1 / 25.4)
    assert plan.pieces == {"oblong": 25}


def test_cloth_smaller_than_the_piece_gives_none() -> None:
    assert plan_length("r", squares(2, 3), 1, 40).pieces == {}
    assert plan_length("r", squares(2, 3), 40, 0).pieces == {}
