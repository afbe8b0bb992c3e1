"""What a cloth reads as from across the room."""

import pytest

from scrapstore.colour import MULTICOLOUR, reads_as, swatch
from scrapstore.errors import ScrapstoreError

NAVY, ROSE, WHITE, RED, BLACK = (
    (20, 30, 90),
    (235, 150, 170),
    (245, 245, 242),
    (195, 25, 40),
    (20, 20, 22),
)
YELLOW, GREEN, GREY, CREAM = (240, 200, 40), (40, 130, 60), (128, 128, 128), (245, 235, 210)


def test_navy_with_small_roses_reads_as_blue_and_is_found_under_pink() -> None:
    reading = reads_as([swatch(NAVY, 0.94), swatch(ROSE, 0.06)])
    assert reading.family == "blue"
    assert reading.accents == ("pink",)
    assert reading.value == "dark"
    assert reading.warmth == "cool"


def test_a_solid_has_no_accents() -> None:
    reading = reads_as([swatch(RED)])
    assert (reading.family, reading.accents) == ("red", ())
    assert reading.confidence > 0.8
    assert reading.shares == (("red", 1.0),)


def test_a_red_and_white_check_reads_as_red() -> None:
    assert reads_as([swatch(RED, 0.5), swatch(WHITE, 0.5)]).family == "red"


def test_a_few_red_dots_leave_white_white() -> None:
    reading = reads_as([swatch(WHITE, 0.9), swatch(RED, 0.1)])
    assert (reading.family, reading.accents) == ("white", ("red",))


@pytest.mark.parametrize("part", [0.5, 0.55, 0.6])
@pytest.mark.parametrize("light", [WHITE, CREAM])
def test_a_black_and_white_stripe_is_not_multicoloured(
    part: float, light: tuple[int, int, int]
) -> None:
    """From afar it is grey, but nowhere on it."""
    reading = reads_as([swatch(BLACK, part), swatch(light, 1 - part)])
    assert reading.family in ("black", "white")
    assert {reading.family, *reading.accents} == {"black", "white"}
    assert reading.confidence < 0.65


def test_sure_is_what_leaves_the_next_behind() -> None:
    """White with red dots is white, though a fifth of it is not; half and half is in doubt."""
    dots = reads_as([swatch(WHITE, 0.8), swatch(RED, 0.2)])
    half = reads_as([swatch(WHITE, 0.7), swatch(RED, 0.3)])
    assert dots.family == "white"
    assert dots.confidence > half.confidence
    assert dots.confidence > 0.6


def test_where_no_family_leads_it_is_multicoloured() -> None:
    reading = reads_as([swatch(rgb, 0.25) for rgb in (RED, YELLOW, GREEN, NAVY)])
    assert reading.family == MULTICOLOUR
    assert set(reading.accents) == {"red", "yellow", "green", "blue"}


def test_less_than_three_in_a_hundred_is_no_accent() -> None:
    assert reads_as([swatch(NAVY, 0.98), swatch(ROSE, 0.02)]).accents == ()


@pytest.mark.parametrize(
    ("rgb", "value"),
    [(WHITE, "light"), (CREAM, "light"), (GREY, "medium"), (NAVY, "dark"), (BLACK, "dark")],
)
def test_value(rgb: tuple[int, int, int], value: str) -> None:
    reading = reads_as([swatch(rgb)])
    assert reading.value == value
    assert 0.5 < reading.value_confidence <= 1


@pytest.mark.parametrize(
    ("rgb", "warmth"),
    [(RED, "warm"), (YELLOW, "warm"), (NAVY, "cool"), (GREEN, "cool"), (GREY, "neutral")],
)
def test_warm_or_cool(rgb: tuple[int, int, int], warmth: str) -> None:
    reading = reads_as([swatch(rgb)])
    assert reading.warmth == warmth
    assert 0.5 <= reading.warmth_confidence <= 1


def test_shares_need_not_sum_to_one() -> None:
    whole = reads_as([swatch(NAVY, 94), swatch(ROSE, 6)])
    assert whole.family == "blue"
    assert whole.shares[0][1] == pytest.approx(0.94)


def test_no_swatches_read_as_nothing() -> None:
    with pytest.raises(ScrapstoreError, match="has no swatch"):
        reads_as([])
