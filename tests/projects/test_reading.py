"""Reading project files: what they mean, and every fault with its line, at once."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scrapstore.colour import FAMILIES, family_of_word
from scrapstore.errors import ProjectError
from scrapstore.projects import (
    COLOUR_FAMILIES,
    load_project,
    read_project,
    starter_text,
)
from scrapstore.shapes import GrainDirection, GrainEdge, GrainFree
from tests.support.bench import BENCH, bench, faults
from tests.support.pieces import same


def test_a_small_project() -> None:
    project = read_project(BENCH)
    (piece,) = project.pieces
    assert (project.name, project.seam_allowance, project.usable_width) == ("bench", 0.25, 40)
    assert (project.tips, project.cushion, project.covered, project.notes) == (
        "pointed", None, None, "",
    )  # fmt: skip
    assert (piece.name, piece.count, piece.role, piece.grain) == ("a", 4, "plain", GrainEdge())
    assert piece.shape.label == "square, 3 in"
    assert piece.cut.area == 3.5**2
    assert (piece.handed, piece.one_way, piece.needs_grain) == (False, False, True)
    assert project.finished_area == 36


def test_the_caller_says_what_holds_when_the_file_is_silent() -> None:
    project = read_project(BENCH, seam_allowance=0.375, usable_width=42)
    assert (project.seam_allowance, project.usable_width) == (0.375, 42)
    assert project.pieces[0].cut.area == 3.75**2
    spoken = "seam_allowance = '1 cm'\nusable_width = 110\nunits = 'cm'\n" + BENCH
    project = read_project(spoken, seam_allowance=0.375)
    assert project.seam_allowance == pytest.approx(1 / 2.54)
    assert project.usable_width == pytest.approx(110 / 2.54)
    assert project.pieces[0].shape.measures["side"] == pytest.approx(3 / 2.54)


@pytest.mark.parametrize(
    ("written", "inches"),
    [('"3 1/2"', 3.5), ('"3½"', 3.5), ("3.5", 3.5), ("3", 3.0), ('"9 cm"', 9 / 2.54)],
)
def test_sizes_are_written_as_quilters_write_them(written: str, inches: float) -> None:
    project = read_project(bench('"3"', written))
    assert project.pieces[0].shape.measures["side"] == pytest.approx(inches)


@pytest.mark.parametrize(
    ("written", "rule"),
    [
        ('"straight"', GrainEdge()),
        ('"lengthwise"', GrainEdge(None, "lengthwise")),
        ('"crosswise"', GrainEdge(None, "crosswise")),
        ('"free"', GrainFree()),
        ('"one-way"', GrainDirection(90)),
        ("{ edges = [2] }", GrainEdge((1,))),
        ('{ edges = [1, 4], along = "crosswise" }', GrainEdge((0, 3), "crosswise")),
        ("{ one_way_deg = 45 }", GrainDirection(45)),
        ("{ free_every_deg = 5 }", GrainFree(5)),
    ],
)
def test_grain_rules(written: str, rule: object) -> None:
    (piece,) = read_project(bench(add=f"grain = {written}\n")).pieces
    assert piece.grain == rule
    assert piece.one_way == isinstance(rule, GrainDirection)
    assert piece.needs_grain != isinstance(rule, GrainFree)


def test_conditions_of_a_role() -> None:
    conditions = (
        '[roles.plain]\nfamilies = ["blue", "green"]\nvalues = ["light"]\nfabrics = ["a", "b"]\n'
        "same_fabric_sets = 2\nmin_fabrics = 2\nmax_per_fabric = 2\n"
    )
    role = read_project(bench("[roles.plain]\n", conditions)).roles["plain"]
    assert (role.families, role.values, role.fabrics) == (("blue", "green"), ("light",), ("a", "b"))
    assert (role.same_fabric_sets, role.min_fabrics, role.max_per_fabric) == (2, 2, 2)


def test_polygons_by_their_corners() -> None:
    corners = 'corners = [["0", "0"], ["6", 0], [6, "2"], ["-1/2", "4 1/2"]]'
    text = bench('"square"', '"polygon"').replace('side = "3"', corners)
    (piece,) = read_project(text).pieces
    assert list(piece.shape.outline.exterior.coords)[:4] == [(0, 0), (6, 0), (6, 2), (-0.5, 4.5)]
    assert piece.handed
    (either,) = read_project(text + "mirror = true\n").pieces
    assert not either.handed


def test_tips_of_the_project_and_of_a_piece() -> None:
    triangle = bench('"square"', '"hst"').replace("side", "short_side")
    pointed, trimmed = read_project(triangle), read_project('tips = "trimmed"\n' + triangle)
    assert trimmed.pieces[0].cut.area < pointed.pieces[0].cut.area
    own = read_project('tips = "trimmed"\n' + triangle + 'tips = "pointed"\n')
    assert same(own.pieces[0].cut, pointed.pieces[0].cut)
    assert own.pieces[0].tips == "pointed"


def test_other_colour_words_can_be_allowed() -> None:
    """As `--family` takes them: teal is a blue, twice the same counts once."""
    text = bench("[roles.plain]\n", '[roles.plain]\nfamilies = ["teal", "blue", "Sage"]\n')
    assert "no colour word" in faults(text)[0]
    project = read_project(text, family_of=family_of_word)
    assert project.roles["plain"].families == ("blue", "green")


def test_a_role_may_ask_for_fibres() -> None:
    text = bench("[roles.plain]\n", '[roles.plain]\nfibres = ["cotton", "Linen"]\n')
    assert read_project(text).roles["plain"].fibres == ("cotton", "Linen")
    (told,) = faults(bench("[roles.plain]\n", '[roles.plain]\nfibres = "cotton"\n'))
    assert "fibres: 'cotton' will not do; give names of fibres, such as" in told
    (told,) = faults(bench("[roles.plain]\n", '[roles.plain]\nfibre = ["cotton"]\n'))
    assert told.endswith("no such key; did you mean fibres?")


def test_the_colour_words_are_those_of_the_program() -> None:
    assert set(COLOUR_FAMILIES) == set(FAMILIES)


def test_load_a_file(tmp_path: Path) -> None:
    file = tmp_path / "bench.toml"
    file.write_text(BENCH, encoding="utf-8")
    assert load_project(file).name == "bench"
    file.write_text(bench("side", "sied"), encoding="utf-8")
    says = r'bench\.toml, line 7, piece 1 "a", sied: no such key; did you mean side\?'
    with pytest.raises(ProjectError, match=says):
        load_project(file)


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    with pytest.raises(ProjectError, match=r"none\.toml: there is no such file; check its name"):
        load_project(tmp_path / "none.toml")
    with pytest.raises(ProjectError, match="it is a folder"):
        load_project(tmp_path)
    latin = tmp_path / "latin.toml"
    latin.write_bytes('name = "60°"'.encode("latin-1"))
    with pytest.raises(ProjectError, match=r"byte 11 is not UTF-8 text; save"):
        load_project(latin)
    huge = tmp_path / "huge.toml"
    huge.write_bytes(b"#" * 1_000_001)
    with pytest.raises(ProjectError, match="million bytes"):
        load_project(huge)


LINES = starter_text().splitlines()


@given(st.data())
def test_a_damaged_file_is_read_or_refused_in_words(data: st.DataObject) -> None:
    """Lines left out, doubled, cut short or mixed: a project, or faults on lines that exist."""
    lines = [line for line in LINES if line and not line.startswith("#")]
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(lines) - 1))
        other = data.draw(st.integers(0, len(lines) - 1))
        match data.draw(st.sampled_from(["drop", "double", "cut", "swap", "value"])):
            case "drop" if len(lines) > 1:
                del lines[at]
            case "double":
                lines.insert(at, lines[other])
            case "cut":
                lines[at] = lines[at][: data.draw(st.integers(0, len(lines[at])))]
            case "swap":
                lines[at], lines[other] = lines[other], lines[at]
            case _:
                values = [
                    "0",
                    "-1",
                    '""',
                    "[]",
                    "{}",
                    "[[1]]",
                    "1e400",
                    "true",
                    "1979-05-27",
                    "{a=1}",
                ]
                key = lines[at].split("=")[0]
                lines[at] = f"{key}= {data.draw(st.sampled_from(values))}"
    text = "\n".join(lines)
    try:
        project = read_project(text)
    except ProjectError as error:
        told = str(error)
    else:
        assert project.pieces
        return
    for line in told.splitlines()[1 if "things to put right" in told else 0 :]:
        number = int(line.split("line ")[1].split(",")[0].split(":")[0])
        assert 1 <= number <= max(1, len(lines))
    assert "things to put right" not in told or not told.startswith("project: 0")
