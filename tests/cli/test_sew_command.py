"""``sew``: the first lines, the batches, one batch piece by piece, JSON, and the guide's tour."""

import re
import shlex
from pathlib import Path

import pytest
from pypdf import PdfReader

from scrapstore.guide import page
from tests.support.program import Program


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def start(scrapstore: Program, design: str, *options: str) -> None:
    scrapstore("design", "start", design, "top.toml", *options)


def flat(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.usefixtures("here")
def test_the_first_lines(scrapstore: Program) -> None:
    """Pieces, seams, how many set in; seam test; the first batch; what to measure after it."""
    start(scrapstore, "pinwheels", "--piece", "4", "--rows", "2", "--columns", "2")
    said = flat(scrapstore("sew", "top.toml").out)
    lines = [
        "Pinwheels, 2 × 2: 32 pieces, 31 seams, none set in.",
        "Seam test: sew three strips of 1 1/2 in side by side and press them: together they must "
        "measure 3 1/2 in.",
        "Batch 1: sew 16 × unit, one after the other without cutting the thread between: A + B",
        "Then measure: 4 1/2 × 4 1/2 in.",
    ]
    places = [said.index(line) for line in lines]
    assert places == sorted(places)
    assert places[0] == 0
    assert "Seams meet at 9 points. At each their allowances lie to opposite sides" in said
    assert "The instructions of the makers" in said
    assert "--batch says which seam goes where" in said


@pytest.mark.usefixtures("here")
def test_set_in_seams_are_named_with_their_point(scrapstore: Program) -> None:
    start(scrapstore, "star", "--piece", "1 1/2", "--fill", "hexagon")
    said = flat(scrapstore("sew", "top.toml").out)
    assert said.startswith(
        "Six-point star, 3 a side: 60 pieces, 65 seams, 6 set in: no order has fewer."
    )
    # By geometry: a 120° piece touches its neighbours along 3√3 = 5.196 in each,
    # 5 1/4 in on a ruler of eighths.
    named = re.findall(
        r"Seam (\d+) is set in about 5 1/4 in from its start, where (.*?) meet", said
    )
    assert len(named) == 6
    assert named[0][1] == "1.1.3, 2.3.1 and 1-2"
    assert said.count("turn at ") == 6  # in the table
    out = scrapstore("sew", "top.toml", "--json").json
    bends = [bend for join in out["joins"] for bend in join["bends"]]
    assert [bend["kind"] for bend in bends] == ["set in"] * 6
    assert (out["pieces"], out["seams"], out["set_in"], out["set_in_at_least"]) == (60, 65, 6, 6)


@pytest.mark.usefixtures("here")
def test_a_batch_piece_by_piece(scrapstore: Program) -> None:
    start(scrapstore, "squares", "--piece", "2", "--rows", "2", "--columns", "2")
    said = scrapstore("sew", "top.toml", "--batch", "1").out
    assert re.findall(r"^ +(\d) +(\S+) +(\S+) +to (\S+)", said, re.MULTILINE) == [
        ("1", "1.1", "1.2", "1.2"),
        ("2", "2.1", "2.2", "2.1"),  # the other way, so that they nest
    ]
    wrong = scrapstore("sew", "top.toml", "--batch", "3", status=2)
    assert "there are 2 batches" in wrong.err


@pytest.mark.usefixtures("here")
@pytest.mark.parametrize(
    ("seam", "across"),
    [("1/4 in", "3 1/2 in"), ("3/8 in", "3 in"), ("1/8 in", "4 in")],
)
def test_the_seam_test_follows_the_allowance(scrapstore: Program, seam: str, across: str) -> None:
    """Common practice: three strips of 1 1/2 in; 4.5 less four allowances."""
    start(scrapstore, "squares", "--piece", "2", "--set", f"seam_allowance={seam}")
    said = flat(scrapstore("sew", "top.toml").out)
    assert f"three strips of 1 1/2 in side by side and press them: together they must measure {across}." in said  # fmt: skip  # noqa: E501


@pytest.mark.usefixtures("here")
def test_centimetres(scrapstore: Program) -> None:
    start(scrapstore, "squares", "--piece", "5 cm", "--set", "seam_allowance=0.75 cm")
    said = flat(scrapstore("sew", "top.toml", "--units", "cm").out)
    assert (
        "three strips of 4.0 cm side by side and press them: together they must measure 9.0 cm"
        in said
    )
    assert "Then measure: 6.5 × 11.5 cm." in said


@pytest.mark.usefixtures("here")
def test_a_project_without_places_says_how_to_get_them(scrapstore: Program) -> None:
    scrapstore("project", "new", "plain.toml")
    said = scrapstore("sew", "plain.toml", status=1)
    assert "design start" in said.err


@pytest.mark.usefixtures("here")
def test_one_piece_is_nothing_to_sew(scrapstore: Program) -> None:
    start(scrapstore, "squares", "--piece", "8", "--rows", "1", "--columns", "1")
    assert "nothing to sew" in scrapstore("sew", "top.toml", status=1).err


@pytest.mark.usefixtures("here")
def test_units_from_squares_are_made_and_trimmed(scrapstore: Program) -> None:
    """Common practice, also in the piece list: two at a time, 4 in finished, trimmed to 4 1/2."""
    grid = ("--piece", "4", "--rows", "2", "--columns", "2", "--method", "pairs")
    start(scrapstore, "pinwheels", *grid)
    said = flat(scrapstore("sew", "top.toml").out)
    assert "Batch 1: make 16 × unit, A + B. Two at a time: lay a square of each cloth" in said
    assert "trim each unit to 4 1/2 in." in said
    assert "32 pieces, 31 seams" in said


@pytest.mark.usefixtures("here")
def test_a_unit_of_three_triangles_is_made_in_one_go(scrapstore: Program) -> None:
    """Flying geese of 2 by 4 in, four at a time: trimmed to 2 1/2 by 4 1/2 in (common practice)."""
    grid = ("--piece", "2", "--rows", "2", "--columns", "2", "--method", "fours")
    start(scrapstore, "geese", *grid)
    assert "They come with batch 2" in flat(scrapstore("sew", "top.toml").out)
    said = flat(scrapstore("sew", "top.toml", "--batch", "2").out)
    assert "Trim each unit to 2 1/2 in by 4 1/2 in." in said


@pytest.mark.usefixtures("here")
def test_units_are_pressed_to_the_darker_role(scrapstore: Program) -> None:
    """The background is light where nothing is said, else as its role has it."""
    start(scrapstore, "pinwheels", "--piece", "4", "--rows", "1", "--columns", "1")
    assert "Press to A." in flat(scrapstore("sew", "top.toml").out)
    file = Path("top.toml")
    text = file.read_text(encoding="utf-8")
    dark = text.replace("[roles.background]", '[roles.background]\nvalues = ["dark"]')
    light = dark.replace("[roles.sails]", '[roles.sails]\nvalues = ["light"]')
    file.write_text(light, encoding="utf-8")
    assert "Press to B." in flat(scrapstore("sew", "top.toml").out)


@pytest.mark.usefixtures("here")
def test_json_holds_every_join(scrapstore: Program) -> None:
    start(scrapstore, "squares", "--piece", "2", "--rows", "2", "--columns", "2")
    out = scrapstore("sew", "top.toml", "--json").json
    last = out["joins"][-1]
    assert (last["first"]["seam"], last["second"]["seam"], last["length"]) == (1, 2, 4)
    assert last["meets"] == [{"at": 2, "point": [0, 0], "seams": [1, 1], "opposed": True}]
    assert out["joins"][0]["first"] == {"position": "1.1", "label": None, "seam": None}
    assert {one["press_to"] for one in out["joins"][:2]} == {"first", "second"}
    assert out["batches"][-1]["measure"][0] == {"how": "across", "raw": 4.5, "finished": 4}


@pytest.mark.usefixtures("here")
def test_a_plan_has_the_labels_of_its_cutting_sheets(scrapstore: Program, tmp_path: Path) -> None:
    scrapstore("design", "start", "squares", "top.toml", "--piece", "2", "--rows", "2",
               "--columns", "2")  # fmt: skip
    scrapstore("scrap", "add", "--size", "9 x 6", "--family", "blue")
    scrapstore("plan", "keep", "top.toml", "--name", "blue top")
    out = scrapstore("sew", "blue top", "--sheet", "sheet.pdf", "--json").json
    labels = [join[side]["label"] for join in out["joins"][:2] for side in ("first", "second")]
    assert sorted(labels) == ["A1", "A2", "A3", "A4"]
    assert (out["plan"], out["sheet"]) == ("blue top", str(tmp_path / "sheet.pdf"))
    kept = scrapstore("plan", "show", "blue top", "--json").json["answer"]
    places = {one["position"]: one["label"] for one in kept["positions"]}
    first = out["joins"][0]["first"]
    assert first["label"] == places[first["position"]]
    text = " ".join(page.extract_text() for page in PdfReader("sheet.pdf").pages)
    assert f"1: {labels[0]} + {labels[1]}" in text
    refused = scrapstore("sew", "top.toml", "--sheet", "sheet.txt", status=2)
    assert "end it with .html or .pdf" in refused.err


@pytest.mark.usefixtures("here")
def test_the_tour_of_the_guide(scrapstore: Program) -> None:
    text = page("sewing") or ""
    said = ""
    for block in re.findall(r"<!-- tour -->\n```sh\n(.*?)```", text, re.DOTALL):
        for line in block.splitlines():
            program, *words = shlex.split(line)
            assert program == "scrapstore"
            said += scrapstore(*words).out
    for block in re.findall(r"```text\n(.*?)```", text, re.DOTALL):
        for line in block.splitlines():
            assert line in flat(said), line
