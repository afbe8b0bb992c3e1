"""The starter file, projects written back, and the schema for editors."""

import json
import re

import pytest
from hypothesis import given, reject
from hypothesis import strategies as st

from scrapstore.errors import ShapeError
from scrapstore.projects import (
    COLOUR_FAMILIES,
    PieceNeed,
    Project,
    Role,
    project_schema,
    project_to_toml,
    read_project,
    starter_text,
)
from scrapstore.shapes import (
    KINDS,
    GrainDirection,
    GrainEdge,
    GrainFree,
    Shape,
    cut_shape,
    make_polygon,
    make_shape,
    shape_kind,
)
from tests.support.pieces import BENCH_END, same_corners, shapes


def test_the_starter_loads_and_makes_up_its_cushion() -> None:
    project = read_project(starter_text())
    assert project.covered == pytest.approx(1)
    assert project.roles["sails"].same_fabric_sets == 4


def test_what_the_starter_offers_in_comments_loads_too() -> None:
    """Every commented key may be used as it stands."""
    text = re.sub(r"^# (\w+ = )", r"\1", starter_text(), flags=re.MULTILINE)
    assert text.count("\nunits = ") == 1
    project = read_project(text)
    assert project.roles["sails"].max_per_fabric == 8
    assert project.pieces[0].mirror
    for table in re.findall(r"^#   (\{.*?\})", starter_text(), flags=re.MULTILINE):
        changed = starter_text().replace('grain = "straight"', f"grain = {table}")
        assert read_project(changed).pieces[0].grain != GrainEdge()


def test_the_starter_names_every_shape_and_colour() -> None:
    for kind in KINDS.values():
        assert kind.title in starter_text()
    assert ", ".join(COLOUR_FAMILIES) in starter_text()
    for title in re.findall(r"^#   (\w.{24}\w?) {2,}", starter_text(), flags=re.MULTILINE):
        assert shape_kind(title.strip()).title == title.strip()


def written_and_read(project: Project) -> Project:
    return read_project(project_to_toml(project), seam_allowance=9, usable_width=9)


grains = st.sampled_from(
    [GrainEdge(), GrainEdge(None, "crosswise"), GrainEdge((0, 2), "lengthwise"),
     GrainDirection(30), GrainFree(7.5)]
)  # fmt: skip


@given(
    st.lists(
        st.tuples(shapes(), grains, st.integers(1, 99), st.sampled_from(["pointed", "trimmed"])),
        min_size=1,
        max_size=4,
    ),
    st.sampled_from([0.25, 0.375, 1 / 2.54]),
    st.booleans(),
)
def test_a_project_written_and_read_is_the_same(
    wishes: list[tuple[Shape, object, int, str]], allowance: float, mirror: bool
) -> None:
    roles = {
        "star": Role("star", ("blue",), ("dark",), ("a \"b\"",), None, 1, 9),
        "sky's edge": Role("sky's edge"),
    }  # fmt: skip
    pieces = []
    for i, (shape, grain, count, tips) in enumerate(wishes):
        try:
            cut = cut_shape(shape, allowance, tips)  # type: ignore[arg-type]
        except ShapeError:
            reject()
        pieces.append(
            PieceNeed(f"p {i}", shape, cut, count, "star", grain, tips, mirror)  # type: ignore[arg-type]
        )
    last = make_shape("square", side=2)
    cut = cut_shape(last, allowance)
    pieces.append(PieceNeed("last", last, cut, 1, "sky's edge", GrainEdge(), "pointed"))
    project = Project(
        "Tern Quay \"1\"", allowance, "trimmed", 42.5, tuple(pieces), roles, (16, 12.3), "a\nb"
    )  # fmt: skip
    again = written_and_read(project)
    assert again.roles == project.roles
    assert (again.seam_allowance, again.usable_width) == (allowance, 42.5)
    assert (again.name, again.cushion, again.notes, again.tips) == (
        project.name, project.cushion, project.notes, project.tips,
    )  # fmt: skip
    for ours, theirs in zip(again.pieces, project.pieces, strict=True):
        assert same_corners(ours.cut, theirs.cut)
        assert (ours.name, ours.count, ours.role, ours.grain, ours.tips, ours.mirror) == (
            theirs.name, theirs.count, theirs.role, theirs.grain, theirs.tips, theirs.mirror,
        )  # fmt: skip


def test_corners_are_written_to_the_last_bit() -> None:
    outline = make_polygon([(0, 0), (1 / 3, -0.5), (4.25, 2), (-1 / 64, 2**0.5)])
    for shape in (outline, BENCH_END):
        piece = PieceNeed("p", shape, cut_shape(shape, 0.25), 1, "r", GrainEdge(), "pointed")
        project = Project("x", 0.25, "pointed", 40, (piece,), {"r": Role("r")})
        again = written_and_read(project).pieces[0].shape.outline
        assert list(again.exterior.coords) == list(shape.outline.exterior.coords)


def test_the_schema_knows_every_size_and_is_json() -> None:
    schema = json.loads(json.dumps(project_schema()))
    properties = schema["$defs"]["PieceEntry"]["properties"]
    for kind in KINDS.values():
        assert set(kind.meanings) <= set(properties)
    assert set(schema["required"]) == {"format", "name", "roles", "pieces"}
