"""Photos and copies are whole or not there."""

import hashlib
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from shapely import box

from scrapstore.errors import StoreError
from scrapstore.store import NewScrap, open_store
from scrapstore.store.files import copy_database, read_by_content, write_by_content, write_whole
from tests.support.stores import integrity, query


def test_a_file_is_named_by_its_content(tmp_path: Path) -> None:
    """The same bytes are one file, written once."""
    name = write_by_content(tmp_path, b"cloth", ".jpg")
    assert name == hashlib.sha256(b"cloth").hexdigest() + ".jpg"
    written = (tmp_path / name).stat().st_mtime_ns
    assert write_by_content(tmp_path, b"cloth", ".jpg") == name
    assert (tmp_path / name).stat().st_mtime_ns == written
    assert [path.name for path in tmp_path.iterdir()] == [name]


@pytest.mark.parametrize("harmed", [b"clo", b"", b"cloti"])
def test_a_damaged_file_is_noticed_and_written_anew(tmp_path: Path, harmed: bytes) -> None:
    """What a broken copy of the folder may hold; one flipped bit is enough."""
    name = write_by_content(tmp_path, b"cloth", ".jpg")
    assert read_by_content(tmp_path / name) == b"cloth"
    (tmp_path / name).write_bytes(harmed)
    assert read_by_content(tmp_path / name) is None
    write_by_content(tmp_path, b"cloth", ".jpg")
    assert (tmp_path / name).read_bytes() == b"cloth"


def test_a_folder_that_is_a_file(tmp_path: Path) -> None:
    """Where the copy should go, there is something else."""
    with open_store(tmp_path / "store") as store:
        store.backup_folder.write_text("x")
        with pytest.raises(StoreError, match=r"backups.*cannot be written"):
            store.copy_database(store.backup_folder / "copy.db")


def test_a_disk_that_refuses(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A sentence, and no half-written file."""

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(StoreError, match="No space left on device"):
        write_whole(tmp_path / "photo.jpg", b"cloth")
    assert list(tmp_path.iterdir()) == []


def test_a_copy_of_the_database_while_another_writes(tmp_path: Path) -> None:
    """What is committed is in it, what is not is not, and it is one whole file."""
    with open_store(tmp_path / "store") as store:
        with store.change("test") as writer:
            writer.add_scrap(NewScrap(outline=box(0, 0, 1, 1)))
        with closing(sqlite3.connect(store.database, isolation_level=None)) as other:
            other.execute("BEGIN IMMEDIATE")
            other.execute("UPDATE scraps SET place = 'not yet'")
            store.copy_database(tmp_path / "copy.db")
            other.execute("ROLLBACK")
    assert integrity(tmp_path / "copy.db") == "ok"
    assert query(tmp_path / "copy.db", "SELECT place FROM scraps") == [(None,)]
    assert sorted(path.name for path in tmp_path.iterdir()) == ["copy.db", "store"]


def test_a_copy_never_overwrites(tmp_path: Path) -> None:
    """Not even an empty file."""
    (tmp_path / "copy.db").touch()
    with pytest.raises(StoreError, match="exists already"):
        copy_database(tmp_path / "store.db", tmp_path / "copy.db")
