"""An archive has all of a store, comes back exactly, and harms nobody whoever made it."""

import csv
import hashlib
import io
import json
import random
import shutil
import sqlite3
import zipfile
from contextlib import closing
from pathlib import Path
from typing import Any, cast

import pytest
from sqlalchemy.dialects import sqlite

from scrapstore.errors import ScrapstoreError, StoreDamagedError, StoreError
from scrapstore.store import import_archive, open_store
from scrapstore.store.column_types import Document, Json
from scrapstore.store.models import METADATA
from tests.support.hostile_archives import HOSTILE, Files, contents_of, spoilt_at_random, write
from tests.support.processes import LONGEST_WAIT, die_at_statement, start
from tests.support.random_stores import random_store
from tests.support.store_damage import all_rows
from tests.support.stores import integrity, old_store, query


def nothing(_sentence: str) -> None:
    return


def photos(folder: Path) -> dict[str, bytes]:
    return {file.name: file.read_bytes() for file in (folder / "photos").iterdir()}


@pytest.fixture(scope="module")
def exported(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """A store with a row in every table, and its archive."""
    place = tmp_path_factory.mktemp("exported")
    folder = random_store(place / "store", 3)
    with open_store(folder) as store:
        assert store.export(place / "store.zip") == ()
    return folder, place / "store.zip"


@pytest.mark.parametrize("seed", range(5))
def test_a_store_comes_back_row_by_row_and_byte_by_byte(tmp_path: Path, seed: int) -> None:
    """By the hundred: `tests.benchmarks.store_archive`."""
    folder = random_store(tmp_path / "store", seed)
    with open_store(folder) as store:
        store.export(tmp_path / "store.zip")
        with store.read() as reader:
            named = reader.photo_files(past=True)
    found = import_archive(tmp_path / "new", tmp_path / "store.zip", nothing)
    assert found.faults == ()
    assert all_rows(tmp_path / "new" / "store.db") == all_rows(folder / "store.db")
    kept = {name: content for name, content in photos(folder).items() if name in named}
    assert photos(tmp_path / "new") == kept
    assert len(kept) >= 7
    with open_store(tmp_path / "new") as store:
        store.export(tmp_path / "again.zip")
    one, other = contents_of(tmp_path / "store.zip"), contents_of(tmp_path / "again.zip")
    assert one.keys() == other.keys()
    assert {n for n in one if one[n] != other[n]} <= {"archive.json"}  # the moment


def test_every_table_and_column_is_in_the_archive(exported: tuple[Path, Path]) -> None:
    """A table to come is exported without being listed anywhere, with at least a row of it."""
    files = contents_of(exported[1])
    listed = json.loads(files["archive.json"])["tables"]
    assert listed.keys() == METADATA.tables.keys()
    for table in METADATA.sorted_tables:
        first = files[f"tables/{table.name}.jsonl"].splitlines()[0]
        assert list(json.loads(first)) == list(table.c.keys()) == listed[table.name]["columns"]


def test_the_tables_for_a_spreadsheet(exported: tuple[Path, Path]) -> None:
    """As many lines as rows; a text that a spreadsheet would work out is marked as a text."""
    files = contents_of(exported[1])
    for table in METADATA.sorted_tables:
        text = files[f"csv/{table.name}.csv"].decode("utf-8-sig")
        head, *rows = csv.reader(io.StringIO(text, newline=""))
        assert head == list(table.c.keys())
        assert len(rows) == len(files[f"tables/{table.name}.jsonl"].splitlines())
        assert not [cell for row in rows for cell in row if cell.startswith(("=", "@"))]
    scraps = files["csv/scraps.csv"].decode("utf-8-sig")
    assert "POLYGON" in scraps


def test_a_lost_picture_is_told_and_its_scrap_goes_along(tmp_path: Path) -> None:
    folder = random_store(tmp_path / "store", 1)
    with open_store(folder) as store:
        with store.read() as reader:
            name = reader.photos()[0].file_name
        (store.photo_folder / name).unlink()
        assert store.export(tmp_path / "store.zip") == (name,)
    found = import_archive(tmp_path / "new", tmp_path / "store.zip", nothing)
    assert [(fault.code, name in fault.thing) for fault in found.faults] == [("photo", True)]
    assert all_rows(tmp_path / "new" / "store.db") == all_rows(folder / "store.db")


def test_a_damaged_store_is_mended_before_it_is_exported(tmp_path: Path) -> None:
    folder = random_store(tmp_path / "store", 1)
    with closing(sqlite3.connect(folder / "store.db")) as connection, connection:
        connection.execute("UPDATE scraps SET outline = x'00' WHERE id = 2")
    with open_store(folder) as store:
        with pytest.raises(StoreDamagedError, match=r"scrap 2 has an unreadable .*check --mend"):
            store.export(tmp_path / "store.zip")
        assert not (tmp_path / "store.zip").exists()
        store.mend()
        store.export(tmp_path / "store.zip")
        with pytest.raises(StoreError, match="is there already"):
            store.export(tmp_path / "store.zip")


def test_an_archive_goes_into_an_empty_store_only(
    exported: tuple[Path, Path], tmp_path: Path
) -> None:
    folder = random_store(tmp_path / "store", 1)
    before = all_rows(folder / "store.db"), photos(folder)
    with pytest.raises(StoreError, match="not empty"):
        import_archive(folder, exported[1], nothing)
    assert (all_rows(folder / "store.db"), photos(folder)) == before
    with open_store(tmp_path / "empty"):
        pass
    assert import_archive(tmp_path / "empty", exported[1], nothing).faults == ()


def old_archive(database: Path, file: Path) -> Path:
    """The archive of a store of an older program, written without the present one's help."""
    with closing(sqlite3.connect(database)) as connection:
        connection.row_factory = sqlite3.Row
        ((revision,),) = connection.execute("SELECT version_num FROM alembic_version")
        files: Files = {}
        tables = {}
        found = connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall()
        for (name,) in found:
            if name == "alembic_version":
                continue
            lines = b""
            for row in connection.execute(f"SELECT * FROM {name} ORDER BY id"):  # noqa: S608
                plain = {column: _plain(name, column, row[column]) for column in row.keys()}  # noqa: SIM118
                lines += json.dumps(plain).encode() + b"\n"
            columns = [c[1] for c in connection.execute(f"PRAGMA table_info({name})")]
            files[f"tables/{name}.jsonl"] = lines
            tables[name] = {
                "rows": lines.count(b"\n"),
                "columns": columns,
                "sha256": hashlib.sha256(lines).hexdigest(),
            }
    manifest = {
        "format": "scrapstore archive", "version": 1, "revision": revision, "tables": tables,
        "photos": [], "missing": [f"{'a' * 64}.jpg"],
    }  # fmt: skip
    return write(file, files | {"archive.json": json.dumps(manifest).encode()})


def _plain(table: str, column: str, value: Any) -> Any:
    kind = cast("Any", METADATA.tables[table].c[column].type)
    kind = Json() if isinstance(kind, Document) else kind
    if value is None:
        return None
    read: Any = kind.dialect_impl(sqlite.dialect()).result_processor(sqlite.dialect(), None)
    return kind.as_json(read(value))


def test_an_archive_of_an_older_program_is_brought_up_to_date(tmp_path: Path) -> None:
    """Its tables are made as they were, filled, and then go the way of every older store."""
    old = old_store(tmp_path / "old")
    archive = old_archive(old, tmp_path / "old.zip")
    import_archive(tmp_path / "new", archive, nothing)
    with open_store(tmp_path / "old"):
        pass
    assert all_rows(tmp_path / "new" / "store.db") == all_rows(old)
    assert query(tmp_path / "new" / "store.db", "SELECT count(*) FROM scraps") == [(3,)]


def refused(file: Path, place: Path) -> str:
    """Import an archive into a new and into an empty store, which must stay so; return why."""
    outside = sorted(place.rglob("*"))
    with pytest.raises(ScrapstoreError) as told:
        import_archive(place / "new", file, nothing)
    assert sorted(place.rglob("*")) == outside
    return str(told.value)


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_archive_is_refused(
    exported: tuple[Path, Path], tmp_path: Path, name: str
) -> None:
    """In a sentence; nothing is written beside the store, and the store stays as it was."""
    file = tmp_path / "hostile.zip"
    HOSTILE[name](contents_of(exported[1]), file)
    with open_store(tmp_path / "empty"):
        pass
    before = sorted(tmp_path.rglob("*"))
    with pytest.raises(ScrapstoreError) as told:
        import_archive(tmp_path / "empty", file, nothing)
    assert "nothing was changed" in str(told.value) or "newer scrapstore" in str(told.value)
    assert sorted(tmp_path.rglob("*")) == before
    assert all_rows(tmp_path / "empty" / "store.db") == {}


@pytest.mark.parametrize("seed", range(12))
def test_an_archive_spoilt_at_random_is_refused_or_harmless(
    exported: tuple[Path, Path], tmp_path: Path, seed: int
) -> None:
    """By the hundred: `tests.benchmarks.store_archive`."""
    file = tmp_path / "spoilt.zip"
    done = spoilt_at_random(contents_of(exported[1]), file, random.Random(seed))
    try:
        found = import_archive(tmp_path / "new", file, nothing)
    except ScrapstoreError:
        assert sorted(path.name for path in tmp_path.iterdir()) == ["spoilt.zip"], done
    else:
        assert found.faults == (), done


def test_what_is_no_archive(tmp_path: Path) -> None:
    assert "there is no archive" in refused(tmp_path / "nosuch.zip", tmp_path)
    with zipfile.ZipFile(tmp_path / "letters.zip", "w") as made:
        made.writestr("letter.txt", "Dear diary")
    assert "none of an archive" in refused(tmp_path / "letters.zip", tmp_path)


def import_and_die(folder: str, file: str, after: int) -> None:
    """In a process of its own: import, and be killed after so many SQL statements."""
    die_at_statement(after)
    import_archive(Path(folder), Path(file), nothing)


def test_killed_in_the_middle_of_an_import(exported: tuple[Path, Path], tmp_path: Path) -> None:
    """All is there, or nothing; and then it can be imported."""
    source, file = exported
    wanted = all_rows(source / "store.db")
    with open_store(tmp_path / "empty"):
        pass
    ends = []
    for statement in (1, 150, 205, 218, 229, 231, 1000):
        folder = Path(shutil.copytree(tmp_path / "empty", tmp_path / f"killed {statement}"))
        process = start(import_and_die, str(folder), str(file), statement)
        process.join(timeout=LONGEST_WAIT)
        assert integrity(folder / "store.db") == "ok"
        found = all_rows(folder / "store.db")
        assert found in ({}, wanted)
        ends.append(bool(found))
        if process.exitcode == 0:
            break
    import_archive(tmp_path / "killed 218", file, nothing)
    assert all_rows(tmp_path / "killed 218" / "store.db") == wanted
    assert ends[-1]
    assert ends.count(False) >= 4
    assert sorted(ends) == ends
