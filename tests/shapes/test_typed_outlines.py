"""Outlines as people type them."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon

from scrapstore.errors import LengthError, ScrapstoreError, ShapeError
from scrapstore.settings import Settings
from scrapstore.shapes.typed_outlines import (
    PRECUTS,
    TypedOutline,
    grain_of,
    typed_corners,
    typed_precut,
    typed_rectangle,
    typed_strip,
    typed_triangle,
)
from scrapstore.stock_entry.sizes import typed_size
from scrapstore.units import format_length


def _corners(typed: TypedOutline) -> list[tuple[float, float]]:
    return [(x, y) for x, y in typed.outline.exterior.coords[:-1]]


def test_rectangle_strip_and_triangle_lie_as_said() -> None:
    """The measure typed first lies level; the right angle lower left."""
    assert typed_rectangle("9 x 22").outline.bounds == (0, 0, 9, 22)
    assert typed_strip("2 1/2 x 40").outline.bounds == (0, 0, 2.5, 40)
    assert sorted(_corners(typed_triangle("5 × 8"))) == [(0, 0), (0, 8), (5, 0)]
    assert typed_rectangle("10 x 20 cm").outline.bounds[3] == pytest.approx(20 / 2.54)
    assert typed_rectangle("10 x 20", default_unit="cm").outline.bounds[3] == pytest.approx(
        20 / 2.54
    )


@pytest.mark.parametrize(
    ("text", "corners"),
    [
        ("0,0 5,0 5 1/2,3 0,4", [(0, 0), (5, 0), (5.5, 3), (0, 4)]),
        ("0,0  5,0  5-1/2,3  0,4", [(0, 0), (5, 0), (5.5, 3), (0, 4)]),
        ("0, 0; 5, 0; 5½, 3; 0, 4", [(0, 0), (5, 0), (5.5, 3), (0, 4)]),
        ("0,0 6.5,0 3.25,8", [(0, 0), (6.5, 0), (3.25, 8)]),
        ("1/2,1/2 3 1/2,1/2 1/2,3 3/4", [(0.5, 0.5), (3.5, 0.5), (0.5, 3.75)]),
        ("0,3 1/2 4,0 4,3", [(0, 3.5), (4, 0), (4, 3)]),
        ("-1,0 1,0 0,1 1/4", [(-1, 0), (1, 0), (0, 1.25)]),
        ("0,0 2.54,0 0,5.08 cm", [(0, 0), (1, 0), (0, 2)]),
        ("0,0 0,4 5,4", [(0, 0), (5, 4), (0, 4)]),
    ],
)
def test_corners(text: str, corners: list[tuple[float, float]]) -> None:
    """Fractions have a space in them, as the corners have between them."""
    assert np.allclose(_corners(typed_corners(text)), corners, rtol=0, atol=1e-12)


marks = st.integers(1, 64 * 30).map(lambda n: n / 64)


@given(st.lists(st.tuples(marks, marks), min_size=3, max_size=9))
def test_corners_as_a_ruler_reads_them_are_read_back(points: list[tuple[float, float]]) -> None:
    """Printed in sixty-fourths and read: the same polygon, or refused like the polygon itself."""
    text = " ".join(
        ",".join(format_length(c, step=1 / 64).removesuffix(" in") for c in p) for p in points
    )
    polygon = Polygon(points)
    try:
        typed = typed_corners(text)
    except ShapeError:
        assert not polygon.is_valid or polygon.area < 1 or len(set(points)) < len(points)
    else:
        assert typed.outline.equals(polygon)


@pytest.mark.parametrize(
    "text", ["", "5", "0,0 5,0", "0,0 5 0 0,4", "0,0 5,x 0,4", "0,0 5,0 5,5 0,4 7", "0,0;5;0,4"]
)
def test_corners_that_cannot_be_read(text: str) -> None:
    """An example says how; nothing but our own errors."""
    with pytest.raises((LengthError, ShapeError), match="corner"):
        typed_corners(text)


@given(st.text(alphabet='0123456789 ,;./-½xincm"', max_size=40))
def test_any_text_is_read_or_refused(text: str) -> None:
    """No text brings the program down."""
    for read in (typed_corners, typed_rectangle, typed_strip, typed_triangle):
        try:
            typed = read(text)
        except ScrapstoreError:
            continue
        assert typed.outline.is_valid
        assert typed.outline.area > 0


@pytest.mark.parametrize(
    ("text", "sides", "grain"),
    [
        # Trade facts, common practice: half a yard, 18 in along the selvage, halved at the fold;
        # half an inch goes in squaring up, and of 42 in between the selvages it has the half.
        ("fat quarter", (17.5, 21), 0),
        ("Fat-Quarter", (17.5, 21), 0),
        ("FQ", (17.5, 21), 0),
        ("fat quarter 18 x 22", (17.5, 21), 0),
        ("fat eighth", (8.5, 21), 0),
        ("fat eighth 9 x 22", (8.5, 21), 0),
        ("fat eighth 11 × 18", (10.5, 17.5), 90),
        ("5 in square", (5, 5), None),
        ('10" squares', (10, 10), None),
        ("2 1/2 in strip", (2.5, 42), 0),
        ('2½" strip', (2.5, 42), 0),
    ],
)
def test_precuts(text: str, sides: tuple[float, float], grain: float | None) -> None:
    """Sizes and the grain they are cut on; nothing is kept free along their edges."""
    typed = typed_precut(text, usable_width=42)
    assert typed.outline.bounds[2:] == sides
    assert typed.grain_deg == grain
    assert typed.clean


def test_what_counts_of_a_fat_quarter_is_said() -> None:
    """And one that is known to be used to the edge says nothing."""
    said = typed_precut("FQ", usable_width=40, straightening=0.75).note
    assert said is not None
    assert said.startswith(
        "A fat quarter counts as 17 1/4 in along the lengthwise grain by 20 in across: 3/4 in"
    )
    assert typed_precut("5 in square", usable_width=40).note is None


def test_a_length_of_the_full_width_is_no_precut() -> None:
    advice = "yardage add --fabric NAME --length 'half yard'"
    with pytest.raises(ShapeError, match=f"add it as yardage: {advice}"):
        typed_precut("half yard", usable_width=40)


@pytest.mark.parametrize(
    ("kind", "text", "unit", "sides", "grain"),
    [
        ("strip", "2 1/2 x WOF", "in", (2.5, 40), 0),
        ("size", "2 1/2 x wof", "in", (2.5, 40), 0),
        ("size", "WOF x 9", "in", (40, 9), 90),
        ("size", "6 x WOF", "cm", (6 / 2.54, 40), 0),
        ("size", "fat quarter", "in", (17.5, 20), 0),
    ],
)
def test_sizes_that_name_the_width_of_fabric(
    kind: str, text: str, unit: str, sides: tuple[float, float], grain: float
) -> None:
    """The width is the setting's, 40 in; the lengthwise grain runs square to it."""
    typed = typed_size({kind: text}, None, Settings(), default_unit=unit)
    assert typed.outline.bounds[2:] == pytest.approx(sides)
    assert typed.grain_deg == grain


@pytest.mark.parametrize(
    ("kind", "text", "hint"),
    [
        ("size", "600 x 900", "did you mean mm"),
        ("size", "9 m x 6 m", "did you mean cm"),
        ("strip", "2 1/2 x 300", "did you mean cm"),
        ("triangle", "145 x 20", "did you mean cm"),
        ("corners", "0,0 300,0 300,20", "did you mean cm"),
        ("size", "100 yd x 40", "is added with yardage add"),
    ],
)
def test_no_scrap_is_larger_than_cloth_lies_on_a_table(kind: str, text: str, hint: str) -> None:
    with pytest.raises(ShapeError, match=f"no side of a scrap is over 144 in.*{hint}"):
        typed_size({kind: text}, None, Settings())
    assert typed_size({"size": "144 x 100"}, None, Settings()).outline.bounds[2] == 144


def test_a_precut_nearly_spelled_is_suggested() -> None:
    with pytest.raises(ShapeError, match="did you mean charm square"):
        typed_precut("chram square", usable_width=42)
    assert typed_precut("Charm", usable_width=42) == typed_precut("5 in square", usable_width=42)


def test_an_unknown_precut_lists_the_known() -> None:
    """The sentence holds every name."""
    with pytest.raises(ShapeError, match=", ".join(PRECUTS)):
        typed_precut("7 in square", usable_width=42)


def test_grain_along_a_measure_or_in_degrees() -> None:
    """Whatever was typed, the measure typed first lies level, and that is what first means."""
    assert typed_strip("2 1/2 x 40").outline.equals(typed_rectangle("2 1/2 x 40").outline)
    assert grain_of("First") == 0
    assert grain_of("second") == 90
    assert grain_of("-45°") == 315
    assert grain_of("unknown") is None
    with pytest.raises(ShapeError, match="write first or second"):
        grain_of("up")
