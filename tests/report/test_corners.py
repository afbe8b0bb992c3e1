"""Where the first cut meets the edges of a scrap that has no edge to lay a ruler on."""

import math
import re

import pytest
from shapely import Point, Polygon, affinity, box

from scrapstore.report.corners import first_line, lettered_corners, needs_letters
from scrapstore.units import format_length, parse_length

TRIANGLE = Polygon([(0, 0), (8, 3.25), (0, 6.5)])


def show(inches: float) -> str:
    """A sixteenth of an inch, as the sheets show it."""
    return format_length(inches, "in", 1 / 16)


def test_corners_go_round_from_the_lowest_left_one() -> None:
    """Bends of a few degrees are no corners; drawn clockwise makes no difference."""
    bent = Polygon([(0, 0), (4, 0.1), (8, 0), (8, 5), (0, 5)])
    told = [(c.letter, c.x, c.y) for c in lettered_corners(bent)]
    assert told == [("a", 0, 0), ("b", 8, 0), ("c", 8, 5), ("d", 0, 5)]
    assert lettered_corners(bent.reverse()) == lettered_corners(bent)


def test_a_round_scrap_has_no_letters() -> None:
    """Nor has one with a corner at every bend."""
    assert lettered_corners(Point(0, 0).buffer(4, quad_segs=16)) == ()
    star = Polygon(
        [
            ((3 + k % 2) * math.cos(k * math.pi / 10), (3 + k % 2) * math.sin(k * math.pi / 10))
            for k in range(20)
        ]
    )
    assert lettered_corners(star) == ()
    assert first_line(star, 0, 0.0, show) == ()


def test_a_scrap_with_level_and_upright_edges_needs_none() -> None:
    """A ruler is laid along them."""
    assert not needs_letters(box(0, 0, 9, 5))
    assert needs_letters(TRIANGLE)
    assert needs_letters(affinity.rotate(box(0, 0, 9, 5), 12))
    assert first_line(box(0, 0, 9, 5), 0, 1.0, show) == ()
    assert first_line(TRIANGLE, 1, 1.0, show) == ()  # measured from its upright left edge


def test_the_line_is_found_again_from_the_corners() -> None:
    """Walking the told distances from the told corners ends on the line, to half a mark."""
    slanted = affinity.rotate(box(0, 0, 9, 5), 12, origin=(0, 0))
    corners = {c.letter: (c.x, c.y) for c in lettered_corners(slanted)}
    (said,) = first_line(slanted, 0, 1.5, show)
    told = re.findall(r"the edge (.+?) from corner (\w) towards (\w)", said)
    assert len(told) == 2
    ends = []
    for length, start, toward in told:
        (x0, y0), (x1, y1) = corners[start], corners[toward]
        part = parse_length(length.lstrip("~")) / math.hypot(x1 - x0, y1 - y0)
        assert part <= 0.5
        ends.append((x0 + part * (x1 - x0), y0 + part * (y1 - y0)))
    assert [y for _, y in ends] == pytest.approx([1.5, 1.5], abs=1 / 32)
    assert ends[0][0] < ends[1][0]
    assert "1 1/2 in up in the drawing" in said


def test_a_line_through_a_corner_names_the_corner() -> None:
    """Rather than a distance of nothing."""
    (said,) = first_line(TRIANGLE, 0, 3.25, show)
    assert said.startswith("First line: lay the ruler from the edge 3 1/4 in from corner ")
    assert "to corner b." in said
