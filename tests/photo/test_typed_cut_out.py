"""Scraps of typed size, found again in their photos: the right part, the right way round."""

import io

import cv2
import numpy as np
import numpy.typing as npt
import pytest
from PIL import Image
from shapely import Polygon

from scrapstore.colour import Swatch, delta_e, dominant_colours, srgb_to_lab, swatch
from scrapstore.photo import CutOutPicture, find_cut_out
from scrapstore.photo.segmentation import cloth_pixels
from tests.render.samples import SAMPLES, photograph

TABLE = (205, 192, 170)
# No turn and no mirror image of it is itself; a colour in each of four quarters of its cloth.
OUTLINE = Polygon([(0, 0), (9, 0), (9, 4), (5, 7), (0, 6)])
QUARTERS = {
    (2.0, 1.5): (30, 60, 150),
    (7.0, 1.5): (170, 40, 50),
    (2.0, 4.5): (40, 110, 60),
    (6.0, 4.5): (235, 200, 60),
}
SWATCHES: tuple[Swatch, ...] = tuple(swatch(rgb, 0.25) for rgb in QUARTERS.values())


def photo(turn_deg: float, tilt: float = 0.0, scale: float = 40.0) -> npt.NDArray[np.uint8]:
    """A picture of the cloth on a table, turned counter-clockwise; `tilt` draws its far side in."""
    height, width = 600, 800
    cos, sin = np.cos(np.radians(turn_deg)) * scale, np.sin(np.radians(turn_deg)) * scale
    middle = np.array([width / 2, height / 2]) - np.array([[cos, -sin], [-sin, -cos]]) @ (4.5, 3.2)
    matrix = np.array([[cos, -sin, middle[0]], [-sin, -cos, middle[1]], [0, 0, 1]])
    lean = np.array([[1, 0, 0], [0, 1, 0], [0, tilt / height, 1]])
    matrix = np.linalg.inv(lean) @ matrix
    rows, columns = np.mgrid[:height, :width]
    places = np.linalg.inv(matrix) @ np.stack([columns.ravel(), rows.ravel(), np.ones(rows.size)])
    x, y = places[:2] / places[2]
    ring = cv2.perspectiveTransform(np.asarray(OUTLINE.exterior.coords)[None], matrix)[0]
    inside = np.zeros((height, width), np.uint8)
    cv2.fillPoly(inside, [np.rint(ring).astype(np.int32)], 1)
    picture = np.full((height, width, 3), TABLE, np.uint8)
    for (across, up), rgb in QUARTERS.items():
        quarter = ((x > 4.5) == (across > 4.5)) & ((y > 3) == (up > 3))
        picture[inside.astype(bool) & quarter.reshape(height, width)] = rgb
    noise = np.random.default_rng(1).normal(0, 3, picture.shape)
    return np.clip(picture + noise, 0, 255).astype(np.uint8)


def at(found: CutOutPicture, x: float, y: float) -> tuple[float, ...]:
    """The colour of the picture at a place in the outline's inches: a median of a few pixels."""
    with Image.open(io.BytesIO(found.data)) as image:
        pixels = np.asarray(image.convert("RGB"))
    left, bottom, right, top = found.box
    column = round((x - left) / (right - left) * pixels.shape[1])
    row = round((top - y) / (top - bottom) * pixels.shape[0])
    some = pixels[max(0, row - 3) : row + 4, max(0, column - 3) : column + 4].reshape(-1, 3)
    return tuple(np.median(some, axis=0).tolist())


@pytest.mark.parametrize("turn_deg", [0, 20, 90, -135])
@pytest.mark.parametrize("tilt", [0.0, 0.15])
def test_each_quarter_of_the_cloth_is_where_its_outline_says(turn_deg: float, tilt: float) -> None:
    found = find_cut_out(photo(turn_deg, tilt), OUTLINE, SWATCHES)
    assert found is not None
    assert found.box == OUTLINE.bounds
    for place, rgb in QUARTERS.items():
        assert delta_e(srgb_to_lab(at(found, *place)), srgb_to_lab(rgb)) < 5
    for corner in ((0.15, 0.15), (8.85, 0.15), (8.85, 3.8), (0.15, 5.7)):
        assert delta_e(srgb_to_lab(at(found, *corner)), srgb_to_lab(TABLE)) > 15


def test_it_has_no_more_pixels_than_the_photo_shows_and_no_more_than_sixty_an_inch() -> None:
    for scale, wide in ((30.0, 270), (75.0, 540)):
        found = find_cut_out(photo(0, scale=scale), OUTLINE, SWATCHES)
        assert found is not None
        with Image.open(io.BytesIO(found.data)) as image:
            assert image.width == pytest.approx(wide, rel=0.05)


def test_another_cloth_on_the_table_is_not_taken_for_it() -> None:
    """A square of its colours does not agree with the outline: rather no picture."""
    picture = np.full((600, 800, 3), TABLE, np.uint8)
    picture[150:450, 250:550] = next(iter(QUARTERS.values()))
    assert find_cut_out(picture, OUTLINE, SWATCHES) is None


def test_nothing_is_found_where_nothing_is() -> None:
    assert find_cut_out(np.full((60, 80, 3), TABLE, np.uint8), OUTLINE, SWATCHES) is None
    assert find_cut_out(photo(0), OUTLINE, ()) is None


@pytest.mark.slow
@pytest.mark.parametrize(
    "name", ["apron-denim", "deckchair-stripe", "dress-floral", "shirt-back-chambray"]
)
def test_photos_as_people_take_them(name: str) -> None:
    """Well inside the outline lies a colour of the cloth."""
    (sample,) = (sample for sample in SAMPLES if sample.file == f"{name}.jpg")
    pixels = photograph(sample).image
    swatches = dominant_colours(cloth_pixels(pixels))
    outline = Polygon(sample.corners)
    found = find_cut_out(pixels, outline, swatches)
    assert found is not None
    place = outline.representative_point()
    here = srgb_to_lab(at(found, place.x, place.y))
    assert min(delta_e(here, one.lab) for one in swatches) < 12
