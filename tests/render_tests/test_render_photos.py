"""Colours, light, files and repeatability of rendered photos, and the sample photos made so."""

import tomllib
from dataclasses import replace
from functools import lru_cache
from itertools import pairwise
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import ExifTags, Image, ImageOps
from shapely.geometry import Polygon

from tests.render.arrange import Options, render_no_scale, render_scene
from tests.render.cloth import Cloth
from tests.render.colours import encoded, lab, lamp_matrix, linear, white_xyz
from tests.render.make_samples import ALONE, sidecar
from tests.render.prints import MAKERS, make_cloth
from tests.render.raster import box_around, coverage
from tests.render.samples import SAMPLES
from tests.render.scene import RenderedPhoto, _rings
from tests.render.table_samples import LAYOUTS, lay_out

SAMPLE_FOLDER = Path(__file__).parents[2] / "sample_photos"
SMALL = Options(width=1000, height=750, scraps=2)


@lru_cache
def _cloth(kind: str) -> Cloth:
    return make_cloth(kind, 4)


def _inside(photo: RenderedPhoto, number: int) -> np.ndarray:
    """The pixels of one scrap, (n, 3), the edge left out."""
    rings = _rings(photo.truth.camera, photo.truth.scraps[number].outline.buffer(-0.1))
    box = box_around(rings[0], 0, *photo.image.shape[1::-1])
    assert box is not None
    left, top, width, height = box
    whole = coverage(rings, box) == 1
    return np.asarray(photo.image[top : top + height, left : left + width][whole])


@pytest.mark.parametrize("kind", sorted(MAKERS))
def test_true_colours_make_the_cloth(kind: str) -> None:
    """Shares sum to one, and the colours, mixed by share, have the light that the cloth has."""
    cloth = _cloth(kind)
    assert sum(colour.share for colour in cloth.colours) == pytest.approx(1, abs=1e-3)
    mixed = sum(linear(colour.rgb) * colour.share for colour in cloth.colours)
    assert np.asarray(mixed) == pytest.approx(cloth.tile.mean(axis=(0, 1)), rel=0.03, abs=0.003)


@pytest.mark.parametrize("kind", sorted(MAKERS))
def test_cloth_wraps_round(kind: str) -> None:
    """The step from the last row to the first is no bigger than steps within the cloth."""
    tile = _cloth(kind).tile
    for axis in (0, 1):
        rows = np.moveaxis(tile, axis, 0)
        steps = np.abs(np.diff(rows, axis=0)).mean(axis=(1, 2))
        assert np.abs(rows[0] - rows[-1]).mean() <= steps.max() * 1.05 + 1e-6


def test_a_solid_scrap_has_its_true_colour() -> None:
    """Under clean light a scrap's mean light is its dye's times the exposure, within noise."""
    photo = render_scene(3, replace(SMALL, cloths=("solid",), clean=True, wear=0, scraps=3))
    assert photo.truth.scraps
    for number, scrap in enumerate(photo.truth.scraps):
        seen = linear(_inside(photo, number)).mean(axis=0) / photo.truth.light.exposure
        off = lab(seen) - lab(linear(scrap.colours[0].rgb))
        assert np.linalg.norm(off) < 2.0


def test_a_lamp_of_daylight_changes_nothing_and_a_warm_one_reddens() -> None:
    """6500 K is neutral; warmer lamps give grey more red than blue, in order; balance undoes it."""
    assert lamp_matrix(6500) == pytest.approx(np.eye(3), abs=1e-3)
    ratios = [float(np.divide(*(lamp_matrix(k) @ np.ones(3))[[0, 2]])) for k in (2700, 3600, 5000)]
    assert all(a > b > 1 for a, b in pairwise(ratios))
    assert lamp_matrix(3000, 1.0) @ np.ones(3) == pytest.approx([1, 1, 1], abs=1e-4)


def test_white_of_a_lamp_lies_on_the_black_body_curve() -> None:
    """CIE 1931 x, y of black bodies as tables give them (Wyszecki and Stiles, 2nd ed., table 3.11:
    2856 K is illuminant A, x 0.4476, y 0.4074)."""
    big_x, big_y, big_z = white_xyz(2856)
    total = big_x + big_y + big_z
    assert (big_x / total, big_y / total) == pytest.approx((0.4476, 0.4074), abs=1e-3)


def test_encoding_and_linear_light_undo_one_another() -> None:
    """All 256 values survive the way to light and back."""
    every = np.repeat(np.arange(256, dtype=np.uint8)[:, None], 3, axis=1)
    assert np.array_equal(np.rint(encoded(linear(every))), every)


def test_same_seed_same_picture() -> None:
    """Byte for byte; and another seed gives another."""
    options = replace(SMALL, cloths=("dots", "gingham"), table="carpet")
    assert np.array_equal(render_scene(8, options).image, render_scene(8, options).image)
    assert not np.array_equal(render_scene(8, options).image, render_scene(9, options).image)


@pytest.fixture(scope="module")
def clean_photo() -> RenderedPhoto:
    return render_scene(2, replace(SMALL, clean=True, table="plain"))


@pytest.mark.parametrize("orientation", [1, 3, 6, 8])
def test_file_carries_camera_and_stands_upright(
    tmp_path: Path, clean_photo: RenderedPhoto, orientation: int
) -> None:
    """Obeying EXIF shows the photo as rendered, whichever way the camera was held."""
    photo = clean_photo
    path = tmp_path / "photo.jpg"
    photo.save_jpeg(path, orientation=orientation, gps=True, quality=95)
    with Image.open(path) as stored:
        exif = stored.getexif()
        inner = exif.get_ifd(ExifTags.IFD.Exif)
        upright = np.asarray(ImageOps.exif_transpose(stored)).astype(int)
    assert exif[ExifTags.Base.Model] == "Sample Camera"
    focal = photo.truth.camera.focal / 1000 * 36
    assert inner[ExifTags.Base.FocalLengthIn35mmFilm] == round(focal)
    assert exif.get_ifd(ExifTags.IFD.GPSInfo)
    assert np.abs(upright - photo.image).mean() < 2


def test_photos_without_a_scale_have_no_squares() -> None:
    """OpenCV finds no square in them, and the truth lists none."""
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11)
    detector = cv2.aruco.ArucoDetector(dictionary)
    for seed in range(2):
        photo = render_no_scale(seed, width=800, height=600)
        assert photo.truth.squares == ()
        _, ids, _ = detector.detectMarkers(cv2.cvtColor(photo.image, cv2.COLOR_RGB2GRAY))
        assert ids is None


def test_sample_photos_are_listed_light_and_placeless() -> None:
    """Every sample photo is listed, none says where it was taken, all are small enough."""
    listed = tomllib.loads((SAMPLE_FOLDER / "scraps.toml").read_text(encoding="utf-8"))
    photos = sorted(SAMPLE_FOLDER.glob("*.jpg"))
    assert sorted(listed) == [path.name for path in photos]
    assert len(photos) == len(LAYOUTS) + len(ALONE)
    assert sum(path.stat().st_size for path in photos) < 12_000_000
    for path in photos:
        with Image.open(path) as picture:
            assert 1400 <= max(picture.size) <= 3000
            assert not picture.getexif().get_ifd(ExifTags.IFD.GPSInfo)
            assert picture.getexif()[ExifTags.Base.Model] == "Sample Camera"


def test_sidecar_is_what_the_generator_writes() -> None:
    """The list beside the photos was not edited apart from its maker."""
    written = (SAMPLE_FOLDER / "scraps.toml").read_text(encoding="utf-8")
    assert written == sidecar()


def test_scraps_laid_out_together_lie_apart() -> None:
    """In the photos with the scale in view every scrap lies once, whole, free of everything."""
    laid = [file for layout in LAYOUTS for file in layout.scraps]
    laid += [sample.file for sample in ALONE]
    assert sorted(laid) == sorted(sample.file for sample in SAMPLES)
    for number, layout in enumerate(LAYOUTS):
        laid_out = lay_out(layout, np.random.default_rng([2026, 5, number]))
        view = Polygon(laid_out.camera.view()).buffer(-0.3)
        scraps = list(laid_out.outlines.values())
        papers = [Polygon(paper.border) for paper in laid_out.papers]
        assert all(view.contains(thing) for thing in scraps + papers)
        for i, scrap in enumerate(scraps):
            assert all(scrap.distance(other) > 0.25 for other in scraps[i + 1 :] + papers)
