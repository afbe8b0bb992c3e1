"""Which cut piece comes to which position, and how its cloth lies there.

Placements are made here with shapely's turns and moves of the drawn shape; where the cloth lies is
compared by what that does to the finished outline.
"""

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon, Polygon, affinity, box

from scrapstore.designs import DESIGNS, Design, make_design, squares_for
from scrapstore.matching import Totals
from scrapstore.packing import Placement
from scrapstore.planning.places import place_pieces
from scrapstore.planning.result import MatchResult, Place, ReadyUse, ScrapCut
from scrapstore.projects import Project, design_text, read_project
from scrapstore.shapes import CutPiece, CuttingPlan, Frame
from scrapstore.store import Fabric, ReadyCut, Scrap

NOW = datetime(2026, 1, 1, tzinfo=UTC)
KINDS = list(DESIGNS)


def project(design: Design) -> Project:
    made = read_project(design_text(design, 0.25))
    assert made.design is not None
    return made


def fabric(name: str, *, one_way: bool = False) -> Fabric:
    return Fabric(id=1, created=NOW, name=name, one_way_print=one_way)


def scrap(number: int, cloth: Fabric | None, grain_deg: float = 0.0) -> Scrap:
    return Scrap(
        id=number, created=NOW, outline=box(0, 0, 99, 99), fabric=cloth, grain_deg=grain_deg,
        area=9801.0, long_side=99.0, short_side=99.0,
    )  # fmt: skip


def placed(shape: Polygon, turn_deg: float, *, mirrored: bool, at: tuple[float, float]) -> Polygon:
    over = affinity.scale(shape, -1, 1, origin=(0, 0)) if mirrored else shape
    return affinity.translate(affinity.rotate(over, turn_deg, origin=(0, 0)), *at)


def answer(
    made: Project,
    cuts: Sequence[tuple[Scrap, str, int]],
    *,
    turn_deg: float = 0.0,
    mirrored: bool = False,
    ready: Sequence[ReadyUse] = (),
) -> MatchResult:
    """An answer in which each scrap gives so many pieces of one line, all turned alike."""
    needs = {need.name: need for need in made.pieces}
    numbers: Counter[str] = Counter()
    found = []
    for cloth, name, count in cuts:
        places, pieces = [], []
        for k in range(count):
            outline = placed(needs[name].cut, turn_deg, mirrored=mirrored, at=(40.0 + k, 30.0))
            numbers[name] += 1
            label = f"{made.letters[name]}{numbers[name]}"
            places.append(Placement(name, outline, turn_deg % 360, mirrored))
            pieces.append(CutPiece(label, name, outline, 0, template=True))
        plan = CuttingPlan(Frame(), cloth.outline, (), tuple(pieces), 0.125)
        region = MultiPolygon([cloth.outline])
        found.append(ScrapCut(cloth, region, tuple(places), grain_assumed=False, cutting=plan))
    return MatchResult(
        project=made, supplies=(), ready=tuple(ready), cuts=tuple(found), shortages=(), notes=(),
        scraps_in_store=1, scraps_looked_at=1, seed=0, together=Totals(0, 0, 0, 0.0, 0.0),
    )  # fmt: skip


def in_scrap(outline: Polygon, place: Place) -> Polygon:
    assert place.to_scrap is not None
    return affinity.affine_transform(outline, place.to_scrap)


def rings(design: Design, result: MatchResult, ring: int) -> list[str | None]:
    """The fabrics of one ring, counter-clockwise from the right."""
    fabrics = {place.position: place.fabric for place in place_pieces(result)}
    spots = [piece for piece in design.pieces if piece.ring == ring]
    spots.sort(key=lambda one: math.atan2(one.outline.centroid.y, one.outline.centroid.x) % 6.2831)
    return [fabrics[spot.position] for spot in spots]


@pytest.mark.parametrize("name", KINDS)
@settings(max_examples=6, deadline=None)
@given(turn_deg=st.floats(0, 360), grain_deg=st.floats(0, 360), one_way=st.booleans(),
       mirrored=st.booleans())  # fmt: skip
def test_every_piece_shows_the_cloth_that_is_cut_for_it(
    name: str, turn_deg: float, grain_deg: float, one_way: bool, mirrored: bool
) -> None:
    """Its finished outline lies in the scrap where the shape was placed, and not as a copy turned
    over: a mirrored piece has a matrix that mirrors."""
    made = project(make_design(name, piece=2.0, seam=0.25, mark=0.125))
    cloth = scrap(5, fabric("lawn", one_way=one_way), grain_deg)
    cuts = [(cloth, need.name, need.count) for need in made.pieces]
    result = answer(made, cuts, turn_deg=turn_deg, mirrored=mirrored)
    needs = {need.name: need for need in made.pieces}
    at = {piece.label: p.outline for cut in result.cuts for p, piece in cut.labelled}
    assert made.design is not None
    for spot, place in zip(made.design.pieces, place_pieces(result), strict=True):
        need = needs[spot.piece]
        west, south = at[place.label].centroid.coords[0]
        own = placed(need.cut, turn_deg, mirrored=mirrored, at=(0, 0)).centroid
        expected = placed(need.shape.outline, turn_deg, mirrored=mirrored,
                          at=(west - own.x, south - own.y))  # fmt: skip
        # A project file has sizes to four decimals.
        off = in_scrap(spot.outline, place).symmetric_difference(expected).area
        assert off < 2e-4 * expected.length
        assert place.to_scrap is not None
        a, b, d, e, _, _ = place.to_scrap
        assert a * e - b * d == pytest.approx(-1 if mirrored else 1)


@pytest.mark.parametrize("name", KINDS)
def test_every_label_has_one_position_and_every_position_a_piece_of_its_line(name: str) -> None:
    made = project(make_design(name, piece=2.0, seam=0.25, mark=0.125))
    cuts = [(scrap(k, None), need.name, need.count) for k, need in enumerate(made.pieces)]
    result = answer(made, cuts)
    places = place_pieces(result)
    assert made.design is not None
    assert [(one.position, one.piece) for one in places] == [
        (spot.position, spot.piece) for spot in made.design.pieces
    ]
    given_labels = [piece.label for cut in result.cuts for piece in cut.cutting.pieces]
    assert sorted(place.label for place in places) == sorted(given_labels)
    assert places == place_pieces(result)


def up(place: Place, grain_deg: float) -> float:
    """Where the print's way points on the top, degrees from upright."""
    assert place.to_scrap is not None
    a, b, d, e, _, _ = place.to_scrap
    way = math.radians(grain_deg)
    x, y = np.linalg.solve(np.array([[a, b], [d, e]]), [math.cos(way), math.sin(way)])
    return abs((math.degrees(math.atan2(y, x)) - 90 + 180) % 360 - 180)


@pytest.mark.parametrize("turn_deg", [20.0, 110.0, 200.0, 290.0])
def test_squares_of_a_one_way_print_stand_upright(turn_deg: float) -> None:
    """However they were cut along the grain: a square can be turned a quarter."""
    made = project(make_design("squares", piece=3.0, rows=2, columns=2, seam=0.25, mark=0.125))
    cloth = scrap(5, fabric("boats", one_way=True), 20.0)
    result = answer(made, [(cloth, made.pieces[0].name, 4)], turn_deg=turn_deg)
    assert all(up(place, 20.0) == pytest.approx(0, abs=1e-6) for place in place_pieces(result))


def test_diamonds_of_a_one_way_print_are_as_upright_as_a_half_turn_makes_them() -> None:
    made = project(make_design("star", piece=1.5, a_side=1, seam=0.25, mark=0.125))
    cloth = scrap(5, fabric("boats", one_way=True))
    name = made.pieces[0].name
    places = [one for one in place_pieces(answer(made, [(cloth, name, 6)])) if one.label]
    assert len(places) == 6
    # Cut with a side along the grain; the wedges lie at 0, 60, 120 … degrees on the top.
    assert sorted(round(up(one, 0.0)) for one in places) == [30, 30, 30, 30, 90, 90]


def test_a_one_way_print_goes_where_it_stands_upright() -> None:
    """Triangles cannot be turned; of these sixteen, some lie as drawn."""
    made = project(
        make_design("half-squares", piece=2.0, rows=4, columns=4, layout="zigzag", seam=0.25,
                    mark=0.125)
    )  # fmt: skip
    name = made.pieces[0].name
    boats, lawn = scrap(5, fabric("boats", one_way=True)), scrap(6, fabric("lawn"))
    places = place_pieces(answer(made, [(boats, name, 3), (lawn, name, 13)], turn_deg=90.0))
    found = [up(place, 0.0) for place in places if place.fabric == "boats"]
    assert found == pytest.approx([0, 0, 0], abs=1e-6)


@pytest.mark.parametrize(("method", "together"), [("pairs", 2), ("eights", 8)])
def test_units_from_the_same_squares_are_of_the_same_cloths(method: str, together: int) -> None:
    """Squares are sewn together before they are cut, so what meets one meets no other."""
    design = make_design("half-squares", piece=2.0, rows=4, columns=4, seam=0.25, mark=0.125)
    text = design_text(
        design, 0.25, cut=squares_for(design, method, seam=0.25, mark=0.125)[0]
    )  # fmt: skip
    made = read_project(text)
    assert made.design is not None
    dark, light = made.pieces
    cuts = [
        (scrap(1, fabric("a")), dark.name, dark.count - 1), (scrap(2, fabric("b")), dark.name, 1),
        (scrap(3, fabric("c")), light.name, light.count // 2),
        (scrap(4, fabric("d")), light.name, light.count - light.count // 2),
    ]  # fmt: skip
    labels = {place.position: place.label for place in place_pieces(answer(made, cuts))}
    units: dict[str, list[str]] = {}
    for piece in made.design.pieces:
        units.setdefault(piece.unit, []).append(labels[piece.position])
    pairs = Counter(tuple(sorted(own)) for own in units.values())
    assert set(pairs.values()) == {together}
    assert len(pairs) == len({a for a, _ in pairs}) == len({b for _, b in pairs}) == dark.count


def star_with(*counts: int, ring: int) -> tuple[Design, MatchResult]:
    made = project(make_design("star", piece=1.5, a_side=3, seam=0.25, mark=0.125))
    cuts = [(scrap(k, fabric("abc"[k])), f"round {ring} diamond", n) for k, n in enumerate(counts)]
    assert made.design is not None
    return made.design, answer(made, cuts)


@pytest.mark.parametrize(
    ("ring", "counts", "expected"),
    [
        (2, (6, 6), "ba" * 6),
        (3, (12, 6), "aba" * 6),
        (2, (8, 4), "aba" * 4),
        (1, (2, 2, 2), "abc" * 2),
        (1, (3, 3), "ab" * 3),
        (4, (10, 2), "aaabaa" * 2),
    ],
)
def test_fabrics_take_turns_round_the_top(
    ring: int, counts: tuple[int, ...], expected: str
) -> None:
    """Alike in every point of the star where they can be parted among the points."""
    assert "".join(str(one) for one in rings(*star_with(*counts, ring=ring), ring)) == expected


def test_what_is_short_has_no_label_and_ready_cut_pieces_have_the_letter_of_their_line() -> None:
    made = project(make_design("star", piece=1.5, a_side=1, seam=0.25, mark=0.125))
    need = made.pieces[0]
    lot = ReadyCut(
        id=9, created=NOW, kind="diamond-60", label="60° diamond", cut=need.cut, count=2,
        fabric=fabric("dots"), long_side=3.0, short_side=2.0,
    )  # fmt: skip
    result = answer(made, [(scrap(4, None), need.name, 2)], ready=[ReadyUse(lot, need.name, 2)])
    places = [one for one in place_pieces(result) if one.piece == need.name]
    assert Counter((one.label, one.scrap, one.ready, one.fabric) for one in places) == {
        ("A", None, 9, "dots"): 2, ("A1", 4, None, None): 1, ("A2", 4, None, None): 1,
        ("", None, None, None): 2,
    }  # fmt: skip


def test_a_project_without_a_design_has_no_places() -> None:
    made = replace(project(make_design("squares", seam=0.25, mark=0.125)), design=None)
    assert place_pieces(answer(made, [])) == ()
