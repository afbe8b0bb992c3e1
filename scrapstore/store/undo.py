"""Taking changes back: rows are written as the history has them from before.

An undo is a change with rows of its own in the history, which only grows; every other table then
holds what it held, to the last bit. Changes are taken back in order, the newest first, so each
finds the rows as it left them. Where it does not, the store was changed by other means, and nothing
is taken back.

Photo files stay in their folder. They are named by their content: a spare one is no other photo's
picture, and logging that photo again finds it there.
"""

import json
from collections.abc import Mapping, Sequence
from typing import Any, Final, cast

from shapely.errors import ShapelyError
from sqlalchemy import Connection, Table, exc, select

from scrapstore.errors import NotFoundError, StoreError
from scrapstore.shapes import bounding_sides
from scrapstore.store.column_types import Checked, UnreadableValueError
from scrapstore.store.history import KINDS, MEND_CHANGE, RecordingWriter, undoable
from scrapstore.store.models import CHANGES, HISTORY, SCRAPS
from scrapstore.store.reader import Reader

__all__ = ["numbers_to_undo", "take_back", "values_of_record"]

Row = Mapping[str, Any]

_TABLES: Final = {kind: table for table, kind in KINDS.items()}
_SIDES: Final = ("long_side", "short_side")
"""Of scraps; worked out from the outline, and in no row that was recorded before there were any."""
_WAY_OUT: Final = (
    "nothing was taken back. Put the record right instead (edit, add, retire), or go back to a "
    "copy from the store's backups folder"
)


def numbers_to_undo(reader: Reader, *, to: int | None = None, steps: int = 1) -> tuple[int, ...]:
    """Return the numbers of the last `steps` changes that can be taken back, the newest first.

    With `to` of all down to and including that number. Raises NotFoundError when there is nothing
    to take back, and StoreError saying why `to` cannot be.
    """
    newest = undoable().order_by(CHANGES.c.id.desc())
    if to is None:
        newest = newest.limit(steps)
    else:
        _refuse_not_undoable(reader, to)
        newest = newest.where(CHANGES.c.id >= to)
    numbers = tuple(row.id for row in reader.ask(newest))
    if not numbers:
        some = reader.ask(select(CHANGES.c.id).limit(1))
        why = "all that was recorded is taken back already" if some else "nothing was changed yet"
        raise NotFoundError(f"there is nothing to take back: {why}; see history")
    return numbers


def _refuse_not_undoable(reader: Reader, number: int) -> None:
    found = reader.ask(select(CHANGES.c.undoes, CHANGES.c.what).where(CHANGES.c.id == number))
    if not found:
        raise NotFoundError(f"no change has the number {number}; history shows those there are")
    if found[0].what == MEND_CHANGE:
        msg = f"no. {number} mended the store; to take it back would bring the damage back. Name "
        raise StoreError(f"{msg}another number of history, or restore the backup it made")
    if found[0].undoes is not None:
        msg = f"no. {number} took back no. {found[0].undoes}; an undo is not taken back itself. "
        raise StoreError(f"{msg}Name another number of history, or record the change anew")
    for undo in reader.ask(select(CHANGES.c.id).where(CHANGES.c.undoes == number)):
        msg = f"no. {number} was taken back already, by no. {undo.id}; name another one of history"
        raise StoreError(msg)


def take_back(connection: Connection, numbers: Sequence[int]) -> dict[int, int]:
    """Take back the changes `numbers`, each as a change of its own; return the numbers of those.

    `numbers` must be those that `numbers_to_undo` gives now: what was seen is what is taken back.
    Raises StoreError when something was changed meanwhile, or when a row cannot be written back;
    the caller's transaction then ends without a trace.
    """
    newest = undoable().order_by(CHANGES.c.id.desc()).limit(len(numbers))
    if list(connection.scalars(newest)) != list(numbers):
        msg = "the store was changed meanwhile, so nothing was taken back; run undo again to see"
        raise StoreError(f"{msg} what it would take back now")
    return {number: _take_back_one(connection, number) for number in numbers}


def _take_back_one(connection: Connection, number: int) -> int:
    what = connection.scalar(select(CHANGES.c.what).where(CHANGES.c.id == number))
    recording = RecordingWriter(connection, f"undo {what}", undoes=number)
    rows = select(HISTORY).where(HISTORY.c.change_id == number).order_by(HISTORY.c.id.desc())
    for row in connection.execute(rows).all():
        try:
            _write_back(recording, row.kind, row.row_id, row.before, row.after)
        except exc.IntegrityError as error:
            why = f"a later record counts on {row.kind} {row.row_id} ({error.orig})"
            raise StoreError(
                f"no. {number} ({what}) cannot be taken back: {why}; {_WAY_OUT}"
            ) from None
        except _CannotError as error:
            msg = f"no. {number} ({what}) cannot be taken back: {row.kind} {row.row_id} {error}"
            raise StoreError(f"{msg}; {_WAY_OUT}") from None
    return recording.change_id


class _CannotError(Exception):
    """Says why a row cannot be written back, as the end of a sentence about it."""


def _write_back(
    recording: RecordingWriter, kind: str, number: int, before: Row | None, after: Row | None
) -> None:
    table = _TABLES.get(kind)
    if table is None:
        raise _CannotError("is of a kind that this program does not know")
    _refuse_other_shape(table, before)
    _refuse_other_shape(table, after)
    found = recording.snapshot(table, number)
    if not _agree(found, after):
        raise _CannotError(
            "is not as that change left it: the store was changed by other means than this program"
        )
    if before is None:
        recording.remove(table, number)
        return
    values = values_of_record(table, number, before)
    if after is None:
        recording.add(table, values)
    else:
        recording.update(table, number, values)
    if not _agree(recording.snapshot(table, number), before, exactly=True):
        raise _CannotError("would not be exactly as it was")


def _refuse_other_shape(table: Table, row: Row | None) -> None:
    """Raise _CannotError for a row with columns that are gone, or without some it cannot lack.

    A column that came later with a migration is empty in older rows, or worked out from others.
    """
    if row is None:
        return
    needed = {column.name for column in table.c if not column.nullable}
    if needed - row.keys() - set(_SIDES) or row.keys() - set(table.c.keys()):
        raise _CannotError("was recorded by an earlier version, not as whole as it takes")


def _agree(found: Row | None, recorded: Row | None, *, exactly: bool = False) -> bool:
    """Return whether a row of the file is as the history has it, as far as that goes."""
    if found is None or recorded is None:
        return found is recorded
    plain = {name: found[name] for name in recorded}
    if exactly:
        return json.dumps(plain) == json.dumps(recorded)
    return bool(json.loads(json.dumps(plain)) == recorded)


def values_of_record(table: Table, number: int, recorded: Row) -> dict[str, Any]:
    """Return what to write for a row of the history; a column that it lacks keeps what it holds."""
    try:
        values: dict[str, Any] = {
            name: None if value is None else cast("Checked", table.c[name].type).from_json(value)
            for name, value in recorded.items()
        }
        if table is SCRAPS and not recorded.keys() >= set(_SIDES):
            values |= zip(_SIDES, bounding_sides(values["outline"]), strict=True)
    except (
        ArithmeticError,
        AttributeError,
        LookupError,
        ShapelyError,
        TypeError,
        ValueError,
    ) as error:
        msg = f"the history of {KINDS[table]} {number} is not what this program writes"
        raise UnreadableValueError(msg) from error
    return values
