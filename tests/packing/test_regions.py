"""Where a piece may lie: by the definition, sampled, and remembered by content."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import MultiLineString, MultiPolygon, Polygon, box

from scrapstore.packing import PieceKind, fill, usable_region, verify
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


# Found at random: the sweeps of a turned hexagon over this region are valid and all but coincide.
_ALL_BUT_COINCIDENT = (
    "0106000000010000000103000000040000000A0000004FFCCE92D0FC13C0B7A891FA5C92C6BFD827"
    "41678E870FC056EF8F21659D08402A3DE4A06CA9F0BF3EFA34F6B88F1340CEDD6C390DC40240BB23"
    "071794A9114016A170B1B5CFFB3F6E72FE7E367FE63FD8A9CA31FE051340ECDBEDAB7AB1F8BFD61A"
    "31EC933505407A96322F01F510C05C66A96A8F35E6BF2273C7656FCE13C00E35231346B70DC08B06"
    "7396B4C60AC04FFCCE92D0FC13C0B7A891FA5C92C6BF050000007B14AE47E17A943F7B14AE47E17A"
    "94BF7B14AE47E17A943F7B14AE47E17A943F7B14AE47E17A94BF7B14AE47E17A943F7B14AE47E17A"
    "94BF7B14AE47E17A94BF7B14AE47E17A943F7B14AE47E17A94BF05000000000000000000DCBF3CFC"
    "70121D44CE3F000000000000DC3F3CFC70121D44CE3F000000000000DC3F881F4EA283C8F13F0000"
    "00000000DCBF881F4EA283C8F13F000000000000DCBF3CFC70121D44CE3F05000000000000000000"
    "E83F000000000000E83F000000000000F43F000000000000E83F000000000000F43F000000000000"
    "F43F000000000000E83F000000000000F43F000000000000E83F000000000000E83F"
)


def test_sweeps_that_all_but_coincide_are_united() -> None:
    """GEOS refuses to unite them in full precision: "side location conflict"."""
    region = shapely.from_wkb(bytes.fromhex(_ALL_BUT_COINCIDENT))
    assert isinstance(region, MultiPolygon)
    corners = [(math.cos(k * math.pi / 3), math.sin(k * math.pi / 3)) for k in range(6)]
    kinds = [PieceKind("hexagon", Polygon(corners), 1, (17.0,), mirror=False)]
    layout = fill(region, kinds, seconds=0.02, seed=0)
    assert layout.value == pytest.approx(1.5 * math.sqrt(3))  # the area of a hexagon, side 1
    assert verify(region, kinds, layout) == []


def test_a_margin_may_be_kept_from_part_of_the_edge_alone() -> None:
    """Half an inch from the left and the lower edge of 10 × 4; a ring is the whole edge."""
    corner = MultiLineString([[(0, 4), (0, 0), (10, 0)]])
    part = usable_region(box(0, 0, 10, 4), (), 0.5, corner)
    assert part.symmetric_difference(box(0.5, 0.5, 10, 4)).area < 1e-9
    two_lines = MultiLineString([[(0, 0), (10, 0)], [(0, 4), (0, 0)]])
    assert usable_region(box(0, 0, 10, 4), (), 0.5, two_lines).equals(part)
    ring = MultiLineString([box(0, 0, 10, 4).exterior.coords])
    whole = usable_region(box(0, 0, 10, 4), (), 0.5, ring)
    assert whole.symmetric_difference(usable_region(box(0, 0, 10, 4), (), 0.5)).area < 1e-9
    stained = usable_region(box(0, 0, 10, 4), [box(9, 3, 10, 4)], 0.5, corner)
    assert stained.area == pytest.approx(9.5 * 3.5 - 1)
