"""``store check``, ``restore``, ``export`` and ``import`` as they are called."""

import json
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from tests.support.program import Program
from tests.support.random_stores import random_store
from tests.support.store_damage import all_rows


@pytest.fixture
def store(tmp_path: Path) -> Path:
    """The store that `scrapstore` uses, with a row in every table."""
    return random_store(tmp_path / "store", 1)


def harm(store: Path, *statements: str) -> None:
    with closing(sqlite3.connect(store / "store.db")) as connection, connection:
        connection.execute("PRAGMA ignore_check_constraints = ON")
        for statement in statements:
            connection.execute(statement)


def test_a_fault_is_said_with_what_is_lost_and_what_to_do(scrapstore: Program, store: Path) -> None:
    harm(store, "UPDATE scraps SET margin = 'wide' WHERE id = 3")
    said = scrapstore("store", "check", status=1)
    flat = " ".join(said.out.split())
    assert "scrap 3 has an unreadable margin: 'wide' stands where a number should be." in flat
    assert "lost: its margin" in flat
    assert "do: scrapstore store check --mend puts it back as the history has it" in flat
    assert (
        "one thing is not as it should be; scrapstore store check --mend puts it right" in said.err
    )
    document = scrapstore("store", "check", "--json", status=1).json
    (fault,) = document["faults"]
    assert (fault["code"], fault["thing"], fault["mends"]) == ("value", "scrap 3", True)


def test_a_mend_says_what_it_did_and_stands_in_the_history(
    scrapstore: Program, store: Path
) -> None:
    before = all_rows(store / "store.db")
    harm(
        store, "UPDATE scraps SET margin = 'wide' WHERE id = 3", "DELETE FROM history WHERE id = 9"
    )
    harmed = all_rows(store / "store.db")
    said = scrapstore("store", "check", "--mend")
    assert "Mended: scrap 3 has an unreadable margin" in said.out
    assert "Whole:" in said.out
    (copy,) = (store / "backups").glob("*.db")
    assert all_rows(copy) == harmed
    assert all_rows(store / "store.db")["scraps", 3] == before["scraps", 3]
    assert "Mended the store, without changing a record" in " ".join(
        scrapstore("history").out.split()
    )
    assert scrapstore("history", "--details").out
    again = scrapstore("store", "check", "--mend", "--json").json
    assert (again["faults"], again["mended"], again["backup"]) == ([], [], None)


@pytest.mark.parametrize("harm_done", ["text", "pages"])
def test_a_file_that_cannot_be_mended_is_restored(
    scrapstore: Program, store: Path, tmp_path: Path, harm_done: str
) -> None:
    """The check says so, and what it says to do is what helps."""
    before = all_rows(store / "store.db")
    scrapstore("store", "backup", str(tmp_path / "copy"))
    content = (store / "store.db").read_bytes()
    (store / "store.db").write_bytes(
        b"Dear diary" * 900
        if harm_done == "text"
        else content[:20480] + bytes(len(content) - 20480)
    )
    for words in (("store", "check"), ("store", "check", "--mend")):
        said = scrapstore(*words, status=1)
        assert "scrapstore store restore BACKUP" in " ".join(said.out.split())
    said = scrapstore("store", "restore", str(tmp_path / "copy"), "--json")
    assert said.json["faults"] == []
    assert all_rows(store / "store.db") == before
    scrapstore("store", "check")


def test_settings_of_a_newer_program_are_a_fault_too(
    scrapstore: Program, store: Path, tmp_path: Path
) -> None:
    (tmp_path / "settings.toml").write_text('laser_cutter = "yes"', encoding="utf-8")
    said = scrapstore("store", "check", "--json", status=1)
    (fault,) = said.json["faults"]
    assert fault["code"] == "settings"
    assert "laser_cutter" in fault["wrong"]
    assert "update scrapstore" in fault["remedy"]


def test_out_and_in_again(scrapstore: Program, store: Path, tmp_path: Path) -> None:
    """Then undo goes on from the last change before the export."""
    file, new = str(tmp_path / "my store.zip"), str(tmp_path / "new")
    scrapstore("store", "export", file)
    imported = scrapstore("store", "import", file, "--store", new, "--json").json
    assert (imported["folder"], imported["faults"]) == (new, [])
    assert all_rows(tmp_path / "new" / "store.db") == all_rows(store / "store.db")
    one, other = (
        json.loads(scrapstore("undo", "--yes", "--json", *where).out)
        for where in ((), ("--store", new))
    )
    assert one == other
    assert one["taken_back"]
    said = scrapstore("store", "import", file, "--store", new, status=1)
    assert "the store is not empty" in said.err
