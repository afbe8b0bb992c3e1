r"""Which strips are joined in which order; what an end loses at its join, laid over in shapely."""

import math

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon, affinity
from shapely.geometry.base import BaseGeometry

from scrapstore.finishing import StripEnds, end_loss, plan_binding
from scrapstore.finishing.joining import Joined, best_rings, ring_orders
from tests.support.binding_rings import longest_ring, random_strips

WIDTHS = (2.0, 2.25, 2.5)
SEAM = 0.25


def _strip(one: StripEnds) -> Polygon:
    """Its cloth along +x, its centre line from (0, 0) to (length, 0)."""
    half = one.width / 2
    start, end = (math.tan(math.radians(slope)) * half for slope in one[2:])
    return Polygon(
        [(-start, -half), (one.length - end, -half), (one.length + end, half), (start, half)]
    )


def _left_of(x: float, slope_deg: float) -> Polygon:
    """All that is left of a line of this slope through (x, 0)."""
    lean = math.tan(math.radians(slope_deg)) * 100
    return Polygon([(x - lean, -100), (x + lean, 100), (-1000, 100), (-1000, -100)])


def _across(x: float, slope_deg: float, width: float) -> shapely.LineString:
    lean = math.tan(math.radians(slope_deg)) * width / 2
    return shapely.LineString([(x - lean, -width / 2), (x + lean, width / 2)])


@pytest.mark.parametrize("join", [45.0, -45.0])
@pytest.mark.parametrize("slope", [0.0, 45.0, -45.0, 30.0, -60.0, 12.5])
@pytest.mark.parametrize("width", WIDTHS)
def test_the_seam_and_its_allowance_lie_on_cloth_and_no_further_out_would_do(
    width: float, slope: float, join: float
) -> None:
    cloth = _strip(StripEnds(20, width, 0, slope))

    def fits(x: float) -> bool:
        band: BaseGeometry = _across(x, join, width).buffer(1e-9)
        if slope != 0:
            # The allowance is 1/4 in measured square to the seam.
            beyond = _left_of(x + SEAM * math.sqrt(2), join).difference(_left_of(x, join))
            band = beyond.intersection(shapely.box(-5, -width / 2, 50, width / 2))
        return cloth.buffer(1e-6).covers(band)

    x = 20 - end_loss(slope, join, width, SEAM)
    assert fits(x)
    assert not fits(x + 0.01)


@pytest.mark.parametrize("width", WIDTHS)
def test_two_crossed_square_ends_measure_both_lengths_less_the_width(width: float) -> None:
    """check-values, Binding: L1 + L2 - w along the centre line (geometry, in shapely).

    The second strip is put right sides together at right angles over the end of the first, sewn
    from corner to corner, and opened out: mirrored in the seam.
    """
    first, second = 20.0, 13.0
    x = first - end_loss(0, 45, width, SEAM)
    corner = (first - width / 2, 0.0)
    assert x == pytest.approx(corner[0])
    across = shapely.box(
        corner[0] - width / 2, -width / 2, corner[0] + width / 2, second - width / 2
    )
    # Mirrored in the line of slope 45 through the corner: x and y change places about it.
    opened = affinity.affine_transform(
        across, [0, 1, 1, 0, corner[0] - corner[1], corner[1] - corner[0]]
    )
    overlaid = across.intersection(shapely.box(0, -width / 2, first, width / 2))
    assert overlaid.area == pytest.approx(width**2)
    left = shapely.box(0, -width / 2, first, width / 2).intersection(_left_of(x, 45))
    right = opened.difference(_left_of(x, 45))
    whole = left.union(right).buffer(1e-9)
    low, bottom, high, top = whole.bounds
    assert top - bottom == pytest.approx(width, abs=1e-6)
    assert low == pytest.approx(0, abs=1e-6)
    lost = 2 * end_loss(0, 45, width, SEAM)
    assert lost == pytest.approx(width)
    assert abs((high - low) - (first + second - lost)) < 1e-6
    assert whole.area == pytest.approx(width * (first + second - lost), abs=1e-5)


def test_two_ends_cut_at_45_lose_twice_the_seam_along_the_slant() -> None:
    """check-values, Binding: 2 x 1/4 x sqrt 2 = 0.707 in (geometry)."""
    assert 2 * end_loss(45, 45, 2.5, 0.25) == pytest.approx(0.7071, abs=5e-5)


@given(
    lengths=st.tuples(st.floats(8, 40), st.floats(8, 40)),
    width=st.sampled_from(WIDTHS),
    slopes=st.tuples(*[st.floats(-60, 60)] * 4),
    join=st.sampled_from([45.0, -45.0]),
)
def test_two_strips_of_any_slopes_joined_by_overlay(
    lengths: tuple[float, float], width: float, slopes: tuple[float, ...], join: float
) -> None:
    """Both cut at their seams and put together, they are one strip as long as is claimed."""
    one = StripEnds(lengths[0], width, slopes[0], slopes[1])
    other = StripEnds(lengths[1], width, slopes[2], slopes[3])
    x = one.length - end_loss(one.end_slope_deg, join, width, SEAM)
    y = end_loss(other.start_slope_deg, join, width, SEAM)
    # Far enough from the ends that are not joined.
    kept = _strip(one).intersection(_left_of(x, join))
    added = affinity.translate(_strip(other).difference(_left_of(y, join)), x - y, 0)
    whole = kept.union(added)
    # The centre line runs through without a break or an overlap.
    line = shapely.LineString([(-5, 0), (100, 0)])
    measured = whole.buffer(1e-9).intersection(line).length
    assert measured == pytest.approx(one.length + other.length - (one.length - x) - y, abs=1e-6)
    assert kept.intersection(added).area < 1e-6
    near = shapely.box(x - 0.01, -width / 2, x + 0.01, width / 2)
    assert near.difference(whole.buffer(1e-6)).area < 1e-6


@pytest.mark.parametrize("block", range(10))
def test_no_other_order_turn_or_recut_gives_more(block: int) -> None:
    """300 random sets beside brute force."""
    for seed in range(30 * block, 30 * block + 30):
        strips = random_strips(seed)
        width = min(strip.width for strip in strips)
        plan = plan_binding([500] * 4, strips)
        assert plan.available == pytest.approx(longest_ring(strips, width, SEAM), abs=1e-9), strips


def _orders(strips: list[Joined]) -> list[tuple[tuple[int, bool], ...]]:
    return [tuple((one.strip, turned) for one, turned in each) for each in ring_orders(strips)]


def test_every_order_of_a_ring_is_found_once_and_its_joins_agree() -> None:
    rings = [
        ring
        for seed in range(60)
        for ring in best_rings(random_strips(seed), 2.25, SEAM, apart=4).values()
    ]
    assert max(map(len, rings)) == 4
    for ring in rings:
        orders = _orders(list(ring))
        assert orders
        assert len(set(orders)) == len(orders)
        for order in ring_orders(ring):
            ends = [one[3:1:-1] if turned else one[2:] for one, turned in order]
            assert all(a[1] == b[0] for a, b in zip(ends, ends[1:] + ends[:1], strict=True))


def test_orders_of_one_kind_are_all_permutations_of_the_rest() -> None:
    ring = [Joined(at, 10.0, 45.0, 45.0) for at in range(5)]
    assert len(_orders(ring)) == math.factorial(4)


def test_a_strip_that_would_only_cost_length_is_left_out() -> None:
    """Recut at both ends, 3 inches would take more than they give."""
    strips = [StripEnds(40, 2.5, 45, 45), StripEnds(40, 2.5, 45, 45), StripEnds(3, 2.5, -45, -45)]
    plan = plan_binding([100] * 4, strips)
    assert [each.index for each in plan.strips] == [0, 1]
    assert plan.available == pytest.approx(80 - 4 * 0.25 * math.sqrt(2))
