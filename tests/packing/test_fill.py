"""What `fill` must get right on any cloth: edges, flaws, turns, numbers, odd input."""

import numpy as np
import pytest
from shapely.affinity import rotate
from shapely.geometry import MultiPolygon, Polygon, box

from scrapstore.errors import ShapeError
from scrapstore.packing import Layout, PieceKind, fill, usable_region, verify
from tests.support.cloth import DIAMOND, ELL, HALF, TRIANGLE, kind, moved, torn

Region = Polygon | MultiPolygon


def _sound(region: Region, kinds: list[PieceKind], seconds: float = 0.1, seed: int = 0) -> Layout:
    layout = fill(region, kinds, seconds=seconds, seed=seed)
    assert verify(region, kinds, layout) == []
    return layout


def test_a_flaw_smaller_than_the_piece_is_not_covered() -> None:
    """Positions with the flaw wholly inside the piece touch no edge of the flaw."""
    cloth = usable_region(box(0, 0, 5, 5), [box(2.4, 2.4, 2.6, 2.6)])
    assert len(_sound(cloth, [kind(box(0, 0, 3, 3))]).placements) == 0
    assert len(_sound(cloth, [kind(box(0, 0, 2.4, 2.4))]).placements) == 4


def test_an_exact_fit_is_found() -> None:
    assert len(_sound(DIAMOND, [kind(DIAMOND)]).placements) == 1
    assert len(_sound(moved(DIAMOND, 3, 2, 90), [kind(DIAMOND)]).placements) == 1
    assert len(_sound(moved(DIAMOND, 3, 2, 45), [kind(DIAMOND)]).placements) == 0


def test_nothing_fits_in_nothing() -> None:
    assert fill(Polygon(), [kind(DIAMOND)]) == Layout((), 0.0, 0.0)
    assert fill(box(0, 0, 1, 1), [kind(DIAMOND)]) == Layout((), 0.0, 0.0)
    assert fill(box(0, 0, 9, 9), []) == Layout((), 0.0, 0.0)
    assert fill(box(0, 0, 9, 9), [kind(DIAMOND, 0)]) == Layout((), 0.0, 0.0)


def test_parts_that_lie_apart_are_all_used() -> None:
    cloth = MultiPolygon([box(0, 0, 2, 2), box(10, 10, 12, 14), box(20, 0, 21.9, 9)])
    layout = _sound(cloth, [kind(box(0, 0, 2, 2))])
    assert len(layout.placements) == 3
    assert layout.proven


def test_pieces_that_are_not_convex_lock_into_each_other() -> None:
    layout = _sound(box(0, 0, 2, 3), [kind(ELL)], seconds=1.0)
    assert len(layout.placements) == 2
    assert layout.proven


def test_left_pieces_stay_left() -> None:
    """A 2 × √3 rectangle is a left half triangle turned twice, never a left and a right one."""
    cloth = Polygon([(0, 0), (2, 0), (1, 3**0.5)])  # a whole triangle: a left and a right half
    assert len(_sound(cloth, [kind(HALF, rotations_deg=(0.0,), mirror=False)]).placements) == 1
    both = _sound(cloth, [kind(HALF, rotations_deg=(0.0,), mirror=True)])
    assert [p.mirrored for p in both.placements].count(True) == 1
    assert len(both.placements) == 2


def test_a_one_way_print_keeps_its_direction() -> None:
    one_way = kind(TRIANGLE, rotations_deg=(0.0,))
    turning = kind(TRIANGLE, rotations_deg=(0.0, 180.0))
    cloth = box(0, 0, 5, 3**0.5)
    assert len(_sound(cloth, [one_way]).placements) == 2
    assert len(_sound(cloth, [turning]).placements) == 4


def test_no_more_than_wanted_and_the_dearer_first() -> None:
    cheap = kind(box(0, 0, 2, 2), 2, (0.0,), name="cheap", value=1.0)
    dear = kind(box(0, 0, 2, 2.0), 3, (0.0,), name="dear", value=5.0)
    layout = _sound(box(0, 0, 4, 4), [cheap, dear])
    assert layout.counts() == {"cheap": 1, "dear": 3}
    assert layout.value == 16.0


def test_the_same_seed_gives_the_same_plan() -> None:
    kinds = [kind(DIAMOND, 9, name="d", mirror=True), kind(HALF, 9, name="h", mirror=True)]
    first, again = (fill(torn(90), kinds, seconds=0.1, seed=5) for _ in range(2))
    assert [p.outline.wkb for p in first.placements] == [p.outline.wkb for p in again.placements]
    assert first == again


def test_more_work_is_never_worse_on_average() -> None:
    kinds = [kind(DIAMOND, 99, mirror=True)]
    little = sum(fill(torn(60), kinds, seconds=0.02, seed=s).value for s in range(3))
    much = sum(fill(torn(60), kinds, seconds=0.3, seed=s).value for s in range(3))
    assert much >= little


def test_an_outline_of_three_thousand_corners() -> None:
    cloth = usable_region(torn(3000), [box(-0.1, -0.1, 0.1, 0.1)], 0.125)
    layout = _sound(cloth, [kind(DIAMOND, mirror=True)])
    assert layout.value > 0.6 * cloth.area


def test_rows_only_keeps_to_rows() -> None:
    layout = fill(torn(60), [kind(DIAMOND, rotations_deg=(0.0,))], rows_only=True)
    heights = sorted({round(p.outline.bounds[1], 6) for p in layout.placements})
    assert layout.placements
    assert np.all(np.diff(heights) >= 3**0.5 - 1e-6)


def test_a_turned_cloth_takes_turned_pieces() -> None:
    """Turning cloth and pieces together changes nothing but rounding."""
    flat = _sound(box(0, 0, 8, 6), [kind(box(0, 0, 2, 3), rotations_deg=(0.0,))])
    turned = _sound(
        rotate(box(0, 0, 8, 6), 30, origin=(0, 0)), [kind(box(0, 0, 2, 3), rotations_deg=(30.0,))]
    )
    assert len(flat.placements) == len(turned.placements) == 8


@pytest.mark.parametrize(
    ("outline", "said"),
    [
        (Polygon(), "empty"),
        (Polygon([(0, 0), (2, 2), (2, 0), (0, 2)]), "crosses itself"),
        (box(0, 0, 4, 4).difference(box(1, 1, 2, 2)), "a hole"),
        (box(0, 0, 1e-3, 1e-3), "no area"),
    ],
)
def test_a_piece_that_cannot_be_is_refused(outline: Polygon, said: str) -> None:
    with pytest.raises(ShapeError, match=said):
        kind(outline)


def test_wrong_numbers_are_refused() -> None:
    with pytest.raises(ShapeError, match="0 or more"):
        kind(DIAMOND, -1)
    with pytest.raises(ShapeError, match="no rotation"):
        kind(DIAMOND, rotations_deg=())
    with pytest.raises(ShapeError, match="value"):
        kind(DIAMOND, value=float("nan"))
    with pytest.raises(ShapeError, match="two kinds"):
        fill(box(0, 0, 9, 9), [kind(DIAMOND), kind(HALF)])
    with pytest.raises(ShapeError, match="crosses itself"):
        fill(Polygon([(0, 0), (2, 2), (2, 0), (0, 2)]), [kind(DIAMOND)])
    with pytest.raises(ShapeError, match="margin"):
        usable_region(box(0, 0, 9, 9), margin=-1)


def test_the_margin_comes_off_the_edge_and_not_around_flaws() -> None:
    usable = usable_region(box(0, 0, 10, 10), [box(4, 4, 5, 5)], 0.5)
    assert usable.area == pytest.approx(80.0)
    assert usable_region(box(0, 0, 1, 1), margin=0.5).is_empty
