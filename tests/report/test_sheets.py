"""Cutting sheets: what they show, and that the drawing is to the scale of its rulers."""

import math
import re
from dataclasses import replace
from fractions import Fraction
from xml.etree import ElementTree as ET

import pytest
from shapely import LineString, Polygon, affinity, box

from scrapstore.report.drawing import draw_cutting
from scrapstore.report.forms import ClothDrawing, ClothPicture
from scrapstore.report.page import render_page
from scrapstore.report.piece_key import draw_piece
from scrapstore.report.scale import common_scale, drawing_scales, report_scales, row_width
from scrapstore.shapes import CutPiece, CuttingPlan, Frame, make_shape
from tests.support.cutting_plans import DIAMONDS, SQUARES
from tests.support.cutting_reports import CLOTH, report, sheet

SVG = "{http://www.w3.org/2000/svg}"
HALF = Fraction(1, 2)


def drawing(
    plan: CuttingPlan = SQUARES, cloth: ClothDrawing = CLOTH, scale: Fraction = HALF
) -> ET.Element:
    return ET.fromstring(draw_cutting(plan, cloth, scale, "in", "one"))


def points(d: str) -> list[tuple[float, float]]:
    numbers = [float(n) for n in re.findall(r"-?[\d.]+", d)]
    return list(zip(numbers[::2], numbers[1::2], strict=True))


def paths(root: ET.Element) -> list[list[tuple[float, float]]]:
    """Return the corners of every closed path in the drawing, in its own points."""
    found = (element.get("d", "") for element in root.iter(f"{SVG}path"))
    return [points(d) for d in found if d.endswith("Z")]


def classed(root: ET.Element, name: str) -> list[ET.Element]:
    return [element for element in root.iter() if element.get("class") == name]


def words(root: ET.Element) -> list[str]:
    return [text.text or "" for text in root.iter(f"{SVG}text")]


def on_paper(shape: Polygon, plan: CuttingPlan, scale: float) -> Polygon:
    left, _, _, top = plan.outline.bounds
    return Polygon([((x - left) * scale, (top - y) * scale) for x, y in shape.exterior.coords])


@pytest.mark.parametrize("turn_deg", [0.0, 90.0, 327.0])
def test_the_picture_of_the_cloth_lies_under_its_outline(turn_deg: float) -> None:
    """The marked corners of the picture come to where the turned outline's corners are drawn."""
    measured = box(1, 2, 7, 6)
    frame = Frame((0.5, 0.25), turn_deg)
    turned = affinity.rotate(affinity.translate(measured, -0.5, -0.25), -turn_deg, origin=(0, 0))
    plan = CuttingPlan(frame, turned, (), (), 1 / 8)
    root = drawing(plan, ClothDrawing(picture=ClothPicture(b"jpeg", (0.5, 1.75, 7.5, 6.25))))
    (image,) = root.iter(f"{SVG}image")
    assert image.get("href") == "data:image/jpeg;base64,anBlZw=="
    a, b, c, d, e, f = map(float, re.findall(r"-?[\d.]+", image.get("transform", "")))
    scale = float(image.get("width", "")) / 7
    assert float(image.get("height", "")) / 4.5 == pytest.approx(scale, rel=1e-3)
    drawn = set()
    for x, y in measured.exterior.coords:
        u, v = (x - 0.5) * scale, (6.25 - y) * scale
        drawn.add((round(a * u + c * v + e), round(b * u + d * v + f)))
    (clip,) = root.iter(f"{SVG}clipPath")
    assert drawn == {(round(x), round(y)) for x, y in paths(clip)[0]}
    (inside,) = (g for g in root.iter(f"{SVG}g") if g.get("clip-path"))
    assert inside.get("clip-path") == f"url(#{clip.get('id')})"


@pytest.mark.parametrize("plan", [SQUARES, DIAMONDS])
def test_every_piece_and_cut_is_drawn_at_its_place_to_the_stated_scale(plan: CuttingPlan) -> None:
    """At half size an inch of cloth is 36 points; the paper's size in inches agrees."""
    root = drawing(plan)
    drawn = [Polygon(corners) for corners in paths(root) if len(corners) > 2]
    for piece in plan.pieces:
        expected = on_paper(piece.outline, plan, 36)
        assert any(expected.symmetric_difference(one).area < 0.5 for one in drawn)
    _, _, wide, _ = map(float, root.get("viewBox", "").split())
    assert float(root.get("width", "").removesuffix("in")) * 72 == pytest.approx(wide, abs=0.1)
    lines = [points(e.get("d", "")) for e in classed(root, "cut")]
    # Each cut twice: a white line, and a black one over it.
    assert len(lines) == 2 * len(plan.cuts)
    left, _, _, top = plan.outline.bounds
    for cut, ends in zip(plan.cuts, lines, strict=False):
        (x0, y0), (x1, y1) = (((x - left) * 36, (top - y) * 36) for x, y in cut.line)
        for x, y in ends:
            off = (x - x0) * (y1 - y0) - (y - y0) * (x1 - x0)
            assert abs(off) < 0.02 * math.dist((x0, y0), (x1, y1))


def test_a_cut_goes_only_through_its_own_part() -> None:
    """The upright cut through the lower strip is as long as the strip is wide."""
    lines = [points(e.get("d", "")) for e in classed(drawing(), "cut")]
    assert math.dist(*lines[3]) == pytest.approx(2.5 * 36)


def test_figures_of_the_rulers_are_as_far_apart_as_the_scale_says() -> None:
    figures = classed(drawing(), "figure")
    at = {figure.text: float(figure.get("x", "")) for figure in figures}
    assert at["8"] - at["0"] == pytest.approx(8 * 36, abs=0.1)
    assert all(float(figure.get("font-size", "")) >= 9 for figure in figures)


def test_the_drawing_names_pieces_cuts_scale_and_grain_and_crosses_out_flaws() -> None:
    root = drawing()
    shown = words(root)
    assert {piece.label for piece in SQUARES.pieces} <= set(shown)
    assert {str(number) for number in range(1, 10)} <= set(shown)
    assert "Drawn at 1/2 of full size. Arrow: lengthwise grain." in shown
    assert [e.get("fill") for e in root.iter(f"{SVG}path")].count("url(#one-flaw)") == 1
    assert any("one way" in text for text in words(drawing(cloth=replace(CLOTH, grain_heads=1))))
    assert not any("grain" in text for text in words(drawing(cloth=ClothDrawing())))


def test_the_grain_arrow_lies_on_the_cloth() -> None:
    arrows = classed(drawing(), "grain")
    assert arrows
    cloth = on_paper(SQUARES.outline, SQUARES, 36)
    x0, y0, x1 = map(float, re.findall(r"-?[\d.]+", arrows[0].get("d", ""))[:3])
    assert cloth.contains(LineString([(x0, y0), (x1, y0)]))


def test_numbers_of_cuts_cover_neither_labels_nor_one_another() -> None:
    discs = [
        (float(c.get("cx", "")), float(c.get("cy", "")))
        for c in drawing().iter(f"{SVG}circle") if float(c.get("r", "")) > 5
    ]  # fmt: skip
    assert len(discs) == len(SQUARES.cuts)
    for at, one in enumerate(discs):
        assert all(math.dist(one, other) > 12 for other in discs[at + 1 :])


def test_what_is_cut_by_template_has_a_broken_edge() -> None:
    root = drawing()
    (one,) = (e for e in root.iter(f"{SVG}path") if e.get("stroke-dasharray") == "5 2.5")
    expected = on_paper(SQUARES.pieces[-1].outline, SQUARES, 36)
    assert Polygon(points(one.get("d", ""))).symmetric_difference(expected).area < 0.5


def test_a_long_strip_goes_on_in_further_rows() -> None:
    """At half size 40 in are 20 in of paper: four rows, each with its own figures."""
    plan = replace(SQUARES, outline=box(0, 0, 40, 2.5), cuts=(), pieces=())
    assert row_width(40, 2.5, HALF) == 10
    root = drawing(plan, ClothDrawing())
    assert len(list(root.iter(f"{SVG}use"))) == 4
    figures = [figure.text for figure in classed(root, "figure")]
    assert figures == [str(n) for n in (*range(11), *range(10, 21), *range(20, 31), *range(30, 41))]
    _, _, wide, _ = map(float, root.get("viewBox", "").split())
    assert wide / 72 < 7.4


def test_a_strip_is_drawn_as_far_as_it_is_used_and_says_so() -> None:
    pieces = (CutPiece("A1", "square", box(0, 0, 2.5, 2.5), 0),)
    plan = replace(SQUARES, outline=box(0, 0, 40, 2.5), cuts=(), pieces=pieces)
    root = ET.fromstring(draw_cutting(plan, ClothDrawing(), HALF, "in", "one", whole=False))
    assert [figure.text for figure in classed(root, "figure")] == ["0", "1", "2", "3", "4"]
    assert "Drawn at 1/2 of full size. The strip goes on." in words(root)
    used = replace(plan, pieces=(CutPiece("A1", "long", box(0, 0, 39.5, 2.5), 0),))
    root = ET.fromstring(draw_cutting(used, ClothDrawing(), HALF, "in", "one", whole=False))
    assert classed(root, "figure")[-1].text == "40"


def test_one_scale_is_the_largest_at_which_two_scraps_fit_a_page() -> None:
    assert common_scale([(9, 6), (5, 5)]) == Fraction(2, 5)
    assert common_scale([(9, 9), (5, 5)]) == Fraction(1, 4)
    assert common_scale([(9, 14), *[(5, 5)] * 9]) == Fraction(1, 2)  # one tall one may fill a page
    assert common_scale([(30, 20)]) == Fraction(1, 8)
    assert common_scale([(40, 2.5)]) == Fraction(1, 3)  # two rows of 20 in
    assert common_scale([(400, 400)]) == Fraction(1, 50)


def test_few_large_scraps_do_not_make_all_others_small() -> None:
    """Half a page is 2.7 in high, a page 7.5 in high and 6.7 in wide."""
    small = [(5.0, 5.0)] * 4
    half, third, quarter = (Fraction(1, n) for n in (2, 3, 4))
    assert drawing_scales([*small, (9.0, 28.0)]) == (half, (*[half] * 4, quarter))
    assert drawing_scales([(60.0, 40.0), *small]) == (half, (Fraction(1, 10), *[half] * 4))
    # One of five may be large; of two only the larger.
    assert drawing_scales([*small[:3], (30.0, 20.0), (9.0, 28.0)])[0] == Fraction(1, 8)
    assert drawing_scales([(30.0, 20.0), (9.0, 7.0)]) == (third, (Fraction(1, 5), third))
    # At a scale that can be read all are alike, and one by itself has a page.
    assert drawing_scales([(9.0, 9.0), (5.0, 5.0)]) == (quarter, (quarter, quarter))
    assert drawing_scales([(30.0, 20.0)]) == (Fraction(1, 8), (Fraction(1, 8),))
    assert drawing_scales([]) == (half, ())


def test_small_pieces_make_the_scale_larger_where_a_page_has_room() -> None:
    """18 in are half a page at 1/8; a half square of 2 7/8 in has its label from 1/6 on."""
    corners = [(0.0, 0.0), (2.875, 0.0), (0.0, 2.875)]
    pieces = tuple(CutPiece(f"B{n}", "half", Polygon(corners), 0) for n in (1, 2))
    quarter = replace(SQUARES, outline=box(0, 0, 21, 18), cuts=(), pieces=())
    assert report_scales(report(sheet(cutting=quarter)))[0] == Fraction(1, 8)
    small = replace(quarter, pieces=pieces)
    assert report_scales(report(sheet(cutting=small))) == (Fraction(1, 6), (Fraction(1, 6),))
    wide = replace(small, outline=box(0, 0, 50, 18))
    assert report_scales(report(sheet(cutting=wide)))[0] == Fraction(1, 8)


def test_a_scrap_with_a_scale_of_its_own_is_named() -> None:
    large = sheet(scrap_id=7, cutting=replace(SQUARES, outline=box(0, 0, 40, 36)))
    page = " ".join(render_page(report(sheet(), sheet(scrap_id=13), large)).split())
    assert "one scale, 2/5 of full size, but for the large scrap 7, drawn smaller;" in page
    assert page.count("Drawn at 1/6 of full size.") == 1
    assert "drawn smaller" not in render_page(report(sheet(), sheet(scrap_id=13)))


def test_edge_1_of_a_piece_is_the_heavy_side() -> None:
    """Of a right half triangle: its long side, which falls to the right."""
    shape = make_shape("half-triangle-right", height=3)
    root = ET.fromstring(draw_piece(shape.outline))
    edge = points(classed(root, "edge-1")[0].get("d", ""))
    (x0, y0), (x1, y1) = edge
    assert math.dist(*edge) == max(math.dist(a, b) for a in paths(root)[0] for b in paths(root)[0])
    assert (x0 - x1) * (y0 - y1) > 0
    assert words(root) == ["1"]


def test_all_drawings_of_a_plan_have_one_scale() -> None:
    large = replace(SQUARES, outline=box(0, 0, 20, 16), cuts=(), pieces=())
    page = render_page(report(sheet(), sheet(scrap_id=13, cutting=large)))
    assert set(re.findall(r"Drawn at ([\d/]+) of full size", page)) == {"1/6"}
    assert page.count("Drawn at") == 3


def test_the_page_tells_the_whole_answer_and_escapes_what_people_typed() -> None:
    page = render_page(report(sheet(photo=b"\xff\xd8jpeg")))
    for text in (
        "Bench &amp; cushion", "deck stripe &lt;offcut&gt;", "basket by the window", "A note.",
        "6 of 12 pieces.", "buy 1/8 yd", "1 square from the tin", "At most 8.", "rotary cutter",
        "data:image/jpeg;base64,", "side 2 1/2 in", "By template: C1",
        "<b>Cut 2 to 3.</b> Each 2 1/2 in above the cut before",
    ):  # fmt: skip
        assert text in page
    assert "<offcut>" not in page


def test_names_with_control_characters_make_no_broken_page() -> None:
    """Every drawing in it stays XML, and no such character is passed on."""
    page = render_page(report(sheet(title="bad\x00\x1b[31mname", place="\ud800")))
    assert not re.search("[\x00-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff]", page)
    drawings = re.findall(r"<svg xmlns=.*?</svg>(?=\s*<(?:/td|/div|ol))", page, re.DOTALL)
    assert len(drawings) == 5
    for drawing in drawings:
        ET.fromstring(drawing)
