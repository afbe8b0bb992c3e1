"""The cutting sheets: one page with everything, and one drawing a scrap beside it."""

import base64
from fractions import Fraction
from pathlib import Path
from typing import Any, Final

from scrapstore.report.cut_words import cut_words
from scrapstore.report.drawing import draw_cutting
from scrapstore.report.folder import write_folder
from scrapstore.report.forms import ClothDrawing, CuttingReport, ScrapSheet, StripPicture
from scrapstore.report.painting import paint_svg
from scrapstore.report.piece_key import draw_piece
from scrapstore.report.reading_help import CAUTIONS, TOP_NOTE, how_to_read
from scrapstore.report.ruler_words import labels_text
from scrapstore.report.scale import report_scales
from scrapstore.report.templating import drawn, templates
from scrapstore.units import PAPER_NAMES, Units

__all__ = ["render_page", "write_sheets"]

_BESIDE: Final = 2.9
"""Inches of paper for the cloth of a drawing that has its words beside it, in a second column."""


def render_page(report: CuttingReport) -> str:
    """Return the whole report as one HTML document that needs no other file."""
    common, own = report_scales(report)
    strips = [
        [
            [
                _strip(strip, report.units, common, f"strip-{i}-{j}-{k}")
                for k, strip in enumerate(source.strips)
            ]
            for j, source in enumerate(role.sources)
        ]
        for i, role in enumerate(report.short)
    ]
    smaller = [
        sheet.scrap_id for sheet, scale in zip(report.sheets, own, strict=True) if scale < common
    ]
    lines = {line.letter: line for line in report.lines}
    return (
        templates()
        .get_template("sheets.html")
        .render(
            report=report,
            top=report.top and drawn(paint_svg(report.top, "top")),
            top_note=TOP_NOTE,
            how_to_read=how_to_read(common, smaller, report.units),
            keys={line.letter: drawn(draw_piece(line.finished)) for line in report.lines},
            sheets=[
                _sheet(sheet, report.units, scale, lines)
                for sheet, scale in zip(report.sheets, own, strict=True)
            ],
            strips=strips,
            cautions=CAUTIONS,
            paper=PAPER_NAMES[report.paper],
        )
    )


def _sheet(
    sheet: ScrapSheet, units: Units, scale: Fraction, lines: dict[str, Any]
) -> dict[str, Any]:
    words = cut_words(sheet.cutting, units, grain="level" if sheet.grain_known else None)
    left, _, right, _ = sheet.cutting.outline.bounds
    labels: dict[str, list[str]] = {}
    for piece in sheet.cutting.pieces:
        labels.setdefault(piece.label.rstrip("0123456789"), []).append(piece.label)
    return {
        "sheet": sheet,
        "words": words,
        "drawing": drawn(_draw_scrap(sheet, units, scale)),
        "beside": (right - left) * scale <= _BESIDE,
        "photo": base64.b64encode(sheet.photo).decode() if sheet.photo else None,
        "pieces": [(labels_text(labels[key]), lines[key]) for key in sorted(labels)],
    }


def _draw_scrap(sheet: ScrapSheet, units: Units, scale: Fraction) -> str:
    words = cut_words(sheet.cutting, units)
    name = f"scrap-{sheet.scrap_id}"
    return draw_cutting(sheet.cutting, sheet.cloth, scale, units, name, words.corners)


def _strip(strip: StripPicture, units: Units, scale: Fraction, name: str) -> dict[str, Any]:
    return {
        "strip": strip,
        "words": cut_words(strip.cutting, units, grain="level" if strip.along_grain else "upright"),
        "drawing": drawn(
            draw_cutting(strip.cutting, ClothDrawing(), scale, units, name, whole=False)
        ),
    }


def write_sheets(report: CuttingReport, folder: Path) -> list[Path]:
    """Write ``index.html``, the PDFs, and ``scrap-ID.svg`` for every scrap used; return the files.

    Sheets of an earlier match in the same folder are removed; other files stay. Raises SheetError
    when the folder cannot be written, or holds files of these names that are somebody else's.
    """
    from scrapstore.report.pdf.sheets import sheets_pdf
    from scrapstore.report.pdf.templates import templates_pdf

    files: dict[str, str | bytes] = {
        "index.html": render_page(report),
        "cutting-sheets.pdf": sheets_pdf(report),
    }
    if report.templates:
        files["templates.pdf"] = templates_pdf(report.project, report.templates, report.paper)
    for sheet, scale in zip(report.sheets, report_scales(report)[1], strict=True):
        files[f"scrap-{sheet.scrap_id}.svg"] = _draw_scrap(sheet, report.units, scale)
    return write_folder(folder, files)
