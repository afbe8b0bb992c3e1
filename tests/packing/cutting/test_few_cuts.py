"""Few cuts and whole ones: no cut twice over, trims shared, the clean rest in one part."""

from collections import Counter

import shapely
from shapely import Polygon, box

from scrapstore.packing import PieceKind, PlannedCuts, cut_faults, fill, plan_cuts, usable_region
from scrapstore.report.cut_words import cut_words
from scrapstore.shapes import Tips, cut_parts, cut_shape, labelled, make_shape
from tests.support.cut_scraps import as_json, as_plan, corners
from tests.support.cutter import cut_out

STEP = 1 / 8
QUARTERS = (0.0, 90.0, 180.0, 270.0)


def kind(
    shape: str, wanted: int, turns: tuple[float, ...], tips: Tips = "pointed", **sizes: float
) -> PieceKind:
    """A kind of piece with a seam allowance of 1/4 in; sizes are finished ones, inches."""
    return PieceKind(shape, cut_shape(make_shape(shape, **sizes), 0.25, tips), wanted, turns, False)


def cut_from(cloth: Polygon, kinds: list[PieceKind], margin: float = 0.0) -> PlannedCuts:
    """The plan for as much as the packer places; nothing is by template, nobody finds a fault."""
    region = usable_region(cloth, [], margin)
    layout = fill(region, kinds, seconds=0.1, seed=0, workers=1)
    assert len(layout.placements) == sum(one.wanted for one in kinds)
    found = plan_cuts(cloth, region, kinds, layout.placements, STEP)
    plan = as_plan(cloth, found, STEP)
    assert cut_out(as_json(plan), corners(cloth), STEP).faults == []
    assert cut_faults(plan) == []
    assert not any(found.template)
    return found


def sizes_of_rests(cloth: Polygon, found: PlannedCuts) -> list[tuple[float, float]]:
    """Width and height of the box round each part that holds no piece, the largest first."""
    plan = as_plan(cloth, found, STEP)
    parts = cut_parts(plan)
    used = {piece.part for piece in plan.pieces} | {cut.part for cut in plan.cuts}
    rests = sorted(
        (part for number, part in enumerate(parts) if number not in used), key=lambda p: -p.area
    )
    bounds = [rest.bounds for rest in rests]
    return [(round(r - x, 3), round(t - y, 3)) for x, y, r, t in bounds]


def test_a_diagonal_is_cut_once() -> None:
    """A strip for oblongs holds two half-square triangles too: 4 7/8 in square, one diagonal."""
    cloth = box(0, 0, 22, 18)
    kinds = [
        kind("square", 6, (0.0,), side=5),
        kind("rectangle", 4, (0.0, 90.0), width=2.5, height=4.5),
        kind("half-square-triangle", 2, QUARTERS, short_side=4),
    ]
    found = cut_from(cloth, kinds)
    slanted = [
        cut for cut in found.cuts if min(abs(a - b) for a, b in zip(*cut.line, strict=True)) > 1e-6
    ]
    assert [cut.corners for cut in slanted] == [True]
    assert len(found.cuts) <= 15


def test_pieces_are_pushed_into_corners_where_that_saves_cuts() -> None:
    """Four half-square triangles on 8 × 10: the last one shares two edges with the cloth."""
    assert len(cut_from(box(0, 0, 10, 8), [
        kind("half-square-triangle", 4, QUARTERS, short_side=3)
    ]).cuts) <= 6  # fmt: skip


def test_the_clean_rest_is_one_part() -> None:
    """Six strips of 1 × 18 1/2 on 9 × 22: the first cut leaves 3 × 22 whole."""
    cloth = box(0, 0, 22, 9)
    found = cut_from(cloth, [kind("rectangle", 6, (0.0, 90.0), width=0.5, height=18)])
    assert len(found.cuts) == 7
    assert sizes_of_rests(cloth, found)[0] == (22, 3)


def test_an_edge_is_straightened_once_for_all_rows() -> None:
    """Nine squares of 2 1/2 in on 30 × 20 cm, 1/8 in left all round: four cuts frame them."""
    found = cut_from(box(0, 0, 30 / 2.54, 20 / 2.54), [kind("square", 9, (0.0,), side=2)], 1 / 8)
    assert len(found.cuts) == 12
    assert {round(cut.distance, 6) for cut in found.cuts[4:] if cut.distance} == {2.5}


def test_tips_are_trimmed_last_and_alike() -> None:
    """Twelve diamonds in two rows: a row is cut right through before any tip is."""
    sixths = tuple(60.0 * k for k in range(6))
    cloth = box(0, 0, 20, 5)
    found = cut_from(cloth, [kind("diamond-60", 12, sixths, "trimmed", side=1.5)])
    trims = found.cuts[-24:]
    assert len(found.cuts) == 40
    freed = {part for cut in found.cuts[:-24] for part in cut.gives}
    assert len({cut.part for cut in trims} & freed) == 12
    short = [shapely.LineString(cut.line).length for cut in trims]
    assert max(short) < min(shapely.LineString(cut.line).length for cut in found.cuts[:-24])


def test_tips_of_all_rows_are_reported_together() -> None:
    """Rows of five, two and five diamonds; those of two are laid from the other end."""
    sixths = tuple(60.0 * k for k in range(6))
    cloth = box(0, 0, 12, 8)
    diamond = kind("diamond-60", 12, sixths, "trimmed", side=1.5)
    plan = as_plan(cloth, cut_from(cloth, [diamond]), STEP)
    plan = labelled(plan, {"diamond-60": "A"}, Counter())
    trims = [step for step in cut_words(plan, "in").steps if step.text.startswith("Trim ")]
    assert [step.last - step.first + 1 for step in trims] == [20, 4]


def test_corners_too_close_to_be_told_apart_are_one() -> None:
    """A corner of the cloth is off by a millionth of an inch: the diagonal still ends there."""
    leg = 3.8535533905932737
    side = 3.875
    cloth = Polygon([(0, 0), (side, 0), (side, side - 1e-6), (side - 8e-7, side), (0, side)])
    triangle = PieceKind("t", Polygon([(0, 0), (leg, 0), (leg, leg)]), 2, (0.0, 180.0), False)
    found = plan_cuts(
        cloth, cloth, [triangle], fill(cloth, [triangle], seconds=0.1, seed=0).placements, STEP
    )
    plan = as_plan(cloth, found, STEP)
    assert [cut.corners for cut in found.cuts] == [True]
    assert cut_faults(plan) == []
    assert cut_out(as_json(plan), corners(cloth), STEP).faults == []
