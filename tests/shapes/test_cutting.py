"""The cut outline: every raw edge the allowance away, corners mitred, tips trimmed to line up."""

import math
from collections.abc import Callable

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from shapely import LineString, Polygon
from shapely.affinity import rotate, scale, translate

from scrapstore.errors import ShapeError
from scrapstore.shapes import (
    Shape,
    checked_outline,
    corners_of,
    cut_outline,
    cut_shape,
    make_polygon,
    make_shape,
)
from tests.support.pieces import BENCH_END, EXAMPLES, edges, ring_corners, same, shapes

allowances = st.sampled_from([1 / 8, 1 / 4, 3 / 8, 1 / 2])


def try_cut(finished: Polygon, allowance: float) -> Polygon:
    """The cut outline, or on to another example where a notch is too narrow to sew."""
    try:
        return cut_outline(finished, allowance)
    except ShapeError:
        assume(False)
        raise


@given(ring_corners(), allowances)
def test_every_raw_edge_lies_the_allowance_outside_its_finished_edge(
    corners: list[tuple[float, float]], allowance: float
) -> None:
    finished = checked_outline(corners)
    cut = try_cut(finished, allowance)
    assert cut.is_valid
    assert cut.exterior.is_ccw
    assert cut.contains(finished)
    assert cut.exterior.distance(finished.exterior) == pytest.approx(allowance, abs=1e-9)
    for inner, outer in zip(edges(finished), edges(cut), strict=True):
        (x0, y0), (x1, y1) = inner.coords
        for x, y in outer.coords:
            aside = ((y1 - y0) * (x - x0) - (x1 - x0) * (y - y0)) / inner.length
            assert aside == pytest.approx(allowance, abs=1e-9)


@given(ring_corners(), allowances)
def test_it_is_the_mitred_buffer_of_shapely(
    corners: list[tuple[float, float]], allowance: float
) -> None:
    finished = checked_outline(corners)
    cut = try_cut(finished, allowance)
    theirs = finished.buffer(allowance, join_style="mitre", mitre_limit=1000)
    # GEOS drops hollows shallower than a hundredth of the distance before it starts.
    slack = 0.02 * allowance
    assert cut.difference(theirs.buffer(slack, join_style="mitre", mitre_limit=1000)).area < 1e-9
    assert theirs.difference(cut.buffer(slack, join_style="mitre", mitre_limit=1000)).area < 1e-9


@pytest.mark.parametrize("shape", [*EXAMPLES.values(), BENCH_END], ids=lambda s: s.kind)
def test_trade_shapes_match_shapely_to_the_last_digits(shape: Shape) -> None:
    theirs = shape.outline.buffer(0.25, join_style="mitre", mitre_limit=1000)
    assert same(cut_shape(shape, 0.25), theirs)


@given(shapes(), allowances)
def test_the_area_grows_by_steiners_formula_with_mitred_corners(
    shape: Shape, allowance: float
) -> None:
    """Convex outline: area + perimeter · a + a² · the tangents of half the turn at each corner.

    With round corners the last sum would be π (Steiner's formula).
    """
    finished, cut = shape.outline, cut_shape(shape, allowance)
    lines = edges(finished)
    headings = [math.atan2(*(b - a for a, b in zip(*e.coords, strict=True))) for e in lines]
    turns = [
        (h - k) % (2 * math.pi) for h, k in zip([headings[-1], *headings], headings, strict=False)
    ]
    corner_part = sum(math.tan(turn / 2) for turn in turns)
    expected = finished.area + finished.length * allowance + allowance**2 * corner_part
    assert cut.area == pytest.approx(expected, rel=1e-9)
    assert corner_part > math.pi


@given(shapes(), allowances)
def test_trimming_takes_only_tips_and_leaves_the_allowance_whole(
    shape: Shape, allowance: float
) -> None:
    pointed, trimmed = (cut_shape(shape, allowance, tips) for tips in ("pointed", "trimmed"))
    assert trimmed.is_valid
    assert trimmed.difference(pointed, grid_size=1e-9).area < 1e-9
    needed = shape.outline.buffer(allowance, quad_segs=64)
    assert needed.difference(trimmed, grid_size=1e-9).area < 1e-9
    sharp = any(angle < 89.9 for angle in angles_deg(shape.outline))
    assert (trimmed.area < pointed.area - 1e-6) == sharp


def angles_deg(outline: Polygon) -> list[float]:
    points = corners_of(outline)
    result = []
    for i, here in enumerate(points):
        before, after = points[i - 1], points[(i + 1) % len(points)]
        a = math.atan2(before[1] - here[1], before[0] - here[0])
        b = math.atan2(after[1] - here[1], after[0] - here[0])
        result.append(math.degrees(a - b) % 360)
    return result


def raw_edge(cut: Polygon, seam: LineString, allowance: float) -> LineString:
    """The edge of `cut` that runs beside `seam`, folded onto it."""
    (x0, y0), (x1, y1) = seam.coords
    ux, uy = (x1 - x0) / seam.length, (y1 - y0) / seam.length
    beside = []
    for edge in edges(cut):
        along = [(x - x0) * ux + (y - y0) * uy for x, y in edge.coords]
        aside = [abs((x - x0) * uy - (y - y0) * ux) for x, y in edge.coords]
        middle = sum(along) / 2
        if aside == pytest.approx([allowance] * 2, abs=1e-9) and 0 < middle < seam.length:
            beside.append(LineString([(a, 0) for a in sorted(along)]))
    # A piece narrower than twice the allowance would have two; the tests' pieces have one.
    (only,) = beside
    return only


ROOT_3 = math.sqrt(3)
SIXTY = make_shape("equilateral-triangle", height=3)
LEFT = make_shape("half-triangle-left", height=3)
HST = make_shape("half-square-triangle", short_side=3)
QST = make_shape("quarter-square-triangle", long_side=6)
DIAMOND_60, DIAMOND_45 = EXAMPLES["diamond-60"], EXAMPLES["diamond-45"]
HALF_HEXAGON = EXAMPLES["half-hexagon"]
BORDER = make_shape("trapezoid", long_side=16, short_side=10, height=3)


def moved(outline: Polygon, dx: float, dy: float = 0.0) -> Polygon:
    return translate(outline, dx, dy)


# piece, neighbour (kind whose rule it follows), how the neighbour lies, the edge they share
Place = Callable[[Polygon], Polygon]

NEIGHBOURS: dict[str, tuple[Shape, Shape, Place, int]] = {
    "60° diamonds in a row": (DIAMOND_60, DIAMOND_60, lambda p: moved(p, 3), 1),
    "60° diamonds, row on row": (
        DIAMOND_60, DIAMOND_60, lambda p: moved(p, 1.5, 1.5 * ROOT_3), 2),
    "45° diamonds in a row": (DIAMOND_45, DIAMOND_45, lambda p: moved(p, 3), 1),
    "45° diamonds round a star": (
        DIAMOND_45, DIAMOND_45, lambda p: rotate(p, -45, origin=(0, 0)), 0),
    "60° triangles, up and down": (
        SIXTY, SIXTY, lambda p: rotate(p, 180, origin=(3 / ROOT_3 * 1.5, 1.5)), 1),
    "half triangle at the end of a row": (
        LEFT, SIXTY, lambda p: rotate(p, 180, origin=(3 / ROOT_3 / 2, 1.5)), 2),
    "two half-square triangles": (HST, HST, lambda p: rotate(p, 180, origin=(1.5, 1.5)), 1),
    "half-square triangle and square": (
        HST, make_shape("square", side=3), lambda p: moved(p, -3), 2),
    "quarter-square triangles": (QST, QST, lambda p: rotate(p, 90, origin=(3, 3)), 1),
    "half hexagons": (
        HALF_HEXAGON, HALF_HEXAGON, lambda p: rotate(p, 180, origin=(2, 0)), 0),
    "half hexagon and 60° triangle": (
        HALF_HEXAGON, make_shape("equilateral-triangle", side=2),
        lambda p: rotate(p, 180, origin=(0.5, ROOT_3 / 2)), 3),
    "mitred borders": (
        BORDER, BORDER, lambda p: rotate(p, 90, origin=(8, 8)), 1),
}  # fmt: skip


@pytest.mark.parametrize("name", NEIGHBOURS)
def test_trimmed_raw_edges_meet_when_two_pieces_are_laid_together(name: str) -> None:
    """Sewn along their common seam, both raw edges start and stop at the same places."""
    piece, other, place, edge = NEIGHBOURS[name]
    seam = edges(piece.outline)[edge]
    assert place(other.outline).exterior.buffer(1e-9).covers(seam), "they do not share the seam"
    assert place(other.outline).intersection(piece.outline, grid_size=1e-9).area < 1e-9
    ours = raw_edge(cut_shape(piece, 0.25, "trimmed"), seam, 0.25)
    theirs = raw_edge(place(cut_shape(other, 0.25, "trimmed")), seam, 0.25)
    for a, b in zip(ours.coords, theirs.coords, strict=True):
        assert a == pytest.approx(b, abs=1e-9)


def test_pointed_diamonds_in_a_row_do_not_meet() -> None:
    """What trimming is for: the check above can fail."""
    seam = edges(DIAMOND_60.outline)[1]
    cut = cut_shape(DIAMOND_60, 0.25)
    ours, theirs = raw_edge(cut, seam, 0.25), raw_edge(moved(cut, 3), seam, 0.25)
    assert ours.coords[0] != pytest.approx(theirs.coords[0], abs=0.1)


def test_bare_outlines_take_their_right_angles_as_straight() -> None:
    assert same(cut_outline(HST.outline, 0.25, "trimmed"), cut_shape(HST, 0.25, "trimmed"))
    assert not same(cut_outline(QST.outline, 0.25, "trimmed"), cut_shape(QST, 0.25, "trimmed"))


@given(shapes(), st.integers(0, 359))
def test_trimming_does_not_depend_on_how_the_piece_lies(shape: Shape, turn: int) -> None:
    turned = rotate(shape.outline, turn, origin=(0, 0))
    straight = shape.straight_edges
    ours = cut_outline(turned, 0.25, "trimmed", straight_edges=straight)
    assert same(ours, rotate(cut_shape(shape, 0.25, "trimmed"), turn, origin=(0, 0)), within=1e-6)


def test_a_match_point_on_a_straight_edge_stays() -> None:
    cut = cut_outline(Polygon([(0, 0), (2, 0), (4, 0), (4, 3), (0, 3)]), 0.25)
    assert corners_of(cut)[1] == pytest.approx((2, -0.25))
    assert cut.area == pytest.approx(4.5 * 3.5)


def test_no_allowance_gives_the_finished_outline() -> None:
    assert cut_outline(SIXTY.outline, 0, "trimmed").equals(SIXTY.outline)


@pytest.mark.parametrize("allowance", [-0.25, math.nan, math.inf, 11])
def test_a_wrong_allowance_is_refused(allowance: float) -> None:
    with pytest.raises(ShapeError, match=r"seam allowance.*0\.25"):
        cut_outline(SIXTY.outline, allowance)


def test_a_wrong_word_for_tips_is_refused() -> None:
    with pytest.raises(ShapeError, match=r"blunt.*pointed or trimmed"):
        cut_outline(SIXTY.outline, 0.25, "blunt")  # type: ignore[arg-type]


def test_a_hole_is_refused() -> None:
    with pytest.raises(ShapeError, match="hole"):
        cut_outline(Polygon([(0, 0), (9, 0), (0, 9)], [[(1, 1), (2, 1), (1, 2)]]), 0.25)


@pytest.mark.parametrize(
    "corners",
    [
        # A slot 0.4 in wide: two allowances of 1/4 in do not fit.
        [(0, 0), (5, 0), (5, 4), (2.7, 4), (2.7, 1), (2.3, 1), (2.3, 4), (0, 4)],
        # A slot that closes only at its mouth.
        [(0, 0), (5, 0), (5, 4), (2.6, 4), (3.5, 1), (1.5, 1), (2.4, 4), (0, 4)],
    ],
)
def test_a_notch_too_narrow_to_sew_is_refused(corners: list[tuple[float, float]]) -> None:
    piece = make_polygon(corners, label="bench slot")
    with pytest.raises(ShapeError, match=r"bench slot.*too close.*two parts"):
        cut_shape(piece, 0.25)
    assert cut_shape(piece, 1 / 16).area > piece.outline.area


def test_mirrored_pieces_have_mirrored_cut_outlines() -> None:
    flipped = scale(LEFT.outline, -1, 1, origin=(0, 0))
    ours = cut_outline(checked_outline(corners_of(flipped)), 0.25, "trimmed")
    assert same(ours, scale(cut_outline(LEFT.outline, 0.25, "trimmed"), -1, 1, origin=(0, 0)))
