"""The sizes of a top from the pieced one to the cover: story C and plain arithmetic."""

import math
from typing import Any

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from scrapstore.errors import ShapeError
from scrapstore.finishing import TopOutline, hexagon, plan_sizes, rectangle

QUARTER: Any = {"allowance": 0.25, "seam": 0.25, "binding": 0.25}


def _about(value: float) -> object:
    """To the fourth decimal, as the stories have it."""
    return pytest.approx(value, abs=5e-5)


def test_story_c_is_trimmed_outside_its_points() -> None:
    sizes = plan_sizes(hexagon(9), **QUARTER)
    assert sizes.trimmed.sides == (_about(9.2887),) * 6
    assert sizes.trimmed.measures == (_about(16.0885),)
    assert sizes.trimmed.perimeter == _about(55.7321)
    assert sizes.pocket.sides == (_about(9),) * 6
    assert (sizes.cut_points, sizes.outside) == (0, (_about(0.25),))


def test_a_measured_top_counts_before_the_plan() -> None:
    """18 in finished, 18 1/2 planned; by hand: points at 18 x 18.25 / 18.5."""
    sizes = plan_sizes(rectangle(18, 18), **QUARTER, measured=(18.25, 18.125))
    assert sizes.planned.measures == (18.5, 18.5)
    assert sizes.points.measures == pytest.approx((17.7568, 17.6351), abs=5e-5)
    assert sizes.trimmed.measures == (18.25, 18.125)
    assert sizes.cut_points == 0  # less than a thread
    drawn_in = plan_sizes(rectangle(18, 18), **QUARTER, shrinkage=3)
    assert drawn_in.planned.measures == pytest.approx((17.945, 17.945))


def test_a_half_inch_seam_over_a_quarter_inch_rest_cuts_the_points() -> None:
    """Trade facts, common practice: "a 1/2 in seam over a 1/4 in rest cuts the points"."""
    sizes = plan_sizes(rectangle(18, 18), allowance=0.25, seam=0.5, binding=None)
    assert sizes.cut_points == pytest.approx(0.25)
    assert sizes.may_lose == pytest.approx((-0.25, -0.25))
    assert sizes.pocket.measures == sizes.cover.measures == pytest.approx((17.5, 17.5))


def test_a_wide_rest_may_be_trimmed_and_a_trim_too_small_is_measured() -> None:
    wide = plan_sizes(rectangle(17.5, 17.5), allowance=0.5, seam=0.25, binding=0.25)
    assert wide.trimmed.measures == pytest.approx((18, 18))
    assert wide.may_lose == pytest.approx((0.25, 0.25))
    cut = plan_sizes(rectangle(18, 18), **QUARTER, trim=(18, 18.5))
    assert cut.outside == pytest.approx((0, 0.25))
    assert cut.cut_points == pytest.approx(0.25)
    with pytest.raises(ShapeError, match="larger than the quilted top"):
        plan_sizes(rectangle(18, 18), **QUARTER, trim=(19, 18))


def test_the_pocket_of_a_bound_cover_and_its_form() -> None:
    """Trimmed size less two seams; a form 1 in larger is plump: joann.com envelope-back pillows."""
    sizes = plan_sizes(rectangle(18, 12), allowance=0.25, seam=0.25, binding=0.375)
    assert sizes.pocket.measures == pytest.approx((18, 12))
    assert sizes.cover.measures == (18.75, 12.75)
    assert sizes.form(1) == (19, 13)
    assert sizes.form(2) == (20, 14)


def test_batting_keeps_its_overhang_but_for_what_quilting_draws_in() -> None:
    sizes = plan_sizes(rectangle(18, 18), **QUARTER, measured=(18, 18))
    assert sizes.layer(2) == (22.5, 22.5)
    assert sizes.overhang_left(2) == pytest.approx(2 * 18 / 18.5)


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"measured": (18,)}, "width and height"),
        ({"measured": (18, -1)}, "more than nothing"),
        ({"shrinkage": 60}, "per cent"),
    ],
)
def test_what_cannot_be_is_refused(given: dict[str, Any], said: str) -> None:
    with pytest.raises(ShapeError, match=said):
        plan_sizes(rectangle(18, 18), **QUARTER, **given)
    with pytest.raises(ShapeError, match="too small"):
        rectangle(1, 1).moved(-0.5)


@given(
    st.lists(st.floats(5, 355), min_size=3, max_size=7, unique_by=lambda at: round(at / 12)),
    st.floats(0.1, 2),
)
def test_moving_the_sides_is_the_mitred_offset_of_shapely(bearings: list[float], by: float) -> None:
    """Corners on a circle, clockwise: convex whatever the bearings are."""
    points = [
        (20 * math.cos(math.radians(at)), 20 * math.sin(math.radians(at)))
        for at in sorted(bearings, reverse=True)
    ]
    ring = shapely.Polygon(points)
    count = len(points)
    sides = [math.dist(points[at], points[(at + 1) % count]) for at in range(count)]
    angles = []
    for at in range(count):
        here, before, after = points[(at + 1) % count], points[at], points[(at + 2) % count]
        one = math.atan2(before[1] - here[1], before[0] - here[0])
        other = math.atan2(after[1] - here[1], after[0] - here[0])
        angles.append(math.degrees(abs((one - other + math.pi) % math.tau - math.pi)))
    outline = TopOutline(tuple(sides), tuple(angles))
    moved = outline.moved(by)
    offset = ring.buffer(by, join_style="mitre", mitre_limit=1000)
    assert moved.perimeter == pytest.approx(offset.length, rel=1e-6)
    assert outline.room_in(moved) == pytest.approx((by,), abs=1e-6)
    assert moved.moved(-by).sides == pytest.approx(sides)
