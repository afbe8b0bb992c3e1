"""Files of the store besides the database, written so that they are whole or not there."""

import contextlib
import hashlib
import os
import sqlite3
import tempfile
from contextlib import closing
from pathlib import Path

from scrapstore.errors import StoreError

__all__ = ["copy_database", "sync_folder", "write_by_content", "write_whole"]


def write_by_content(folder: Path, content: bytes, suffix: str) -> str:
    """Write `content` into `folder` under its SHA-256 and return the file's name.

    A file of that name holds the same bytes, so it is left alone.
    """
    name = hashlib.sha256(content).hexdigest() + suffix
    file = folder / name
    if not (file.is_file() and file.stat().st_size == len(content)):
        write_whole(file, content)
    return name


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


def copy_database(source: Path, target: Path) -> None:
    """Copy the committed content of the SQLite file `source` to the new file `target`.

    SQLite's own backup reads it, so a write-ahead log beside `source` is included and other
    processes may go on writing. sqlite3 errors pass through; StoreError when `target` exists.
    """
    if target.exists():
        msg = f"{target} exists already; nothing was copied. Name another file"
        raise StoreError(msg)
    target.parent.mkdir(parents=True, exist_ok=True)
    part = target.with_name(f".part-{os.getpid()}-{target.name}")
    part.unlink(missing_ok=True)
    try:
        with (
            closing(sqlite3.connect(source)) as from_file,
            closing(sqlite3.connect(part)) as to_file,
        ):
            from_file.backup(to_file)
            # A copy that is one file, without a log beside it.
            to_file.execute("PRAGMA journal_mode = DELETE")
        with part.open("rb+") as stream:
            os.fsync(stream.fileno())
        part.replace(target)
        sync_folder(target.parent)
    finally:
        part.unlink(missing_ok=True)


def sync_folder(folder: Path) -> None:
    """Put a folder's new names on the disk, where the system can (Windows cannot)."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
