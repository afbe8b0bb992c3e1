"""What is drawn over a photo: sizes as a ruler reads, and a doubt that is never told too small."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import Polygon, box

from scrapstore.photo.measure import MeasuredScrap
from scrapstore.photo.preview import label, size_of
from scrapstore.units import Units, parse_length

RECTANGLE = box(0, 0, 8.02, 5.49)


def measured(outline: Polygon = RECTANGLE, uncertainty: float = 0.05) -> MeasuredScrap:
    ring = np.asarray(outline.exterior.coords)[:-1]
    return MeasuredScrap(outline, outline, uncertainty, (), None, (ring,))


def test_number_size_and_doubt_stand_on_a_scrap() -> None:
    assert label(measured(uncertainty=0.09), 3, "in", 1 / 16).split("\n") == [
        "3",
        "~8 in by ~5 1/2 in",
        "± 3/32 in",
    ]
    assert label(measured(uncertainty=0.09), 3, "cm", 1 / 16).split("\n") == [
        "3",
        "~20.4 cm by ~13.9 cm",
        "± 0.3 cm",
    ]


@given(st.floats(0.002, 3.0), st.sampled_from(["in", "cm"]))
def test_the_doubt_is_rounded_up_and_by_less_than_a_mark(uncertainty: float, units: Units) -> None:
    told = label(measured(uncertainty=uncertainty), 1, units, 1 / 16).rpartition("± ")[2]
    inches = parse_length(told, field="told")
    mark = 1 / 64 if units == "in" else 0.1 / 2.54
    assert uncertainty - 1e-6 <= inches < uncertainty + mark + 1e-6


@given(st.floats(0.5, 30), st.floats(0.5, 30), st.floats(0, 360))
def test_the_size_is_that_of_the_smallest_rectangle_round_it(
    length: float, width: float, turn_deg: float
) -> None:
    turned = affinity.rotate(box(0, 0, length, width), turn_deg)
    assert size_of(turned) == pytest.approx((max(length, width), min(length, width)), rel=1e-6)


def test_a_triangle_has_its_height_for_a_width() -> None:
    side = 6.0
    triangle = Polygon([(0, 0), (side, 0), (side / 2, side * 3**0.5 / 2)])
    assert size_of(triangle) == pytest.approx((side, side * 3**0.5 / 2))
