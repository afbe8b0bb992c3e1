"""Strips of a whole role, the length to buy, and what a length at hand gives."""

import math
import random
from collections import Counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import box

from scrapstore.errors import ShapeError
from scrapstore.shapes import GrainEdge, Shape, cut_shape, make_shape, rotations_deg
from scrapstore.yardage import RolePlan, Strip, StripPiece, length_to_buy, plan_length, plan_role
from tests.support.cutting_stock import least_by_trying
from tests.support.pieces import shapes
from tests.support.strip_lists import random_list
from tests.support.strips import alone, cut_sound


def square(name: str, side: float, count: int) -> StripPiece:
    return StripPiece(name, box(0, 0, side, side), count, (0.0,))


def rectangle(name: str, width: float, height: float, count: int) -> StripPiece:
    """`height` lies across the strip."""
    return StripPiece(name, box(0, 0, width, height), count, (270.0,))


def told(strip: Strip) -> tuple[float, int, dict[str, int], list[tuple[float, dict[str, int]]]]:
    """Return a strip's width and times, its own pieces, and each narrower strip with its pieces."""
    own = {run.piece: len(run.outlines) for run in strip.runs}
    narrow = strip.rest.strips if strip.rest else ()
    return (
        strip.width,
        strip.times,
        own,
        [(n.width, {run.piece: len(run.outlines) for run in n.runs}) for n in narrow],
    )


def test_one_piece_alone() -> None:
    plan = plan_role("star", [square("a", 2.5, 50)])
    assert [told(strip)[:3] for strip in plan.strips] == [
        (2.5, 3, {"a": 16}),
        (2.5, 1, {"a": 2}),
    ]
    assert plan.strips[1].left_over == 35
    assert plan.length == 10
    assert plan.buy_yards == 0.375  # 11 in with straightening: 0.306 yd, up to 3/8
    assert plan.buy_cm == 30  # 27.94 cm


def test_narrower_pieces_come_from_the_end_of_a_wider_strip() -> None:
    """By hand: six 6 in squares take 36 of 42 in; the 6 × 6 in left over gives two of 3 in."""
    plan = plan_role("top", [square("large", 6, 6), square("small", 3, 2)], 42)
    assert [told(strip) for strip in plan.strips] == [(6, 1, {"large": 6}, [(3, {"small": 2})])]
    (strip,) = plan.strips
    assert strip.rest is not None
    assert (strip.rest.start, strip.rest.end, strip.left_over) == (36, 42, 0)
    assert (plan.length, plan.buy_yards) == (6, 0.25)


def test_the_rest_gives_several_strips_one_above_the_other() -> None:
    """By hand: beside four 9 in squares lie 6 × 9 in, for a strip of 5, one of 4."""
    pieces = [square("nine", 9, 4), rectangle("five", 6, 5, 1), rectangle("four", 3, 4, 2)]
    plan = plan_role("top", pieces, 42)
    assert [told(s) for s in plan.strips] == [
        (9, 1, {"nine": 4}, [(5, {"five": 1}), (4, {"four": 2})])
    ]


def test_a_strip_is_trimmed_for_a_narrower_piece_after_it() -> None:
    """By hand: the 7 × 10 in beside three 10 in squares holds 5 + 5 in of strips, no third one."""
    pieces = [
        square("ten", 10, 3), rectangle("a", 4, 5, 1), rectangle("b", 7, 5, 1),
        rectangle("c", 3, 4, 1),
    ]  # fmt: skip
    plan = plan_role("top", pieces, 37, straightening=0)
    assert plan.length == 10
    (strip,) = plan.strips
    cut_sound(strip, 37)
    assert strip.counts() == {"ten": 3, "a": 1, "b": 1, "c": 1}


def test_what_buys_the_same_is_cut_the_simpler_way() -> None:
    """One strip of 4 in would do, with the end used; two strips take 8 in with straightening.

    Either way 1/4 yd is bought. By ten centimetres it is 20 against 30.
    """
    pieces = [square("a", 4, 8), square("b", 3, 2)]
    simple = plan_role("top", pieces, 38)
    assert [told(strip)[3] for strip in simple.strips] == [[], []]
    assert (simple.length, simple.buy_yards) == (7, 0.25)
    metric = plan_role("top", pieces, 38, units="cm")
    assert metric.buy_cm == 20


def test_long_borders_lie_along_the_grain_and_the_rest_beside_them_is_used() -> None:
    """By hand: four borders 60 1/2 × 2 1/2 in take 10 of 40 in; beside them 30 in for squares."""
    border = StripPiece("border", box(0, 0, 60.5, 2.5), 4, (0.0,))
    plan = plan_role("edge", [border, square("a", 6, 45)])
    assert [told(strip) for strip in plan.strips] == [(60.5, 1, {"border": 4}, [(6, {"a": 5})] * 9)]
    assert plan.length == 60.5
    assert plan.buy_yards == 1.75  # 61.5 in


def test_strips_along_the_grain_where_they_buy_less() -> None:
    """By hand: 40 in are 13 + 13 + 7 + 7, so that oblongs 13 × 7 in of 91 in use every inch.

    Across, a strip 7 in wide holds three and one 13 in wide five: 91 in give 39 at most.
    """
    oblongs = StripPiece("oblong", box(0, 0, 13, 7), 40, (0.0, 90.0))
    plan = plan_role("top", [oblongs], straightening=0)
    assert plan.along_grain
    assert sorted(told(strip)[:3] for strip in plan.strips) == [
        (7, 2, {"oblong": 7}),
        (13, 2, {"oblong": 13}),
    ]
    assert plan.length == 91
    assert not plan_role("top", [StripPiece("oblong", box(0, 0, 13, 7), 39)]).along_grain


def test_ways_to_lie_are_chosen_together() -> None:
    """Alone, the bar is best cut from strips 2 in wide; beside the block it costs nothing."""
    block = StripPiece("block", box(0, 0, 4, 20), 1, (0.0,))  # 4 in of the strip's width
    bar = StripPiece("bar", box(0, 0, 4, 2), 5, (0.0, 90.0))
    assert alone(bar).strip_width == 2
    plan = plan_role("role", [block, bar], straightening=0.5)
    assert [(strip.width, strip.counts()) for strip in plan.strips] == [(4, {"block": 1, "bar": 5})]


def test_pieces_that_are_too_long_are_told_and_the_rest_is_planned() -> None:
    wanted = [rectangle("border", 50, 2, 4), square("a", 2.5, 4)]
    plan = plan_role("edge", wanted)
    assert len(plan.too_long) == 1
    assert plan.too_long[0].startswith("border: at least 50 in long in every position")
    (told,) = plan_role("edge", wanted, step=1 / 25.4, units="cm").too_long
    assert told.startswith("border: at least 127.0 cm long")
    assert [strip.runs[0].piece for strip in plan.strips] == ["a"]


def test_what_just_fits_is_not_too_long_for_a_slanted_cut() -> None:
    """A diamond as long as the strip, on a strip rounded up: no slanted first cut has room."""
    outline = cut_shape(make_shape("diamond-60", height=4.57), 0.25)
    left, _, right, _ = outline.bounds
    plan = plan_role("r", [StripPiece("d", outline, 1, (270.0,))], right - left)
    assert plan.pieces == {"d": 1}
    sound(plan, plan.length)


def test_nothing_short_is_nothing_to_buy() -> None:
    plan = plan_role("star", [square("a", 2.5, 0)])
    assert (plan.strips, plan.length, plan.buy_yards, plan.buy_cm) == ((), 0, 0, 0)


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


def sound(plan: RolePlan, fabric: float) -> None:
    """No piece lost or overlapping, all within `fabric` inches of the bolt and its width."""
    given_pieces: Counter[str] = Counter()
    for strip in plan.strips:
        cut_sound(strip, plan.strip_length)
        ends = max(run.end for run in strip.all_runs)
        assert strip.left_over == pytest.approx(plan.strip_length - ends)
        given_pieces.update(strip.counts())
    assert dict(given_pieces) == plan.pieces
    widths = math.fsum(strip.width * strip.times for strip in plan.strips)
    if plan.along_grain:
        assert widths <= plan.usable_width + 1e-6
        assert all(run.end <= plan.length + 1e-9 for s in plan.strips for run in s.all_runs)
    else:
        assert widths == pytest.approx(plan.length)
    assert plan.length <= fabric + 1e-6


wish_lists = st.lists(st.tuples(shapes(most=6), st.integers(0, 40)), min_size=1, max_size=4)


@settings(max_examples=8)
@given(wish_lists, st.sampled_from([20.0, 40.0]))
def test_a_role_gives_every_piece_and_lies_sound(
    wishes: list[tuple[Shape, int]], width: float
) -> None:
    pieces = [as_piece(f"p{i}", shape, count) for i, (shape, count) in enumerate(wishes)]
    plan = plan_role("role", pieces, width)
    assert not plan.too_long
    assert plan.pieces == {piece.name: piece.count for piece in pieces if piece.count}
    sound(plan, max(0.0, plan.buy_yards * 36 - plan.straightening))
    sound(plan, max(0.0, plan.buy_cm / 2.54 - plan.straightening))
    apart = [alone(piece, width) for piece in pieces if piece.count]
    simple = math.fsum(one.strips * one.strip_width for one in apart)
    yards, _ = length_to_buy(simple, plan.straightening)
    assert plan.buy_yards <= yards
    _, cm = length_to_buy(simple, plan.straightening)
    assert plan_role("role", pieces, width, units="cm").buy_cm <= cm
    area = math.fsum(piece.cut.area * piece.count for piece in pieces)
    assert plan.length * width >= area - 1e-6
    if not plan.along_grain:
        assert plan.length >= plan.least - 1e-9


@settings(max_examples=8)
@given(wish_lists, st.sampled_from([20.0, 40.0]), st.integers(0, 300).map(lambda n: n / 8))
def test_a_length_at_hand_never_gives_more_than_it_holds(
    wishes: list[tuple[Shape, int]], width: float, length: float
) -> None:
    pieces = [as_piece(f"p{i}", shape, count) for i, (shape, count) in enumerate(wishes)]
    plan = plan_length("role", pieces, width, length)
    sound(plan, length)
    assert all(plan.pieces.get(piece.name, 0) <= piece.count for piece in pieces)
    needed = plan_role("role", pieces, width)
    if not needed.along_grain and needed.length <= length:
        assert plan.pieces == {piece.name: piece.count for piece in pieces if piece.count}


def test_small_lists_against_trying_everything() -> None:
    """Of 80 random lists of two to six rectangles nearly all are cut as well as they can be.

    Never better than by trying everything, and the bound never above it.
    """
    rng = random.Random(7)
    worse = 0
    for _ in range(80):
        turn = rng.random() < 0.3
        sizes = [(rng.randint(4, 40) / 2, rng.randint(4, 40) / 2) for _ in range(rng.randint(1, 3))]
        rects = [rng.choice(sizes) for _ in range(rng.randint(2, 5 if turn else 6))]
        pieces = [
            StripPiece(f"p{i}", box(0, 0, high, long), n, (0.0, 90.0) if turn else (0.0,))
            for i, ((long, high), n) in enumerate(Counter(rects).items())
        ]
        least = least_by_trying(tuple(rects), 40.0, turn=turn)
        plan = plan_role("role", pieces, 40.0)
        yards, _ = length_to_buy(least, 1.0)
        assert plan.least <= least + 1e-9
        if not plan.along_grain:
            assert plan.length >= least - 1e-9
        worse += plan.buy_yards > yards
    assert worse <= 3


def test_a_length_at_hand_gives_full_sets_and_no_more_than_allowed() -> None:
    """Eight squares of 5 in come from a strip 5 in wide."""
    pieces = [square("a", 5, 18)]
    assert plan_length("r", pieces, 40, 5).pieces == {"a": 8}
    assert plan_length("r", pieces, 40, 5, sets=6).pieces == {"a": 6}
    assert plan_length("r", pieces, 40, 15, at_most=7).pieces == {"a": 7}
    assert plan_length("r", pieces, 40, 4).pieces == {}


def test_strips_along_the_grain_are_as_long_as_they_need_be() -> None:
    """Oblongs as above take 91 in; two squares of 3 1/2 in come behind them: 94 1/2 of 95 in.

    Across the fabric not all of them would come from it. What is left of a strip counts to its end.
    """
    pieces = [StripPiece("oblong", box(0, 0, 13, 7), 40, (0.0, 90.0)), square("a", 3.5, 2)]
    for plan in (plan_length("top", pieces, 40, 95), plan_role("top", pieces, straightening=0)):
        assert plan.along_grain
        assert plan.pieces == {"oblong": 40, "a": 2}
        assert (plan.length, plan.strip_length) == (94.5, 94.5)
        assert plan.least == (40 * 91 + 2 * 3.5**2) / 40
        (rest,) = (strip.rest for strip in plan.strips if strip.rest)
        assert (rest.start, rest.end) == (91, 94.5)
        sound(plan, 95)


def test_a_length_narrower_than_the_fabric_keeps_its_grain() -> None:
    """A fat quarter, 18 in along the grain by 20 in: bars 19 1/2 in long lie across it only."""
    bar = box(0, 0, 19.5, 3)
    across, along = (StripPiece("bar", bar, 9, turns) for turns in ((90.0,), (0.0,)))
    assert plan_length("r", [across], 20, 18).pieces == {"bar": 6}
    assert plan_length("r", [along], 20, 18).pieces == {}
    assert plan_length("r", [along], 18, 20).pieces == {"bar": 6}


def test_a_length_at_hand_may_be_cut_along_the_grain() -> None:
    """Bars 30 in long, 2 in wide, along the grain: 20 side by side on 40 in, from 30 in."""
    bars = [StripPiece("bar", box(0, 0, 30, 2), 20, (0.0,))]
    plan = plan_length("r", bars, 40, 30)
    assert plan.pieces == {"bar": 20}
    assert plan_length("r", bars, 40, 29.5).pieces == {}


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


def test_more_tries_find_shorter_lengths_for_many_kinds() -> None:
    """Of lists of three kinds and more some take less, none more, and each still gives all."""
    saved = 0.0
    for seed in (0, 3, 8):
        wanted = random_list(seed)
        few, many = (
            plan_role("r", wanted, straightening=0, shop_step=1 / 8, tries=tries)
            for tries in (0, 24)
        )
        assert many.length <= few.length + 1e-9
        assert many.pieces == {piece.name: piece.count for piece in wanted}
        sound(many, many.length)
        saved += few.length - many.length
    assert saved > 0.5
