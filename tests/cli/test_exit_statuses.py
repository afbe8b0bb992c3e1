"""Every command ends with 0 when done, 1 when the user must act, 2 when the call is wrong.

And says why in the program's own words, never in those of a library.
"""

from pathlib import Path
from typing import Any

import pytest

from tests.support.commands import CALLS, COMMANDS, Words
from tests.support.program import Program

LIBRARY_WORDS = (
    "Input should be", "Invalid value", "Missing", "No such option", "No such command",
    "Usage:", "Error:", "Try '",
    "unexpected extra", "does not take", "requires an argument",
)  # fmt: skip

# Right calls that the user must do something about first; any other command finds no store.
ACT: dict[Words, Words] = {
    ("scale",): ("nowhere/card.pdf",),
    ("log",): ("nosuch.jpg",),
    ("gives",): ("99",),
    ("match",): ("nosuch.toml",),
    ("plan", "keep"): ("nosuch.toml",),
    ("plan", "show"): ("nosuch",),
    ("plan", "sheets"): ("nosuch",),
    ("plan", "picture"): ("nosuch", "top.png"),
    ("plan", "done"): ("nosuch",),
    ("cut",): ("nosuch",),
    ("plan", "release"): ("nosuch",),
    ("sew",): ("nosuch.toml",),
    ("rank",): ("nowhere",),
    ("design", "show"): ("star", "--picture", "nowhere/star.svg"),
    ("design", "start"): ("star", "pad.toml"),
    ("project", "new"): ("pad.toml",),
    ("project", "check"): ("nosuch.toml",),
    ("families",): ("--fabric", "nosuch"),
    ("find",): ("--goes-with", "99"),
    ("piles",): ("2", "--sheet", "nowhere/sheet.html"),
    ("undo",): (),  # there is no terminal to ask
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
    ("finish",): ("--size", "8 x 8", "--strip", "99"),
    ("lens", "forget"): ("99",),
    ("store", "backup"): (".",),
    ("store", "restore"): ("nosuch",),
    ("store", "export"): ("pad.toml",),
    ("store", "import"): ("pad.toml", "--store", "empty"),
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
    ("gives", "two"),
    ("match", "pad.toml", "--aims", "beauty"),
    ("match", "pad.toml", "--picture", "top.txt"),
    ("plan", "picture", "first", "top.txt"),
    ("design", "show", "stra"),
    ("design", "show", "star", "--rows", "3"),
    ("design", "show", "star", "--fill", "round"),
    ("design", "show", "star", "--piece", "1 1/2", "--size", "18"),
    ("design", "show", "star", "--picture", "star.gif"),
    ("design", "start", "pinwheels", "new.toml", "--size", "1/2"),
    ("families", "--sheet", "sheet.pdf"),
    ("families", "--family", "teel"),
    ("families", "--learn", "--forget"),
    ("find",),
    ("find", "--like", ""),
    ("find", "--like", "#1z"),
    ("store", "check", "--from", "."),
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
    ("finish",),
    ("finish", "--size", "8 x 8", "--hexagon", "9"),
    ("finish", "--size", "8 x 8", "--corners", "90, 90"),
    ("finish", "--sides", "9, 9, 9"),
    ("finish", "--sides", "9, 9, 9", "--corners", "60, sixty, 60"),
    ("finish", "--size", "8 x 8", "--hem", "5: 2 to 4"),
    ("finish", "--size", "8 x 8", "--hem", "middle"),
    ("finish", "--size", "8 x 8", "--picture", "binding.txt"),
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


def _refused(said: Any, status: int) -> None:
    lines = said.err.splitlines()
    assert said.status == status
    assert lines[-1].startswith("scrapstore: "), said
    assert not [words for words in LIBRARY_WORDS if words in said.err], said


@pytest.mark.usefixtures("here")
@pytest.mark.parametrize("words", CALLS, ids=" ".join)
def test_done(scrapstore: Program, words: Words) -> None:
    assert scrapstore(*words, *CALLS[words], status=0).out


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
    said = scrapstore(*words, *CALLS[words], "--units", "in", status=1)
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
