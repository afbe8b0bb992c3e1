"""What is drawn over a photo: sizes as a ruler reads, and a doubt that is never told too small."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageDraw, ImageFont
from shapely import affinity
from shapely.geometry import Point, Polygon, box

from scrapstore.photo.measurement.measure import MeasuredScrap
from scrapstore.photo.measurement.preview import (
    _LINE,
    _ring,
    label,
    label_place,
    place_labels,
)
from scrapstore.units import Units, parse_length

RECTANGLE = box(0, 0, 8.02, 5.49)


def measured(outline: Polygon = RECTANGLE, uncertainty: float = 0.05) -> MeasuredScrap:
    ring = np.asarray(outline.exterior.coords)[:-1]
    return MeasuredScrap(outline, outline, uncertainty, (), None, (ring,))


def test_every_sign_of_a_label_is_in_the_font() -> None:
    """A sign that is not would be drawn as the box that stands for a missing one."""
    font = ImageFont.load_default(size=20)
    missing = font.getmask("\u0b85").getbbox(), bytes(font.getmask("\u0b85"))
    for sign in set(label(measured(), 12, "in")) - {"\n", " "}:
        drawn = font.getmask(sign)
        assert (drawn.getbbox(), bytes(drawn)) != missing, sign


def test_number_size_and_doubt_stand_on_a_scrap() -> None:
    assert label(measured(uncertainty=0.09), 3, "in").split("\n") == [
        "3",
        "8 x 5 1/2 in",
        "± 3/32 in",
    ]
    assert label(measured(uncertainty=0.09), 3, "cm").split("\n") == [
        "3",
        "20.4 x 13.9 cm",
        "± 0.3 cm",
    ]


@given(st.floats(0.002, 3.0), st.sampled_from(["in", "cm"]))
def test_the_doubt_is_rounded_up_and_by_less_than_a_mark(uncertainty: float, units: Units) -> None:
    told = label(measured(uncertainty=uncertainty), 1, units).rpartition("± ")[2]
    inches = parse_length(told, field="told")
    mark = 1 / 64 if units == "in" else 0.1 / 2.54
    assert uncertainty - 1e-6 <= inches < uncertainty + mark + 1e-6


def test_a_label_lies_on_its_scrap_not_beside_it() -> None:
    """The mean of an L's corners lies on the bare table."""
    ell = Polygon([(0, 0), (10, 0), (10, 1.2), (1.2, 1.2), (1.2, 7), (0, 7)])
    assert ell.contains(Point(label_place(measured(ell), 1.0)))
    assert not ell.contains(Point(measured(ell).in_picture[0].mean(axis=0)))
    frame = Polygon(box(0, 0, 9, 9).exterior.coords, [box(1, 1, 6, 6).exterior.coords])
    ring, hole = (np.asarray(r.coords)[:-1] for r in (frame.exterior, *frame.interiors))
    scrap = replace(measured(frame), in_picture=(ring, hole))
    assert affinity.scale(frame, 2, 2, origin=(0, 0)).contains(Point(label_place(scrap, 2.0)))


def test_a_label_lies_in_the_middle_of_a_strip() -> None:
    assert label_place(measured(box(0, 0, 12, 2.5)), 2.0) == pytest.approx((12, 2.5))


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(st.floats(150, 1450), st.floats(120, 1080)), min_size=1, max_size=10),
    st.integers(60, 180),
    st.integers(30, 80),
)
def test_no_label_covers_another(
    wished: list[tuple[float, float]], width: int, height: int
) -> None:
    sizes = [(float(width), float(height))] * len(wished)
    placed = place_labels(wished, sizes, (1600, 1200))
    boxes = [box(x - width / 2, y - height / 2, x + width / 2, y + height / 2) for x, y in placed]
    for number, one in enumerate(boxes):
        assert box(0, 0, 1600, 1200).buffer(1e-6).contains(one)
        assert all(one.intersection(other).area < 1e-6 for other in boxes[:number])
    assert placed[0] == wished[0]


def test_a_label_without_neighbours_stays_where_it_is_wished() -> None:
    wished = [(200.0, 200.0), (600.0, 200.0), (200.0, 500.0)]
    assert place_labels(wished, [(150.0, 60.0)] * 3, (800, 600)) == wished
    crowded = [(50.0, 50.0), (50.0, 50.0)]
    assert place_labels(crowded, [(90.0, 90.0)] * 2, (100, 100)) == crowded


def test_a_label_lies_beside_a_scrap_that_it_would_cover() -> None:
    """A crumb between two large scraps stays to be seen, and so do they."""
    scraps = [box(100, 100, 500, 500), box(520, 280, 560, 320), box(700, 100, 1100, 500)]
    wished = [(300.0, 300.0), (540.0, 300.0), (900.0, 300.0)]
    placed = place_labels(wished, [(120.0, 60.0)] * 3, (1600, 1200), scraps)
    assert (placed[0], placed[2]) == (wished[0], wished[2])
    x, y = placed[1]
    crumb = box(x - 60, y - 30, x + 60, y + 30)
    assert not any(crumb.intersection(scrap).area for scrap in scraps)


@pytest.mark.parametrize("cloth", [(255, 64, 0), (190, 20, 30), (255, 255, 255), (15, 15, 20)])
def test_an_outline_is_seen_on_cloth_of_any_colour(cloth: tuple[int, int, int]) -> None:
    """Of its two tones at least one differs from the cloth in lightness by half of the range."""
    image = Image.new("RGB", (100, 100), cloth)
    _ring(ImageDraw.Draw(image), np.array([[20, 20], [80, 20], [80, 80], [20, 80]]), _LINE, 2)
    grey = np.asarray(image.convert("L")).astype(int)
    beside = int(grey[50, 50])
    assert np.abs(grey[50, 10:30] - beside).max() > 110
