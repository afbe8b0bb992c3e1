"""Strips of a whole role, the length to buy, and fat quarters instead."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import box

from scrapstore.errors import ShapeError
from scrapstore.shapes import GrainEdge, Shape, cut_shape, rotations_deg
from scrapstore.yardage import (
    RolePlan,
    StripPiece,
    length_to_buy,
    plan_quarters,
    plan_role,
    plan_strips,
    plan_yardage,
)
from tests.support.pieces import shapes
from tests.support.strips import lie_sound


def square(name: str, side: float, count: int, role: str = "star") -> StripPiece:
    return StripPiece(name, box(0, 0, side, side), count, (0.0,), role)


def rectangle(name: str, width: float, height: float, count: int) -> StripPiece:
    """`height` lies across the strip."""
    return StripPiece(name, box(0, 0, width, height), count, (270.0,))


def test_one_piece_alone() -> None:
    plan = plan_role("star", [square("a", 2.5, 50)])
    assert [(strip.width, strip.times, len(strip.runs[0].outlines)) for strip in plan.strips] == [
        (2.5, 3, 16),
        (2.5, 1, 2),
    ]
    assert plan.length == 10
    assert plan.buy_yards == 0.375  # 11 in with straightening: 0.306 yd, up to 3/8
    assert plan.buy_cm == 30  # 27.94 cm
    assert plan.pieces == (plan_strips(square("a", 2.5, 50)),)


def test_the_free_end_of_a_strip_is_used_where_widths_agree() -> None:
    pieces = [rectangle("long", 9, 2.5, 6), square("short", 2.5, 3), square("other", 3, 3)]
    plan = plan_role("star", pieces)
    described = [
        (strip.width, strip.times, [(run.piece, run.start, run.end) for run in strip.runs])
        for strip in plan.strips
    ]
    assert described == [
        (3, 1, [("other", 0, 9)]),
        (2.5, 1, [("long", 0, 36), ("short", 36, 38.5)]),
        (2.5, 1, [("long", 0, 18), ("short", 18, 23)]),
    ]
    assert [strip.left_over for strip in plan.strips] == [31, 1.5, 17]
    assert plan.length == 8


def test_ways_to_lie_are_chosen_together() -> None:
    """Alone, the bar is best cut from strips 2 in wide; beside the block it costs nothing."""
    block = StripPiece("block", box(0, 0, 4, 20), 1, (0.0,))  # 4 in of the strip's width
    bar = StripPiece("bar", box(0, 0, 4, 2), 5, (0.0, 90.0))
    assert plan_strips(bar).strip_width == 2
    plan = plan_role("role", [block, bar])
    assert [(strip.width, strip.counts()) for strip in plan.strips] == [(4, {"block": 1, "bar": 5})]
    assert plan.pieces[1].strip_width == 2


def test_with_very_many_ways_each_piece_lies_as_it_would_alone() -> None:
    pieces = [StripPiece(f"p{i}", box(0, 0, 2 + i, 20 + i), 1, (0.0, 90.0)) for i in range(9)]
    plan = plan_role("role", pieces)
    assert sorted(strip.width for strip in plan.strips) == [2.0 + i for i in range(9)]


def test_strips_of_another_width_stay_alone() -> None:
    plan = plan_role("star", [square("a", 2.5, 1), square("b", 2.375, 1)])
    assert [strip.width for strip in plan.strips] == [2.5, 2.375]


def test_pieces_that_are_too_long_are_told_and_the_rest_is_planned() -> None:
    plan = plan_role("edge", [rectangle("border", 50, 2, 4), square("a", 2.5, 4)])
    assert len(plan.too_long) == 1
    assert plan.too_long[0].startswith("border: at least 50.00 in")
    assert [strip.runs[0].piece for strip in plan.strips] == ["a"]


def test_nothing_short_is_nothing_to_buy() -> None:
    plan = plan_role("star", [square("a", 2.5, 0)])
    assert (plan.strips, plan.length, plan.buy_yards, plan.buy_cm) == ((), 0, 0, 0)
    assert plan_yardage([square("a", 2.5, 0)]) == ()


def test_roles_are_planned_apart() -> None:
    pieces = [
        square("a", 2.5, 3), square("b", 2.5, 3, "background"), square("c", 2.5, 3),
    ]  # fmt: skip
    plans = plan_yardage(pieces)
    assert [plan.role for plan in plans] == ["star", "background"]
    assert [plan.strips[0].counts() for plan in plans] == [{"a": 3, "c": 3}, {"b": 3}]


def test_the_usable_width_counts() -> None:
    assert plan_role("r", [square("a", 2.5, 17)], 40).strips[0].times == 1
    assert len(plan_role("r", [square("a", 2.5, 17)], 40).strips) == 2
    assert len(plan_role("r", [square("a", 2.5, 17)], 42.5).strips) == 1


@pytest.mark.parametrize(
    ("inches", "yards", "cm"),
    [
        (0.1, 1 / 8, 10), (4.5, 1 / 8, 20), (4.6, 1 / 4, 20), (9, 1 / 4, 30), (36, 1, 100),
        (36.01, 1.125, 100), (39.3700787401, 1.125, 100), (39.5, 1.125, 110), (40.5, 1.125, 110),
    ],
)  # fmt: skip
def test_lengths_are_bought_by_the_eighth_and_by_ten_centimetres(
    inches: float, yards: float, cm: int
) -> None:
    assert length_to_buy(inches) == (yards, cm)


@given(st.floats(0.01, 500), st.floats(0, 5))
def test_what_is_bought_is_never_too_short(inches: float, straightening: float) -> None:
    yards, cm = length_to_buy(inches, straightening)
    needed = inches + straightening
    assert needed - 1e-4 <= yards * 36 < needed + 4.5 + 1e-4
    assert needed * 2.54 - 1e-3 <= cm < needed * 2.54 + 10 + 1e-3


def as_piece(name: str, shape: Shape, count: int) -> StripPiece:
    return StripPiece(name, cut_shape(shape, 0.25), count, rotations_deg(shape, GrainEdge()))


@given(
    st.lists(st.tuples(shapes(most=6), st.integers(0, 40)), min_size=1, max_size=4),
    st.sampled_from([20.0, 40.0]),
)
def test_a_role_gives_every_piece_and_lies_sound(
    wishes: list[tuple[Shape, int]], width: float
) -> None:
    pieces = [as_piece(f"p{i}", shape, count) for i, (shape, count) in enumerate(wishes)]
    plan = plan_role("role", pieces, width)
    assert not plan.too_long
    given_pieces: dict[str, int] = {}
    for strip in plan.strips:
        outlines = tuple(outline for run in strip.runs for outline in run.outlines)
        lie_sound(outlines, width, strip.width)
        assert strip.left_over == pytest.approx(width - max(o.bounds[2] for o in outlines))
        for name, count in strip.counts().items():
            given_pieces[name] = given_pieces.get(name, 0) + count
    assert given_pieces == {piece.name: piece.count for piece in pieces if piece.count}
    never_more_than_apart(plan)
    area = math.fsum(piece.cut.area * piece.count for piece in pieces)
    assert plan.length * width >= area - 1e-6


def never_more_than_apart(plan: RolePlan) -> None:
    assert plan.length <= math.fsum(piece.length for piece in plan.pieces) + 1e-9


def test_fat_quarters_for_several_pieces() -> None:
    """18 in takes a 10 in strip (two squares) and an 8 in strip (two): by hand, two quarters."""
    plan = plan_quarters([square("big", 10, 4), square("small", 8, 4)])
    assert plan.quarters == 2
    assert plan.shelves == (("big", "small"), ("big", "small"))


def test_fat_quarters_are_cut_along_the_grain_where_that_gives_more() -> None:
    """18 in long, 8 and 14 in wide: side by side they are 22 in, one above the other 36 in."""
    narrow = StripPiece("narrow", box(0, 0, 18, 8), 1, (0.0,))
    wide = StripPiece("wide", box(0, 0, 18, 14), 1, (0.0,))
    plan = plan_quarters([narrow, wide])
    assert (plan.quarters, plan.along_grain) == (1, True)
    assert plan.shelves == (("wide", "narrow"),)


def test_too_big_for_a_fat_quarter() -> None:
    with pytest.raises(ShapeError, match=r"back: at least 23\.00 in"):
        plan_quarters([StripPiece("back", box(0, 0, 19, 23), 1, (0.0,))])
    with pytest.raises(ShapeError, match=r"back: .*18\.5 in is wider than a fat quarter"):
        plan_quarters([StripPiece("back", box(0, 0, 18.5, 22), 1, (0.0,))])


@pytest.mark.parametrize(
    ("width", "straightening", "step", "says"),
    [
        (0, 1, 0.125, "usable width"),
        (40, -1, 0.125, "straightening"),
        (40, math.nan, 0.125, "straightening"),
        (40, 1, 0, "ruler step"),
    ],
)
def test_impossible_figures_are_refused(
    width: float, straightening: float, step: float, says: str
) -> None:
    with pytest.raises(ShapeError, match=says):
        plan_role("r", [square("a", 2, 1)], width, straightening=straightening, step=step)
