"""``design``: the list, a design in words and as a picture, and a project file that is matched."""

import re
import shlex
from pathlib import Path

import pytest
from PIL import Image
from pypdf import PdfReader

from scrapstore.guide import page
from tests.support.program import Program


def test_the_first_lines_say_what_is_reached(scrapstore: Program) -> None:
    """Story B: wanted 18, 2 in strips, 18.00 tip to tip, set-in seams 0 or 6."""
    said = scrapstore("design", "show", "star", "--size", "18", "--a-side", "3").out
    assert said.splitlines()[:4] == [
        "Six-point star, 3 a side: 18.00 in tip to tip, as wanted.",
        "54 diamonds in rounds of 6, 12, 18, 12, 6; 12 pieces of background.",
        "Diamonds from strips of 2 in; the whole top measures 15.59 × 18.00 in.",
        "Set-in seams: none; with --fill hexagon, whole pieces, 6.",
    ]
    whole = scrapstore("design", "show", "star", "--fill", "hexagon").out
    assert "Set-in seams: 6; with --fill split none." in whole


def test_a_difference_too_small_to_be_shown_is_none(scrapstore: Program) -> None:
    """5 hexagons of 9.9 cm less 2 × 3/8 in are 39.975 cm, by arithmetic."""
    said = scrapstore("design", "show", "hexagon-flower", "--size", "40", "--units", "cm").out
    assert said.startswith("Hexagon flower of 2 rings: 40.0 cm wide, as wanted.")


def test_a_difference_is_stated(scrapstore: Program) -> None:
    grid = ("--rows", "2", "--columns", "3")
    said = scrapstore("design", "show", "nine-patch", "--size", "16", *grid)
    assert said.out.startswith("Nine-patch, 2 × 3: 15.75 in wide, 0.25 in less than wanted.")
    said = scrapstore("design", "show", "squares", "--size", "40.3", "--columns", "5", "--units",
                      "cm")  # fmt: skip
    assert said.out.startswith("Plain squares, 4 × 5: 40.2 cm wide, 0.1 cm less than wanted.")
    assert "Squares cut 9.3 cm; the whole top measures 40.2 × 32.1 cm." in said.out


def test_the_picture_needs_no_colour(scrapstore: Program, tmp_path: Path) -> None:
    """Every piece, and its line below, has a letter."""
    drawn = tmp_path / "star.svg"
    out = scrapstore("design", "show", "star", "--picture", str(drawn), "--json").json
    assert out["picture"] == str(drawn)
    letters = re.findall(r">([A-Z])</text>", drawn.read_text(encoding="utf-8"))
    assert [letters.count(letter) for letter in "ABCDEFG"] == [7, 13, 19, 13, 7, 7, 7]
    scrapstore("design", "show", "pinwheels", "--picture", str(tmp_path / "wheels.png"))
    with Image.open(tmp_path / "wheels.png") as image:
        assert image.width > 1000
        assert len(image.convert("L").getcolors() or ()) > 3


@pytest.mark.parametrize(("units", "page"), [("in", (612, 792)), ("cm", (595, 842))])
def test_a_picture_on_paper_is_on_the_paper_of_the_settings(
    scrapstore: Program, tmp_path: Path, units: str, page: tuple[int, int]
) -> None:
    """A4 with centimetres, letter with inches."""
    design, edge = str(tmp_path / "star.pdf"), str(tmp_path / "edge.pdf")
    scrapstore("design", "show", "star", "--picture", design, "--units", units)
    scrapstore("binding", "add", "--size", "2 1/4 in x 80 in")
    scrapstore("finish", "--size", "18 in x 18 in", "--picture", edge, "--units", units)
    for file in (design, edge):
        box = PdfReader(file).pages[0].mediabox
        assert (round(float(box.width)), round(float(box.height))) == page


def test_json_has_every_piece_in_its_place(scrapstore: Program) -> None:
    out = scrapstore("design", "show", "star", "--json").json
    assert (out["wanted"], out["size"], out["difference"], out["strip"]) == (18, 18, 0, 2)
    assert out["rounds"] == [6, 12, 18, 12, 6]
    assert out["roles"]["background"] == 12
    assert len(out["placed"]) == sum(piece["count"] for piece in out["pieces"]) == 66
    first = out["placed"][0]
    assert (first["position"], first["ring"], first["wedge"]) == ("1.1.1", 1, 1)
    assert first["outline"][1] == pytest.approx([3**0.5, 0])
    takes = scrapstore("design", "list", "--json").json["designs"][0]["takes"]
    assert takes[:2] == ["a_side", "fill"]
    assert takes[-2:] == ["border", "border_corners"]


def test_a_started_project_is_checked_and_matched(scrapstore: Program, tmp_path: Path) -> None:
    """What no scrap gives is to be bought; the scrap gives what fits on it."""
    file = tmp_path / "wheels.toml"
    grid = ("--rows", "1", "--columns", "1", "--piece", "4")
    scrapstore("design", "start", "pinwheels", str(file), *grid)
    assert scrapstore("project", "check", str(file), "--json").json["covered"] == 1
    scrapstore("scrap", "add", "--size", "20 x 6", "--family", "blue")
    found = scrapstore("match", str(file), "--no-sheets", "--json").json
    assert found["together"]["wanted"] == 8
    assert 2 <= found["together"]["covered"] <= 8


def test_what_is_there_stays(scrapstore: Program, tmp_path: Path) -> None:
    file = tmp_path / "star.toml"
    scrapstore("design", "start", "star", str(file))
    before = file.read_bytes()
    said = scrapstore("design", "start", "star", str(file), "--size", "20", status=1)
    assert "is there already and stays as it is" in said.err
    assert file.read_bytes() == before
    assert "66 pieces, no fault found" in scrapstore("project", "check", str(file)).out
    # A wish that cannot be had leaves nothing behind.
    scrapstore("design", "start", "star", str(tmp_path / "small.toml"), "--size", "1", status=2)
    assert not (tmp_path / "small.toml").exists()


def test_the_calls_on_the_page_run(
    scrapstore: Program, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    calls = re.findall(r"^scrapstore (design .*?)(?:  .*)?$", page("designs") or "", re.MULTILINE)
    assert len(calls) == 5
    for call in calls:
        scrapstore(*shlex.split(call))
    assert {file.name for file in tmp_path.iterdir()} == {"s.svg", "my-star.toml", "second.toml"}


def test_units_from_squares_are_listed_by_what_they_make(
    scrapstore: Program, tmp_path: Path
) -> None:
    """And no triangle of theirs can be given a cloth of its own."""
    file = tmp_path / "geese.toml"
    wish = ("--size", "16", "--rows", "4", "--columns", "4", "--method", "fours")
    said = scrapstore("design", "start", "geese", str(file), *wish)
    assert "16.00 in wide, as wanted" in said.out
    shown = scrapstore("design", "show", "geese", *wish)
    assert "2 × sky triangle each" in shown.out
    assert scrapstore("design", "show", "geese", *wish, "--json").json["pieces"][0]["makes"] == {
        "piece": "goose", "each": 4,
    }  # fmt: skip
    scrapstore("scrap", "add", "--size", "9 x 6")
    said = scrapstore("arrange", str(file), status=1)
    assert "arrange the same design with --method single" in said.err


def test_a_lattice_is_arranged_and_matched(scrapstore: Program, tmp_path: Path) -> None:
    """Its lines follow from it; arranged, each cloth has lines of its own, and the rest stays."""
    file, kept = tmp_path / "hill.toml", tmp_path / "arranged.toml"
    text = re.search(r"```toml\n(.*?)```", page("projects") or "", re.DOTALL)
    assert text is not None
    file.write_text(text.group(1), encoding="utf-8")
    for number in (1, 2):
        scrapstore("fabric", "add", f"cloth {number}", "--family", "blue")
        scrapstore("scrap", "add", "--size", "20 x 12", "--fabric", f"cloth {number}")
    scrapstore("arrange", str(file), "--role", "sky", "--scheme", "scattered", "--keep", "1",
               "--as", str(kept))  # fmt: skip
    out = scrapstore("project", "check", str(kept), "--json").json
    roles = {piece["role"]: 0 for piece in out["pieces"]}
    for placed in out["design"]["placed"]:
        roles[placed["role"]] += 1
    assert roles["cloth 1"] + roles["cloth 2"] == 9
    assert (roles["hill"], roles["moon"]) == (6, 1)
    assert scrapstore("match", str(kept), "--no-sheets", "--json").json["together"]["wanted"] == 16
