"""The project file of a design: it loads, and holds the design's pieces and places exactly."""

import re
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from scrapstore.designs import DESIGNS, Design, make_design
from scrapstore.errors import ProjectError
from scrapstore.projects import design_text, read_project
from scrapstore.projects.schema import DesignEntry
from scrapstore.shapes import cut_measures
from scrapstore.units import Units


@given(
    name=st.sampled_from(sorted(DESIGNS)), fill=st.sampled_from(["split", "hexagon", "rectangle"]),
    size=st.floats(12, 60), units=st.sampled_from(["in", "cm"]),
    seam=st.sampled_from([0.0, 0.25, 0.75 / 2.54]),
)  # fmt: skip
@settings(max_examples=60)
def test_what_is_written_is_the_design(
    name: str, fill: str, size: float, units: Units, seam: float
) -> None:
    mark = 1 / 8 if units == "in" else 1 / 25.4
    own = {"fill": fill} if name == "star" else {}
    design = make_design(name, size=size, seam=seam, mark=mark, **own)  # type: ignore[arg-type]
    project = read_project(design_text(design, seam, units))
    assert project.finished_area == pytest.approx(design.outline.area, rel=1e-5)
    assert project.seam_allowance == pytest.approx(seam, abs=1e-9)
    assert project.name == design.title
    for need, line in zip(project.pieces, design.lines, strict=True):
        assert (need.name, need.count, need.role) == (line.name, line.count, line.role)
        assert need.shape.kind == line.shape.kind
        assert need.shape.straight_edges == line.shape.straight_edges
        assert need.shape.measures == pytest.approx(line.shape.measures, abs=5e-6)
    if design.is_rectangle:
        assert project.cushion == pytest.approx(design.sides, abs=2e-6)
        assert project.covered == pytest.approx(1, abs=1e-5)
    else:
        assert project.cushion is None
    same_design(project.design, design)


def same_design(read: Design | None, made: Design) -> None:
    """The same pieces in the same places, to a billionth of an inch; the same words and counts."""
    assert read is not None
    assert read.outline.equals_exact(made.outline, 1e-9)
    for own, placed in zip(read.pieces, made.pieces, strict=True):
        assert replace(own, outline=placed.outline) == placed
        assert own.outline.equals_exact(placed.outline, 1e-9)
    assert [(x.name, x.count, x.role) for x in read.lines] == [
        (x.name, x.count, x.role) for x in made.lines
    ]
    assert read.parameters == pytest.approx(made.parameters, abs=1e-9)
    assert (read.piece_size, read.size) == pytest.approx((made.piece_size, made.size), abs=1e-9)
    assert (read.wanted is None) == (made.wanted is None)
    assert (read.wanted or 0) == pytest.approx(made.wanted or 0, abs=1e-9)
    told = ("name", "title", "measured", "set_in_seams", "rounds", "is_rectangle")
    assert all(getattr(read, one) == getattr(made, one) for one in told)


@given(
    name=st.sampled_from(sorted(DESIGNS)), piece=st.floats(0.25, 3), count=st.integers(1, 4),
    units=st.sampled_from(["in", "cm"]),
)  # fmt: skip
@settings(max_examples=40)
def test_a_design_of_any_piece_reads_back(
    name: str, piece: float, count: int, units: Units
) -> None:
    counts = ("a_side", "rows", "columns", "rings")
    own: dict[str, Any] = dict.fromkeys(
        (key for key in DESIGNS[name].takes if key in counts), count
    )
    if "border" in DESIGNS[name].takes and name != "star":
        own |= {"border": piece / 3 + 0.25, "border_corners": "mitred" if count % 2 else "straight"}
    made = make_design(name, piece=piece, seam=0.25, mark=0.125, **own)
    same_design(read_project(design_text(made, 0.25, units)).design, made)


def test_the_table_takes_what_a_design_is_made_of() -> None:
    """Every option that some design takes can stand in the file, and nothing that none takes."""
    options = {option for kind in DESIGNS.values() for option in kind.takes}
    assert DesignEntry.model_fields.keys() == options | {"name", "piece", "size", "wanted"}


STAR = design_text(make_design("star", size=18, seam=0.25, mark=0.125), 0.25)
TEAL = """
[[pieces]]
name = "teal diamond"
shape = "60° diamond"
height = "1 1/2"
count = 3
role = "teal"

[roles.teal]
scraps = [12, 13]

[arrangement]
"teal diamond" = ["1.1.1", "2.1.1", "3.1.1"]
"""


def test_an_arrangement_gives_positions_to_other_lines() -> None:
    """Three of the six in the middle are of another role: their line is counted apart."""
    project = read_project(STAR.replace("count = 6", "count = 3", 1) + TEAL)
    assert project.design is not None
    lines = {line.name: (line.count, line.role) for line in project.design.lines}
    assert lines["teal diamond"] == (3, "teal")
    assert lines["round 1 diamond"] == (3, "round 1")
    own = [p for p in project.design.pieces if p.piece == "teal diamond"]
    assert [(p.position, p.role, p.ring) for p in own] == [
        (f"{wedge}.1.1", "teal", 1) for wedge in (1, 2, 3)
    ]
    assert project.roles["teal"].scraps == (12, 13)
    assert {p.piece for p in project.design.pieces} == {p.name for p in project.pieces}


@pytest.mark.parametrize(
    ("was", "becomes", "said"),
    [
        ("count = 18", "count = 12", "line 44, piece 3 \"round 3 diamond\", count: the design has"),
        ('name = "round 3 diamond"', 'name = "ring"', "18 of its pieces are called 'round"),
        ('height = "4 1/2"', 'height = "5"', "shape: the design has half triangle, left,"),
        ('name = "star"', 'name = "stars"', "design: 'stars' is not known; did you mean star?"),
        ("a_side = 3", "a_side = 21", "design: --a-side: 21 will not do; give from 1 to 20"),
        ("a_side = 3", "rows = 3", "design: star has no --rows; it takes"),
        ('piece = "1 1/2"\n', "", "piece: missing; give the finished size of the piece"),
        ("[design]", "[designs]", "no such key; did you mean design?"),
        ("fill =", "full =", "design, full: no such key; did you mean fill?"),
    ],
)  # fmt: skip
def test_a_piece_list_that_does_not_agree_is_refused(was: str, becomes: str, said: str) -> None:
    assert was in STAR
    with pytest.raises(ProjectError, match=re.escape(said)):
        read_project(STAR.replace(was, becomes, 1))


@pytest.mark.parametrize(
    ("was", "becomes", "said"),
    [
        ('"3.1.1"]', '"3.1.4"]', "entry 3: the design has no position '3.1.4'; did you mean"),
        ('"3.1.1"]', '"1.1.1"]', "entry 3: '1.1.1' stands at 'teal diamond' already"),
        ('"3.1.1"]', '"1.left"]', "the design has half triangle, left, height 4 1/2 in here"),
        ('"3.1.1"]', '"3.1.2"]', "count: the design has 4 of it, not 3"),
        ('"teal diamond" =', '"teal" =', "arrangement, teal: 3 of its pieces are called 'teal'"),
        ("[design]", "[cushion]", "arrangement: there is no [design] whose positions"),
        ("scraps = [12, 13]", 'scraps = ["12"]', "scraps, entry 1: '12' will not do"),
    ],
)  # fmt: skip
def test_an_arrangement_that_does_not_agree_is_refused(was: str, becomes: str, said: str) -> None:
    text = STAR.replace("count = 6", "count = 3", 1) + TEAL
    assert was in text
    changed = text.replace(was, becomes, 1)
    if becomes == "[cushion]":
        changed = re.sub(r"\[cushion\].*?\n\n", "", changed, flags=re.DOTALL)
    with pytest.raises(ProjectError, match=re.escape(said)):
        read_project(changed)


def test_lines_that_have_no_place_may_stand_beside_a_design() -> None:
    """Such as the back of the cushion."""
    back = '[[pieces]]\nname = "back"\nshape = "square"\nside = "18"\ncount = 1\nrole = "back"\n'
    project = read_project(f"{STAR}\n[roles.back]\n{back}")
    assert project.design is not None
    assert "back" not in {line.name for line in project.design.lines}


BY_STRIP = ["star", "eight-point-star", "three-diamonds", "hexagon-flower", "nine-patch", "squares"]


@pytest.mark.parametrize("name", BY_STRIP)
@given(size=st.floats(12, 30))
@settings(max_examples=15)
@example(size=18.0)
def test_a_strip_on_a_mark_is_cut_at_that_mark(name: str, size: float) -> None:
    """The first measure of the first line, with its seams, in millimetres: not one more."""
    seam = DESIGNS[name].seam or 0.25
    design = make_design(name, size=size, seam=seam, mark=1 / 25.4)
    project = read_project(design_text(design, seam, "cm"))
    first = cut_measures(project.pieces[0].shape, project.seam_allowance, 1 / 25.4)[0]
    assert first.finished == pytest.approx(design.piece_size)
    assert first.on_ruler == pytest.approx(design.piece_size + 2 * seam, abs=1e-6)


def test_each_round_has_a_role_and_what_is_offered_loads_too() -> None:
    text = design_text(make_design("star", size=18, seam=0.25, mark=0.125), 0.25)
    assert list(read_project(text).roles) == [*(f"round {n}" for n in range(1, 6)), "background"]
    assert 'height = "1 1/2"' in text
    offered = text.replace("# families", "families").replace("# same", "same")
    role = read_project(offered).roles["round 1"]
    assert (role.families, role.same_fabric_sets) == (("blue", "green"), 6)
