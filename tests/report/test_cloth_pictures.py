"""What a scrap looks like on a sheet: an offcut shows its own part of its parent's picture."""

import io
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from shapely import box

from scrapstore.report.cloth_pictures import cloth_picture
from scrapstore.report.contact import Tile, tile_drawing
from scrapstore.report.painting import paint_pixels
from scrapstore.store import NewPhoto, NewScrap, Scrap, Store, open_store
from tests.actions.test_cut import booked, kept, project
from tests.photo.test_typed_cut_out import OUTLINE, QUARTERS, SWATCHES, photo

RED, BLUE = (200, 40, 40), (40, 60, 200)
LINE = 6.5
"""Inches from the left: the cloth is red up to there, and blue beyond."""


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with open_store(tmp_path / "store") as store:
        yield store


def two_colours() -> bytes:
    """A picture of 12 × 9 in, 20 pixels an inch."""
    image = Image.new("RGB", (240, 180), RED)
    image.paste(BLUE, (round(LINE * 20), 0, 240, 180))
    content = io.BytesIO()
    image.save(content, "JPEG", quality=95)
    return content.getvalue()


def blue_share(store: Store, scrap: Scrap) -> float:
    """The share of the drawn scrap that is blue."""
    picture = cloth_picture(store, scrap, 360)
    assert picture is not None
    tile = Tile(number=scrap.id, name="", family=None, value=None, relative=None, size="",
                outline=scrap.outline, picture=picture)  # fmt: skip
    pixels = np.asarray(paint_pixels(tile_drawing(tile, 20.0), 1.0).convert("RGB")).astype(int)
    red, _, blue = np.moveaxis(pixels, 2, 0)
    reds, blues = (red - blue > 80).sum(), (blue - red > 80).sum()
    return float(blues / (reds + blues))


@pytest.mark.parametrize("grain_deg", [0.0, 90.0, 30.0])
def test_an_offcut_shows_its_own_part_of_the_picture(
    store: Store, tmp_path: Path, grain_deg: float
) -> None:
    """Of red and blue, what its outline has of each: the scrap is 12 × 9 at any angle of grain."""
    picture = store.keep_cut_out(two_colours(), (0.0, 0.0, 12.0, 9.0))
    with store.change("test") as writer:
        writer.add_scrap(
            NewScrap(outline=box(0, 0, 12, 9), family="red", grain_deg=grain_deg, cut_out=picture)
        )
    kept(store, project(tmp_path, "two", ("red", "3", "3", 2)), "two")
    offcuts = booked(store, "two").offcuts
    assert len(offcuts) > 1 or grain_deg == 0.0
    for one in offcuts:
        blue = one.outline.intersection(box(LINE, 0, 12, 9)).area / one.outline.area
        assert blue_share(store, one) == pytest.approx(blue, abs=0.03)


def test_an_offcut_of_a_scrap_of_typed_size_is_looked_for_where_its_parent_lay(
    store: Store,
) -> None:
    """The photo shows the parent whole, in four colours: the right lower part is red alone."""
    content = io.BytesIO()
    Image.fromarray(photo(0)).save(content, "JPEG", quality=95)
    name = store.keep_photo(content.getvalue(), ".jpg")
    with store.change("test") as writer:
        kept_photo = writer.add_photo(
            NewPhoto(sha256="0" * 64, file_name=name, width=800, height=600)
        )
        whole = NewScrap(outline=OUTLINE, photo=kept_photo, swatches=SWATCHES)
        parent = writer.add_scrap(whole)
        right = replace(whole, outline=box(5, 0.5, 8.5, 2.5), parent_id=parent.id)
        offcut = writer.add_scrap(right)
        elsewhere = writer.add_scrap(replace(right, outline=box(0, 0, 20, 1)))
    picture = cloth_picture(store, offcut, 360)
    assert picture is not None
    with Image.open(io.BytesIO(picture.data)) as image:
        left, _, right_, top = picture.box
        scale = image.width / (right_ - left)
        part = image.convert("RGB").crop((
            round((5 - left) * scale), round((top - 2.5) * scale),
            round((8.5 - left) * scale), round((top - 0.5) * scale),
        ))  # fmt: skip
    off = np.abs(np.asarray(part).astype(int) - QUARTERS[7.0, 1.5]).max(axis=2)
    assert (off < 60).mean() > 0.97
    assert cloth_picture(store, elsewhere, 360) is None
