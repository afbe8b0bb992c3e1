"""A mend puts back what something else still says, keeps what is sound, and notes what it did."""

import random
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from scrapstore.errors import StoreError
from scrapstore.store import StockFilter, numbers_to_undo, open_store, plan_named
from scrapstore.store.history import MEND_CHANGE
from tests.benchmarks.store_damage import _one
from tests.store.test_checking import DAMAGE
from tests.support.processes import LONGEST_WAIT, die_at_statement, start
from tests.support.random_stores import random_store
from tests.support.store_damage import all_rows, damage
from tests.support.stores import contents, integrity


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store with a row in every table."""
    return random_store(tmp_path_factory.mktemp("whole") / "store", 1)


@pytest.fixture
def folder(whole: Path, tmp_path: Path) -> Path:
    """A copy of it."""
    return Path(shutil.copytree(whole, tmp_path / "store"))


def harm(folder: Path, *statements: str) -> None:
    with closing(sqlite3.connect(folder / "store.db")) as connection, connection:
        connection.execute("PRAGMA ignore_check_constraints = ON")
        for statement in statements:
            connection.execute(statement)


COMES_BACK = [one[0] for one in DAMAGE if "DROP TABLE" not in one[0] and "attic" not in one[0]]


@pytest.mark.parametrize("statement", COMES_BACK, ids=[one[:44] for one in COMES_BACK])
def test_what_the_history_knows_comes_back_to_the_bit(
    whole: Path, folder: Path, statement: str
) -> None:
    """Every table but the history is as it was before the harm."""
    harm(folder, statement)
    with open_store(folder) as store:
        copy, found = store.mend()
        assert found.faults == ()
        assert copy.is_file()
    assert contents(folder / "store.db") == contents(whole / "store.db")
    assert integrity(folder / "store.db") == "ok"


@pytest.mark.parametrize("visit", [999, 2**62, -7])
def test_an_entry_of_a_visit_that_never_was_goes_to_the_visit_before_it(
    whole: Path, folder: Path, visit: int
) -> None:
    """Also the last one, after which nothing says that it is out of order."""
    harm(
        folder, "PRAGMA foreign_keys = OFF",
        "UPDATE history SET change_id = "  # noqa: S608 - a number of our own
        f"{visit} WHERE id = (SELECT max(id) FROM history)",
    )  # fmt: skip
    with open_store(folder) as store:
        _, found = store.mend()
        assert found.faults == ()
    assert contents(folder / "store.db") == contents(whole / "store.db")


def test_what_was_changed_by_other_means_is_kept_and_noted(whole: Path, folder: Path) -> None:
    """It may be right; the history then has both, what it was and what it is."""
    harm(folder, "UPDATE scraps SET place = 'attic' WHERE id = 6")
    with open_store(folder) as store:
        assert store.mend()[1].faults == ()
        with store.read() as reader:
            assert reader.scrap(6).place == "attic"
            newest = reader.history(most=1)[0]
    assert newest.what == MEND_CHANGE
    (row,) = newest.rows
    assert (row.kind, row.row_id) == ("scrap", 6)
    assert row.before is not None
    assert row.after is not None
    assert (row.before["place"] != "attic", row.after["place"]) == (True, "attic")


def test_what_nothing_knows_is_left_open_or_stands_in(folder: Path) -> None:
    """A parent and a fabric that the history does not know either; what was there is noted."""
    harm(
        folder,
        "DELETE FROM history WHERE kind IN ('fabric', 'scrap', 'yardage')",
        "UPDATE scraps SET parent_id = 999 WHERE id = 5",
        "DELETE FROM fabrics WHERE id = (SELECT fabric_id FROM yardage WHERE id = 1)",
    )
    with open_store(folder) as store:
        assert store.mend()[1].faults == ()
        with store.read() as reader:
            assert reader.scrap(5).parent_id is None
            assert reader.yardage_length(1).fabric.name.startswith("lost fabric ")
            noted = {(row.kind, row.row_id): row for row in reader.history(most=1)[0].rows}
        parent = noted["scrap", 5].before
    assert parent is not None
    assert parent["parent_id"] == 999


def test_a_plan_comes_back_by_its_name(whole: Path, folder: Path) -> None:
    """Else it would let go of all its cloth."""
    harm(folder, "UPDATE plans SET name = 'wench' WHERE name = 'bench'")
    with open_store(folder) as store:
        assert store.mend()[1].faults == ()
    assert contents(folder / "store.db") == contents(whole / "store.db")


def test_a_plan_lets_go_of_cloth_that_is_gone(folder: Path) -> None:
    """Used up, and the history does not know better: the plan is what cannot be."""
    harm(
        folder,
        "DELETE FROM history WHERE kind = 'scrap'",
        "UPDATE scraps SET status = 'used up', set_aside_for = NULL WHERE set_aside_for = 'sofa'",
    )
    with open_store(folder) as store:
        assert store.mend()[1].faults == ()
        with store.read() as reader:
            assert plan_named(reader, "sofa").scrap_ids == ()


def test_undo_goes_past_a_mend(folder: Path) -> None:
    """A mend is not taken back, what was done before it is."""
    with open_store(folder) as store, store.change("scrap edit") as writer:
        scrap = writer.scraps()[0]
        writer.update_scrap(type(scrap)(**(vars(scrap) | {"place": "new"})))
    before = contents(folder / "store.db")
    harm(folder, "UPDATE scraps SET outline = x'00' WHERE id = 6")
    with open_store(folder) as store:
        store.mend()
        assert contents(folder / "store.db") == before
        with store.read() as reader:
            mended = reader.history(most=1)[0].id
            with pytest.raises(StoreError, match="would bring the damage back"):
                numbers_to_undo(reader, to=mended)
            numbers = numbers_to_undo(reader)
        assert numbers[0] < mended
        store.undo(numbers)
        with store.read() as reader:
            assert reader.scrap(scrap.id).place == scrap.place
        assert store.check().faults == ()


@pytest.mark.parametrize("where", ["copy", "photos", "renamed"])
def test_a_picture_comes_back_from_where_its_bytes_are(
    whole: Path, folder: Path, where: str
) -> None:
    """From a whole copy, a folder of photos, or the photo folder under another name."""
    file = sorted((folder / "photos").iterdir())[1]
    content = file.read_bytes()
    if where == "renamed":
        file.rename(file.with_name("IMG 4.jpg"))
    else:
        file.write_bytes(content[:-1])
    look_in = {"copy": [whole], "photos": [whole / "photos"], "renamed": []}[where]
    with open_store(folder) as store:
        assert store.mend(look_in)[1].faults == ()
    assert file.read_bytes() == content


def test_a_picture_that_is_nowhere_is_noted_as_missing(folder: Path) -> None:
    """Its scraps keep their outlines; logged again it is there again."""
    with open_store(folder) as store:
        with store.read() as reader:
            before = reader.scraps(StockFilter(statuses=()))
            name = reader.photos()[0].file_name
        content = (store.photo_folder / name).read_bytes()
        (store.photo_folder / name).unlink()
        _, found = store.mend()
        assert (found.faults, found.noted_missing) == ((), (name,))
        with store.read() as reader:
            assert reader.scraps(StockFilter(statuses=())) == before
        store.keep_photo(content, ".jpg")
        assert store.check().noted_missing == ()


@pytest.mark.parametrize("seed", range(12))
def test_random_damage_is_found_and_mended(whole: Path, folder: Path, seed: int) -> None:
    """As `tests.benchmarks.store_damage` does by the hundred."""
    done = damage(folder, random.Random(seed), 1 + seed % 3)
    assert not _one(whole, folder).startswith("WRONG"), done


def mend_and_die(folder: str, after: int) -> None:
    """In a process of its own: mend, and be killed after so many SQL statements."""
    with open_store(folder) as store:
        die_at_statement(after)
        store.mend()


def test_killed_in_the_middle_of_a_mend(whole: Path, tmp_path: Path) -> None:
    """All of it is mended, or nothing was changed."""
    harmed = shutil.copytree(whole, tmp_path / "harmed")
    harm(harmed, "UPDATE scraps SET outline = x'00'", "DELETE FROM scraps WHERE id > 9")
    before = all_rows(harmed / "store.db")
    ends = []
    for statement in (1, 5, 20, 60, 100, 140, 180, 220, 500, 1000, 2000):
        folder = Path(shutil.copytree(harmed, tmp_path / f"killed {statement}"))
        process = start(mend_and_die, str(folder), statement)
        process.join(timeout=LONGEST_WAIT)
        assert integrity(folder / "store.db") == "ok"
        if all_rows(folder / "store.db") == before:
            ends.append("nothing")
        else:
            with open_store(folder) as store:
                assert store.check().faults == ()
            ends.append("all")
        if process.exitcode == 0:
            break
    assert ends[-1] == "all"
    assert ends.count("nothing") >= 5
    assert "nothing" not in ends[ends.index("all") :]
