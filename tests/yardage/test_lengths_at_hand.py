"""What a length at hand gives, and how little of it that takes."""

from shapely import box

from scrapstore.yardage import StripPiece, plan_length


def test_a_length_gives_no_more_than_the_pieces_need() -> None:
    """Four of 2 1/2 × 14 1/2 from a width of 42: two strips of 2 1/2 in, not one of 14 1/2."""
    border = StripPiece("border", box(0, 0, 14.5, 2.5), 4)
    for length in (5.0, 16.0, 26.0):
        plan = plan_length("sky", [border], 42, length)
        assert (plan.length, plan.pieces) == (5.0, {"border": 4})
