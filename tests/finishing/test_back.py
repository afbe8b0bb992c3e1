"""Backs of covers beside what is printed of them."""

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from scrapstore.errors import ShapeError
from scrapstore.finishing import (
    BackWish,
    back_pieces,
    hexagon,
    lap_of,
    lapped_hems,
    rectangle,
    zip_length,
)


def test_each_piece_is_half_the_front_and_three_inches() -> None:
    """(front + 6) / 2: 18 in, 12 in each: bhg.com, envelope pillow, 2019.

    By geometry that is an overlap of 5 in with double hems of 1/4 in, which take 1/2 in each.
    """
    back = BackWish(overlap=5)
    assert [piece[1:] for piece in back_pieces(back, 18, 18)] == [(12, 18)] * 2
    assert lap_of(back, 12, 18) == 5


def test_two_pieces_of_19_by_12_for_a_form_of_18() -> None:
    """maverydesigns.com: seams and hems of 1/2 in, so a front of 19 in and hems turned once.

    An overlap of 4 in is what that leaves.
    """
    back = BackWish(hem=0.5, hem_turns=1, overlap=4)
    assert [piece[1:] for piece in back_pieces(back, 19, 19)] == [(12, 19)] * 2


def test_half_of_the_form_and_four_inches() -> None:
    """16 in, 12 in: bnmqg.org pillow swap. A front of 16 1/2 in and double 1/4 in hems leave 6 1/2.

    The page says no overlap; this is what its sizes come to.
    """
    assert lap_of(BackWish(), 16 / 2 + 4, 16.5) == 6.5


@pytest.mark.parametrize(("turns", "lap"), [(2, 3.0), (1, 3.5)])
def test_one_length_round_a_form_of_12(turns: int, lap: float) -> None:
    """2 x form + 4 = 28 in, double 1/4 in hems, overlap 3 1/2: makeitcoats.com.

    The page counts the hems as if they were turned once: by geometry double ones, which take 1/2 in
    each, leave 3 in round a pocket of 12 in, and single ones 3 1/2.
    """
    hems = BackWish(hem_turns=turns)
    # The length goes once round the front, so its two ends cover the back as two pieces would.
    each_end = (28 - 12) / 2
    assert lap_of(hems, each_end, 12) == lap


def test_bound_and_turned_covers_of_one_top_have_other_backs() -> None:
    """A turned cover with 1/2 in seams has a front of 19, a bound one of 18 1/2 with 1/4 in."""
    widths = [back_pieces(BackWish(overlap=4), front, front)[0].width for front in (18.5, 19)]
    assert widths == [11.75, 12]


def test_zip_and_plain_backs() -> None:
    assert [p[1:] for p in back_pieces(BackWish(kind="zip"), 18.5, 16)] == [(10, 16)] * 2
    assert back_pieces(BackWish(kind="plain"), 18.5, 16) == (("back", 18.5, 16),)
    assert zip_length(18) == 16
    assert zip_length(2) == 1


@pytest.mark.parametrize("overlap", [0, 18, 20])
def test_an_overlap_that_cannot_be(overlap: float) -> None:
    with pytest.raises(ShapeError, match="overlap"):
        back_pieces(BackWish(overlap=overlap), 18, 18)


def test_where_the_hems_lie() -> None:
    assert lapped_hems(rectangle(18, 12), 4) == ((7, 11), (37, 41))
    found = [edge for hem in lapped_hems(hexagon(9), 4) for edge in hem]
    assert found == pytest.approx([2.5, 6.5, 29.5, 33.5])


@given(st.floats(4, 30), st.floats(4, 30), st.floats(0.5, 3.5))
def test_hems_are_where_the_overlap_meets_the_edge(width: float, height: float, lap: float) -> None:
    """Beside shapely: the edge within the band of the overlap."""
    edge = shapely.box(0, 0, width, height).exterior
    band = shapely.box((width - lap) / 2, -1, (width + lap) / 2, height + 1)
    hems = lapped_hems(rectangle(width, height), lap)
    assert sum(high - low for low, high in hems) == pytest.approx(edge.intersection(band).length)
