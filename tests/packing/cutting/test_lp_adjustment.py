"""Layouts that straight cuts do not take apart are adjusted until they do."""

from itertools import pairwise

from shapely import affinity, box

from scrapstore.packing import Layout, PieceKind, Placement, cut_faults, plan_cuts, verify
from scrapstore.packing.cutting.lp_adjustment import adjusted_layouts
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
    """Three squares side by side, no room between them: half an inch at the side gives it."""
    cloth = box(0, 0, 6.5, 2.6)
    places = at((0.1, 0.0), (2.1, 0.6), (4.1, 0.2))
    found = list(adjusted_layouts(cloth, places, STEP, 5))
    for layout in found:
        assert verify(cloth, [SQUARE], Layout(tuple(layout), 12.0, 12.0)) == []
    for left, right in pairwise(found[0]):
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
    assert list(adjusted_layouts(box(0, 0, 3, 3), places, STEP, 40)) == []


def test_dense_triangles_are_cut_on_marks() -> None:
    """Six equilateral triangles, 2.37 in a side: one row of them is 8.28 in long, too long.

    As the packer places them, no line right across divides them.
    """
    cloth = box(0, 0, 7.6, 3.4)
    step = 1 / 25.4
    up, down = TRIANGLE.outline, affinity.rotate(TRIANGLE.outline, 60, origin=(0, 0))
    places = [
        (up, (3.991981, 0.153566)), (up, (0.199277, 0.253653)), (down, (5.087456, 0.305185)),
        (up, (2.124522, 1.017107)), (down, (0.853972, 1.168727)), (down, (3.219997, 1.168727)),
    ]  # fmt: skip
    placed = []
    for outline, (x, y) in places:
        x0, y0, _, _ = outline.bounds
        turn = 0.0 if outline is up else 60.0
        placed.append(Placement("triangle", affinity.translate(outline, x - x0, y - y0), turn))
    worth = 6 * TRIANGLE.outline.area
    assert verify(cloth, [TRIANGLE], Layout(tuple(placed), worth, cloth.area)) == []
    found = plan_cuts(cloth, cloth, [TRIANGLE], placed, step)
    plan = as_plan(cloth, found, step)
    assert cut_out(as_json(plan), corners(cloth), step).faults == []
    assert cut_faults(plan) == []
    assert verify(cloth, [TRIANGLE], Layout(found.placements, worth, cloth.area)) == []
    assert not any(found.template)
