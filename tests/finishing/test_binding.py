"""The binding of an outline: stories A and C, and what check-values.md says of binding."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scrapstore.errors import ShapeError
from scrapstore.finishing import (
    BindingWish,
    StripEnds,
    plan_binding,
    plan_without_strips,
    rectangle,
    sewing_stops,
    strip_width,
    strips_across,
)
from scrapstore.finishing.start import widest_margin
from tests.support.binding_rings import random_course, random_strips, scanned_margin

# Story A: a cover of 18 x 18, strips 2 1/2 wide.
A = StripEnds(30, 2.5, 45, 45)
B = StripEnds(24, 2.5, 45, -45)
C = StripEnds(21.5, 2.5, -45, -45)
D = StripEnds(4.5, 2.5, -45, 45)
SQUARE = [18.0] * 4
# Story C: trimmed 1/4 in outside the points of a hexagon of side 9.
HEXAGON = [9 + 2 * 0.25 / math.sqrt(3)] * 6


def _about(value: float) -> object:
    """To the fourth decimal, as the stories have it."""
    return pytest.approx(value, abs=5e-5)


def test_story_a_falls_short() -> None:
    plan = plan_binding(SQUARE, [A, B, C])
    assert plan.needed == 72
    assert plan.available == _about(70.8787)
    assert plan.short == _about(1.1213)
    recuts = [end for strip in plan.strips for end in strip[2:4] if end is not None]
    assert len(recuts) == 1
    assert (plan.joins, plan.clearance) == ((), None)


def test_story_a_is_rescued_by_a_short_piece() -> None:
    plan = plan_binding(SQUARE, [A, B, C, D])
    assert plan.available == _about(77.1716)
    assert (plan.short, plan.spare) == (0.0, _about(5.1716))
    assert [strip.index for strip in plan.strips] == [0, 1, 2, 3]
    assert all(strip[2:4] == (None, None) for strip in plan.strips)
    # The spare length is taken off C: 21 1/2 less 0.7071 and 5.1716.
    assert plan.strips[2].length == _about(15.6213)
    along = [(join - plan.joins[0]) % 72 for join in plan.joins]
    assert along == [_about(each) for each in (0, 29.2929, 52.5858, 68.2071)]
    assert plan.clearance == _about(5.6464)
    assert min(join % 18 for join in plan.joins) == _about(5.6464)


def test_story_a_needs_a_square_ended_strip_of_so_much_at_least() -> None:
    """By hand: 1.1213 short, and a crossed strip loses its width of 2 1/2."""
    extra = plan_binding(SQUARE, [A, B, C]).extra
    assert extra == _about(3.6213)
    assert extra is not None
    assert plan_binding(SQUARE, [A, B, C, StripEnds(extra, 2.5)]).short == 0
    assert plan_binding(SQUARE, [A, B, C, StripEnds(extra - 0.01, 2.5)]).short > 0


def test_story_c_falls_short_with_thirty_and_reaches_with_thirty_one() -> None:
    thirty = plan_binding(HEXAGON, [StripEnds(30, 2.25)] * 2, corners_deg=[120] * 6)
    assert thirty.needed == _about(55.7321)
    assert thirty.available == 55.5
    assert thirty.short == _about(0.2321)
    more = plan_binding(HEXAGON, [StripEnds(31, 2.25)] * 2, corners_deg=[120] * 6)
    assert (more.available, more.spare) == (57.5, _about(1.7679))
    assert [28.75 - strip.length for strip in more.strips] == [_about(0.8840)] * 2
    assert more.clearance == _about(4.6443)
    # In the middle of opposite sides.
    assert [join / HEXAGON[0] for join in more.joins] == [_about(0.5), _about(3.5)]
    assert more.stops == (_about(0.1443),) * 6


@pytest.mark.parametrize(("corner", "stop"), [(90, 0.25), (120, 0.1443), (60, 0.4330)])
def test_where_sewing_stops(corner: float, stop: float) -> None:
    """check-values, Trade facts: allowance / tan(half the corner's angle) (common practice)."""
    assert sewing_stops([corner], 0.25) == (_about(stop),)


def test_width_of_a_double_fold_strip() -> None:
    """4 x finished width + 1/2 in: fmquilters.org, "When binding, there will be math"."""
    assert strip_width(0.25, 0.25) == 1.5
    assert strip_width(0.5, 0.25) == 2.5


def test_strips_for_a_quilt_of_50_by_60() -> None:
    """Six strips of 40 in: (2 x (50 + 60)) / (40 - 2) up: castillejacotton.blogspot.com, June 2013.

    The rule takes off 2 in for a join, crossed strips of 2 1/4 and 2 1/2 in their width.
    """
    for width in (2.0, 2.25, 2.5):
        sides = [50, 60, 50, 60]
        assert plan_binding(sides, [StripEnds(40, width)] * 6).short == 0
        assert plan_binding(sides, [StripEnds(40, width)] * 5).short > 0


@pytest.mark.parametrize("sides", [(50, 60), (18, 18), (40, 40), (72, 90)])
def test_length_by_rule_of_thumb_is_enough(sides: tuple[int, int]) -> None:
    """Strips of 2 1/2 in at 40 in, perimeter + 24 in: quicktipssewing.blogspot.com, Nov 2011.

    Perimeter + 10 in is common practice. Neither asks for fewer strips than the geometry does.
    """
    around = 2 * sum(sides)
    for spare, ends in ((24, 0), (10, 45)):
        strips = math.ceil((around + spare) / 40)
        plan = plan_binding([*sides, *sides], [StripEnds(40, 2.5, ends, ends)] * strips)
        assert plan.short == 0


def test_corner_turned_wider_than_the_seam_takes_more() -> None:
    """DESIGN: perimeter + 2 (finished width - seam) cot(angle / 2) at each corner.

    Beside the outline that the binding's middle follows: the trimmed one moved outward.
    """
    import shapely

    triangle = shapely.Polygon([(0, 0), (10, 0), (5, 5 * math.sqrt(3))])
    moved = triangle.buffer(0.25, join_style="mitre", mitre_limit=10)
    plan = plan_binding([10] * 3, [StripEnds(40, 2.5)], finished_width=0.5, corners_deg=[60] * 3)
    assert plan.needed == pytest.approx(moved.length)


def test_joins_keep_off_lapped_hems() -> None:
    """A square of 18 with hems lapped in the middle of two sides: the ends of a side are left."""
    hems = [(25.0, 29.0), (61.0, 65.0)]
    plan = plan_binding(SQUARE, [StripEnds(80, 2.5)], keep_off=hems)
    assert plan.clearance == pytest.approx(9)
    assert list(plan.joins) == [pytest.approx(9)]
    every = [*hems, (7.0, 11.0), (43.0, 47.0)]
    plan = plan_binding(SQUARE, [StripEnds(80, 2.5)], keep_off=every)
    assert [plan.clearance, plan.kept_off] == pytest.approx([3.5, 3.5])
    over_corner = plan_binding(SQUARE, [StripEnds(80, 2.5)], keep_off=[(70, 16), (20, 69)])
    assert [over_corner.clearance, over_corner.kept_off] == pytest.approx([1, 1])
    assert not over_corner.clear


def test_no_more_strips_are_joined_than_reach() -> None:
    plan = plan_binding(SQUARE, [StripEnds(40, 2.5)] * 5)
    assert len(plan.strips) == len(plan.joins) == 2
    assert plan.available == 5 * 37.5


def test_a_store_full_of_strips() -> None:
    """By hand: six of the longest, 6 x 40 less six widths, go round 220 in; all could be joined."""
    short = [StripEnds(12, 2.25)] * 900
    plan = plan_binding([50, 60, 50, 60], [*short, *[StripEnds(40, 2.25)] * 100])
    assert {strip.index >= 900 for strip in plan.strips} == {True}
    assert len(plan.strips) == 6
    assert plan.available == pytest.approx(100 * 37.75 + 900 * 9.75)


def test_twelve_strips_are_more_than_are_looked_for_first() -> None:
    plan = plan_binding([25] * 4, [StripEnds(11.5, 2.5)] * 12)
    assert plan.available == 108
    assert len(plan.joins) == 12


def test_strips_that_give_no_length() -> None:
    """A square end loses 1 1/4 in at either side."""
    plan = plan_binding(SQUARE, [StripEnds(2.5, 2.5), StripEnds(1, 2.5, 45, -45)])
    assert (plan.available, plan.strips, plan.joins) == (0, (), ())
    assert plan.extra == pytest.approx(74.5)


def test_wider_strips_are_cut_to_the_narrowest() -> None:
    plan = plan_binding(SQUARE, [StripEnds(40, 2.5), StripEnds(40, 2.25)])
    assert plan.width == 2.25
    assert plan.available == 80 - 2 * 2.25


@pytest.mark.parametrize("block", range(6))
def test_no_start_is_better(block: int) -> None:
    """300 random rounds beside a scan of every half inch, where a best place must be."""
    for seed in range(50 * block, 50 * block + 50):
        gaps, needed, least, most = random_course(seed)
        margin = widest_margin(gaps, needed, least, most)
        assert margin == pytest.approx(scanned_margin(gaps, needed, least, most), abs=1e-6), seed


@given(
    seed=st.integers(0, 10**6),
    sides=st.lists(st.floats(6, 30), min_size=3, max_size=6),
    seam=st.sampled_from([0.25, 0.375]),
    finished=st.sampled_from([0.25, 0.375, 0.5]),
)
def test_a_plan_is_never_shorter_than_the_geometry_needs(
    seed: int, sides: list[float], seam: float, finished: float
) -> None:
    strips = random_strips(seed, most=5)
    count = len(sides)
    angles = [180 - 360 / count] * count
    plan = plan_binding(sides, strips, seam=seam, finished_width=finished, corners_deg=angles)
    corner = 2 * (finished - seam) / math.tan(math.radians(angles[0] / 2))
    assert plan.needed == pytest.approx(sum(sides) + count * corner)
    used = sum(strip.length for strip in plan.strips)
    if plan.short:
        assert plan.joins == ()
        assert plan.extra is not None
        longer = [*strips, StripEnds(plan.extra + 1e-6, plan.width)]
        again = plan_binding(sides, longer, seam=seam, finished_width=finished, corners_deg=angles)
        assert again.short == 0
        return
    assert used == pytest.approx(plan.needed, abs=1e-6)
    assert len(plan.joins) == len(plan.strips)
    assert plan.available >= plan.needed
    for placed, slope, following in zip(
        plan.strips, plan.slopes_deg, plan.slopes_deg[1:] + plan.slopes_deg[:1], strict=True
    ):
        strip = strips[placed.index]
        ends = strip[:1:-1] if placed.turned else strip[2:]
        lost = 0.0
        for end, recut, join in zip(ends, placed[2:4], (slope, following), strict=True):
            assert recut in (None, join)
            assert recut is not None or end in (0, join)
            allowance = seam * math.sqrt(2)
            lost += plan.width / 2 if end == 0 else allowance + plan.width * (recut is not None)
        assert placed.length <= strip.length - lost + 1e-6
    assert plan.clearance is not None
    assert 0 <= plan.clearance <= max(sides) / 2 + 1e-6


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"sides": [18, 18]}, "three trimmed sides"),
        ({"sides": [18, 18, 0]}, "longer than nothing"),
        ({"corners_deg": [90] * 3}, "4 sides have as many corners, not 3"),
        ({"corners_deg": [90, 90, 90, 200]}, "between 0° and 180°"),
        ({"strips": []}, "no strips"),
        ({"strips": [StripEnds(0, 2.5)]}, "a length and a width"),
        ({"strips": [StripEnds(30, 2.5, 85, 0)]}, "more than 80°"),
        ({"seam": 0}, "more than nothing"),
        ({"sides": [200] * 4, "strips": [StripEnds(9, 2)] * 120}, "more than 100 strips"),
        ({"keep_off": [(0, 72)]}, "the whole edge"),
        ({"sides": [0.3] * 4, "seam": 0.5}, "too short"),
    ],
)
def test_what_no_binding_can_have_is_refused(changed: dict[str, object], said: str) -> None:
    given_: dict[str, object] = {"sides": SQUARE, "strips": [StripEnds(80, 2.5)], **changed}
    with pytest.raises(ShapeError, match=said):
        plan_binding(**given_)  # type: ignore[arg-type]


def test_a_start_that_is_chosen_is_kept_and_the_other_joins_keep_off() -> None:
    plan = plan_binding(SQUARE, [A, B, C, D], start=3)
    assert plan.joins[0] == pytest.approx(3)
    assert plan.clearance == pytest.approx(min(abs((join + 9) % 18 - 9) for join in plan.joins))
    best = plan_binding(SQUARE, [A, B, C, D])
    assert plan_binding(SQUARE, [A, B, C, D], start=best.joins[0]).clearance == _about(5.6464)
    at_corner = plan_binding(SQUARE, [A, B, C, D], start=18)
    assert at_corner.joins[0] == pytest.approx(18)
    assert (at_corner.clearance, at_corner.clear) == (0, False)


def test_a_start_over_a_lapped_hem_is_known() -> None:
    plan = plan_binding(SQUARE, [StripEnds(80, 2.5)], keep_off=[(7.0, 11.0)], start=9)
    assert (plan.joins, plan.kept_off, plan.clear) == ((9,), 0, False)


@settings(max_examples=15)
@given(st.floats(20, 180), st.floats(30, 45), st.sampled_from([1.5, 2.0, 2.25, 2.5]))
def test_no_more_and_no_fewer_strips_across_fabric_than_reach(
    around: float, fabric: float, width: float
) -> None:
    """Beside the plan of the binding itself; a chart's rule is never more careful than that."""
    sides = [around / 4] * 4
    count = strips_across(around, fabric, width)
    assert plan_binding(sides, [StripEnds(fabric, width)] * count).short == 0
    if count > 1:
        assert plan_binding(sides, [StripEnds(fabric, width)] * (count - 1)).short > 0


def test_strips_of_the_rule_for_a_quilt() -> None:
    """(2 x (50 + 60)) / (40 - 2), rounded up: castillejacotton.blogspot.com, June 2013."""
    assert strips_across(220, 40, 2.25) == math.ceil(220 / (40 - 2)) == 6
    with pytest.raises(ShapeError, match="too narrow"):
        strips_across(220, 4, 2.25)


def test_width_with_the_turn_of_the_cloth() -> None:
    """2 1/4 in for a binding of 1/4 in: common practice; see `BindingWish`."""
    wish = BindingWish()
    assert strip_width(wish.finished_width, wish.seam, wish.turn) == 2.25


def test_where_no_strip_is_there_yet_all_is_short() -> None:
    plan = plan_without_strips(rectangle(18, 18), 2.25, seam=0.25, finished_width=0.25)
    assert (plan.needed, plan.available, plan.short, plan.extra) == (72, 0, 72, 74.25)
    assert plan_binding(SQUARE, [StripEnds(74.25, 2.25)]).spare == 0
