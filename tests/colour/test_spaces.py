"""sRGB and CIELAB against another implementation, and there and back again."""

import colour
import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scrapstore.colour import lab_to_srgb, srgb_to_lab
from scrapstore.colour.spaces import chroma_hue, linear_to_srgb, srgb_to_linear


@pytest.fixture(scope="module")
def rgb() -> npt.NDArray[np.int64]:
    """Every corner and edge of the sRGB cube and 20,000 colours within it."""
    steps = np.array([0, 1, 9, 10, 11, 127, 254, 255])  # 10 and 11 lie about the knee of the curve
    grid = np.stack(np.meshgrid(steps, steps, steps), axis=-1).reshape(-1, 3)
    return np.concatenate([grid, np.random.default_rng(3).integers(0, 256, (20_000, 3))])


def test_srgb_to_lab_agrees_with_colour_science(rgb: npt.NDArray[np.int64]) -> None:
    theirs = colour.XYZ_to_Lab(colour.sRGB_to_XYZ(rgb / 255))
    np.testing.assert_allclose(srgb_to_lab(rgb), theirs, atol=1e-6)


def test_lab_to_srgb_agrees_with_colour_science(rgb: npt.NDArray[np.int64]) -> None:
    lab = colour.XYZ_to_Lab(colour.sRGB_to_XYZ(rgb / 255))
    theirs = colour.XYZ_to_sRGB(colour.Lab_to_XYZ(lab)) * 255
    np.testing.assert_allclose(lab_to_srgb(lab), theirs, atol=1e-6)


@given(st.tuples(*[st.integers(0, 255)] * 3))
def test_there_and_back_is_the_same_colour(rgb: tuple[int, int, int]) -> None:
    assert tuple(np.rint(lab_to_srgb(srgb_to_lab(rgb))).astype(int)) == rgb


@given(st.tuples(*[st.floats(-1, 2)] * 3))
def test_light_there_and_back(light: tuple[float, float, float]) -> None:
    np.testing.assert_allclose(srgb_to_linear(linear_to_srgb(light)), light, atol=1e-9)


def test_the_shape_is_kept() -> None:
    assert srgb_to_lab(np.zeros((4, 5, 3), dtype=np.uint8)).shape == (4, 5, 3)
    assert lab_to_srgb(np.zeros((0, 3))).shape == (0, 3)


@pytest.mark.parametrize(
    ("lab", "hue"), [((50, 9, 0), 0), ((50, 0, 9), 90), ((50, -9, 0), 180), ((50, 0, -9), 270)]
)
def test_the_hue_circle_turns_from_red_by_yellow_green_and_blue(
    lab: tuple[int, int, int], hue: int
) -> None:
    chroma, turned = chroma_hue(lab)
    assert (float(chroma), float(turned)) == (9, hue)
