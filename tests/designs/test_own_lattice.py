"""Tops typed cell by cell: every point is of the role that the drawing in text has there."""

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point

from scrapstore.designs import Design, make_lattice
from scrapstore.errors import ProjectError, UsageError
from scrapstore.guide import page
from scrapstore.projects import read_project
from tests.designs.test_tilings import check

ROLES = st.sampled_from(["A", "B", "sky"])
CELLS = st.one_of(ROLES, st.builds("{}{}{}".format, ROLES, st.sampled_from("/\\"), ROLES))


def at(top: Design, x: float, y: float) -> str:
    (piece,) = [piece for piece in top.pieces if piece.outline.contains(Point(x, y))]
    return piece.role


@st.composite
def drawn(draw: st.DrawFn) -> list[list[str]]:
    columns = draw(st.integers(1, 4))
    row = st.lists(CELLS, min_size=columns, max_size=columns)
    return draw(st.lists(row, min_size=1, max_size=4))


@given(cells=drawn(), side=st.floats(0.25, 6))
@settings(max_examples=40)
def test_each_cell_lies_where_it_is_typed(cells: list[list[str]], side: float) -> None:
    top = make_lattice(["  ".join(row) for row in cells], side)
    check(top)
    assert top.set_in_seams == 0
    assert top.sides == pytest.approx((side * len(cells[0]), side * len(cells)))
    for down, row in enumerate(cells):
        for across, cell in enumerate(row):
            middle = side * (across + 0.5 - len(row) / 2), side * (len(cells) / 2 - down - 0.5)
            names = re.split(r"[/\\]", cell)
            # The points at the left and right of the middle, off the diagonals.
            for sign, name in ((-1, names[0]), (1, names[-1])):
                assert at(top, middle[0] + sign * side / 4, middle[1] + side / 50) == name
            if "/" in cell:  # the upper left belongs to the left
                assert at(top, middle[0] - side / 4, middle[1] + side / 3) == names[0]
                assert at(top, middle[0] + side / 4, middle[1] - side / 3) == names[1]
            elif "\\" in cell:
                assert at(top, middle[0] - side / 4, middle[1] - side / 3) == names[0]
                assert at(top, middle[0] + side / 4, middle[1] + side / 3) == names[1]


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        (["A B", "A"], "row 1 has 2 cells, row 2 has 1; give each as many"),
        (["A B//C"], "cell 2 of row 1, 'B//C', will not do"),
        (["A /B"], "cell 2 of row 1, '/B', will not do"),
        ([" "], "there is no cell; give rows of roles"),
        (["A " * 61], "more than 60 cells in a line"),
    ],
)
def test_what_is_no_lattice(rows: list[str], said: str) -> None:
    with pytest.raises(UsageError, match=re.escape(said)):
        make_lattice(rows, 3.0)


def example() -> str:
    """The project on the page about project files."""
    found = re.search(r"```toml\n(.*?)```", page("projects") or "", re.DOTALL)
    assert found is not None
    return found.group(1)


def test_the_example_on_the_page_is_a_project() -> None:
    """A hill four cells wide under a moon; counted by eye."""
    project = read_project(example())
    assert {piece.name: piece.count for piece in project.pieces} == {
        "hill square": 2, "hill triangle": 4, "moon square": 1, "sky square": 5, "sky triangle": 4,
    }  # fmt: skip
    design = project.design
    assert design is not None
    assert {line.name: line.count for line in design.lines} == {
        piece.name: piece.count for piece in project.pieces
    }
    assert at(design, 1.5, 3) == "moon"
    assert [at(design, x, -2.6) for x in (-5.5, -3.5, 0.5, 3.5, 5.5)] == [
        "sky", "hill", "hill", "hill", "sky",
    ]  # fmt: skip
    assert project.finished_area == 12 * 9


MORE = """
[[pieces]]
name = "moon"
shape = "square"
side = "3"
count = 2
role = "moon"
grain = "free"

[arrangement]
moon = ["1.3", "1.4"]
"""


def test_lines_of_ones_own_stand_beside_those_that_follow() -> None:
    project = read_project(example() + MORE)
    assert {piece.name: piece.count for piece in project.pieces} == {
        "moon": 2, "hill square": 2, "hill triangle": 4, "sky square": 4, "sky triangle": 4,
    }  # fmt: skip
    assert project.design is not None
    assert [p.position for p in project.design.pieces if p.piece == "moon"] == ["1.3", "1.4"]


def test_squares_can_make_the_triangles_of_a_lattice() -> None:
    """Four units of sky and hill, two at a time."""
    squares = "".join(
        f'\n[[pieces]]\nname = "{role} units"\nshape = "square"\nside = "3 1/2"\ncount = 2\n'
        f'role = "{role}"\nmakes = {{ piece = "{role} triangle", each = 2 }}\n'
        for role in ("sky", "hill")
    )
    project = read_project(example() + squares)
    assert [piece.name for piece in project.pieces] == [
        "sky units", "hill units", "hill square", "moon square", "sky square",
    ]  # fmt: skip
    assert project.finished_area == pytest.approx(12 * 9)


@pytest.mark.parametrize(
    ("was", "becomes", "said"),
    [
        ("[roles.moon]", "", "there is no [roles.moon]"),
        ("    's    s    m    s',", "    's    s    m',", "rows: row 1 has 3 cells, row 2 has 4"),
        ('side = "3"  ', 'side = "0.1"', "side: 0.1 in will not do"),
        ("letters =", "words =", "lattice, words: no such key"),
        ("[roles.sky]", '[design]\nname = "squares"\npiece = "3"\n[roles.sky]',
         "there is a [design] already; take one of them out"),
    ],
)  # fmt: skip
def test_a_lattice_that_will_not_do_is_refused(was: str, becomes: str, said: str) -> None:
    assert was in example()
    with pytest.raises(ProjectError, match=re.escape(said)):
        read_project(example().replace(was, becomes, 1))
