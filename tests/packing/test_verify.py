"""Each kind of fault that a plan can have is found, and a sound plan has none."""

from dataclasses import replace

import pytest
from shapely.affinity import rotate, scale, translate
from shapely.geometry import Polygon, box

from scrapstore.packing import Layout, PieceKind, Placement, fill, usable_region, verify
from tests.support.cloth import HALF, kind

CLOTH = usable_region(box(0, 0, 6, 6), [box(2.9, 2.9, 3.1, 3.1)])
LEFT = kind(HALF, 4, (0.0, 180.0))


def _plan(*outlines: Polygon, piece: PieceKind = LEFT) -> Layout:
    placements = tuple(Placement("piece", outline) for outline in outlines)
    value = piece.worth * len(placements)
    return Layout(placements, value, value)


SOUND = translate(HALF, 0, 0)


def test_a_sound_plan_has_no_fault() -> None:
    plan = _plan(SOUND, translate(rotate(HALF, 180, origin=(0, 0)), 6, 6))
    assert verify(CLOTH, [LEFT], plan) == []


@pytest.mark.parametrize(
    ("outlines", "said"),
    [
        ([translate(SOUND, -1e-5, 0)], "not inside"),
        ([translate(SOUND, 5.5, 0)], "not inside"),
        ([translate(SOUND, 2.7, 2.2)], "not inside"),  # the flaw lies wholly inside the piece
        ([SOUND, translate(SOUND, 0, 1e-5)], "overlap"),
        ([SOUND, SOUND], "overlap"),
        ([translate(rotate(HALF, 90, origin=(0, 0)), 4, 0)], "not an allowed turn"),
        ([translate(rotate(HALF, 1, origin=(0, 0)), 1, 1)], "not an allowed turn"),
        ([translate(scale(HALF, -1, 1, origin=(0, 0)), 2, 0)], "not an allowed turn"),
        ([scale(SOUND, 0.99, 0.99, origin=(0, 0))], "not an allowed turn"),
        ([box(0, 0, 1, 1)], "not an allowed turn"),
        ([translate(SOUND, k % 3, 2 * (k // 3)) for k in range(5)], "5 placed, 4 wanted"),
    ],
)
def test_a_fault_is_found(outlines: list[Polygon], said: str) -> None:
    faults = verify(CLOTH, [LEFT], _plan(*outlines))
    assert any(said in fault for fault in faults), faults


def test_a_piece_of_no_kind_is_found() -> None:
    plan = Layout((Placement("cuff", SOUND),), 0.0, 0.0)
    assert any("no kind 'cuff'" in fault for fault in verify(CLOTH, [LEFT], plan))


def test_a_wrong_value_and_a_bound_below_it_are_found() -> None:
    plan = _plan(SOUND)
    assert any("value" in f for f in verify(CLOTH, [LEFT], replace(plan, value=9.0, bound=9.0)))
    assert any("bound" in f for f in verify(CLOTH, [LEFT], replace(plan, bound=0.1)))


def test_mutations_of_a_real_plan_are_found() -> None:
    """Every piece of a full layout, nudged into a neighbour or over the edge, is noticed."""
    square = kind(box(0, 0, 1, 1), 99, (0.0,))
    cloth = box(0, 0, 4, 3)
    plan = fill(cloth, [square], seconds=0.05)
    assert len(plan.placements) == 12
    for number, placement in enumerate(plan.placements):
        nudged = replace(placement, outline=translate(placement.outline, 0.001, 0.0007))
        others = (*plan.placements[:number], nudged, *plan.placements[number + 1 :])
        assert verify(cloth, [square], replace(plan, placements=others)), number
