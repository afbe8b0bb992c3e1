"""What is left of strips, beside story A and cloth cut by shapely."""

import math
from typing import Any

import pytest
import shapely
from shapely import affinity

from scrapstore.finishing import StripEnds, end_loss, plan_binding, strip_rests
from tests.support.binding_rings import random_strips

SQUARE = [18.0] * 4


def _about(value: float) -> Any:
    """To the fourth decimal, as the stories have it."""
    return pytest.approx(value, abs=5e-5)


def _cloth(strip: StripEnds) -> shapely.Polygon:
    """The strip level and right side up, its centre line from 0 along the x-axis."""
    lean_start, lean_end = (strip.width / 2 * math.tan(math.radians(slope)) for slope in strip[2:4])
    half = strip.width / 2
    return shapely.Polygon([
        (-lean_start, -half), (strip.length - lean_end, -half),
        (strip.length + lean_end, half), (lean_start, half),
    ])  # fmt: skip


def test_story_a_leaves_five_inches_of_c() -> None:
    """5.1716 to spare, taken off C, whose ends lean to the left."""
    strips = [
        StripEnds(30, 2.5, 45, 45), StripEnds(24, 2.5, 45, -45),
        StripEnds(21.5, 2.5, -45, -45), StripEnds(4.5, 2.5, -45, 45),
    ]  # fmt: skip
    rests = strip_rests(plan_binding(SQUARE, strips), strips, 1.5)
    assert [len(each) for each in rests] == [0, 0, 1, 0]
    assert rests[2][0] == StripEnds(_about(5.1716), 2.5, -45, -45)
    assert strip_rests(plan_binding(SQUARE, strips), strips, 5.2)[2] == ()


def test_story_c_leaves_too_little_to_keep() -> None:
    """0.8840 off each of two square-ended strips."""
    strips = [StripEnds(31, 2.25)] * 2
    plan = plan_binding([9.28867513] * 6, strips, corners_deg=[120] * 6)
    assert strip_rests(plan, strips, 1.5) == ((), ())
    for (rest,) in strip_rests(plan, strips, 0.25):
        assert rest == StripEnds(_about(0.8840), 2.25)


def test_a_wider_strip_leaves_what_is_cut_off_along_it() -> None:
    strips = [StripEnds(80, 2.5), StripEnds(90, 6.0)]
    plan = plan_binding([40.0] * 4, strips)
    at = [placed.index for placed in plan.strips].index(1)
    along = strip_rests(plan, strips, 1.5)[at][0]
    assert along == StripEnds(90, 3.5)


@pytest.mark.parametrize("seed", range(12))
def test_used_cloth_and_rests_make_up_each_strip(seed: int) -> None:
    """Areas, and by shapely that a rest laid at its end lies in the strip."""
    strips = random_strips(seed)
    least = min(strip.width for strip in strips)
    needed = sum(strip.length for strip in strips) * 0.55
    plan = plan_binding([needed / 4] * 4, strips)
    if not plan.joins:
        pytest.skip("these strips do not reach")
    slopes = plan.slopes_deg
    for at, (placed, rests) in enumerate(
        zip(plan.strips, strip_rests(plan, strips, -100), strict=True)
    ):
        strip = strips[placed.index]
        start, end = strip[:1:-1] if placed.turned else strip[2:]
        joins = (slopes[at], slopes[(at + 1) % len(slopes)])
        used = placed.length * least
        for slope, join in zip((start, end), joins, strict=True):
            # An end that is not recut loses its allowance, or crossed half its width, in use.
            recut = abs(slope) > 1e-6 and abs(slope - join) > 1e-6
            used += least * end_loss(join if recut else slope, join, least, 0.25)
        whole = _cloth(strip)
        left = sum(rest.length * rest.width for rest in rests)
        assert used + left == pytest.approx(whole.area)
        for rest in rests:
            if rest.width == pytest.approx(strip.width) and rest[3] == end:
                moved = affinity.translate(_cloth(rest), strip.length - rest.length, 0)
                turned = affinity.rotate(whole, 180, origin=(strip.length / 2, 0))
                assert (turned if placed.turned else whole).buffer(1e-6).contains(moved)
