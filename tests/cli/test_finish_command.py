"""``finish``: does the binding reach, in words, as JSON and as a picture."""

import re
import shlex
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest
from PIL import Image

from scrapstore.guide import page
from tests.support.program import Program

SQUARE = ("finish", "--size", "18 x 18")


@pytest.fixture
def strips(scrapstore: Program) -> None:
    """Those of story A."""
    for length, start, end in (("30", "/", "/"), ("24", "/", "\\"), ("21 1/2", "\\", "\\")):
        size = ("--size", f"2 1/2 x {length}")
        scrapstore("binding", "add", *size, "--start", start, "--end", end)


@pytest.fixture
def rescued(scrapstore: Program, strips: None) -> None:
    scrapstore("binding", "add", "--size", "2 1/2 x 4 1/2", "--start", "\\", "--end", "/")


@pytest.mark.usefixtures("strips")
def test_what_lacks_is_said_first_and_what_it_can_be_cut_from(scrapstore: Program) -> None:
    for size in ("2 1/2 x 7", "2 x 30", "2 1/2 x 3 1/2", "2 1/2 x 3 5/8"):
        scrapstore("scrap", "add", "--size", size, "--margin", "0", "--place", "tin")
    # In this corner of 6 in no rectangle of 2 1/2 x 3 5/8 has room along the grain.
    scrapstore("scrap", "add", "--corners", "0,0 6,0 0,6", "--margin", "0", "--name", "corner")
    said = scrapstore(*SQUARE)
    lines = said.out.splitlines()
    assert lines[0] == "The binding reaches 70.88 and needs 72.00 in: short 1.12, do not sew."
    assert lines[1] == "Cut one more strip, 2 1/2 in wide, 3 5/8 in or longer, square ends."
    found = scrapstore(*SQUARE, "--json").json["binding"]
    assert found["long_enough"] == [4, 1]
    assert found["extra"] == pytest.approx(3.6213, abs=5e-5)
    assert found["joins"] == []
    assert lines[2].startswith("Long enough: scrap 4, ")
    assert "follow the makers' instructions" in " ".join(said.out.split())


@pytest.mark.usefixtures("strips")
def test_no_scrap_is_long_enough(scrapstore: Program) -> None:
    assert "No scrap that these filters let through is long enough" in scrapstore(*SQUARE).out


@pytest.mark.usefixtures("rescued")
def test_the_order_and_the_start_as_json_and_in_words(scrapstore: Program) -> None:
    found = scrapstore(*SQUARE, "--json").json["binding"]
    assert found["short"] == 0
    assert found["available"] == pytest.approx(77.1716, abs=5e-5)
    assert [strip["strip"] for strip in found["strips"]] == [1, 2, 3, 4]
    assert [strip["taken_off"] for strip in found["strips"]] == pytest.approx(
        [0, 0, 5.1716, 0], abs=5e-5
    )
    assert found["clearance"] == pytest.approx(5.6464, abs=5e-5)
    assert found["clear"] is True
    said = scrapstore(*SQUARE, "--units", "in")
    lines = said.out.splitlines()
    assert lines[0] == "The binding reaches 77.17 and needs 72.00 in: 5.17 to spare."
    assert lines[1].startswith("Start about 12 3/8 in after corner 1: ")
    assert "nearer" in scrapstore(*SQUARE, "--clearance", "6").out.partition("Stop")[0]
    assert "you asked for 6 in" in " ".join(scrapstore(*SQUARE, "--clearance", "6").out.split())
    in_cm = scrapstore("finish", "--size", "45.72 x 45.72", "--units", "cm").out
    assert in_cm.startswith("The binding reaches 196.02 and needs 182.88 cm: 13.14 to spare.")


@pytest.mark.usefixtures("rescued")
def test_joins_keep_off_hems(scrapstore: Program) -> None:
    hems = ("--hem", "2: 6 to 12", "--hem", "4: 6 to 12")
    found = scrapstore(*SQUARE, *hems, "--json").json["binding"]
    assert found["hem_clearance"] == pytest.approx(found["clearance"], abs=1e-6)
    for join in found["joins"]:
        assert not 24 <= join["at"] <= 30
        assert not 60 <= join["at"] <= 66
    assert "or to a lapped hem than" in " ".join(scrapstore(*SQUARE, *hems).out.split())


def test_a_hexagon_of_square_ended_strips(scrapstore: Program) -> None:
    """Story C."""
    scrapstore("binding", "add", "--size", "2 1/4 x 31", "--count", "2")
    found = scrapstore("finish", "--hexagon", "9.28867513", "--json").json["binding"]
    assert found["needed"] == pytest.approx(55.7321, abs=5e-5)
    assert found["spare"] == pytest.approx(1.7679, abs=5e-5)
    assert found["clearance"] == pytest.approx(4.6443, abs=5e-5)
    assert found["stops"] == pytest.approx([0.1443] * 6, abs=5e-5)
    same = ("--sides", ", ".join(["9.28867513"] * 6), "--corners", ", ".join(["120"] * 6))
    assert scrapstore("finish", *same, "--json").json["binding"] == found


def test_corners_that_differ_have_their_own_stops(scrapstore: Program) -> None:
    scrapstore("binding", "add", "--size", "2 1/2 x 80")
    # A right triangle of 9, 12 and 15: corners of 90, 36.87 and 53.13 degrees.
    sides = ("--sides", "9, 12, 15", "--corners", "90, 36.87, 53.13")
    said = " ".join(scrapstore("finish", *sides).out.split())
    assert "Stop sewing 1/4 in before corner 2; about 3/4 in before corner 3;" in said


def test_corners_are_named_in_their_order(scrapstore: Program) -> None:
    """By geometry: twelve sides of 6 in turn by 45 degrees at corners 1 and 7, by 27 elsewhere."""
    scrapstore("binding", "add", "--size", "2 1/2 x 90")
    corners = (["153"] * 5 + ["135"]) * 2
    found = scrapstore("finish", "--sides", ", ".join(["6"] * 12), "--corners", ", ".join(corners))
    said = " ".join(found.out.split())
    assert "before corner 2, 3, 4, 5, 6, 8, 9, 10, 11 and 12" in said


def test_wider_and_narrow_strips_are_spoken_of(scrapstore: Program) -> None:
    scrapstore("binding", "add", "--size", "1 1/4 x 30")
    scrapstore("binding", "add", "--size", "2 x 30")
    said = " ".join(scrapstore("finish", "--size", "10 x 10").out.split())
    assert "First cut strip 2 down to 1 1/4 in wide" in said
    assert "are too narrow: a double-fold binding that finishes 1/4 in takes 1 1/2 in" in said


@pytest.mark.usefixtures("strips")
def test_filters_and_numbers_choose_strips(scrapstore: Program) -> None:
    scrapstore("binding", "add", "--size", "2 1/2 x 90", "--fabric", "ticking", "--new-fabrics")
    found = scrapstore(*SQUARE, "--fabric", "ticking", "--json").json["binding"]
    assert [strip["strip"] for strip in found["strips"]] == [4]
    found = scrapstore(*SQUARE, "--strip", "1-3", "--json").json["binding"]
    assert found["short"] == pytest.approx(1.1213, abs=5e-5)
    said = scrapstore(*SQUARE, "--strip", "1", "--fabric", "ticking", status=1)
    assert "--strip: 1 is not among the strips that may be used" in said.err


@pytest.mark.usefixtures("empty_store")
def test_without_strips_it_says_how_much_is_needed(scrapstore: Program) -> None:
    lines = scrapstore(*SQUARE).out.splitlines()
    assert lines[0] == "The binding needs 72.00 in, and there are no strips for it."
    # 2 1/4 in wide, and 40 - 2 1/4 in of each reach: castillejacotton.blogspot.com has 40 - 2.
    assert lines[1].startswith("Cut 2 strips, 2 1/4 in wide, across fabric that is 40 in wide")


@pytest.mark.usefixtures("rescued")
@pytest.mark.parametrize("name", ["edge.svg", "edge.png"])
def test_a_picture_of_the_edge(scrapstore: Program, tmp_path: Path, name: str) -> None:
    file = tmp_path / name
    scrapstore(*SQUARE, "--hem", "2: 6 to 12", "--picture", str(file))
    if name.endswith("png"):
        with Image.open(file) as image:
            assert min(image.size) > 600
        return
    words = {text for text in ET.parse(file).getroot().itertext() if text.strip()}
    assert {"start and end", "join 1", "join 2", "join 3", "corner 4", "strip 2"} <= words


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        (("--sides", "18, 18, 18, 9"), "the outline is open by 9.00 in"),
        (("--sides", "9, 9"), "give three or more"),
        (("--sides", "9, 9, 9", "--corners", "60, 60"), "as many corners, not 2"),
        (("--sides", "9, 9, 9", "--corners", "90, 90, 90"), "add up to 180°, not 270°"),
        (("--sides", "9, 9, 9", "--corners", "0, 90, 90"), "between 0° and 180°"),
        (("--size", "9 x 9", "--hem", "1: 7 to 6"), "does not lie on side 1, which is 9 in long"),
    ],
)
def test_an_outline_that_cannot_be(scrapstore: Program, typed: tuple[str, ...], said: str) -> None:
    assert said in scrapstore("finish", *typed, status=2).err


def test_the_page_of_the_guide_runs_and_says_so(
    scrapstore: Program, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    text = page("finishing")
    assert text is not None
    for name, block in re.findall(r"<!-- file (.*?) -->\n```toml\n(.*?)```", text, re.DOTALL):
        (tmp_path / name).write_text(block, encoding="utf-8")
    answers = []
    for block in re.findall(r"<!-- tour -->\n```sh\n(.*?)```", text, re.DOTALL):
        for line in block.strip().splitlines():
            words = shlex.split(line)
            answers.append(" ".join(scrapstore(*words[1:]).out.split()))
    shown = re.findall(r"```text\n(.*?)```", text, re.DOTALL)
    assert len(shown) == 4
    for block in shown:
        stated = " ".join(block.split())
        assert any(answer.startswith(stated) for answer in answers), stated
