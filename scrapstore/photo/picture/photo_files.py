"""Which files are photos to log: those named, and what lies in the folders named."""

from collections.abc import Iterable
from pathlib import Path
from typing import Final

from scrapstore.errors import PhotoError

__all__ = ["photos_in"]

_PASSED_OVER: Final = ("thumbs.db", "desktop.ini")
"""What Windows leaves in a folder of pictures; so are our own lists and projects (``.toml``)."""


def photos_in(paths: Iterable[Path]) -> list[Path]:
    """Return the files to log: those named, and for a folder those in it, by name.

    Hidden files, folders in the folder, and lists and projects (``.toml``) are passed over.
    Raises PhotoError for a folder in which no file is left.
    """
    found: list[Path] = []
    for path in paths:
        if not path.is_dir():
            found.append(path)
            continue
        inside = [
            file
            for file in sorted(path.iterdir())
            if not file.name.startswith(".")
            and not file.is_dir()
            and file.suffix.lower() != ".toml"
            and file.name.lower() not in _PASSED_OVER
        ]
        if not inside:
            raise PhotoError(f"{path}: there are no photos in this folder; name another")
        found += inside
    return list(dict.fromkeys(found))
