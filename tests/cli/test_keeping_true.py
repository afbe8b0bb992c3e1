"""What must not be lost or taken unawares, from the command line."""

from pathlib import Path

import pytest

from tests.support.program import Program

PROJECT = """
format = 1
name = "Bench pad"
[roles.top]
families = ["blue"]
[[pieces]]
name = "square"
shape = "square"
side = "2"
count = 2
role = "top"
"""


@pytest.fixture
def kept(scrapstore: Program, tmp_path: Path) -> Path:
    """A store with one blue scrap that a plan holds; the project file."""
    file = tmp_path / "pad.toml"
    file.write_text(PROJECT, encoding="utf-8")
    scrapstore("scrap", "add", "--size", "9 x 9", "--family", "blue")
    scrapstore("match", str(file), "--no-sheets", "--keep", "one")
    return file


def test_a_new_outline_does_not_drop_flaws_or_grain_unasked(scrapstore: Program) -> None:
    scrapstore("scrap", "add", "--size", "9 x 9", "--flaw", "8,8 9,8 9,9 8,9", "--grain", "first")
    scrapstore("scrap", "add", "--size", "9 x 9")
    refused = scrapstore("scrap", "edit", "1-2", "--size", "4 x 20", status=1)
    assert "--flaw" in refused.err
    assert (
        "--grain"
        in scrapstore("scrap", "edit", "1", "--size", "4 x 20", "--flaw", "", status=1).err
    )
    first, second = scrapstore("scrap", "list", "--json").json["scraps"]
    assert len(first["flaws"]) == 1
    assert first["grain_deg"] == 0.0
    assert second["area"] == 81.0  # all of an edit or nothing
    scrapstore("scrap", "edit", "1", "--size", "4 x 20", "--flaw", "", "--grain", "second")
    scrapstore("scrap", "edit", "2", "--size", "4 x 20")
    first, second = scrapstore("scrap", "list", "--json").json["scraps"]
    assert (first["area"], first["flaws"], first["grain_deg"]) == (80.0, [], 90.0)
    assert (second["area"], second["grain_deg"]) == (80.0, None)


@pytest.mark.parametrize(
    "words",
    [
        ("scrap", "reinstate", "1"),
        ("scrap", "edit", "1", "--size", "3 x 3"),
        ("scrap", "edit", "1", "--family", "red"),
        ("scrap", "edit", "1", "--status", "used up"),
        ("scrap", "retire", "1"),
        ("scrap", "edit", "1", "--set-aside-for", "another"),
    ],
    ids=["reinstate", "size", "family", "used up", "retire", "set aside"],
)
def test_cloth_is_not_taken_from_under_a_kept_plan(
    scrapstore: Program, kept: Path, words: tuple[str, ...]
) -> None:
    refused = scrapstore(*words, status=1)
    assert "held by the plan 'one'" in refused.err
    assert "plan release" in refused.err
    scrapstore("scrap", "edit", "1", "--place", "bin 2")
    scrapstore("plan", "release", "one")
    scrapstore(*words)


def test_a_plan_is_done_and_says_what_comes_next(scrapstore: Program, kept: Path) -> None:
    refused = scrapstore("plan", "done", "one", status=1)
    assert "not cut yet of 'one': scrap 1" in refused.err
    assert "cut 'one'" in refused.err
    scrapstore("cut", "one", "--yes")
    said = scrapstore("plan", "done", "one")
    assert said.out == "Closed 'one'; ready-cut pieces no. 1 used up now.\n"
    listed = scrapstore("scrap", "list", "--status", "all", "--json").json["scraps"]
    assert (listed[0]["id"], listed[0]["status"]) == (1, "used up")
    assert scrapstore("ready", "list", "--json").json["ready_cut"] == []


def test_what_is_left_over_is_said_with_its_fabric(scrapstore: Program, tmp_path: Path) -> None:
    """Two fabrics give the squares: which of them the two that are left are of is said."""
    for name in ("drill", "duck"):
        scrapstore("fabric", "add", name, "--family", "blue")
        scrapstore("scrap", "add", "--size", "5 3/4 x 3", "--fabric", name)
    file = tmp_path / "pad.toml"
    text = PROJECT.replace("count = 2", "count = 4")
    file.write_text(text, encoding="utf-8")
    scrapstore("plan", "keep", str(file), "--name", "two")
    scrapstore("cut", "two", "--yes")
    said = scrapstore("plan", "done", "two", "--left", "1 A, A3")
    lots = scrapstore("ready", "list", "--json").json["ready_cut"]
    assert {(lot["count"], lot["fabric"]) for lot in lots} == {(1, "drill"), (1, "duck")}
    assert "Left over: 1 × square, 2 in (of drill) and 1 × square, 2 in (of duck)." in said.err


def test_sheets_of_a_kept_plan_are_not_replaced_by_a_new_match(
    scrapstore: Program, kept: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A plan called as the file is: its sheets stay, those of the match have a folder beside."""
    monkeypatch.chdir(tmp_path)
    file = tmp_path / "one.toml"
    file.write_text(PROJECT, encoding="utf-8")
    scrapstore("plan", "sheets", "one")
    before = (tmp_path / "one-sheets" / "index.html").read_bytes()
    said = scrapstore("match", "one.toml")
    assert str(tmp_path / "one-match-sheets" / "index.html") in said.err
    assert (tmp_path / "one-sheets" / "index.html").read_bytes() == before
    scrapstore("plan", "release", "one")
    assert str(tmp_path / "one-sheets" / "index.html") in scrapstore("match", "one.toml").err


def test_release_is_also_understood_as_drop(scrapstore: Program, kept: Path) -> None:
    """Its earlier name."""
    assert "Released 'one'" in scrapstore("plan", "drop", "one").out
    assert scrapstore("plan", "list", "--json").json["plans"] == []


def test_lengths_promised_to_plans_are_listed(scrapstore: Program, tmp_path: Path) -> None:
    """18 in: 16 squares of 4 1/2 in take 9 in and 1 in for the end; 8 in are left for others."""
    file = tmp_path / "pad.toml"
    text = PROJECT.replace('side = "2"', 'side = "4"').replace("count = 2", "count = 16")
    file.write_text(text, encoding="utf-8")
    scrapstore("fabric", "add", "drill", "--family", "blue")
    scrapstore("yardage", "add", "--fabric", "drill", "--length", "18", "--place", "shelf")
    before = scrapstore("yardage", "list").out
    assert "promised" not in before
    kept = scrapstore("plan", "keep", str(file), "--name", "bench 1")
    assert "Set aside for it: 10 in of length 1." in kept.err
    row = scrapstore("yardage", "list").out.splitlines()[2]
    assert row.split("  ")[-1].strip() == "shelf"
    assert "10 in to bench 1" in row
    assert "8 in" in row
    (length,) = scrapstore("yardage", "list", "--json").json["yardage"]
    assert (length["promised"], length["left"]) == ({"bench 1": 10.0}, 8.0)
    assert "10 in of length 1" in scrapstore("plan", "list").out
    match = scrapstore("match", str(file), "--no-sheets").out
    said = " ".join(match.split())
    assert "18 in of drill (length 1, kept in shelf; 10 in of it promised to 'bench 1')" in said
    assert "covers 8 A and takes 5 1/2 in" in said
    refused = scrapstore("yardage", "retire", "1", status=1)
    assert "held by the plan 'bench 1'" in refused.err
    assert "2 offcuts go back" in scrapstore("cut", "bench 1", "--yes").out
    assert scrapstore("yardage", "list", "--json").json["yardage"][0]["length"] == 8.0


def test_nothing_is_kept_when_its_sheets_cannot_be_written(
    scrapstore: Program, kept: Path, tmp_path: Path
) -> None:
    scrapstore("plan", "release", "one")
    (tmp_path / "afile").write_text("mine")
    done = scrapstore(
        "match", str(kept), "--sheets", str(tmp_path / "afile"), "--keep", "two", status=1
    )
    assert "cannot be written" in done.err
    assert scrapstore("plan", "list", "--json").json["plans"] == []


def test_set_aside_for_nobody_is_available_again(scrapstore: Program) -> None:
    scrapstore("scrap", "add", "--size", "9 x 9")
    scrapstore("scrap", "edit", "1", "--set-aside-for", "bench")
    assert scrapstore("scrap", "list", "--json").json["scraps"] == []
    scrapstore("scrap", "edit", "1", "--set-aside-for", "")
    assert len(scrapstore("scrap", "list", "--json").json["scraps"]) == 1
    both = ("--set-aside-for", "bench", "--status", "available")
    assert "do not go together" in scrapstore("scrap", "edit", "1", *both, status=2).err


@pytest.mark.parametrize("empty", [True, False], ids=["empty", "missing"])
def test_no_new_store_is_made_where_backups_tell_of_an_old_one(
    scrapstore: Program, tmp_path: Path, empty: bool
) -> None:
    place = tmp_path / "shelf"
    scrapstore("--store", str(place), "scrap", "add", "--size", "9 x 9")
    scrapstore("--store", str(place), "store", "backup")
    for file in place.glob("store.db*"):
        file.unlink()
    if empty:
        (place / "store.db").touch()
    refused = scrapstore("--store", str(place), "scrap", "list", status=1)
    assert "backups" in refused.err
    assert "To go back" in refused.err


def test_an_empty_store_option_is_refused(scrapstore: Program) -> None:
    assert "--store is empty" in scrapstore("--store", "", "scrap", "list", status=1).err


def test_a_number_beyond_counting_is_no_scrap(scrapstore: Program) -> None:
    scrapstore("scrap", "add", "--size", "5 x 5")
    assert "has the number" in scrapstore("scrap", "show", "9" * 20, status=1).err
    added = scrapstore("scrap", "add", "--size", "5 x 5", "--parent", "9" * 20, status=1)
    assert "has the number" in added.err


def test_files_with_a_byte_order_mark_are_read(scrapstore: Program, tmp_path: Path) -> None:
    """Some editors put U+FEFF before a text that they save as UTF-8."""
    file = tmp_path / "pad.toml"
    file.write_text("\ufeff" + PROJECT, encoding="utf-8")
    assert scrapstore("project", "check", str(file), "--json").json["name"] == "Bench pad"
    (tmp_path / "settings.toml").write_text("\ufeffmargin = '1/2'\n", encoding="utf-8")
    assert scrapstore("settings", "show", "--json").json["margin"] == 0.5


def test_a_scrap_shows_the_colour_of_its_fabric(scrapstore: Program) -> None:
    scrapstore("fabric", "add", "rose", "--family", "red", "--value", "medium")
    scrapstore("scrap", "add", "--size", "9 x 9", "--fabric", "rose")
    row = scrapstore("scrap", "list").out.splitlines()[2]
    assert "red" in row
    assert "medium" in row


def test_a_kept_plan_shows_all_that_match_showed(
    scrapstore: Program, kept: Path, tmp_path: Path
) -> None:
    """Line by line, below a line of its own; and its sheets are written anew."""
    scrapstore("plan", "release", "one")
    answer = scrapstore("match", str(kept), "--no-sheets", "--keep", "bench 1").out
    shown = scrapstore("plan", "show", "bench 1").out
    head, rest = shown.split("\n\n", maxsplit=1)
    assert head.startswith("bench 1 (Bench pad), kept ")
    assert head.endswith("; holds 1 scrap.")
    assert rest == answer
    folder = tmp_path / "again"
    said = scrapstore("plan", "sheets", "bench 1", str(folder))
    assert str(folder / "index.html") in said.out.replace("\n", "")
    assert "Bench pad" in (folder / "index.html").read_text("utf-8")
    files = scrapstore("plan", "sheets", "bench 1", str(folder), "--json").json["files"]
    assert files[0] == str(folder / "index.html")
    assert "no kept plan is called" in scrapstore("plan", "sheets", "two", status=1).err
