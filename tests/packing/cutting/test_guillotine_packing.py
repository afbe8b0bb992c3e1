"""Pieces packed again, one straight cut after another."""

import pytest
from shapely import Polygon, box

from scrapstore.packing import Layout, PieceKind, cut_faults, plan_cuts, verify
from scrapstore.packing.cutting.guillotine_packing import guillotine_layouts
from scrapstore.shapes import cut_shape, make_shape
from tests.support.cut_scraps import as_json, as_plan, corners
from tests.support.cutter import cut_out

STEP = 1 / 8
SQUARE = PieceKind("square", box(0, 0, 2, 2), 9, (0.0,), mirror=False)
TRIANGLE = PieceKind(
    "triangle",
    cut_shape(make_shape("triangle-60", side=1.5), 0.25, "pointed"),
    6,
    tuple(60.0 * k for k in range(6)),
    mirror=False,
)


def test_guillotine_layouts_hold_every_piece_and_come_apart() -> None:
    """Six equilateral triangles, 2.37 in a side: one row of them is 8.28 in long, too long."""
    cloth = Polygon([(0, 0), (7.6, 0), (7.6, 3.4), (6.5, 3.38), (0, 3.4)])
    step = 1 / 25.4
    layouts = list(guillotine_layouts(cloth, [TRIANGLE], [6], step, 20))
    assert layouts
    worth = 6 * TRIANGLE.outline.area
    for layout in layouts:
        assert verify(cloth, [TRIANGLE], Layout(tuple(layout), worth, cloth.area)) == []
        found = plan_cuts(cloth, cloth, [TRIANGLE], layout, step)
        plan = as_plan(cloth, found, step)
        assert cut_out(as_json(plan), corners(cloth), step).faults == []
        assert cut_faults(plan) == []
        assert not any(found.template)


@pytest.mark.parametrize("count", [5, 7])
def test_what_does_not_fit_is_not_packed(count: int) -> None:
    """Four squares fit on five by five inches, never more."""
    assert list(guillotine_layouts(box(0, 0, 5, 5), [SQUARE], [count], STEP, 20)) == []
    assert list(guillotine_layouts(box(0, 0, 5, 5), [SQUARE], [4], STEP, 20))
