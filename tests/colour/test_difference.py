"""CIEDE2000 against its authors' table, another implementation, and its own laws."""

import colour
import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scrapstore.colour import delta_e

# Sharma, Wu and Dalal, "The CIEDE2000 color-difference formula: implementation notes, supplementary
# test data, and mathematical observations", Color Research & Application 30 (2005), table 1:
# L1 a1 b1  L2 a2 b2  CIEDE2000
PUBLISHED = np.array(
    [
        [50.0000, 2.6772, -79.7751, 50.0000, 0.0000, -82.7485, 2.0425],
        [50.0000, 3.1571, -77.2803, 50.0000, 0.0000, -82.7485, 2.8615],
        [50.0000, 2.8361, -74.0200, 50.0000, 0.0000, -82.7485, 3.4412],
        [50.0000, -1.3802, -84.2814, 50.0000, 0.0000, -82.7485, 1.0000],
        [50.0000, -1.1848, -84.8006, 50.0000, 0.0000, -82.7485, 1.0000],
        [50.0000, -0.9009, -85.5211, 50.0000, 0.0000, -82.7485, 1.0000],
        [50.0000, 0.0000, 0.0000, 50.0000, -1.0000, 2.0000, 2.3669],
        [50.0000, -1.0000, 2.0000, 50.0000, 0.0000, 0.0000, 2.3669],
        [50.0000, 2.4900, -0.0010, 50.0000, -2.4900, 0.0009, 7.1792],
        [50.0000, 2.4900, -0.0010, 50.0000, -2.4900, 0.0010, 7.1792],
        [50.0000, 2.4900, -0.0010, 50.0000, -2.4900, 0.0011, 7.2195],
        [50.0000, 2.4900, -0.0010, 50.0000, -2.4900, 0.0012, 7.2195],
        [50.0000, -0.0010, 2.4900, 50.0000, 0.0009, -2.4900, 4.8045],
        [50.0000, -0.0010, 2.4900, 50.0000, 0.0010, -2.4900, 4.8045],
        [50.0000, -0.0010, 2.4900, 50.0000, 0.0011, -2.4900, 4.7461],
        [50.0000, 2.5000, 0.0000, 50.0000, 0.0000, -2.5000, 4.3065],
        [50.0000, 2.5000, 0.0000, 73.0000, 25.0000, -18.0000, 27.1492],
        [50.0000, 2.5000, 0.0000, 61.0000, -5.0000, 29.0000, 22.8977],
        [50.0000, 2.5000, 0.0000, 56.0000, -27.0000, -3.0000, 31.9030],
        [50.0000, 2.5000, 0.0000, 58.0000, 24.0000, 15.0000, 19.4535],
        [50.0000, 2.5000, 0.0000, 50.0000, 3.1736, 0.5854, 1.0000],
        [50.0000, 2.5000, 0.0000, 50.0000, 3.2972, 0.0000, 1.0000],
        [50.0000, 2.5000, 0.0000, 50.0000, 1.8634, 0.5757, 1.0000],
        [50.0000, 2.5000, 0.0000, 50.0000, 3.2592, 0.3350, 1.0000],
        [60.2574, -34.0099, 36.2677, 60.4626, -34.1751, 39.4387, 1.2644],
        [63.0109, -31.0961, -5.8663, 62.8187, -29.7946, -4.0864, 1.2630],
        [61.2901, 3.7196, -5.3901, 61.4292, 2.2480, -4.9620, 1.8731],
        [35.0831, -44.1164, 3.7933, 35.0232, -40.0716, 1.5901, 1.8645],
        [22.7233, 20.0904, -46.6940, 23.0331, 14.9730, -42.5619, 2.0373],
        [36.4612, 47.8580, 18.3852, 36.2715, 50.5065, 21.2231, 1.4146],
        [90.8027, -2.0831, 1.4410, 91.1528, -1.6435, 0.0447, 1.4441],
        [90.9257, -0.5406, -0.9208, 88.6381, -0.8985, -0.7239, 1.5381],
        [6.7747, -0.2908, -2.4247, 5.8714, -0.0985, -2.2286, 0.6377],
        [2.0776, 0.0795, -1.1350, 0.9033, -0.0636, -0.5514, 0.9082],
    ]
)  # fmt: skip

Lab = tuple[float, float, float]
labs = st.tuples(st.floats(0, 100), st.floats(-100, 100), st.floats(-100, 100))


def test_the_table_holds_all_34_pairs() -> None:
    assert PUBLISHED.shape == (34, 7)


@pytest.mark.parametrize("row", PUBLISHED, ids=[str(n) for n in range(1, 35)])
def test_published_pair(row: npt.NDArray[np.float64]) -> None:
    assert delta_e(row[:3], row[3:6]) == pytest.approx(row[6], abs=1e-4)


def test_agrees_with_colour_science_on_20_000_pairs() -> None:
    rng = np.random.default_rng(1)
    first, second = rng.uniform((0, -100, -100), (100, 100, 100), (2, 20_000, 3))
    theirs = colour.delta_E(first, second, method="CIE 2000")
    np.testing.assert_allclose(delta_e(first, second), theirs, atol=1e-9)


@given(labs, labs)
def test_it_does_not_matter_which_comes_first(first: Lab, second: Lab) -> None:
    assert delta_e(first, second) == pytest.approx(delta_e(second, first), abs=1e-9)


@given(labs)
def test_nothing_differs_from_itself(lab: Lab) -> None:
    assert delta_e(lab, lab) == 0


@given(labs, labs)
def test_a_difference_is_a_number_and_not_negative(first: Lab, second: Lab) -> None:
    assert np.isfinite(delta_e(first, second))
    assert delta_e(first, second) >= 0


def test_a_table_of_differences_by_broadcasting() -> None:
    rng = np.random.default_rng(2)
    many, few = rng.uniform(0, 100, (7, 3)), rng.uniform(0, 100, (4, 3))
    table = delta_e(many[:, None, :], few[None, :, :])
    assert table.shape == (7, 4)
    assert table[5, 2] == delta_e(many[5], few[2])
