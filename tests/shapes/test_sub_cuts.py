"""Sub-cuts of a strip: by trigonometry, and by laying the row."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.affinity import rotate, translate

from scrapstore.shapes import cut_outline, make_shape, sub_cuts


@pytest.mark.parametrize("tips", ["pointed", "trimmed"])
@pytest.mark.parametrize(("kind", "angle"), [("diamond-60", 60), ("diamond-45", 45)])
@given(height=st.floats(1, 8))
def test_diamonds_are_cut_as_far_apart_as_the_strip_is_wide(
    tips: str, kind: str, angle: int, height: float
) -> None:
    """The trade cuts a strip and sub-cuts it at the same width; the strip's run is width / sin."""
    cut = cut_outline(make_shape(kind, height=height).outline, 0.25, tips)  # type: ignore[arg-type]
    wide = height + 0.5
    step = wide / math.sin(math.radians(angle))
    cuts = sub_cuts(cut, (step, 0.0))
    assert cuts.slant_deg == pytest.approx(angle)
    assert cuts.apart == pytest.approx(wide)
    assert cut.intersection(translate(cut, step)).area < 1e-6
    upright = sub_cuts(rotate(cut, 90, origin=(0, 0)), (0.0, step))
    assert upright.slant_deg == pytest.approx(angle)
    assert upright.apart == pytest.approx(wide)


def test_rectangles_are_cut_straight_across() -> None:
    cuts = sub_cuts(make_shape("rectangle", width=2, height=5).outline, (2.0, 0.0))
    assert cuts.slant_deg == pytest.approx(90)
    assert cuts.apart == pytest.approx(2)


def test_pieces_that_stand_apart_share_no_cut() -> None:
    """Squares may lie with cloth between them."""
    assert sub_cuts(make_shape("square", side=2).outline, (2.125, 0.0)).apart is None
