"""The scale beside the scraps: our print, written to a file, or squares of one's own."""

from pathlib import Path

from scrapstore.errors import PhotoError, SettingsError, UsageError
from scrapstore.photo import OUR_PRINT, SquareSet, scale_pdf, scale_png
from scrapstore.photo.typed_squares import parse_squares
from scrapstore.settings import CHECK_LINE, Settings
from scrapstore.units import PAPER_SIZES

__all__ = ["scale_of", "write_scale"]


def scale_of(text: str | None, settings: Settings) -> tuple[SquareSet, float]:
    """Return the squares that lie in the pictures, and how large they are against their side.

    `text` is what was typed on the call, None for what is set. Our print is as large as its check
    line says; the side of other squares is taken at its word. Raises UsageError for a text that
    cannot be read.
    """
    try:
        typed = parse_squares(settings.squares if text is None else text)
    except SettingsError as error:  # a setting was read before it came here
        raise UsageError(str(error)) from error
    if typed is None:
        return OUR_PRINT, settings.check_line / CHECK_LINE
    return SquareSet(family=typed.family, ids=typed.ids, side=typed.side), 1.0


def write_scale(file: Path, paper: str) -> Path:
    """Write the scale on a page of `paper` to `file`, a PDF or a PNG by its name; return `file`.

    Raises UsageError for another kind of file or paper, PhotoError when it cannot be written.
    """
    kind = file.suffix.lower()
    if kind not in (".pdf", ".png"):
        raise UsageError(f"{file}: the scale is a PDF or a PNG; write for example scale.pdf")
    if paper.lower() not in PAPER_SIZES:
        raise UsageError(f"paper: cannot print on {paper!r}; use {' or '.join(PAPER_SIZES)}")
    content = scale_pdf(paper) if kind == ".pdf" else scale_png(page=paper)
    try:
        file.write_bytes(content)
    except OSError as error:
        msg = f"{file} cannot be written ({error.strerror}); name another file"
        raise PhotoError(msg) from error
    return file
