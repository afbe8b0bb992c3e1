"""The history: whatever a transaction changes is written down in the same transaction.

Every row that is added, changed or taken out is read from the database before and after, so the
history has what the file held and not what the program meant. Statements that would change rows
beside it are refused.
"""

import json
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any, Final, cast

from sqlalchemy import (
    ColumnElement,
    Connection,
    Executable,
    Select,
    Table,
    and_,
    delete,
    event,
    func,
    insert,
    select,
    true,
    type_coerce,
    update,
)  # fmt: skip

from scrapstore.store.column_types import Checked, Document, Json
from scrapstore.store.forms import Change, ChangedRow
from scrapstore.store.models import (
    BINDING,
    CHANGES,
    CRUMBS,
    FABRICS,
    HISTORY,
    LENSES,
    NOTIONS,
    PHOTOS,
    PLAN_PIECES,
    PLAN_STOCK,
    PLANS,
    READY_CUT,
    SCRAPS,
    YARDAGE,
)

__all__ = ["KINDS", "MEND_CHANGE", "RecordingWriter", "changes", "undoable"]

MEND_CHANGE: Final = "store mend"
"""What a mend of the store is called; see `scrapstore.store.mending`."""

KINDS: Final[dict[Table, str]] = {
    FABRICS: "fabric",
    PHOTOS: "photo",
    LENSES: "lens",
    SCRAPS: "scrap",
    YARDAGE: "yardage",
    READY_CUT: "ready-cut",
    BINDING: "binding",
    NOTIONS: "notion",
    CRUMBS: "crumbs",
    PLANS: "plan",
    PLAN_STOCK: "plan-stock",
    PLAN_PIECES: "plan-piece",
}
"""What the history calls a row of each table."""

_RECORDED: Final = {"recorded": True}
_UNDO: Final = CHANGES.alias("undo")
_OF_PLANS: Final = (KINDS[PLAN_STOCK], KINDS[PLAN_PIECES])


class RecordingWriter:
    """Writes rows, and what changes into the history under the name `what`, in one transaction.

    `undoes` is the number of the change that this one takes back.
    """

    def __init__(self, connection: Connection, what: str, *, undoes: int | None = None) -> None:
        self._connection = connection
        self._what = what
        self._undoes = undoes
        self._change_id: int | None = None
        event.listen(connection, "before_execute", _refuse_unrecorded)

    @property
    def change_id(self) -> int:
        """The number of this change in the history; it is there from the first call on."""
        from scrapstore import __version__

        if self._change_id is None:
            change = {"at": datetime.now(UTC), "what": self._what, "program": __version__}
            self._change_id = self._insert(CHANGES, change | {"undoes": self._undoes})
        return self._change_id

    def add(self, table: Table, values: dict[str, Any]) -> int:
        """Add a row and return its number, which `values` may name."""
        number = self._insert(table, values)
        self._record(table, number, None)
        return number

    def update(self, table: Table, number: int, values: dict[str, Any]) -> None:
        """Write `values` over the row with this number."""
        before = self.snapshot(table, number)
        query = update(table).where(table.c.id == number).values(values)
        self._connection.execute(query, execution_options=_RECORDED)
        self._record(table, number, before)

    def remove(self, table: Table, number: int) -> None:
        """Take the row with this number out."""
        before = self.snapshot(table, number)
        query = delete(table).where(table.c.id == number)
        self._connection.execute(query, execution_options=_RECORDED)
        self._record(table, number, before)

    def note(
        self, table: Table, number: int, before: Mapping[str, Any] | None,
        after: Mapping[str, Any] | None,
    ) -> None:  # fmt: skip
        """Write down what a row was and is, as the caller found it; for a mend of the store."""
        entry = {"kind": KINDS[table], "row_id": number, "before": before, "after": after}
        self._insert(HISTORY, {"change_id": self.change_id, **entry})

    def _record(self, table: Table, number: int, before: dict[str, Any] | None) -> None:
        after = self.snapshot(table, number)
        if json.dumps(before) == json.dumps(after):  # to Python -0.0 is 0.0, and 1 is True
            return
        self.note(table, number, before, after)

    def _insert(self, table: Table, values: dict[str, Any]) -> int:
        query = insert(table).values(values)
        made = self._connection.execute(query, execution_options=_RECORDED).inserted_primary_key
        if made is None:
            raise RuntimeError("SQLite gave no number for a new row")
        return int(made[0])

    def snapshot(self, table: Table, number: int) -> dict[str, Any] | None:
        """Return the whole of a row as the file holds it now, ready for JSON; None without one."""
        columns = [
            type_coerce(column, Json()).label(column.name)
            if isinstance(column.type, Document)
            else column
            for column in table.c
        ]
        query = select(*columns).where(table.c.id == number)
        found = self._connection.execute(query).mappings().first()
        if found is None:
            return None
        types = {column.name: cast("Checked", column.type) for column in columns}
        return {
            name: None if value is None else types[name].as_json(value)
            for name, value in found.items()
        }


def _refuse_unrecorded(
    _connection: Connection,
    statement: Executable,
    _many: object,
    _values: object,
    options: dict[str, Any],
) -> None:
    if getattr(statement, "is_dml", False) and not options.get("recorded"):
        raise RuntimeError("change rows through the writer, so that the history sees them")


def changes(
    connection: Connection,
    *,
    most: int | None,
    kind: str | None,
    number: int | None,
    each: int | None,
    only_undoable: bool,
) -> tuple[Change, ...]:
    """Return the changes, newest first; see `Reader.history`."""
    query = (
        select(CHANGES, _UNDO.c.id.label("undone_by"))
        .join(_UNDO, _UNDO.c.undoes == CHANGES.c.id, isouter=True)
        .order_by(CHANGES.c.id.desc())
        .limit(most)
    )
    if only_undoable:
        query = query.where(CHANGES.c.id.in_(undoable()))
    touched = select(HISTORY.c.change_id)
    if kind is not None:
        touched = touched.where(HISTORY.c.kind == kind)
    if number is not None:
        touched = touched.where(HISTORY.c.row_id == number)
    if kind is not None or number is not None:
        query = query.where(CHANGES.c.id.in_(touched))
    changes = connection.execute(query).all()
    numbers = [change.id for change in changes]
    asked: ColumnElement[bool] = true()
    if kind is not None:
        asked = and_(asked, HISTORY.c.kind == kind)
    if number is not None:
        asked = and_(asked, HISTORY.c.row_id == number)
    rows = select(HISTORY).where(HISTORY.c.change_id.in_(numbers)).order_by(HISTORY.c.id)
    if each is not None:
        place = func.row_number().over(
            partition_by=HISTORY.c.change_id,
            # A plan may have hundreds of pieces: the cloth itself says more.
            order_by=(asked.desc(), HISTORY.c.kind.in_(_OF_PLANS), HISTORY.c.id),
        )
        placed = select(HISTORY.c.id, place.label("place")).where(HISTORY.c.change_id.in_(numbers))
        shown = placed.subquery()
        rows = rows.join(shown, shown.c.id == HISTORY.c.id).where(shown.c.place <= each)
    entries: dict[int, list[ChangedRow]] = {number: [] for number in numbers}
    for row in connection.execute(rows):
        entries[row.change_id].append(
            ChangedRow(kind=row.kind, row_id=row.row_id, before=row.before, after=row.after)
        )
    counted = select(HISTORY.c.change_id, func.count()).group_by(HISTORY.c.change_id)
    counted = counted.where(HISTORY.c.change_id.in_(numbers))
    counts = {row[0]: row[1] for row in connection.execute(counted)}
    return tuple(
        Change(
            id=row.id,
            at=row.at,
            what=row.what,
            rows=tuple(entries[row.id]),
            more=counts.get(row.id, 0) - len(entries[row.id]),
            undoes=row.undoes,
            undone_by=row.undone_by,
        )
        for row in changes
    )


def undoable() -> Select[Any]:
    """Return a query for the numbers of what can be taken back: no undo, and not taken back yet.

    Nor a mend: to take it back would bring the damage back.
    """
    return (
        select(CHANGES.c.id)
        .join(_UNDO, _UNDO.c.undoes == CHANGES.c.id, isouter=True)
        .where(CHANGES.c.undoes.is_(None), _UNDO.c.id.is_(None), CHANGES.c.what != MEND_CHANGE)
    )
