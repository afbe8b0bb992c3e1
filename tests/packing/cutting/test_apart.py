"""Layouts that straight cuts do not part are moved a little, or laid anew."""

from itertools import pairwise

import pytest
from shapely import Polygon, affinity, box

from scrapstore.packing import Layout, PieceKind, Placement, cut_faults, plan_cuts, verify
from scrapstore.packing.cutting.peel import peeled
from scrapstore.packing.cutting.shake import shaken
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


def at(*places: tuple[float, float]) -> list[Placement]:
    return [Placement("square", affinity.translate(SQUARE.outline, *place)) for place in places]


def test_pieces_that_reach_across_a_line_are_moved_off_it() -> None:
    """Three squares, the middle one a tenth over the others' line: each way to part them has room.

    The whole is 6 and a half wide: an eighth less the two lines' room stays.
    """
    cloth = box(0, 0, 6.5, 2.6)
    places = at((0.1, 0.0), (2.1, 0.6), (4.1, 0.2))
    found = list(shaken(cloth, places, STEP, 5))
    assert found
    for layout in found:
        assert verify(cloth, [SQUARE], Layout(tuple(layout), 12.0, 12.0)) == []
        for left, right in pairwise(layout):
            assert right.outline.bounds[0] - left.outline.bounds[2] > 1 / 16


def test_a_pinwheel_without_room_stays_whole() -> None:
    """Four 1 x 2 pieces round a hole in a 3 x 3 square: no line parts them, however moved."""
    flat, tall = box(0, 0, 2, 1), box(0, 0, 1, 2)
    places = [
        Placement("bar", affinity.translate(flat, 0, 0)),
        Placement("bar", affinity.translate(tall, 2, 0)),
        Placement("bar", affinity.translate(flat, 1, 2)),
        Placement("bar", affinity.translate(tall, 0, 1)),
    ]
    assert list(shaken(box(0, 0, 3, 3), places, STEP, 40)) == []


def test_layouts_laid_anew_hold_every_piece_and_come_apart() -> None:
    """Six equilateral triangles, 2.37 in a side: one row of them is 8.28 in long, too long."""
    cloth = Polygon([(0, 0), (7.6, 0), (7.6, 3.4), (6.5, 3.38), (0, 3.4)])
    step = 1 / 25.4
    layouts = list(peeled(cloth, [TRIANGLE], [6], step, 20))
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
def test_what_does_not_fit_is_not_laid(count: int) -> None:
    """Four squares fit on five by five inches, never more."""
    assert list(peeled(box(0, 0, 5, 5), [SQUARE], [count], STEP, 20)) == []
    assert list(peeled(box(0, 0, 5, 5), [SQUARE], [4], STEP, 20))
