"""What a cloth reads as from across the room."""

from itertools import combinations

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


@pytest.mark.parametrize(
    ("yarn", "word"), [(RED, "red"), (GREEN, "green"), (NAVY, "blue"), (BLACK, "black")]
)
@pytest.mark.parametrize("part", [0.4, 0.5, 0.6])
def test_a_gingham_reads_as_its_yarn(yarn: tuple[int, int, int], word: str, part: float) -> None:
    """Woven of that yarn and white: half of it is the blend, a pink or a pale grey to the eye."""
    blend = _crossing(yarn, WHITE)
    woven = [
        swatch(yarn, part**2), swatch(WHITE, (1 - part) ** 2), swatch(blend, 2 * part * (1 - part))
    ]  # fmt: skip
    reading = reads_as(woven)
    # Of a black and white check the white leads when there is more of it.
    assert reading.family == word or (word == "black" and reading.family == "white")
    assert set(reading.accents) <= {word, "white"}
    # A print of the same colours in other shares is what it looks like.
    printed = reads_as([swatch(yarn, 0.02), swatch(WHITE, 0.03), swatch(blend, 0.95)])
    assert printed.family == reads_as([swatch(blend)]).family


def test_a_plaid_of_three_yarns_keeps_all_its_shares() -> None:
    """What is given to the yarns is what the blends had; the sum stays one."""
    yarns = [NAVY, WHITE, RED]
    woven = [swatch(yarn, 1 / 9) for yarn in yarns]
    woven += [swatch(_crossing(a, b), 2 / 9) for a, b in combinations(yarns, 2)]
    reading = reads_as(woven)
    assert sum(share for _, share in reading.shares) == pytest.approx(1)
    assert dict(reading.shares).keys() == {"blue", "white", "red"}


def _crossing(one: tuple[int, int, int], other: tuple[int, int, int]) -> tuple[int, int, int]:
    """Return the sRGB colour of half the light of each, by the standard's curve (IEC 61966-2-1)."""
    blend = []
    for a, b in zip(one, other, strict=True):
        light = sum(
            c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in (a / 255, b / 255)
        )
        half = light / 2
        blend.append(
            round(255 * (1.055 * half ** (1 / 2.4) - 0.055 if half > 0.0031308 else 12.92 * half))
        )
    return blend[0], blend[1], blend[2]


def test_a_few_red_dots_leave_white_white() -> None:
    reading = reads_as([swatch(WHITE, 0.9), swatch(RED, 0.1)])
    assert (reading.family, reading.accents) == ("white", ("red",))


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
