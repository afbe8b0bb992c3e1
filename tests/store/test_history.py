"""Every change is in the history, in the same transaction, whole."""

import json
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from shapely import box
from sqlalchemy import delete, insert, update

from scrapstore.errors import ShapeError, StoreError
from scrapstore.store import Reader, Store, Writer, open_store
from scrapstore.store.models import BINDING, PHOTOS, SCRAPS
from tests.support.stores import (
    a_fabric,
    a_form,
    a_length,
    a_photo,
    a_scrap,
    a_strip,
    query,
    some_crumbs,
    some_pieces,
    tables,
)

# For each way to change the store: the kind it touches, and a call of it.
CHANGES: dict[str, tuple[str, Callable[[Writer], Any]]] = {
    "add_fabric": ("fabric", lambda w: w.add_fabric(a_fabric("Sail canvas"))),
    "update_fabric": (
        "fabric",
        lambda w: w.update_fabric(replace(w.fabric("navy dot"), name="Navy spot", retired=True)),
    ),
    "add_photo": ("photo", lambda w: w.add_photo(a_photo(2))),
    "add_scrap": ("scrap", lambda w: w.add_scrap(a_scrap())),
    "update_scrap": (
        "scrap",
        lambda w: w.update_scrap(
            replace(w.scrap(1), outline=box(0, 0, 3, 3), flaws=(), accents=("red",), fabric=None)
        ),
    ),
    "add_yardage": ("yardage", lambda w: w.add_yardage(a_length(w.fabric("Navy dot")))),
    "update_yardage": (
        "yardage",
        lambda w: w.update_yardage(replace(w.yardage_length(1), length=9)),
    ),
    "add_ready_cut": ("ready-cut", lambda w: w.add_ready_cut(some_pieces())),
    "update_ready_cut": (
        "ready-cut",
        lambda w: w.update_ready_cut(replace(w.ready_cut_lot(1), count=3, cut=box(0, 0, 4, 5))),
    ),
    "add_binding_strip": ("binding", lambda w: w.add_binding_strip(a_strip())),
    "update_binding_strip": (
        "binding",
        lambda w: w.update_binding_strip(replace(w.binding_strip(1), status="used up")),
    ),
    "add_crumbs": ("crumbs", lambda w: w.add_crumbs(some_crumbs())),
    "update_crumbs": (
        "crumbs",
        lambda w: w.update_crumbs(replace(w.crumbs_bag(1), grams=90.0)),
    ),
    "add_notion": ("notion", lambda w: w.add_notion(a_form())),
    "update_notion": (
        "notion",
        lambda w: w.update_notion(replace(w.notion("form", 1), count=1)),
    ),
    "add_row": ("photo", lambda w: w.add_row(PHOTOS, a_photo(3))),
    "remove_row": ("binding", lambda w: w.remove_row(BINDING, 1)),
}


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    """One of everything."""
    with open_store(tmp_path) as store:
        with store.change("begin") as writer:
            fabric = writer.add_fabric(a_fabric())
            writer.add_scrap(a_scrap(fabric, writer.add_photo(a_photo())))
            writer.add_yardage(a_length(fabric))
            writer.add_ready_cut(some_pieces(fabric))
            writer.add_binding_strip(a_strip(fabric))
            writer.add_notion(a_form(fabric))
            writer.add_crumbs(some_crumbs(fabric))
        yield store


def test_every_way_to_change_is_walked() -> None:
    """A new method of the writer cannot be forgotten in the table above."""
    methods = {name for name in dir(Writer) if not name.startswith("_")} - set(dir(Reader))
    assert methods == set(CHANGES)


@pytest.mark.parametrize("method", CHANGES)
def test_history_holds_the_file_before_and_after(store: Store, method: str) -> None:
    """One entry, equal to what plain sqlite3 read before and reads now."""
    kind, change = CHANGES[method]
    before = tables(store.database)
    with store.change(method) as writer:
        change(writer)
    after = tables(store.database)
    with store.read() as reader:
        newest = reader.history()[0]
    different = {key for key in before | after if before.get(key) != after.get(key)}
    assert newest.what == method
    assert {(row.kind, row.row_id) for row in newest.rows} == different
    assert len(newest.rows) == 1
    (row,) = newest.rows
    assert row.kind == kind
    assert _plain(row.before) == _plain(before.get((row.kind, row.row_id)))
    assert _plain(row.after) == _plain(after.get((row.kind, row.row_id)))


def _plain(row: Any) -> Any:
    """A row in the same words either way: SQLite keeps truth as 0 and 1, JSON and times as text."""
    if row is None:
        return None
    plain = {}
    for key, value in row.items():
        if isinstance(value, bool):
            value = int(value)
        if isinstance(value, str) and value[:1] in "[{":
            value = json.loads(value)
        if key in ("created", "taken") and value:
            value = value.replace("T", " ").partition("+")[0]
        plain[key] = value
    return plain


def test_history_explains_the_whole_store(store: Store) -> None:
    """Played from the first entry to the last, it arrives at what the tables hold."""
    for method, (_, change) in CHANGES.items():
        if method != "update_fabric":
            with store.change(method) as writer:
                change(writer)
    played: dict[tuple[str, int], Any] = {}
    with store.read() as reader:
        for one in reversed(reader.history()):
            for row in one.rows:
                assert played.get((row.kind, row.row_id)) == row.before
                played[row.kind, row.row_id] = row.after
    found = {key: _plain(row) for key, row in tables(store.database).items()}
    assert {key: _plain(row) for key, row in played.items() if row is not None} == found


def test_what_changes_nothing_is_not_recorded(store: Store) -> None:
    """Writing a thing over itself leaves no trace, nor does a change without changes."""
    with store.change("idle") as writer:
        writer.update_scrap(writer.scrap(1))
        writer.update_fabric(writer.fabric("Navy dot"))
    with store.read() as reader:
        assert [change.what for change in reader.history()] == ["begin"]


def test_several_edits_of_one_thing_are_one_chain(store: Store) -> None:
    """Each entry begins where the one before it ended."""
    with store.change("twice") as writer:
        scrap = writer.update_scrap(replace(writer.scrap(1), place="shelf"))
        writer.update_scrap(replace(scrap, place="drawer"))
    with store.read() as reader:
        first, second = reader.history()[0].rows
    assert first.after == second.before
    assert second.after is not None
    assert second.after["place"] == "drawer"


@pytest.mark.parametrize(
    "error", [RuntimeError("power"), KeyboardInterrupt(), ShapeError("no outline")]
)
def test_a_change_that_breaks_off_leaves_nothing(store: Store, error: BaseException) -> None:
    """Neither rows nor history, whatever was raised."""
    before = tables(store.database)

    def break_off(writer: Writer) -> None:
        writer.add_scrap(a_scrap())
        writer.update_fabric(replace(writer.fabric("Navy dot"), note="gone"))
        raise error

    with pytest.raises(type(error)), store.change("broken") as writer:
        break_off(writer)
    assert tables(store.database) == before
    assert query(store.database, "SELECT what FROM changes") == [("begin",)]


def test_a_rule_of_the_store_stops_the_whole_change(store: Store) -> None:
    """A status that there is not: SQLite's check refuses it, and what went before with it."""
    before = tables(store.database)
    bad = [a_scrap(), replace(a_scrap(), status="lost")]  # type: ignore[arg-type]
    with pytest.raises(StoreError, match="rules refuse"), store.change("bad") as writer:
        _ = [writer.add_scrap(scrap) for scrap in bad]
    assert tables(store.database) == before


@pytest.mark.parametrize(
    "statement",
    [
        update(SCRAPS).values(place="nowhere"),
        delete(SCRAPS),
        insert(SCRAPS).values(id=9),
    ],
)
def test_changes_that_the_history_would_not_see_are_refused(store: Store, statement: Any) -> None:
    """Sweeping statements bypass the session's knowledge of rows."""
    before = tables(store.database)
    refused = pytest.raises(RuntimeError, match="so that the history sees them")
    with refused, store.change("blind") as writer:
        writer._connection.execute(statement)
    assert tables(store.database) == before


def test_a_removed_row_is_recorded(store: Store) -> None:
    """No command removes rows yet; an undo will."""
    with store.change("remove") as writer:
        writer.remove_row(SCRAPS, 1)
    with store.read() as reader:
        (row,) = reader.history()[0].rows
    assert (row.kind, row.row_id, row.after) == ("scrap", 1, None)
    assert row.before is not None
    assert row.before["name"] == "sleeve"


def test_history_of_one_thing(store: Store) -> None:
    """Asked for by kind and number, newest first, at most so many."""
    for place in ("a", "b", "c"):
        with store.change(f"move to {place}") as writer:
            writer.update_scrap(replace(writer.scrap(1), place=place))
    with store.read() as reader:
        whats = [change.what for change in reader.history(kind="scrap", number=1, most=3)]
        assert whats == ["move to c", "move to b", "move to a"]
        assert [change.what for change in reader.history(kind="binding")] == ["begin"]
        assert reader.history(kind="scrap", number=99) == ()


def test_of_a_large_change_the_first_rows_are_read_and_those_asked_for(store: Store) -> None:
    """One change may hold every scrap there is; nobody reads them all on a terminal."""
    with store.change("many") as writer:
        numbers = [writer.add_scrap(a_scrap()).id for _ in range(9)]
    with store.read() as reader:
        whole, *_ = reader.history()
        first, *_ = reader.history(each=3)
        asked, *_ = reader.history(each=3, kind="scrap", number=numbers[7])
        assert reader.history(each=50) == reader.history()
    assert [row.row_id for row in whole.rows] == numbers
    assert (first.rows, first.more, whole.more) == (whole.rows[:3], 6, 0)
    assert asked.more == 6
    assert numbers[7] in [row.row_id for row in asked.rows]
