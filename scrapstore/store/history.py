"""The history: whatever a transaction changes is written down in the same transaction.

`keep_history` hangs on the session itself. Every row that a flush adds, changes or removes is read
from the database before and after, so the history tells what the file held and not what the program
meant. Statements that would change rows without the session seeing them are refused.
"""

from datetime import UTC, datetime
from typing import Any, Final

from sqlalchemy import Connection, event, insert, select
from sqlalchemy.orm import ORMExecuteState, Session, UOWTransaction, object_mapper

from scrapstore.store.geometry import wkb_to_geojson
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

__all__ = ["KINDS", "keep_history"]

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
    snapshot: dict[str, Any] = {}
    for column in table.c:
        value = found[column]
        if isinstance(value, bytes) and column.info.get("geometry"):
            value = wkb_to_geojson(value)
        elif isinstance(value, datetime):
            value = value.isoformat()
        snapshot[column.name] = value
    return snapshot


def _refuse_blind_changes(state: ORMExecuteState) -> None:
    if not state.is_select:
        raise RuntimeError("change rows through the session, so that the history sees them")
