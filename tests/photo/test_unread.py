"""Photos in which no square can be read: the reason told is the true one."""

from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image
from shapely.geometry import box

from scrapstore.photo import SquareSet
from scrapstore.photo.picture import is_greyscale, is_toned
from scrapstore.photo.scale.unread import edge_sharpness
from tests.render.light import Lamp, Light
from tests.support.photographed import PLACES, loose, photographed, reading, refusal, scrap

PIECES = [scrap(box(-5, -3, -1, 2)), scrap(box(1, -3, 5, 2), "floral", (40, 90, 150))]


@pytest.mark.parametrize("stops", [2, 4, 5])
def test_a_dark_photo_whose_squares_can_be_read_is_measured(tmp_path: Path, stops: int) -> None:
    light = Light(exposure=0.9 / 2**stops, noise=0.005)
    found = reading(photographed(tmp_path, PIECES, loose(), light=light))
    assert [one.outline.area for one in found.scraps] == pytest.approx([20, 20], rel=0.02)
    assert any("very dark" in note for note in found.notes) == (stops == 5)


def test_a_photo_in_the_dark_is_told_so(tmp_path: Path) -> None:
    """Seven stops too dark; it also has hardly an edge, and that is not what is told."""
    light = Light(exposure=0.9 / 2**7, noise=0.01)
    assert refusal(photographed(tmp_path, PIECES, loose(), light=light)).code == "too dark"


@pytest.mark.parametrize("direction", [0.0, 37.0, 90.0])
@pytest.mark.parametrize("length", [14.0, 25.0, 60.0])
def test_a_shaken_photo_is_told_so(tmp_path: Path, length: float, direction: float) -> None:
    """An inch has 58 pixels, a cell of a square seven."""
    light = Light(shake=(length, direction), noise=0.01)
    assert refusal(photographed(tmp_path, PIECES, loose(), light=light)).code == "too blurred"


def test_a_photo_of_which_most_squares_are_blurred_away_is_told_so(tmp_path: Path) -> None:
    """One square lies twice as large in view as the others, and can be read; they are no scraps."""
    light = Light(blur=4.0)
    told = refusal(photographed(tmp_path, PIECES, loose(), light=light))
    assert told.code == "too blurred"


@pytest.mark.parametrize("dim", [0.9, 0.2])
def test_an_ordinary_photo_without_a_scale_lacks_the_scale(tmp_path: Path, dim: float) -> None:
    light = Light(exposure=dim, noise=0.01)
    for table in ("wood", "plain"):
        path = photographed(tmp_path, PIECES, (), table=table, colour=None, light=light)
        told = refusal(path)
        assert (told.code, "looked for" in told.reason) == ("no scale", False)


def test_squares_of_another_family_are_seen_and_named(tmp_path: Path) -> None:
    path = photographed(tmp_path, PIECES, loose())
    told = refusal(path, squares=SquareSet("5x5_50", (0, 1, 2), 1.0))
    assert told.code == "no scale"
    assert "none that is looked for" in told.reason
    assert "--squares" in told.remedy


def test_one_square_of_a_small_family_is_told(tmp_path: Path) -> None:
    from tests.render.printed import plain_square

    squares = SquareSet("4x4_50", (0, 1, 2, 3), 1.0)
    path = photographed(tmp_path, PIECES, (plain_square(squares, 2, PLACES[0], 10.0),))
    assert "only one" in refusal(path, squares=squares).reason


def test_sharpness_is_that_of_each_direction() -> None:
    """A box drawn out over nine pixels to the side keeps the edges that lie along the way sharp.

    By geometry: where the window of nine pixels holds the end of the ramp, an edge rises by a
    fifth of what is seen of it from one pixel to the next.
    """
    plain = np.zeros((400, 600), np.uint8)
    plain[100:300, 150:450] = 200
    assert edge_sharpness(plain).softest > 0.4
    drawn = edge_sharpness(np.asarray(cv2.blur(plain, (9, 1))))
    assert drawn.softest == pytest.approx(1 / 5, abs=0.02)
    assert drawn.sharpest > 0.4
    assert drawn.contrast == pytest.approx(1, abs=0.01)
    assert edge_sharpness(np.full((400, 600), 90, np.uint8)).softest == float("inf")


def _saved(image: Image.Image, folder: Path, name: str) -> Path:
    image.save(folder / name, quality=80)
    return folder / name


def test_a_picture_without_colour_is_refused_for_that(tmp_path: Path) -> None:
    with Image.open(photographed(tmp_path, PIECES, loose())) as image:
        grey = image.convert("L")
    sepia = np.clip(np.asarray(grey)[..., None] * np.array([1.08, 0.96, 0.77]), 0, 255)
    for name, spoilt in {
        "grey.jpg": grey,
        "rgb.png": grey.convert("RGB"),
        "sepia.jpg": Image.fromarray(sepia.astype(np.uint8)),
    }.items():
        told = refusal(_saved(spoilt, tmp_path, name))
        assert (told.code, told.remedy) == ("no colour", "take one in colour, or type the sizes")


@pytest.mark.parametrize("kelvin", [6500.0, 4000.0, 2700.0])
def test_grey_cloth_on_a_grey_table_is_colour(tmp_path: Path, kelvin: float) -> None:
    """A tint of two to six sRGB steps, by daylight and by a lamp."""
    light = Light(lamps=(Lamp(kelvin, (6.0, 8.0, 40.0)),), noise=0.01, blur=0.8, contrast=0.2)
    pieces = [scrap(one.outline, colour=(100, 102, 106)) for one in PIECES]
    path = photographed(tmp_path, pieces, loose(), colour=(150, 150, 150), light=light)
    assert len(reading(path).scraps) == 2
    with Image.open(path) as image:
        assert not is_greyscale(np.asarray(image))
        assert not is_toned(np.asarray(image))


def test_the_shade_of_a_small_picture_can_be_looked_at() -> None:
    assert is_greyscale(np.zeros((1, 1, 3), np.uint8))
    assert not is_toned(np.full((1, 1, 3), (90, 60, 30), np.uint8))


def test_a_photo_as_bright_as_others_of_dark_things_is_not_called_dark(tmp_path: Path) -> None:
    dark = [replace(one, cloth=scrap(box(0, 0, 1, 1), colour=(30, 34, 60)).cloth) for one in PIECES]
    path = photographed(tmp_path, dark, (), colour=(70, 66, 60))
    assert refusal(path).code == "no scale"
