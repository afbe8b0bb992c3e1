"""Dominant colours of drawn cloths whose dyes are known, photographed with all that disturbs."""

import numpy as np
import pytest

from scrapstore.colour import delta_e, dominant_colours, srgb_to_lab
from scrapstore.colour.spaces import linear_to_srgb, srgb_to_linear
from tests.support.cloth_colours import (
    Cloth,
    Dye,
    check,
    dotted,
    photograph,
    random_cloth,
    solid,
    stripe,
)

NAVY, ROSE, LEAF, CREAM, RED = (
    (20, 30, 90),
    (235, 150, 170),
    (90, 140, 80),
    (250, 240, 205),
    (200, 35, 45),
)


def found_and_true(cloth: Cloth, **light: float) -> tuple[int, float, float]:
    """How many swatches, and the worst difference and share error of a dye's own swatch."""
    swatches = dominant_colours(photograph(cloth, 1, **light))  # type: ignore[arg-type]
    apart = delta_e(cloth.labs[:, None], np.array([one.lab for one in swatches])[None])
    shares = np.array([one.share for one in swatches])[apart.argmin(axis=1)]
    return len(swatches), float(apart.min(axis=1).max()), float(abs(shares - cloth.shares).max())


@pytest.mark.parametrize("dye", [NAVY, ROSE, CREAM, RED, (128, 128, 128), (26, 26, 28)])
def test_a_solid_has_one_swatch_in_soft_light(dye: tuple[int, int, int]) -> None:
    count, apart, _ = found_and_true(solid(dye))
    assert count == 1
    assert apart < 5  # the picture itself is darker by its shadow


@pytest.mark.parametrize("dye", [NAVY, ROSE, CREAM, RED, (128, 128, 128), (26, 26, 28)])
def test_a_solid_has_one_swatch_in_hard_light_coarse_weave_and_a_poor_jpeg(
    dye: tuple[int, int, int],
) -> None:
    count, _, _ = found_and_true(solid(dye), shadow=0.5, weave=0.2, noise=0.02, quality=60)
    assert count == 1


@pytest.mark.parametrize("dye", [NAVY, ROSE, CREAM, RED, (128, 128, 128), LEAF])
def test_a_soft_shadow_across_a_solid_is_no_second_dye(dye: tuple[int, int, int]) -> None:
    """As of a hand: three tenths of the light are gone on one side, and less in between."""
    light = np.interp(np.arange(160), (40, 120), (0.7, 1.0))[:, None]
    seen = linear_to_srgb(srgb_to_linear(photograph(solid(dye), 1, shadow=0)) * light)
    assert len(dominant_colours(seen)) == 1


@pytest.mark.parametrize(
    "cloth",
    [
        stripe([NAVY, CREAM]),
        stripe([NAVY, CREAM, RED]),
        stripe([CREAM, RED], [24, 6]),
        stripe([(60, 90, 160), (120, 150, 205)], [12, 12]),
        check([RED, CREAM]),
        dotted(NAVY, [ROSE], radius=4),
        dotted(NAVY, [ROSE, LEAF, CREAM], spacing=26, radius=8),
    ],
    ids=["two", "three", "thin", "two blues", "check", "small roses", "four"],
)
def test_a_print_has_a_swatch_for_each_dye(cloth: Cloth) -> None:
    count, apart, share = found_and_true(cloth)
    assert count == len(cloth.dyes)
    assert apart < 13  # a thin line is blurred into its ground
    assert share < 0.05


def test_95_of_100_random_cloths_get_the_right_number_of_swatches() -> None:
    cloths = [random_cloth(seed) for seed in range(1000, 1100)]
    counts = [len(dominant_colours(photograph(one, 2))) for one in cloths]
    assert np.mean(np.array(counts) == [len(one.dyes) for one in cloths]) >= 0.95


def test_shares_sum_to_one_and_the_largest_comes_first() -> None:
    shares = [one.share for one in dominant_colours(photograph(dotted(NAVY, [ROSE, LEAF])))]
    assert sum(shares) == pytest.approx(1)
    assert shares == sorted(shares, reverse=True)


def test_never_more_than_asked_for_and_never_more_than_eight() -> None:
    noise = np.random.default_rng(6).integers(0, 256, (20_000, 3))
    assert len(dominant_colours(noise)) <= 8
    assert len(dominant_colours(noise, most=3)) == 3


def test_the_same_pixels_and_seed_give_the_same_swatches() -> None:
    picture = photograph(dotted(NAVY, [ROSE, LEAF, CREAM]))
    assert dominant_colours(picture, seed=7) == dominant_colours(picture, seed=7)


def test_a_swatch_holds_one_colour_in_both_spaces() -> None:
    (only,) = dominant_colours(np.full((50, 3), (12, 200, 99), dtype=np.uint8))
    assert only.rgb == (12, 200, 99)
    assert only.share == 1


@pytest.mark.parametrize("count", [1, 2, 3])
def test_a_handful_of_pixels_will_do(count: int) -> None:
    assert 1 <= len(dominant_colours(np.eye(3)[:count] * 255)) <= count


def test_no_pixels_have_no_colours() -> None:
    assert dominant_colours(np.zeros((0, 3), dtype=np.uint8)) == ()


@pytest.mark.parametrize("ends", [
    (NAVY, CREAM), ((150, 172, 120), (60, 62, 66)), (ROSE, NAVY),
    ((90, 90, 92), (200, 200, 198)),  # one dye, deep to pale: no shadow is so deep
])  # fmt: skip
def test_a_dye_that_runs_into_another_is_told_in_steps(ends: tuple[Dye, Dye]) -> None:
    """No place is far from a swatch; the two ends alone would leave the middle untold."""
    rng = np.random.default_rng(0)
    part = rng.beta(1.2, 1.2, 6000)[:, None]
    seen = np.clip((1 - part) * ends[0] + part * ends[1] + rng.normal(0, 3, (6000, 3)), 0, 255)
    found = dominant_colours(seen)
    way = np.linspace(0.15, 0.85, 15)[:, None]
    steps = srgb_to_lab((1 - way) * ends[0] + way * ends[1])
    apart = [min(float(delta_e(step, one.lab)) for one in found) for step in steps]
    assert len(found) >= 3
    assert max(apart) < 9
