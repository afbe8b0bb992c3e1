"""Pinwheels, nine-patch and plain squares against their closed forms."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity

from scrapstore.designs import Design, make_design
from scrapstore.errors import UsageError


def grid(name: str, **asked: float) -> Design:
    return make_design(name, **({"seam": 0.25, "mark": 0.125} | asked))  # type: ignore[arg-type]


@given(rows=st.integers(1, 6), columns=st.integers(1, 6), side=st.floats(0.5, 3))
@settings(max_examples=30)
def test_counts_and_sizes_in_closed_form(rows: int, columns: int, side: float) -> None:
    blocks = rows * columns
    for name, cells, counts in (
        ("squares", 1, [blocks]), ("nine-patch", 3, [5 * blocks, 4 * blocks]),
        ("pinwheels", 2, [4 * blocks, 4 * blocks]),
    ):  # fmt: skip
        top = grid(name, piece=side, rows=rows, columns=columns)
        assert [line.count for line in top.lines] == counts
        assert top.sides == pytest.approx((cells * columns * side, cells * rows * side))
        assert top.size == pytest.approx(cells * columns * side)
        assert top.is_rectangle


def test_the_second_cushion_of_story_d() -> None:
    """Four pinwheels of 8, sixteen units finishing 4, trimmed to 4 1/2: 16 finished."""
    top = grid("pinwheels", size=16, rows=2, columns=2)
    assert top.piece_size == 4
    assert top.difference == 0
    assert len({piece.unit for piece in top.pieces}) == 16
    assert {line.name: line.count for line in top.lines} == {"sail": 16, "background triangle": 16}


def test_a_pinwheel_turns() -> None:
    """A quarter turn about the middle of a block brings each sail on the next."""
    top = grid("pinwheels", piece=2, rows=1, columns=1)
    sails = [piece.outline for piece in top.pieces if piece.role == "sails"]
    for sail, following in zip(sails, sails[1:] + sails[:1], strict=True):
        turned = affinity.rotate(sail, 90, origin=(0, 0))
        assert turned.symmetric_difference(following).area < 1e-9
    assert sails[0].symmetric_difference(affinity.scale(sails[0], -1, 1, origin=(0, 0))).area > 1


def test_rings_count_from_the_middle() -> None:
    assert grid("squares", piece=2, rows=5, columns=5).rounds == (1, 8, 16)
    assert grid("squares", piece=2, rows=4, columns=6).rounds == (8, 16)
    upper_left = grid("squares", piece=2, rows=4, columns=6).pieces[0]
    assert (upper_left.position, upper_left.ring) == ("1.1", 2)
    assert upper_left.outline.bounds == (-6, 2, -4, 4)


def test_a_nine_patch_has_patches_in_its_corners_and_middle() -> None:
    top = grid("nine-patch", piece=1, rows=1, columns=1)
    patches = {piece.outline.centroid.coords[0] for piece in top.pieces if piece.role == "patches"}
    assert patches == {(-1, 1), (1, 1), (0, 0), (-1, -1), (1, -1)}


def test_the_difference_to_what_was_wanted() -> None:
    top = grid("nine-patch", size=16, rows=2, columns=3)
    assert (top.piece_size, top.size, top.difference) == (1.75, 15.75, -0.25)
    assert grid("squares", piece=2).difference is None


def test_a_name_that_is_not_known() -> None:
    with pytest.raises(UsageError, match=r"design: 'pinwheel' is not known; did you mean"):
        grid("pinwheel")
