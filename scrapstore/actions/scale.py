"""``scale``: the printed scale, written to a file."""

from pathlib import Path

from pydantic import BaseModel

from scrapstore.errors import PhotoError
from scrapstore.photo import scale_pdf, scale_png

__all__ = ["ScaleOut", "write_scale"]


class ScaleOut(BaseModel):
    """What ``scale --json`` prints."""

    file: Path


def write_scale(file: Path, paper: str) -> Path:
    """Write the scale on a page of `paper` to `file`, a PDF or a PNG by its name; return `file`.

    Raises PhotoError for another kind of file or paper, and when the file cannot be written.
    """
    kind = file.suffix.lower()
    if kind not in (".pdf", ".png"):
        raise PhotoError(f"{file}: the scale is a PDF or a PNG; write for example scale.pdf")
    content = scale_pdf(paper) if kind == ".pdf" else scale_png(page=paper)
    try:
        file.write_bytes(content)
    except OSError as error:
        msg = f"{file} cannot be written ({error.strerror}); name another file"
        raise PhotoError(msg) from error
    return file
