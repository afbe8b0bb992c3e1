"""Cutting sheets: what they show, and that the drawing is to the scale of its rulers."""

import re
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest
from shapely import Polygon, affinity, box

from scrapstore.report import (
    ClothPicture,
    CuttingReport,
    PieceLine,
    RoleShort,
    ScrapSheet,
    SheetPiece,
    StripPicture,
    StripSource,
    cutting_steps,
    draw_scrap,
    render_page,
    write_sheets,
)

SVG = "{http://www.w3.org/2000/svg}"
OUTLINE = Polygon([(1, 1), (13, 1), (13.5, 7), (8, 9), (1, 8.2)])
DIAMOND = Polygon([(0, 0), (2, 0), (3, 3**0.5), (1, 3**0.5)])


def sheet(**changes: object) -> ScrapSheet:
    whole = ScrapSheet(
        scrap_id=12,
        title="deck stripe <offcut>",
        place="basket by the window",
        size="12 1/2 × 8 in",
        outline=OUTLINE,
        region=OUTLINE.buffer(-0.125, join_style="mitre"),
        flaws=(box(9, 6, 10, 7),),
        grain_known=True,
        one_way=False,
        swatches=(((30, 80, 140), 0.6, "blue"), ((240, 235, 220), 0.4, "white")),
        reads_as="blue",
        pieces=(
            SheetPiece("A", affinity.translate(DIAMOND, 1.25, 1.25)),
            SheetPiece("A", affinity.translate(DIAMOND, 3.25, 1.25)),
            SheetPiece("B", box(6.25, 1.25, 8.25, 5.25)),
        ),
    )
    return replace(whole, **changes)  # type: ignore[arg-type]


def report(*sheets: ScrapSheet) -> CuttingReport:
    lines = (
        PieceLine("A", "diamond", "star", "60° diamond, side 2 in", ("2 1/4 in",), 9, 1, 2, 6, 5),
        PieceLine("B", "oblong", "ground", "rectangle", ("2 1/2 × 4 1/2 in",), 1, 0, 1, 0, 1),
    )
    strip = StripPicture("1 strip", "2 1/4 in wide", 40, 2.25, (SheetPiece("A", DIAMOND),))
    short = (RoleShort("star", "1/8 yd", "6 pieces.", (StripSource("Buy it.", (strip,)),)),)
    return CuttingReport(
        "Bench & cushion", "16 × 16 in", lines, sheets, ("1 diamond from the tin",), short,
        ("A note.",), "in", 0.125,
    )  # fmt: skip


def paths(svg: str) -> list[list[tuple[float, float]]]:
    """Return the corners of every closed path in the drawing, in its own points."""
    found = []
    for element in ET.fromstring(svg).iter(f"{SVG}path"):
        d = element.get("d", "")
        if d.endswith("Z"):
            numbers = [float(n) for n in re.findall(r"-?\d+\.\d+", d)]
            found.append(list(zip(numbers[::2], numbers[1::2], strict=True)))
    return found


@pytest.mark.parametrize("turn_deg", [0.0, -90.0, 33.0])
def test_the_picture_of_the_cloth_lies_under_its_outline(turn_deg: float) -> None:
    """The marked corners of the picture come to where the turned outline's corners are drawn."""
    measured = box(0, 0, 6, 4)
    turned = affinity.rotate(measured, turn_deg, origin=(0, 0))
    picture = ClothPicture(b"jpeg", (-0.5, -0.25, 6.5, 4.25), turn_deg)
    whole = sheet(outline=turned, region=turned, flaws=(), pieces=(), cloth=picture)
    svg = ET.fromstring(draw_scrap(whole, "in"))
    (image,) = svg.iter(f"{SVG}image")
    assert image.get("href") == "data:image/jpeg;base64,anBlZw=="
    a, b, c, d, e, f = map(float, re.findall(r"-?[\d.]+", image.get("transform", "")))
    scale = float(image.get("width", "")) / 7
    assert float(image.get("height", "")) / 4.5 == pytest.approx(scale, rel=1e-3)
    drawn = set()
    for x, y in measured.exterior.coords:
        u, v = (x + 0.5) * scale, (4.25 - y) * scale
        drawn.add((round(a * u + c * v + e), round(b * u + d * v + f)))
    cloth = paths(draw_scrap(whole, "in"))[0]
    assert drawn == {(round(x), round(y)) for x, y in cloth}
    (clip,) = svg.iter(f"{SVG}clipPath")
    assert paths(ET.tostring(clip, encoding="unicode"))[0] == cloth
    (group,) = svg.iter(f"{SVG}g")
    assert group.get("clip-path") == f"url(#{clip.get('id')})"


def test_every_piece_is_drawn_at_its_place_to_the_scale_of_the_rulers() -> None:
    svg = draw_scrap(sheet(), "in")
    drawn = [Polygon(corners) for corners in paths(svg)]
    cloth = drawn[0]
    scale = (cloth.area / OUTLINE.area) ** 0.5
    figures = {
        float(t.text or ""): float(t.get("x", ""))
        for t in ET.fromstring(svg).iter(f"{SVG}text")
        if t.get("text-anchor") == "middle" and t.get("font-size") == "9"
    }
    assert figures[8.0] - figures[0.0] == pytest.approx(8 * scale, abs=0.1)
    left, _, _, foot = cloth.bounds
    for piece in sheet().pieces:
        on_paper = Polygon(
            [(left + (x - 1) * scale, foot - (y - 1) * scale)
             for x, y in piece.outline.exterior.coords]
        )  # fmt: skip
        assert any(on_paper.symmetric_difference(p).area < 0.5 for p in drawn)


def test_the_drawing_names_each_piece_and_the_grain_and_crosses_out_flaws() -> None:
    svg = draw_scrap(sheet(), "in")
    words = [t.text for t in ET.fromstring(svg).iter(f"{SVG}text")]
    assert {"A1", "A2", "B1", "lengthwise grain"} <= set(words)
    assert "#b00000" in svg
    assert "lengthwise grain" not in draw_scrap(sheet(grain_known=False), "in")
    assert "one way" in draw_scrap(sheet(one_way=True), "in")


def test_letters_are_told_apart_by_hatching_and_not_by_colour_alone() -> None:
    svg = draw_scrap(sheet(), "in")
    hatched = [e.get("fill") for e in ET.fromstring(svg).iter(f"{SVG}path")]
    assert any("hatch" in (fill or "") and "b00000" not in (fill or "") for fill in hatched)


def test_the_page_tells_the_whole_answer_and_escapes_what_people_typed() -> None:
    page = render_page(report(sheet(photo=b"\xff\xd8jpeg")))
    for text in ("Bench &amp; cushion", "deck stripe &lt;offcut&gt;", "basket by the window",
                 "buy 1/8 yd", "1 diamond from the tin", "at most", "rotary cutter",
                 "data:image/jpeg;base64,"):  # fmt: skip
        assert text in page
    assert "<offcut>" not in page


def test_steps_give_each_row_its_two_cuts_and_say_what_lies_in_the_way() -> None:
    steps = cutting_steps(OUTLINE, sheet().pieces, "in", 1 / 8)
    assert len(steps) == 2
    # The two diamonds stand 1/4 in above the lowest edge and are √3 = 1.732 in high: 1.982 is no
    # mark of the ruler, so the strip's least height is told, or it might be cut too narrow.
    assert steps[0].startswith(
        "Cut along 1/4 in up and ~2 in up (the strip must be at least 1.732 in wide), "
        "only from 1/4 in to 5 1/4 in"
    )
    assert (
        "(mind B1); this frees A1, A2. Sub-cut at 60° to the strip, "
        "~1 3/4 in (at least 1.732 in) from cut to cut; " in steps[0]
    )
    assert steps[0].endswith("the first piece begins 1/4 in from the left.")
    assert steps[1] == "Cut along 1/4 in up and 4 1/4 in up; this frees B1."


def test_pieces_without_a_level_side_are_freed_by_upright_cuts() -> None:
    """The diamond turned by 30° the other way stands upright: 1.732 in wide, 3 in tall."""
    standing = affinity.rotate(DIAMOND, 30, origin=(0, 0))  # sides at 30° and 90°
    left, low, *_ = standing.bounds
    one = affinity.translate(standing, 1.5 - left, 2 - low)
    two = affinity.translate(one, 0, 2)
    (step,) = cutting_steps(OUTLINE, [SheetPiece("A", one), SheetPiece("A", two)], "in", 1 / 8)
    assert step.startswith("Cut upright along 1/2 in from the left and ~2 1/4 in from the left")
    assert "at least 1.732 in wide" in step
    assert "Sub-cut at 60° to the strip, ~1 3/4 in (at least 1.732 in) from cut to cut; " in step
    assert step.endswith("the first piece begins 1 in up.")


def test_a_piece_without_a_level_side_is_placed_by_its_lowest_corner() -> None:
    leaning = SheetPiece("C", affinity.rotate(box(4, 4, 6, 6), 45))
    (step,) = cutting_steps(OUTLINE, [leaning], "in", 1 / 8)
    assert step == "C1: lowest corner 4 in from the left, ~2 9/16 in up."


def test_sheets_of_an_earlier_match_do_not_stay_behind(tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("keep me")
    write_sheets(report(sheet(), sheet(scrap_id=13)), tmp_path)
    written = write_sheets(report(sheet(scrap_id=14)), tmp_path)
    assert [p.name for p in written] == ["index.html", "scrap-14.svg"]
    assert {p.name for p in tmp_path.iterdir()} == {"index.html", "scrap-14.svg", "mine.txt"}


def test_centimetres_are_drawn_with_centimetre_rulers() -> None:
    svg = draw_scrap(sheet(), "cm")
    words = [t.text for t in ET.fromstring(svg).iter(f"{SVG}text")]
    assert "cm" in words
    assert "30" in words
