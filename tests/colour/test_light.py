"""Coloured light taken out by grey patches: cloths under lamps from 2700 to 6500 K."""

import numpy as np
import pytest

from scrapstore.colour import balance_from_greys, balance_from_paper, delta_e, families, srgb_to_lab
from scrapstore.colour.spaces import linear_to_srgb, srgb_to_linear
from scrapstore.errors import PhotoError
from tests.benchmarks.colour_light import PATCHES, light_for, measure
from tests.support.cloth_colours import lamp, printed_greys


@pytest.mark.parametrize("camera", ["cast left in", "lamp as plain gains"])
def test_500_colours_under_coloured_light(camera: str) -> None:
    """Median CIEDE2000 at most 2.5 and the family right in 95 of 100, where the lamp's cast is in
    the picture; the benchmark has the cameras that balance by themselves, and whole cloths."""
    rng = np.random.default_rng(17)
    rgb = rng.integers(15, 240, (500, 3))
    shown = np.empty((500, 3))
    for at, kelvin in enumerate(rng.uniform(2700, 6500, 500)):
        light = light_for(float(kelvin), camera)
        seen = np.rint(linear_to_srgb((srgb_to_linear(rgb[at]) @ light.T).clip(0, 1)))
        balance = balance_from_greys(printed_greys(light, PATCHES), PATCHES)
        shown[at] = balance.correct(seen)
    true, found = srgb_to_lab(rgb), srgb_to_lab(shown)
    assert np.median(delta_e(true, found)) <= 2.5
    assert np.mean(families(true) == families(found)) >= 0.95


@pytest.mark.parametrize("camera", ["cast left in", "four fifths", "lamp as plain gains"])
def test_swatches_of_cloths_under_coloured_light(camera: str) -> None:
    """30 of the 500 cloths a camera that the benchmark measures."""
    assert measure(30, camera).median <= 2.5


def test_in_daylight_nothing_changes() -> None:
    greys = printed_greys(np.eye(3), PATCHES)
    rgb = np.random.default_rng(18).integers(0, 256, (100, 3))
    balance = balance_from_greys(greys, PATCHES)
    assert delta_e(srgb_to_lab(balance.correct(rgb)), srgb_to_lab(rgb)).max() < 0.5


def test_a_grey_comes_out_grey_whatever_the_lamp() -> None:
    light = lamp(2700, 0.3)
    balance = balance_from_greys(printed_greys(light, PATCHES), PATCHES)
    shown = srgb_to_lab(balance.correct(printed_greys(light, np.array([57.0]))))
    assert delta_e(shown, (57, 0, 0)) < 1


def test_burnt_out_patches_are_left_aside() -> None:
    greys = printed_greys(np.eye(3), PATCHES)
    greys[-1] = (255, 255, 255)
    without = balance_from_greys(greys[:-1], PATCHES[:-1])
    np.testing.assert_array_equal(balance_from_greys(greys, PATCHES).matrix, without.matrix)


def test_without_one_usable_patch_the_photo_is_refused() -> None:
    with pytest.raises(PhotoError, match="none of the 2 grey patches"):
        balance_from_greys([(255, 255, 255), (2, 1, 0)], [96, 10])


@pytest.mark.parametrize("paper", [(240, 240, 238), (222, 222, 222), (228, 233, 246)])
def test_paper_of_a_usual_shade_changes_nothing(paper: tuple[int, int, int]) -> None:
    """Bright copy paper, a greyer one, one with blue brightener: each may look just so."""
    rgb = np.random.default_rng(19).integers(0, 256, (100, 3))
    assert balance_from_paper(paper).correct(rgb) == pytest.approx(rgb, abs=0.3)


@pytest.mark.parametrize("kelvin", [2700.0, 4000.0, 6500.0])
def test_paper_too_dark_or_too_dyed_is_taken_to_the_nearest_that_there_is(kelvin: float) -> None:
    """Of half the light, and of the lamp's colour, so much goes as no paper has: never too far."""
    light = lamp(kelvin, 0.3) * 0.5
    seen = np.rint(linear_to_srgb((srgb_to_linear((238, 238, 238)) @ light.T).clip(0, 1)))
    shown = srgb_to_lab(balance_from_paper(seen).correct(seen))
    assert shown[0] == pytest.approx(87, abs=0.2), "the darkest paper of ISO 12647-2"
    before, true = srgb_to_lab(seen), srgb_to_lab((238, 238, 238))
    assert np.all(np.abs(shown - true) <= np.abs(before - true) + 0.2)
    assert delta_e(shown, true) < 0.6 * delta_e(before, true)


def test_paper_that_is_burnt_out_says_nothing() -> None:
    with pytest.raises(PhotoError, match="burnt out or nearly black"):
        balance_from_paper((255, 250, 240))
