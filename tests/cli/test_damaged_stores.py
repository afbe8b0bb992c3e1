"""A store that came to harm: what is wrong is told, on every way in; never a traceback."""

import json
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from shapely import box

from scrapstore.store import NewPlan, NewScrap, NewYardage, keep_plan, open_store
from tests.support.program import Said
from tests.support.stores import a_fabric, a_photo, a_scrap

Scrapstore = Callable[..., Said]

PROJECT = """
format = 1
name = "Pad"
[roles.top]
[[pieces]]
name = "square"
shape = "square"
side = "2"
count = 2
role = "top"
"""


@pytest.fixture
def store(tmp_path: Path) -> Path:
    """A store with one of most things, and a project beside it."""
    (tmp_path / "pad.toml").write_text(PROJECT, encoding="utf-8")
    folder = tmp_path / "store"
    with open_store(folder) as opened:
        opened.keep_photo(b"cloth", ".jpg")
        with opened.change("fill") as writer:
            fabric = writer.add_fabric(a_fabric())
            photo = writer.add_photo(a_photo())
            writer.add_scrap(a_scrap(fabric, photo))
            writer.add_scrap(NewScrap(outline=box(0, 0, 9, 9), family="blue"))
            writer.add_yardage(NewYardage(fabric=fabric, length=18.0))
            keep_plan(writer, NewPlan(name="bench", project="Pad", document={}, scrap_ids=(2,)))
    return folder


LIST, MATCH, FAMILIES, HISTORY = (
    ("scrap", "list"),
    ("match", "pad.toml"),
    ("families",),
    ("history",),
)
DAMAGE = [
    ("UPDATE scraps SET outline = x'00'", [LIST, MATCH]),
    ("UPDATE scraps SET outline = x''", [LIST, MATCH]),
    ("UPDATE scraps SET outline = 'abc'", [LIST, MATCH]),
    # POINT EMPTY, POLYGON EMPTY, and a square with a corner at NaN
    ("UPDATE scraps SET outline = x'0101000000000000000000f87f000000000000f87f'", [LIST, MATCH]),
    ("UPDATE scraps SET outline = x'010300000000000000'", [LIST, MATCH]),
    (
        "UPDATE scraps SET outline = x'0103000000010000000400000000000000000000000000000000000000"
        "000000000000f87f000000000000000000000000000010400000000000001040"
        "00000000000000000000000000000000'",
        [LIST, MATCH],
    ),
    ("UPDATE scraps SET flaws = x'0102'", [LIST, MATCH]),
    ("UPDATE scraps SET margin = 'wide'", [LIST]),
    ("UPDATE scraps SET grain_deg = 'up'", [LIST, MATCH]),
    ("UPDATE scraps SET grain_deg = 9e999", [LIST, MATCH]),
    ("UPDATE scraps SET swatches = '[{'", [LIST, FAMILIES]),
    ("UPDATE scraps SET swatches = '{}'", [LIST, FAMILIES]),
    ("UPDATE scraps SET swatches = '[1]'", [LIST, FAMILIES]),
    ('UPDATE scraps SET swatches = \'[{"rgb": [1], "lab": 2}]\'', [LIST, FAMILIES]),
    ("UPDATE scraps SET swatches = replace(hex(zeroblob(3000)), '0', '[')", [LIST, FAMILIES]),
    ("UPDATE scraps SET accents = '\"blue\"'", [LIST, FAMILIES]),
    ('UPDATE scraps SET cut_out = \'{"file_name": "a.jpg"}\'', [LIST]),
    ("UPDATE scraps SET cut_out = '[]'", [LIST]),
    ("UPDATE scraps SET cut_out = 'no'", [LIST, ("store", "info")]),
    ("UPDATE scraps SET created = 'yesterday'", [LIST]),
    ("UPDATE scraps SET created = 12", [LIST]),
    ("UPDATE scraps SET place = x'c3'", [LIST]),
    ("UPDATE scraps SET place = CAST(x'c3' AS TEXT)", [LIST]),
    ("UPDATE fabrics SET name = CAST(x'c3' AS TEXT)", [("fabric", "list"), LIST, MATCH]),
    ("UPDATE fabrics SET usable_width = 'wide'", [("fabric", "list"), MATCH]),
    ("UPDATE fabrics SET one_way_print = 'perhaps'", [("fabric", "list"), MATCH]),
    ("UPDATE photos SET taken = '2026-13-45'", [LIST]),
    ("UPDATE photos SET width = 'broad'", [LIST]),
    ("UPDATE photos SET width = 1e300", [LIST]),
    ("UPDATE yardage SET length = 'long'", [("yardage", "list"), MATCH]),
    ("UPDATE changes SET at = 'once'", [HISTORY]),
    ("UPDATE history SET after = '{'", [HISTORY]),
    ("UPDATE history SET after = '[]'", [HISTORY]),
    ("UPDATE plans SET document = 'x'", [("plan", "show", "bench"), ("plan", "list")]),
    ("UPDATE plans SET created = '?'", [("plan", "show", "bench"), ("plan", "list")]),
]


@pytest.mark.parametrize(("harm", "commands"), DAMAGE, ids=[sql[7:50] for sql, _ in DAMAGE])
def test_a_damaged_row_is_told(
    scrapstore: Scrapstore,
    store: Path,
    monkeypatch: pytest.MonkeyPatch,
    harm: str,
    commands: list[tuple[str, ...]],
) -> None:
    monkeypatch.chdir(store.parent)
    with closing(sqlite3.connect(store / "store.db")) as connection, connection:
        connection.execute("PRAGMA ignore_check_constraints = ON")
        connection.execute(harm)
    for command in commands:
        said = scrapstore(*command, status=1)
        assert said.out == ""
        assert "store.db is damaged" in said.err
        assert "backups" in said.err


def test_bytes_in_the_schema_are_told(scrapstore: Scrapstore, store: Path) -> None:
    """The text of a table's definition, which SQLite itself still understands."""
    with closing(sqlite3.connect(store / "store.db")) as connection, connection:
        connection.execute("PRAGMA writable_schema = ON")
        connection.execute(
            "UPDATE sqlite_master SET name = CAST(x'7363ff' AS TEXT) WHERE name = 'ix_scraps_place'"
        )
    for command in (LIST, ("store", "info"), ("history",)):
        said = scrapstore(*command, status=1)
        assert "damaged" in said.err


@pytest.mark.parametrize(
    "name", ["../../x", "/etc/hostname", "a.jpg", "..", "", "C:x.jpg", "\\\\host\\x", "a\0b"]
)
def test_a_photo_is_looked_for_in_the_photo_folder_only(
    scrapstore: Scrapstore, store: Path, tmp_path: Path, name: str
) -> None:
    """The name of its file, as a borrowed store has it, leads nowhere else."""
    outside = sorted(tmp_path.iterdir())
    for table, value in (("photos", name), ("scraps", {"file_name": name, "box": [0, 0, 1, 1]})):
        column = "file_name" if table == "photos" else "cut_out"
        text = name if isinstance(value, str) else json.dumps(value)
        with closing(sqlite3.connect(store / "store.db")) as connection, connection:
            (before,) = connection.execute(f"SELECT {column} FROM {table} LIMIT 1").fetchone()  # noqa: S608
            connection.execute(f"UPDATE {table} SET {column} = ?", (text,))  # noqa: S608
        for command in (
            ("store", "backup", str(tmp_path / "copy")),
            ("families", "--sheet", str(tmp_path / "sheet.html")),
            ("scrap", "show", "1"),
            ("store", "info"),
        ):
            said = scrapstore(*command, status=1)
            assert "is no name of a stored photo" in said.err, command
        assert sorted(tmp_path.iterdir()) == outside
        with closing(sqlite3.connect(store / "store.db")) as connection, connection:
            connection.execute(f"UPDATE {table} SET {column} = ?", (before,))  # noqa: S608


def test_numbers_beyond_64_bits(scrapstore: Scrapstore, store: Path) -> None:
    huge = "9" * 30
    for command in (
        ("plan", "show", huge),
        ("plan", "show", "9" * 5001),
        ("plan", "show", "²"),
        ("plan", "done", huge),
        ("history", f"scrap {huge}"),
        ("history", f"scrap {'9' * 5001}"),
        ("history", "scrap ²"),
        ("scrap", "show", huge),
        ("scrap", "retire", huge),
        ("lens", "forget", huge),
        ("scrap", "add", "--size", "9 x 6", "--parent", huge),
        ("scrap", "add", "--size", "9 x 6", "--count", huge),
    ):
        call_is_wrong = command[0] == "history" or command[:2] == ("scrap", "retire")
        said = scrapstore(*command, status=2 if call_is_wrong or "--count" in command else 1)
        assert "Traceback" not in said.err
        assert said.err.startswith("scrapstore: ")
    assert scrapstore("history", "--most", huge, status=2).err


@pytest.mark.parametrize("name", ["photos", "backups"])
def test_a_file_where_a_folder_should_be(scrapstore: Scrapstore, store: Path, name: str) -> None:
    folder = store / name
    if folder.is_dir():
        for file in folder.iterdir():
            file.unlink()
        folder.rmdir()
    folder.write_text("x")
    assert scrapstore("scrap", "list").out
    told = scrapstore("store", "info", status=1).err
    assert str(folder) in told
    if name == "backups":
        told = scrapstore("store", "backup", status=1).err
        assert str(folder) in told


def test_a_backup_that_is_not_whole_says_so(scrapstore: Scrapstore, store: Path) -> None:
    """The row of a photo whose file is gone; the copy is made all the same."""
    said = scrapstore("store", "backup", str(store.parent / "copy"), "--json", status=1)
    assert said.json["path"] == str(store.parent / "copy")
    assert len(said.json["faults"]) == 1
    assert "is missing from the store" in said.err
    assert (store.parent / "copy" / "store.db").is_file()


READING = [
    LIST,
    HISTORY,
    FAMILIES,
    ("find", "--like", "blue"),
    ("piles", "3"),
    ("match", "pad.toml"),
    ("rank", "."),
    ("plan", "list"),
    ("plan", "release", "x"),
    ("fabric", "list"),
    ("ready", "list"),
    ("yardage", "list"),
    ("binding", "list"),
    ("lens", "list"),
    ("store", "info"),
    ("store", "backup"),
    ("scrap", "retire", "1"),
    ("scrap", "edit", "1", "--place", "x"),
]


def test_only_what_adds_makes_a_store(
    scrapstore: Scrapstore, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A slip in --store must not look as if the whole stash were gone."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "pad.toml").write_text(PROJECT, encoding="utf-8")
    for command in READING:
        said = scrapstore("--store", "stsh", *command, status=1)
        assert "there is no store in stsh" in said.err, command
        assert "scrap add" in said.err
        assert [path.name for path in tmp_path.iterdir()] == ["pad.toml"], command
    assert "made a new store" in scrapstore("scrap", "add", "--size", "4 x 4").err
    assert scrapstore(*LIST).out
