"""Whether the history adds up: replayed, it gives today's rows.

Each thing has a chain of entries: what an entry found is what the one before it left, and the last
one left what stands in the table now. A column that came with a later migration is in neither.
"""

import math
from collections.abc import Iterator, Mapping
from itertools import pairwise
from typing import Any, Final, get_args

from sqlalchemy import Table

from scrapstore.store.faults import MEND, StoreFault
from scrapstore.store.forms import NotionKind
from scrapstore.store.history import KINDS, MEND_CHANGE
from scrapstore.store.models import CHANGES, HISTORY, NOTIONS
from scrapstore.store.stored_rows import StoredRow, StoredTables

__all__ = ["LOST_KIND", "History", "agree", "history_faults", "known_missing", "thing_of"]

Row = Mapping[str, Any]

LOST_KIND: Final = "lost"
"""What an entry of the history is called that stands for one whose content is gone."""

_TABLES: Final = {kind: table for table, kind in KINDS.items()}


def agree(found: Row | None, recorded: Row | None) -> bool:
    """Return whether two records of a row are the same, as far as both have its columns."""
    if found is None or recorded is None:
        return found is recorded
    return all(found[name] == recorded[name] for name in found.keys() & recorded.keys())


class History:
    """The history by thing: its entries in order, and how it was left."""

    def __init__(self, tables: StoredTables) -> None:
        self.chains: dict[tuple[Table, int], list[StoredRow]] = {}
        for entry in tables.rows[HISTORY].values():
            table = _TABLES.get(str(entry.plain.get("kind")))
            number = entry.plain.get("row_id")
            if table is not None and number is not None:
                self.chains.setdefault((table, number), []).append(entry)

    def knows(self, table: Table, number: int) -> bool:
        """Return whether the history says how this row was left, as a row or as taken out."""
        return "after" in self._last(table, number)

    def left(self, table: Table, number: int) -> Row | None:
        """Return the row as its last entry left it; None where it was taken out, or not known."""
        return self._last(table, number).get("after")

    def has(self, table: Table, number: int, column: str) -> bool:
        """Return whether the history has a value of this row to put back into `column`."""
        left = self.left(table, number)
        return left is not None and (
            left.get(column) is not None or (column in left and bool(table.c[column].nullable))
        )

    def _last(self, table: Table, number: int) -> Row:
        chain = self.chains.get((table, number))
        return chain[-1].plain if chain else {}


def thing_of(table: Table, number: int, row: Row | None = None) -> str:
    """Return what a row is called, such as ``scrap 12``; batting, form or zip by the `row`."""
    if table is CHANGES:
        return f"no. {number} of the history"
    if table is NOTIONS:
        kind = (row or {}).get("kind")
        return f"{kind if kind in get_args(NotionKind) else 'batting, form or zip'} {number}"
    return f"entry {number} of the history" if table is HISTORY else f"{KINDS[table]} {number}"


def history_faults(tables: StoredTables, history: History) -> Iterator[StoreFault]:
    """Give the places where the history does not add up."""
    for table in (CHANGES, HISTORY):
        if table not in tables.broken:
            yield from _gaps(table, tables.rows[table])
    yield from _out_of_order(tables.rows[HISTORY])
    for (table, number), chain in history.chains.items():
        if table in tables.broken or HISTORY in tables.broken:
            continue
        yield from _broken_links(table, number, chain)
        yield from _last_link(table, number, chain[-1], tables.rows[table].get(number))


def _gaps(table: Table, rows: Mapping[int, StoredRow]) -> Iterator[StoreFault]:
    for before, after in pairwise([0, *rows]):
        if after > before + 1:
            many = f"{before + 1} to {after - 1}" if after > before + 2 else f"{before + 1}"
            called = "no." if table is CHANGES else "entry"
            yield StoreFault(
                code="history",
                thing=f"{called} {many} of the history",
                wrong="is gone" if after == before + 2 else "are gone",
                lost="what was changed then, and that it can be taken back; nothing of today's",
                remedy=f"{MEND} closes the gap with a note that something is lost there",
                mends=True,
                table=table,
                number=before + 1,
            )


def _out_of_order(entries: Mapping[int, StoredRow]) -> Iterator[StoreFault]:
    """Give entries whose visit is not between those of their neighbours."""
    visits = [(n, row.plain["change_id"]) for n, row in entries.items() if "change_id" in row.plain]
    ends = [(0, 0), *visits, (0, math.inf)]
    for (_, before), (number, visit), (_, after) in zip(ends, ends[1:], ends[2:], strict=False):
        if before <= after and not before <= visit <= after:
            beside = [f"after an entry of no. {before}"] if before else []
            beside += [f"before an entry of no. {after}"] if after < math.inf else []
            yield StoreFault(
                code="history",
                thing=thing_of(HISTORY, number),
                wrong=f"is said to be of no. {visit}, but comes {' and '.join(beside)}",
                lost="to which visit it belongs, so undo could take back too much or too little",
                remedy=f"{MEND} puts it to the visit before it",
                mends=True,
                table=HISTORY,
                number=number,
                columns=("change_id",),
            )


def _broken_links(table: Table, number: int, chain: list[StoredRow]) -> Iterator[StoreFault]:
    for one, other in pairwise(chain):
        readable = "after" in one.plain and "before" in other.plain
        if readable and not agree(other.plain["before"], one.plain["after"]):
            yield StoreFault(
                code="history",
                thing=thing_of(HISTORY, other.number),
                wrong=f"does not go on from entry {one.number}: "
                f"{thing_of(table, number, one.plain['after'] or other.plain['before'])} was "
                "changed between them and nothing says how",
                lost="that one change, and that what is older can be taken back there",
                remedy=f"{MEND} makes entry {other.number} go on from what entry {one.number} left",
                mends=True,
                table=HISTORY,
                number=other.number,
                columns=("before",),
            )


def _last_link(
    table: Table, number: int, last: StoredRow, found: StoredRow | None
) -> Iterator[StoreFault]:
    if "after" not in last.plain or (found is not None and found.unreadable):
        return  # a fault by itself
    left = last.plain["after"]
    thing = thing_of(table, number, left if found is None else found.plain)
    if found is None and left is not None:
        yield StoreFault(
            code="history",
            thing=thing,
            wrong="is gone, though the history does not say that it was taken out",
            lost="its record; the history still has all of it",
            remedy=f"{MEND} puts it back as the history has it",
            mends=True,
            table=table,
            number=number,
        )
    elif found is not None and not agree(found.plain, left):
        other = sorted(
            name for name in (left or {}) if name in found.plain and found.plain[name] != left[name]
        )
        said = f"has another {' and '.join(other)} than" if left else "is there, taken out by"
        yield StoreFault(
            code="history",
            thing=thing,
            wrong=f"{said} the history: it was changed by other means than this program",
            lost="nothing that is seen today, but undo cannot pass there",
            remedy=f"look at it; where it is right, {MEND} notes in the history what it is now",
            mends=True,
            table=table,
            number=number,
            columns=tuple(other),
        )


def known_missing(tables: StoredTables) -> frozenset[str]:
    """Return the names of the photo files that a mend noted as missing."""
    mends = {
        number
        for number, row in tables.rows[CHANGES].items()
        if row.plain.get("what") == MEND_CHANGE
    }
    names = set()
    for entry in tables.rows[HISTORY].values():
        after = entry.plain.get("after")
        if entry.plain.get("change_id") in mends and after and after == entry.plain.get("before"):
            names |= {after.get("file_name"), (after.get("cut_out") or {}).get("file_name")}
    return frozenset(name for name in names if isinstance(name, str))
