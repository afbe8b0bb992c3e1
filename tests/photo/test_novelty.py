"""What is known of the table, its light and its print, and what differs from all of it."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scrapstore.photo.scale.rectify import RectifiedImage
from scrapstore.photo.segmentation.background_model import fit_background, foreground_labels
from scrapstore.photo.segmentation.candidates import Candidate, find_candidates
from scrapstore.photo.segmentation.even_light import in_even_light, in_local_light
from scrapstore.photo.segmentation.known_table import know_table, likely_table
from scrapstore.photo.segmentation.novelty import novelty_of
from scrapstore.photo.segmentation.patches import patches_of

ROWS, COLUMNS, SCALE = 480, 720, 30.0
PLACES = ((70, 80), (70, 640), (410, 90), (410, 630))
RED, ROSE, WHITE, NAVY = (170, 40, 44), (204, 140, 140), (232, 230, 224), (30, 44, 96)


def checks(pitch: int, seed: int = 0) -> np.ndarray:
    """A gingham of checks `pitch` pixels wide, with a little noise."""
    down, right = np.indices((ROWS, COLUMNS)) // pitch % 2
    image = np.array([WHITE, ROSE, RED], float)[down + right]
    image += np.random.default_rng(seed).normal(0, 3, image.shape)
    return np.asarray(np.clip(image, 0, 255), np.uint8)


def paper() -> np.ndarray:
    mask = np.zeros((ROWS, COLUMNS), bool)
    for row, column in PLACES:
        mask[row - 30 : row + 30, column - 30 : column + 30] = True
    return mask


def things(image: np.ndarray) -> list[Candidate]:
    whole = np.ones((ROWS, COLUMNS), bool)
    flat = RectifiedImage(image, whole, SCALE, 0.0, ROWS / SCALE)
    return find_candidates(foreground_labels(flat, fit_background(flat, paper()), paper()), flat)


@pytest.mark.parametrize("pitch", [6, 12, 24])
@pytest.mark.parametrize("cloth", [NAVY, WHITE, (150, 160, 90)])
def test_cloth_on_gingham_is_found(pitch: int, cloth: tuple[int, int, int]) -> None:
    """White cloth has the gingham's own white; what it lacks are the checks."""
    image = checks(pitch)
    image[180:330, 280:450] = cloth
    (found,) = things(image)
    true = np.zeros((ROWS, COLUMNS), bool)
    true[180:330, 280:450] = True
    seen = np.zeros_like(true)
    seen[found.window] = found.mask
    # Along the edge a white check of the table may come with it.
    assert np.count_nonzero(seen & true) > 0.8 * np.count_nonzero(seen | true)


@pytest.mark.parametrize("pitch", [6, 12, 24])
def test_on_bare_gingham_nothing_lies(pitch: int) -> None:
    assert things(checks(pitch)) == []


def test_gingham_of_another_size_is_cloth() -> None:
    image = checks(20)
    image[160:340, 270:460] = checks(5)[160:340, 270:460]
    (found,) = things(image)
    assert np.count_nonzero(found.mask) == pytest.approx(180 * 190, rel=0.15)


def test_a_scrap_that_the_picture_cuts_off_is_not_known_as_table() -> None:
    """Nothing elsewhere on the rim looks like it; the rest of the rim vouches for itself."""
    image = np.full((ROWS, COLUMNS, 3), WHITE, np.uint8)
    image[150:300, :120] = NAVY
    places = likely_table(np.ones((ROWS, COLUMNS), bool), paper(), SCALE)
    patches = patches_of(np.log(image.astype(np.float32) / 255 + 0.01), SCALE)
    known = know_table(patches, places).table
    cloth = patches.at(np.all(image == NAVY, axis=2))
    assert not (known & cloth).any()
    assert np.count_nonzero(known) > 0.8 * np.count_nonzero(patches.at(places.beside | places.rim))


def test_a_scrap_close_to_a_square_is_not_known_as_table_and_a_sheet_under_it_is() -> None:
    image = np.full((ROWS, COLUMNS, 3), WHITE, np.uint8)
    image[20:200, 115:300] = NAVY  # beside the first square
    image[330:480, 540:720] = RED  # all round the last
    places = likely_table(np.ones((ROWS, COLUMNS), bool), paper(), SCALE)
    patches = patches_of(np.log(image.astype(np.float32) / 255 + 0.01), SCALE)
    known = know_table(patches, places).table
    assert not (known & patches.at(np.all(image == NAVY, axis=2))).any()
    sheet = patches.at(np.all(image == RED, axis=2) & places.beside)
    assert np.count_nonzero(known & sheet) > 0.7 * np.count_nonzero(sheet)


def test_novelty_is_a_distance_in_what_the_table_itself_differs_by() -> None:
    """Against every patch of the table measured one by one (Euclid)."""
    image = np.log(checks(12).astype(np.float32) / 255 + 0.01)
    places = likely_table(np.ones((ROWS, COLUMNS), bool), paper(), SCALE)
    patches = patches_of(image, SCALE)
    known = know_table(patches, places)
    novelty = novelty_of(patches, known)
    row, column = 60, 100
    bank = patches.values[known.table]
    nearest = np.linalg.norm(bank - patches.values[row, column], axis=1).min()
    assert novelty[row, column] >= min(2, nearest / known.usual) * (1 - 1e-3)
    inside = ~patches.at(paper())
    assert np.mean(novelty[inside] <= 1) > 0.9


@settings(max_examples=15, deadline=None)
@given(
    across=st.floats(-1, 1), down=st.floats(-1, 1), bend=st.floats(-0.5, 0.5),
    levels=st.sampled_from([1, 2, 3]),
)  # fmt: skip
def test_light_is_taken_out_whatever_colours_the_table_has(
    across: float, down: float, bend: float, levels: int
) -> None:
    """In even light, places of one colour are alike again, but for a hundredth of its change."""
    y, x = np.mgrid[-1:1:60j, -1:1:80j]
    colour = (np.indices((60, 80)).sum(axis=0) // 7) % levels
    tints = np.array([[0, 0, 0], [-0.8, 0.3, 0.1], [-1.5, -0.2, 0.4]])[colour]
    light = across * x + down * y + bend * x * x
    features = (tints + light[..., None] * np.array([1, 0.02, -0.03])).astype(np.float32)
    features += np.random.default_rng(0).normal(0, 0.01, features.shape).astype(np.float32)
    even = in_even_light(features, np.ones((60, 80), bool))
    for number in range(levels):
        assert np.std(even[colour == number], axis=0).max() < 0.025


def test_a_soft_shadow_is_local_light_and_cloth_is_not() -> None:
    y, x = np.mgrid[:120, :160]
    shadow = -0.4 * np.exp(-((x - 110) ** 2 + (y - 60) ** 2) / 30**2)
    features = np.zeros((120, 160, 3), np.float32)
    features[..., 0] = shadow
    cloth = (np.abs(x - 40) < 15) & (np.abs(y - 60) < 15)
    features[cloth] += np.float32(0.5)
    seen = in_local_light(features, ~cloth, scale=15.0)
    assert np.ptp(seen[~cloth][:, 0]) < 0.5 * np.ptp(shadow)
    assert seen[cloth].mean() == pytest.approx(0.5, abs=0.1)
