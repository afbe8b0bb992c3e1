"""[quilting], [back] and [binding] of a project file."""

from dataclasses import replace

import pytest
from shapely import Polygon

from scrapstore.designs import make_design
from scrapstore.errors import ProjectError, ShapeError
from scrapstore.finishing import BackWish, BindingWish, QuiltingWish
from scrapstore.projects import Project, design_text, read_project, top_outline
from scrapstore.shapes import bounding_sides

PAD = """
format = 1
name = "pad"
{top}
[roles.top]
[[pieces]]
name = "square"
shape = "square"
side = "6"
count = 9
role = "top"
"""
CUSHION = """[cushion]
width = "18"
height = "18"
"""


def _read(top: str) -> Project:
    return read_project(PAD.format(top=top))


def test_the_back_is_among_the_pieces() -> None:
    project = _read(f'{CUSHION}[back]\nkind = "envelope"\noverlap = "4"')
    names = [piece.name for piece in project.pieces]
    assert names == ["square", "back left", "back right"]
    # 18 1/2 in with its seams, half of that and of the overlap, and a double 1/4 in hem.
    for piece in project.pieces[1:]:
        assert bounding_sides(piece.cut) == pytest.approx((18.5, 11.75))
        assert (piece.role, piece.count) == ("back", 1)
        assert piece.becomes == "half of the back, one long side hemmed"
    assert project.roles["back"].families == ()
    assert project.covered == pytest.approx(1)


def test_a_back_of_the_role_that_is_named() -> None:
    rule = '[roles.plain]\nfamilies = ["blue"]\n'
    back = '[back]\nkind = "zip"\nrole = "plain"\nseam = "1/2"\n'
    project = _read(CUSHION + back + rule)
    assert project.roles["plain"].families == ("blue",)
    assert {piece.role for piece in project.pieces[1:]} == {"plain"}
    assert project.cover_seam == 0.5


def test_what_the_tables_say() -> None:
    project = _read(
        "[quilting]\nshrinkage = 3\nbacking = false\n"
        '[binding]\nfinished_width = "3/8"\nseam = "3/8"\nbias = true\n'
    )
    assert project.quilting == QuiltingWish(shrinkage=3, backing=False)
    assert project.binding == BindingWish(finished_width=0.375, seam=0.375, bias=True)
    assert (project.back, project.cover_seam) == (None, 0.375)
    assert _read(CUSHION + '[back]\nkind = "plain"').back == BackWish(kind="plain")


@pytest.mark.parametrize(
    ("top", "said"),
    [
        ('[back]\nkind = "envelope"', "line 4, back: the size of the top is not said"),
        (f'{CUSHION}[back]\nkind = "bag"', '"envelope", "zip" or "plain"'),
        (f'{CUSHION}[back]\nkind = "plain"\nrole = "rear"', "there is no [roles.rear]"),
        (f'{CUSHION}[back]\nkind = "envelope"\noverlap = "20"', "less than the front"),
        (f'{CUSHION}[back]\nkind = "plain"\nhems = "1"', "did you mean hem"),
        (
            f'{CUSHION}[back]\nkind = "plain"\n[roles.back]\nsame_fabric_sets = 2',
            "same_fabric_sets cannot hold",
        ),
        ("[quilting]\nshrinkage = 60", "per cent from 0 to 30"),
        ("[roles.other]", "no piece has this role"),
    ],
)
def test_faults_are_named(top: str, said: str) -> None:
    with pytest.raises(ProjectError) as caught:
        _read(top)
    assert said in str(caught.value)


def test_a_piece_that_is_called_like_the_back() -> None:
    text = PAD.format(top=f'{CUSHION}[back]\nkind = "plain"').replace('"square"\ns', '"back"\ns', 1)
    with pytest.raises(ProjectError, match="a piece is called 'back' already"):
        read_project(text)


def test_the_outline_of_a_star_that_is_filled_to_a_hexagon() -> None:
    """Story C: finished height 1 1/2, three a side: a hexagon with sides of 9."""
    design = make_design("star", piece=1.5, a_side=3, fill="split", seam=0.25, mark=0.125)
    top = top_outline(read_project(design_text(design, 0.25)))
    assert top is not None
    assert top.sides == pytest.approx((9,) * 6)
    assert top.corners_deg == pytest.approx((120,) * 6)


def test_the_outline_of_a_design_begins_with_its_uppermost_side() -> None:
    design = make_design("squares", piece=3, rows=2, columns=4, seam=0.25, mark=0.125)
    top = top_outline(read_project(design_text(design, 0.25)))
    assert top is not None
    assert top.sides == pytest.approx((12, 6, 12, 6))


def test_a_top_with_corners_that_turn_inward() -> None:
    design = make_design("squares", piece=3, rows=2, columns=2, seam=0.25, mark=0.125)
    project = read_project(design_text(design, 0.25))
    bay = replace(design, outline=Polygon([(0, 0), (6, 0), (6, 6), (3, 2), (0, 6)]))
    with pytest.raises(ShapeError, match="turn inward"):
        top_outline(replace(project, design=bay))
