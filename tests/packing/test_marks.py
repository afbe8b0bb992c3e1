"""Pieces moved to ruler marks stay a sound layout and are easier to cut."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, affinity, box

from scrapstore.packing import Layout, PieceKind, Placement, fill, on_marks, verify

SQUARE = box(0, 0, 2.5, 2.5)
# Cut height 1 3/4 in, finished 1 1/4 in: a 60° diamond lying on its side.
SIDE = 1.75 / np.sin(np.pi / 3)
DIAMOND = Polygon([(0, 0), (SIDE, 0), (SIDE * 1.5, 1.75), (SIDE / 2, 1.75)])


def _off(placements: tuple[Placement, ...], step: float = 1 / 8) -> int:
    """How many pieces have their lowest side off the marks, told by plain arithmetic."""
    lows = np.array([p.outline.bounds[1] for p in placements]) / step
    return int(np.sum(np.abs(lows - np.round(lows)) > 1e-5))


def test_a_row_with_room_goes_to_the_next_mark() -> None:
    """Across and along, by less than a mark each."""
    placed = [Placement("a", affinity.translate(SQUARE, 0.3 + 2.5 * k, 0.2), 0.0) for k in range(3)]
    moved = on_marks(box(0, 0, 9, 4), placed)
    lows = np.array([p.outline.bounds[:2] for p in moved])
    assert lows == pytest.approx(np.array([(0.25, 0.125), (2.75, 0.125), (5.25, 0.125)]))


def test_rows_pressed_together_move_one_after_the_other() -> None:
    """The lower edge lies off the marks, so all go up, the uppermost first."""
    region = box(0.03, 0.03, 2.6, 5.2)
    placed = [Placement("a", affinity.translate(SQUARE, 0.03, 0.03 + 2.5 * k), 0.0) for k in (0, 1)]
    assert [p.outline.bounds[1] for p in on_marks(region, placed)] == pytest.approx([0.125, 2.625])


def test_a_row_against_a_slanting_edge_goes_both_ways_at_once() -> None:
    """Up alone it would leave the cloth at the left; up and to the right it does not."""
    region = Polygon([(0.1, 0.1), (6, 0.1), (6, 4), (0.4, 4)])
    low = 0.2
    left = 0.1 + 0.3 * (low + 2.5 - 0.1) / 3.9  # where the slanting edge meets the upper corner
    (moved,) = on_marks(region, [Placement("a", affinity.translate(SQUARE, left, low), 0.0)])
    kind = PieceKind("a", SQUARE, 1, (0.0,), mirror=False)
    assert verify(region, [kind], Layout((moved,), SQUARE.area, SQUARE.area)) == []
    assert moved.outline.bounds[:2] == pytest.approx((0.375, 0.125))


def test_what_has_no_room_stays() -> None:
    """A square in a region of its own size; a tilted piece has no row."""
    placed = [Placement("a", affinity.translate(SQUARE, 0.03, 0.03), 0.0)]
    assert on_marks(box(0.03, 0.03, 2.53, 2.53), placed) == tuple(placed)
    tilted = [Placement("a", affinity.rotate(SQUARE, 20), 20.0)]
    assert on_marks(box(-9, -9, 9, 9), tilted) == tuple(tilted)
    assert on_marks(box(0, 0, 1, 1), []) == ()


def test_marks_count_from_the_zero_of_the_ruler() -> None:
    """Centimetres from the lower left corner of a drawing that begins anywhere."""
    placed = [Placement("a", affinity.translate(SQUARE, 0.3, 0.2), 0.0)]
    (moved,) = on_marks(box(-5, -5, 9, 9), placed, zero=(-1.07, -2.03), step=1 / 2.54)
    left, bottom = moved.outline.bounds[:2]
    assert ((left + 1.07) * 2.54, (bottom + 2.03) * 2.54) == pytest.approx((3, 5))


@settings(max_examples=25)
@given(
    corners=st.lists(st.tuples(st.floats(-1, 1), st.floats(-1, 1)), min_size=4, max_size=4),
    square=st.booleans(),
)
def test_moved_layouts_are_sound_and_no_harder_to_cut(
    corners: list[tuple[float, float]], square: bool
) -> None:
    """The verifier, which shares nothing with this, finds no fault on any bent four-sided scrap."""
    bent = zip(((0, 0), (11, 0), (11, 8), (0, 8)), corners, strict=True)
    region = Polygon([(x + dx, y + dy) for (x, y), (dx, dy) in bent])
    outline = SQUARE if square else DIAMOND
    kind = PieceKind("a", outline, 30, (0.0, 90.0) if square else (0.0, 60.0, 120.0), mirror=False)
    layout = fill(region, [kind], seconds=0.05)
    moved = on_marks(region, layout.placements)
    assert verify(region, [kind], Layout(moved, layout.value, layout.bound)) == []
    assert [p.kind for p in moved] == [p.kind for p in layout.placements]
    drift = [
        np.abs(np.subtract(a.outline.bounds, b.outline.bounds)).max()
        for a, b in zip(moved, layout.placements, strict=True)
    ]
    assert max(drift, default=0) < 1 / 8
    if square:
        assert _off(moved) <= _off(layout.placements)
