"""A cut is booked whole or not at all: killed in the middle, or beside others at the same cloth."""

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from shapely import box

from scrapstore.actions.cut import book_cut, look_at_cut
from scrapstore.actions.plan import release_kept
from scrapstore.actions.scrap import retire_scraps
from scrapstore.errors import PlanError, ScrapstoreError
from scrapstore.planning.after_cutting import Spoilt
from scrapstore.planning.cut_request import CutRequest
from scrapstore.store import NewFabric, NewScrap, NewYardage, StockFilter, Store, open_store, plans
from tests.actions.test_cut import SETTINGS, booked, kept, project
from tests.support.processes import LONGEST_WAIT, die_at_statement, run_at_once, start
from tests.support.stores import integrity, query

TABLES = ("scraps", "ready_cut", "yardage", "plans", "plan_stock", "plan_pieces", "history",
          "changes")  # fmt: skip
SPOILT = CutRequest(spoilt={"A1": Spoilt(0.25, "right")})


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A store with a plan of six red squares from two scraps, and two blue from a length."""
    with open_store(tmp_path / "store") as store:
        with store.change("test") as writer:
            red = writer.add_fabric(NewFabric(name="red drill", family="red"))
            for _ in range(2):
                outline = box(0, 0, 13, 3.5)
                writer.add_scrap(NewScrap(outline=outline, fabric=red, grain_deg=0.0))
            blue = writer.add_fabric(NewFabric(name="drill", family="blue", usable_width=40.0))
            writer.add_yardage(NewYardage(fabric=blue, length=18.0))
        file = project(tmp_path, "six", ("red", "3", "3", 6), ("blue", "3", "3", 2))
        kept(store, file, "six")
    return tmp_path / "store"


def rows(folder: Path) -> dict[str, list[tuple[Any, ...]]]:
    """Every row that a cut may touch, with plain sqlite3, without the moments they were made."""
    found = {}
    for table in TABLES:
        columns = [
            name
            for _, name, *_ in query(folder / "store.db", f"PRAGMA table_info({table})")
            if name not in ("created", "at", "before", "after")
        ]
        found[table] = query(
            folder / "store.db",
            f"SELECT {', '.join(columns)} FROM {table} ORDER BY id",  # noqa: S608 - our own names
        )
    return found


def cut_and_die(folder: str, after: int) -> None:
    """Cut, and kill this process itself after so many SQL statements of the booking."""
    with open_store(folder) as store:
        preview = look_at_cut(store, "six", SPOILT, SETTINGS)
        die_at_statement(after)
        book_cut(store, preview, SETTINGS)


def test_killed_in_the_middle_of_a_cut(folder: Path, tmp_path: Path) -> None:
    """At statements spread over all of it: nothing is booked, and then it can be."""
    before = rows(folder)
    survived = []
    for statement in (1, 2, *range(10, 1000, 30)):
        copy = tmp_path / f"killed-{statement}"
        shutil.copytree(folder, copy)
        process = start(cut_and_die, str(copy), statement)
        process.join(timeout=LONGEST_WAIT)
        assert integrity(copy / "store.db") == "ok"
        survived.append(process.exitcode == 0)
        if survived[-1]:
            break
        assert rows(copy) == before
    assert survived[-1]
    assert len(survived) > 5  # else the test says nothing
    assert len(rows(copy)["plan_pieces"]) == 8
    killed = tmp_path / "killed-10"
    with open_store(killed) as store:
        assert store.check().faults == ()
        booked(store, "six", SPOILT)
        assert store.check().faults == ()
    assert rows(killed) == rows(copy)


def do(folder: str, what: str, thing: Any) -> str:
    """Do one of four things in a process of its own; return the sentence of what failed."""
    with open_store(folder) as store:
        try:
            match what:
                case "release":
                    release_kept(store, thing)
                case "retire":
                    retire_scraps(store, [thing])
                case "cut":
                    booked(store, "six", CutRequest(scraps=[thing]))
                case "again":
                    booked(store, thing, CutRequest(again=True))
        except ScrapstoreError as error:
            return str(error)
        return what


@pytest.fixture
def store(folder: Path) -> Iterator[Store]:
    with open_store(folder) as opened:
        yield opened


def test_of_two_who_cut_the_same_scrap_one_wins(store: Store) -> None:
    folder = str(store.folder)
    answers = run_at_once(do, [(folder, "cut", 1)] * 2)
    (lost,) = [answer for answer in answers if answer != "cut"]
    assert "meanwhile; nothing was booked" in lost or "is not still to be cut" in lost
    with store.read() as reader:
        aside = reader.ready_cut(StockFilter(statuses=("set aside",)))
        assert sum(lot.count for lot in aside) == 3
        assert [one.parent_id for one in reader.scraps()] == [1]
    assert store.check().faults == ()


def test_of_two_who_cut_two_scraps_both_are_booked(store: Store) -> None:
    """The pieces of both are in one lot."""
    folder = str(store.folder)
    assert run_at_once(do, [(folder, "cut", 1), (folder, "cut", 2)]) == ["cut"] * 2
    with store.read() as reader:
        aside = reader.ready_cut(StockFilter(statuses=("set aside",)))
        assert [lot.count for lot in aside] == [6]
    assert store.check().faults == ()


def test_a_cut_beside_a_release(store: Store) -> None:
    """Cut first: the pieces are free. Released first: nothing is cut, and a sentence says so."""
    folder = str(store.folder)
    answers = run_at_once(do, [(folder, "cut", 1), (folder, "release", "six")])
    assert "release" in answers
    (cut,) = [answer for answer in answers if answer != "release"]
    assert cut == "cut" or "no kept plan is called 'six'" in cut
    with store.read() as reader:
        assert plans(reader) == ()
        assert sum(lot.count for lot in reader.ready_cut()) == (3 if cut == "cut" else 0)
        scraps = reader.scraps()
    assert [one.id for one in scraps] == ([2, 3] if cut == "cut" else [1, 2])
    assert {one.status for one in scraps} == {"available"}
    assert store.check().faults == ()


def test_a_replacement_beside_a_retired_scrap(store: Store) -> None:
    """The scrap that was to give the piece again is retired at the same moment."""
    booked(store, "six", CutRequest(scraps=[1, 2], spoilt={"A1": Spoilt(0.25, "right")}))
    with store.change("test") as writer:
        red = writer.fabric("red drill")
        new = writer.add_scrap(NewScrap(outline=box(0, 0, 4, 4), fabric=red, grain_deg=0.0)).id
    folder = str(store.folder)
    answers = run_at_once(do, [(folder, "again", "six"), (folder, "retire", new)])
    with store.read() as reader:
        scrap = reader.scrap(new)
        (plan,) = plans(reader)
    assert scrap.status == "used up"
    if "again" in answers:
        assert plan.pieces["A1"].state == "cut"
    else:
        assert plan.pieces["A1"].state == "spoilt"
        assert any("nothing" in answer for answer in answers)
    assert store.check().faults == ()


def test_cloth_retired_between_the_picture_and_the_yes_is_not_cut(store: Store) -> None:
    """The same, in this order for certain."""
    booked(store, "six", CutRequest(scraps=[1, 2], spoilt={"A1": Spoilt(0.25, "right")}))
    with store.change("test") as writer:
        red = writer.fabric("red drill")
        new = writer.add_scrap(NewScrap(outline=box(0, 0, 4, 4), fabric=red, grain_deg=0.0)).id
    seen = look_at_cut(store, "six", CutRequest(again=True), SETTINGS)
    retire_scraps(store, [new])
    before = rows(store.folder)
    with pytest.raises(PlanError, match="changed or cut meanwhile; nothing was booked"):
        book_cut(store, seen, SETTINGS)
    assert rows(store.folder) == before
