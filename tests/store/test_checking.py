"""A check finds what is wrong, and says what is lost and what to do; a whole store is whole."""

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from shapely import Polygon

from scrapstore.store import StoreFault, open_store
from scrapstore.store.check_meaning import HELD
from scrapstore.store.checking import PHOTO_COLUMNS
from scrapstore.store.history import KINDS
from scrapstore.store.models import CHANGES, HISTORY, METADATA
from scrapstore.store.stored_rows import stored_tables
from tests.support.random_stores import random_store


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store with a row in every table."""
    return random_store(tmp_path_factory.mktemp("whole") / "store", 1)


def harmed(whole: Path, tmp_path: Path, *statements: str) -> tuple[StoreFault, ...]:
    """What a check finds after these statements, carried out behind the program's back."""
    folder = tmp_path / "store"
    shutil.copytree(whole, folder)
    with closing(sqlite3.connect(folder / "store.db")) as connection, connection:
        connection.execute("PRAGMA ignore_check_constraints = ON")
        for statement in statements:
            connection.execute(statement)
    with open_store(folder) as store:
        return store.check().faults


@pytest.mark.parametrize("seed", range(3))
def test_a_whole_store_is_whole(tmp_path: Path, seed: int) -> None:
    with open_store(random_store(tmp_path / "store", seed)) as store:
        assert store.check().faults == ()


def test_every_table_is_read_and_named(whole: Path) -> None:
    """A table to come is checked without being listed anywhere."""
    with open_store(whole) as store, store._engine.connect() as connection:
        tables = stored_tables(connection)
    assert tables.rows.keys() == set(METADATA.sorted_tables)
    assert [table.name for table, rows in tables.rows.items() if not rows] == []
    assert tables.broken == {}
    assert KINDS.keys() | {CHANGES, HISTORY} == set(METADATA.sorted_tables)
    assert {column.name for column in PHOTO_COLUMNS} == {"file_name", "cut_out"}
    assert set(HELD) == {"scrap_id", "ready_cut_id", "binding_id"}


BOW_TIE = Polygon([(0, 0), (5, 4), (5, 0), (0, 9)])
DAMAGE = [
    ("UPDATE scraps SET outline = x'00' WHERE id = 3", "value", "scrap 3", "outline"),
    ("UPDATE scraps SET margin = 'wide' WHERE id = 3", "value", "scrap 3", "margin"),
    ("UPDATE scraps SET created = '?' WHERE id = 3", "value", "scrap 3", "created"),
    ("UPDATE scraps SET place = CAST(x'c3' AS TEXT) WHERE id = 3", "value", "scrap 3", "UTF-8"),
    ("UPDATE scraps SET swatches = '[{' WHERE id = 3", "value", "scrap 3", "swatches"),
    ("UPDATE plans SET document = '[' WHERE id = 1", "value", "plan 1", "document"),
    ("UPDATE history SET after = '{' WHERE id = 5", "value", "entry 5 of the", "after"),
    ("UPDATE changes SET at = 'once' WHERE id = 2", "value", "no. 2 of the", "at"),
    ("UPDATE notions SET count = -1 WHERE id = 1", "rule", "form 1", "count -1"),
    ("DELETE FROM notions WHERE id = 2", "history", "zip 2", "is gone"),
    ("UPDATE notions SET kind = 'bolt' WHERE id = 1", "rule", "batting, form or zip 1", "'bolt'"),
    ("UPDATE scraps SET status = 'eaten' WHERE id = 6", "rule", "scrap 6", "'eaten'"),
    ("UPDATE scraps SET area = area * 2 WHERE id = 6", "outline", "scrap 6", "another area"),
    (
        f"UPDATE scraps SET outline = x'{BOW_TIE.wkb_hex}' WHERE id = 6",  # noqa: S608 - our own
        "outline",
        "scrap 6",
        "crosses itself",
    ),
    ("UPDATE scraps SET parent_id = 999 WHERE id = 6", "reference", "scrap 6", "scrap 999"),
    ("UPDATE yardage SET fabric_id = 999 WHERE id = 1", "reference", "yardage 1", "fabric 999"),
    ("DELETE FROM plans WHERE name = 'sofa'", "reference", "plan-stock", "plan 2"),
    ("UPDATE scraps SET parent_id = 5 WHERE id = 4", "parents", "scrap 4", "way of 5"),
    (
        "UPDATE scraps SET status = 'used up', set_aside_for = NULL"
        " WHERE id = (SELECT scrap_id FROM plan_stock WHERE plan_id = 2 AND scrap_id IS NOT NULL)",
        "plan",
        "plan 'sofa'",
        "which is used up",
    ),
    (
        "UPDATE yardage SET length = 1"
        " WHERE id = (SELECT yardage_id FROM plan_stock WHERE plan_id = 2 AND inches IS NOT NULL)",
        "plan",
        "yardage",
        "kept plans hold",
    ),
    (
        "UPDATE plan_pieces SET ready_cut_id = NULL WHERE label = 'A1'",
        "plan",
        "piece A1",
        "nothing says where",
    ),
    ("UPDATE scraps SET place = 'attic' WHERE id = 6", "history", "scrap 6", "another place"),
    ("DELETE FROM scraps WHERE id = 7", "history", "scrap 7", "is gone"),
    (
        "UPDATE history SET change_id = 1 WHERE id = (SELECT max(id) FROM history)",
        "history",
        "entry",
        "is said to be of no. 1, but comes after an entry of no.",
    ),
    (
        "UPDATE history SET change_id = 2 WHERE id = 1",
        "history",
        "entry 1 of",
        "is said to be of no. 2, but comes before an entry of no. 1",
    ),
    ("DELETE FROM history WHERE id = 9", "history", "entry 9 of", "is gone"),
    ("DROP INDEX ix_scraps_place", "index", "the index ix_scraps_place", "is missing"),
    ("DROP TABLE notions", "tables", "the table notions", "is missing"),
    ("DROP TABLE crumbs", "tables", "the table crumbs", "is missing"),
    (
        "CREATE TRIGGER gnaw AFTER INSERT ON scraps BEGIN DELETE FROM fabrics; END",
        "tables",
        "the trigger gnaw",
        "not made by this",
    ),
]


@pytest.mark.parametrize(
    ("statement", "code", "thing", "wrong"), DAMAGE, ids=[one[0][:44] for one in DAMAGE]
)
def test_a_damage_is_found_and_said(
    whole: Path, tmp_path: Path, statement: str, code: str, thing: str, wrong: str
) -> None:
    """What it is about, what is lost, and what to do; beside it may stand what follows from it."""
    faults = harmed(whole, tmp_path, statement)
    found = [fault for fault in faults if fault.code == code and fault.thing.startswith(thing)]
    assert found, faults
    assert wrong in f"{found[0]}"
    for fault in faults:
        assert fault.lost
        assert "store check --mend" in fault.remedy or "store restore" in fault.remedy


def test_damaged_rows_do_not_hide_each_other(whole: Path, tmp_path: Path) -> None:
    """All that is wrong is listed in one go, over several tables."""
    faults = harmed(whole, tmp_path, *(statement for statement, *_ in DAMAGE[:9]))
    things = {(fault.code, fault.thing) for fault in faults}
    assert {
        ("value", "scrap 3"),
        ("value", "plan 1"),
        ("value", "entry 5 of the history"),
        ("value", "no. 2 of the history"),
        ("rule", "form 1"),
    } <= things
    values = [fault for fault in faults if fault.code == "value" and fault.thing == "scrap 3"]
    assert {fault.columns for fault in values} >= {("outline",), ("margin",), ("swatches",)}


@pytest.mark.parametrize("harm", ["gone", "altered"])
def test_a_picture_that_is_gone_or_altered(whole: Path, tmp_path: Path, harm: str) -> None:
    """Its scraps are named, and that they keep their size."""
    shutil.copytree(whole, tmp_path / "store")
    with open_store(tmp_path / "store") as store:
        with store.read() as reader:
            photo = reader.photos()[0]
        file = store.photo_folder / photo.file_name
        file.unlink() if harm == "gone" else file.write_bytes(file.read_bytes() + b"x")
        (fault,) = store.check().faults
    assert fault.thing == f"photo file {photo.file_name}"
    assert "photo 1, lens 1" not in fault.wrong
    assert "scrap 1" in fault.wrong
    assert "outlines, sizes and colours are kept" in fault.lost
    assert "log the photo again" in fault.remedy
