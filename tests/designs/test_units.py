"""Squares for pieced units: the rules in print, and what is left inside the seams, by shapely."""

import math

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, affinity, box

from scrapstore.designs import least_square, make_design, square_parts, squares_for
from scrapstore.errors import UsageError

HALF, QUARTER = "half-square-triangle", "quarter-square-triangle"
EACH = [(HALF, 2), (HALF, 8), (QUARTER, 4)]


def up(inches: float) -> float:
    return math.ceil(inches * 8 - 1e-9) / 8


@pytest.mark.parametrize("finished", [1.5, 2, 3, 4, 6.5])
def test_squares_are_those_of_the_rules_in_print(finished: float) -> None:
    """karencombs.com, "Formulas for Quilters" (2002), and grannymaudsgirl.wordpress.com 2018/06/11:
    7/8 for half-square, 1 1/4 for quarter-square triangles. Eight at a time 2 × (finished + 7/8),
    flying geese four at a time finished width + 1 1/4 and finished height + 7/8: common practice,
    no source. Exact figures by geometry."""
    pair, eight, quarter = (least_square(kind, each, finished, 0.25) for kind, each in EACH)
    assert up(pair) == finished + 7 / 8
    assert up(quarter) == finished + 1.25
    assert 2 * up(eight / 2) == 2 * (finished + 7 / 8)
    assert pair == pytest.approx(finished + 0.8536, abs=1e-4)
    assert eight == pytest.approx(2 * finished + 1.7071, abs=1e-4)
    assert quarter == pytest.approx(finished + 1.2071, abs=1e-4)


def halves(square: Polygon, each: int) -> list[Polygon]:
    """A square cut along its diagonals: into two, into four, or each quarter of it into two."""
    (x0, y0, x1, y1) = square.bounds
    x, y = (x0 + x1) / 2, (y0 + y1) / 2
    lines = {
        2: [[(x0, y1), (x1, y0)]],
        4: [[(x0, y1), (x1, y0)], [(x0, y0), (x1, y1)]],
        8: [[(x0, y1), (x1, y0)], [(x0, y0), (x1, y1)], [(x, y0), (x, y1)], [(x0, y), (x1, y)]],
    }[each]
    net = shapely.unary_union([square.exterior, *map(shapely.LineString, lines)])
    return [Polygon(part.exterior) for part in shapely.get_parts(shapely.polygonize([net]))]


@given(finished=st.floats(1, 8), seam=st.sampled_from([0.25, 0.375, 0.75 / 2.54]))
@settings(max_examples=25)
def test_the_least_square_leaves_just_the_finished_triangles(finished: float, seam: float) -> None:
    """Cut apart along the diagonals, with a seam taken off every edge of every part."""
    for kind, each in EACH:
        cut = least_square(kind, each, finished, seam)
        side = cut - 2 * seam
        parts = square_parts(kind, each, finished, side, seam)
        assert len(parts) == each
        square = box(-seam, -seam, side + seam, side + seam)
        inside = [part.buffer(-seam, join_style="mitre") for part in halves(square, each)]
        assert len(inside) == each
        for part in parts:
            (same,) = [one for one in inside if one.contains(part.centroid)]
            assert part.symmetric_difference(same, grid_size=1e-9).area < 1e-6
            assert part.exterior.is_ccw


@given(finished=st.floats(1, 8), over=st.floats(0, 1))
@settings(max_examples=25)
def test_parts_of_a_larger_square_are_right_too(finished: float, over: float) -> None:
    """Of the finished size, in the square, a seam from one another."""
    for kind, each in EACH:
        side = least_square(kind, each, finished, 0.25) + over - 0.5
        parts = square_parts(kind, each, finished, side, 0.25)
        area = finished**2 / (4 if kind == QUARTER else 2)
        assert [part.area for part in parts] == pytest.approx([area] * each)
        for i, part in enumerate(parts):
            assert box(0, 0, side, side).buffer(1e-9).contains(part)
            assert all(part.distance(other) > 0.5 - 1e-9 for other in parts[:i])


@pytest.mark.parametrize(
    ("name", "method", "said"),
    [
        # Story D: sixteen units finishing 4, two at a time from 5 in squares: 8 light, 8 dark.
        ("pinwheels", "pairs", [(8, 5.0, 2), (8, 5.0, 2)]),
        ("pinwheels", "eights", [(2, 9.75, 8), (2, 9.75, 8)]),
        # Geese 2 high and 4 wide: 16 of them, large squares of 5 1/4, four small of 2 7/8 to each.
        ("geese", "fours", [(4, 5.25, 4), (16, 2.875, 2)]),
    ],
)
def test_what_is_cut_for_a_design(
    name: str, method: str, said: list[tuple[int, float, int]]
) -> None:
    rows, columns = (4, 4) if name == "geese" else (2, 2)
    top = make_design(name, size=16, rows=rows, columns=columns, seam=0.25, mark=0.125)
    lines, how = squares_for(top, method, seam=0.25, mark=0.125)
    found = [(line.count, line.sizes["side"] + 0.5, makes and makes.each) for line, makes in lines]
    assert found == said
    assert "right sides together" in how


def test_units_that_do_not_come_out_even_take_a_square_more() -> None:
    top = make_design("half-squares", piece=4, rows=3, columns=3, seam=0.25, mark=0.125)
    for method, count in (("pairs", 5), ("eights", 2)):
        lines, _ = squares_for(top, method, seam=0.25, mark=0.125)
        assert [line.count for line, _ in lines] == [count, count]


def test_a_border_is_cut_as_it_is() -> None:
    top = make_design("pinwheels", size=20, border=2, seam=0.25, mark=0.125)
    lines, _ = squares_for(top, "pairs", seam=0.25, mark=0.125)
    assert [makes is None for _, makes in lines] == [False, False, True, True]


def test_the_size_of_the_squares_may_be_chosen_but_not_below_the_least() -> None:
    """Story D: 4 3/4 is too small, 4.8536 the least; 4 7/8 and 5 will do."""
    top = make_design("pinwheels", size=16, rows=2, columns=2, seam=0.25, mark=0.125)
    for square in (4.875, 5.0, 4 + 0.25 * (2 + math.sqrt(2))):
        lines, _ = squares_for(top, "pairs", seam=0.25, mark=0.125, square=square)
        assert lines[0][0].sizes["side"] == pytest.approx(square - 0.5)
    with pytest.raises(UsageError, match=r"4.75 in is too small; .* take 4.8536 in at the least"):
        squares_for(top, "pairs", seam=0.25, mark=0.125, square=4.75)


@pytest.mark.parametrize(
    ("name", "method", "square", "said"),
    [
        ("pinwheels", "threes", None, "choose single, pairs, eights, fours"),
        ("pinwheels", "fours", None, "pinwheels has no flying geese four at a time"),
        ("star", "pairs", None, "star has no half-square triangles two at a time"),
        ("geese", "pairs", None, "geese has no half-square triangles"),
        ("geese", "fours", 5.0, "squares of two sizes"),
    ],
)
def test_what_no_units_are_made_of(name: str, method: str, square: float | None, said: str) -> None:
    top = make_design(name, size=16, seam=0.25, mark=0.125)
    with pytest.raises(UsageError, match=said):
        squares_for(top, method, seam=0.25, mark=0.125, square=square)


def test_triangles_that_are_sewn_to_others_are_no_units() -> None:
    """The halves between the points of a star are sewn to its diamonds, each to another."""
    star = make_design("eight-point-star", fill="split", size=18, seam=0.25, mark=0.125)
    for method in ("pairs", "eights"):
        with pytest.raises(UsageError, match="eight-point-star has no half-square triangles"):
            squares_for(star, method, seam=0.25, mark=0.125)


def test_geese_point_up_between_their_sky() -> None:
    top = make_design("geese", size=16, rows=4, columns=4, seam=0.25, mark=0.125)
    assert (top.piece_size, top.size) == (2, 16)
    geese = [piece.outline for piece in top.pieces if piece.role == "geese"]
    assert len(geese) == 16
    for goose in geese:
        west, south, east, north = goose.bounds
        assert (east - west, north - south) == (4, 2)
        assert goose.equals_exact(
            affinity.translate(Polygon([(0, 0), (4, 0), (2, 2)]), west, south), 1e-9
        )
