"""Files that a person names to write something to: the ending says how, and the folder is there."""

from collections.abc import Sequence
from pathlib import Path

from scrapstore.errors import SheetError, UsageError
from scrapstore.sentences import several

__all__ = ["PRINTED", "checked_file", "write_file"]

PRINTED = (".html", ".pdf")
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
