"""The six-point star against closed forms, stories B and C, and the sample project."""

import math
from collections import Counter
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scrapstore.designs import Design, make_design
from scrapstore.errors import UsageError
from scrapstore.projects import load_project

SAMPLE = Path(__file__).parents[2] / "sample_photos" / "tern-quay-star.toml"
ROOT_3 = math.sqrt(3)


def star(**asked: float | str) -> Design:
    return make_design("star", **({"seam": 0.25, "mark": 0.125} | asked))  # type: ignore[arg-type]


@given(n=st.integers(1, 20), height=st.floats(0.25, 1.5))
@settings(max_examples=30)
def test_counts_and_sizes_in_closed_form(n: int, height: float) -> None:
    """6 n² diamonds; tip to tip 2 n √3 sides; a hexagon of side n √3 sides, a rectangle of 3 n by
    2 n √3 sides: geometry of the 60° diamond, worked by hand."""
    side = height * 2 / ROOT_3
    hexagon, rectangle = (star(piece=height, a_side=n, fill=f) for f in ("split", "rectangle"))
    diamonds = [piece for piece in hexagon.pieces if piece.ring is not None]
    assert len(diamonds) == sum(hexagon.rounds) == 6 * n**2
    assert Counter(piece.wedge for piece in diamonds) == dict.fromkeys(range(1, 7), n**2)
    assert hexagon.size == pytest.approx(2 * n * ROOT_3 * side)
    assert hexagon.outline.area == pytest.approx(1.5 * ROOT_3 * (n * ROOT_3 * side) ** 2)
    assert rectangle.sides == pytest.approx((3 * n * side, 2 * n * ROOT_3 * side))


def test_story_b() -> None:
    """Finished height 1 1/2, three a side: 18 tip to tip in rounds 6, 12, 18, 12, 6; six set-in
    seams with whole 120° pieces, none with halves."""
    split, whole = star(piece=1.5, a_side=3), star(piece=1.5, a_side=3, fill="hexagon")
    assert split.size == pytest.approx(18, abs=1e-12)
    assert split.rounds == whole.rounds == (6, 12, 18, 12, 6)
    assert [line.count for line in split.lines][:5] == [6, 12, 18, 12, 6]
    assert len({line.role for line in split.lines}) == 6
    assert (split.set_in_seams, whole.set_in_seams) == (0, 6)
    assert (len(split.pieces), len(whole.pieces)) == (66, 60)
    assert split.pieces[0].outline.length / 4 == pytest.approx(ROOT_3)


def test_story_c() -> None:
    """The split fill: 66 pieces, finished side 9."""
    top = star(size=18)
    assert len(top.pieces) == 66
    assert top.outline.length == pytest.approx(6 * 9)
    assert all(
        piece.wedge in range(1, 7) and piece.ring is None
        for piece in top.pieces if piece.role == "background"
    )  # fmt: skip


def test_halves_lie_beside_their_wedge() -> None:
    """So that what is sewn to a wedge can be read from the piece."""
    for fill in ("split", "rectangle"):
        top = star(size=16, fill=fill)
        for piece in top.pieces:
            if piece.wedge is None or piece.ring is not None:
                continue
            own = [one for one in top.pieces if one.wedge == piece.wedge and one is not piece]
            shared = [one for one in own if one.outline.intersection(piece.outline).length > 1]
            assert shared, piece.position


def test_the_sample_star_is_this_design() -> None:
    """The shipped project was worked out by hand: the same pieces, as many, of the same sizes."""
    project = load_project(SAMPLE)
    wanted = [(p.shape.kind, p.count, p.shape.outline.area) for p in project.pieces]
    top = star(size=16, fill="rectangle")
    made = [(line.shape.kind, line.count, line.shape.outline.area) for line in top.lines]
    assert [one[:2] for one in made] == [one[:2] for one in wanted]
    # The file has the side strips to four decimals, 15 in long.
    assert [area for *_, area in made] == pytest.approx([a for *_, a in wanted], abs=15 * 5e-5)
    assert (top.size, top.difference, top.sides) == (16, 0, (16, 16))


@given(
    size=st.floats(8, 60), n=st.integers(1, 5), mark=st.sampled_from([1 / 8, 1 / 16, 1 / 25.4]),
    seam=st.sampled_from([0.25, 0.375, 0.75 / 2.54]),
)  # fmt: skip
@settings(max_examples=60)
def test_a_wanted_size_gives_strips_on_the_ruler(
    size: float, n: int, mark: float, seam: float
) -> None:
    """The nearest that can be cut; on a rectangle exactly what is wanted."""
    top = star(size=size, a_side=n, mark=mark, seam=seam)
    strip = (top.piece_size + 2 * seam) / mark
    assert strip == pytest.approx(round(strip), abs=1e-6)
    assert abs(top.size - size) <= 4 * n * mark / 2 + 1e-6
    assert top.difference == pytest.approx(top.size - size, abs=1e-8)
    square = star(size=size, a_side=n, mark=mark, seam=seam, fill="rectangle")
    assert square.sides == pytest.approx((size, size))
    rest = (size - 4 * n * square.piece_size) / 2
    assert rest == pytest.approx(0, abs=1e-8) or rest >= 0.5 - 1e-8


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"size": 2.0}, "too small to sew; ask for fewer pieces, or a larger size"),
        ({"size": 18.0, "piece": 1.5}, "give one of them"),
        ({"size": 18.0, "piece": 1.5, "fill": "hexagon"}, "give one of them"),
        ({"size": 15.2, "piece": 1.25, "fill": "rectangle"}, "take 16.00 in or more"),
        ({"size": 14.0, "piece": 1.25, "fill": "rectangle"}, "take 16.00 in or more"),
        ({"size": 3.5, "fill": "rectangle"}, "too small for 3 a side; take fewer"),
        ({"piece": 0.1}, "give the finished height of a diamond"),
        ({"piece": 30.0}, "it would be 360 in long"),
        ({"size": 200.0}, "give at most 144 in"),
        ({"a_side": 21}, "--a-side: 21 will not do; give from 1 to 20"),
        ({"fill": "round"}, "choose split, hexagon, rectangle"),
        ({"rows": 2}, "star has no --rows; it takes --a-side and --fill"),
    ],
)
def test_what_no_star_is_made_of(asked: dict[str, float | str], said: str) -> None:
    with pytest.raises(UsageError, match=said):
        star(**asked)


@pytest.mark.parametrize(("way", "parts"), [("halves", 2), ("fours", 4)])
def test_a_pieced_diamond_stands_for_a_plain_one(way: str, parts: int) -> None:
    """Common practice, no source: it finishes at the same size, so they may trade places."""
    plain, pieced = star(piece=1.5), star(piece=1.5, pieced=way, pieced_round=3)
    own = {piece.position: piece.outline for piece in plain.pieces if piece.ring == 3}
    for position, outline in own.items():
        inside = [one for one in pieced.pieces if one.position.startswith(f"{position}.")]
        assert len(inside) == parts
        assert {one.unit for one in inside} == {f"diamond {position}"}
        assert sum(one.outline.area for one in inside) == pytest.approx(outline.area)
        assert all(outline.buffer(1e-9).contains(one.outline) for one in inside)
        middle = {one.position.rpartition(".")[2]: one.outline.centroid for one in inside}
        assert math.hypot(middle["inner"].x, middle["inner"].y) < math.hypot(
            middle["outer"].x, middle["outer"].y
        )
    assert {line.role: line.count for line in pieced.lines if "round 3 " in line.role} == (
        {"round 3 inner": 18, "round 3 outer": 18} if parts == 2
        else {"round 3 tips": 36, "round 3 sides": 36}
    )  # fmt: skip
    others = {piece.position for piece in plain.pieces} - own.keys()
    assert others <= {piece.position for piece in pieced.pieces}
    assert pieced.set_in_seams == 0


def test_small_diamonds_come_from_strips_half_as_high() -> None:
    pieced = star(piece=1.5, pieced="fours")
    heights = {line.shape.measures["height"] for line in pieced.lines if "diamond" in line.name}
    assert heights == {0.75}
    eight = make_design("eight-point-star", piece=1.5, pieced="fours", seam=0.25, mark=0.125)
    assert sum(eight.rounds) == 4 * 8 * 9
    for asked, said in (
        ({"pieced": "fours", "piece": 0.4}, "0.20 in high are too small to sew"),
        ({"pieced": "fours", "pieced_round": 6}, "there is no round 6; give from 1 to 5"),
        ({"pieced_round": 2}, "say how, --pieced halves or fours"),
        ({"pieced": "thirds"}, "pieced: 'thirds' is not known; choose halves, fours"),
    ):
        with pytest.raises(UsageError, match=said):
            star(**({"piece": 1.5} | asked))
