"""``undo``: what it shows, what it asks, and what it takes back; what history says of it."""

import io
from pathlib import Path

import pytest

from scrapstore.actions.scrap import edit_scraps
from scrapstore.store import open_store
from tests.support.commands import CALLS, Words
from tests.support.program import Program
from tests.support.stores import contents, query

DATABASE = Path("store") / "store.db"


def _changes() -> int:
    ((count,),) = query(DATABASE, "SELECT count(*) FROM changes WHERE undoes IS NULL")
    return int(count)


@pytest.mark.usefixtures("here")
@pytest.mark.parametrize("words", [words for words in CALLS if words != ("undo",)], ids=" ".join)
def test_whatever_a_command_changed_is_taken_back(scrapstore: Program, words: Words) -> None:
    before, known = contents(DATABASE), _changes()
    scrapstore(*words, *CALLS[words])
    after, made = contents(DATABASE), _changes() - known
    assert made in (0, 1)
    assert (after != before) is bool(made)
    if made:
        said = scrapstore("undo", "--yes")
        assert said.out.startswith(f"Took back no. {known + 1} (today ")
        assert contents(DATABASE) == before


@pytest.mark.usefixtures("here")
def test_the_whole_store_is_taken_back_to_nothing(scrapstore: Program) -> None:
    """Down to the first change; then there is nothing to take back, and the next goes on from 1."""
    scrapstore("undo", "--to", "1", "--yes")
    assert {name for name, rows in contents(DATABASE).items() if rows} == {"alembic_version"}
    said = scrapstore("undo", "--yes", status=1)
    assert "nothing to take back: all that was recorded is taken back already" in said.err
    added = scrapstore("scrap", "add", "--size", "3 x 3", "--json").json
    assert added["scraps"][0]["id"] == 1
    scrapstore("undo", "--yes")
    assert contents(DATABASE)["scraps"] == []


def test_nothing_was_ever_changed(scrapstore: Program, empty_store: Path) -> None:
    assert "nothing was changed yet" in scrapstore("undo", status=1).err


@pytest.fixture
def edited(scrapstore: Program, tmp_path: Path) -> Path:
    scrapstore("scrap", "add", "--size", "9 x 6")
    scrapstore("scrap", "edit", "1", "--place", "tin")
    return tmp_path / "store" / "store.db"


def test_without_a_terminal_it_shows_and_does_nothing(scrapstore: Program, edited: Path) -> None:
    before = contents(edited)
    said = scrapstore("undo", status=1)
    shown, why = said.err.splitlines()
    assert shown.startswith("Takes back no. 2 (today ")
    assert shown.endswith("): Changed scrap 1 (place tin).")
    assert why.endswith(
        "nothing was taken back, as there is no terminal to ask; to do it, add --yes"
    )
    assert said.out == ""
    assert contents(edited) == before


@pytest.mark.parametrize(
    ("typed", "taken"),
    [
        ("yes\n", [2]),
        ("stop\n", []),
        ("\n", []),
        ("further back\nyes\n", [2, 1]),
        ("maybe\nf\nf\nstop\n", []),
    ],
)
def test_at_a_terminal_it_asks(
    scrapstore: Program,
    edited: Path,
    monkeypatch: pytest.MonkeyPatch,
    typed: str,
    taken: list[int],
) -> None:
    monkeypatch.setattr("scrapstore.cli.undo.at_terminal", lambda: True)
    monkeypatch.setattr("sys.stdin", io.StringIO(typed))
    said = scrapstore("undo", "--json")
    assert [change["id"] for change in said.json["taken_back"]] == taken
    assert ("Takes back no. 1 " in said.err) is ("f" in typed)
    assert ("there is nothing further back" in said.err) is ("f\nf" in typed)
    assert ("answer yes, further back, or stop" in said.err) is ("maybe" in typed)
    marked = scrapstore("history", "--json").json["changes"]
    assert sorted(c["undoes"] for c in marked if c["undoes"]) == sorted(taken)


def test_what_is_typed_ends(
    scrapstore: Program, edited: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = contents(edited)
    monkeypatch.setattr("scrapstore.cli.undo.at_terminal", lambda: True)
    monkeypatch.setattr("sys.stdin", io.StringIO(""))
    assert "stopped; nothing was taken back" in scrapstore("undo", status=130).err
    assert contents(edited) == before


def test_what_was_seen_is_what_is_taken_back(
    scrapstore: Program, edited: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """While the question stands, somebody else adds a scrap."""

    def asked(*_: object, **__: object) -> str:
        with open_store(edited.parent) as store:
            edit_scraps(store, [1], {"place": "shelf"})
        return "yes"

    monkeypatch.setattr("scrapstore.cli.undo.at_terminal", lambda: True)
    monkeypatch.setattr("typer.prompt", asked)
    said = scrapstore("undo", status=1)
    assert "the store was changed meanwhile, so nothing was taken back" in said.err
    assert query(edited, "SELECT place FROM scraps") == [("shelf",)]


def test_history_says_what_was_taken_back(scrapstore: Program, edited: Path) -> None:
    scrapstore("undo", "--yes")
    said = scrapstore("history", "--units", "in")
    flat = " ".join(said.out.split())
    assert "Took back no. 2: Changed scrap 1 (place tin)" in flat
    assert "Changed scrap 1 (place tin) (taken back by no. 3)" in flat
    undo, edit, _ = scrapstore("history", "--json").json["changes"]
    assert (undo["what"], undo["undoes"], undo["undone_by"]) == ("undo scrap edit", 2, None)
    assert (edit["undoes"], edit["undone_by"]) == (None, 3)
    assert undo["rows"][0]["before"] == edit["rows"][0]["after"]
    details = " ".join(scrapstore("history", "--details").out.split())
    assert "undo scrap edit" in details


@pytest.mark.parametrize(
    ("to", "why"),
    [
        ("9", "no change has the number 9"),
        ("99999999999999999999", "too large"),
        ("3", "no. 3 took back no. 2; an undo is not taken back itself"),
        ("2", "no. 2 was taken back already, by no. 3"),
    ],
)
def test_numbers_that_cannot_be_taken_back(
    scrapstore: Program, edited: Path, to: str, why: str
) -> None:
    scrapstore("undo", "--yes")
    before = contents(edited)
    assert why in scrapstore("undo", "--to", to, "--yes", status=1).err
    assert contents(edited) == before


@pytest.mark.usefixtures("here")
def test_cloth_already_cut_stays_cut(scrapstore: Program) -> None:
    before = contents(DATABASE)
    scrapstore("cut", "first", "--yes")
    said = scrapstore("undo", status=1)
    assert "): Cut scrap " in said.err
    assert "Cloth already cut stays cut. If it is cut, correct the record instead" in said.err
    assert "Cloth already cut stays cut." in scrapstore("undo", "--yes").out
    assert contents(DATABASE) == before
    assert "Cloth" not in scrapstore("undo", status=1).err


@pytest.mark.usefixtures("here")
def test_a_photo_that_was_taken_back_is_logged_again(scrapstore: Program) -> None:
    """Its file stayed; the second time it is logged as the first time, under the same numbers."""
    first = scrapstore("log", "photo.jpg", "--size", "9 x 6", "--json").json
    held = contents(DATABASE)
    files = sorted(path.name for path in Path("store/photos").iterdir())
    scrapstore("undo", "--yes")
    assert sorted(path.name for path in Path("store/photos").iterdir()) == files
    info = scrapstore("store", "info", "--json").json
    assert (info["faults"], info["spare_photos"]) == ([], 0)
    again = scrapstore("log", "photo.jpg", "--size", "9 x 6", "--json").json
    assert again["logged"][0]["scraps"][0]["id"] == first["logged"][0]["scraps"][0]["id"]
    without_times = [
        {table: [row.partition("b'20")[0] for row in rows] for table, rows in one.items()}
        for one in (held, contents(DATABASE))
    ]
    assert without_times[0] == without_times[1]
