"""A drawing as a file of its own: SVG to draw on, PNG to send."""

import io
from pathlib import Path

from scrapstore.errors import SheetError, UsageError
from scrapstore.report.painting import Drawing, paint_pixels, paint_svg

__all__ = ["checked_picture_path", "write_picture"]


def checked_picture_path(file: Path) -> Path:
    """Return `file` when its ending says how to write it and its folder is there.

    Raises UsageError for another ending, SheetError for a folder that is not there.
    """
    if file.suffix.lower() not in (".png", ".svg"):
        msg = f"picture: {file.name!r} does not say what to write; end it with .png or .svg"
        raise UsageError(msg)
    if not file.parent.is_dir():
        msg = f"picture: there is no folder {file.parent}; make it first, or name another place"
        raise SheetError(msg)
    return file


def write_picture(drawing: Drawing, file: Path, name: str, *, title: str) -> Path:
    """Write the drawing to `file` in the way its ending says; return where it is.

    `name` keeps the ids of an SVG apart from those of others. Raises as `checked_picture_path`
    does, and SheetError when the file cannot be written.
    """
    if checked_picture_path(file).suffix.lower() == ".svg":
        content = paint_svg(drawing, name, title=title).encode()
    else:
        made = io.BytesIO()
        paint_pixels(drawing).save(made, "PNG")
        content = made.getvalue()
    try:
        file.write_bytes(content)
    except OSError as error:
        msg = f"picture: {file} cannot be written ({error.strerror}); name another place"
        raise SheetError(msg) from error
    return file.resolve()
