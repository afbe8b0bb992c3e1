"""Every row of a store, each value read by itself, so that a damaged one hides no other."""

import json
import sqlite3
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, Final

from sqlalchemy import Column, Connection, Table
from sqlalchemy.dialects import sqlite

from scrapstore.store.column_types import Document, Json, UnreadableValueError
from scrapstore.store.models import METADATA
from scrapstore.store.stock_types import Flaws, Outline

__all__ = ["StoredRow", "StoredTables", "columns_of", "stored_tables"]

_DIALECT: Final = sqlite.dialect()


@dataclass(frozen=True)
class StoredRow:
    """One row: `plain` is each value as the history has it, but for those that are `unreadable`.

    `values` are the same in the program's form; `unreadable` says why, by the name of the column.
    """

    number: int
    plain: Mapping[str, Any]
    values: Mapping[str, Any]
    unreadable: Mapping[str, str]


@dataclass(frozen=True)
class StoredTables:
    """The rows of every table by number; `broken` says of a table why not all could be read."""

    rows: Mapping[Table, Mapping[int, StoredRow]]
    broken: Mapping[Table, str]


def stored_tables(connection: Connection) -> StoredTables:
    """Read all tables that the store should have, whatever state they are in."""
    rows: dict[Table, dict[int, StoredRow]] = {}
    broken: dict[Table, str] = {}
    with _any_text(connection) as driver:
        for table in METADATA.sorted_tables:
            rows[table] = {}
            there = columns_of(driver, table.name)
            lacking = [name for name in table.c.keys() if name not in there]  # noqa: SIM118 - no dict
            if lacking:
                broken[table] = "is missing" if not there else f"lacks {', '.join(lacking)}"
                continue
            try:
                rows[table].update((row.number, row) for row in _rows(driver, table))
            except sqlite3.DatabaseError as error:
                broken[table] = f"cannot be read to its end ({error})"
    return StoredTables(rows, broken)


@contextmanager
def _any_text(connection: Connection) -> Iterator[sqlite3.Connection]:
    """Give the driver's connection, which reads a text that is not UTF-8 without an error."""
    driver = connection.connection.driver_connection
    if not isinstance(driver, sqlite3.Connection):
        raise TypeError("the connection is closed")
    driver.text_factory = lambda text: text.decode("utf-8", "surrogateescape")
    try:
        yield driver
    finally:
        driver.text_factory = str


def columns_of(driver: sqlite3.Connection, table: str) -> list[str]:
    """Return the names of the columns that a table has in the file; none where it is not there."""
    return [
        str(name) for (name,) in driver.execute("SELECT name FROM pragma_table_info(?)", (table,))
    ]


def _rows(driver: sqlite3.Connection, table: Table) -> Iterator[StoredRow]:
    names = ", ".join(f'"{name}"' for name in table.c.keys())  # noqa: SIM118 - no dict
    readers = [(column, _reader(column)) for column in table.c]
    for stored in driver.execute(f'SELECT {names} FROM "{table.name}" ORDER BY id'):  # noqa: S608 - our own names
        plain: dict[str, Any] = {}
        values: dict[str, Any] = {}
        unreadable: dict[str, str] = {}
        for (column, read), value in zip(readers, stored, strict=True):
            try:
                values[column.name], plain[column.name] = read(value)
            except UnreadableValueError as error:
                unreadable[column.name] = str(error)
        yield StoredRow(int(plain["id"]), plain, values, unreadable)


def _reader(column: Column[Any]) -> Callable[[Any], tuple[Any, Any]]:
    """Return what reads a stored value: the program's form of it, and the history's."""
    kind: Any = column.type
    convert = _processor(kind)
    as_it_stands = _processor(Json()) if isinstance(kind, Document) else None
    shapes = isinstance(kind, Outline | Flaws)

    def read(value: Any) -> tuple[Any, Any]:
        if value is None:
            if not column.nullable:
                raise UnreadableValueError(f"nothing stands where {kind.meaning} should be")
            return convert(None), None
        if isinstance(value, str) and not _is_text(value):
            raise UnreadableValueError("bytes that are no letters stand there (not UTF-8)")
        own = convert(value)
        if as_it_stands is not None:
            return own, as_it_stands(value)
        plain = kind.as_json(own)
        return own, json.loads(json.dumps(plain)) if shapes else plain

    return read


def _processor(kind: Any) -> Callable[[Any], Any]:
    made = kind.dialect_impl(_DIALECT).result_processor(_DIALECT, None)
    assert made is not None  # every type of this store checks what it reads
    return made  # type: ignore[no-any-return]


def _is_text(value: str) -> bool:
    try:
        value.encode()
    except UnicodeEncodeError:
        return False
    return True
