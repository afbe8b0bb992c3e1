"""The cutting sheets: one page with everything, and one drawing a scrap beside it."""

import base64
from pathlib import Path

from scrapstore.errors import SheetError
from scrapstore.report.drawing import HATCHES, draw_scrap, draw_strip
from scrapstore.report.forms import CuttingReport
from scrapstore.report.steps import cutting_steps

__all__ = ["CAUTIONS", "render_page", "write_sheets"]

CAUTIONS = (
    "A rotary cutter is a razor: close or cover the blade every time you lay it down, cut away "
    "from yourself on a cutting mat, hold the ruler with spread fingers well back from its edge, "
    "and keep cutter, blades, pins and needles away from children and animals.",
    "An iron burns and scorches: use the heat the fibre allows, and unplug it when you leave.",
    "Follow the makers' instructions for your tools, and local rules; if in doubt, ask somebody "
    "trained.",
)


def render_page(report: CuttingReport) -> str:
    """Return the whole report as one HTML document that needs no other file."""
    from jinja2 import Environment, PackageLoader, StrictUndefined
    from markupsafe import Markup

    environment = Environment(
        loader=PackageLoader("scrapstore.report"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    sheets = [
        {
            "sheet": sheet,
            # The drawing is made of numbers and fixed words, so it may go in as markup.
            "drawing": Markup(draw_scrap(sheet, report.units)),  # noqa: S704
            "steps": cutting_steps(sheet.outline, sheet.pieces, report.units, report.ruler_step),
            "photo": base64.b64encode(sheet.photo).decode() if sheet.photo else None,
            "letters": sorted({piece.letter for piece in sheet.pieces}),
        }
        for sheet in report.sheets
    ]
    short = [
        {
            "role": role,
            "sources": [
                {
                    "text": source.text,
                    "strips": [
                        (strip, Markup(draw_strip(strip, report.units, f"strip-{i}-{j}-{k}")))  # noqa: S704
                        for k, strip in enumerate(source.strips)
                    ],
                }
                for j, source in enumerate(role.sources)
            ],
        }
        for i, role in enumerate(report.short)
    ]
    return environment.get_template("sheets.html").render(
        report=report,
        sheets=sheets,
        short=short,
        cautions=CAUTIONS,
        lines={line.letter: line for line in report.lines},
        hatches=HATCHES,
    )


def write_sheets(report: CuttingReport, folder: Path) -> list[Path]:
    """Write ``index.html`` and ``scrap-ID.svg`` for every scrap used; return what was written.

    Sheets of an earlier match in the same folder are removed, so that the folder never tells of
    two plans at once; other files stay. Raises SheetError when the folder cannot be written.
    """
    page = render_page(report)
    drawings = {
        f"scrap-{sheet.scrap_id}.svg": draw_scrap(sheet, report.units) for sheet in report.sheets
    }
    index = folder / "index.html"
    written = [index]
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, drawing in drawings.items():
            _write(folder / name, drawing)
            written.append(folder / name)
        _write(index, page)
        for old in folder.glob("scrap-*.svg"):
            if old.name not in drawings:
                old.unlink()
    except OSError as error:
        msg = f"the sheets cannot be written to {folder} ({error.strerror}); name another --sheets"
        raise SheetError(msg) from error
    return written


def _write(file: Path, text: str) -> None:
    """Write `text` whole or not at all: a full disk leaves what was there before."""
    part = file.with_name(f".part-{file.name}")
    try:
        part.write_text(text, encoding="utf-8")
        part.replace(file)
    finally:
        part.unlink(missing_ok=True)
