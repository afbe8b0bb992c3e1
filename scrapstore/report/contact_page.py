"""A contact sheet as a file: HTML to read and print, PNG to send, SVG to draw on."""

import io
from collections.abc import Callable
from pathlib import Path
from typing import Final

from scrapstore.errors import ScrapstoreError
from scrapstore.report.contact import (
    ContactSheet,
    contact_drawing,
    contact_scale,
    scale_bar,
    tile_drawing,
    tile_lines,
    tile_title,
    tile_width,
    value_mark,
)
from scrapstore.report.painting import paint_pixels, paint_svg
from scrapstore.report.printed_file import checked_file, write_file
from scrapstore.report.templating import drawn, templates

__all__ = ["checked_sheet_path", "render_contact", "write_contact"]

_MOST_IN_PNG: Final = 3000
"""Tiles; more would make a picture that few programs open."""


def render_contact(sheet: ContactSheet) -> str:
    """Return the sheet as one HTML document that needs no other file."""
    scale = contact_scale(sheet)
    sections = [
        {
            "section": section,
            "tiles": [
                {
                    "title": tile_title(tile),
                    "lines": tile_lines(tile),
                    "value": tile.value,
                    "width": round(tile_width(tile, scale)),
                    "drawing": drawn(
                        paint_svg(
                            tile_drawing(tile, scale),
                            f"t{at}-{index}",
                            title=f"Scrap {tile.number}: {', '.join(tile_lines(tile))}",
                        )
                    ),
                    "mark": drawn(paint_svg(value_mark(tile.value), f"m{at}-{index}")),
                }
                for index, tile in enumerate(section.tiles)
            ],
        }
        for at, section in enumerate(sheet.sections)
    ]
    return (
        templates()
        .get_template("contact.html")
        .render(sheet=sheet, sections=sections, bar=drawn(paint_svg(scale_bar(sheet), "bar")))
    )


def _html(sheet: ContactSheet) -> bytes:
    return render_contact(sheet).encode()


def _svg(sheet: ContactSheet) -> bytes:
    return paint_svg(contact_drawing(sheet), "sheet", title=sheet.title).encode()


def _png(sheet: ContactSheet) -> bytes:
    if sheet.tiles > _MOST_IN_PNG:
        msg = (
            f"sheet: {sheet.tiles} scraps are too many for one PNG (at most {_MOST_IN_PNG}); "
            "write .html, or narrow the list"
        )
        raise ScrapstoreError(msg)
    content = io.BytesIO()
    scale = 2.0 if sheet.tiles <= _MOST_IN_PNG // 10 else 1.0
    paint_pixels(contact_drawing(sheet), scale).save(content, "PNG")
    return content.getvalue()


_WAYS: Final[dict[str, Callable[[ContactSheet], bytes]]] = {
    ".html": _html,
    ".png": _png,
    ".svg": _svg,
}


def checked_sheet_path(file: Path) -> Path:
    """Return `file` when its ending says how to write it and its folder is there.

    Raises UsageError for another ending, SheetError for a folder that is not there.
    """
    return checked_file(file, "sheet", tuple(_WAYS))


def write_contact(sheet: ContactSheet, file: Path) -> Path:
    """Write the sheet to `file` in the way its ending says; return the file.

    Raises ScrapstoreError for another ending, a folder that is not there, too many scraps in a PNG,
    and when the file cannot be written.
    """
    content = _WAYS[checked_sheet_path(file).suffix.lower()](sheet)
    return write_file(file, "sheet", content)
