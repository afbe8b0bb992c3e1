"""The sample project: its pieces make up the cushion, piece for piece."""

import math
from collections import Counter
from itertools import combinations
from pathlib import Path

import pytest
from shapely import STRtree, box, union_all

from scrapstore.projects import Project, load_project
from tests.support.star import placed_star

SAMPLE = Path(__file__).parents[2] / "sample_photos" / "tern-quay-star.toml"

# The side strips are written to four decimals, so edges may be this far apart.
SLACK = 1e-4


@pytest.fixture(scope="module")
def star() -> Project:
    return load_project(SAMPLE)


def test_the_arithmetic_in_the_file(star: Project) -> None:
    sizes = {piece.name: piece.shape.measures for piece in star.pieces}
    side = sizes["heart diamond"]["side"]
    assert side == pytest.approx(1.4434, abs=5e-5)
    assert 3 * side == pytest.approx(4.3301, abs=5e-5)
    assert sizes["background triangle"]["side"] == pytest.approx(3 * side)
    assert 2 * math.sqrt(3) * 3 * side == pytest.approx(15)
    assert 3 * 3 * side == pytest.approx(12.9904, abs=5e-5)
    assert (16 - 9 * side) / 2 == pytest.approx(sizes["side strip"]["width"], abs=5e-5)
    areas = [
        piece.shape.outline.area
        for piece in star.pieces
        if piece.name in ("heart diamond", "background triangle", "left half triangle")
    ]
    assert areas == pytest.approx([1.8042, 8.1190, 4.0595], abs=5e-5)


def test_areas_add_up_to_the_cushion(star: Project) -> None:
    assert star.cushion == pytest.approx((16, 16))
    assert star.finished_area == pytest.approx(256, abs=32 * SLACK)
    assert star.covered == pytest.approx(1, abs=1e-5)


def test_the_pieces_tile_the_cushion(star: Project) -> None:
    placed = placed_star(star)
    wanted = {piece.name: piece.count for piece in star.pieces}
    assert Counter(piece.name for piece in placed) == wanted
    outlines = [piece.outline for piece in placed]
    tree = STRtree(outlines)
    for i, j in zip(*tree.query(outlines, predicate="intersects"), strict=True):
        if i < j:
            assert outlines[i].intersection(outlines[j], grid_size=1e-9).area < 16 * SLACK
    whole = union_all([outline.buffer(SLACK, join_style="mitre") for outline in outlines])
    cushion = box(-8, -8, 8, 8)
    assert cushion.difference(whole).area == 0
    assert whole.difference(cushion.buffer(2 * SLACK, join_style="mitre")).area == 0


def test_rings_lie_outwards_in_order(star: Project) -> None:
    rings: dict[str, list[float]] = {}
    for piece in placed_star(star):
        if "diamond" in piece.name:
            centre = piece.outline.centroid
            rings.setdefault(piece.name, []).append(math.hypot(centre.x, centre.y))
    # In a point's own rows, each ring lies wholly beyond the one before along the point's middle.
    means = [sum(r) / len(r) for r in rings.values()]
    assert list(rings) == [piece.name for piece in star.pieces if "diamond" in piece.name]
    assert means == sorted(means)


def test_left_and_right_are_told_apart(star: Project) -> None:
    handed = {piece.name for piece in star.pieces if piece.handed}
    assert handed == {"left half triangle", "right half triangle"}


def test_strips_are_cut_to_marks_of_the_ruler(star: Project) -> None:
    """As the file's comment says: 1 3/4 in for diamonds, 4 1/4 in for triangles."""
    for piece in star.pieces:
        heights = {"diamond": 1.75, "triangle": 4.25}
        kind = next((kind for kind in heights if kind in piece.name), None)
        if kind is not None:
            _, south, _, north = piece.cut.bounds
            assert north - south == pytest.approx(heights[kind], abs=1e-9)


def test_no_two_names_alike(star: Project) -> None:
    assert not [1 for a, b in combinations(star.pieces, 2) if a.name == b.name]
