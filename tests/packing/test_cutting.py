"""Cuts carried out by somebody else end with every piece whole."""

from typing import Any

import pytest
from shapely import Polygon, affinity, box

from scrapstore.packing import PieceKind, Placement, Planned, plan_cuts
from tests.support.cutter import Bench, cut_out

SQUARE = box(0, 0, 2.5, 2.5)
KIND = PieceKind("a", SQUARE, 9, (0.0,), mirror=False)


def corners(outline: Polygon) -> list[tuple[float, float]]:
    return [(x, y) for x, y in outline.exterior.coords[:-1]]


def as_json(planned: Planned) -> dict[str, Any]:
    """The plan as `match --json` prints it."""
    return {
        "cuts": [
            {
                "part": cut.part,
                "line": cut.line,
                "gives": list(cut.gives),
                "from": cut.ruler_from,
                "distance": cut.distance,
                "angle_deg": cut.angle_deg,
                "corners": cut.corners,
                "point": cut.point,
                "point_distance": cut.point_distance,
            }
            for cut in planned.cuts
        ],
        "placements": [
            {
                "label": str(number),
                "outline": corners(placement.outline),
                "part": part,
                "template": template,
            }
            for number, (placement, part, template) in enumerate(
                zip(planned.placements, planned.parts, planned.template, strict=True)
            )
        ],
    }


def carried_out(outline: Polygon, planned: Planned, step: float = 1 / 8) -> Bench:
    return cut_out(as_json(planned), corners(outline), step)


def test_three_squares_in_a_row_are_one_strip_cut_across() -> None:
    """Pushed into a corner: one cut frees the strip, three the squares; none is by template."""
    cloth = box(0, 0, 10, 6)
    placed = [Placement("a", affinity.translate(SQUARE, 1 + 2.5 * k, 1), 0.0) for k in range(3)]
    planned = plan_cuts(cloth, cloth, [KIND], placed, 1 / 8)
    assert carried_out(cloth, planned).faults == []
    assert len(planned.cuts) == 4
    assert not any(planned.template)


def test_a_locked_piece_is_cut_by_template() -> None:
    """Four oblongs round a square: no straight line runs between them."""
    oblong, upright = box(0, 0, 3, 2), box(0, 0, 2, 3)
    places = [(oblong, 0, 0), (upright, 3, 0), (oblong, 2, 3), (upright, 0, 2)]
    placed = [Placement("a", affinity.translate(one, x, y), 0.0) for one, x, y in places]
    cloth = box(0, 0, 5, 5)
    kind = PieceKind("a", oblong, 4, (0.0, 90.0), mirror=False)
    planned = plan_cuts(cloth, cloth, [kind], placed, 1 / 8)
    assert carried_out(cloth, planned).faults == []
    assert planned.template == (True,) * 4


@pytest.mark.parametrize("wrong", ["line", "gives", "distance", "part"])
def test_the_cutter_notices_a_wrong_cut(wrong: str) -> None:
    """A check of the check: one figure changed, and the cutter complains."""
    cloth = box(0, 0, 10, 6)
    placed = [Placement("a", affinity.translate(SQUARE, 1.0, 1.0), 0.0)]
    plan = as_json(plan_cuts(cloth, cloth, [KIND], placed, 1 / 8))
    cut = plan["cuts"][-1]
    if wrong == "line":
        cut["line"] = [(x + 0.01, y + 0.01) for x, y in cut["line"]]
    else:
        cut[wrong] = [9, 9] if wrong == "gives" else cut[wrong] + 1
    assert cut_out(plan, corners(cloth), 1 / 8).faults
