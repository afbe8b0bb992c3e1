"""Grain rules and symmetry: which rotations are allowed, and which are the same."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon
from shapely.affinity import rotate, scale

from scrapstore.errors import ShapeError
from scrapstore.shapes import (
    Grain,
    GrainDirection,
    GrainEdge,
    GrainFree,
    Shape,
    is_mirror_symmetric,
    make_polygon,
    make_shape,
    rotation_order,
    rotations_deg,
)
from tests.support.pieces import BENCH_END, EXAMPLES, edges, ring_corners, same, shapes

# kind: how often it repeats in a full turn, whether it has no left and right
SYMMETRY = {
    "square": (4, True),
    "rectangle": (2, True),
    "diamond-60": (2, True),
    "diamond-45": (2, True),
    "equilateral-triangle": (3, True),
    "triangle-120": (1, True),
    "half-triangle-left": (1, False),
    "half-triangle-right": (1, False),
    "half-square-triangle": (1, True),
    "quarter-square-triangle": (1, True),
    "hexagon": (6, True),
    "half-hexagon": (1, True),
    "trapezoid": (1, True),
    "kite": (1, True),
}


def test_the_table_of_symmetry_is_whole() -> None:
    assert set(SYMMETRY) == set(EXAMPLES)


@pytest.mark.parametrize("kind", SYMMETRY)
def test_symmetry_of_trade_shapes(kind: str) -> None:
    shape = EXAMPLES[kind]
    assert (rotation_order(shape), is_mirror_symmetric(shape)) == SYMMETRY[kind]


@pytest.mark.parametrize(
    ("corners", "order", "mirror"),
    [
        ([(0, 0), (3, 0), (4, 2), (1, 2)], 2, False),  # parallelogram: turns, does not mirror
        ([(0, 0), (1, 0), (2, 0), (2, 2), (0, 2)], 4, True),  # a square with a match point
        ([(0, 0), (2, 0), (2, 1), (1, 1), (1, 2), (0, 2)], 1, True),  # an L
        ([(0, 0), (3, 0), (3, 1), (1, 1), (1, 2), (0, 2)], 1, False),  # an L with a long foot
        ([(0, 1), (1, 1), (1, 0), (3, 0), (3, 1), (2, 1), (2, 2), (0, 2)], 2, False),  # an S
    ],
)
def test_symmetry_of_polygons(corners: list[tuple[float, float]], order: int, mirror: bool) -> None:
    shape = make_polygon(corners)
    assert (rotation_order(shape), is_mirror_symmetric(shape)) == (order, mirror)


@given(st.one_of(shapes(), ring_corners().map(make_polygon)), st.integers(0, 359))
def test_symmetry_means_what_it_says(shape: Shape, turn: int) -> None:
    """Turned by its period the outline lies on itself; a mirror image lies on it somehow."""
    outline, centre = shape.outline, shape.outline.centroid
    order = rotation_order(shape)
    assert same(outline, rotate(outline, 360 / order, origin=centre), within=1e-5)
    assert rotation_order(rotate(outline, turn, origin=centre)) == order
    flipped = scale(outline, -1, 1, origin=centre)
    assert is_mirror_symmetric(outline) == lies_on(outline, Polygon(flipped.exterior.coords[::-1]))


def lies_on(outline: Polygon, other: Polygon) -> bool:
    """Try every turn that lays an edge of `other` on the first edge of `outline`."""
    return any(
        same(outline, rotate(other, heading(outline, 0) - heading(other, i), origin=other.centroid),
             within=1e-5)
        for i in range(len(edges(other)))
    )  # fmt: skip


def heading(outline: Polygon, edge: int) -> float:
    (x0, y0), (x1, y1) = edges(outline)[edge].coords
    return math.degrees(math.atan2(y1 - y0, x1 - x0))


@pytest.mark.parametrize(
    ("kind", "direction", "expected"),
    [
        ("square", "either", (0,)),
        ("rectangle", "lengthwise", (0, 90)),  # any of its edges along the grain
        ("diamond-60", "lengthwise", (0, 120)),
        ("diamond-60", "crosswise", (30, 90)),
        ("diamond-45", "either", (0, 45, 90, 135)),
        ("equilateral-triangle", "lengthwise", (0, 60)),
        ("hexagon", "either", (0, 30)),
        ("half-square-triangle", "crosswise", (0, 90, 180, 270)),
        ("quarter-square-triangle", "lengthwise", (0, 180)),
        ("half-triangle-right", "either", (0, 90, 180, 270)),
        ("half-hexagon", "crosswise", (90, 270)),
    ],
)
def test_an_edge_on_the_straight_grain(
    kind: str, direction: str, expected: tuple[float, ...]
) -> None:
    rule = GrainEdge(direction=direction)  # type: ignore[arg-type]
    assert rotations_deg(EXAMPLES[kind], rule) == pytest.approx(expected)


rules = st.one_of(
    st.builds(GrainEdge, st.none(), st.sampled_from(["either", "lengthwise", "crosswise"])),
    st.builds(GrainEdge, st.just((1,)), st.sampled_from(["either", "lengthwise", "crosswise"])),
    st.builds(GrainDirection, st.integers(0, 359).map(float)),
    st.builds(GrainFree, st.sampled_from([5.0, 7.0, 15.0, 45.0, 50.0, 360.0])),
)


@given(shapes(), rules)
def test_rotations_are_allowed_and_all_different(shape: Shape, rule: Grain) -> None:
    turns = rotations_deg(shape, rule)
    assert turns
    assert list(turns) == sorted(turns)
    assert all(0 <= turn < 360 for turn in turns)
    laid = [rotate(shape.outline, turn, origin=shape.outline.centroid) for turn in turns]
    for i, outline in enumerate(laid):
        assert not any(same(outline, other, within=1e-6) for other in laid[:i])
        if isinstance(rule, GrainEdge):
            chosen = shape.straight_edges if rule.edges is None else rule.edges
            quarter = {"either": 90, "lengthwise": 180, "crosswise": 180}[rule.direction]
            start = 90 if rule.direction == "crosswise" else 0
            # An edge that the piece's own symmetry lays on the named one will do as well.
            period = 360 / rotation_order(shape)
            off = [
                (heading(outline, e) + k * period - start + 1e-6) % quarter
                for e in chosen
                for k in range(rotation_order(shape))
            ]
            assert min(off) < 1e-5


@given(shapes(), st.sampled_from([7.0, 15.0, 50.0]))
def test_free_pieces_reach_every_step(shape: Shape, step: float) -> None:
    """Every multiple of the step is there, or a turn that looks the same."""
    turns, period = rotations_deg(shape, GrainFree(step)), 360 / rotation_order(shape)
    for wanted in range(0, 360, int(step)):
        apart = [(turn - wanted) % period for turn in turns]
        assert min(min(a, period - a) for a in apart) < 1e-5


def test_a_one_way_print_points_one_way_only() -> None:
    square = EXAMPLES["square"]
    assert rotations_deg(square, GrainDirection(90)) == (270,)
    assert rotations_deg(square, GrainDirection(0)) == (0,)
    assert rotations_deg(square, GrainDirection(90), one_way_deg=90) == (0,)


@pytest.mark.parametrize(
    "rule",
    [
        GrainEdge((7,)),
        GrainEdge(()),
        GrainEdge((-1,)),
        GrainDirection(math.nan),
        GrainFree(0),
        GrainFree(math.nan),
        GrainFree(400),
    ],
)
def test_rules_that_make_no_sense_are_refused(rule: Grain) -> None:
    with pytest.raises(ShapeError, match=r"bench end"):
        rotations_deg(BENCH_END, rule)


def test_a_long_edge_may_be_asked_for_by_number() -> None:
    hst = make_shape("half-square-triangle", short_side=3)
    assert rotations_deg(hst, GrainEdge((1,), "lengthwise")) == pytest.approx((45, 225))
