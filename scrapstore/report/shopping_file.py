"""The shopping list as a file: a page to read and print (HTML), or paper (PDF)."""

from pathlib import Path
from typing import Final

from scrapstore.report.pdf.lettering import text_width
from scrapstore.report.pdf.pages import BODY, NOTE, SMALL, Pages
from scrapstore.report.pdf.painting import put_text
from scrapstore.report.printed_file import write_sheet
from scrapstore.report.shopping_words import ShoppingEntry, ShoppingSheet
from scrapstore.report.svg import hex_colour
from scrapstore.report.swatches import SwatchCard
from scrapstore.report.templating import templates

__all__ = ["write_shopping"]

_NAME: Final = 16.0
_INDENT: Final = 16.0  # points
_SWATCH: Final = 22.0  # points; large enough to hold cloth against
_GAP: Final = 6.0


def write_shopping(sheet: ShoppingSheet, file: Path) -> Path:
    """Write the list to `file`; return where it is. Raises as `write_sheet` does."""
    return write_sheet(file, lambda: _html(sheet), lambda: _pdf(sheet))


def _html(sheet: ShoppingSheet) -> bytes:
    page = templates().get_template("shopping.html").render(sheet=sheet, hex_colour=hex_colour)
    return page.encode()


def _pdf(sheet: ShoppingSheet) -> bytes:
    pages = Pages(sheet.paper, sheet.title, sheet.title)
    pages.words(sheet.title, _NAME, bold=True)
    for section in sheet.sections:
        pages.heading(section.title)
        for entry in section.entries:
            _put_entry(pages, entry)
    return pages.finished()


def _put_entry(pages: Pages, entry: ShoppingEntry) -> None:
    width = pages.width - _INDENT
    tall = pages.height(entry.text, width, BODY, bold=entry.tick)
    if pages.room < tall + 2 * SMALL:
        pages.turn()
    if entry.tick:
        pages.tick(pages.left, pages.y - BODY)
    pages.words(entry.text, BODY, bold=entry.tick, x=pages.left + _INDENT)
    if entry.swatches:
        _put_swatches(pages, entry.swatches)
    else:
        for text in entry.details:
            pages.words(text, SMALL, x=pages.left + _INDENT)
    pages.y -= 4


def _put_swatches(pages: Pages, cards: tuple[SwatchCard, ...]) -> None:
    """Put the colours in a row as far as it goes, each with its word."""
    x = pages.left + _INDENT
    pages.y -= _GAP / 2
    for card in cards:
        wide = _SWATCH + _GAP + text_width(card.words, NOTE) + 2 * _GAP
        if x + wide > pages.right and x > pages.left + _INDENT:
            x = pages.left + _INDENT
            pages.y -= _SWATCH + _GAP
        if pages.room < _SWATCH + _GAP:
            pages.turn()
            x = pages.left + _INDENT
        pages.canvas.setLineWidth(0.8)
        pages.canvas.setFillColorRGB(*(part / 255 for part in card.rgb))
        pages.canvas.rect(x, pages.y - _SWATCH, _SWATCH, _SWATCH, stroke=1, fill=1)
        pages.canvas.setFillColorRGB(0, 0, 0)
        put_text(pages.canvas, card.words, x + _SWATCH + _GAP, pages.y - 0.62 * _SWATCH, NOTE)
        x += wide
    pages.y -= _SWATCH + _GAP
