"""Templates on paper: true to 0.2 mm where pypdf reads them back, on one page or on several."""

import math
from dataclasses import replace
from itertools import pairwise

import pytest
from shapely import LineString, Polygon, affinity, box, unary_union

from scrapstore.report.forms import Template
from scrapstore.report.pdf.templates import templates_pdf
from scrapstore.shapes import GrainEdge, Tips, cut_shape, make_shape, rotations_deg
from scrapstore.units import Paper
from tests.support.pdf_reading import MM, Stroke, page_sizes, page_words, strokes

PAPERS: tuple[Paper, ...] = ("a4", "letter")
CUT, SEAM = 1.2, 0.8
NEAR = 0.2 * MM
SHAPES = {
    "diamond-60": {"height": 1.25},
    "half-square-triangle": {"short_side": 3.0},
    "hexagon": {"side": 1.5},
    "kite": {"long_side": 3.0},
    "half-triangle-right": {"height": 3.75},
    "trapezoid": {"long_side": 5.0, "short_side": 3.0, "height": 2.0},
}


def a_template(kind: str, tips: Tips = "trimmed", **measures: float) -> Template:
    shape = make_shape(kind, **measures)
    return Template(
        ("A",), (kind,), (3,), shape.label, ("side 2 in",), cut_shape(shape, 0.25, tips),
        shape.outline, -rotations_deg(shape, GrainEdge())[0], both_ways=True,
    )  # fmt: skip


def rings(page: list[Stroke], *, width: float, dashed: bool) -> list[Polygon]:
    return [
        Polygon(one.points) for one in page
        if one.width == width and one.dashed == dashed and len(one.points) > 3
        and one.points[0] == one.points[-1]
    ]  # fmt: skip


def edges_mm(outline: Polygon, points_per_unit: float) -> list[float]:
    around = [math.dist(a, b) for a, b in pairwise(outline.exterior.coords)]
    return sorted(length / points_per_unit * 25.4 for length in around)


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("tips", ["pointed", "trimmed"])
def test_every_edge_of_a_template_is_true_to_a_fifth_of_a_millimetre(
    paper: Paper, tips: Tips
) -> None:
    """Cut line and seam line, all edges; and the seam lies the allowance inside of the cut."""
    templates = [a_template(kind, tips, **measures) for kind, measures in SHAPES.items()]
    pages = strokes(templates_pdf("x", templates, paper))
    cut = [ring for page in pages for ring in rings(page, width=CUT, dashed=False)]
    seam = [ring for page in pages for ring in rings(page, width=SEAM, dashed=True)]
    assert len(cut) == len(seam) == len(templates)
    for template, outline, line in zip(templates, cut, seam, strict=True):
        for ours, drawn in ((template.cut, outline), (template.finished, line)):
            assert edges_mm(drawn, 72) == pytest.approx(edges_mm(ours, 1), abs=0.2)
        assert outline.contains(line)
        if tips == "pointed":
            inside = outline.exterior.distance(line.exterior)
            assert inside == pytest.approx(0.25 * 72, abs=NEAR)


@pytest.mark.parametrize("paper", PAPERS)
def test_tiles_laid_cross_on_cross_are_the_whole_template(paper: Paper) -> None:
    """What shows on each tile, moved so that crosses of one number meet, gives the true outline."""
    template = a_template("equilateral-triangle", "trimmed", side=16.0)
    pdf = templates_pdf("x", [template], paper)
    pages = strokes(pdf)
    assert len(pages) > 2
    parts, windows, whole = list[Polygon](), list[Polygon](), list[Polygon]()
    for page in pages:
        (window,) = (Polygon(one.points) for one in page if one.width == pytest.approx(0.4))
        (ring,) = rings(page, width=CUT, dashed=False)
        windows.append(window)
        whole.append(ring)
    # The same crosses on every page, so far from the outline on each as on the first.
    crosses = [crosses_of(page, ring) for page, ring in zip(pages, whole, strict=True)]
    seen = set[tuple[float, float]]()
    for own in crosses:
        shared = {cross for cross in seen for other in own if math.dist(cross, other) < NEAR}
        assert shared or not seen
        seen |= own
    assert all(sum(any(math.dist(c, o) < NEAR for o in own) for own in crosses) == 2 for c in seen)
    first = whole[0]
    for window, ring in zip(windows, whole, strict=True):
        move = [a - b for a, b in zip(first.bounds[:2], ring.bounds[:2], strict=True)]
        parts.append(affinity.translate(window, *move))
        assert edges_mm(ring, 72) == pytest.approx(edges_mm(template.cut, 1), abs=0.2)
    assert unary_union(parts).buffer(0.01).contains(first)


def crosses_of(page: list[Stroke], ring: Polygon) -> set[tuple[float, float]]:
    """Return the middles of the crosses, from the lower left corner of the outline's box."""
    left, low, _, _ = ring.bounds
    level = [one.points for one in page if one.width == 0.6 and len(one.points) == 2
             and abs(one.points[0][1] - one.points[1][1]) < 1e-6]  # fmt: skip
    return {(round((a[0] + b[0]) / 2 - left, 3), round(a[1] - low, 3)) for a, b in level}


@pytest.mark.parametrize("paper", PAPERS)
def test_every_page_has_a_line_of_six_inches_and_says_how_to_print(paper: Paper) -> None:
    templates = [a_template("hexagon", side=7.0), a_template("kite", long_side=3.0)]
    pdf = templates_pdf("x", templates, paper)
    for page, words in zip(strokes(pdf), page_words(pdf), strict=True):
        lengths = [
            math.dist(*one.points) / MM for one in page if len(one.points) == 2 and one.width == 0.8
        ]
        assert max(lengths) == pytest.approx(152.4, abs=0.2)
        assert "Print at 100 %" in words
        assert "6 in (15.24 cm)" in words


def test_pages_are_of_the_paper_and_nothing_reaches_beyond_its_margins() -> None:
    """A4 is 210 × 297 mm (ISO 216), Letter 8 1/2 × 11 in (ANSI/ASME Y14.1)."""
    templates = [a_template("hexagon", side=4.0), a_template("hexagon", side=9.0)]
    for paper, size in (("a4", (210 * MM, 297 * MM)), ("letter", (612, 792))):
        pdf = templates_pdf("x", templates, paper)  # type: ignore[arg-type]
        (found,) = page_sizes(pdf)
        assert found == pytest.approx(size, abs=0.01)
        inside = box(0, 0, *size).buffer(-0.4 * 72)
        for page in strokes(pdf):
            tiled = any(one.width == pytest.approx(0.4) for one in page)
            lines = [one for one in page if not (tiled and one.width in (CUT, SEAM, 1.4, 0.6))]
            assert all(inside.contains(LineString(one.points)) for one in lines)


def test_the_arrow_lies_as_the_grain_rule_says_and_the_words_with_it() -> None:
    """A half-square triangle with its long side lengthwise: that side falls at 45°."""
    shape = make_shape("half-square-triangle", short_side=3.0)
    rule = GrainEdge((1,), "lengthwise")
    plain = Template(
        ("A", "C"), ("half", "other half"), (4, 2), shape.label, ("short side 3 7/8 in",),
        cut_shape(shape, 0.25), shape.outline, -rotations_deg(shape, rule)[0], handed=True,
    )  # fmt: skip
    pdf = templates_pdf("Bench", [plain], "letter")
    (arrow,) = (one for one in strokes(pdf)[0] if one.width == 1.4 and len(one.points) == 2)
    (x0, y0), (x1, y1) = arrow.points
    assert (y1 - y0) / (x1 - x0) == pytest.approx(-1, abs=1e-3)
    (words,) = page_words(pdf)
    for text in ("A half, C other half", "Cut 4 A, 2 C.", "short side 3 7/8 in",
                 "along the lengthwise grain; printed side up, do not turn it over."):  # fmt: skip
        assert text in words
    assert "straight across" not in words


@pytest.mark.parametrize("name", ["", "🧵" * 5, "ستار", "x" * 900, "\x1b[31m\ud800", "Łódź ½"])
def test_odd_names_break_no_page(name: str) -> None:
    odd = replace(a_template("hexagon", side=1.5), names=(name,))
    (words,) = page_words(templates_pdf(name, [odd], "a4"))
    assert "Cut 3 A" in words
    assert not name or any(sign in words for sign in ("◊", "xxx", "Łódz ½"))


def test_the_same_templates_give_the_same_bytes() -> None:
    one, two = (templates_pdf("Łódź", [a_template("kite", long_side=3.0)], "a4") for _ in range(2))
    assert one == two
