"""Files of the store besides the database, written so that they are whole or not there."""

import contextlib
import hashlib
import os
import re
import sqlite3
import tempfile
from collections.abc import Iterable
from contextlib import closing
from pathlib import Path
from typing import Final

from scrapstore.errors import StoreError
from scrapstore.store.engine import frozen_uri

__all__ = [
    "PHOTO_NAME",
    "copy_database",
    "found_by_content",
    "read_by_content",
    "sync_folder",
    "write_by_content",
    "write_whole",
]


PHOTO_NAME: Final = re.compile(r"(?P<sha256>[0-9a-f]{64})\.[a-z0-9]{1,5}")
"""How a file in the photo folder is called: by the SHA-256 of its content."""


def write_by_content(folder: Path, content: bytes, suffix: str) -> str:
    """Write `content` into `folder` under its SHA-256 and return the file's name.

    A file of that name that holds the same bytes is left alone; a damaged one is written anew.
    """
    name = hashlib.sha256(content).hexdigest() + suffix
    file = folder / name
    if read_by_content(file) is None:
        write_whole(file, content)
    return name


def read_by_content(file: Path) -> bytes | None:
    """Return what `file` holds; None when it is not what its name says, or cannot be read."""
    try:
        if not file.is_file():  # a pipe of that name would be waited for
            return None
        content = file.read_bytes()
    except OSError:
        return None
    return content if hashlib.sha256(content).hexdigest() == file.stem else None


def found_by_content(name: str, folders: Iterable[Path]) -> bytes | None:
    """Return the content that the photo file `name` must have, from any file in `folders`.

    A folder that holds a folder of photos, as a copy of a store does, is looked into there.
    """
    for folder in folders:
        inner = folder / "photos"
        place = inner if inner.is_dir() else folder
        content = read_by_content(place / name)
        if content is not None:
            return content
        with contextlib.suppress(OSError):
            for file in sorted(place.iterdir()):
                content = file.read_bytes() if file.is_file() else b""
                if hashlib.sha256(content).hexdigest() == Path(name).stem:
                    return content
    return None


def write_whole(file: Path, content: bytes) -> None:
    """Write `content` to `file`: to a temporary file, to the disk, then to its name at once.

    Raises StoreError when the disk is full or refuses.
    """
    temporary = None
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(dir=file.parent, prefix=".part-", delete=False) as stream:
            temporary = Path(stream.name)
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        temporary.replace(file)
        sync_folder(file.parent)
    except OSError as error:
        msg = f"{file} cannot be written ({error.strerror}); make room or check permissions"
        raise StoreError(msg) from error
    finally:
        if temporary is not None:
            temporary.unlink(missing_ok=True)


def copy_database(source: Path, target: Path, *, frozen: bool = False) -> None:
    """Copy the committed content of the SQLite file `source` to the new file `target`.

    SQLite's own backup reads it, so a write-ahead log beside `source` is included and other
    processes may go on writing; with `frozen` it is read as a file that nobody can write to.
    sqlite3 errors pass through; StoreError when `target` exists or cannot be written.
    """
    if target.exists():
        msg = f"{target} exists already; nothing was copied. Name another file"
        raise StoreError(msg)
    part = target.with_name(f".part-{os.getpid()}-{target.name}")
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        part.unlink(missing_ok=True)
        try:
            _copy(frozen_uri(source) if frozen else source, part)
            part.replace(target)
        finally:
            part.unlink(missing_ok=True)
    except OSError as error:
        msg = f"{target} cannot be written ({error.strerror}); make room or check permissions"
        raise StoreError(msg) from error
    sync_folder(target.parent)


def _copy(source: Path | str, part: Path) -> None:
    with (
        closing(sqlite3.connect(source, uri=isinstance(source, str))) as from_file,
        closing(sqlite3.connect(part)) as to_file,
    ):
        from_file.backup(to_file)
        # A copy that is one file, without a log beside it.
        to_file.execute("PRAGMA journal_mode = DELETE")
    with part.open("rb+") as stream:
        os.fsync(stream.fileno())


def sync_folder(folder: Path) -> None:
    """Put a folder's new names on the disk, where the system can (Windows cannot)."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
