"""Pieced units from squares: the project file that is started, what it refuses, the match."""

import re
from collections import Counter
from pathlib import Path

import pytest
from shapely import affinity, box

from scrapstore.actions.design import UnitWish, start_design
from scrapstore.actions.match import match_project
from scrapstore.designs import make_design, squares_for
from scrapstore.errors import ProjectError
from scrapstore.projects import design_text, read_project
from scrapstore.store import NewFabric, NewReadyCut, NewScrap, Store
from tests.actions.test_cut import SETTINGS, store

__all__ = ["store"]  # the fixture

WHEELS = make_design("pinwheels", size=16, rows=2, columns=2, seam=0.25, mark=0.125)
TEXT = design_text(WHEELS, 0.25, cut=squares_for(WHEELS, "pairs", seam=0.25, mark=0.125)[0])


def test_story_d_the_second_cushion(store: Store, tmp_path: Path) -> None:
    """Ready-cut 5 light and 8 dark squares of 5, 4 dark of 4 3/4, an offcut of 16 × 5 1/2: it gives
    the 3 light that lack, 88 − 75 = 13 sq in of it are waste, and nothing is to be bought."""
    file = tmp_path / "wheels.toml"
    wish = {"size": 16.0, "rows": 2, "columns": 2}
    made = start_design("pinwheels", wish, SETTINGS, file, UnitWish("pairs"))  # type: ignore[arg-type]
    assert [(line.name, line.count) for line in made.project.pieces] == [
        ("sail square", 8), ("background square", 8),
    ]  # fmt: skip
    assert made.project.covered == pytest.approx(1)
    text = file.read_text("utf-8")
    text = text.replace("[roles.sails]", '[roles.sails]\nvalues = ["dark"]')
    text = text.replace("[roles.background]", '[roles.background]\nvalues = ["light"]')
    file.write_text(text, "utf-8")
    with store.change("test") as writer:
        light = writer.add_fabric(NewFabric(name="light", value="light"))
        dark = writer.add_fabric(NewFabric(name="dark", value="dark"))
        for cloth, side, count in ((light, 5.0, 5), (dark, 5.0, 8), (dark, 4.75, 4)):
            outline = box(0, 0, side, side)
            lot = NewReadyCut(kind="square", label="square", cut=outline, count=count, fabric=cloth)
            writer.add_ready_cut(lot)
        offcut = NewScrap(outline=box(0, 0, 16, 5.5), fabric=light, margin=0.0, grain_deg=0.0)
        writer.add_scrap(offcut)
    result = match_project(store, file, settings=SETTINGS)
    given = {s.need: (s.wanted, s.ready, s.scraps, s.short) for s in result.supplies}
    assert given == {"sail square": (8, 8, 0, 0), "background square": (8, 5, 3, 0)}
    assert {use.lot.id: use.count for use in result.ready} == {1: 5, 2: 8}
    assert result.shortages == ()
    (cut,) = result.cuts
    assert 88 - sum(placement.outline.area for placement in cut.placements) == pytest.approx(13)
    # Each of the 32 triangles has a place; a square gives two, and all 16 squares are used.
    assert len(result.places) == 32
    assert all(place.label for place in result.places)
    labels = Counter(place.label for place in result.places if place.scrap)
    assert len(labels) == 3
    assert set(labels.values()) == {2}
    # On the offcut, the triangles of a square lie in it and not on one another.
    design = made.project.design
    assert design is not None
    spots = {piece.position: piece.outline for piece in design.pieces}
    squares = {piece.label: placement.outline for placement, piece in cut.labelled}
    for label, square in squares.items():
        own = [
            affinity.affine_transform(spots[place.position], place.to_scrap)
            for place in result.places if place.label == label and place.to_scrap
        ]  # fmt: skip
        assert len(own) == 2
        assert all(square.buffer(-0.25 + 1e-6).contains(outline) for outline in own)
        assert own[0].distance(own[1]) > 0.5


def test_places_are_those_of_the_triangles() -> None:
    project = read_project(TEXT)
    assert project.design is not None
    assert Counter(p.piece for p in project.design.pieces) == {
        "sail square": 16, "background square": 16,
    }  # fmt: skip
    for own, made in zip(project.design.pieces, WHEELS.pieces, strict=True):
        assert (own.position, own.outline) == (made.position, made.outline)


def test_squares_of_two_cloths_are_counted_by_what_they_are_sewn_with() -> None:
    """Six units of teal and ten of rust, with one background: 3 and 5 squares, and 8. With five and
    eleven, one of each is half used: 3, 6, and 9 of the background."""
    teal = TEXT.replace("count = 8", "count = {rust}", 1).replace(
        "count = 8", "count = {background}", 1
    ) + (
        '\n[[pieces]]\nname = "teal square"\nshape = "square"\nside = "4 1/2"\ncount = {teal}\n'
        'role = "sails"\nmakes = {{ piece = "sail", each = 2 }}\n[arrangement]\n'
    )
    teal = re.sub(r"^makes = \{ (.*) \}$", r"makes = {{ \1 }}", teal, flags=re.MULTILINE)
    positions = [piece.position for piece in WHEELS.pieces if piece.role == "sails"]
    for count, squares in ((6, (5, 8, 3)), (5, (6, 9, 3))):
        rust, background, own = squares
        text = teal.format(rust=rust, background=background, teal=own)
        text += f'"teal square" = {positions[:count]}'.replace("'", '"')
        project = read_project(text)
        assert project.design is not None
        pieces = Counter(piece.piece for piece in project.design.pieces)
        assert pieces["teal square"] == count
        with pytest.raises(ProjectError, match=f"has {background} of these squares, not 7"):
            read_project(text.replace(f"count = {background}\n", "count = 7\n"))


@pytest.mark.parametrize(
    ("was", "becomes", "said"),
    [
        ('side = "4 1/2"', 'side = "4 1/4"', "squares cut 4.75 in are too small; 2 of half-square"),
        ("count = 8", "count = 9", "count: the design has 8 of these squares, not 9"),
        ("each = 2", "each = 4", "a square gives no 4 of half-square triangle, 4 in"),
        ('piece = "sail"', 'piece = "sails"', "16 of its pieces are called 'sail'"),
        ("each = 2", "every = 2", "makes, every: no such key; use one of piece, each"),
        (
            'shape = "square"\nside',
            'shape = "hexagon"\nside',
            "a hexagon gives no 2 of half-square",
        ),
        ("[design]", "[cushion2]", "no such key"),
    ],
)
def test_squares_that_do_not_make_the_pieces_are_refused(was: str, becomes: str, said: str) -> None:
    assert was in TEXT
    with pytest.raises(ProjectError, match=re.escape(said)):
        read_project(TEXT.replace(was, becomes, 1))


def test_squares_make_nothing_without_a_design() -> None:
    with pytest.raises(ProjectError, match=r"makes: there is no .design. whose pieces it could"):
        read_project(TEXT[: TEXT.index("# From here comes")])


@pytest.mark.parametrize(
    ("side", "serves"),
    [(4.75, False), (4.84, False), (4.8536, True), (4.875, True), (4.9375, True), (5.0, True),
     (5.25, False)],
)  # fmt: skip
def test_ready_cut_squares_serve_from_the_least_on(
    store: Store, tmp_path: Path, side: float, serves: bool
) -> None:
    """Story D: 4.8536 is the least. Squares of 4 7/8, the rule in print, do as well as over-size
    ones; larger ones are for something else."""
    file = tmp_path / "wheels.toml"
    file.write_text(TEXT, "utf-8")
    with store.change("test") as writer:
        square = box(0, 0, side, side)
        writer.add_ready_cut(NewReadyCut(kind="square", label="square", cut=square, count=3))
    result = match_project(store, file, settings=SETTINGS, why=False)
    assert sum(use.count for use in result.ready) == (3 if serves else 0)
