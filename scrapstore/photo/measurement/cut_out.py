"""The picture of one scrap, cut from its photo as if seen straight from above."""

import io
from typing import Final

import numpy as np
from PIL import Image, ImageFilter

from scrapstore.photo.arrays import Bytes, Floats
from scrapstore.photo.forms import CutOutPicture
from scrapstore.photo.measurement.measure import MeasuredScrap, Measurement
from scrapstore.photo.picture import to_srgb
from scrapstore.photo.scale import GreyReference, View, area_resize, sample

__all__ = ["cut_out"]


_FINEST: Final = 60.0
"""Pixels an inch: weave blurs and print stays, and a drawing of 12 in still looks sharp."""
_MOST_PIXELS: Final = 2_000_000
_RIM: Final = 0.15
"""Inches of table shown round the scrap, so that a thread at its edge is not cut off."""
_QUALITY: Final = 82
_TABLE_SIDE: Final = 33


def cut_out(reading: Measurement, scrap: MeasuredScrap) -> CutOutPicture:
    """Return the picture of `scrap`, one of `reading.scraps`.

    It is taken from the full photo through the reading's own camera and lens, at 60 pixels an inch
    or what the photo shows, over the box round the outline and a rim; its colours are those that
    the scrap's swatches were read from: the light's colour is taken out. The rim may reach
    beyond the photo, whose edge is then drawn out.
    """
    left, bottom, right, top = scrap.on_table.bounds
    low = np.array([left, bottom]) - _RIM
    size = np.array([right, top]) + _RIM - low
    middle = low + size / 2
    shown = float(reading.view.pixels_per_inch(middle[None])[0])
    scale = min(_FINEST, shown, float(np.sqrt(_MOST_PIXELS / (size[0] * size[1]))))
    columns, rows = (max(1, round(float(side) * scale)) for side in size)
    seen = _seen_from_above(reading.photo.pixels, reading.view, low, size, (rows, columns))
    picture = Image.fromarray(to_srgb(seen, reading.photo.icc_profile))
    stream = io.BytesIO()
    picture.filter(_balance(reading.grey_reference, middle)).save(stream, "JPEG", quality=_QUALITY)
    # The outline's own frame begins at the lower left corner of its bounds.
    wide, tall = (float(side) for side in size)
    return CutOutPicture(stream.getvalue(), (-_RIM, -_RIM, wide - _RIM, tall - _RIM))


def _balance(grey_reference: GreyReference, place: Floats) -> ImageFilter.Color3DLUT:
    """Return what takes the light's colour out near `place`.

    As a table of colours, between which Pillow interpolates: the sum is long, the pixels many.
    """
    steps = np.linspace(0, 255, _TABLE_SIDE)
    blue, green, red = np.meshgrid(steps, steps, steps, indexing="ij")  # red changes fastest
    colours = np.rint(np.stack([red, green, blue], axis=-1)).astype(np.uint8).reshape(-1, 3)
    corrected = grey_reference.corrected(colours, place) / 255
    return ImageFilter.Color3DLUT(_TABLE_SIDE, corrected.ravel().tolist())


def _seen_from_above(
    pixels: Bytes, view: View, low: Floats, size: Floats, shape: tuple[int, int]
) -> Bytes:
    """Return the table from `low` (its lower left corner, inches) on, `size` inches large."""
    rows, columns = shape
    x = low[0] + (np.arange(columns) + 0.5) / columns * size[0]
    y = low[1] + size[1] - (np.arange(rows) + 0.5) / rows * size[1]
    places = np.stack(np.meshgrid(x, y), axis=-1)
    imaged = view.to_image(places.reshape(-1, 2)).reshape(rows, columns, 2)
    # Pixels finer than the picture are averaged first, or a fine check would turn into a coarse
    # one that is not there. Only what is looked at is made smaller.
    first = np.maximum(np.floor(imaged.min(axis=(0, 1))).astype(int) - 2, 0)
    last = np.ceil(imaged.max(axis=(0, 1))).astype(int) + 3
    part = pixels[first[1] : last[1], first[0] : last[0]]
    finer = float(np.linalg.norm(imaged[0, -1] - imaged[0, 0])) / max(1, columns - 1)
    step = max(1, int(finer / 1.2))
    reduced = area_resize(part, max(1, part.shape[1] // step), max(1, part.shape[0] // step))
    ratio = np.array([reduced.shape[1] / part.shape[1], reduced.shape[0] / part.shape[0]])
    return sample(reduced, (imaged - first + 0.5) * ratio - 0.5)
