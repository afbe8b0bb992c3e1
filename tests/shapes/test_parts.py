"""A cutting plan carried out: the parts lie where its numbers say."""

from dataclasses import replace

import pytest
from shapely import Polygon, box

from scrapstore.errors import PlanError
from scrapstore.shapes import Cut, CuttingPlan, cut_parts
from tests.support.cutting_plans import DIAMONDS, SQUARES, TRIMMED


@pytest.mark.parametrize("plan", [SQUARES, DIAMONDS, TRIMMED])
def test_cuts_end_with_the_pieces(plan: CuttingPlan) -> None:
    parts = cut_parts(plan)
    for piece in plan.pieces:
        part = parts[piece.part]
        assert part.buffer(1e-9).contains(piece.outline)
        if not piece.template:
            assert part.area == pytest.approx(piece.outline.area)


def test_parts_left_of_the_line_come_first_and_then_in_order_along_it() -> None:
    """An arch cut level, to the right: what is above it, then its left foot, then its right one."""
    arch = Polygon([(0, 0), (2, 0), (2, 2), (4, 2), (4, 0), (6, 0), (6, 4), (0, 4)])
    plan = replace(SQUARES, outline=arch, pieces=(), cuts=(Cut(0, ((1, 1), (2, 1)), (1, 2, 3)),))
    above, left, right = (0, 1, 6, 4), (0, 0, 2, 1), (4, 0, 6, 1)
    assert [part.bounds for part in cut_parts(plan)[1:]] == [above, left, right]
    back = replace(plan, cuts=(Cut(0, ((2, 1), (1, 1)), (1, 2, 3)),))
    assert [part.bounds for part in cut_parts(back)[1:]] == [right, left, above]


def test_a_cut_beside_the_cloth_is_a_fault() -> None:
    plan = replace(SQUARES, outline=box(0, 0, 1, 1), pieces=())
    with pytest.raises(PlanError, match="cut 2 does not part"):
        cut_parts(plan)
