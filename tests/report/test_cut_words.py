"""What the sheets say of cuts: every figure is the plan's own, every piece is accounted for."""

import math
import re
from dataclasses import replace

import pytest
from shapely import Polygon, affinity, box

from scrapstore.errors import PlanError
from scrapstore.report.cut_words import cut_words
from scrapstore.report.ruler_words import labels_text
from scrapstore.shapes import Cut, CutPiece, CuttingPlan, Frame, Line
from scrapstore.units import parse_length
from tests.support.cutting_plans import DIAMONDS, SQUARES, TRIMMED

_WIDE = 1.75 / math.sin(math.radians(60))


def _moved(line: Line, right: float) -> Line:
    (x0, y0), (x1, y1) = line
    return (x0 + right, y0), (x1 + right, y1)


def said(plan: CuttingPlan, **options: object) -> list[str]:
    words = cut_words(plan, "in", **options)  # type: ignore[arg-type]
    return [f"{step.number}: {step.text}" for step in words.steps]


def test_squares_are_told_from_the_straight_edge_to_the_last_diagonal() -> None:
    assert said(SQUARES) == [
        "1: 1/4 in above the lower edge: takes off the lower edge.",
        "2 to 3: Each 2 1/2 in above the cut before: frees the strips A1, A2; B1, B2, C1.",
        "4: Strip A1, A2, square to cut 1: takes off the left end.",
        "5 to 6: Strip A1, A2, each 2 1/2 in right of the cut before: gives A1, A2.",
        "7: 1/4 in right of the left edge: takes off the left end.",
        "8: 2 1/2 in right of cut 7: leaves the cloth for C1.",
        "9: From corner to corner, leaning right: gives B1, B2.",
    ]


def test_what_no_straight_cut_reaches_is_left_to_a_template() -> None:
    assert cut_words(SQUARES, "in").by_template == (
        "By template: C1. Cut it from the cloth left for it, round a paper template of the cut "
        "size."
    )
    assert cut_words(DIAMONDS, "in").by_template == ""


def test_a_scrap_that_no_straight_cut_frees_anything_from_says_so() -> None:
    """No steps would leave whoever reads the sheet to wonder where they are."""
    labels = "A1, A2, B1, B2, C1"
    pieces = tuple(replace(piece, part=0, template=True) for piece in SQUARES.pieces)
    words = cut_words(replace(SQUARES, cuts=(), pieces=pieces), "in")
    assert words.steps == ()
    assert words.by_template == (
        f"By template: {labels}. No straight cut frees any of them where they lie: cut each as "
        "drawn, round a paper template of the cut size."
    )


def test_diamonds_on_cloth_without_an_edge_begin_from_its_corners() -> None:
    """Slanted distances are measured square to the cut, and say so."""
    assert said(DIAMONDS, grain="level") == [
        "1: Lay the ruler along the lengthwise grain, from the edge 1/4 in from corner a towards d "
        "to corner b: takes off the lower edge.",
        "2: 1 3/4 in above cut 1: takes off the upper edge.",
        "3: The ruler's 60° line on cut 1, leaning right, 1/8 in right of the lower left corner, "
        "square to it: takes off the left end.",
        "4 to 5: Each 1 3/4 in right of the cut before, square to it: gives C1, C2.",
    ]
    assert [c.letter for c in cut_words(DIAMONDS, "in").corners] == ["a", "b", "c", "d"]
    assert cut_words(SQUARES, "in").corners == ()


def test_the_grain_is_named_only_where_it_is_known() -> None:
    assert "grain" not in said(DIAMONDS)[0]
    assert "straight across the lengthwise grain" in said(DIAMONDS, grain="upright")[0]


def test_a_tip_is_trimmed_in_words() -> None:
    assert said(TRIMMED)[-1] == (
        "5: The ruler's 60° line on cut 4, leaning left, 1/4 in right of the lower left corner, "
        "square to it: trims a tip of C1."
    )


def test_a_cut_near_a_corner_lies_where_there_is_cloth() -> None:
    """Of a strip, a line at 45° that leans right and starts 1/4 in from the lower left corner."""
    far = 0.25 * math.sqrt(2)
    cut = Cut(0, ((far, 0), (far + 3, 3)), (1, 2), "edge", 0, 45, point=(0, 0), point_distance=0.25)
    plan = CuttingPlan(Frame(), box(0, 0, 4.25, 3), (cut,), (), 1 / 8)
    assert "1/4 in right of the lower left corner, square to it" in said(plan)[0]


def test_a_cut_through_a_corner_says_so() -> None:
    through = replace(DIAMONDS.cuts[2], point_distance=0.0)
    plan = replace(DIAMONDS, cuts=(*DIAMONDS.cuts[:2], through, *DIAMONDS.cuts[3:]))
    assert "leaning right, through the lower left corner: takes off" in said(plan)[2]


@pytest.mark.parametrize("plan", [SQUARES, DIAMONDS, TRIMMED])
def test_every_figure_is_a_mark_and_every_piece_is_named(plan: CuttingPlan) -> None:
    words = cut_words(plan, "in", grain="level")
    text = " ".join([*(step.text for step in words.steps), words.by_template])
    assert "~" not in text
    figures = re.findall(r"(?:\d+ )?\d+(?:/\d+)? in\b", text)
    assert figures
    for figure in figures:
        assert (parse_length(figure) / plan.step).is_integer()
    for piece in plan.pieces:
        assert piece.label in text
    assert [step.first for step in words.steps[1:]] == [step.last + 1 for step in words.steps[:-1]]
    assert words.steps[-1].last == len(plan.cuts)


def test_millimetres_are_told_as_such() -> None:
    step = 1 / 25.4
    outline = box(0, 0, 200 * step, 100 * step)
    cut = Cut(0, ((0, 63 * step), (9, 63 * step)), (1, 2), "edge", 63 * step, 0)
    plan = replace(SQUARES, outline=outline, cuts=(cut,), pieces=(), step=step)
    (step_,) = cut_words(plan, "cm").steps
    assert step_.text.startswith("6.3 cm above the lower edge: ")


def test_a_figure_off_the_marks_is_never_printed() -> None:
    first = replace(SQUARES.cuts[0], distance=0.3)
    with pytest.raises(PlanError, match="on no mark"):
        cut_words(replace(SQUARES, cuts=(first, *SQUARES.cuts[1:])), "in")


def test_a_slanted_edge_is_named_by_its_corners() -> None:
    """Of a triangle: its long side."""
    outline = Polygon([(0, 0), (8, 0), (0, 6)])
    # 1/2 in inwards, square to the long side.
    line = ((8 - 0.3, -0.4), (-0.3, 6 - 0.4))
    cut = Cut(0, line, (1, 2), "edge", 0.5, 0.0)
    plan = replace(SQUARES, outline=outline, cuts=(cut,), pieces=())
    words = cut_words(plan, "in")
    assert " the edge from b to c, square to it" in words.steps[0].text
    assert [c.letter for c in words.corners] == ["a", "b", "c"]


def test_runs_of_labels_are_shortened() -> None:
    assert labels_text(["A1", "A2", "A3", "A5", "B1"]) == "A1 to A3, A5, B1"
    assert labels_text(["A1", "A2"]) == "A1, A2"
    assert labels_text([]) == ""


def test_a_strip_has_ends() -> None:
    """Cloth that is a strip from the outset, such as one cut from yardage."""
    cuts = (
        Cut(0, ((2.5, 0), (2.5, 2.5)), (1, 2), "edge", 2.5, 0),
        Cut(2, ((5, 0), (5, 2.5)), (3, 4), 0, 2.5, 0),
    )
    pieces = tuple(
        CutPiece(f"A{n + 1}", "square", box(2.5 * n, 0, 2.5 * n + 2.5, 2.5), part)
        for n, part in enumerate((1, 3))
    )
    plan = CuttingPlan(Frame(), box(0, 0, 40, 2.5), cuts, pieces, 1 / 8)
    assert said(plan) == [
        "1: 2 1/2 in right of the left end: gives A1.",
        "2: 2 1/2 in right of cut 1: gives A2.",
    ]


def test_a_level_cut_takes_off_an_edge_of_a_strip_and_not_an_end() -> None:
    cuts = (
        Cut(0, ((0, 2), (40, 2)), (1, 2), "edge", 0.5, 0),
        Cut(2, ((39, 0), (39, 2)), (3, 4), 0, 0, 90),
    )
    piece = CutPiece("A1", "long", box(0, 0, 39, 2), 3)
    plan = CuttingPlan(Frame(), box(0, 0, 40, 2.5), cuts, (piece,), 1 / 8)
    assert said(plan)[0] == "1: 1/2 in below the upper edge: takes off the upper edge."


def test_pieces_that_are_cut_alike_share_a_sentence() -> None:
    """Each tip is told from the piece's own side."""
    first = replace(TRIMMED.cuts[3], gives=(7, 8))
    second = Cut(8, _moved(first.line, _WIDE), (9, 10), 3, 1.75, 0)
    tip = TRIMMED.cuts[4]
    tips = (
        replace(tip, part=7, gives=(11, 12)),
        Cut(9, _moved(tip.line, _WIDE), (13, 14), 4, 0, 60,
            point=(0.25 + _WIDE, 0.25), point_distance=0.25),
    )  # fmt: skip
    one = TRIMMED.pieces[0]
    other = replace(one, label="C2", part=14, outline=affinity.translate(one.outline, _WIDE))
    plan = replace(
        TRIMMED,
        cuts=(*TRIMMED.cuts[:3], first, second, *tips),
        pieces=(replace(one, part=12), other),
    )
    assert said(plan)[-2:] == [
        "4 to 5: Each 1 3/4 in right of the cut before, square to it: frees the cloth for C1, C2.",
        "6 to 7: Trim C1, C2, each: the ruler's 60° line on its right side, leaning left, 1/4 in "
        "right of the lower left corner, square to it.",
    ]


def test_figures_are_those_of_a_ruler_of_tenths() -> None:
    cut = Cut(0, ((0, 0.3), (4, 0.3)), (1, 2), ruler_from="edge", distance=0.3, angle_deg=0.0)
    piece = CutPiece("A1", "bar", box(0, 0.3, 4, 2), 1)
    plan = CuttingPlan(Frame(), box(0, 0, 4, 2), (cut,), (piece,), 0.1)
    assert said(plan) == ["1: 3/10 in above the lower edge: gives A1."]
