"""What cuts leave: parts that make up the cloth, worked by hand and by shapely's unions."""

import contextlib
import math

import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from shapely import Polygon, box

from scrapstore.errors import UsageError
from scrapstore.packing import PieceKind, fill, plan_cuts, usable_region
from scrapstore.planning.after_cutting import SIDES, AfterCutting, Spoilt, after_cutting
from scrapstore.shapes import CutPiece, CuttingPlan, Frame, cut_parts, cut_shape, make_shape

SLOW = [HealthCheck.too_slow]  # plans are made by the packer
SQUARE = cut_shape(make_shape("square", side=3), 0.25)  # 3 1/2 in


def planned(outline: Polygon, kinds: list[PieceKind], step: float = 1 / 8) -> CuttingPlan:
    """The cuts that the program plans for as many pieces as the packer places."""
    region = usable_region(outline)
    layout = fill(region, kinds, seconds=0.05)
    if not layout.placements:  # with nothing to cut there are no cuts to plan
        return CuttingPlan(Frame(), outline, (), (), step)
    cuts = plan_cuts(outline, region, kinds, layout.placements, step)
    return CuttingPlan(
        frame=Frame(),
        outline=outline,
        cuts=cuts.cuts,
        pieces=tuple(
            CutPiece(f"A{at}", placed.kind, placed.outline, part, template)
            for at, (placed, part, template) in enumerate(
                zip(cuts.placements, cuts.parts, cuts.template, strict=True), start=1
            )
        ),
        step=step,
    )


def squares(wide: float, tall: float, wanted: int) -> CuttingPlan:
    kind = PieceKind("square", SQUARE, wanted, (0.0, 90.0), mirror=True)
    return planned(box(0, 0, wide, tall), [kind])


def assert_made_up(plan: CuttingPlan, after: AfterCutting) -> None:
    """Pieces, spoilt pieces, offcuts and waste are the cloth, and none lies on another."""
    parts = [piece.outline for piece in after.pieces]
    parts += [*after.spoilt.values(), *after.offcuts, *after.waste]
    assert math.fsum(part.area for part in parts) == pytest.approx(plan.outline.area, abs=1e-6)
    assert shapely.union_all(parts).area == pytest.approx(plan.outline.area, abs=1e-5)
    tree = shapely.STRtree(parts)
    one, other = tree.query(parts, predicate="overlaps")
    shared = shapely.area(shapely.intersection(tree.geometries[one], tree.geometries[other]))
    assert (shared < 1e-6).all()


def test_four_squares_leave_a_clean_strip() -> None:
    """70 = 4 × 12.25 + 21: nothing is waste."""
    plan = squares(10, 7, 4)
    after = after_cutting(plan, smallest=1.5)
    assert len(after.pieces) == 4
    assert [one.area for one in after.offcuts] == pytest.approx([21.0])
    assert sorted(box(*one.bounds).area for one in after.offcuts) == pytest.approx([21.0])
    assert after.waste_area == pytest.approx(0.0, abs=1e-9)
    assert_made_up(plan, after)


def test_a_piece_that_came_out_short_is_a_scrap_of_its_own_size() -> None:
    """70 = 3 × 12.25 + 11.375 + 0.875 + 21: a quarter inch of one square is lost."""
    plan = squares(10, 7, 4)
    after = after_cutting(plan, smallest=1.5, spoilt={"A3": Spoilt(0.25, "right")})
    assert len(after.pieces) == 3
    whole = next(piece.outline for piece in plan.pieces if piece.label == "A3")
    left, bottom, right, top = whole.bounds
    assert after.spoilt["A3"].equals_exact(box(left, bottom, right - 0.25, top), 1e-9) or (
        after.spoilt["A3"].symmetric_difference(box(left, bottom, right - 0.25, top)).area < 1e-9
    )
    assert after.spoilt["A3"].area == pytest.approx(11.375)
    assert after.waste_area == pytest.approx(0.875)
    assert_made_up(plan, after)


def test_a_piece_that_was_not_cut_stays_in_its_cloth() -> None:
    """Cuts that would only free it are not made: of one row of three, two squares and the rest."""
    plan = squares(10.5, 3.5, 3)
    last = max(plan.pieces, key=lambda piece: len(plan.cuts) and piece.part).label
    after = after_cutting(plan, smallest=1.5, not_cut={last})
    assert after.not_cut == (last,)
    assert [one.area for one in after.offcuts] == pytest.approx([12.25])
    nothing = after_cutting(plan, smallest=1.5, not_cut={piece.label for piece in plan.pieces})
    assert [one.area for one in nothing.offcuts] == pytest.approx([36.75])
    assert nothing.pieces == ()
    assert_made_up(plan, nothing)


def test_what_is_narrow_everywhere_is_waste_and_the_edge_of_it_is_kept() -> None:
    """88 − 75 = 13: beside three 5 in squares of 16 × 5 1/2 no rest is 1 1/2 in wide."""
    kind = PieceKind("square", box(0, 0, 5, 5), 3, (0.0, 90.0), mirror=True)
    plan = planned(box(0, 0, 16, 5.5), [kind])
    after = after_cutting(plan, smallest=1.5)
    assert (len(after.pieces), after.offcuts) == (3, ())
    assert after.waste_area == pytest.approx(13.0)
    exactly = after_cutting(plan, smallest=1.0)
    assert [round(one.area, 6) for one in exactly.offcuts if min(_sides(one)) < 0.999] == []
    assert exactly.offcuts
    assert_made_up(plan, exactly)


def _sides(part: Polygon) -> tuple[float, float]:
    left, bottom, right, top = part.bounds
    return right - left, top - bottom


def test_a_stained_rest_is_no_offcut() -> None:
    """A rest of 3 × 7 that is one stain is of no use; with a stain in a corner it is."""
    plan = squares(10, 7, 4)
    (rest,) = after_cutting(plan, smallest=1.5).offcuts
    assert after_cutting(plan, smallest=1.5, flaws=[rest]).offcuts == ()
    left, bottom, _, _ = rest.bounds
    corner = box(left, bottom, left + 1, bottom + 1)
    assert after_cutting(plan, smallest=1.5, flaws=[corner]).offcuts == (rest,)


def test_a_piece_that_lies_over_the_edge_of_its_part_by_rounding_is_counted_once() -> None:
    """By 5e-7 in of 12 in, within what cuts are rounded to: 6e-6 sq in more than there is."""
    over = CutPiece("A1", "strip", box(0, 0, 12, 3 + 5e-7), 0)
    plan = CuttingPlan(Frame(), box(0, 0, 12, 3), (), (over,), 1 / 8)
    for spoilt in ({}, {"A1": Spoilt()}):
        after = after_cutting(plan, smallest=1.5, spoilt=spoilt)
        assert_made_up(plan, after)
        assert after.waste_area < 1e-6


def test_a_piece_that_all_but_coincides_with_its_part_is_all_of_it() -> None:
    """Outlines for which GEOS in full precision finds nothing shared: here 1e-9 in apart."""
    part = Polygon([(-1.3004860222278327, 0.8746676237640094),
                    (1.0655393818384624, 0.8746676237640095),
                    (-0.1174733201946854, 2.9237057296847615)])  # fmt: skip
    piece = Polygon([(-1.3004860220869048, 0.8746676240081039),
                     (-0.1174733201951369, 2.92370572968398),
                     (1.0655393816966316, 0.8746676240081039)])  # fmt: skip
    plan = CuttingPlan(Frame(), part, (), (CutPiece("A1", "triangle", piece, 0),), 1 / 8)
    after = after_cutting(plan, smallest=1.0)
    assert (len(after.pieces), after.offcuts) == (1, ())
    assert_made_up(plan, after)


@pytest.mark.parametrize(
    ("spoilt", "said"),
    [
        (Spoilt(3.5, "left"), "nothing of it is left when 3 1/2 in is missing there; it is 3 1/2"),
        (Spoilt(0.25, None), "say at which edge, as it lies in the drawing"),
        (Spoilt(0.25, "top right"), "say 'right' or 'top'"),
    ],
)
def test_a_spoilt_piece_that_cannot_be_is_refused(spoilt: Spoilt, said: str) -> None:
    with pytest.raises(UsageError, match=said):
        after_cutting(squares(10, 7, 4), smallest=1.5, spoilt={"A1": spoilt})


lengths = st.integers(16, 96).map(lambda eighths: eighths / 8)
quarters = st.integers(4, 16).map(lambda n: n / 4)


def ways_to_spoil(plan: CuttingPlan, label: str) -> list[Spoilt]:
    """By an unknown amount, and by an eighth at each edge that one word names."""
    ways = [Spoilt()]
    for side in SIDES:
        with contextlib.suppress(UsageError):
            after_cutting(plan, smallest=1.0, spoilt={label: Spoilt(0.125, side)})
            ways.append(Spoilt(0.125, side))
    return ways


@st.composite
def plans(draw: st.DrawFn) -> CuttingPlan:
    """Cuts of diamonds, squares or triangles on a scrap with a slanted edge."""
    wide, tall = draw(lengths), draw(lengths)
    slope = draw(st.floats(0, 0.4))
    outline = Polygon([(0, 0), (wide, 0), (wide - slope * wide, tall), (0, tall)])
    shape = draw(
        st.sampled_from([
            make_shape("square", side=2),
            make_shape("rectangle", width=1, height=2.5),
            make_shape("half-square-triangle", short_side=2),
            make_shape("diamond-60", height=1.5),
        ])
    )  # fmt: skip
    kind = PieceKind("piece", cut_shape(shape, 0.25), draw(st.integers(1, 8)),
                     (0.0, 90.0, 180.0, 270.0), mirror=True)  # fmt: skip
    return planned(outline, [kind])


@settings(max_examples=25, deadline=None, suppress_health_check=SLOW)
@given(plans(), st.data())
def test_whatever_happens_the_parts_make_up_the_cloth(
    plan: CuttingPlan, data: st.DataObject
) -> None:
    labels = {piece.label for piece in plan.pieces}
    spoilt = data.draw(st.sets(st.sampled_from(sorted(labels)))) if labels else set()
    not_cut = data.draw(st.sets(st.sampled_from(sorted(labels)))) - spoilt if labels else set()
    after = after_cutting(
        plan,
        smallest=data.draw(st.sampled_from([0.25, 1.0, 1.5, 3.0])),
        spoilt={
            label: data.draw(st.sampled_from(ways_to_spoil(plan, label)))
            for label in sorted(spoilt)
        },
        not_cut=not_cut,
    )
    assert_made_up(plan, after)
    assert {piece.label for piece in after.pieces} == labels - spoilt - not_cut
    assert set(after.spoilt) == spoilt
    assert set(after.not_cut) == not_cut


@settings(max_examples=10, deadline=None, suppress_health_check=SLOW)
@given(plans())
def test_offcuts_are_parts_that_all_the_cuts_leave(plan: CuttingPlan) -> None:
    ends = cut_parts(plan)
    for one in after_cutting(plan, smallest=1.0).offcuts:
        assert any(one.difference(part).area < 1e-6 for part in ends)
