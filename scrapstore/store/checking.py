"""Looking a whole store over: one fault for each thing that is not as it should be.

Everything is worked out from the tables' own definition (`scrapstore.store.models`): what a value
may be, which rules hold, what refers to what. So a table to come is checked by itself.
"""

import re
import sqlite3
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Final

from sqlalchemy import CheckConstraint, Connection, Table, exc

from scrapstore.store.check_history import History, history_faults, known_missing, thing_of
from scrapstore.store.check_meaning import outline_faults, parent_faults, plan_faults
from scrapstore.store.faults import MEND, RESTORE, StoreFault
from scrapstore.store.models import CHANGES, HISTORY, METADATA, PHOTOS, PLANS, SCRAPS
from scrapstore.store.stock_types import CUT_OUT, PhotoName
from scrapstore.store.stored_rows import StoredRow, StoredTables, stored_tables

__all__ = ["PHOTO_COLUMNS", "Checkup", "check_up", "photo_users", "rule_columns"]

PHOTO_COLUMNS: Final = tuple(
    column
    for table in METADATA.sorted_tables
    for column in table.c
    if isinstance(column.type, PhotoName) or column.type is CUT_OUT
)
"""The columns that name a file of the photo folder."""
_OF_AN_INDEX: Final = ("missing from index", "entries in index", "non-unique entry")
_OF_A_ROW: Final = ("NULL value in", "CHECK constraint failed", "value in")
_MOST_LINES: Final = 20
_PARTS: Final = (PLANS,)
"""Rows that refer to one of these are parts of it and mean nothing without."""


@dataclass(frozen=True, kw_only=True)
class Checkup:
    """What came of looking a store over.

    `missing` are the photo files that are missing or damaged, `noted_missing` those of them that a
    mend gave up.
    """

    faults: tuple[StoreFault, ...]
    missing: tuple[str, ...]
    noted_missing: tuple[str, ...]


def check_up(connection: Connection, holds: Callable[[str], bool]) -> Checkup:
    """Return all that is wrong; `holds` says whether a file of the photo folder is there, whole."""
    tables = stored_tables(connection)
    history = History(tables)
    missing = known_missing(tables)
    gone = [name for name in photo_users(tables) if not holds(name)]
    by_row = [
        *_value_faults(tables, history),
        *_rule_faults(connection, tables, history),
        *_reference_faults(tables, history),
        *outline_faults(tables, history),
        *parent_faults(tables),
        *plan_faults(tables),
        *history_faults(tables, history),
        *_photo_faults(tables, [name for name in gone if name not in missing]),
    ]
    return Checkup(
        faults=(*_file_faults(connection, tables, by_row), *by_row),
        missing=tuple(gone),
        noted_missing=tuple(name for name in gone if name in missing),
    )


def _file_faults(
    connection: Connection, tables: StoredTables, by_row: Iterable[StoreFault]
) -> Iterator[StoreFault]:
    """Give what is wrong with the file and its tables, as SQLite sees them."""
    for table, why in tables.broken.items():
        yield StoreFault(
            code="tables",
            thing=f"the table {table.name}",
            wrong=why,
            lost="what cannot be read of it",
            remedy=f"{RESTORE} goes back to a copy",
            table=table,
        )
    told = {fault.table for fault in by_row if fault.code in ("value", "rule")}
    for line in _integrity(connection):
        if any(words in line for words in _OF_AN_INDEX):
            yield _index_fault(f"does not agree with its table ({line})")
        elif not (told and any(words in line for words in _OF_A_ROW)):
            yield StoreFault(
                code="database",
                thing="the database",
                wrong=f"is damaged: {line}",
                lost="the records that lay there",
                remedy=f"{RESTORE} goes back to a copy",
            )
    yield from _schema_faults(connection, tables)


def _integrity(connection: Connection) -> list[str]:
    try:
        found = connection.exec_driver_sql(f"PRAGMA integrity_check({_MOST_LINES})").scalars()
        return [str(line) for line in found if line != "ok"]
    except exc.DatabaseError as error:
        return [str(error.orig)]
    except sqlite3.DatabaseError as error:
        return [str(error)]


def _index_fault(wrong: str, thing: str = "an index") -> StoreFault:
    return StoreFault(
        code="index",
        thing=thing,
        wrong=wrong,
        lost="nothing: it is made from the records; but lists may leave some out",
        remedy=f"{MEND} makes it anew",
        mends=True,
    )


def _schema_faults(connection: Connection, tables: StoredTables) -> Iterator[StoreFault]:
    found = connection.exec_driver_sql("SELECT type, name FROM sqlite_master").all()
    indexes = {name for kind, name in found if kind == "index"}
    for table in METADATA.sorted_tables:
        for index in table.indexes:
            if table not in tables.broken and index.name not in indexes:
                yield _index_fault("is missing", f"the index {index.name}")
    for kind, name in found:
        if kind in ("trigger", "view"):
            yield StoreFault(
                code="tables",
                thing=f"the {kind} {name}",
                wrong="was not made by this program",
                lost="nothing yet, but it could change what is written",
                remedy=f"{MEND} takes it out",
                mends=True,
            )


def _value_faults(tables: StoredTables, history: History) -> Iterator[StoreFault]:
    for table, rows in tables.rows.items():
        for row in rows.values():
            for name, why in row.unreadable.items():
                field = name.removesuffix("_id").replace("_", " ")
                yield StoreFault(
                    code="value",
                    thing=thing_of(table, row.number, row.plain),
                    wrong=f"has an unreadable {field}: {why}",
                    lost=f"its {field}",
                    remedy=_put_back(table, row.number, (name,), history),
                    mends=_can_mend(table, row.number, name, history),
                    table=table,
                    number=row.number,
                    columns=(name,),
                )


def _put_back(table: Table, number: int, columns: Iterable[str], history: History) -> str:
    if table in (CHANGES, HISTORY):
        return f"{MEND} works it out from its neighbours, or notes that it is lost"
    if any(history.has(table, number, name) for name in columns):
        return f"{MEND} puts it back as the history has it"
    if all(_can_mend(table, number, name, history) for name in columns):
        return f"{MEND} leaves it open; then type it anew"
    return f"{RESTORE} goes back to a copy, or take the record off the list and enter it anew"


def _can_mend(table: Table, number: int, column: str, history: History) -> bool:
    return (
        table in (CHANGES, HISTORY)
        or history.has(table, number, column)
        or bool(table.c[column].nullable)
    )


def rule_columns(table: Table, rule: CheckConstraint) -> tuple[str, ...]:
    """Return the columns of `table` that a rule is about."""
    words = set(re.findall(r"\w+", re.sub(r"'[^']*'", "", str(rule.sqltext))))
    return tuple(name for name in table.c.keys() if name in words)  # noqa: SIM118 - no dict


def _rule_faults(
    connection: Connection, tables: StoredTables, history: History
) -> Iterator[StoreFault]:
    for table in METADATA.sorted_tables:
        if table in tables.broken:
            continue
        for rule in table.constraints:
            if not isinstance(rule, CheckConstraint):
                continue
            columns = rule_columns(table, rule)
            broken = f'SELECT id FROM "{table.name}" WHERE NOT ({rule.sqltext})'  # noqa: S608 - our own
            for number in connection.exec_driver_sql(broken).scalars().all():
                row = tables.rows[table].get(number)
                if row is None or row.unreadable.keys() & set(columns):
                    continue
                shown = " and ".join(f"{name} {row.plain[name]!r}"[:60] for name in columns)
                yield StoreFault(
                    code="rule",
                    thing=thing_of(table, number, row.plain),
                    wrong=f"has {shown}, which cannot be",
                    lost=f"its true {' and '.join(columns)}",
                    remedy=_put_back(table, number, columns, history),
                    mends=any(_can_mend(table, number, name, history) for name in columns),
                    table=table,
                    number=number,
                    columns=columns,
                )


def _reference_faults(tables: StoredTables, history: History) -> Iterator[StoreFault]:
    for table, rows in tables.rows.items():
        for column in table.c:
            for key in column.foreign_keys:
                to = key.column.table
                if to in tables.broken:
                    continue
                for row in rows.values():
                    number = row.plain.get(column.name)
                    if number is None or number in tables.rows[to]:
                        continue
                    yield _reference_fault(table, row, column.name, to, number, history)


def _reference_fault(
    table: Table, row: StoredRow, column: str, to: Table, missing: int, history: History
) -> StoreFault:
    if history.left(to, missing) is not None:
        remedy = f"{MEND} puts {thing_of(to, missing)} back as the history has it"
    elif table.c[column].nullable:
        remedy = f"{MEND} leaves that open"
    elif to in _PARTS:
        remedy = f"{MEND} takes this part out, and its cloth is free again"
    else:
        remedy = f"{MEND} puts a stand-in there, for you to name"
    return StoreFault(
        code="reference",
        thing=thing_of(table, row.number, row.plain),
        wrong=f"refers to {thing_of(to, missing)} ({column.removesuffix('_id')}), which is not "
        "there",
        lost=f"what {thing_of(to, missing)} was"
        + ("" if history.left(to, missing) is None else "; the history still has it"),
        remedy=remedy,
        mends=True,
        table=table,
        number=row.number,
        columns=(column,),
    )


def photo_users(tables: StoredTables) -> dict[str, list[str]]:
    """Return the names of the photo files that rows name, each with what these rows are called."""
    users: dict[str, list[str]] = {}
    for column in PHOTO_COLUMNS:
        for row in tables.rows[column.table].values():
            value = row.values.get(column.name)
            name = getattr(value, "file_name", value)
            if isinstance(name, str):
                users.setdefault(name, []).append(thing_of(column.table, row.number))
    return users


def _photo_faults(tables: StoredTables, gone: list[str]) -> Iterator[StoreFault]:
    users = photo_users(tables)
    shown = _shown_on(tables)
    for name in gone:
        of = [*users[name], *(word for user in users[name] for word in shown.get(user, ()))]
        few = ", ".join(of[:4]) + (f" and {len(of) - 4} more" if len(of) > 4 else "")
        yield StoreFault(
            code="photo",
            thing=f"photo file {name}",
            wrong=f"is missing or damaged ({few})",
            lost="the picture; outlines, sizes and colours are kept",
            remedy="log the photo again, or look for it in a whole copy of the store with "
            f"{MEND} --from FOLDER; {MEND} alone notes that it is missing",
            mends=True,
        )


def _shown_on(tables: StoredTables) -> dict[str, list[str]]:
    """Return what scraps each photo shows, by what the photo is called."""
    shown: dict[str, list[str]] = {}
    for row in tables.rows[SCRAPS].values():
        photo = row.plain.get("photo_id")
        if photo is not None:
            shown.setdefault(thing_of(PHOTOS, photo), []).append(thing_of(SCRAPS, row.number))
    return shown
