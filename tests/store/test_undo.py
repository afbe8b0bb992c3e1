"""An undo puts back every bit of a change, or refuses with a sentence; never half of it."""

import json
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from shapely import Polygon, box
from shapely.geometry import mapping
from sqlalchemy import literal

from scrapstore.actions.stock import YARDAGE, set_status
from scrapstore.actions.yardage import edit_yardage
from scrapstore.errors import NotFoundError, StoreError
from scrapstore.store import (
    NewPlan,
    Store,
    keep_plan,
    numbers_to_undo,
    open_store,
    release_plan,
)
from scrapstore.store.column_types import Json
from scrapstore.store.history import KINDS
from scrapstore.store.models import BINDING, METADATA, PHOTOS, READY_CUT, SCRAPS
from tests.support.processes import LONGEST_WAIT, die_at_statement, run_at_once, start
from tests.support.stores import (
    a_fabric,
    a_length,
    a_photo,
    a_scrap,
    a_strip,
    contents,
    integrity,
    old_store,
    query,
    some_pieces,
)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    """One of most things, in one change."""
    with open_store(tmp_path / "store") as store:
        _fill(store)
        yield store


def _fill(store: Store) -> None:
    with store.change("begin") as writer:
        fabric = writer.add_fabric(a_fabric())
        writer.add_scrap(a_scrap(fabric, writer.add_photo(a_photo())))
        writer.add_yardage(a_length(fabric))
        writer.add_ready_cut(some_pieces(fabric))
        writer.add_binding_strip(a_strip(fabric))


def undo(store: Store, *, to: int | None = None) -> tuple[int, ...]:
    with store.read() as reader:
        numbers = numbers_to_undo(reader, to=to)
    store.undo(numbers)
    return numbers


def test_every_table_has_a_word_in_the_history() -> None:
    """So that rows of a table to come can be recorded, and taken back."""
    assert {table.name for table in METADATA.tables.values()} == {
        *(table.name for table in KINDS),
        "changes",
        "history",
    }


# Numbers that JSON, SQLite and Python may each write in a way of their own.
NUMBERS = st.one_of(
    st.sampled_from([-0.0, 0.0, 0.1, 1 / 3, 5e-324, -5e-324, 2.0**-1074 * 3, 19_999.999999999996]),
    st.floats(-20_000, 20_000, allow_nan=False),
)
OUTLINES = st.builds(
    lambda x, y: Polygon([(x, y), (x + 9, y), (x + 9, -0.0), (x, y + 7)]),
    st.sampled_from([-0.0, 0.0, 0.1, 1 / 3, -1e-300]),
    st.sampled_from([-0.0, 0.0, 1e-17, -2.0]),
)
MOMENTS = st.datetimes(datetime(1990, 1, 1), datetime(2100, 1, 1))
JSON: st.SearchStrategy[Any] = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**70), 2**70)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(st.characters(codec="utf-8")),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(), inner, max_size=3),
    max_leaves=8,
)


@pytest.fixture(scope="module")
def long_store(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    """A store that all examples of a property go on with."""
    with open_store(tmp_path_factory.mktemp("long")) as store:
        _fill(store)
        yield store


@settings(max_examples=20, suppress_health_check=[HealthCheck.too_slow])
@given(
    outline=OUTLINES,
    other=OUTLINES,
    number=NUMBERS,
    moment=MOMENTS,
    document=st.dictionaries(st.text(), JSON, max_size=3),
    measures=st.dictionaries(st.text(), st.integers(0, 9) | NUMBERS, max_size=3),
)
def test_every_kind_of_value_comes_back_to_the_bit(
    long_store: Store,
    outline: Polygon,
    other: Polygon,
    number: float,
    moment: datetime,
    document: dict[str, Any],
    measures: dict[str, float],
) -> None:
    """Added and taken out, changed and changed back; read with plain sqlite3 as bytes."""
    states = [contents(long_store.database)]
    raw = {"outline": outline, "flaws": (outline, other), "grain_deg": number}
    with long_store.change("first") as writer:
        scrap = writer.add_row(SCRAPS, replace(a_scrap(), corrected=()), area=1.0, long_side=9.0,
                               short_side=7.0, **raw)  # fmt: skip
        photo = replace(a_photo(7), taken=moment, focal_length_mm=number)
        photo_id = writer.add_row(PHOTOS, photo)
        lot = writer.add_row(READY_CUT, some_pieces(), cut=outline, long_side=9.0, short_side=7.0,
                             measures=literal(measures, Json()))  # fmt: skip
        keep_plan(writer, NewPlan(name="bench", project="Pad", document=document, ready={1: 3}))
    states.append(contents(long_store.database))
    with long_store.change("second") as writer:
        writer._recording.update(SCRAPS, scrap, {"outline": other, "flaws": ()})
        writer._recording.update(READY_CUT, lot, {"cut": other, "measures": {"side": 4}})
        release_plan(writer, "bench")
    states.append(contents(long_store.database))
    with long_store.change("third") as writer:
        for table, gone in ((SCRAPS, scrap), (READY_CUT, lot), (PHOTOS, photo_id)):
            writer.remove_row(table, gone)
    states.append(contents(long_store.database))
    for state in reversed(states[:-1]):
        before = contents(long_store.database)
        if before != state:
            undo(long_store)
        assert contents(long_store.database) == state


def test_minus_nothing_is_recorded_and_comes_back(store: Store) -> None:
    """To Python -0.0 equals 0.0, but they are other bytes."""
    with store.change("plus") as writer:
        writer._recording.update(SCRAPS, 1, {"outline": Polygon([(0, 0), (9, 0), (9, 6)])})
    before = contents(store.database)
    with store.change("minus") as writer:
        writer._recording.update(SCRAPS, 1, {"outline": Polygon([(0, -0.0), (9, 0), (9, 6)])})
    assert contents(store.database) != before
    undo(store)
    assert contents(store.database) == before


def test_the_history_only_grows(store: Store) -> None:
    rows = "SELECT * FROM history ORDER BY id"
    before = query(store.database, rows), query(store.database, "SELECT * FROM changes")
    undo(store)
    assert query(store.database, rows)[: len(before[0])] == before[0]
    assert query(store.database, "SELECT * FROM changes")[:1] == before[1]
    assert query(store.database, "SELECT what, undoes FROM changes WHERE id = 2") == [
        ("undo begin", 1)
    ]
    with store.read() as reader:
        newest, first = reader.history()
    assert (newest.undoes, first.undone_by) == (1, 2)
    mirrored = [(row.kind, row.row_id, row.after, row.before) for row in newest.rows]
    assert mirrored[::-1] == [(row.kind, row.row_id, row.before, row.after) for row in first.rows]


def test_again_goes_further_back_and_passes_over_what_came_back(store: Store) -> None:
    for place in ("a", "b"):
        with store.change(place) as writer:
            writer.update_scrap(replace(writer.scrap(1), place=place))
    assert undo(store) == (3,)
    with store.change("c") as writer:
        writer.update_scrap(replace(writer.scrap(1), place="c"))
    assert undo(store) == (5,)
    assert undo(store) == (2,)
    assert query(store.database, "SELECT place FROM scraps") == [("bin 2",)]
    assert undo(store) == (1,)
    with pytest.raises(NotFoundError, match="nothing to take back"):
        undo(store)


def test_what_a_plan_holds_does_not_stop_an_undo(store: Store) -> None:
    """The state before was a valid one: nothing is held to the rules for new changes."""
    with store.change("plan keep") as writer:
        keep_plan(writer, NewPlan(name="bench", project="Pad", document={}, scrap_ids=(1,)))
    kept = contents(store.database)
    with store.change("plan release") as writer:
        release_plan(writer, "bench")
    undo(store)
    assert contents(store.database) == kept


# What other means did after a change, and why that can then not be taken back.
_IN_HISTORY = "UPDATE history SET before = json_set(before, '$.{}', {}) WHERE kind = 'scrap'"
MEDDLING: list[tuple[str, str]] = [
    ("UPDATE scraps SET place = 'elsewhere'", "scrap 1 is not as that change left it"),
    ("UPDATE scraps SET place = 'TIN'", "scrap 1 is not as that change left it"),
    ("DELETE FROM scraps", "scrap 1 is not as that change left it"),
    ("INSERT INTO lenses SELECT 1, 'L', 1, 0, 1, 1, 2, created FROM photos WHERE id = 1",
     "a later record counts on photo 2"),
    ("INSERT INTO binding_strips SELECT 2, width, length, start_slope_deg, end_slope_deg,"
     " fabric_id, family, value, place, status, note, created, set_aside_for FROM binding_strips",
     "binding 2 is not as that change left it"),
    ("UPDATE history SET before = '{\"id\": 1}' WHERE kind = 'scrap'", "not as whole as it takes"),
    ("UPDATE history SET kind = 'dragon' WHERE kind = 'photo'", "of a kind that this program"),
    (_IN_HISTORY.format("wings", 2), "not as whole as it takes"),
    (_IN_HISTORY.format("outline", 2), "the history of scrap 1 is not what this program writes"),
    (_IN_HISTORY.format("flaws.type", "'Point'"), "the history of scrap 1 is not what"),
    (_IN_HISTORY.format("created", "'long ago'"), "the history of scrap 1 is not what"),
    (_IN_HISTORY.format("place", 7), "would not be exactly as it was"),
    (_IN_HISTORY.format("margin", -1), "cannot be taken back"),
]  # fmt: skip


@pytest.mark.parametrize(("statement", "why"), MEDDLING)
def test_what_other_means_changed_is_not_taken_back(store: Store, statement: str, why: str) -> None:
    """Nor anything of the same undo; a sentence says which number and which thing."""
    with store.change("mine") as writer:
        writer.add_photo(a_photo(2))
        writer.update_scrap(replace(writer.scrap(1), place="tin"))
        writer.add_binding_strip(a_strip())
        writer.remove_row(BINDING, 2)
        writer.update_yardage(replace(writer.yardage_length(1), length=9.0))
    with closing(sqlite3.connect(store.database)) as other:
        if "history" in statement:
            statement = f"{statement} AND change_id = 2"
        other.execute(statement)
        other.commit()
    before = contents(store.database)
    with store.read() as reader:
        known = reader.history()
    with pytest.raises(StoreError) as refused:
        undo(store)
    assert why in str(refused.value)
    assert "nothing was" in str(refused.value)
    assert contents(store.database) == before
    with store.read() as reader:
        assert reader.history() == known


def test_two_undos_of_one_change(tmp_path: Path) -> None:
    """One does it; the other is told, or shows what it takes instead."""
    folder = tmp_path / "store"
    with open_store(folder) as store:
        _fill(store)
        for place in "abcdef":
            with store.change("edit") as writer:
                writer.update_scrap(replace(writer.scrap(1), place=place))
        before = contents(store.database)
    answers = run_at_once(look_and_undo, [(str(folder),)] * 2)
    taken = [answer for answer in answers if isinstance(answer, tuple)]
    assert [str(a) for a in answers if not isinstance(a, tuple)] == [
        "the store was changed meanwhile, so nothing was taken back; run undo again to see what it "
        "would take back now"
    ] * (2 - len(taken))
    assert sorted(taken, reverse=True) == [(7,), (6,)][: len(taken)]
    ((place,),) = query(folder / "store.db", "SELECT place FROM scraps")
    assert place == "abcdef"[5 - len(taken)]
    assert contents(folder / "store.db") != before


def look_and_undo(folder: str) -> tuple[int, ...]:
    with open_store(folder) as store:
        return undo(store)


def test_a_change_seen_before_another_undo_is_not_taken_back_twice(store: Store) -> None:
    with store.read() as reader:
        numbers = numbers_to_undo(reader)
    store.undo(numbers)
    empty = contents(store.database)
    with pytest.raises(StoreError, match="changed meanwhile"):
        store.undo(numbers)
    assert contents(store.database) == empty


def undo_and_die(folder: str, after: int) -> None:
    """Take everything back and kill this process itself after so many SQL statements of that."""
    with open_store(folder) as store:
        with store.read() as reader:
            numbers = numbers_to_undo(reader, to=1)
        die_at_statement(after)
        store.undo(numbers)


def test_killed_in_the_middle_of_an_undo(tmp_path: Path) -> None:
    """After the first statements one by one, then now and then: all is back or nothing is."""
    made = tmp_path / "made"
    with open_store(made) as store:
        states = [contents(store.database)]
        _fill(store)
        with store.change("plan keep") as writer:
            keep_plan(writer, NewPlan(name="bench", project="Pad", document={}, scrap_ids=(1,)))
        states.append(contents(store.database))
    ends = []
    for statement in (*range(1, 9), *range(9, 400, 13)):
        folder = shutil.copytree(made, tmp_path / f"killed-{statement}")
        process = start(undo_and_die, str(folder), statement)
        process.join(timeout=LONGEST_WAIT)
        database = folder / "store.db"
        assert integrity(database) == "ok"
        ((undos,),) = query(database, "SELECT count(*) FROM changes WHERE undoes IS NOT NULL")
        assert contents(database) == states[{2: 0, 0: 1}[undos]]
        ends.append(undos)
        if process.exitcode == 0:
            break
        with open_store(folder) as store:
            undo(store, to=1)
            assert contents(database) == states[0]
            assert store.check().faults == ()
    assert ends[-1] == 2
    assert ends.count(0) >= 10  # else the test says nothing


def _old_row(number: int, width: float, place: str = "bin 2") -> dict[str, Any]:
    """A scrap as the first history had it: without sides, cut-out, or what it is set aside for."""
    empty = ("name", "flaws", "grain_deg", "from_project", "parent_id", "family", "value", "note")
    return dict.fromkeys(empty) | {
        "id": number, "outline": mapping(box(0, 0, width, 3)), "margin": 0.125, "uncertainty": 0.0,
        "area": 3 * width, "place": place, "fabric_id": 1, "photo_id": 1, "swatches": [],
        "accents": ["pink"], "corrected": [], "status": "available",
        "created": "2025-03-01T10:00:00+00:00",
    }  # fmt: skip


def test_an_old_store_takes_back_what_its_history_knows(tmp_path: Path) -> None:
    """Rows that lack the columns which migrations added since; an entry that lacks more is refused.

    The second scrap was cut smaller and moved, then taken out; then a fourth was added.
    """
    database = old_store(tmp_path)
    large, small, fourth = _old_row(2, 8.0), _old_row(2, 7.0, "tin"), _old_row(4, 9.0)
    entries = [(2, large, small), (2, small, None), (4, None, fourth)]
    with closing(sqlite3.connect(database)) as connection:
        for change, (number, before, after) in enumerate(entries, start=2):
            connection.execute(
                "INSERT INTO changes VALUES (?, '2025-03-02 10:00:00.000000', 'scrap edit', '0')",
                (change,),
            )
            rows = [None if row is None else json.dumps(row) for row in (before, after)]
            connection.execute(
                "INSERT INTO history (change_id, kind, row_id, before, after)"
                " VALUES (?, 'scrap', ?, ?, ?)",
                (change, number, *rows),
            )
        connection.execute("DELETE FROM scraps WHERE id = 2")
        connection.execute(
            "INSERT INTO scraps (id, outline, area, margin, uncertainty, place, fabric_id,"
            " photo_id, swatches, accents, corrected, status, created) SELECT 4, ?, 27, margin,"
            " uncertainty, place, 1, 1, swatches, accents, corrected, status, created FROM scraps"
            " WHERE id = 3",
            (box(0, 0, 9, 3).wkb,),
        )
        connection.commit()
    with open_store(tmp_path) as store:
        states = []
        for number in (4, 3, 2):
            assert undo(store) == (number,)
            with store.read() as reader:
                states.append({scrap.id: scrap for scrap in reader.scraps()})
        assert [sorted(state) for state in states] == [[1, 3], [1, 2, 3], [1, 2, 3]]
        for scrap, width, place in ((states[1][2], 7, "tin"), (states[2][2], 8, "bin 2")):
            assert (scrap.place, scrap.outline) == (place, box(0, 0, width, 3))
            assert (scrap.long_side, scrap.short_side, scrap.area) == (width, 3, 3 * width)
            assert (scrap.set_aside_for, scrap.cut_out, scrap.flaws) == (None, None, ())
            assert scrap.created == datetime(2025, 3, 1, 10, tzinfo=UTC)
        before = contents(store.database)
        with pytest.raises(StoreError, match="recorded by an earlier version, not as whole"):
            undo(store)
        assert contents(store.database) == before
        assert [fault for fault in store.check().faults if fault.code != "photo"] == []


def test_a_length_that_a_plan_cut_up_stays_refused_after_an_undo(store: Store) -> None:
    """Taking back what was said of it since leaves it as the plan left it."""
    with store.change("plan done") as writer:
        writer.update_yardage(replace(writer.yardage_length(1), status="used up"))
    edit_yardage(store, [1], {"length": 5.0, "status": "available"})
    undo(store)
    with pytest.raises(StoreError, match="used up by a plan"):
        set_status(store, YARDAGE, [1], "available", what="reinstate")
