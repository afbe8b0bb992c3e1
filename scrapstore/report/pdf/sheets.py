"""``cutting-sheets.pdf``: a cover with what to fetch, and a card for each scrap and strip."""

from dataclasses import replace
from fractions import Fraction
from itertools import groupby
from typing import Final

from scrapstore.report.cut_words import cut_words
from scrapstore.report.drawing import cutting_drawing
from scrapstore.report.forms import ClothDrawing, CuttingReport, ScrapSheet, StripPicture
from scrapstore.report.painting import svg_drawing
from scrapstore.report.pdf.cards import Card, put_card
from scrapstore.report.pdf.lettering import MISSING, text_width
from scrapstore.report.pdf.pages import BODY, NOTE, SMALL, Pages
from scrapstore.report.pdf.painting import put_text
from scrapstore.report.reading_help import CAUTIONS, TOP_NOTE, how_to_read
from scrapstore.report.scale import report_scales
from scrapstore.units import PAPER_NAMES

__all__ = ["sheets_pdf"]

_NAME: Final = 18.0
_NO_PLACE: Final = "No place noted"
_TICKS: Final = ("fetched", "pressed", "squared up")
_TICK_WIDE: Final = 52.0  # points; a column of boxes
_COUNT_WIDE: Final = 44.0  # points; a column of counts


def sheets_pdf(report: CuttingReport) -> bytes:
    """Return the document: everything that the web page has, set for paper and pencil."""
    pages = Pages(
        report.paper, f"Cutting sheets: {report.project}", f"Cutting sheets: {report.project}"
    )
    common, own = report_scales(report)
    _put_cover(pages, report, common, own)
    lines = {line.letter: line for line in report.lines}
    cards = [
        _scrap_card(sheet, report, scale) for sheet, scale in zip(report.sheets, own, strict=True)
    ]
    if pages.number == 1:
        pages.turn()
    # Cloth that gives the largest pieces first: what is spoilt there can still give smaller ones.
    for card in sorted(cards, key=_largest, reverse=True):
        put_card(pages, card, lines)
    _put_yardage(pages, report, common)
    return pages.finished()


def _largest(card: Card) -> float:
    return round(max(piece.outline.area for piece in card.plan.pieces), 6)


def _put_cover(
    pages: Pages, report: CuttingReport, common: Fraction, own: tuple[Fraction, ...]
) -> None:
    pages.words(report.project, _NAME, bold=True)
    pages.words(report.finished)
    pages.y -= 4
    pages.words(report.answer, 11, bold=True)
    if report.limit:
        pages.words(report.limit, SMALL)
    for note in report.notes:
        pages.words(note)
    if report.top is not None:
        pages.heading("The top")
        pages.words(TOP_NOTE, SMALL)
        pages.y -= 4
        pages.fitted(svg_drawing(report.top, "top"))
    if report.fetch:
        pages.heading("What to fetch")
        _put_fetch(pages, report)
    bought = [f"{role.role}: buy {role.buy}. {role.wanting}" for role in report.short]
    if bought:
        pages.heading("From yardage")
        for text in bought:
            pages.words(text)
    pages.heading("The pieces")
    _put_pieces(pages, report)
    if report.sheets or report.short:
        pages.heading("How to read the cards")
        smaller = [
            sheet.scrap_id
            for sheet, scale in zip(report.sheets, own, strict=True)
            if scale < common
        ]
        pages.words(how_to_read(common, smaller, report.units), SMALL)
        pages.words(
            "Under each card stand its cuts in their order, each with a small picture of the cloth "
            "it goes through, as large as there is room. The hatched band is the ruler: its edge "
            "lies on the cut, the heavy line, and it is measured from the broken line, at the "
            "figure. The pieces of a card are listed largest first; tick them off as they come "
            "free.",
            SMALL,
        )
    if report.templates:
        pages.words("Templates at true size are in templates.pdf.", SMALL)
    pages.words(
        f"Made for {PAPER_NAMES[report.paper]}. {MISSING} stands for a letter that this print has "
        "no font for; index.html shows it.",
        SMALL,
    )
    pages.heading("Take care")
    for text in CAUTIONS:
        pages.words(text, SMALL)


def _put_fetch(pages: Pages, report: CuttingReport) -> None:
    """Put what to fetch, place by place, with boxes to tick at the right."""
    columns = [pages.right - (len(_TICKS) - k) * _TICK_WIDE for k in range(len(_TICKS))]
    for x, word in zip(columns, _TICKS, strict=True):
        put_text(pages.canvas, word, x, pages.y - NOTE, NOTE)
    room = columns[0] - pages.left - 8
    for place, things in groupby(report.fetch, key=lambda one: one.place):
        if pages.room < 4 * BODY:
            pages.turn()
        pages.words(place or _NO_PLACE, BODY, bold=True, width=room)
        for thing in things:
            tall = pages.height(thing.what, room - 12)
            if pages.room < tall:
                pages.turn()
            for x in columns if thing.cloth else columns[:1]:
                pages.tick(x + 8, pages.y - BODY)
            pages.words(thing.what, x=pages.left + 12, width=room - 12)
        pages.y -= 2


def _put_pieces(pages: Pages, report: CuttingReport) -> None:
    """Put the list of pieces, with where they come from."""
    words = ("wanted", "ready-cut", "scraps", "yardage")
    columns = [pages.right - (len(words) - 1 - k) * _COUNT_WIDE for k in range(len(words))]
    for x, word in zip(columns, words, strict=True):
        put_text(pages.canvas, word, x - text_width(word, NOTE), pages.y - NOTE, NOTE)
    pages.y -= NOTE * 1.4
    width = columns[0] - pages.left - 34
    for line in report.lines:
        text = f"{line.name} ({line.role}): {', '.join(line.cut_size)}; finishes as {line.label}"
        if pages.room < pages.height(text, width - 20):
            pages.turn()
        put_text(pages.canvas, line.letter, pages.left, pages.y - BODY, BODY, bold=True)
        counts = (line.wanted, line.ready, line.scraps, line.yardage)
        for x, count in zip(columns, counts, strict=True):
            put_text(pages.canvas, f"{count}", x - text_width(f"{count}", BODY), pages.y - BODY,
                     BODY)  # fmt: skip
        pages.words(text, x=pages.left + 20, width=width - 20)


def _scrap_card(sheet: ScrapSheet, report: CuttingReport, scale: Fraction) -> Card:
    words = cut_words(sheet.cutting, report.units, grain="level" if sheet.grain_known else None)
    name = f"scrap-{sheet.scrap_id}"
    place = f"; kept in: {sheet.place}" if sheet.place else ""
    return Card(
        title=f"Scrap {sheet.scrap_id}{sheet.title and f': {sheet.title}'}",
        said=(f"{sheet.size}, {sheet.reads_as}{place}",),
        drawing=cutting_drawing(
            sheet.cutting, sheet.cloth, scale, report.units, name, words.corners
        ),
        plan=sheet.cutting,
        words=words,
        notes=sheet.notes,
    )


def _put_yardage(pages: Pages, report: CuttingReport, scale: Fraction) -> None:
    """Put a card for each kind of strip, role by role."""
    lines = {line.letter: line for line in report.lines}
    for role in report.short:
        for source in role.sources:
            heading = (f"Yardage for {role.role}", source.text)
            for index, strip in enumerate(source.strips):
                card = _strip_card(strip, report, scale)
                put_card(pages, card if index else replace(card, heading=heading), lines)


def _strip_card(strip: StripPicture, report: CuttingReport, scale: Fraction) -> Card:
    words = cut_words(
        strip.cutting, report.units, grain="level" if strip.along_grain else "upright"
    )
    drawing = cutting_drawing(
        strip.cutting, ClothDrawing(), scale, report.units, "strip", words.corners, whole=False
    )
    return Card(
        strip.title, (strip.text,), drawing, strip.cutting, words, alike=strip.alike, tick=True
    )
