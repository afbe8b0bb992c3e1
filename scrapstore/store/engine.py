"""The database connection: how SQLite is set up, how transactions begin, how its errors read."""

import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final

from sqlalchemy import URL, Connection, Engine, create_engine, event, exc

from scrapstore.errors import ScrapstoreError, StoreBusyError, StoreDamagedError, StoreError
from scrapstore.store.column_types import UnreadableValueError

__all__ = [
    "APPLICATION_ID",
    "BUSY_SECONDS",
    "engine_on",
    "engine_to_read",
    "frozen_uri",
    "how_to_go_back",
    "sqlite_errors_as_ours",
    "writing",
]

APPLICATION_ID: Final = 0x73637270
"""Stands in the header of every store, so that no other program's database is taken for one."""

BUSY_SECONDS: Final = 20.0
"""How long a call waits for another process that is writing."""


_LITTLE_ROOM: Final = 1_000_000
"""Bytes left on a disk below which an error in writing or reading is put down to want of room."""


def engine_on(file: Path) -> Engine:
    """Return an engine on the SQLite file at `file`, which is made when first written.

    Python's sqlite3 opens and commits transactions of its own accord; here that is
    switched off (isolation_level None) and SQLAlchemy's begin is sent as a real BEGIN. So a
    transaction holds everything between begin and commit, changes of tables included.
    """
    engine = create_engine(
        URL.create("sqlite+pysqlite", database=str(file)),
        connect_args={"timeout": BUSY_SECONDS, "isolation_level": None},
    )
    event.listen(engine, "connect", _set_up)
    event.listen(engine, "begin", _begin)
    return engine


def engine_to_read(file: Path) -> Engine:
    """Return an engine on a file that nobody can write to; it leaves nothing beside it.

    SQLite then looks neither for a write-ahead log nor for locks: the caller makes sure that no log
    is waiting and that the disk, or the folder, cannot be written.
    """
    uri, _, query = frozen_uri(file).partition("?")
    engine = create_engine(
        URL.create(
            "sqlite+pysqlite",
            database=uri,
            query={"uri": "true"} | dict(part.split("=") for part in query.split("&")),
        ),
        connect_args={"isolation_level": None},
    )
    event.listen(engine, "connect", _set_up)
    event.listen(engine, "begin", _begin)
    return engine


def frozen_uri(file: Path) -> str:
    """Return the address by which SQLite reads a file that nobody can write to."""
    return f"{file.absolute().as_uri()}?mode=ro&immutable=1"


def writing(engine: Engine) -> Engine:
    """Return `engine` so that its transactions take the right to write when they begin.

    One that reads first and asks for the right later fails at once when another process wrote in
    between, whatever the waiting time.
    """
    return engine.execution_options(begin="BEGIN IMMEDIATE")


def _set_up(connection: Any, _record: object) -> None:
    for pragma in ("foreign_keys = ON", "synchronous = FULL", "trusted_schema = OFF"):
        connection.execute(f"PRAGMA {pragma}")


def _begin(connection: Connection) -> None:
    connection.exec_driver_sql(connection.get_execution_options().get("begin", "BEGIN"))


def how_to_go_back(file: Path) -> str:
    """Return the sentence that says how to go on from a damaged `file`."""
    return (
        f"To go back to a copy, such as those in {file.parent / 'backups'}: scrapstore store "
        "restore COPY. scrapstore store check lists all that is wrong; --store names another store"
    )


@contextmanager
def sqlite_errors_as_ours(file: Path) -> Iterator[None]:
    """Turn SQLite's errors into ours, with a sentence each; `file` is named in it.

    Raises StoreBusyError, StoreDamagedError, or StoreError for want of room, of permission, or for
    a value that the store's rules refuse. What a row cannot mean (`UnreadableValueError`) is damage
    too.
    """
    try:
        yield
    except UnreadableValueError as error:
        raise StoreDamagedError(
            f"{file} is damaged: {error}; nothing was changed. {how_to_go_back(file)}"
        ) from error
    except exc.StatementError as error:
        if isinstance(error.orig, ScrapstoreError):
            raise error.orig from None  # a value that cannot be asked for
        raise _as_ours(error.orig, file) from error
    except (sqlite3.Error, UnicodeDecodeError) as error:
        raise _as_ours(error, file) from error


_WHEN_FULL: Final = (sqlite3.SQLITE_IOERR, sqlite3.SQLITE_CANTOPEN)
"""What SQLite answers when it cannot make the files beside the database that it reads with."""
_UNREADABLE: Final = ("Could not decode to UTF-8", "malformed JSON")
"""In errors about a value in the file, which have no number of their own."""


def _is_full(file: Path) -> bool:
    try:
        return shutil.disk_usage(file.parent).free < _LITTLE_ROOM
    except OSError:
        return False


def _as_ours(error: BaseException | None, file: Path) -> StoreError:
    if isinstance(error, UnicodeEncodeError):
        return StoreError("a text holds bytes that are no letters (not UTF-8); type it anew")
    code = getattr(error, "sqlite_errorcode", 0) & 0xFF
    if code in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
        return StoreBusyError(
            f"another scrapstore is writing to {file} and did not finish within "
            f"{BUSY_SECONDS:.0f} s; wait for it or close it, then try again"
        )
    if code == sqlite3.SQLITE_FULL or (code in _WHEN_FULL and _is_full(file)):
        return StoreError(f"no room left on the disk of {file}; make room, then try again")
    unreadable = isinstance(error, UnicodeDecodeError) or any(
        word in str(error) for word in _UNREADABLE
    )
    if unreadable or code in (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB):
        return StoreDamagedError(
            f"{file} is damaged ({error}); nothing was changed. {how_to_go_back(file)}"
        )
    if code in (sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_PERM):
        return StoreError(
            f"{file} cannot be opened for writing ({error}); check the permissions of "
            f"{file.parent}, or name another store with --store"
        )
    if code == sqlite3.SQLITE_CONSTRAINT:
        return StoreError(f"the store's rules refuse this ({error}); nothing was changed")
    return StoreError(f"the store at {file} cannot do this ({error}); nothing was changed")
