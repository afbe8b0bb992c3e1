"""Eight-point star, three-diamond blocks, flowers, half-square triangles, strips and borders.

Against closed forms, by geometry, and published rules.
"""

import math
from collections import Counter
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scrapstore.designs import Design, make_design
from scrapstore.errors import UsageError
from scrapstore.shapes import cut_outline

ROOT_2, ROOT_3 = math.sqrt(2), math.sqrt(3)


def made(name: str, **asked: Any) -> Design:
    return make_design(name, **({"seam": 0.25, "mark": 0.125} | asked))


@given(n=st.integers(1, 8), height=st.floats(0.25, 3))
@settings(max_examples=20)
def test_the_eight_point_star_in_closed_form(n: int, height: float) -> None:
    """8 n² diamonds; the block is (2 + √2) sides of a point, whose side is n √2 heights."""
    whole, split = (made("eight-point-star", piece=height, a_side=n, fill=f)
                    for f in ("whole", "split"))  # fmt: skip
    side = n * height * ROOT_2
    for top in (whole, split):
        assert sum(top.rounds) == 8 * n**2
        assert top.sides == pytest.approx(((2 + ROOT_2) * side,) * 2)
        assert top.size == pytest.approx((2 + ROOT_2) * side)
        assert top.is_rectangle
    assert (whole.set_in_seams, split.set_in_seams) == (8, 0)
    assert (len(whole.pieces), len(split.pieces)) == (8 * n**2 + 8, 8 * n**2 + 16)


def test_the_eight_point_star_keeps_the_published_rule() -> None:
    """karencombs.com, "Formulas for Quilters" (2002): the finished block is 3.41 times the finished
    side of a diamond."""
    top = made("eight-point-star", piece=3 / ROOT_2, a_side=1)
    assert top.lines[0].shape.measures["side"] == pytest.approx(3)
    assert top.size / 3 == pytest.approx(3.41, abs=0.005)


def test_the_pieces_between_the_points_fit_them() -> None:
    """Square as long as a point's side, triangle of its diagonal; halves of both when split."""
    top = made("eight-point-star", piece=1.25, a_side=2)
    side = 2 * 1.25 * ROOT_2
    square, triangle = (line.shape.measures for line in top.lines[-2:])
    assert square["side"] == pytest.approx(side)
    assert triangle["long_side"] == pytest.approx(side * ROOT_2)
    assert triangle["short_side"] == pytest.approx(side)
    halves = made("eight-point-star", piece=1.25, a_side=2, fill="split").lines[-2:]
    assert [line.count for line in halves] == [8, 8]
    assert [line.shape.measures["short_side"] for line in halves] == pytest.approx(
        [side, side / ROOT_2]
    )


@given(rows=st.integers(1, 6), columns=st.integers(1, 6), height=st.floats(0.25, 3))
@settings(max_examples=20)
def test_three_diamonds_in_closed_form(rows: int, columns: int, height: float) -> None:
    """A block is 2 h wide, rows are √3 h apart; as many left diamonds as right ones, one of each a
    block; seams are set in at each middle and each upper tip inside."""
    top = made("three-diamonds", piece=height, rows=rows, columns=columns)
    assert top.sides == pytest.approx((2 * columns * height, ROOT_3 * rows * height))
    area = Counter[str]()
    for piece in top.pieces:
        area[piece.role] += piece.outline.area  # type: ignore[assignment]
    assert list(area.values()) == pytest.approx([top.outline.area / 3] * 3)
    assert {line.name: line.count for line in top.lines}["left diamond"] == rows * columns
    inside = [columns - (row % 2 == 0) for row in range(1, rows + 2)]
    assert top.set_in_seams == sum(inside[:-1]) + sum(inside[1:])
    split = made("three-diamonds", piece=height, rows=rows, columns=columns, fill="split")
    assert split.set_in_seams == 0
    assert "upper diamond" not in {line.name for line in split.lines}


def test_three_diamonds_in_a_hexagon() -> None:
    """Of side n diamonds: 6 n² triangles of half a diamond each, a third of them each way."""
    for n in (1, 2, 3, 6):
        top = made("three-diamonds-hexagon", piece=1.5, a_side=n)
        counts = {line.name: line.count for line in top.lines}
        for which in ("upper", "left", "right"):
            halves = counts.get(f"{which} half", 0)
            assert 2 * counts[f"{which} diamond"] + halves == 2 * n**2
        assert top.size == pytest.approx(2 * n * 1.5)
        assert top.outline.area == pytest.approx(1.5 * ROOT_3 * (n * 1.5 * 2 / ROOT_3) ** 2)


@given(rings=st.integers(1, 6), height=st.floats(0.25, 3))
@settings(max_examples=15)
def test_flowers_in_closed_form(rings: int, height: float) -> None:
    """1 + 3 k (k + 1) hexagons in k rings; three meet at each of 6 k² corners inside."""
    top = made("hexagon-flower", piece=height, rings=rings)
    assert top.rounds == (1, *(6 * ring for ring in range(1, rings + 1)))
    assert len(top.pieces) == 1 + 3 * rings * (rings + 1)
    assert top.sides[0] == pytest.approx(top.size) == pytest.approx((2 * rings + 1) * height)
    assert top.set_in_seams == 6 * rings**2
    assert len({line.role for line in top.lines}) == rings + 1
    wedges = Counter(piece.wedge for piece in top.pieces if piece.ring == rings + 1)
    assert wedges == dict.fromkeys(range(1, 7), rings)


def dark(top: Design, x: float, y: float) -> bool:
    """Whether the piece at this point is a dark one."""
    from shapely import Point

    (piece,) = [piece for piece in top.pieces if piece.outline.contains(Point(x, y))]
    return piece.role == "dark"


def test_layouts_of_half_square_triangles() -> None:
    """Looked up point by point on four by four units of 2: what makes each layout what it is."""
    tops = {
        layout: made("half-squares", piece=2, layout=layout)
        for layout in ("sawtooth", "peaks", "zigzag", "broken-dishes", "concentric")
    }
    near = [(x, y) for x in (-3, -1, 1, 3) for y in (-3, -1, 1, 3)]
    at = {
        name: [[dark(top, x + a, y + b) for a, b in ((0.1, -0.5), (-0.1, 0.5))] for x, y in near]
        for name, top in tops.items()
    }
    assert set(map(tuple, at["sawtooth"])) == {(True, False)}
    # Peaks and bands stand on their dark side, and in a band the next row is the other way round.
    assert set(map(tuple, at["peaks"])) == {(True, False)}
    rows = [at["zigzag"][row::4] for row in range(4)]
    assert [{tuple(each) for each in row} for row in rows] == [
        {(False, True)}, {(True, False)}, {(False, True)}, {(True, False)},
    ]  # fmt: skip
    # Broken dishes: in each block of four, dark lies left and right of the middle.
    for x, y in ((-2, -2), (2, -2), (-2, 2), (2, 2)):
        around = ((0.5, 0), (0, 0.5), (-0.5, 0), (0, -0.5))
        points = [(x + a + 0.01, y + b + 0.02) for a, b in around]
        assert [dark(tops["broken-dishes"], *p) for p in points] == [True, False, True, False]
    # Concentric: the same along every line |x| + |y| = constant.
    for reach in (1, 3, 5):
        on = [(a * t * reach, b * (1 - t) * reach) for a in (1, -1) for b in (1, -1)
              for t in (0.13, 0.37, 0.87)]  # fmt: skip
        inside = [(x, y) for x, y in on if max(abs(x), abs(y)) < 4]
        assert {dark(tops["concentric"], x, y) for x, y in inside} == {reach in (1, 5)}


def test_layouts_by_pairs_refuse_odd_numbers() -> None:
    with pytest.raises(UsageError, match="peaks goes by pairs; give an even number of columns"):
        made("half-squares", layout="peaks", columns=3)
    with pytest.raises(UsageError, match="even number of rows and columns"):
        made("half-squares", layout="concentric", rows=3)
    assert len(made("half-squares", rows=3, columns=3).pieces) == 18


def test_strips_upright_and_across() -> None:
    upright = made("strips", size=16, columns=4)
    across = made("strips", size=16, rows=4, columns=1, direction="across")
    for top, measured in ((upright, "wide"), (across, "high")):
        assert top.piece_size == 4
        assert top.sides == pytest.approx((16, 16))
        assert top.measured == measured
    bricks = made("strips", piece=2, rows=5, columns=3, direction="across", length=4.5)
    assert bricks.sides == pytest.approx((13.5, 10))
    assert bricks.size == 10
    assert bricks.lines[0].sizes == {"width": 4.5, "height": 2}


@given(wide=st.integers(1, 5), high=st.integers(1, 5), width=st.floats(0.25, 6))
@settings(max_examples=20)
def test_borders_are_as_long_as_the_top(wide: int, high: int, width: float) -> None:
    """Straight: sides as high as the top, the others over both; the size grows by two widths."""
    plain = made("squares", piece=3, rows=high, columns=wide)
    top = made("squares", piece=3, rows=high, columns=wide, border=width)
    sides, others = top.lines[-2:]
    assert sides.sizes == pytest.approx({"width": width, "height": 3 * high})
    assert others.sizes == pytest.approx({"width": 3 * wide + 2 * width, "height": width})
    assert top.size == pytest.approx(plain.size + 2 * width)
    assert "through the middle" in top.notes[0]
    assert len(top.pieces) == len(plain.pieces) + 4


@given(side=st.floats(4, 40), width=st.floats(0.5, 6))
@settings(max_examples=20)
def test_a_mitred_strip_is_cut_by_the_common_rule(side: float, width: float) -> None:
    """Common practice, no source: side + 2 borders + 1 1/4 in; exactly 1.2071 more, by geometry:
    a seam of 1/4 in adds 1/4 · (1 + √2) at each 45° tip. So five seams are enough, of any width."""
    top = made("squares", piece=side, rows=1, columns=1, border=width, border_corners="mitred")
    (line,) = top.lines[1:]
    assert line.count == 4
    west, _, east, _ = cut_outline(line.shape.outline, 0.25).bounds
    exact = 0.5 * (1 + ROOT_2)
    assert exact == pytest.approx(1.2071, abs=1e-4)
    assert east - west == pytest.approx(side + 2 * width + exact)
    assert top.set_in_seams == 4
    assert "five seam allowances more" in top.notes[0]
    assert not any(sign.isdigit() for sign in top.notes[0])
    assert "the list has its strips with their ends cut to the mitre" in top.notes[0]


def test_a_size_holds_its_border() -> None:
    top = made("nine-patch", size=18, rows=1, columns=1, border=1.5)
    assert (top.piece_size, top.size, top.difference) == (5, 18, 0)
    star = made("star", size=20, fill="rectangle", border=2)
    assert (star.sides, star.measured, star.difference) == ((20, 20), "square", 0)


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"name": "star", "border": 1.0}, "only a rectangular top takes one"),
        ({"name": "squares", "border": 9.0}, "leaves nothing of 18 in"),
        ({"name": "squares", "border": 0.1}, "--border: 0.1 in will not do"),
        ({"name": "squares", "border_corners": "mitred"}, "there is no border; give its width"),
        ({"name": "squares", "border": 1.0, "border_corners": "round"}, "choose straight, mitred"),
        ({"name": "half-squares", "layout": "geese"}, "layout: 'geese' is not known; choose"),
        ({"name": "hexagon-flower", "border": 1.0}, "has no --border; it takes --rings"),
        ({"name": "hexagon-flower", "rings": 13}, "--rings: 13 will not do; give from 1 to 12"),
    ],
)
def test_what_cannot_be_made_is_said(asked: dict[str, Any], said: str) -> None:
    with pytest.raises(UsageError, match=said):
        made(**asked)


@given(size=st.floats(10, 60), per_cent=st.floats(0, 10), seam=st.sampled_from([0.25, 0.375]))
@settings(max_examples=30)
def test_a_size_is_worked_back_through_quilting(size: float, per_cent: float, seam: float) -> None:
    """The top drawn in by so much is the size that is wanted, to what a mark more on a strip makes;
    on a star's rectangle it is exactly that. By arithmetic."""
    top = made("squares", size=size, columns=4, rows=4, shrinkage=per_cent, seam=seam)
    drawn_in = top.sides[0] * (1 - per_cent / 100)
    assert top.finishes == pytest.approx(drawn_in)
    assert abs(drawn_in - size) <= 4 * 0.125 / 2 + 1e-9
    assert top.difference == pytest.approx(drawn_in - size, abs=1e-8)
    assert top.wanted == size
    strip = (top.piece_size + 2 * seam) * 8
    assert strip == pytest.approx(round(strip), abs=1e-6)
    star = made("star", size=size, fill="rectangle", shrinkage=per_cent, border=1.0, seam=seam)
    assert star.sides[1] * (1 - per_cent / 100) == pytest.approx(size)


def test_a_cushion_of_16_that_quilting_draws_in_by_3_per_cent() -> None:
    """16 / 0.97 = 16.495: four units of 4 1/8 make 16 1/2, which finishes at 16.005."""
    top = made("pinwheels", size=16, rows=2, columns=2, shrinkage=3)
    assert (top.piece_size, top.size) == (4.125, 16.5)
    assert top.finishes == pytest.approx(16.005)
    with pytest.raises(UsageError, match="shrinkage: 31 per cent will not do"):
        made("pinwheels", size=16, shrinkage=31)
