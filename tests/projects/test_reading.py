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
from tests.support.pieces import same

BENCH = """\
format = 1
name = "bench"
[roles.plain]
[[pieces]]
name = "a"
shape = "square"
side = "3"
count = 4
role = "plain"
"""


def bench(old: str = "", new: str = "", *, add: str = "") -> str:
    assert old in BENCH
    return BENCH.replace(old, new, 1) + add


def faults(text: str) -> list[str]:
    with pytest.raises(ProjectError) as caught:
        read_project(text, file="bench.toml")
    lines = str(caught.value).splitlines()
    if len(lines) == 1:
        return [lines[0].removeprefix("bench.toml, ")]
    assert lines[0] == f"bench.toml: {len(lines) - 1} things to put right"
    return [line.strip() for line in lines[1:]]


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


ONE_FAULT = {
    "no format": (
        bench("format = 1\n"), "line 1, format: missing; give format = 1"),
    "later format": (
        bench("format = 1", "format = 2"),
        "line 1, format: 2 is newer than this program, which reads 1; update scrapstore"),
    "format as text": (
        bench("format = 1", 'format = "1"'),
        "line 1, format: '1' will not do; give format = 1"),
    "unknown key": (
        bench("name", "nme = 1\nname"), "line 2, nme: no such key; did you mean name?"),
    "unknown key of a role": (
        bench("[roles.plain]\n", "[roles.plain]\nfamlies = []\n"),
        'line 4, role "plain", famlies: no such key; did you mean families?'),
    "unknown key of a piece": (
        bench("count", "cuont = 3\ncount"),
        'line 8, piece 1 "a", cuont: no such key; did you mean count?'),
    "misspelt size": (
        bench("side", "sied"), 'line 7, piece 1 "a", sied: no such key; did you mean side?'),
    "size of another shape": (
        bench("side", "height"), 'line 7, piece 1 "a", height: a square has no height'),
    "missing size": (
        bench('side = "3"\n'), 'line 6, piece 1 "a", shape: no size given for a square; '
        "it takes side"),
    "unreadable size": (
        bench('"3"', '"three"'),
        "line 7, piece 1 \"a\", side: cannot read 'three' as a length"),
    "size of nothing": (
        bench('"3"', '"0"'), "line 7, piece 1 \"a\", side: '0' will not do"),
    "size too small": (
        bench('"3"', '"0.001"'), 'line 6, piece 1 "a", shape: square: side 0.001 will not do'),
    "size as truth": (
        bench('"3"', "true"), 'line 7, piece 1 "a", side: True is not a length'),
    "count of nothing": (
        bench("4", "0"), 'line 8, piece 1 "a", count: 0 will not do; give a whole number from 1'),
    "count as text": (
        bench("4", '"4"'), "line 8, piece 1 \"a\", count: '4' will not do; give a whole number"),
    "count as truth": (
        bench("4", "true"), 'line 8, piece 1 "a", count: true will not do; give a whole number'),
    "unknown shape": (
        bench("square", "sqare"),
        "line 6, piece 1 \"a\", shape: shape 'sqare' is not known; did you mean square?"),
    "unknown role": (
        bench('role = "plain"', 'role = "plane"',
              add='[[pieces]]\nname = "b"\nshape = "square"\nside = 2\ncount = 1\nrole = "plain"'),
        'line 9, piece 1 "a", role: there is no [roles.plane]; did you mean plain?'),
    "role without pieces": (
        bench("[roles.plain]\n", "[roles.plain]\n[roles.other]\n"),
        'line 4, role "other": no piece has this role'),
    "two of one name": (
        bench(add=BENCH[BENCH.index("[[pieces]]"):]),
        'line 11, piece 2 "a", name: piece 1 has the same name'),
    "no colour": (
        bench("[roles.plain]\n", '[roles.plain]\nfamilies = [\n  "red",\n  "bleu",\n]\n'),
        "line 6, role \"plain\", families, entry 2: 'bleu' is no colour word; "
        "did you mean blue?"),
    "no value": (
        bench("[roles.plain]\n", '[roles.plain]\nvalues = ["lite"]\n'),
        "line 4, role \"plain\", values, entry 1: 'lite' will not do; give \"light\""),
    "impossible sets": (
        bench("[roles.plain]\n", "[roles.plain]\nsame_fabric_sets = 3\n"),
        'line 9, piece 1 "a", count: 4 pieces cannot come in sets of 3'),
    "too many fabrics": (
        bench("[roles.plain]\n", "[roles.plain]\nmin_fabrics = 5\n"),
        'line 4, role "plain", min_fabrics: 4 pieces cannot be from 5 different fabrics'),
    "too few named fabrics": (
        bench("[roles.plain]\n", '[roles.plain]\nmin_fabrics = 2\nfabrics = ["x"]\n'),
        'line 4, role "plain", min_fabrics: 2 fabrics wanted, but only x may be used'),
    "less than a set": (
        bench("[roles.plain]\n", "[roles.plain]\nsame_fabric_sets = 4\nmax_per_fabric = 3\n"),
        'line 5, role "plain", max_per_fabric: 3 is less than one set of 4'),
    "tips": (
        'tips = "blunt"\n' + BENCH,
        'line 1, tips: \'blunt\' will not do; give "pointed" or "trimmed"'),
    "seam allowance": (
        "seam_allowance = '3'\n" + BENCH,
        "line 1, seam_allowance: '3' will not do; give a length from 0 to 2 in"),
    "grain word": (
        bench(add='grain = "bias"\n'),
        'line 10, piece 1 "a", grain: \'bias\' will not do; give "straight"'),
    "grain key": (
        bench(add="grain = { edge = [1] }\n"),
        'line 10, piece 1 "a", grain, edge: no such key; did you mean edges?'),
    "grain edge": (
        bench(add="grain = { edges = [5] }\n"),
        'line 10, piece 1 "a", grain: there is no edge 5; the shape has edges 1 to 4'),
    "grain twice": (
        bench(add="grain = { edges = [1], one_way_deg = 0 }\n"),
        'line 10, piece 1 "a", grain: edges, one_way_deg and free_every_deg exclude'),
    "mirror": (
        bench(add='mirror = "yes"\n'),
        "line 10, piece 1 \"a\", mirror: 'yes' will not do; give true or false"),
    "corners of a square": (
        bench(add='corners = [["0", "0"]]\n'),
        'line 10, piece 1 "a", corners: a square takes side; corners belong to'),
    "polygon without corners": (
        bench('"square"\nside = "3"', '"polygon"'), 'line 4, piece 1 "a", corners: missing; give'),
    "polygon that crosses": (
        bench('"square"\nside = "3"', '"polygon"\ncorners = [[0,0],[4,4],[4,0],[0,4]]'),
        'line 7, piece 1 "a", corners: polygon: its edges cross'),
    "corner unreadable": (
        bench('"square"\nside = "3"', '"polygon"\ncorners = [[0,0],\n[4,"x"],[4,0]]'),
        "line 8, piece 1 \"a\", corners, entry 2: cannot read 'x'"),
    "corner that is no pair": (
        bench('"square"\nside = "3"', '"polygon"\ncorners = [[0,0],[4],[4,0]]'),
        'line 7, piece 1 "a", corners, entry 2: [4] will not do; give corners in order'),
    "half a cushion": (
        bench("[roles", '[cushion]\nwidth = "16"\n[roles'),
        "line 3, cushion, height: missing; give a length"),
    "no pieces": (
        'format = 1\nname = "x"\nroles = {}\npieces = []\n',
        "line 4, pieces: [] will not do; give [[pieces]] for every kind of piece"),
    "a piece that is no table": (
        'format = 1\nname = "x"\nroles = {}\npieces = [3]\n',
        "line 4, piece 1: 3 will not do; give [[pieces]] for every kind of piece"),
    "length without quotes": (
        bench('"3"', "3 1/2"),
        'line 7: not TOML (Expected newline or end of document after a statement) in '
        "'side = 3 1/2'; lengths go in quotes: side = \"3 1/2\""),
    "open quote": (
        bench('"bench"', '"bench'), "line 2: not TOML (Illegal character '\\n')"),
    "curly quotes": (
        bench('"bench"', '“bench”'),
        "line 2: not TOML (Invalid value) in 'name = “bench”'; quotes must be straight ones"),
    "a role that is no table": (
        'format = 1\nname = "x"\n[roles]\nsky = 5\n[[pieces]]\nname = "a"\nshape = "square"\n'
        'side = "3"\ncount = 1\nrole = "sky"\n',
        'line 4, role "sky": 5 will not do; give a table, [roles.sky], with families'),
    "a key twice": (
        bench("count", "side = 4\ncount"), "line 8: not TOML (Cannot overwrite a value)"),
    "a table twice": (
        bench("[roles.plain]\n", "[roles.plain]\n[roles.plain]\n"),
        "line 4: not TOML (Cannot declare ('roles', 'plain') twice)"),
    "broken at the end": (bench(add="x ="), "line 10: not TOML (Invalid value"),
    "nested without end": ("x = " + "[" * 5000, "line 1: not TOML (nested more than 20"),
}  # fmt: skip


@pytest.mark.parametrize("case", ONE_FAULT)
def test_one_fault_is_told_with_line_key_and_remedy(case: str) -> None:
    text, expected = ONE_FAULT[case]
    (told,) = faults(text)
    assert told.startswith(expected)


def test_all_faults_come_at_once_in_the_order_of_lines() -> None:
    text = (
        "format = 1\n"
        "nam = 'bench'\n"
        "[roles.star]\n"
        "families = ['bleu']\n"
        "[[pieces]]\n"
        "name = 'a'\n"
        "shape = 'squar'\n"
        "side = '3'\n"
        "count = 0\n"
        "role = 'star'\n"
        "[[pieces]]\n"
        "name = 'a'\n"
        "shape = '60° diamond'\n"
        "hieght = 'x'\n"
        "count = 4\n"
        "role = 'stern'\n"
        "grain = { edges = [9] }\n"
    )
    told = faults(text)
    starts = [line.split(": ")[0] for line in told]
    assert starts == [
        "line 1, name",
        "line 2, nam",
        'line 4, role "star", families, entry 1',
        'line 7, piece 1 "a", shape',
        'line 9, piece 1 "a", count',
        'line 12, piece 2 "a", name',
        'line 14, piece 2 "a", hieght',
        'line 16, piece 2 "a", role',
        'line 17, piece 2 "a", grain',
    ]


def test_a_notch_too_narrow_for_the_seam_allowance() -> None:
    slot = "[[0,0],[5,0],[5,4],[2.7,4],[2.7,1],[2.3,1],[2.3,4],[0,4]]"
    text = bench('"square"\nside = "3"', f'"polygon"\ncorners = {slot}')
    (told,) = faults(text)
    assert "too close for a seam allowance of 0.25 in" in told
    assert read_project("seam_allowance = '1/8'\n" + text).pieces


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
