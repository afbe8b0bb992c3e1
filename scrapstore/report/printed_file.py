"""Files that a person names to write something to: the ending says how, and the folder is there."""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Final

from scrapstore.errors import SheetError, UsageError
from scrapstore.sentences import several

__all__ = ["checked_file", "checked_sheet", "write_file", "write_sheet"]

_PRINTED: Final = (".html", ".pdf")
"""The endings of what is read on a screen, or printed."""


def checked_file(file: Path, what: str, endings: Sequence[str]) -> Path:
    """Return `file` when its ending says how to write it and its folder is there.

    `what` begins the message otherwise. Raises UsageError for another ending, SheetError for a
    folder that is not there.
    """
    if file.suffix.lower() not in endings:
        msg = f"{what}: {file.name!r} does not say what to write; end it with"
        raise UsageError(f"{msg} {several(endings, 'or')}")
    if not file.parent.is_dir():
        msg = f"{what}: there is no folder {file.parent}; make it first, or name another place"
        raise SheetError(msg)
    return file


def write_file(file: Path, what: str, content: bytes) -> Path:
    """Write `content` and return where it is. Raises SheetError when it cannot be written."""
    try:
        file.write_bytes(content)
    except OSError as error:
        msg = f"{what}: {file} cannot be written ({error.strerror}); name another place"
        raise SheetError(msg) from error
    return file.resolve()


def checked_sheet(file: Path) -> Path:
    """Return the `file` of a sheet, .html or .pdf; raises as `checked_file` does."""
    return checked_file(file, "sheet", _PRINTED)


def write_sheet(file: Path, html: Callable[[], bytes], pdf: Callable[[], bytes]) -> Path:
    """Write a sheet in the way its ending says; return where it is.

    Raises as `checked_sheet` does, and SheetError when the file cannot be written.
    """
    made = html if checked_sheet(file).suffix.lower() == ".html" else pdf
    return write_file(file, "sheet", made())
