"""The bound holds, gets better with effort, and the ruler measure counts what a cutter does."""

import subprocess
import sys

import pytest
from shapely.affinity import translate
from shapely.geometry import Polygon, box

from scrapstore.packing import Placement, RulerMeasure, fill, ruler_measure
from scrapstore.packing.proof import prove
from tests.support.cloth import DIAMOND, HALF, ROOT3, TRIANGLE, kind, torn


def test_the_grid_proves_what_area_cannot() -> None:
    """A strip 1.9 high holds 5 unit squares side by side; by area it could hold 9."""
    cloth = box(0, 0, 5, 1.9)
    squares = [kind(box(0, 0, 1, 1), rotations_deg=(0.0,))]
    layout = fill(cloth, squares, seconds=0.05)
    assert len(layout.placements) == 5
    assert layout.bound == pytest.approx(9.0)
    assert prove(cloth, squares, layout, seconds=2.0).proven


def test_the_bound_is_above_every_layout_of_another_seed() -> None:
    cloth = torn(40, 4.0)
    kinds = [kind(DIAMOND, mirror=True, name="d"), kind(HALF, 3, mirror=True, name="h")]
    first = fill(cloth, kinds, seconds=0.05)
    proven = prove(cloth, kinds, first, seconds=1.0)
    assert proven.placements == first.placements
    assert first.value <= proven.bound <= first.bound
    assert all(fill(cloth, kinds, seconds=0.2, seed=s).value <= proven.bound for s in range(1, 4))


def test_the_bound_keeps_to_a_layout_known_to_be_perfect() -> None:
    """Cloth joined from pieces without gaps: no bound may come out below its area."""
    cloth = box(0, 0, 2, 1)
    squares = [kind(box(0, 0, 1, 1), rotations_deg=(0.0,))]
    layout = fill(cloth, squares, seconds=0.05)
    assert layout.proven
    triangles = [kind(TRIANGLE, rotations_deg=(0.0, 180.0))]
    row = Polygon([(0, 0), (4, 0), (5, ROOT3), (1, ROOT3)])
    found = fill(row, triangles, seconds=0.5)
    assert len(found.placements) == 4
    assert prove(row, triangles, found, seconds=1.0).bound == pytest.approx(found.value)


def _laid(*boxes: tuple[float, float, float, float]) -> list[Placement]:
    return [Placement("piece", box(*b)) for b in boxes]


def test_cuts_of_a_strip() -> None:
    """Three squares in a row: two cuts between, then the sides of each that are left."""
    strip = _laid((0, 0, 1, 1), (1, 0, 2, 1), (2, 0, 3, 1))
    assert ruler_measure(strip) == RulerMeasure(2 + 3 + 2 + 3, edge_to_edge=True)
    assert ruler_measure(_laid((0, 0, 1, 1))) == RulerMeasure(4, edge_to_edge=True)
    assert ruler_measure([]) == RulerMeasure(0, edge_to_edge=True)


def test_a_pinwheel_cannot_be_cut_edge_to_edge() -> None:
    """Four oblongs round a square lock into each other: the smallest such layout."""
    pinwheel = _laid((0, 0, 2, 1), (2, 0, 3, 2), (1, 2, 3, 3), (0, 1, 1, 3), (1, 1, 2, 2))
    assert not ruler_measure(pinwheel).edge_to_edge
    assert ruler_measure(pinwheel[:3]).edge_to_edge


def test_a_grid_takes_fewer_cuts_than_scattered_squares() -> None:
    grid = _laid((0, 0, 1, 1), (1, 0, 2, 1), (0, 1, 1, 2), (1, 1, 2, 2))
    scattered = [
        Placement("piece", translate(p.outline, 0.3 * k, 0.7 * k)) for k, p in enumerate(grid)
    ]
    assert ruler_measure(grid).cuts < ruler_measure(scattered).cuts


def test_no_proof_is_loaded_before_one_is_asked_for() -> None:
    code = "import sys, scrapstore.matching; print('scrapstore.packing.proof' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "False\n"
