"""The cutting sheets on paper, read back by pypdf: the same figures as on the web page."""

import html
import re
from dataclasses import replace
from fractions import Fraction

import pytest
from shapely import Polygon, affinity, box

from scrapstore.report.cut_words import cut_words
from scrapstore.report.forms import CuttingReport, Fetch, ScrapSheet
from scrapstore.report.page import render_page, write_sheets
from scrapstore.report.pdf.painting import paint_drawing
from scrapstore.report.pdf.sheets import sheets_pdf
from scrapstore.report.svg import new_element
from scrapstore.shapes import Cut, CutPiece, CuttingPlan, Frame, RulerFrom
from scrapstore.units import Paper
from tests.support.cutting_plans import DIAMONDS, TRIMMED
from tests.support.cutting_reports import CLOTH, report, sheet
from tests.support.pdf_reading import letter_sizes, page_sizes, page_words, strokes


def whole(paper: Paper = "letter") -> CuttingReport:
    """Three scraps, of which one is cut at angles, one with trimmed tips; and a strip."""
    plain = replace(CLOTH, region=None, flaws=())
    other = replace(DIAMONDS, pieces=tuple(
        replace(piece, label=f"C{number}") for number, piece in enumerate(DIAMONDS.pieces, 2)
    ))  # fmt: skip
    third = replace(TRIMMED, pieces=(replace(TRIMMED.pieces[0], label="C9"),))
    sheets = (
        sheet(),
        sheet(scrap_id=13, cutting=other, cloth=plain),
        sheet(scrap_id=14, cutting=third, cloth=plain, place=None),
    )
    return replace(
        report(*sheets),
        paper=paper,
        fetch=(Fetch("basket", "scrap 12"), Fetch("basket", "a lot of squares", cloth=False)),
    )


def plans(whole: CuttingReport) -> list[CuttingPlan]:
    strips = [strip for role in whole.short for one in role.sources for strip in one.strips]
    return [*(one.cutting for one in whole.sheets), *(strip.cutting for strip in strips)]


def steps_of_page(page: str) -> list[str]:
    found = re.findall(r"<li>(<b>Cut .*?)</li>", page, re.DOTALL)
    return [" ".join(html.unescape(re.sub("<.*?>", "", one)).split()) for one in found]


def test_every_cut_of_the_web_page_is_on_paper_in_the_same_words() -> None:
    shown = whole()
    words = " ".join(page_words(sheets_pdf(shown)))
    steps = steps_of_page(render_page(shown))
    assert len(steps) == sum(len(cut_words(plan, "in").steps) for plan in plans(shown)) > 9
    for step in steps:
        number, _, text = step.partition(". ")
        assert number in words
        assert text in words


def test_every_label_of_the_plan_stands_beside_a_box_to_tick() -> None:
    strip = whole().short[0]
    picture = replace(strip.sources[0].strips[0], alike=("A4", "A5"))
    source = replace(strip.sources[0], strips=(picture,))
    shown = replace(whole(), short=(replace(strip, sources=(source,)),))
    words = " ".join(page_words(sheets_pdf(shown))).split()
    labels = {piece.label for plan in plans(shown) for piece in plan.pieces} | {"A4", "A5"}
    assert labels <= set(words)


def test_the_cover_says_what_to_fetch_and_what_to_take_care_of() -> None:
    cover = page_words(sheets_pdf(whole()))[0]
    for text in ("Bench & cushion", "6 of 12 pieces.", "fetched pressed squared up", "basket",
                 "scrap 12", "a lot of squares", "rotary cutter", "iron", "makers' instructions",
                 "Made for Letter."):  # fmt: skip
        assert text in cover
    # Three boxes for the scrap, one for the pieces that are cut already.
    squares = [one for one in strokes(sheets_pdf(whole()))[0] if len(one.points) == 5]
    assert len(squares) == 4


def test_the_largest_pieces_come_first() -> None:
    """The card of the smallest piece is the last; on a card squares stand before half squares."""
    words = " ".join(page_words(sheets_pdf(whole())))
    at = [words.index(f"Scrap {number}: deck stripe") for number in (12, 13, 14)]
    assert at == sorted(at)
    assert words.index("A square:", at[0]) < words.index("B half:", at[0])


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_all_cards_are_drawn_at_the_one_scale_that_is_stated(paper: Paper) -> None:
    """Every piece of every scrap is on the page, so many times smaller than in the plan."""
    shown = whole(paper)
    pdf = sheets_pdf(shown)
    (stated,) = set(re.findall(r"Drawn at (\d+/\d+) of full size", " ".join(page_words(pdf))))
    scale = float(Fraction(stated)) * 72
    drawn = [
        Polygon(one.points) for page in strokes(pdf) for one in page
        if one.filled and one.stroked and one.width in (0.7, 1.0) and len(one.points) > 3
    ]  # fmt: skip
    for piece in (piece for plan in plans(shown) for piece in plan.pieces):
        here = affinity.scale(piece.outline, scale, scale, origin=(0, 0))
        assert any(_same_shape(here, one) for one in drawn), piece.label


def _same_shape(one: Polygon, other: Polygon) -> bool:
    dx, dy = (a - b for a, b in zip(one.bounds[:2], other.bounds[:2], strict=True))
    return affinity.translate(other, dx, dy).symmetric_difference(one).area < 0.2 * one.length


@pytest.mark.parametrize(("paper", "size"), [("a4", (595.276, 841.89)), ("letter", (612, 792))])
def test_pages_are_of_the_paper_and_their_letters_are_eight_points_at_least(
    paper: Paper, size: tuple[float, float]
) -> None:
    pdf = sheets_pdf(whole(paper))
    assert list(page_sizes(pdf)) == [pytest.approx(size, abs=0.01)]
    assert min(letter_sizes(pdf)) >= 8 - 1e-6
    inside = box(0, 0, *size).buffer(-0.25 * 72)
    for page in strokes(pdf):
        assert all(inside.covers(Polygon(p.points)) for p in page if len(p.points) > 3)


def many_strips(count: int) -> ScrapSheet:
    """A scrap cut into strips that are all of another width: a step for each."""
    cuts, pieces, x = [], [], 0.0
    for number in range(count):
        x += 1 + number / 8
        parts = (2 * number + 1, 2 * number + 2)
        against: RulerFrom = number - 1 if number else "edge"
        cuts.append(Cut(2 * number, ((x, 0), (x, 9)), parts, against, 1 + number / 8, 0))
        strip = box(x - 1 - number / 8, 0, x, 5)
        pieces.append(CutPiece(f"A{number + 1}", "square", strip, parts[0]))
    plan = CuttingPlan(Frame(), box(0, 0, x + 1, 5), tuple(cuts), tuple(pieces), 1 / 8)
    return sheet(cutting=plan, cloth=replace(CLOTH, region=None, flaws=()))


def test_a_long_list_of_cuts_goes_on_under_its_title() -> None:
    pages = page_words(sheets_pdf(report(many_strips(40))))
    assert any("Scrap 12: deck stripe <offcut> (goes on)" in page for page in pages)
    joined = " ".join(pages)
    assert all(f"Cut {number} " in joined for number in range(1, 41))
    assert all(re.search(rf"\bA{number}\b", joined) for number in range(1, 41))
    assert f"page {len(pages)} of {len(pages)}" in pages[-1]


@pytest.mark.parametrize(
    "name", ["", "🧵" * 40, "ستارة المطبخ", "z" * 300, "\x1b[31m\ud800", "Łódź"]
)
def test_odd_names_break_no_page_and_do_not_vanish(name: str) -> None:
    odd = replace(
        report(sheet(title=name, place=name)), project=name, answer=name, notes=(name,) * 60,
        fetch=tuple(Fetch(name, name) for _ in range(60)),
    )  # fmt: skip
    pdf = sheets_pdf(odd)
    words = " ".join(page_words(pdf))
    assert "Scrap 12" in words
    assert not name or any(sign in words for sign in ("◊", "zzz", "Łódz"))
    assert min(letter_sizes(pdf)) >= 8 - 1e-6


def test_the_same_plan_gives_the_same_bytes(tmp_path) -> None:  # type: ignore[no-untyped-def]
    for folder in ("one", "two"):
        files = write_sheets(whole(), tmp_path / folder)
    assert [file.name for file in files[:2]] == ["index.html", "cutting-sheets.pdf"]
    for file in files:
        assert file.read_bytes() == (tmp_path / "one" / file.name).read_bytes()
    assert 'href="cutting-sheets.pdf"' in files[0].read_text(encoding="utf-8")


def test_what_cannot_be_painted_is_an_error_and_not_left_out() -> None:
    from reportlab.pdfgen.canvas import Canvas

    canvas = Canvas("never-written.pdf")
    for child in (new_element("ellipse"), new_element("path", d="M0 0 Q1 1 2 2")):
        root = new_element("svg", viewBox="0 0 9 9")
        root.append(child)
        with pytest.raises(ValueError, match="no way to"):
            paint_drawing(canvas, root, 0, 0)
