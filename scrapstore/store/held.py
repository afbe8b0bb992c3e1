"""What kept plans count on: no change may break it, whoever makes it.

`refuse_breaking` looks at a row as it is about to be written. What cannot break a plan (a place, a
note, a name, a colour that was not known) goes through; the rest is refused until the plan is
released.
"""

from typing import Any, Final

from sqlalchemy import ColumnElement, inspect, or_, select
from sqlalchemy.orm import Session

from scrapstore.errors import StoreError
from scrapstore.store.models import (
    Base,
    FabricRow,
    PlanRow,
    PlanStockRow,
    ReadyCutRow,
    ScrapRow,
    YardageRow,
)

__all__ = ["plans_holding", "refuse_breaking"]

_COLOURS: Final = ("family", "value")
_OF_STOCK: Final = ("fabric_id", *_COLOURS, "status", "set_aside_for")
_COUNTED_ON: Final[dict[type[Any], tuple[str, ...]]] = {
    ScrapRow: ("outline", "flaws", "grain_deg", "margin", "uncertainty", *_OF_STOCK),
    ReadyCutRow: ("kind", "cut", "seam_allowance", "count", *_OF_STOCK),
    YardageRow: ("length", "usable_width", "fabric_id", "status", "set_aside_for"),
    FabricRow: ("fibre", "usable_width", "one_way_print", "alike", *_COLOURS),
}
_HOLDS: Final[dict[type[Any], ColumnElement[Any] | Any]] = {
    ScrapRow: PlanStockRow.scrap_id,
    ReadyCutRow: PlanStockRow.ready_cut_id,
    YardageRow: PlanStockRow.yardage_id,
}
"""The column that says what a plan holds, by the table of it."""
_CALLED: Final[dict[type[Any], str]] = {
    ScrapRow: "scrap", ReadyCutRow: "ready", YardageRow: "yardage", FabricRow: "fabric",
}  # fmt: skip
_WORDS: Final = {
    "grain_deg": "grain", "fabric_id": "fabric", "cut": "outline", "usable_width": "width",
    "one_way_print": "one-way print", "seam_allowance": "seam allowance",
}  # fmt: skip
_TAKEN: Final = ("status", "set_aside_for")
_CLOSE: Final = 1e-6  # inches


def plans_holding(session: Session, table: type[Base], number: int) -> tuple[str, ...]:
    """Return the names of the kept plans that hold any of this row, the oldest first."""
    if table not in _HOLDS:
        return ()
    return _names(session, _HOLDS[table] == number)


def refuse_breaking(session: Session, row: Base) -> None:
    """Raise StoreError, naming the plan, when what is new in `row` could break a kept plan.

    To be called between filling the row and flushing it.
    """
    changed = [name for name in _COUNTED_ON.get(type(row), ()) if _change(row, name) is not None]
    breaking = [name for name in changed if not _harmless(session, row, name)]
    if not breaking:
        return
    if isinstance(row, FabricRow):
        names = tuple(dict.fromkeys(n for c in breaking for n in _plans_with(session, row, c)))
        title = f"fabric {row.name!r} is used by"
    else:
        names = plans_holding(session, type(row), _number(row))
        title = f"{_CALLED[type(row)]} {_number(row)} is held by"
    if names:
        first = breaking[0]
        what = "" if first in _TAKEN else f", which counts on its {_WORDS.get(first, first)}"
        msg = f"{title} the plan {names[0]!r}{what}; release that first"
        raise StoreError(f"{msg}: plan release {names[0]!r}")


def _change(row: Base, name: str) -> tuple[Any, Any] | None:
    """Return the column's value in the store and now; None where they are the same."""
    history = inspect(row).attrs[name].history
    if not history.has_changes():
        return None
    return (history.deleted or (None,))[0], getattr(row, name)


def _harmless(session: Session, row: Any, name: str) -> bool:
    """Tell whether this change cannot break a plan, whichever holds the row."""
    old, new = _change(row, name) or (None, None)
    if isinstance(row, FabricRow):
        gains = {"one_way_print": False, "alike": True}
        # No condition of a role is kept by what is not known; what becomes known breaks none.
        return new == gains[name] if name in gains else old is None and name != "usable_width"
    if name == "length":
        return float(new or 0.0) >= _held(session, row) - _CLOSE
    if name in _COLOURS:
        fabric = None if row.fabric_id is None else session.get(FabricRow, row.fabric_id)
        return old is None and getattr(fabric, name, None) is None
    return False


def _held(session: Session, row: YardageRow) -> float:
    held = select(PlanStockRow.inches).where(PlanStockRow.yardage_id == row.id)
    return sum(inches or 0.0 for inches in session.scalars(held))


def _plans_with(session: Session, fabric: FabricRow, name: str) -> tuple[str, ...]:
    """Return the plans that hold something of `fabric` which has this property from it."""
    conditions = []
    for table, column in _HOLDS.items():
        of_it = select(table.id).where(table.fabric_id == fabric.id)
        if hasattr(table, name):  # its own word comes before the fabric's
            of_it = of_it.where(getattr(table, name).is_(None))
        elif name == "usable_width":
            continue  # the width bears on lengths alone
        conditions.append(column.in_(of_it))
    return _names(session, or_(*conditions))


def _names(session: Session, condition: ColumnElement[bool]) -> tuple[str, ...]:
    query = select(PlanRow.name).join(PlanStockRow, PlanStockRow.plan_id == PlanRow.id)
    found = session.scalars(query.where(condition).order_by(PlanRow.id))
    return tuple(dict.fromkeys(found))


def _number(row: Any) -> int:
    return int(row.id)
