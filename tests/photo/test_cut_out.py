"""The picture of one scrap: it lies under the outline to the inch, in true colours."""

import io
from dataclasses import replace

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray
from PIL import Image
from shapely import Polygon, affinity, box

from scrapstore.colour import delta_e, srgb_to_lab
from scrapstore.photo import CutOutPicture, MeasuredScrap, Measurement, cut_out, measure
from tests.render.camera import over_table
from tests.render.light import Lamp, Light
from tests.render.printed import loose_cell
from tests.render.prints import make_cloth
from tests.render.scene import Piece, Scene, render
from tests.render.tables import make_table

BRICK, TABLE = (150, 40, 50), (96, 108, 100)
PLACES = [(-9.0, -5.5), (9.0, -5.0), (-8.5, 5.5), (8.5, 6.0), (0.0, -6.8)]
RING = Polygon(
    [(-8, -4.5), (-1, -5), (-1.5, 4), (-7, 4.5)], [box(-5, -1, -3.5, 0.5).exterior.coords]
)
STRIP = affinity.rotate(box(0.5, -1, 7.5, 1), 25)


@pytest.fixture(scope="module")
def reading(tmp_path_factory: pytest.TempPathFactory) -> Measurement:
    """Two scraps of plain cloth under a warm lamp, seen askew through a bent lens."""
    camera = over_table(
        width=2400, height=1800, focal=26 / 36 * 2400, camera_height=21, tilt_deg=14,
        tilt_towards_deg=40.0, k1=0.04,
    )  # fmt: skip
    pieces = tuple(Piece(outline, make_cloth("solid", 1, [BRICK])) for outline in (RING, STRIP))
    papers = tuple(loose_cell(k, place, 17.0 * k) for k, place in enumerate(PLACES))
    light = Light(lamps=(Lamp(3400, (0.0, 20.0, 40.0)),), balance=0.4)
    photo = render(Scene(camera, make_table("plain", 2, TABLE), light, pieces, papers))
    path = tmp_path_factory.mktemp("photo") / "photo.jpg"
    photo.save_jpeg(path)
    found = measure(path)
    assert isinstance(found, Measurement), str(found)
    return found


def pixels(picture: CutOutPicture) -> NDArray[np.uint8]:
    return np.asarray(Image.open(io.BytesIO(picture.data)).convert("RGB"))


def inside(picture: CutOutPicture, outline: Polygon) -> NDArray[np.bool_]:
    """Which pixels lie in `outline`, worked out from the box alone."""
    rows, columns = pixels(picture).shape[:2]
    left, bottom, right, top = picture.box
    x = left + (np.arange(columns) + 0.5) / columns * (right - left)
    y = top - (np.arange(rows) + 0.5) / rows * (top - bottom)
    return np.asarray(shapely.contains_xy(outline, *np.meshgrid(x, y)))


@pytest.mark.parametrize("number", [0, 1])
def test_the_cloth_lies_where_the_outline_says(reading: Measurement, number: int) -> None:
    scrap: MeasuredScrap = reading.scraps[number]
    picture = cut_out(reading, scrap)
    lab = srgb_to_lab(pixels(picture))
    to_cloth = delta_e(lab, srgb_to_lab(BRICK))
    to_table = delta_e(lab, srgb_to_lab(TABLE))
    cloth = to_cloth < to_table
    # A sixteenth of an inch to either side is for fray, blur and the outline's own error.
    assert cloth[inside(picture, scrap.outline.buffer(-1 / 16))].mean() > 0.999
    assert cloth[~inside(picture, scrap.outline.buffer(1 / 16))].mean() < 0.001
    laid = inside(picture, scrap.outline)
    apart = (cloth ^ laid).sum() / 60**2 / scrap.outline.length
    assert apart < 1 / 40, "mean distance of the two edges, inches"
    assert np.median(to_cloth[laid]) < 5, "the lamp's colour is taken out"


def test_size_and_rim(reading: Measurement) -> None:
    """At most 60 pixels an inch, a little table round the outline, a modest file."""
    for scrap in reading.scraps:
        picture = cut_out(reading, scrap)
        left, bottom, right, top = picture.box
        rows, columns = pixels(picture).shape[:2]
        for size, shown in ((right - left, columns), (top - bottom, rows)):
            assert 40 < shown / size < 60.1
        assert box(*picture.box).contains(scrap.outline.buffer(0.1))
        assert left > -0.3
        assert len(picture.data) < 80_000


def test_what_lies_beyond_the_photo_is_drawn_out(reading: Measurement) -> None:
    """The picture stays as large as the scrap, even half outside, though coarser far away."""
    scrap = reading.scraps[1]
    beyond = replace(scrap, on_table=affinity.translate(scrap.on_table, 0, 9))
    picture = cut_out(reading, beyond)
    assert picture.box == pytest.approx(cut_out(reading, scrap).box)
    rows, columns = pixels(picture).shape[:2]
    left, bottom, right, top = picture.box
    assert columns / (right - left) == pytest.approx(rows / (top - bottom), rel=0.01)
    assert columns / (right - left) > 40
