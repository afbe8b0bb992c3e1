"""Damage to a store at random, behind the program's back, and what is compared afterwards."""

import random
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any, Final

__all__ = ["DAMAGES", "Rows", "all_rows", "damage"]

Rows = dict[tuple[str, Any], tuple[Any, ...]]
_JUNK: Final = (None, "", "wide", "{", "[]", "null", b"\x00", b"\xff\xfe", -1, 0, 7, 2**62, 1e308)


def all_rows(database: Path) -> Rows:
    """Every row of every table as SQLite has it, by table and number."""
    with closing(sqlite3.connect(database)) as connection:
        connection.text_factory = bytes
        return {
            (table, row[0]): row
            for table in _tables(connection)
            for row in connection.execute(f'SELECT * FROM "{table}"')  # noqa: S608 - our own names
        }


def _tables(connection: sqlite3.Connection) -> list[str]:
    found = connection.execute(
        "SELECT CAST(name AS TEXT) FROM sqlite_master WHERE type = 'table' ORDER BY name"
    )
    names = (name.decode() if isinstance(name, bytes) else name for (name,) in found)
    return [name for name in names if name != "alembic_version"]


def _place(connection: sqlite3.Connection, draw: random.Random) -> tuple[str, str, int]:
    """A table, one of its columns, and the number of one of its rows."""
    while True:
        table = draw.choice(_tables(connection))
        columns = [row[1] for row in connection.execute(f"PRAGMA table_info({table})")][1:]
        numbers = [n for (n,) in connection.execute(f"SELECT id FROM {table}")]  # noqa: S608
        if numbers:
            return table, draw.choice(columns), draw.choice(numbers)


def _junk_in_a_cell(connection: sqlite3.Connection, draw: random.Random) -> str:
    table, column, number = _place(connection, draw)
    junk = draw.choice(_JUNK)
    connection.execute(f"UPDATE {table} SET {column} = ? WHERE id = ?", (junk, number))  # noqa: S608
    return f"{table} {number}: {column} = {junk!r}"


def _bit_in_a_cell(connection: sqlite3.Connection, draw: random.Random) -> str:
    table, column, number = _place(connection, draw)
    ((value,),) = connection.execute(f"SELECT {column} FROM {table} WHERE id = ?", (number,))  # noqa: S608
    if isinstance(value, str | bytes) and value:
        raw = bytearray(value.encode() if isinstance(value, str) else value)
        raw[draw.randrange(len(raw))] ^= 1 << draw.randrange(8)
        kind = "TEXT" if isinstance(value, str) else "BLOB"
        set_to = f"CAST(? AS {kind})"
        parameter: Any = bytes(raw)
    else:
        set_to, parameter = "?", (value or 0) + draw.choice((-3, 1, 0.5))
    connection.execute(
        f"UPDATE {table} SET {column} = {set_to} WHERE id = ?",  # noqa: S608
        (parameter, number),
    )
    return f"{table} {number}: a bit of {column}"


def _row_gone(connection: sqlite3.Connection, draw: random.Random) -> str:
    table, _, number = _place(connection, draw)
    connection.execute(f"DELETE FROM {table} WHERE id = ?", (number,))  # noqa: S608
    return f"{table} {number}: gone"


def _reference_elsewhere(connection: sqlite3.Connection, draw: random.Random) -> str:
    while True:
        table, _, number = _place(connection, draw)
        keys = [row[3] for row in connection.execute(f"PRAGMA foreign_key_list({table})")]
        if keys:
            break
    column, to = draw.choice(keys), draw.choice((0, 3, 999))
    connection.execute(f"UPDATE OR IGNORE {table} SET {column} = ? WHERE id = ?", (to, number))  # noqa: S608
    return f"{table} {number}: {column} = {to}"


def _used_up(connection: sqlite3.Connection, draw: random.Random) -> str:
    table = draw.choice(("scraps", "yardage", "ready_cut", "binding_strips"))
    connection.execute(f"UPDATE {table} SET status = 'used up', set_aside_for = NULL")  # noqa: S608
    return f"{table}: all used up"


def _index_gone(connection: sqlite3.Connection, draw: random.Random) -> str:
    found = connection.execute("SELECT name FROM sqlite_master WHERE type = 'index' AND sql > ''")
    name = draw.choice(sorted(name for (name,) in found))
    connection.execute(f"DROP INDEX {name}")
    return f"{name}: gone"


DAMAGES: Final[tuple[Callable[[sqlite3.Connection, random.Random], str], ...]] = (
    _junk_in_a_cell, _junk_in_a_cell, _bit_in_a_cell, _bit_in_a_cell, _row_gone, _row_gone,
    _reference_elsewhere, _used_up, _index_gone,
)  # fmt: skip


def _photo(folder: Path, draw: random.Random) -> str:
    file = draw.choice(sorted((folder / "photos").iterdir()))
    how = draw.choice(("gone", "emptied", "one bit", "renamed"))
    if how == "gone":
        file.unlink()
    elif how == "renamed":
        file.rename(file.with_name(f"IMG_{draw.randrange(1000)}.jpg"))
    else:
        content = file.read_bytes()
        file.write_bytes(b"" if how == "emptied" else content[:-1] + bytes([content[-1] ^ 1]))
    return f"{file.name[:8]}: {how}"


def damage(folder: Path, draw: random.Random, times: int = 1) -> list[str]:
    """Do so many damages to the store in `folder`; return what was done."""
    done = []
    for _ in range(times):
        if draw.random() < 0.2:
            done.append(_photo(folder, draw))
            continue
        with closing(sqlite3.connect(folder / "store.db")) as connection, connection:
            connection.execute("PRAGMA ignore_check_constraints = ON")
            try:
                done.append(draw.choice(DAMAGES)(connection, draw))
            except sqlite3.IntegrityError as error:
                done.append(f"nothing: SQLite itself refused ({error})")
    return done
