"""The finishing of a top on a sheet: a page to read and print (HTML), or paper (PDF)."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from scrapstore.report.finish_text import FinishWords
from scrapstore.report.painting import Drawing, paint_svg, svg_drawing
from scrapstore.report.pdf.lettering import text_width
from scrapstore.report.pdf.pages import BODY, NOTE, SMALL, Pages
from scrapstore.report.pdf.painting import put_text
from scrapstore.report.printed_file import write_sheet
from scrapstore.report.templating import drawn, templates
from scrapstore.units import PAPER_NAMES, Paper

__all__ = ["SHEET_EDGE", "FinishSheet", "write_finish_sheet"]

_NAME: Final = 16.0
SHEET_EDGE: Final = 270.0
"""Points of the longer side of the edge as a sheet shows it."""
_GAP: Final = 14.0  # points between columns
_TICK: Final = 16.0


@dataclass(frozen=True, kw_only=True)
class FinishSheet:
    """What a sheet shows: the words, the edge as drawn, the steps of the work, what to mind."""

    title: str
    words: FinishWords
    drawing: Drawing | None
    steps: tuple[str, ...]
    cautions: tuple[str, ...]
    paper: Paper


def write_finish_sheet(sheet: FinishSheet, file: Path) -> Path:
    """Write the sheet to `file`; return where it is. Raises as `write_sheet` does."""
    return write_sheet(file, lambda: _html(sheet), lambda: _pdf(sheet))


def _html(sheet: FinishSheet) -> bytes:
    picture = None
    if sheet.drawing is not None:
        picture = drawn(paint_svg(sheet.drawing, "edge", title="The edge and its joins"))
    columns, rows = _filled(sheet.words)
    page = templates().get_template("finish.html")
    return page.render(
        sheet=sheet, picture=picture, columns=columns, rows=rows, paper=PAPER_NAMES[sheet.paper]
    ).encode()


def _filled(words: FinishWords) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """Return the columns that are not empty, and the rows with those alone."""
    kept = [at for at in range(len(words.columns)) if any(row[at] for row in words.rows)]
    return (
        tuple(words.columns[at] for at in kept),
        [tuple(row[at] for at in kept) for row in words.rows],
    )


def _pdf(sheet: FinishSheet) -> bytes:
    pages = Pages(sheet.paper, sheet.title, sheet.title)
    words = sheet.words
    pages.words(sheet.title, _NAME, bold=True)
    pages.y -= 4
    for line in words.first:
        pages.words(line)
    if words.order:
        pages.heading("The binding")
        pages.words(words.order)
        _put_table(pages, *_filled(words))
        for note in words.notes:
            pages.words(note, SMALL)
    if sheet.drawing is not None:
        _put_drawing(pages, sheet.drawing)
    if sheet.steps:
        pages.heading("The order of work")
        for number, step in enumerate(sheet.steps, 1):
            _put_step(pages, f"{number}. {step}")
    pages.heading("Take care")
    for caution in sheet.cautions:
        pages.words(caution, SMALL)
    return pages.finished()


def _put_table(pages: Pages, columns: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    wide = [
        max(text_width(cell, BODY) for cell in column) + _GAP
        for column in zip(columns, *rows, strict=True)
    ]
    for size, row in ((NOTE, columns), *((BODY, row) for row in rows)):
        if pages.room < 2 * BODY:
            pages.turn()
        x = pages.left
        for cell, width in zip(row, wide, strict=True):
            put_text(pages.canvas, cell, x, pages.y - size, size)
            x += width
        pages.y -= 1.35 * size
    pages.y -= 4


def _put_drawing(pages: Pages, drawing: Drawing) -> None:
    if pages.room < drawing.height:
        pages.turn()
    left = pages.left + (pages.width - drawing.width) / 2
    pages.y -= pages.drawing(svg_drawing(drawing, "edge"), left, pages.y)


def _put_step(pages: Pages, text: str) -> None:
    if pages.room < pages.height(text, pages.width - _TICK):
        pages.turn()
    pages.tick(pages.left, pages.y - BODY)
    pages.words(text, x=pages.left + _TICK)
    pages.y -= 2
