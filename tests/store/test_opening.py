"""Opening: a new store, other people's files, damaged and newer stores."""

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path
from types import SimpleNamespace

import pytest
from shapely import box

from scrapstore.errors import (
    NotFoundError,
    StoreBusyError,
    StoreDamagedError,
    StoreError,
    StoreNewerError,
)
from scrapstore.store import NewScrap, open_store, store_folder
from scrapstore.store import engine as engine_module
from tests.support.processes import run_at_once
from tests.support.stores import integrity, query, tables


def test_a_new_store_is_made_and_told(tmp_path: Path) -> None:
    """Nothing there: a store is made, once, and a sentence says where."""
    said: list[str] = []
    for _ in range(2):
        with open_store(tmp_path / "deep" / "store", notify=said.append):
            pass
    assert said == [f"made a new store in {tmp_path / 'deep' / 'store'}"]
    assert (tmp_path / "deep" / "store" / "photos").is_dir()
    assert integrity(tmp_path / "deep" / "store" / "store.db") == "ok"


def test_where_a_store_is(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Named folder before environment before the user's data folder."""
    monkeypatch.setenv("SCRAPSTORE_STORE", str(tmp_path / "env"))
    assert store_folder(tmp_path / "named") == tmp_path / "named"
    assert store_folder() == tmp_path / "env"
    monkeypatch.delenv("SCRAPSTORE_STORE")
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    assert store_folder().name == "scrapstore"


def test_a_store_moves_as_one_folder(tmp_path: Path) -> None:
    """Nothing in it names the place where it was made."""
    with open_store(tmp_path / "here") as store:
        name = store.keep_photo(b"picture", ".jpg")
        with store.change("test") as writer:
            writer.add_scrap(NewScrap(outline=box(0, 0, 9, 22)))
    shutil.move(tmp_path / "here", tmp_path / "there")
    with open_store(tmp_path / "there") as store, store.read() as reader:
        assert reader.scrap(1).area == 198
        assert (store.photo_folder / name).read_bytes() == b"picture"


def test_settings_of_the_database(tmp_path: Path) -> None:
    """Write-ahead log, foreign keys, waiting, and commits that outlive a power cut."""
    with open_store(tmp_path) as store, store._engine.connect() as connection:

        def pragma(name: str) -> object:
            return connection.exec_driver_sql(f"PRAGMA {name}").scalar_one()

        assert pragma("journal_mode") == "wal"
        assert pragma("foreign_keys") == 1
        assert pragma("synchronous") == 2
        assert pragma("busy_timeout") == engine_module.BUSY_SECONDS * 1000


def test_a_file_that_is_no_store_is_left_alone(tmp_path: Path) -> None:
    """A text file under the store's name stays byte for byte."""
    (tmp_path / "store.db").write_text("Dear diary, today I bought fabric again. " * 40)
    before = (tmp_path / "store.db").read_bytes()
    with pytest.raises(StoreDamagedError, match=r"not a scrapstore store; it was left as it is"):
        open_store(tmp_path)
    assert (tmp_path / "store.db").read_bytes() == before
    assert [path.name for path in tmp_path.iterdir()] == ["store.db"]


def test_the_database_of_another_program_is_left_alone(tmp_path: Path) -> None:
    """Tables of someone else's are no store."""
    with closing(sqlite3.connect(tmp_path / "store.db")) as connection:
        connection.execute("CREATE TABLE scraps (id INTEGER PRIMARY KEY)")
    before = (tmp_path / "store.db").read_bytes()
    with pytest.raises(StoreDamagedError, match="another program"):
        open_store(tmp_path)
    assert (tmp_path / "store.db").read_bytes() == before


def test_a_store_cut_short_is_refused(tmp_path: Path) -> None:
    """Half a file, as a broken copy leaves it."""
    with open_store(tmp_path):
        pass
    whole = (tmp_path / "store.db").read_bytes()
    (tmp_path / "store.db").write_bytes(whole[: len(whole) // 2])
    with pytest.raises(StoreDamagedError, match=r"cut short .*backups"):
        open_store(tmp_path)
    assert (tmp_path / "store.db").read_bytes() == whole[: len(whole) // 2]


def test_a_scribbled_page_is_told_as_damage(tmp_path: Path) -> None:
    """Zeros over the inner pages: SQLite's own error becomes a sentence."""
    with open_store(tmp_path) as store, store.change("test") as writer:
        writer.add_scrap(NewScrap(outline=box(0, 0, 9, 22)))
    content = bytearray((tmp_path / "store.db").read_bytes())
    content[4096:] = bytes(len(content) - 4096)
    (tmp_path / "store.db").write_bytes(content)
    with pytest.raises(StoreDamagedError, match=r"damaged .*malformed.*backups"):
        open_store(tmp_path)


def test_a_store_without_its_revision_is_damaged(tmp_path: Path) -> None:
    """Ours by its header, but not saying which version wrote it."""
    with open_store(tmp_path):
        pass
    with closing(sqlite3.connect(tmp_path / "store.db", isolation_level=None)) as connection:
        connection.execute("DELETE FROM alembic_version")
    with pytest.raises(StoreDamagedError, match="does not say which version"):
        open_store(tmp_path)


def test_a_newer_store_is_refused(tmp_path: Path) -> None:
    """A revision this program has never heard of."""
    with open_store(tmp_path):
        pass
    with closing(sqlite3.connect(tmp_path / "store.db", isolation_level=None)) as connection:
        connection.execute("UPDATE alembic_version SET version_num = '0999'")
    before = tables(tmp_path / "store.db")
    with pytest.raises(StoreNewerError, match=r"newer scrapstore .*0999.*update scrapstore"):
        open_store(tmp_path)
    assert tables(tmp_path / "store.db") == before
    assert not (tmp_path / "backups").exists()


def test_a_file_in_place_of_the_folder(tmp_path: Path) -> None:
    """--store with a file's name."""
    (tmp_path / "store").write_text("x")
    with pytest.raises(StoreError, match=r"is not a folder; name the folder"):
        open_store(tmp_path / "store")


@pytest.mark.parametrize("there", [None, "folder", "file"])
def test_no_store_is_made_where_none_may_be(tmp_path: Path, there: str | None) -> None:
    """A slip in its name: where it was looked for is told, and how to start one."""
    folder = tmp_path / "stsh"
    if there:
        folder.mkdir()
    if there == "file":
        (folder / "store.db").touch()  # as a call killed at its very start leaves it
    before = sorted(tmp_path.rglob("*"))
    with pytest.raises(
        NotFoundError, match=r"there is no store in .*stsh \(--store names it; .*add"
    ):
        open_store(folder, make=False)
    assert sorted(tmp_path.rglob("*")) == before
    with open_store(folder):
        pass
    with open_store(folder, make=False) as store, store.read() as reader:
        assert reader.scraps() == ()


def test_the_store_of_nobody() -> None:
    with pytest.raises(StoreError, match=r"~nobody-of-that-name/store: there is no such user"):
        open_store("~nobody-of-that-name/store")


def test_a_full_disk_is_called_full(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """SQLite cannot make the files it reads with either, and calls that an error of the disk."""
    with open_store(tmp_path):
        pass
    # A folder where the log should be: SQLite cannot open it, as on a full disk.
    (tmp_path / "store.db-wal").mkdir()
    with pytest.raises(StoreError, match=r"store\.db") as told:
        open_store(tmp_path)
    assert "no room" not in str(told.value)
    monkeypatch.setattr("shutil.disk_usage", lambda _path: SimpleNamespace(free=4096))
    with pytest.raises(StoreError, match=r"no room left on the disk of .*store\.db"):
        open_store(tmp_path)


def test_an_empty_file_becomes_a_store(tmp_path: Path) -> None:
    """What a call killed at its very start leaves."""
    (tmp_path / "store.db").touch()
    with open_store(tmp_path) as store, store.read() as reader:
        assert reader.scraps() == ()


def test_a_store_that_cannot_be_written_is_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On a read-only disk: told, read without a file left beside it, a change refused."""
    folder = tmp_path / "store, 100% ours"
    with open_store(folder) as store, store.change("test") as writer:
        writer.add_scrap(NewScrap(outline=box(0, 0, 4, 6)))
    before = {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}
    # An administrator may write everywhere, so the question itself is answered here.
    monkeypatch.setattr("os.access", lambda path, _mode: path != folder)
    said: list[str] = []
    with open_store(folder, notify=said.append) as store:
        with store.read() as reader:
            assert [scrap.id for scrap in reader.scraps()] == [1]
        with (
            pytest.raises(
                StoreError, match=r"is read-only: it can be looked at, not changed\. Copy"
            ),
            store.change("no") as writer,
        ):
            writer.add_scrap(NewScrap(outline=box(0, 0, 1, 1)))
        with pytest.raises(StoreError, match="is read-only"):
            store.keep_photo(b"picture", ".jpg")
        store.copy_database(tmp_path / "copy" / "store.db")
        after = {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}
    assert after == before
    assert said == [f"{folder} cannot be written: the store can be looked at, not changed"]
    with open_store(tmp_path / "copy") as store, store.read() as reader:
        assert [scrap.id for scrap in reader.scraps()] == [1]


@pytest.mark.parametrize("why", ["log", "older"])
def test_a_store_that_cannot_be_written_may_need_a_copy(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, why: str
) -> None:
    """Where something must be written first, the way out is told and nothing is touched."""
    with open_store(tmp_path) as store, store.change("test") as writer:
        writer.add_scrap(NewScrap(outline=box(0, 0, 4, 6)))
    if why == "log":
        (tmp_path / "store.db-wal").write_bytes(b"changes")
    else:
        with closing(sqlite3.connect(tmp_path / "store.db")) as connection, connection:
            connection.execute("UPDATE alembic_version SET version_num = '0004'")
    monkeypatch.setattr("os.access", lambda path, _mode: path != tmp_path)
    with pytest.raises(StoreError, match="copy the folder"):
        open_store(tmp_path)


def test_a_store_that_is_kept_busy(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Another process that does not finish writing is told as such."""
    monkeypatch.setattr(engine_module, "BUSY_SECONDS", 0.1)
    with open_store(tmp_path) as store:
        with closing(sqlite3.connect(store.database, isolation_level=None)) as other:
            other.execute("BEGIN IMMEDIATE")
            with (
                pytest.raises(StoreBusyError, match="another scrapstore is writing"),
                store.change("test"),
            ):
                pass
            with store.read() as reader:  # reading goes on
                assert reader.scraps() == ()
        with store.change("test") as writer:
            writer.add_scrap(NewScrap(outline=box(0, 0, 1, 1)))


def test_six_processes_open_a_new_store_at_once(tmp_path: Path) -> None:
    """One makes it, all use it, nobody fails."""
    answers = run_at_once(add_five_scraps, [(str(tmp_path / "store"),)] * 6)
    assert sorted(answers) == [0, 0, 0, 0, 0, 1]  # sentences about a new store
    assert query(tmp_path / "store" / "store.db", "SELECT count(*) FROM scraps") == [(30,)]
    assert query(tmp_path / "store" / "store.db", "SELECT count(*) FROM changes") == [(30,)]


def add_five_scraps(folder: str) -> int:
    """In a process of its own: open, write five times, return how much was told."""
    said: list[str] = []
    with open_store(folder, notify=said.append) as store:
        for _ in range(5):
            with store.change("test") as writer:
                writer.add_scrap(NewScrap(outline=box(0, 0, 1, 1)))
    return len(said)
