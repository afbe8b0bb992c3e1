"""Where the first cut meets the edges of cloth that has no cut to measure from yet."""

import math
import re

import pytest
from shapely import Point, Polygon, affinity, box

from scrapstore.report.corners import edge_along, lettered_corners, line_from_corners
from scrapstore.shapes import Line
from scrapstore.units import format_length, parse_length

TRIANGLE = Polygon([(0, 0), (8, 3.25), (0, 6.5)])
STEP = 1 / 16


def level(y: float) -> Line:
    return (1.0, y), (2.0, y)


def said(outline: Polygon, line: Line) -> str:
    return line_from_corners(outline, line, format_length, STEP)


def test_corners_go_round_from_the_lowest_left_one() -> None:
    """Bends of a few degrees are no corners; drawn clockwise makes no difference."""
    bent = Polygon([(0, 0), (4, 0.1), (8, 0), (8, 5), (0, 5)])
    told = [(c.letter, c.x, c.y) for c in lettered_corners(bent)]
    assert told == [("a", 0, 0), ("b", 8, 0), ("c", 8, 5), ("d", 0, 5)]
    assert lettered_corners(bent.reverse()) == lettered_corners(bent)


def test_a_round_scrap_has_no_letters() -> None:
    """Nor has one with a corner at every bend; a line on it is not told by corners."""
    disc = Point(0, 0).buffer(4, quad_segs=16)
    assert lettered_corners(disc) == ()
    assert said(disc, level(1.0)) == ""


def test_the_line_is_found_again_from_the_corners() -> None:
    """Walking the told distances from the told corners ends on the line, to half a mark."""
    slanted = affinity.rotate(box(0, 0, 9, 5), 12, origin=(0, 0))
    corners = {c.letter: (c.x, c.y) for c in lettered_corners(slanted)}
    told = re.findall(r"the edge (.+?) from corner (\w) towards (\w)", said(slanted, level(1.5)))
    assert len(told) == 2
    ends = []
    for length, start, toward in told:
        assert not length.startswith("~")
        (x0, y0), (x1, y1) = corners[start], corners[toward]
        part = parse_length(length) / math.hypot(x1 - x0, y1 - y0)
        assert part <= 0.5 + STEP
        ends.append((x0 + part * (x1 - x0), y0 + part * (y1 - y0)))
    assert [y for _, y in ends] == pytest.approx([1.5, 1.5], abs=STEP / 2 + 1e-9)
    assert ends[0][0] < ends[1][0]


def test_a_line_through_a_corner_names_the_corner() -> None:
    """Rather than a distance of nothing."""
    assert re.fullmatch(
        r"from the edge 3 1/4 in from corner \w towards \w to corner b", said(TRIANGLE, level(3.25))
    )


def test_a_line_beside_the_cloth_is_not_told() -> None:
    assert said(TRIANGLE, level(9.0)) == ""


def test_the_edge_under_the_ruler_is_the_one_at_that_distance() -> None:
    """Of two parallel ones the nearer; at an angle the longest that has it."""
    cloth = box(0, 0, 9, 5)
    assert {y for _, y in edge_along(cloth, level(0.5), 0.5, 0.0)} == {0.0}
    assert {y for _, y in edge_along(cloth, level(4.5), 0.5, 0.0)} == {5.0}
    slanted = ((0.0, 0.0), (1.0, math.sqrt(3)))
    assert {y for _, y in edge_along(cloth, slanted, 0.0, 60.0)} in ({0.0}, {5.0})
