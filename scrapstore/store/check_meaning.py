"""Whether what the rows say can be: outlines, scraps cut from scraps, what kept plans hold."""

from collections.abc import Iterator, Mapping
from math import isclose
from typing import Any, Final

import shapely
from sqlalchemy import Table

from scrapstore.shapes import bounding_sides
from scrapstore.store.check_history import History, thing_of
from scrapstore.store.faults import MEND, StoreFault
from scrapstore.store.models import PLAN_PIECES, PLAN_STOCK, PLANS, SCRAPS, YARDAGE
from scrapstore.store.stock_types import Outline
from scrapstore.store.stored_rows import StoredRow, StoredTables
from scrapstore.units import LONGEST_SCRAP

__all__ = ["HELD", "measured_columns", "outline_faults", "parent_faults", "plan_faults"]

_CLOSE: Final = 1e-6  # inches
HELD: Final[Mapping[str, Table]] = {
    column.name: next(iter(column.foreign_keys)).column.table
    for column in PLAN_STOCK.c
    if column.foreign_keys and column.name not in ("plan_id", "taken_from_id", "yardage_id")
}
"""The columns that say what a plan holds whole, with the table of it."""


def outline_faults(tables: StoredTables, history: History) -> Iterator[StoreFault]:
    """Give the outlines that no cloth has, and measures that are not those of the outline."""
    for table, rows in tables.rows.items():
        names = [column.name for column in table.c if isinstance(column.type, Outline)]
        for row in rows.values():
            for name in names:
                if name in row.values:
                    yield from _outline(table, row, name, history)


def _outline(table: Table, row: StoredRow, name: str, history: History) -> Iterator[StoreFault]:
    outline = row.values[name]
    thing = thing_of(table, row.number)
    why = None if outline.is_valid else f"crosses itself ({shapely.is_valid_reason(outline)})"
    left, low, right, high = outline.bounds
    if why is None and max(right - left, high - low) > LONGEST_SCRAP + 0.01:
        why = f"is over {LONGEST_SCRAP:.0f} in long, which no scrap is"
    if why is not None:
        left_plain = history.left(table, row.number)
        other = left_plain is not None and left_plain.get(name) != row.plain[name]
        edit = "ready edit" if table.name == "ready_cut" else "scrap edit"
        yield StoreFault(
            code="outline",
            thing=thing,
            wrong=f"has an outline that {why}",
            lost="its shape and size" + ("; the history still has them" if other else ""),
            remedy=f"{MEND} puts the outline back as the history has it"
            if other
            else f"put its size right: {edit} {row.number} --size",
            mends=other,
            table=table,
            number=row.number,
            columns=(name,),
        )
        return
    measured = measured_columns(table, name, outline)
    wrong = [
        column
        for column, value in measured.items()
        if column in row.values
        and not isclose(row.values[column], value, rel_tol=_CLOSE, abs_tol=_CLOSE)
    ]
    if wrong:
        yield StoreFault(
            code="outline",
            thing=thing,
            wrong=f"has another {' and '.join(wrong)} than its outline",
            lost="nothing: they are worked out from the outline; but lists by size are wrong",
            remedy=f"{MEND} works them out anew",
            mends=True,
            table=table,
            number=row.number,
            columns=tuple(wrong),
        )


def measured_columns(table: Table, name: str, outline: shapely.Polygon) -> dict[str, float]:
    """Return the columns of `table` that are worked out from the outline in its column `name`."""
    if name not in ("outline", "cut"):
        return {}
    long_side, short_side = bounding_sides(outline)
    measured = {"area": outline.area, "long_side": long_side, "short_side": short_side}
    return {column: value for column, value in measured.items() if column in table.c}


def parent_faults(tables: StoredTables) -> Iterator[StoreFault]:
    """Give the scraps that are cut, over some others, from themselves."""
    rows = tables.rows[SCRAPS]
    parents = {number: row.plain.get("parent_id") for number, row in rows.items()}
    done: set[int] = set()
    for start in parents:
        path: list[int] = []
        here: Any = start
        while here is not None and here not in done and here not in path:
            path.append(here)
            here = parents.get(here)
        if here in path:
            ring = sorted(path[path.index(here) :])
            yield StoreFault(
                code="parents",
                thing=thing_of(SCRAPS, ring[0]),
                wrong=f"is cut from itself, by way of {', '.join(map(str, ring[1:])) or 'nothing'}",
                lost="which scrap it was cut from",
                remedy=f"{MEND} puts that back from the history, else leaves it open",
                mends=True,
                table=SCRAPS,
                number=ring[0],
                columns=("parent_id",),
            )
        done |= set(path)


def plan_faults(tables: StoredTables) -> Iterator[StoreFault]:
    """Give what kept plans hold that is gone or not theirs, and pieces that are nowhere."""
    plans = {n: row.plain.get("name") for n, row in tables.rows[PLANS].items()}
    inches: dict[int, float] = {}
    for row in tables.rows[PLAN_STOCK].values():
        plan = plans.get(row.plain.get("plan_id", 0))
        if plan is None:
            continue  # refers to none: told as such
        for column, table in HELD.items():
            yield from _held(tables, row, str(plan), column, table)
        number, takes = row.plain.get("yardage_id"), row.plain.get("inches")
        if number is not None and takes is not None:
            inches[number] = inches.get(number, 0.0) + takes
    for number, takes in inches.items():
        yield from _held_length(tables, number, takes)
    for row in tables.rows[PLAN_PIECES].values():
        yield from _piece(row)


def _held(
    tables: StoredTables, row: StoredRow, plan: str, column: str, table: Table
) -> Iterator[StoreFault]:
    number = row.plain.get(column)
    thing = tables.rows[table].get(number) if number is not None else None
    if thing is None or {"status", "set_aside_for"} & thing.unreadable.keys():
        return
    status, whom = thing.plain["status"], thing.plain["set_aside_for"]
    if (status, whom) != ("set aside", plan):
        what = f"{status} for {whom!r}" if whom else str(status)
        yield StoreFault(
            code="plan",
            thing=f"plan {plan!r}",
            wrong=f"holds {thing_of(table, thing.number)}, which is {what}",
            lost="nothing, but the plan counts on cloth that may be gone",
            remedy=f"{MEND} sets it aside again where the history says so, else the plan lets go "
            f"of it; then match again",
            mends=True,
            table=PLAN_STOCK,
            number=row.number,
            columns=(column,),
        )


def _held_length(tables: StoredTables, number: int, takes: float) -> Iterator[StoreFault]:
    length = tables.rows[YARDAGE].get(number)
    if length is None or {"status", "length"} & length.unreadable.keys():
        return
    there = length.plain["length"] if length.plain["status"] != "used up" else 0.0
    if takes > there + _CLOSE:
        yield StoreFault(
            code="plan",
            thing=thing_of(YARDAGE, number),
            wrong=f"has {there:g} in, and kept plans hold {takes:g} in of it",
            lost="nothing, but a plan counts on cloth that is not there",
            remedy=f"{MEND} puts its length back from the history, else the newest plan lets go "
            "of it; then match again",
            mends=True,
            table=YARDAGE,
            number=number,
            columns=("length", "status"),
        )


def _piece(row: StoredRow) -> Iterator[StoreFault]:
    needed = {"cut": "ready_cut_id", "spoilt": "scrap_id"}.get(str(row.plain.get("state")))
    if needed is not None and needed in row.plain and row.plain[needed] is None:
        yield StoreFault(
            code="plan",
            thing=f"piece {row.plain.get('label')} of plan {row.plain.get('plan_id')}",
            wrong=f"is {row.plain['state']}, and nothing says where it is",
            lost="where the piece is",
            remedy=f"{MEND} puts that back from the history, else notes it as not cut",
            mends=True,
            table=PLAN_PIECES,
            number=row.number,
            columns=(needed, "state"),
        )
