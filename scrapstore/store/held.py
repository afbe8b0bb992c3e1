"""What kept plans count on: no change may break it, whoever makes it.

`refuse_breaking` looks at a row before it is written. What cannot break a plan (a place, a
note, a name, a colour that was not known) goes through; the rest is refused until the plan is
released.
"""

from collections.abc import Callable, Mapping, Sequence
from typing import Any, Final

from sqlalchemy import ColumnElement, Select, Table, or_, select

from scrapstore.errors import StoreError
from scrapstore.store.models import (
    BINDING,
    FABRICS,
    PLAN_STOCK,
    PLANS,
    READY_CUT,
    SCRAPS,
    YARDAGE,
)

__all__ = ["plans_holding", "refuse_breaking"]

_COLOURS: Final = ("family", "value")
_OF_STOCK: Final = ("fabric_id", *_COLOURS, "status", "set_aside_for")
_COUNTED_ON: Final[dict[Table, tuple[str, ...]]] = {
    SCRAPS: ("outline", "flaws", "grain_deg", "margin", "uncertainty", "old_edges", *_OF_STOCK),
    READY_CUT: ("kind", "cut", "seam_allowance", "count", *_OF_STOCK),
    YARDAGE: ("length", "usable_width", "fabric_id", "status", "set_aside_for"),
    BINDING: ("width", "length", "start_slope_deg", "end_slope_deg", "status", "set_aside_for"),
    FABRICS: ("fibre", "usable_width", "one_way_print", "alike", *_COLOURS),
}
_HOLDS: Final[dict[Table, ColumnElement[Any] | Any]] = {
    SCRAPS: PLAN_STOCK.c.scrap_id,
    READY_CUT: PLAN_STOCK.c.ready_cut_id,
    YARDAGE: PLAN_STOCK.c.yardage_id,
    BINDING: PLAN_STOCK.c.binding_id,
}
"""The column that says what a plan holds, by the table of it."""
_CALLED: Final[dict[Table, str]] = {
    SCRAPS: "scrap", READY_CUT: "ready", YARDAGE: "yardage", FABRICS: "fabric",
    BINDING: "binding strip",
}  # fmt: skip
_WORDS: Final = {
    "grain_deg": "grain", "fabric_id": "fabric", "cut": "outline", "usable_width": "width",
    "start_slope_deg": "left end", "end_slope_deg": "right end",
    "one_way_print": "one-way print", "seam_allowance": "seam allowance",
}  # fmt: skip
_TAKEN: Final = ("status", "set_aside_for")
_CLOSE: Final = 1e-6  # inches


Ask = Callable[[Select[Any]], Sequence[Any]]
"""Answers a query; see `scrapstore.store.reader.Reader.ask`."""


def plans_holding(ask: Ask, table: Table, number: int) -> tuple[str, ...]:
    """Return the names of the kept plans that hold any of this row, the oldest first."""
    return _names(ask, _HOLDS[table] == number) if table in _HOLDS else ()


def refuse_breaking(ask: Ask, table: Table, old: Mapping[str, Any], new: Mapping[str, Any]) -> None:
    """Raise StoreError, naming the plan, when writing `new` over the row `old` could break one."""
    counted = _COUNTED_ON.get(table, ())
    breaking = [
        name
        for name in counted
        if old[name] != new[name] and not _harmless(ask, table, old, new, name)
    ]
    if not breaking:
        return
    number = old["id"]
    if table is FABRICS:
        names = tuple(dict.fromkeys(n for c in breaking for n in _plans_with(ask, number, c)))
        title = f"fabric {old['name']!r} is used by"
    else:
        names = plans_holding(ask, table, number)
        title = f"{_CALLED[table]} {number} is held by"
    if names:
        first = breaking[0]
        what = "" if first in _TAKEN else f", which counts on its {_WORDS.get(first, first)}"
        msg = f"{title} the plan {names[0]!r}{what}; release that first"
        raise StoreError(f"{msg}: plan release {names[0]!r}")


def _harmless(
    ask: Ask, table: Table, old: Mapping[str, Any], new: Mapping[str, Any], name: str
) -> bool:
    """Tell whether this change cannot break a plan, whichever holds the row."""
    if table is FABRICS:
        gains = {"one_way_print": False, "alike": True}
        # No condition of a role is kept by what is not known; what becomes known breaks none.
        if name in gains:
            return bool(new[name] == gains[name])
        return old[name] is None and name != "usable_width"
    if name == "length" and table is YARDAGE:
        held = ask(select(PLAN_STOCK.c.inches).where(PLAN_STOCK.c.yardage_id == old["id"]))
        return float(new[name]) >= sum(row.inches or 0.0 for row in held) - _CLOSE
    if name == "count":
        return int(new[name]) >= int(old[name])
    if name in _COLOURS:
        of_fabric = ask(select(FABRICS.c[name]).where(FABRICS.c.id == new["fabric_id"]))
        return old[name] is None and all(row[0] is None for row in of_fabric)
    return False


def _plans_with(ask: Ask, fabric: int, name: str) -> tuple[str, ...]:
    """Return the plans that hold something of this fabric which has this property from it."""
    conditions = []
    for table, column in _HOLDS.items():
        if table is BINDING:
            continue  # nothing that is sewn round an edge hangs on its fabric
        of_it = select(table.c.id).where(table.c.fabric_id == fabric)
        if name in table.c:  # its own word comes before the fabric's
            of_it = of_it.where(table.c[name].is_(None))
        elif name == "usable_width":
            continue  # the width bears on lengths alone
        conditions.append(column.in_(of_it))
    return _names(ask, or_(*conditions))


def _names(ask: Ask, condition: ColumnElement[bool]) -> tuple[str, ...]:
    query = select(PLANS.c.name).join(PLAN_STOCK, PLAN_STOCK.c.plan_id == PLANS.c.id)
    return tuple(
        dict.fromkeys(row.name for row in ask(query.where(condition).order_by(PLANS.c.id)))
    )
