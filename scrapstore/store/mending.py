"""Mending a store: what is damaged is put back from what says the same thing once more.

The history has every row whole, so a damaged value comes back as its last entry has it. A damaged
entry comes back from its neighbours and from the row itself. What nothing else says is left open,
or the row that means nothing without it is taken out. Nothing sound is taken out. What the mend
changed stands in the history as one change, which `undo` passes over.
"""

from collections.abc import Callable, Iterable
from datetime import UTC, datetime
from typing import Any, Final, cast

from sqlalchemy import Connection, Table, insert

from scrapstore.store.check_history import agree
from scrapstore.store.check_meaning import HELD, measured_columns
from scrapstore.store.checking import PHOTO_COLUMNS, check_up
from scrapstore.store.column_types import Checked, UnreadableValueError
from scrapstore.store.faults import StoreFault
from scrapstore.store.history import KINDS, MEND_CHANGE, RecordingWriter
from scrapstore.store.mending_history import HistoryMend
from scrapstore.store.models import (
    CHANGES,
    FABRICS,
    HISTORY,
    METADATA,
    PLAN_PIECES,
    PLAN_STOCK,
    PLANS,
    SCRAPS,
    YARDAGE,
)
from scrapstore.store.undo import values_of_record

__all__ = ["mend"]

_ROUNDS: Final = 4
"""What was put back may show what was hidden behind it."""
_EMPTY: Final[dict[str, Any]] = {
    "swatches": (), "accents": (), "corrected": (), "margin": 0.0, "uncertainty": 0.0,
    "status": "available", "one_way_print": False, "alike": False, "retired": False,
}  # fmt: skip
"""What a needed value is where nothing says what it was."""


def mend(connection: Connection, holds: Callable[[str], bool]) -> None:
    """Mend what can be mended, inside the caller's transaction, foreign keys lifted.

    `holds` says whether a file of the photo folder is there and whole.
    """
    _Mend(connection, holds).run()


class _Mend(HistoryMend):
    def __init__(self, connection: Connection, holds: Callable[[str], bool]) -> None:
        super().__init__(connection)
        self._holds = holds
        self._at_first = self._tables

    def run(self) -> None:
        self._mend_schema()
        for _ in range(_ROUNDS):
            self.mend_changes()
            self.mend_entries()
            found = check_up(self._connection, lambda _name: True).faults
            self._look_again()
            if not [fault for fault in found if fault.mends and fault.code != "history"]:
                break
            self._put_back_values(found)
            self._put_back_rows()
            self._mend_references(found)
            self._mend_meaning(found)
        self._put_back_rows()
        self._write_history()

    def _mend_schema(self) -> None:
        run = self._connection.exec_driver_sql
        found = run("SELECT type, name FROM sqlite_master").all()
        for kind, name in found:
            if kind in ("trigger", "view"):
                quoted = name.replace('"', '""')
                run(f'DROP {kind} "{quoted}"')
        there = {name for kind, name in found if kind == "index"}
        for table in METADATA.sorted_tables:
            for index in table.indexes:
                if index.name not in there:
                    index.create(self._connection)
        run("REINDEX")

    def _put_back_values(self, found: Iterable[StoreFault]) -> None:
        """Put back what cannot be read, cannot be, or is another outline, row by row."""
        bad: dict[tuple[Table, int], set[str]] = {}
        for fault in found:
            place = (fault.table, fault.number)
            of_a_row = fault.code in ("value", "rule", "outline")
            if of_a_row and place[0] not in (None, CHANGES, HISTORY) and place[1] is not None:
                bad.setdefault(cast("tuple[Table, int]", place), set()).update(fault.columns)
        for (table, number), columns in bad.items():
            values = {name: self._value(table, number, name) for name in columns}
            known = {name: value for name, value in values.items() if value is not _UNKNOWN}
            if known and not self._set(table, number, known):
                left = self._history.left(table, number)
                if left is not None:
                    self._set(table, number, self._recorded(table, number, left.keys()))

    def _value(self, table: Table, number: int, name: str) -> Any:
        """Return what a value was, by the history, by the outline, or else nothing."""
        row = self._tables.rows[table][number]
        for column in ("outline", "cut"):
            if column in row.values and row.values[column].is_valid:
                measured = measured_columns(table, column, row.values[column])
                if name in measured:
                    return measured[name]
        if self._history.has(table, number, name):
            recorded = self._recorded(table, number, [name])
            if name in recorded:
                return recorded[name]
        if table.c[name].nullable:
            return None
        return datetime.now(UTC) if name == "created" else _EMPTY.get(name, _UNKNOWN)

    def _recorded(self, table: Table, number: int, names: Iterable[str]) -> dict[str, Any]:
        """Return the columns as the history left them, those of it that this program can write."""
        left = self._history.left(table, number) or {}
        values = {}
        for name in names:
            if name not in table.c or name not in left:
                continue
            try:
                value = left[name]
                kind = cast("Checked", table.c[name].type)
                values[name] = None if value is None else kind.from_json(value)
            except (ArithmeticError, AttributeError, LookupError, TypeError, ValueError):
                continue
        return values

    def _put_back_rows(self) -> None:
        """Add again the rows that the history has and the table has not."""
        self._look_again()
        for table in METADATA.sorted_tables:
            for of, number in self._history.chains:
                left = self._history.left(of, number) if of is table else None
                gone = left is not None and number not in self._tables.rows[table]
                if left is None or not gone or (table, number) in self._taken_out:
                    continue
                try:
                    values = values_of_record(table, number, left)
                except UnreadableValueError:
                    continue
                self._do(insert(table).values(values | {"id": number}))

    def _mend_references(self, found: Iterable[StoreFault]) -> None:
        self._look_again()
        for fault in found:
            if fault.code != "reference" or fault.table is None or fault.number is None:
                continue
            (name,) = fault.columns
            column = fault.table.c[name]
            to = next(iter(column.foreign_keys)).column.table
            row = self._tables.rows[fault.table].get(fault.number)
            missing = None if row is None else row.plain.get(name)
            if missing is None or missing in self._tables.rows[to] or to is CHANGES:
                continue
            back = self._recorded(fault.table, fault.number, [name])
            if any(number in self._tables.rows[to] for number in back.values()):
                self._set(fault.table, fault.number, back)
            elif column.nullable and self._set(fault.table, fault.number, {name: None}):
                continue
            elif to is FABRICS:
                self._do(insert(FABRICS).values(_stand_in(missing)))
            else:
                self._take_out_part(fault.table, fault.number)

    def _take_out_part(self, table: Table, number: int) -> None:
        """Take out a row that means nothing any more; what a plan held by it is free again."""
        row = self._tables.rows[table][number]
        self._take_out(table, number)
        for name, held in HELD.items() if table is PLAN_STOCK else ():
            thing = self._tables.rows[held].get(row.plain.get(name) or 0)
            if thing is not None and thing.plain.get("status") == "set aside":
                free = {"status": "available", "set_aside_for": None}
                self._set(held, thing.number, free)

    def _mend_meaning(self, found: Iterable[StoreFault]) -> None:
        for fault in found:
            if fault.code not in ("parents", "plan") or fault.number is None:
                continue
            self._look_again()
            if fault.table is SCRAPS:
                self._open_ring(fault.number)
            elif fault.table is PLAN_STOCK and fault.number in self._tables.rows[PLAN_STOCK]:
                self._mend_held(fault.number, fault.columns[0])
            elif fault.table is YARDAGE:
                self._mend_length(fault.number)
            elif fault.table is PLAN_PIECES:
                back = self._recorded(PLAN_PIECES, fault.number, fault.columns)
                nowhere = {"state": "not cut", "ready_cut_id": None, "scrap_id": None}
                whole = back.get(fault.columns[0]) is not None
                self._set(PLAN_PIECES, fault.number, back if whole else nowhere)

    def _open_ring(self, first: int) -> None:
        """Put back the parent that the history has of a scrap of the ring, or leave one open."""
        rows = self._tables.rows[SCRAPS]
        here: Any = first
        for _ in rows:
            recorded = (self._history.left(SCRAPS, here) or {}).get("parent_id")
            if recorded != rows[here].plain["parent_id"] and self._history.knows(SCRAPS, here):
                self._set(SCRAPS, here, {"parent_id": recorded})
                return
            here = rows[here].plain["parent_id"]
        self._set(SCRAPS, first, {"parent_id": None})

    def _mend_held(self, number: int, column: str) -> None:
        row = self._tables.rows[PLAN_STOCK][number].plain
        table, thing = HELD[column], row[column]
        plan = self._tables.rows[PLANS].get(row["plan_id"])
        named = self._recorded(PLANS, row["plan_id"], ["name"])
        if plan is not None and named and named["name"] != plan.plain.get("name"):
            self._set(PLANS, plan.number, named)  # it is the plan that was changed, not the cloth
            return
        back = self._recorded(table, thing, ["status", "set_aside_for"])
        was = {"status": "set aside", "set_aside_for": plan and plan.plain.get("name")}
        if back != was or not self._set(table, thing, back):
            self._take_out(PLAN_STOCK, number)

    def _mend_length(self, number: int) -> None:
        """Put a length back; else let go of it, the newest plan first, until it suffices."""
        held = [
            row
            for row in self._tables.rows[PLAN_STOCK].values()
            if row.plain.get("yardage_id") == number and row.plain.get("inches") is not None
        ]
        takes = sum(row.plain["inches"] for row in held)
        back = self._recorded(YARDAGE, number, ["length", "status"])
        if back.get("length", 0) >= takes - 1e-6 and back.get("status") != "used up":
            self._set(YARDAGE, number, back)
            return
        length = self._tables.rows[YARDAGE][number].plain
        there = length["length"] if length["status"] != "used up" else 0.0
        for row in reversed(held):
            if takes <= there + 1e-6:
                break
            takes -= row.plain["inches"]
            self._take_out(PLAN_STOCK, row.number)

    def _write_history(self) -> None:
        """Note in the history what differs from it now, and the pictures that are missing."""
        self._look_again()
        recording = RecordingWriter(self._connection, MEND_CHANGE)
        change = recording.change_id  # there even when nothing differs: a mend is a visit
        assert change
        for table in KINDS:
            now, then = self._tables.rows[table], self._at_first.rows[table]
            for number in sorted({*now, *then, *self._numbers(table)}):
                row, first = now.get(number), then.get(number)
                if row is not None and row.unreadable:
                    continue
                left = self._history.left(table, number)
                if not self._history.knows(table, number):
                    left = None if first is None else first.plain
                after = None if row is None else row.plain
                if not agree(left, after):
                    recording.note(table, number, left, after)
        for table, number in self._unseen():
            plain = self._tables.rows[table][number].plain
            recording.note(table, number, plain, plain)

    def _numbers(self, table: Table) -> list[int]:
        return [number for of, number in self._history.chains if of is table]

    def _unseen(self) -> list[tuple[Table, int]]:
        """Return a row for each picture that is missing or damaged."""
        rows: dict[str, tuple[Table, int]] = {}
        for column in PHOTO_COLUMNS:
            for number, row in self._tables.rows[column.table].items():
                value = row.values.get(column.name)
                name = getattr(value, "file_name", value)
                if isinstance(name, str) and name not in rows and not self._holds(name):
                    rows[name] = (column.table, number)
        return list(rows.values())


_UNKNOWN: Final = object()


def _stand_in(number: int) -> dict[str, Any]:
    return {
        "id": number, "name": f"lost fabric {number}", "one_way_print": False, "alike": False,
        "retired": False, "created": datetime.now(UTC),
    }  # fmt: skip
