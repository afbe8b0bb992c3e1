"""A drawing as a file of its own: a picture to send, SVG to draw on, HTML to read, PDF to print."""

import io
from pathlib import Path
from typing import Final

from scrapstore.report.painting import Drawing, paint_pixels, paint_svg, svg_drawing
from scrapstore.report.printed_file import checked_file, write_file
from scrapstore.report.templating import drawn, templates
from scrapstore.units import Paper

__all__ = ["checked_picture_path", "write_picture"]

_ENDINGS: Final = (".png", ".jpg", ".svg", ".html", ".pdf")
_QUALITY: Final = 88  # of a JPEG


def checked_picture_path(file: Path) -> Path:
    """Return `file` when its ending says how to write it and its folder is there.

    Raises UsageError for another ending, SheetError for a folder that is not there.
    """
    return checked_file(file, "picture", _ENDINGS)


def write_picture(
    drawing: Drawing, file: Path, name: str, *, title: str, paper: Paper = "letter"
) -> Path:
    """Write the drawing to `file` in the way its ending says; return where it is.

    `name` keeps the ids of an SVG apart from those of others; a PDF is one page of `paper`. Raises
    as `checked_picture_path` does, and SheetError when the file cannot be written.
    """
    match checked_picture_path(file).suffix.lower():
        case ".svg":
            content = paint_svg(drawing, name, title=title).encode()
        case ".html":
            shown = drawn(paint_svg(drawing, name, title=title))
            page = templates().get_template("picture.html").render(title=title, drawing=shown)
            content = page.encode()
        case ".pdf":
            from scrapstore.report.pdf.pages import Pages

            pages = Pages(paper, title, title)
            pages.fitted(svg_drawing(drawing, name))
            content = pages.finished()
        case ending:
            made = io.BytesIO()
            way = "PNG" if ending == ".png" else "JPEG"
            paint_pixels(drawing).save(made, way, quality=_QUALITY)
            content = made.getvalue()
    return write_file(file, "picture", content)
