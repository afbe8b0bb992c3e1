"""Lengths: what people type, what a ruler reads, and the way between."""

import math
from fractions import Fraction
from typing import Annotated

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel, ValidationError

from scrapstore.errors import LengthError, ScrapstoreError
from scrapstore.units import (
    LengthField,
    format_area,
    format_cut,
    format_length,
    format_yards,
    parse_length,
    parse_size,
    round_to_mark,
    round_up_to_mark,
    says_unit,
)

SIXTEENTHS = st.integers(min_value=1, max_value=16 * 400)


@pytest.mark.parametrize(
    ("text", "inches"),
    [
        ("3", 3.0),
        ("3.5", 3.5),
        ("3,5", 3.5),
        (".5", 0.5),
        ("3 1/2", 3.5),
        ("3-1/2", 3.5),
        ("3 - 1/2", 3.5),
        ("3–1/2", 3.5),
        ("3 and 1/2", 3.5),
        ("3½", 3.5),
        ("3 ½", 3.5),
        ("3-½", 3.5),
        ("½", 0.5),
        ("7/8", 0.875),
        ("7⁄8", 0.875),
        ('3 1/2"', 3.5),
        ("3 1/2”", 3.5),
        ("3½″", 3.5),
        ("3 1/2''", 3.5),
        ("3 1/2 in", 3.5),
        ("3 1/2 in.", 3.5),
        ("3 1/2 Inches", 3.5),
        ("1 ft", 12.0),
        ("1' 6\"", 18.0),
        ("1’ 6”", 18.0),
        ("1 ft 3-1/2 in", 15.5),
        ("1 yd", 36.0),
        ("3/8 yd", 13.5),
        ("1 1/8 yards", 40.5),
        ("1¼yd", 45.0),
        ("1 yd 4 in", 40.0),
        ("half yard", 18.0),
        ("half a yard", 18.0),
        ("Half yards", 18.0),
        ("a half yard", 18.0),
        ("quarter of a yard", 9.0),
        ("three quarters of a yard", 27.0),
        ("an eighth yard", 4.5),
        ("a yard", 36.0),
        ("half a yard 4 in", 22.0),
        ("half inch", 0.5),
        ("2.54 cm", 1.0),
        ("2,54cm", 1.0),
        ("25.4 mm", 1.0),
        ("0.9144 m", 36.0),
    ],
)
def test_every_common_way_to_write_a_length_is_read(text: str, inches: float) -> None:
    """One inch is 25.4 mm, one yard 36 in: international yard and pound agreement, 1959."""
    assert parse_length(text) == inches


@pytest.mark.parametrize(
    "text",
    ["", "  ", "-3", "−3", "0", "0 in", "abc", "3 5/2", "1/0", "3 3", "4 in 2 yd", "1e9",
     "3 furlongs", "3 1/2 x", "nan", "inf", "1//2", "200000", "half", "half a", "a", "half 3"],
)  # fmt: skip
def test_a_wrong_length_names_the_field_the_text_and_a_right_example(text: str) -> None:
    with pytest.raises(LengthError) as caught:
        parse_length(text, field="finished side")
    message = str(caught.value)
    assert message.startswith("finished side: ")
    assert repr(text) in message
    assert "3 1/2" in message


@given(st.text(max_size=12))
def test_any_text_gives_a_length_or_a_length_error(text: str) -> None:
    try:
        inches = parse_length(text)
    except ScrapstoreError:
        return
    assert 0 < inches <= 100_000


@given(SIXTEENTHS)
def test_what_is_printed_in_inches_reads_back_the_same(sixteenths: int) -> None:
    inches = sixteenths / 16
    printed = format_length(inches)
    assert not printed.startswith("~")
    assert parse_length(printed) == inches


@given(st.integers(min_value=1, max_value=30_000))
def test_what_is_printed_in_centimetres_reads_back_to_the_same_millimetre(mm: int) -> None:
    assert math.isclose(parse_length(format_length(mm / 25.4, "cm")) * 25.4, mm, rel_tol=1e-12)


@given(SIXTEENTHS, st.sampled_from(["yd", "ft", "cm", "mm", "m"]))
def test_a_unit_scales_exactly(sixteenths: int, unit: str) -> None:
    """Scale factors from the 1959 agreement as exact fractions, not through the module's table."""
    scale = {"yd": Fraction(36), "ft": Fraction(12), "cm": Fraction(100, 254),
             "mm": Fraction(10, 254), "m": Fraction(10000, 254)}[unit]  # fmt: skip
    whole, part = divmod(sixteenths, 16)
    text = f"{whole} {part}/16 {unit}" if part else f"{whole} {unit}"
    if sixteenths * scale / 16 <= 100_000:
        assert parse_length(text) == float(Fraction(sixteenths, 16) * scale)


@given(st.floats(min_value=0.01, max_value=500), st.sampled_from([1 / 4, 1 / 8, 1 / 16]))
def test_rounding_up_never_cuts_short_and_never_adds_a_whole_step(
    inches: float, step: float
) -> None:
    marked = round_up_to_mark(inches, step)
    assert inches - step * 1e-5 <= marked < inches + step
    assert (marked / step).is_integer()
    assert abs(round_to_mark(inches, step) - inches) <= step / 2 + 1e-9


@pytest.mark.parametrize(
    ("inches", "units", "shown"),
    [
        (3.5, "in", "3 1/2 in"),
        (0.875, "in", "7/8 in"),
        (4.0, "in", "4 in"),
        (0.8536, "in", "~7/8 in"),
        (2.54, "cm", "~6.5 cm"),
        (10 / 2.54, "cm", "10.0 cm"),
    ],
)
def test_a_length_off_the_ruler_mark_says_so(inches: float, units: str, shown: str) -> None:
    assert format_length(inches, units) == shown  # type: ignore[arg-type]


def test_an_unknown_unit_is_refused_by_name() -> None:
    with pytest.raises(LengthError, match="furlong"):
        format_length(1.0, "furlong")  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("inches", "yards"),
    [(4.5, "1/8 yd"), (9, "1/4 yd"), (9.1, "3/8 yd"), (36, "1 yd"), (40, "1 1/8 yd")],
)
def test_fabric_is_bought_in_eighths_of_a_yard_rounded_up(inches: float, yards: str) -> None:
    assert format_yards(inches) == yards


@pytest.mark.parametrize(
    ("text", "size"),
    [
        ("4 1/2 x 9", (4.5, 9.0)),
        ('18×22"', (18.0, 22.0)),
        ("10 by 25.4 cm", (10 / 2.54, 10.0)),
        ("1/4 yd x 40 in", (9.0, 40.0)),
        ("2 1/2 x 2 yd", (2.5, 72.0)),
        ("2 1/2 x 2 ft", (2.5, 24.0)),
        ("2 1/2 x 2'", (2.5, 24.0)),
        ("6 x 1 m", (6.0, 100 / 2.54)),
        ("9 x 1 yd 4 in", (9.0, 40.0)),
        ('10 x 4"', (10.0, 4.0)),
    ],
)
def test_two_lengths_are_read_as_a_size(text: str, size: tuple[float, float]) -> None:
    assert parse_size(text) == pytest.approx(size, abs=1e-12)


@pytest.mark.parametrize("text", ["4", "4 x", "x 4", "4 x 5 x 6", ""])
def test_a_size_that_is_not_two_lengths_is_refused(text: str) -> None:
    with pytest.raises(LengthError, match="size"):
        parse_size(text)


def test_areas_are_shown_without_needless_digits() -> None:
    assert format_area(3.25) == "3.2 sq in"
    assert format_area(143.6) == "144 sq in"
    assert format_area(1.0, "cm") == "6 cm²"


@pytest.mark.parametrize("units", ["in", "cm"])
@given(eighths=st.integers(min_value=1, max_value=400), more=st.floats(0, 0.124))
def test_a_cut_size_is_never_shown_too_small(units: str, eighths: int, more: float) -> None:
    inches = eighths / 8 + more
    shown = parse_length(format_cut(inches, units).removeprefix("~"))  # type: ignore[arg-type]
    assert inches - 1e-5 <= shown <= inches + (1 / 8 if units == "in" else 0.1 / 2.54) + 1e-9


def test_half_a_millimetre_goes_up() -> None:
    """2.5 in is 6.35 cm."""
    assert format_length(2.5, "cm") == "~6.4 cm"


def test_inches_written_with_a_mark_hold_for_both_where_centimetres_are_shown() -> None:
    assert parse_size('4 x 9"', default_unit="cm") == (4.0, 9.0)
    assert parse_size("4 x 2 m", default_unit="cm") == pytest.approx((4 / 2.54, 200 / 2.54))


@pytest.mark.parametrize(
    ("inches", "step", "shown"),
    [(0.33, 0.1, "2/5 in"), (2.33, 1 / 12, "2 1/3 in"), (0.1, 1 / 25.4, "0.118 in")],
)
def test_a_cut_size_is_a_mark_of_every_ruler(inches: float, step: float, shown: str) -> None:
    """Tenths and twelfths of an inch as well; millimetres are told as a decimal."""
    assert format_cut(inches, "in", step) == shown


@pytest.mark.parametrize(
    ("text", "inches"),
    [("-3 1/2", -3.5), ("- 2", -2.0), ("0", 0.0), ("-0", 0.0), ("-2.54 cm", -1.0), ("3", 3.0)],
)
def test_a_coordinate_may_be_nothing_or_below_it(text: str, inches: float) -> None:
    read = parse_length(text, signed=True)
    assert (read, math.copysign(1, read)) == (inches, math.copysign(1, inches))
    if inches <= 0:
        with pytest.raises(LengthError, match="size: "):
            parse_length(text, field="size")


@pytest.mark.parametrize("text", ["--3", "-", "3-", "- -3"])
def test_a_coordinate_has_one_sign(text: str) -> None:
    with pytest.raises(LengthError, match="cannot read"):
        parse_length(text, signed=True)


@pytest.mark.parametrize(
    ("text", "says"), [("3", False), ("1/4", False), ("3 in", True), ("9 cm", True), ("0", True)]
)
def test_a_length_says_its_unit_or_leaves_it_open(text: str, says: bool) -> None:
    assert says_unit(text) is says


class Cut(BaseModel):
    side: Annotated[float, LengthField()]
    edge: Annotated[float, LengthField(zero=True)] = 0.0


def test_a_field_of_a_schema_reads_text_and_numbers_in_the_unit_of_its_file() -> None:
    assert Cut.model_validate({"side": "3 1/2", "edge": 0}) == Cut(side=3.5, edge=0.0)
    in_cm = Cut.model_validate({"side": 2.54, "edge": "1/4 in"}, context={"unit": "cm"})
    assert (in_cm.side, in_cm.edge) == (1.0, 0.25)


@pytest.mark.parametrize("side", ["three", "", True, None, [3], 0, "-1"])
def test_a_field_that_is_no_length_gives_the_reason_as_an_error_of_its_own_type(
    side: object,
) -> None:
    with pytest.raises(ValidationError) as refused:
        Cut.model_validate({"side": side})
    (error,) = refused.value.errors()
    assert error["type"] == "length"
    assert "write for example" in error["msg"]
