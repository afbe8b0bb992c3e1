"""Every command ends with 0 when done, 1 when the user must act, 2 when the call is wrong.

And says why in the program's own words, never in those of a library.
"""

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import typer

from scrapstore.cli import main
from scrapstore.cli.app import build_app
from tests.support.pad import write_pad
from tests.support.program import Program

Words = tuple[str, ...]

LIBRARY_WORDS = (
    "Input should be", "Invalid value", "Missing", "No such option", "No such command",
    "Usage:", "Error:", "Try '",
    "unexpected extra", "does not take", "requires an argument",
)  # fmt: skip

# One call of every command that is done, on a store with one of everything and a kept plan.
DONE: dict[Words, Words] = {
    ("scale",): ("card.pdf",),
    ("log",): ("photo.jpg", "--size", "9 x 6"),
    ("match",): ("pad.toml", "--no-sheets"),
    ("plan", "keep"): ("pad.toml", "--name", "second"),
    ("plan", "list"): (),
    ("plan", "show"): ("first",),
    ("plan", "sheets"): ("first",),
    ("plan", "done"): ("first",),
    ("plan", "release"): ("first",),
    ("rank",): (".",),
    ("project", "new"): ("new.toml",),
    ("project", "check"): ("pad.toml",),
    ("project", "shapes"): (),
    ("families",): (),
    ("find",): ("--like", "blue"),
    ("piles",): ("2",),
    ("scrap", "add"): ("--size", "9 x 22"),
    ("scrap", "list"): (),
    ("scrap", "show"): ("1",),
    ("scrap", "edit"): ("2", "--place", "bin 2"),
    ("scrap", "retire"): ("2",),
    ("scrap", "reinstate"): ("2",),
    ("fabric", "add"): ("Deck stripe",),
    ("fabric", "list"): (),
    ("fabric", "show"): ("linen",),
    ("fabric", "edit"): ("linen", "--washed"),
    ("fabric", "retire"): ("linen",),
    ("fabric", "reinstate"): ("linen",),
    ("yardage", "add"): ("--fabric", "linen", "--length", "1/2 yd"),
    ("yardage", "list"): (),
    ("yardage", "show"): ("1",),
    ("yardage", "edit"): ("1", "--length", "9"),
    ("yardage", "retire"): ("1",),
    ("yardage", "reinstate"): ("1",),
    ("ready", "add"): ("--count", "12", "--size", "5 x 5"),
    ("ready", "list"): (),
    ("ready", "show"): ("1",),
    ("ready", "edit"): ("1", "--count", "9"),
    ("ready", "retire"): ("1",),
    ("ready", "reinstate"): ("1",),
    ("binding", "add"): ("--size", "2 1/2 x 40"),
    ("binding", "list"): (),
    ("binding", "show"): ("1",),
    ("binding", "edit"): ("1", "--end", "/"),
    ("binding", "retire"): ("1",),
    ("binding", "reinstate"): ("1",),
    ("lens", "list"): (),
    ("history",): (),
    ("store", "info"): (),
    ("store", "backup"): (),
    ("settings", "show"): (),
    ("settings", "set"): ("margin", "1/4"),
    ("settings", "path"): (),
    ("guide",): ("store",),
}

# Right calls that the user must do something about first; any other command finds no store.
ACT: dict[Words, Words] = {
    ("scale",): ("nowhere/card.pdf",),
    ("log",): ("nosuch.jpg",),
    ("match",): ("nosuch.toml",),
    ("plan", "keep"): ("nosuch.toml",),
    ("plan", "show"): ("nosuch",),
    ("plan", "sheets"): ("nosuch",),
    ("plan", "done"): ("nosuch",),
    ("plan", "release"): ("nosuch",),
    ("rank",): ("nowhere",),
    ("project", "new"): ("pad.toml",),
    ("project", "check"): ("nosuch.toml",),
    ("families",): ("--fabric", "nosuch"),
    ("find",): ("--goes-with", "99"),
    ("piles",): ("2", "--sheet", "nowhere/sheet.html"),
    ("scrap", "add"): ("--size", "9 x 6", "--fabric", "nosuch"),
    ("scrap", "list"): ("--fabric", "nosuch"),
    ("scrap", "show"): ("99",),
    ("scrap", "edit"): ("99", "--place", "bin 2"),
    ("scrap", "retire"): ("1",),  # the plan holds it
    ("scrap", "reinstate"): ("99",),
    ("fabric", "add"): ("linen",),
    ("fabric", "show"): ("nosuch",),
    ("fabric", "edit"): ("nosuch", "--washed"),
    ("fabric", "retire"): ("nosuch",),
    ("fabric", "reinstate"): ("nosuch",),
    ("yardage", "add"): ("--fabric", "nosuch", "--length", "1 yd"),
    ("yardage", "show"): ("99",),
    ("yardage", "edit"): ("99", "--length", "9"),
    ("yardage", "retire"): ("99",),
    ("yardage", "reinstate"): ("99",),
    ("ready", "add"): ("--size", "5 x 5", "--fabric", "nosuch"),
    ("ready", "show"): ("99",),
    ("ready", "edit"): ("99", "--count", "9"),
    ("ready", "retire"): ("99",),
    ("ready", "reinstate"): ("99",),
    ("binding", "add"): ("--size", "2 1/2 x 40", "--fabric", "nosuch"),
    ("binding", "show"): ("99",),
    ("binding", "edit"): ("99", "--end", "/"),
    ("binding", "retire"): ("99",),
    ("binding", "reinstate"): ("99",),
    ("lens", "forget"): ("99",),
    ("store", "backup"): (".",),
    ("demo",): ("--folder", "pad.toml"),
}

# Calls that are wrong in themselves, beside those that are made of every command below.
WRONG: list[Words] = [
    ("scale", "card.txt"),
    ("scale", "card.pdf", "--paper", "a0"),
    ("log", "photo.jpg", "--size", "9"),
    ("log", "photo.jpg", "--yes", "--leave-out", "two"),
    ("log", "photo.jpg", "other.jpg", "--yes", "--leave-out", "2"),
    ("log", "photo.jpg", "--yes", "--typed", "9 x 6"),
    ("log", "photo.jpg", "--squares", "many"),
    ("match", "pad.toml", "--aims", "beauty"),
    ("families", "--sheet", "sheet.pdf"),
    ("families", "--family", "teel"),
    ("families", "--learn", "--forget"),
    ("find",),
    ("find", "--like", ""),
    ("find", "--like", "#1z"),
    ("piles", "0"),
    ("scrap", "add"),
    ("scrap", "add", "--size", "wide"),
    ("scrap", "add", "--size", "9 x 6", "--value", "darkish"),
    ("scrap", "list", "--at-least", "5"),
    ("scrap", "edit", "2"),
    ("scrap", "edit", "2", "--status", "available", "--set-aside-for", "bench"),
    ("scrap", "edit", "two", "--place", "bin 2"),
    ("fabric", "add", " "),
    ("fabric", "edit", "linen"),
    ("fabric", "edit", "linen", "wool", "--name", "other"),
    ("yardage", "add", "--fabric", "", "--length", "1 yd"),
    ("yardage", "add", "--fabric", "linen", "--length", "fat quarter"),
    ("yardage", "edit", "1", "--fabric", ""),
    ("ready", "add"),
    ("ready", "add", "--shape", "hexagonn", "--finished", "3"),
    ("binding", "add", "--size", "2 1/2 x 40", "--end", "steep"),
    ("history", "sock 2"),
    ("settings", "set", "margn", "1/4"),
    ("settings", "set", "margin", "wide"),
    ("guide", "stores"),
    ("demo", "--store", "mine"),
    ("scrap",),
    ("scrap", "lst"),
    ("scarp", "list"),
    ("--bogus",),
    ("scrap", "list", "--place"),
    ("scrap", "list", "--json=yes"),
    ("scrap", "list", "-x"),
]


def _commands() -> Iterator[tuple[Words, Any]]:
    def walk(command: Any, words: Words) -> Iterator[tuple[Words, Any]]:
        inner = getattr(command, "commands", None)
        if inner is None:
            yield words, command
        else:
            for name, one in inner.items():
                yield from walk(one, (*words, name))

    yield from walk(typer.main.get_command(build_app()), ())


COMMANDS = dict(_commands())


@pytest.fixture(scope="module")
def furnished(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a store that has one of everything, a photo and a project file."""
    folder = tmp_path_factory.mktemp("furnished")
    sample = Path(__file__).parents[2] / "sample_photos" / "tea-towel-green.jpg"
    shutil.copy(sample, folder / "photo.jpg")
    shutil.copy(sample, folder / "other.jpg")
    write_pad(folder, 2, name="pad")
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        patch.setattr("scrapstore.workers._cores", lambda: 1)
        patch.setenv("SCRAPSTORE_STORE", str(folder / "store"))
        patch.setenv("SCRAPSTORE_CONFIG", str(folder / "settings.toml"))
        for call in (
            ("scrap", "add", "--size", "9 x 6", "--family", "blue"),
            ("scrap", "add", "--size", "1 x 1", "--family", "red"),
            ("yardage", "add", "--fabric", "linen", "--length", "1 yd", "--new-fabrics"),
            ("ready", "add", "--size", "1 x 1"),
            ("binding", "add", "--size", "2 x 40"),
            ("plan", "keep", "pad.toml", "--name", "first"),
        ):
            patch.setattr("sys.argv", ["scrapstore", *call])
            with pytest.raises(SystemExit) as ended:
                main()
            assert not ended.value.code, call
    return folder


@pytest.fixture
def here(furnished: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A copy of that folder, and the test in it; nobody sits at a terminal."""
    shutil.copytree(furnished, tmp_path, dirs_exist_ok=True)
    monkeypatch.chdir(tmp_path)


def _refused(said: Any, status: int) -> None:
    lines = said.err.splitlines()
    assert said.status == status
    assert lines[-1].startswith("scrapstore: "), said
    assert not [words for words in LIBRARY_WORDS if words in said.err], said


@pytest.mark.usefixtures("here")
@pytest.mark.parametrize("words", DONE, ids=" ".join)
def test_done(scrapstore: Program, words: Words) -> None:
    assert scrapstore(*words, *DONE[words], status=0).out


@pytest.mark.usefixtures("here")
@pytest.mark.parametrize("words", ACT, ids=" ".join)
def test_the_user_must_act(scrapstore: Program, words: Words) -> None:
    said = scrapstore(*words, *ACT[words], status=1)
    _refused(said, 1)
    assert said.out == "" or words == ("log",)


@pytest.mark.usefixtures("here")
@pytest.mark.parametrize("words", [words for words in COMMANDS if words not in ACT], ids=" ".join)
def test_settings_that_cannot_be_read_must_be_mended(scrapstore: Program, words: Words) -> None:
    Path("settings.toml").write_text('margin = "wide"', encoding="utf-8")
    said = scrapstore(*words, *DONE[words], "--units", "in", status=1)
    _refused(said, 1)
    assert said.out == ""


@pytest.mark.usefixtures("here")
@pytest.mark.parametrize("call", WRONG, ids=" ".join)
def test_a_wrong_call(scrapstore: Program, call: Words) -> None:
    said = scrapstore(*call, status=2)
    _refused(said, 2)
    assert said.out == ""


@pytest.mark.parametrize("words", COMMANDS, ids=" ".join)
def test_what_no_command_understands(scrapstore: Program, words: Words) -> None:
    """An option, a word, a unit, a number, or nothing where something is needed."""
    parameters = COMMANDS[words].params
    arguments = [each for each in parameters if each.param_type_name == "argument"]
    typed = ["1"] * len(arguments)
    said = scrapstore(*words, *typed, "--nosuch", status=2)
    _refused(said, 2)
    assert "has no option --nosuch" in said.err
    for each in (each for each in parameters if each.metavar == "N" or each.name == "number"):
        named = [] if each in arguments else [*typed, each.opts[0]]
        said = scrapstore(*words, *named, "some", status=2)
        _refused(said, 2)
        assert "'some' will not do; give a" in said.err
    needed = [each for each in parameters if each.required]
    if needed:
        said = scrapstore(*words, status=2)
        _refused(said, 2)
        assert f"{' '.join(words)} needs " in said.err
    if all(each.nargs == 1 for each in arguments):
        options = [word for each in needed if each not in arguments for word in (each.opts[0], "1")]
        said = scrapstore(*words, *typed, *options, "left over", status=2)
        _refused(said, 2)
        assert "has no use for 'left over'" in said.err


def test_every_command_is_in_the_tables() -> None:
    """But for the demo, which takes long, and a lens to forget, which takes a photo to learn."""
    assert {*DONE, ("demo",), ("lens", "forget")} == set(COMMANDS)
