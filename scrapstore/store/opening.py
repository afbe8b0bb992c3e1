"""Opening a store: making a new one, refusing what is none, backing up and migrating an older one.

Every change of shape, the first included, is one SQLite transaction that holds the right to write
from its first look at the file. Killed at any moment it leaves what was there before; a second
process opening the same folder waits, looks again and finds the work done.
"""

import os
import sqlite3
import stat
import time
from collections.abc import Callable
from contextlib import closing, suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

import platformdirs
from sqlalchemy import Connection, Engine

from scrapstore.errors import NotFoundError, StoreDamagedError, StoreError, StoreNewerError
from scrapstore.store.engine import (
    APPLICATION_ID,
    BUSY_SECONDS,
    engine_on,
    engine_to_read,
    how_to_go_back,
    sqlite_errors_as_ours,
    writing,
)
from scrapstore.store.files import copy_database
from scrapstore.store.migrate import (
    HEAD,
    broken_references,
    knows,
    revision_of,
    upgrade,
    without_foreign_keys,
)
from scrapstore.store.store import BACKUPS, DATABASE, PHOTOS, Store

__all__ = ["open_store", "store_folder"]

_SQLITE_MAGIC: Final = b"SQLite format 3\0"


def store_folder(path: Path | str | None = None) -> Path:
    """Return the store's folder: `path`, else $SCRAPSTORE_STORE, else in the user's data folder."""
    if isinstance(path, str) and not path.strip():
        msg = "--store is empty; name a folder, or leave the option out for your own store"
        raise StoreError(msg)
    chosen = path or _from_environment()
    if chosen:
        try:
            return Path(chosen).expanduser()
        except RuntimeError:  # ~somebody who is not there
            msg = f"{chosen}: there is no such user; name the store's folder in full with --store"
            raise StoreError(msg) from None
    return Path(platformdirs.user_data_path("scrapstore", appauthor=False))


def _from_environment() -> str | None:
    return os.environ.get("SCRAPSTORE_STORE")


def open_store(
    path: Path | str | None = None,
    *,
    make: bool = True,
    notify: Callable[[str], None] | None = None,
) -> Store:
    """Open the store in the folder `path`; when there is none, make it if `make` allows that.

    `path` None means `store_folder`. `notify` receives a sentence when a store is made or migrated,
    and when it lies where nobody can write: it can be read there, and a change raises StoreError.
    Close the store, or use it in a ``with``.

    Raises NotFoundError when there is no store and none may be made; StoreNewerError for a store of
    a newer program, StoreDamagedError for a file that is no store or not whole, StoreBusyError when
    another process keeps it, StoreError when the folder cannot be used.
    """
    folder = store_folder(path)
    say = notify or (lambda _sentence: None)
    file = folder / DATABASE
    if make:
        _make_folder(folder)
    _refuse_other_files(file)
    if not make and not any(_holds_something(one) for one in (file, *_logs(file))):
        raise NotFoundError(_no_store(folder, named=path is not None))
    if file.exists() and not _may_write(file):
        return _opened_to_read(file, say)
    engine = engine_on(file)
    try:
        with sqlite_errors_as_ours(file):
            _bring_up_to_date(engine, file, say)
            _write_ahead(engine, file)
        if make:
            _make_folder(folder / PHOTOS)
    except BaseException:
        engine.dispose()
        raise
    return Store(folder, engine, notify=say)


def _no_store(folder: Path, *, named: bool) -> str:
    """Say where a store was looked for, and how to come to one."""
    where = "--store" if named else "$SCRAPSTORE_STORE" if _from_environment() else ""
    asked = f"{where} names it; check the name" if where else "--store FOLDER names another"
    return (
        f"there is no store in {folder} ({asked}). A new one is made there when you add something, "
        "for example: scrapstore scrap add --size '9 x 6', or scrapstore log PHOTO"
    )


def _may_write(file: Path) -> bool:
    return os.access(file, os.W_OK) and os.access(file.parent, os.W_OK)


def _opened_to_read(file: Path, say: Callable[[str], None]) -> Store:
    """Open a store on a read-only disk or in a folder of someone else's."""
    folder = file.parent
    copy = f"copy the folder {folder} to where you can write and name it with --store"
    if _holds_something(file.with_name(f"{file.name}-wal")):
        msg = f"{folder} cannot be written, and its last changes are not folded in yet; {copy}"
        raise StoreError(msg)
    engine = engine_to_read(file)
    try:
        with sqlite_errors_as_ours(file), engine.connect() as connection, connection.begin():
            revision = _checked_revision(connection, file)
        if revision != HEAD:
            msg = f"{folder} is of an older scrapstore and cannot be brought up to date; {copy}"
            raise StoreError(msg)
    except BaseException:
        engine.dispose()
        raise
    say(f"{folder} cannot be written: the store can be looked at, not changed")
    return Store(folder, engine, read_only=True, notify=say)


def _make_folder(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except (FileExistsError, NotADirectoryError):
        msg = f"{folder} is not a folder; name the folder of a store, or a new one, with --store"
        raise StoreError(msg) from None
    except OSError as error:
        msg = f"the folder {folder} cannot be made ({error.strerror}); name another with --store"
        raise StoreError(msg) from error


def _refuse_other_files(file: Path) -> None:
    """Refuse a file that SQLite did not write, or that was cut short, before SQLite touches it."""
    try:
        if not stat.S_ISREG(file.stat().st_mode):  # a pipe would be waited for
            msg = f"{file} is no ordinary file; name another store with --store"
            raise StoreDamagedError(msg)
        with file.open("rb") as stream:
            header = stream.read(100)
            size = os.fstat(stream.fileno()).st_size
    except FileNotFoundError:
        _refuse_orphans(file, "is missing")
        return
    except OSError as error:
        msg = f"{file} cannot be read ({error.strerror}); check it, or name another with --store"
        raise StoreError(msg) from error
    unfinished = any(_holds_something(path) for path in _logs(file))
    if size == 0 and not unfinished:
        _refuse_orphans(file, "is empty")
    if size == 0 or unfinished:
        return  # new, or SQLite has something to put right first
    if not header.startswith(_SQLITE_MAGIC):
        msg = f"{file} is not a scrapstore store; it was left as it is. Name another with --store"
        raise StoreDamagedError(msg)
    page_size = int.from_bytes(header[16:18], "big")
    page_size = 65536 if page_size == 1 else page_size  # SQLite file format, section 1.3.2
    pages = int.from_bytes(header[28:32], "big")
    if size < page_size * pages:
        msg = (
            f"{file} was cut short ({size:,} of {page_size * pages:,} bytes); it was left as it "
            f"is. {how_to_go_back(file)}"
        )
        raise StoreDamagedError(msg)


def _logs(file: Path) -> list[Path]:
    """Return where SQLite keeps what is not yet in `file` itself."""
    return [file.with_name(file.name + suffix) for suffix in ("-journal", "-wal")]


def _refuse_orphans(file: Path, what: str) -> None:
    """Refuse to make a new store where photos or backups show that there was one."""
    for name in ("backups", "photos"):
        with suppress(OSError):
            if any((file.parent / name).iterdir()):
                msg = (
                    f"{file} {what}, though the folder {name} beside it holds files; nothing was "
                    f"changed. {how_to_go_back(file)}"
                )
                raise StoreDamagedError(msg)


def _holds_something(path: Path) -> bool:
    with suppress(OSError):
        return path.stat().st_size > 0
    return False


def _bring_up_to_date(engine: Engine, file: Path, say: Callable[[str], None]) -> None:
    with engine.connect() as connection, connection.begin():
        if _checked_revision(connection, file) == HEAD:
            return
    with (
        writing(engine).connect() as connection,
        without_foreign_keys(connection),
        connection.begin(),
    ):
        # Another process may have done it while this one waited for the right to write.
        revision = _checked_revision(connection, file)
        if revision == HEAD:
            return
        backup = None if revision is None else _back_up_before(file, revision)
        if revision is None:
            connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")
        upgrade(connection)
        _refuse_broken_references(connection, file)
    if backup is None:
        say(f"made a new store in {file.parent}")
    else:
        say(f"brought the store in {file.parent} up to date; the old one is kept as {backup}")


def _checked_revision(connection: Connection, file: Path) -> str | None:
    """Return the revision of the store, None for an empty file; refuse what is not ours."""
    application = connection.exec_driver_sql("PRAGMA application_id").scalar_one()
    tables = connection.exec_driver_sql("SELECT count(*) FROM sqlite_master").scalar_one()
    if application != APPLICATION_ID:
        if tables == 0 and application == 0:
            return None
        msg = (
            f"{file} is the database of another program; it was left as it is. "
            "Name another store with --store"
        )
        raise StoreDamagedError(msg)
    revision = revision_of(connection)
    if revision is None or revision == HEAD or knows(revision):
        return revision
    msg = (
        f"the store in {file.parent} was written by a newer scrapstore (its tables are at "
        f"{revision}, this program knows them up to {HEAD}); update scrapstore, or name another "
        "store with --store"
    )
    raise StoreNewerError(msg)


def _refuse_broken_references(connection: Connection, file: Path) -> None:
    broken = broken_references(connection)
    if broken:
        msg = (
            f"{file} is damaged ({broken[0]}; {len(broken)} in all) and was left as it is. "
            f"{how_to_go_back(file)}"
        )
        raise StoreDamagedError(msg)


def _back_up_before(file: Path, revision: str) -> Path:
    """Copy the committed content of `file` into the backups folder and return the copy's path."""
    moment = datetime.now(UTC).strftime("%Y%m%dT%H%M%S%f")
    backup = file.parent / BACKUPS / f"store-{revision}-{moment}.db"
    copy_database(file, backup)
    return backup


def _write_ahead(engine: Engine, file: Path) -> None:
    """Switch to write-ahead logging, in which readers and one writer do not wait for each other.

    SQLite does not wait by itself for this lock.
    """
    until = time.monotonic() + BUSY_SECONDS
    with closing(engine.raw_connection()) as pooled:
        while True:
            try:
                if pooled.driver_connection is None:
                    raise RuntimeError("the connection is closed")
                mode = pooled.driver_connection.execute("PRAGMA journal_mode = WAL").fetchone()[0]
            except sqlite3.OperationalError:
                if time.monotonic() > until:
                    raise
                time.sleep(0.02)
            else:
                break
    if mode != "wal":
        msg = (
            f"{file} lies on a disk that cannot keep a write-ahead log (it answers {mode}), such "
            "as a network drive; name a store on this computer's own disk with --store"
        )
        raise StoreError(msg)
