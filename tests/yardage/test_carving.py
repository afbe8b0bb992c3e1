"""Strips of random piece lists, cut by someone who has only the outline and the cuts."""

from dataclasses import replace

import pytest

from scrapstore.shapes import Tips, make_polygon, make_shape
from scrapstore.units import round_up_to_mark
from scrapstore.yardage import Strip, plan_role
from tests.support.pieces import BENCH_END
from tests.support.strip_lists import BY_RULER, as_strip_piece, random_list
from tests.support.strips import cut_sound

MILLIMETRE = 1 / 25.4


@pytest.mark.parametrize("step", [1 / 8, 1 / 4, 1 / 16, MILLIMETRE])
def test_every_piece_of_random_lists_is_cut_whole_on_marks(step: float) -> None:
    """Nothing damaged or small, no figure off the marks, nothing by template."""
    for seed in range(8):
        wanted = random_list(seed, BY_RULER)
        plan = plan_role("r", wanted, 40, step=step)
        for strip in plan.strips:
            cut_sound(strip, plan.strip_length)
            assert not any(piece.template for piece in strip.cutting.pieces)
        assert plan.pieces == {piece.name: piece.count for piece in wanted}


def strip_of(kind: str, count: int, tips: Tips = "pointed", **sizes: float) -> Strip:
    piece = as_strip_piece("a", make_shape(kind, **sizes), count, tips)
    (strip,) = plan_role("r", [piece]).strips
    return strip


def ruler(strip: Strip) -> list[tuple[object, ...]]:
    """Each cut: measured from what, how far, at which angle, how far from a corner."""
    return [
        ("corners",)
        if cut.corners
        else (cut.ruler_from, cut.distance, cut.angle_deg, cut.point_distance)
        for cut in strip.cutting.cuts
    ]


def test_squares_are_sub_cut_from_the_end() -> None:
    """Cut 3.3536 in square on eighths: every figure 3 1/2, from the end and from cut to cut."""
    strip = strip_of("square", 3, side=2.8536)
    assert strip.width == 3.375
    assert ruler(strip) == [(at, 3.375, 0, None) for at in ("edge", 0, 1)]


def test_diamonds_begin_with_a_slanted_end() -> None:
    """Through the corner of the strip, then 2 in from cut to cut, measured square to it."""
    strip = strip_of("diamond-60", 3, height=1.5)
    assert ruler(strip) == [("edge", 0, 60, 0), (0, 2, 0, None), (1, 2, 0, None), (2, 2, 0, None)]


def test_half_square_triangles_are_squares_cut_from_corner_to_corner() -> None:
    """By hand: 3 + 7/8 in squares, two triangles each."""
    strip = strip_of("half-square-triangle", 4, short_side=3)
    assert ruler(strip) == [("edge", 3.875, 0, None), (0, 3.875, 0, None)] + [("corners",)] * 2


def test_two_strips_are_simpler_than_trimming_every_piece() -> None:
    """15 diamonds 2 1/2 in wide: 13 to a strip. One strip of upright ones buys as much, 1/4 yd."""
    piece = as_strip_piece("a", make_shape("diamond-60", height=2), 15, "pointed")
    plan = plan_role("r", [piece])
    assert [strip.width for strip in plan.strips] == [2.5, 2.5]
    assert sum(len(strip.cutting.cuts) for strip in plan.strips) == 17


def test_triangles_are_cut_with_the_ruler_turned_each_time() -> None:
    """Each cut at 60° goes through the corner that the one before it made."""
    strip = strip_of("equilateral-triangle", 3, side=2)
    assert strip.width == 2.5
    assert [(angle, away) for _, _, angle, away in ruler(strip)] == [(60, 0)] * 4


def test_hexagons_are_diamonds_with_both_tips_cut_off() -> None:
    """By hand: √3 + 1/2 in from side to side is 2 1/4; a tip is half of that from the corner."""
    strip = strip_of("hexagon", 1, side=1)
    assert ruler(strip)[2:] == [("edge", 0, 60, 1.125), (2, 2.25, 0, None)]


def test_trimmed_tips_are_trimmed() -> None:
    """Two half-square triangles in a square, each tip 3 1/2 in from the side opposite."""
    strip = strip_of("half-square-triangle", 2, "trimmed", short_side=3)
    assert strip.cutting.pieces[0].outline.area < 3.8536**2 / 2 - 0.01
    assert ("edge", 3.5, 0, None) in ruler(strip)


def test_both_halves_of_a_pair_have_their_tips_trimmed_at_the_same_figure() -> None:
    """By hand: the tip of a 3 in half is 3 1/2 in from the opposite side.

    The pair's cloth is rounded up to a mark, 4 1/4 in for 4.207. What that adds is not to be told
    as a wider half: its raw edges would not line up.
    """
    strip = strip_of("half-square-triangle", 6, "trimmed", short_side=3)
    tips = [cut.distance for cut in strip.cutting.cuts if cut.angle_deg == 0.0][-6:]
    assert tips == [3.5] * 6


def test_pieces_at_odd_angles_are_cut_by_template_from_one_part() -> None:
    odd = as_strip_piece("a", make_polygon([(0, 0), (5, 0), (3, 4)]), 6)
    ell = as_strip_piece("b", BENCH_END, 3)
    for piece in (odd, ell):
        (strip,) = plan_role("r", [piece]).strips
        cut_sound(strip, 40)
        assert all(one.template for one in strip.cutting.pieces)
        assert len({one.part for one in strip.cutting.pieces}) == 1
        (end,) = strip.cutting.cuts
        reach = max(run.outlines[-1].bounds[2] for run in strip.runs)
        assert end.distance == round_up_to_mark(reach, 1 / 8)


def test_nothing_is_measured_from_the_far_end_of_a_strip() -> None:
    """Fabric is rarely as wide to the mark as it is said to be: 40 1/2 in cut as 40."""
    pieces = [as_strip_piece("k", make_shape("kite", long_side=3), 9)]
    for strip in plan_role("r", pieces).strips:
        for cut in strip.cutting.cuts:
            assert cut.point is None or cut.point[0] < 40


def test_trimmed_tips_cost_no_cloth() -> None:
    """Forty half-square triangles by hand: 20 to a strip of 3 7/8 in with pointed tips, so 7 3/4.

    Trimmed before they are laid, a strip of 3 1/2 in holds 18.
    """
    shape = make_shape("half-square-triangle", short_side=3)
    pointed, trimmed = (as_strip_piece("a", shape, 40, tips) for tips in ("pointed", "trimmed"))
    assert plan_role("r", [pointed]).length == 7.75
    assert plan_role("r", [trimmed]).length == 7.75
    assert plan_role("r", [replace(trimmed, blank=None)]).length == 10.5
