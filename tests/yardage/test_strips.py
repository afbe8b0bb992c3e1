"""Pieces along a strip: spacing, counts, and the drawn strip checked by shapely alone."""

import math

import pytest
from hypothesis import given, reject
from hypothesis import strategies as st
from shapely import Polygon, box
from shapely.affinity import rotate, translate

from scrapstore.errors import ShapeError
from scrapstore.shapes import (
    Grain,
    GrainDirection,
    GrainEdge,
    GrainFree,
    Shape,
    cut_shape,
    make_polygon,
    make_shape,
    rotations_deg,
)
from scrapstore.yardage import StripPiece, rows_to_lie
from tests.support.pieces import BENCH_END, EXAMPLES, ring_corners, same, shapes
from tests.support.strips import Alone, alone, lie_sound

ROOT_3 = math.sqrt(3)


def wanted(shape: Shape, count: int = 60, rule: Grain | None = None) -> StripPiece:
    rule = rule or GrainEdge()
    return StripPiece(shape.label, cut_shape(shape, 0.25), count, rotations_deg(shape, rule))


def lies_as_allowed(outline: Polygon, piece: StripPiece) -> bool:
    """Whether the outline on the strip is the piece in one of its allowed positions.

    Seen on the strip, the lengthwise grain points up: a quarter turn more than its rotation.
    """
    for turn in piece.rotations_deg:
        laid = rotate(piece.cut, turn + 90, origin=(0, 0))
        dx, dy = outline.bounds[0] - laid.bounds[0], outline.bounds[1] - laid.bounds[1]
        if same(outline, translate(laid, dx, dy), within=1e-6):
            return True
    return False


@pytest.mark.parametrize(
    ("kind", "spacing", "printed"),
    [("diamond-60", 2 * 2 / ROOT_3, 2.25), ("diamond-45", 2 * math.sqrt(2), 2.75)],
)
def test_diamonds_from_a_two_inch_strip(kind: str, spacing: float, printed: float) -> None:
    """quiltingboard.com thread t247758: about 2 1/4 and about 2 3/4 in along the strip."""
    plan = alone(wanted(make_shape(kind, height=1.5)))
    assert plan.strip_width == 2
    assert plan.row.spacing == pytest.approx(spacing, abs=1e-9)
    assert abs(plan.row.spacing - printed) < 1 / 8
    # The slanted first cut costs what a diamond leans over.
    angle = math.radians(int(kind[-2:]))
    loss = 2 / math.tan(angle)
    assert plan.row.length(2) - 2 * spacing == pytest.approx(loss, abs=1e-9)
    assert plan.per_strip == math.floor((40 - loss) / spacing)


# Worked by hand. Strips are rounded up to an eighth, and so is what is measured square to a cut.
# Equilateral triangle of height h: side 2h/√3, alternating every half side. Half-square triangles:
# two in a square as wide as the strip. Quarter-square triangles lie between cuts at 45° through the
# corners. Half triangles: 4 1/4 / √3 = 2.454, so rectangles of 2 1/2. Half hexagons: the short
# side, 2 + 1/2 / √3 = 2.289 in, is 1.982 measured square to the slant, so 2.
@pytest.mark.parametrize(
    ("shape", "width", "spacing", "loss"),
    [
        (make_shape("square", side=3), 3.5, 3.5, 0),
        (make_shape("square", side=3.33), 3.875, 3.875, 0),
        (make_shape("equilateral-triangle", height=3), 3.75, 3.75 / ROOT_3, 3.75 / ROOT_3),
        (make_shape("half-square-triangle", short_side=3), 3.875, 3.875 / 2, 0),
        (make_shape("quarter-square-triangle", long_side=3), 2.125, 2.125, 2.125),
        (make_shape("half-triangle-left", height=3), 4.25, 1.25, 0),
        (make_shape("half-hexagon", side=2), 2.25, 6.25 / ROOT_3, 2.25 / ROOT_3),
    ],
    ids=lambda value: value.label if isinstance(value, Shape) else None,
)
def test_spacing_of_pieces_that_nest(
    shape: Shape, width: float, spacing: float, loss: float
) -> None:
    plan = alone(wanted(shape))
    assert plan.strip_width == width
    assert plan.row.spacing == pytest.approx(spacing, abs=1e-9)
    assert plan.row.length(2) - 2 * spacing == pytest.approx(loss, abs=1e-9)


def test_a_one_way_print_is_never_turned_over_for_nesting() -> None:
    triangle = make_shape("equilateral-triangle", height=3)
    turned, upright = alone(wanted(triangle)), alone(
        wanted(triangle, rule=GrainDirection(90))
    )  # fmt: skip
    assert turned.row.alternates
    assert not upright.row.alternates
    assert upright.row.spacing == pytest.approx(2 * turned.row.spacing)
    # The print runs up the strip, and the triangles as drawn point up.
    assert all(same(outline, upright.outlines[0], within=99) for outline in upright.outlines)
    tips = [max(outline.exterior.coords, key=lambda p: p[1]) for outline in upright.outlines]
    flat = [outline.bounds for outline in upright.outlines]
    for (tip_x, _), (west, _, east, _) in zip(tips, flat, strict=True):
        assert tip_x == pytest.approx((west + east) / 2)


def test_a_long_border_goes_along_the_grain_when_it_may() -> None:
    border = make_shape("rectangle", width=60, height=2)
    plan = alone(wanted(border, 4))
    assert (plan.strip_width, plan.row.spacing, plan.strips) == (60.5, 2.5, 1)
    across = StripPiece("border", cut_shape(border, 0.25), 4, (90.0,))
    with pytest.raises(ShapeError, match=r"border: at least 60 1/2 in.* 40 in;.*two parts"):
        rows_to_lie(across, 40, 1 / 8)


def test_the_strip_width_is_rounded_up_to_the_ruler() -> None:
    diamond = wanted(make_shape("diamond-60", side=3))
    assert alone(diamond).row.height == pytest.approx(1.5 * ROOT_3 + 0.5)  # 3.098
    assert alone(diamond).strip_width == 3.125
    assert alone(diamond, step=1 / 4).strip_width == 3.25
    assert alone(diamond, step=0.01).strip_width == pytest.approx(3.10)


rules = st.sampled_from(
    [GrainEdge(), GrainEdge(None, "lengthwise"), GrainDirection(90), GrainFree(30)]
)


@given(
    st.one_of(shapes(most=7), st.just(BENCH_END), ring_corners().map(make_polygon)),
    rules,
    st.integers(1, 80),
    st.sampled_from([22.0, 40.0, 42.5]),
)
def test_a_drawn_strip_is_sound(shape: Shape, rule: Grain, count: int, width: float) -> None:
    try:
        cut = cut_shape(shape, 0.25)
    except ShapeError:  # a notch too narrow to sew
        reject()
    piece = StripPiece("piece", cut, count, rotations_deg(shape, rule))
    plan = alone(piece, width)
    assert len(plan.outlines) == plan.per_strip
    lie_sound(plan.outlines, width, plan.strip_width)
    assert all(lies_as_allowed(outline, piece) for outline in plan.outlines[:4])
    no_more_would_fit(plan, width)


def no_more_would_fit(plan: Alone, width: float) -> None:
    assert plan.row.reach(plan.per_strip) <= width + 1e-6
    assert plan.row.reach(plan.per_strip + 1) > width
    assert 0 <= plan.strip_width - plan.row.height + 1e-6 < 1 / 8 + 1e-5
    ends = max(outline.bounds[2] for outline in plan.outlines)
    assert ends == pytest.approx(plan.row.reach(plan.per_strip))


@given(shapes(), st.integers(0, 359), st.integers(0, 359))
def test_neighbours_are_close(shape: Shape, first: int, second: int) -> None:
    """They do not overlap, and on a ruler of fine marks they all but touch.

    Sides at an angle that no ruler has are cut at the nearest one: there is up to a mark between.
    """
    step = 1 / 64
    piece = StripPiece("p", cut_shape(shape, 0.25), 9, (float(first), float(second)))
    plan = alone(piece, 200, step=step)
    for a, b in zip(plan.outlines, plan.outlines[1:], strict=False):
        assert a.intersection(b, grid_size=1e-9).area < 1e-6
        assert a.intersection(translate(b, -0.1)).area > 0


@pytest.mark.parametrize("kind", EXAMPLES)
def test_strips_along_the_grain_are_strips_of_the_turned_piece(kind: str) -> None:
    shape = EXAMPLES[kind]
    cut = cut_shape(shape, 0.25)
    turns = rotations_deg(shape, GrainEdge(None, "lengthwise"))
    along = alone(StripPiece("p", cut, 30, turns), along_grain=True)
    across = alone(StripPiece("p", cut, 30, tuple(turn - 90 for turn in turns)))
    assert along.strip_width == across.strip_width
    assert along.row.spacing == pytest.approx(across.row.spacing)
    assert along.per_strip == across.per_strip


@pytest.mark.parametrize(
    ("count", "turns", "outline", "says"),
    [
        (-1, (0.0,), box(0, 0, 1, 1), "-1 pieces"),
        (1, (), box(0, 0, 1, 1), "rotation"),
        (1, (0.0,), Polygon(), "outline"),
        (1, (0.0,), Polygon([(0, 0), (1, 1), (1, 0), (0, 1)]), "outline"),
    ],
)
def test_pieces_that_cannot_be_are_refused(
    count: int, turns: tuple[float, ...], outline: Polygon, says: str
) -> None:
    with pytest.raises(ShapeError, match=says):
        StripPiece("piece", outline, count, turns)
