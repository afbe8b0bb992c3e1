"""The catalogue of shapes: names, sizes, drawings, and what is refused."""

import math
import pickle
from dataclasses import replace

import pytest
from hypothesis import given

from scrapstore.errors import ShapeError
from scrapstore.shapes import (
    KINDS,
    Shape,
    ShapeKind,
    checked_outline,
    corners_of,
    label_in,
    make_polygon,
    make_shape,
    shape_kind,
)
from tests.support.pieces import (
    EXAMPLES,
    NAMED_KINDS,
    edges,
    ring_corners,
    same,
    shapes,
)

ROOT_3 = math.sqrt(3)


@pytest.mark.parametrize("kind", NAMED_KINDS, ids=lambda kind: kind.name)
def test_every_entry_explains_itself(kind: ShapeKind) -> None:
    taken = {name for names in kind.takes for name in names}
    assert taken == set(kind.meanings)
    assert set(kind.example) in [set(names) for names in kind.takes]
    shape = make_shape(kind.name, **kind.example)
    assert shape.label.startswith(kind.title)
    assert set(kind.measured) | taken == set(shape.measures) | taken


@given(shapes())
def test_drawings_are_counter_clockwise_and_measured_as_asked(shape: Shape) -> None:
    assert shape.outline.exterior.is_ccw
    for name, how in KINDS[shape.kind].measured.items():
        assert how.of(shape.outline) == pytest.approx(shape.measures[name], rel=1e-12)


@given(shapes())
def test_any_set_of_sizes_gives_the_same_shape(shape: Shape) -> None:
    for names in KINDS[shape.kind].takes:
        if set(names) <= set(shape.measures) and (shape.kind != "kite" or len(names) == 3):
            again = make_shape(shape.kind, **{name: shape.measures[name] for name in names})
            assert same(again.outline, shape.outline, within=1e-6)


@pytest.mark.parametrize(
    ("kind", "sizes", "angles"),
    [
        ("diamond-60", {"side": 2}, [60, 120, 60, 120]),
        ("diamond-45", {"height": 2}, [45, 135, 45, 135]),
        ("equilateral-triangle", {"height": 2}, [60, 60, 60]),
        ("half-triangle-left", {"side": 2}, [60, 90, 30]),
        ("half-triangle-right", {"side": 2}, [60, 30, 90]),
        ("half-square-triangle", {"short_side": 2}, [90, 45, 45]),
        ("quarter-square-triangle", {"long_side": 2}, [45, 45, 90]),
        ("hexagon", {"side": 2}, [120] * 6),
        ("half-hexagon", {"side": 2}, [60, 60, 120, 120]),
        ("kite", {"length": 2}, [60, 90, 120, 90]),
    ],
)
def test_angles(kind: str, sizes: dict[str, float], angles: list[int]) -> None:
    points = corners_of(make_shape(kind, **sizes).outline)
    found = []
    for i, (x, y) in enumerate(points):
        (bx, by), (ax, ay) = points[i - 1], points[(i + 1) % len(points)]
        turn = math.atan2(by - y, bx - x) - math.atan2(ay - y, ax - x)
        found.append(math.degrees(turn) % 360)
    assert found == pytest.approx(angles)


def test_sides_that_lie_in_a_strip_are_drawn_level() -> None:
    for kind in ("diamond-60", "diamond-45", "trapezoid", "half-hexagon", "hexagon", "rectangle"):
        heights = [{y for _, y in edge.coords} for edge in edges(EXAMPLES[kind].outline)]
        assert sum(len(ys) == 1 for ys in heights) == 2


def test_left_and_right_half_triangles_make_the_whole() -> None:
    """Base down, seen on the right side: the left half has its right angle on the right."""
    left = make_shape("half-triangle-left", side=3)
    right = make_shape("half-triangle-right", side=3)
    assert left.outline.area + right.outline.area == pytest.approx(9 * ROOT_3 / 4)
    assert (0, 0) in corners_of(left.outline), "the left one's tip is on the left"
    assert (1.5, 0) in corners_of(right.outline), "the right one's tip is on the right"
    assert max(left.outline.exterior.coords)[0] == 1.5
    assert (1.5, 1.5 * ROOT_3) in corners_of(left.outline)
    assert (0, 1.5 * ROOT_3) in corners_of(right.outline)


@pytest.mark.parametrize(
    ("written", "kind"),
    [
        ("60° diamond", "diamond-60"),
        ("Diamond 60", "diamond-60"),
        ("diamond_45", "diamond-45"),
        ("half triangle left", "half-triangle-left"),
        ("HST", "half-square-triangle"),
        ("quarter square triangle", "quarter-square-triangle"),
        ("60° triangle", "equilateral-triangle"),
        ("Polygon", "polygon"),
    ],
)
def test_names_are_read_as_people_write_them(written: str, kind: str) -> None:
    assert shape_kind(written).name == kind


@pytest.mark.parametrize(
    ("written", "hint"), [("hexagone", "hexagon"), ("dimond-60", "60° diamond"), ("", "square")]
)
def test_an_unknown_name_brings_a_suggestion(written: str, hint: str) -> None:
    with pytest.raises(ShapeError, match=hint):
        shape_kind(written)


@pytest.mark.parametrize(
    ("kind", "sizes", "label"),
    [
        ("square", {"side": 3.5}, "square, 3 1/2 in"),
        ("rectangle", {"width": 2, "height": 4.5}, "rectangle, 2 × 4 1/2 in"),
        ("diamond-60", {"side": 3}, "60° diamond, side 3 in"),
        ("half-square-triangle", {"short_side": 3}, "half-square triangle, 3 in"),
        ("half-triangle-left", {"height": 3}, "half triangle, left, height 3 in"),
    ],
)
def test_labels_say_it_as_the_trade_does(kind: str, sizes: dict[str, float], label: str) -> None:
    assert make_shape(kind, **sizes).label == label


@pytest.mark.parametrize(
    ("kind", "sizes", "label"),
    [
        ("square", {"side": 3}, "square, ~7.6 cm"),
        ("rectangle", {"height": 4, "width": 2}, "rectangle, ~5.1 × ~10.2 cm"),
        ("diamond-60", {"height": 5 / 2.54}, "60° diamond, height 5.0 cm"),
        ("kite", {"long_side": 10 / 2.54}, "kite, long side 10.0 cm"),
        (
            "kite",
            {"shoulder": 1 / 2.54, "width": 2 / 2.54, "length": 3 / 2.54},
            "kite, length 3.0 cm, width 2.0 cm, shoulder 1.0 cm",
        ),
    ],
)
def test_labels_in_centimetres(kind: str, sizes: dict[str, float], label: str) -> None:
    """1 in is 2.54 cm; only the sizes that were given are told, mirrored or as cut alike."""
    shape = make_shape(kind, **sizes)
    assert label_in(shape, "cm") == label
    assert label_in(replace(shape, label=f"{shape.label}, as cut"), "cm") == f"{label}, as cut"


@pytest.mark.parametrize("kind", NAMED_KINDS, ids=lambda kind: kind.name)
def test_labels_in_inches_stay(kind: ShapeKind) -> None:
    """Every kind given in each of its ways; in centimetres no inches are left."""
    whole = make_shape(kind.name, **kind.example)
    for way in kind.takes:
        shape = make_shape(kind.name, **{name: whole.measures.get(name, 0.75) for name in way})
        assert label_in(shape, "in") == shape.label
        assert label_in(shape, "cm").count(" cm") == shape.label.count(" in")
        assert " in" not in label_in(shape, "cm")


def test_a_polygon_in_centimetres_and_a_label_of_other_words() -> None:
    shape = make_polygon([(0, 0), (5 / 2.54, 0), (0, 10 / 2.54)])
    assert label_in(shape, "cm") == "polygon of 3 corners, 5.0 cm × 10.0 cm"
    assert label_in(replace(shape, label="wing tip"), "cm") == "wing tip"
    assert label_in(replace(shape, kind="moon"), "cm") == shape.label


@pytest.mark.parametrize(
    ("kind", "sizes", "says"),
    [
        ("square", {}, "nothing given; give side"),
        ("square", {"edge": 3}, "edge given; give side"),
        ("diamond-60", {"side": 3, "height": 2}, "give side; or height"),
        ("rectangle", {"width": 3}, "give width and height"),
        ("square", {"side": 0}, "side 0"),
        ("square", {"side": -1}, "side -1"),
        ("square", {"side": math.nan}, "side nan"),
        ("square", {"side": math.inf}, "side inf"),
        ("square", {"side": 1e9}, "in inches"),
        ("trapezoid", {"long_side": 3, "short_side": 3, "height": 2}, "rectangle"),
        ("kite", {"length": 3, "width": 2, "shoulder": 3}, "shoulder"),
        ("polygon", {"side": 3}, "corners"),
    ],
)
def test_wrong_sizes_are_refused(kind: str, sizes: dict[str, float], says: str) -> None:
    with pytest.raises(ShapeError, match=says):
        make_shape(kind, **sizes)


@pytest.mark.parametrize(
    ("corners", "says"),
    [
        ([], "0 corners"),
        ([(0, 0), (1, 0)], "2 corners"),
        ([(0, 0), (1, 0), (0, 0)], "2 corners"),
        ([(0, 0), (1, 0), (2, 0)], "cross or touch|no width"),
        ([(0, 0), (1, 0), (1, 0), (0, 1)], "corners 2 and 3"),
        ([(0, 0), (2, 2), (2, 0), (0, 2)], "cross"),
        ([(0, 0), (2, 0), (2, 2), (1, 0), (0, 2)], "cross or touch"),
        ([(0, 0), (math.nan, 0), (1, 1)], "corner 2"),
        ([(0, 0), (1, math.inf), (1, 1)], "corner 2"),
        ([(0, 0), (1e7, 0), (1, 1)], "corner 2"),
        ([(0, 0), (4, 0), (4, 3), (2, 0.0), (0, 3)], "cross or touch"),
    ],
)
def test_outlines_that_are_no_piece_are_refused(
    corners: list[tuple[float, float]], says: str
) -> None:
    with pytest.raises(ShapeError, match=says):
        make_polygon(corners)


@given(ring_corners())
def test_corners_may_be_given_either_way_round(corners: list[tuple[float, float]]) -> None:
    given_so = checked_outline(corners)
    given_back = checked_outline([corners[0], *reversed(corners[1:])])
    assert corners_of(given_so) == corners_of(given_back)


def test_polygon_sides_are_numbered_from_the_first_corner() -> None:
    shape = make_polygon([(0, 0), (3, 0), (0, 4)], label="pennant")
    assert shape.label == "pennant"
    assert [shape.measures[f"side {i}"] for i in (1, 2, 3)] == [3, 5, 4]
    assert shape.straight_edges == (0, 2)
    assert make_polygon([(0, 0), (4, 0), (1, 2)]).straight_edges == (0,)


def test_shapes_are_values() -> None:
    for shape in EXAMPLES.values():
        assert pickle.loads(pickle.dumps(shape)) == shape  # noqa: S301 - our own bytes
        assert hash(shape) == hash(make_shape(shape.kind, **KINDS[shape.kind].example))


def test_the_names_of_shapes_are_listed_so_that_each_is_seen() -> None:
    """Two titles hold a comma: "half triangle, left"."""
    with pytest.raises(ShapeError) as refused:
        shape_kind("octagon")
    listed = str(refused.value).partition("use one of ")[2].split(", ")
    assert listed == list(KINDS)
