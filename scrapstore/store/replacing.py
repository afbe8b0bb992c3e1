"""Putting another store's content in the place of a store's: all of it, or nothing.

The new content is made ready in a folder beside it. Pictures go into the photo folder first, where
a spare one does no harm; then all rows change in one transaction. Only a file that SQLite cannot
read any more is replaced as a file, after a copy of its bytes.
"""

import os
import shutil
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from datetime import UTC, datetime
from pathlib import Path
from time import time
from typing import Final

from sqlalchemy import Connection

from scrapstore.errors import StoreError
from scrapstore.store.files import read_by_content, sync_folder, write_whole
from scrapstore.store.models import METADATA

__all__ = [
    "NOT_EMPTY",
    "attached",
    "bring_photos",
    "holds_nothing",
    "replace_file",
    "replace_rows",
    "staging",
]

NOT_EMPTY: Final = (
    "the store is not empty, and an archive goes into an empty one only; nothing was changed. Name "
    "a new folder with --store"
)
_STAGING: Final = ".part-staged-"
_LEFT_OVER: Final = 24 * 3600.0
"""Seconds after which a folder made ready is of a call that was killed."""
_NEW: Final = "made_ready"
_SIDE_FILES: Final = ("", "-wal", "-shm", "-journal")


@contextmanager
def staging(folder: Path) -> Iterator[Path]:
    """Give a new folder on the disk of the store in `folder`, gone afterwards."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        _clear_left_over(folder)
        made = Path(tempfile.mkdtemp(prefix=_STAGING, dir=folder))
    except OSError as error:
        msg = f"nothing can be written in {folder} ({error.strerror}); check its permissions"
        raise StoreError(msg) from error
    try:
        yield made
    finally:
        shutil.rmtree(made, ignore_errors=True)


def _clear_left_over(folder: Path) -> None:
    for old in folder.glob(f"{_STAGING}*"):
        with suppress(OSError):
            if time() - old.stat().st_mtime > _LEFT_OVER:
                shutil.rmtree(old, ignore_errors=True)


def bring_photos(names: Iterable[str], source: Path, to: Path) -> None:
    """Put those of the photo files `names` that are whole in `source` into the folder `to`.

    One that is there and whole is left alone. Raises StoreError when the disk refuses.
    """
    for name in sorted(names):
        if read_by_content(to / name) is None:
            content = read_by_content(source / name)
            if content is not None:
                write_whole(to / name, content)


@contextmanager
def attached(connection: Connection, database: Path) -> Iterator[None]:
    """Give `connection` the tables of the file `database` too; to be entered before it begins."""
    driver = connection.connection.driver_connection
    if driver is None:
        raise RuntimeError("the connection is closed")
    driver.execute(f"ATTACH DATABASE ? AS {_NEW}", (str(database),))
    try:
        yield
    finally:
        driver.execute(f"DETACH DATABASE {_NEW}")


def holds_nothing(connection: Connection) -> bool:
    """Return whether no table has any row."""
    asked = (f'SELECT 1 FROM main."{table.name}" LIMIT 1' for table in METADATA.sorted_tables)  # noqa: S608 - our own names
    return all(connection.exec_driver_sql(one).first() is None for one in asked)


def replace_rows(connection: Connection, *, only_into_empty: bool) -> None:
    """Replace all rows of all tables by those of the attached file, in the caller's transaction.

    Both files are of the same revision. StoreError when `only_into_empty` and there is any row.
    """
    run = connection.exec_driver_sql
    tables = METADATA.sorted_tables
    if only_into_empty and not holds_nothing(connection):
        raise StoreError(NOT_EMPTY)
    for table in reversed(tables):
        run(f'DELETE FROM main."{table.name}"')  # noqa: S608 - our own names
    for table in tables:
        columns = ", ".join(f'"{column.name}"' for column in table.c)
        run(
            f'INSERT INTO main."{table.name}" ({columns})'  # noqa: S608 - our own names
            f' SELECT {columns} FROM {_NEW}."{table.name}" ORDER BY id'
        )


def replace_file(file: Path, database: Path, backups: Path) -> Path | None:
    """Put `database` in the place of `file`, which SQLite cannot read; return where its bytes are.

    None where there was no such file. Killed before the end it leaves the old file, whose bytes are
    in `backups` by then.
    """
    moment = datetime.now(UTC).strftime("%Y%m%dT%H%M%S%f")
    kept = backups / f"damaged-{moment}"
    part = file.with_name(f".part-{os.getpid()}-{file.name}")
    try:
        for suffix in _SIDE_FILES:
            side = file.with_name(file.name + suffix)
            if side.is_file():
                write_whole(kept / side.name, side.read_bytes())  # makes the folder too
        write_whole(part, database.read_bytes())
        for suffix in _SIDE_FILES[1:]:
            file.with_name(file.name + suffix).unlink(missing_ok=True)
        part.replace(file)
        sync_folder(file.parent)
    except OSError as error:
        msg = f"{file} cannot be replaced ({error.strerror}); make room or check permissions"
        raise StoreError(msg) from error
    finally:
        part.unlink(missing_ok=True)
    return kept if kept.is_dir() else None
