"""Going back to a backup: checked before and after, what was there kept, all of it or nothing."""

import shutil
from dataclasses import replace
from pathlib import Path

import pytest
from shapely import box

from scrapstore.actions.store import back_up_store
from scrapstore.errors import NotFoundError, StoreError
from scrapstore.store import NewScrap, open_store, restore
from scrapstore.store.migrate import HEAD
from tests.support.processes import LONGEST_WAIT, die_at_statement, start
from tests.support.random_stores import random_store
from tests.support.store_damage import all_rows
from tests.support.stores import integrity, old_store, query


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a store, changed after a whole copy and a copy of its records were made."""
    place = tmp_path_factory.mktemp("made")
    random_store(place / "store", 2)
    with open_store(place / "store") as store:
        back_up_store(store, place / "copy")
        back_up_store(store)
        name = store.keep_photo(b"later", ".jpg")
        with store.change("scrap edit") as writer:
            scrap = writer.scraps()[0]
            writer.update_scrap(replace(scrap, place="somewhere else"))
            writer.add_scrap(NewScrap(outline=box(0, 0, 3, 3)))
        with store.read() as reader:
            (store.photo_folder / reader.photos()[0].file_name).unlink()
    assert name
    return place


@pytest.fixture
def place(made: Path, tmp_path: Path) -> Path:
    """A copy of it."""
    return Path(shutil.copytree(made, tmp_path / "place"))


def rows(folder: Path) -> object:
    return all_rows(folder / "store.db")


def nothing(_sentence: str) -> None:
    return


def test_the_store_is_as_it_was_and_what_it_was_is_kept(place: Path) -> None:
    """Every row, the history's too, and the photo that was lost meanwhile; and back again."""
    store, copy = place / "store", place / "copy"
    before = rows(store)
    done = restore(store, copy, nothing)
    assert done.checkup.faults == ()
    assert rows(store) == rows(copy)
    assert done.kept is not None
    assert all_rows(done.kept) == before
    again = restore(store, Path(done.kept.name), nothing)
    assert again.checkup.faults == ()
    assert rows(store) == before
    assert [path.name for path in store.glob(".*")] == []


def test_records_alone_come_from_the_backups_folder_by_name(place: Path) -> None:
    """The photos are those of the store."""
    (file,) = (place / "store" / "backups").glob("*.db")
    done = restore(place / "store", Path(file.name), nothing)
    assert rows(place / "store") == rows(place / "copy")
    assert {fault.code for fault in done.checkup.faults} == {"photo"}


def test_into_a_new_place(place: Path, tmp_path: Path) -> None:
    """The computer is gone, the copy is there."""
    done = restore(tmp_path / "new" / "store", place / "copy", nothing)
    assert done.kept is None
    assert done.checkup.faults == ()
    assert rows(tmp_path / "new" / "store") == rows(place / "copy")


@pytest.mark.parametrize("harm", ["text", "half", "nothing", "pages"])
def test_a_store_that_cannot_be_read_any_more(place: Path, harm: str) -> None:
    """Its bytes are kept all the same."""
    file = place / "store" / "store.db"
    whole = file.read_bytes()
    spoilt = {
        "text": b"Dear diary",
        "half": whole[: len(whole) // 2],
        "nothing": b"",
        "pages": whole[:8192] + bytes(len(whole) - 8192),
    }[harm]
    file.write_bytes(spoilt)
    done = restore(place / "store", place / "copy", nothing)
    assert done.checkup.faults == ()
    assert rows(place / "store") == rows(place / "copy")
    assert done.kept is not None
    assert (done.kept / "store.db").read_bytes() == spoilt


def test_a_backup_of_an_older_program_is_brought_up_to_date(place: Path, tmp_path: Path) -> None:
    """In the copy of it: the backup stays as it is."""
    old = old_store(tmp_path / "old")
    before = old.read_bytes()
    done = restore(place / "store", tmp_path / "old", nothing)
    assert {fault.code for fault in done.checkup.faults} == {"photo"}  # it never had the file
    assert query(place / "store" / "store.db", "SELECT version_num FROM alembic_version") == [
        (HEAD,)
    ]
    assert query(place / "store" / "store.db", "SELECT count(*) FROM scraps") == [(3,)]
    assert old.read_bytes() == before


@pytest.mark.parametrize(
    ("spoil", "why"),
    [
        ("UPDATE scraps SET outline = x'00' WHERE id = 2", "not whole: scrap 2 has an unreadable"),
        ("UPDATE alembic_version SET version_num = '0999'", "newer scrapstore"),
        ("DELETE FROM alembic_version", "no whole backup"),
        ("DROP TABLE history", "no such table|not whole"),
    ],
)
def test_a_backup_that_is_not_whole_is_refused(place: Path, spoil: str, why: str) -> None:
    before = rows(place / "store")
    query_and_keep(place / "copy" / "store.db", spoil)
    with pytest.raises(StoreError, match=why):
        restore(place / "store", place / "copy", nothing)
    assert rows(place / "store") == before
    assert [path.name for path in (place / "store").glob(".*")] == []


def query_and_keep(database: Path, statement: str) -> None:
    import sqlite3

    with sqlite3.connect(database) as connection:
        connection.execute(statement)
    connection.close()


def test_what_is_no_backup_is_refused(place: Path) -> None:
    (place / "letter.db").write_text("Dear diary")
    for name, error, why in (
        ("nosuch", NotFoundError, "there is no backup"),
        ("letter.db", StoreError, "no whole backup"),
        ("store", StoreError, "is the store itself"),
    ):
        with pytest.raises(error, match=why):
            restore(place / "store", place / name, nothing)


def test_stopped_where_a_damaged_file_would_be_replaced(
    place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The damaged file is still there, byte for byte, and once more in the backups folder."""
    file = place / "store" / "store.db"
    file.write_bytes(b"Dear diary" * 900)
    replace_it = Path.replace

    def stopped(path: Path, target: Path) -> Path:
        if target == file:
            raise KeyboardInterrupt
        return replace_it(path, target)

    monkeypatch.setattr(Path, "replace", stopped)
    with pytest.raises(KeyboardInterrupt):
        restore(place / "store", place / "copy", nothing)
    assert file.read_bytes() == b"Dear diary" * 900
    (kept,) = (place / "store" / "backups").glob("damaged-*/store.db")
    assert kept.read_bytes() == file.read_bytes()
    assert [path.name for path in (place / "store").glob(".*")] == []
    monkeypatch.undo()
    assert restore(place / "store", place / "copy", nothing).checkup.faults == ()


def restore_and_die(folder: str, backup: str, after: int) -> None:
    """In a process of its own: restore, and be killed after so many SQL statements."""
    die_at_statement(after)
    restore(Path(folder), Path(backup), nothing)


def test_killed_in_the_middle_of_a_restore(place: Path) -> None:
    """All is as in the backup, or as it was; and the store opens and works."""
    before, wanted = rows(place / "store"), rows(place / "copy")
    ends = []
    for statement in (1, 30, 70, 100, 120, 130, 140, 150, 160, 170, 180, 400, 2000):
        folder = Path(shutil.copytree(place / "store", place / f"killed {statement}"))
        process = start(restore_and_die, str(folder), str(place / "copy"), statement)
        process.join(timeout=LONGEST_WAIT)
        assert integrity(folder / "store.db") == "ok"
        found = rows(folder)
        assert found in (before, wanted)
        ends.append(found == wanted)
        if process.exitcode == 0:
            break
    assert ends[-1]
    assert ends.count(False) >= 4
    assert sorted(ends) == ends
