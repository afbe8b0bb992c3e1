"""Slips of the hand: each is told with what was wrong and what to do, and nothing is stored."""

import subprocess
import sys
from pathlib import Path

import pytest

from tests.support.program import Program


def test_bare_numbers_follow_the_units_shown(scrapstore: Program, tmp_path: Path) -> None:
    """Typed on a call they are in the units shown; the file keeps the unit with the number."""
    margin = scrapstore("settings", "show", "--json", "--units", "cm", "--set", "margin=0.5")
    assert margin.json["margin"] == pytest.approx(0.5 / 2.54)
    scrapstore("settings", "set", "units", "cm")
    scrapstore("settings", "set", "margin", "0,6")
    assert 'margin = "0,6 cm"' in (tmp_path / "settings.toml").read_text()
    scrapstore("settings", "set", "units", "in")
    assert scrapstore("settings", "show", "--json").json["margin"] == pytest.approx(0.6 / 2.54)
    for nothing in ("0", "0 cm", '0"', "0.0 in"):
        scrapstore("settings", "set", "margin", nothing)
        assert scrapstore("settings", "show", "--json").json["margin"] == 0


def test_new_units_hold_for_the_settings_shown_with_them(scrapstore: Program) -> None:
    assert "2.5 cm " in scrapstore("settings", "set", "margin", "2.5 cm", "--units", "cm").out
    assert "2.5 cm " in scrapstore("settings", "set", "units", "cm").out
    said = scrapstore("settings", "set", "units", "in").out
    assert "about 1 in " in said
    assert " cm " not in said.replace("in or cm", "")


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("--units", "yards"), "units: 'yards' will not do"),
        (("--set", "foo"), "'foo' is not KEY=VALUE"),
        (("--set", "margin=wide"), "margin: cannot read 'wide' as a length"),
    ],
)
def test_a_wrong_shared_option_is_wrong_usage(
    scrapstore: Program, arguments: tuple[str, ...], told: str
) -> None:
    """Exit status 2, as for every option."""
    assert told in scrapstore("fabric", "list", *arguments, status=2).err


def test_a_margin_leaves_something_of_the_scrap(scrapstore: Program) -> None:
    """Both when it is added and when it is edited; a scrap that keeps a strip is fine."""
    told = "margin: 3 in along every edge leaves nothing of a scrap of 5 in × 9 in"
    assert told in scrapstore("scrap", "add", "--size", "5 x 9", "--margin", "3", status=2).err
    scrapstore("scrap", "add", "--size", "5 x 9", "--margin", "2")
    assert told in scrapstore("scrap", "edit", "1", "--margin", "3", status=2).err
    assert scrapstore("scrap", "show", "1", "--json").json["margin"] == 2


def test_a_thousand_or_one(scrapstore: Program) -> None:
    """A comma before three digits is read either way by different people; so it is not read."""
    said = scrapstore("scrap", "add", "--strip", "2 x 1,000", status=2).err
    assert "1,000 is a thousand to some and 1.000 to others" in said
    scrapstore("scrap", "add", "--size", "0,125 x 2,25")


def test_a_value_of_several_words_without_quotes_is_told(scrapstore: Program) -> None:
    words = ("yardage", "add", "--fabric", "linen", "--new-fabrics", "--length")
    told = "yardage add has no use for '1/2'; put a value of several words in quotes"
    assert told in scrapstore(*words, "1", "1/2", "yd", status=2).err
    scrapstore(*words, "1 1/2 yd")
    assert scrapstore("yardage", "list", "--json").json["yardage"][0]["length"] == 54


def test_new_fabrics_is_advised_only_where_it_is_an_option(scrapstore: Program) -> None:
    """A filter has no such option."""
    assert "--new-fabrics" not in scrapstore("scrap", "list", "--fabric", "moss", status=1).err
    assert (
        "--new-fabrics"
        in scrapstore("yardage", "add", "--fabric", "moss", "--length", "1 yd", status=1).err
    )


def test_a_fabric_is_found_in_any_capitals_and_accents(scrapstore: Program) -> None:
    """Also those that SQLite does not know; a name stored with its accents apart is the same."""
    scrapstore("fabric", "add", "Größe Élan")
    scrapstore("yardage", "add", "--fabric", "GRÖSSE E\u0301LAN", "--length", "1 yd")
    said = scrapstore("fabric", "add", "größe élan", status=1).err
    assert "a fabric is called 'größe élan' already" in said
    assert [f["name"] for f in scrapstore("fabric", "list", "--json").json["fabrics"]] == [
        "Größe Élan"
    ]


def test_a_place_and_a_project_are_found_in_any_capitals(scrapstore: Program) -> None:
    """As a fabric is; things kept under several spellings are found together."""
    for place in ("Küche", "KÜCHE", "flur"):
        scrapstore("scrap", "add", "--size", "5 x 9", "--place", place, "--from-project", "Über")
    asked = scrapstore("scrap", "list", "--place", "küche", "--from-project", "über", "--json")
    assert [scrap["id"] for scrap in asked.json["scraps"]] == [1, 2]


def test_shapes_are_told_in_the_units_shown(scrapstore: Program) -> None:
    """The size of a ready-cut piece too, and what was typed in centimetres comes back as typed."""
    units = ("--units", "cm")
    scrapstore(
        "ready", "add", "--count", "4", "--shape", "60° diamond", "--finished", "height=5", *units,
        "--new-fabrics", "--fabric", "moss",
    )  # fmt: skip
    for asked in (("ready", "list"), ("fabric", "show", "moss")):
        said = scrapstore(*asked, *units).out
        assert "height 5.0 cm" in " ".join(said.split()), said
        assert " in" not in said


def test_the_demo_has_a_store_of_its_own(scrapstore: Program, tmp_path: Path) -> None:
    """A store named on its call would be ignored; so it is not taken."""
    said = scrapstore("demo", "--store", str(tmp_path / "mine"), status=2).err
    assert "--folder" in said
    assert not (tmp_path / "mine").exists()


def test_history_of_a_plan_can_be_asked_for(scrapstore: Program) -> None:
    """Like that of any other thing."""
    scrapstore("scrap", "add", "--size", "5 x 9")
    assert scrapstore("history", "plan 1", "--json").json["changes"] == []
    assert len(scrapstore("history", "scrap 1", "--json").json["changes"]) == 1


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
@pytest.mark.parametrize("arguments", [("guide",), ("settings", "show", "--json")])
def test_output_that_cannot_be_written_is_told(arguments: tuple[str, ...]) -> None:
    """One sentence, exit status 1; as ``python -m scrapstore``."""
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(
            [sys.executable, "-m", "scrapstore", *arguments],
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )
    assert done.returncode == 1
    assert done.stderr == "scrapstore: cannot write the output (No space left on device)\n"


def test_a_photo_that_is_not_there_is_told_before_questions(scrapstore: Program) -> None:
    photo = Path(__file__).parents[2] / "sample_photos" / "tea-towel-green.jpg"
    for names in (["nosuch.jpg"], [str(photo), "nosuch.jpg"]):
        answer = scrapstore("log", *names, status=1)
        assert "nosuch.jpg: there is no such file" in answer.err
        assert "terminal" not in answer.err


def test_a_file_that_is_no_photo_is_told_before_questions(
    scrapstore: Program, tmp_path: Path
) -> None:
    (tmp_path / "list.jpg").write_text("bread, thread", encoding="utf-8")
    answer = scrapstore("log", str(tmp_path / "list.jpg"), status=1)
    assert "list.jpg" in answer.err
    assert "terminal" not in answer.err


def test_a_colour_word_with_a_slip_is_told_the_near_ones(scrapstore: Program) -> None:
    scrapstore("scrap", "add", "--size", "9 x 6", "--family", "teal")
    assert "did you mean teal" in scrapstore("find", "--like", "teel", status=1).err


def test_edges_that_cross_are_told_by_where_they_do(scrapstore: Program) -> None:
    corners = "0,0 5,5 5,0 0,5"
    told = scrapstore("scrap", "add", "--corners", corners, status=2).err
    assert "cross or touch near 2.5,2.5;" in told


def test_a_list_tells_what_is_no_rectangle(scrapstore: Program) -> None:
    """A size alone would promise the whole rectangle."""
    scrapstore("scrap", "add", "--size", "6 x 6")
    scrapstore("scrap", "add", "--triangle", "6 x 6")
    scrapstore("scrap", "add", "--corners", "0,0 6,0 6,3 3,3 3,6 0,6")
    lines = scrapstore("scrap", "list").out.splitlines()[2:5]
    told = [" ".join(line.split()) for line in lines]
    assert told == ["1 6 × 6 in", "2 triangle in 6 × 6 in", "3 part of 6 × 6 in"]
