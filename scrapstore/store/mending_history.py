"""Mending the history itself, and the hands of a mend: rows written unless the rules refuse it.

An entry that cannot be read comes back from its neighbours in the chain of its thing and from the
row as it is now. A gap is closed by the entry that must have stood there where only one can, else
by one that says that something is lost.
"""

from collections.abc import Iterable
from datetime import UTC, datetime
from itertools import pairwise
from typing import Any, Final

from sqlalchemy import Connection, Table, delete, exc, insert, update

from scrapstore.store.check_history import LOST_KIND, History, agree
from scrapstore.store.history import KINDS
from scrapstore.store.models import CHANGES, HISTORY
from scrapstore.store.stored_rows import stored_tables

__all__ = ["HistoryMend"]

_LARGEST_GAP: Final = 10_000
"""Missing entries of the history that are filled with notes."""
_RECORDED: Final = {"recorded": True}


class HistoryMend:
    """Mends the history of the store on `connection`, in the caller's transaction."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self._taken_out: set[tuple[Table, int]] = set()
        self._look_again()

    def _look_again(self) -> None:
        self._tables = stored_tables(self._connection)
        self._history = History(self._tables)

    def _do(self, statement: Any) -> bool:
        """Carry out a statement, unless the store's rules refuse it; tell whether it was done."""
        try:
            with self._connection.begin_nested():
                self._connection.execute(statement, execution_options=_RECORDED)
        except exc.IntegrityError:
            return False
        return True

    def _set(self, table: Table, number: int, values: dict[str, Any]) -> bool:
        return self._do(update(table).where(table.c.id == number).values(values))

    def _take_out(self, table: Table, number: int) -> None:
        self._taken_out.add((table, number))
        self._do(delete(table).where(table.c.id == number))

    def mend_changes(self) -> None:
        """Give every visit its row: what it lacks is taken from its neighbours or called lost."""
        self._look_again()
        rows = self._tables.rows[CHANGES]
        entries = self._tables.rows[HISTORY].values()
        # Each visit has an entry at least: one that is named far beyond the last never was.
        most = max(rows, default=0) + len(entries)
        named = {int(e.plain["change_id"]) for e in entries if "change_id" in e.plain}
        wanted = _filled(sorted({*rows, *(number for number in named if 0 < number <= most)}))
        at: Any = next((r.values["at"] for r in rows.values() if "at" in r.values), None)
        at = at or datetime.now(UTC)
        for number in wanted:
            row = rows.get(number)
            if row is None:
                lost = {"id": number, "at": at, "what": LOST_KIND, "program": LOST_KIND}
                self._do(insert(CHANGES).values(lost))
                continue
            at = row.values.get("at", at)
            instead = {"at": at, "what": LOST_KIND, "program": LOST_KIND, "undoes": None}
            bad = {name: instead[name] for name in row.unreadable}
            if row.plain.get("undoes") is not None and row.plain["undoes"] not in wanted:
                bad["undoes"] = None
            if bad:
                self._set(CHANGES, number, bad)

    def mend_entries(self) -> None:
        """Make the entries of the history readable, in order, and each go on from the one before.

        Gaps are closed: by the entry that must have stood there where only one can, else by a note.
        """
        self._look_again()
        rows = self._tables.rows[HISTORY]
        before_it: int | None = None
        for number, entry in rows.items():
            plain = entry.plain
            change = plain.get("change_id")
            if change is None or not self._in_order(number, change, before_it):
                change = before_it or min(self._tables.rows[CHANGES], default=1)
                self._set(HISTORY, number, {"change_id": change})
            before_it = change
            if plain.get("kind") not in (*KINDS.values(), LOST_KIND) or "row_id" not in plain:
                self._set(HISTORY, number, _named_anew(plain.get("before"), plain.get("after")))
        self._look_again()
        self._close_gaps()
        self._look_again()
        for (table, number), chain in self._history.chains.items():
            self._mend_chain(table, number, [dict(entry.plain) for entry in chain])

    def _in_order(self, number: int, change: int, before_it: int | None) -> bool:
        """Return whether an entry's visit is one there is, in order with its neighbours."""
        if change not in self._tables.rows[CHANGES]:
            return False
        following = (
            entry.plain.get("change_id")
            for other, entry in self._tables.rows[HISTORY].items()
            if other == number + 1
        )
        after_it = next(following, None)
        low = before_it or 0
        return change >= low and (after_it is None or after_it < low or change <= after_it)

    def _mend_chain(self, table: Table, number: int, chain: list[dict[str, Any]]) -> None:
        row = self._tables.rows[table].get(number)
        now = None if row is None or row.unreadable else dict(row.plain)
        old = [dict(entry) for entry in chain]
        for at in reversed(range(len(chain))):
            if "after" not in chain[at]:
                last = at + 1 == len(chain)
                chain[at]["after"] = now if last else chain[at + 1].get("before", now)
            if "before" not in chain[at]:
                found = chain[at - 1].get("after", chain[at]["after"]) if at else None
                chain[at]["before"] = found
        for one, other in pairwise(chain):
            if not agree(other["before"], one["after"]):
                other["before"] = one["after"]
        for entry, was in zip(chain, old, strict=True):
            if entry != was:
                sides = {"before": entry["before"], "after": entry["after"]}
                self._set(HISTORY, entry["id"], sides)

    def _close_gaps(self) -> None:
        rows = self._tables.rows[HISTORY]
        gaps = [number for number in _filled(rows) if number not in rows]
        only = self._only_candidate() if len(gaps) == 1 else None
        for number in gaps:
            near = [n for n in rows if n < number][-1:] or list(rows)[:1]
            change = rows[near[0]].plain.get("change_id", 1)
            entry = {"kind": LOST_KIND, "row_id": 0, "before": None, "after": None}
            if only is not None and only["from"] < number < only["to"]:
                entry = {name: only[name] for name in entry}
            self._do(insert(HISTORY).values(entry | {"id": number, "change_id": change}))

    def _only_candidate(self) -> dict[str, Any] | None:
        """Return the one entry that the rest of the history lacks, None unless there is just one.

        ``from`` and ``to`` are the numbers between which it stood.
        """
        found = []
        beyond = max(self._tables.rows[HISTORY]) + 1
        for (table, number), chain in self._history.chains.items():
            named = {"kind": KINDS[table], "row_id": number}
            sides = [entry.plain for entry in chain]
            if any(not {"before", "after"} <= side.keys() for side in sides):
                return None
            links = [(0, None, sides[0]["before"], sides[0]["id"])]
            links += [(a["id"], a["after"], b["before"], b["id"]) for a, b in pairwise(sides)]
            row = self._tables.rows[table].get(number)
            now = None if row is None else row.plain
            links.append((sides[-1]["id"], sides[-1]["after"], now, beyond))
            found += [
                named | {"from": low, "to": high, "before": before, "after": after}
                for low, before, after, high in links
                if not agree(before, after)
            ]
        return found[0] if len(found) == 1 else None


def _filled(rows: Iterable[int]) -> list[int]:
    """Return the numbers from 1 to the last of `rows`, those of gaps that are too wide left out."""
    numbers: list[int] = []
    for before, after in pairwise([0, *rows]):
        wide = after - before > _LARGEST_GAP
        numbers += [after] if wide else range(before + 1, after + 1)
    return numbers


def _named_anew(before: Any, after: Any) -> dict[str, Any]:
    """Return what an entry is about, by the columns that it has; called lost where none fits."""
    record = after or before or {}
    for table, kind in KINDS.items():
        needed = {column.name for column in table.c if not column.nullable}
        if needed <= record.keys() <= set(table.c.keys()):
            return {"kind": kind, "row_id": record["id"]}
    return {"kind": LOST_KIND, "row_id": 0, "before": None, "after": None}
