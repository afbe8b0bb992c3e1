"""The history: whatever a transaction changes is written down in the same transaction.

`keep_history` hangs on the session itself. Every row that a flush adds, changes or removes is read
from the database before and after, so the history tells what the file held and not what the program
meant. Statements that would change rows without the session seeing them are refused.
"""

from datetime import UTC, datetime
from typing import Any, Final, cast

from sqlalchemy import ColumnElement, Connection, and_, event, func, insert, select, true
from sqlalchemy.orm import ORMExecuteState, Session, UOWTransaction, object_mapper

from scrapstore.store.column_types import Checked
from scrapstore.store.forms import Change, ChangedRow
from scrapstore.store.models import (
    Base,
    BindingRow,
    ChangeRow,
    FabricRow,
    HistoryRow,
    LensRow,
    PhotoRow,
    PlanRow,
    PlanStockRow,
    ReadyCutRow,
    ScrapRow,
    YardageRow,
)

__all__ = ["KINDS", "changes", "keep_history"]

KINDS: Final[dict[type[Base], str]] = {
    FabricRow: "fabric",
    PhotoRow: "photo",
    LensRow: "lens",
    ScrapRow: "scrap",
    YardageRow: "yardage",
    ReadyCutRow: "ready-cut",
    BindingRow: "binding",
    PlanRow: "plan",
    PlanStockRow: "plan-stock",
}
"""What the history calls a row of each table."""

_BEFORE: Final = "rows before the flush"


def keep_history(session: Session, what: str) -> None:
    """Write everything that `session` will change into the history, under the name `what`."""
    session.info["what"] = what
    event.listen(session, "before_flush", _remember)
    event.listen(session, "after_flush", _write_down)
    event.listen(session, "do_orm_execute", _refuse_blind_changes)


def _remember(session: Session, _context: UOWTransaction, _instances: object) -> None:
    connection = session.connection()
    session.info[_BEFORE] = {
        row: _snapshot(connection, row)
        for row in (*session.dirty, *session.deleted)
        if type(row) in KINDS
    }


def _write_down(session: Session, _context: UOWTransaction) -> None:
    connection = session.connection()
    before = session.info.pop(_BEFORE)
    entries = []
    for row in (*(new for new in session.new if type(new) in KINDS), *before):
        old, new = before.get(row), _snapshot(connection, row)
        if old != new:
            entry = {"kind": KINDS[type(row)], "row_id": row.id, "before": old, "after": new}
            entries.append(entry)
    if entries:
        change_id = _change_id(session, connection)
        connection.execute(insert(HistoryRow), [{"change_id": change_id, **e} for e in entries])


def _change_id(session: Session, connection: Connection) -> int:
    """Return the number of this transaction's change, which is written with its first entry."""
    known: int | None = session.info.get("change_id")
    if known is not None:
        return known
    from scrapstore import __version__

    values = {"at": datetime.now(UTC), "what": session.info["what"], "program": __version__}
    made = connection.execute(insert(ChangeRow).values(values)).inserted_primary_key
    if made is None:
        raise RuntimeError("SQLite gave no number for a new change")
    session.info["change_id"] = made[0]
    return int(made[0])


def _snapshot(connection: Connection, row: Any) -> dict[str, Any] | None:
    """Return the whole of `row` as the file holds it now, ready for JSON; None when it is gone."""
    table = object_mapper(row).local_table
    found = connection.execute(select(table).where(table.c.id == row.id)).mappings().first()
    if found is None:
        return None
    types = {column.name: cast("Checked", column.type) for column in table.c}
    return {
        name: None if value is None else types[name].as_json(value) for name, value in found.items()
    }


def _refuse_blind_changes(state: ORMExecuteState) -> None:
    if not state.is_select:
        raise RuntimeError("change rows through the session, so that the history sees them")


def changes(
    session: Session,
    *,
    most: int | None,
    kind: str | None,
    number: int | None,
    each: int | None,
) -> tuple[Change, ...]:
    """Return the changes, newest first, as `Reader.history` tells."""
    query = select(ChangeRow).order_by(ChangeRow.id.desc()).limit(most)
    touched = select(HistoryRow.change_id)
    if kind is not None:
        touched = touched.where(HistoryRow.kind == kind)
    if number is not None:
        touched = touched.where(HistoryRow.row_id == number)
    if kind is not None or number is not None:
        query = query.where(ChangeRow.id.in_(touched))
    changes = session.scalars(query).all()
    numbers = [change.id for change in changes]
    asked: ColumnElement[bool] = true()
    if kind is not None:
        asked = and_(asked, HistoryRow.kind == kind)
    if number is not None:
        asked = and_(asked, HistoryRow.row_id == number)
    rows = select(HistoryRow).where(HistoryRow.change_id.in_(numbers)).order_by(HistoryRow.id)
    if each is not None:
        place = func.row_number().over(
            partition_by=HistoryRow.change_id, order_by=(asked.desc(), HistoryRow.id)
        )
        placed = select(HistoryRow.id, place.label("place")).where(
            HistoryRow.change_id.in_(numbers)
        )
        shown = placed.subquery()
        rows = rows.join(shown, shown.c.id == HistoryRow.id).where(shown.c.place <= each)
    entries: dict[int, list[ChangedRow]] = {number: [] for number in numbers}
    for row in session.scalars(rows):
        entries[row.change_id].append(
            ChangedRow(kind=row.kind, row_id=row.row_id, before=row.before, after=row.after)
        )
    counted = select(HistoryRow.change_id, func.count()).group_by(HistoryRow.change_id)
    counted = counted.where(HistoryRow.change_id.in_(numbers))
    counts = {row[0]: row[1] for row in session.execute(counted)}
    return tuple(
        Change(
            id=row.id,
            at=row.at,
            what=row.what,
            rows=tuple(entries[row.id]),
            more=counts.get(row.id, 0) - len(entries[row.id]),
        )
        for row in changes
    )
