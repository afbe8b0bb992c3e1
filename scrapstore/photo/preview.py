"""A picture of what was measured: outlines, numbers, sizes as a ruler reads, uncertainty."""

from typing import Final

import numpy as np
import shapely
from PIL import Image, ImageDraw, ImageFont

from scrapstore.photo.decode import to_srgb
from scrapstore.photo.measure import MeasuredScrap, Reading
from scrapstore.shapes import bounding_sides
from scrapstore.units import Units, format_cut, format_length

__all__ = ["label", "label_place", "preview"]

_LINE: Final = (255, 64, 0)
_SQUARE: Final = (0, 150, 255)
_INK: Final = (20, 20, 20)
_LEFT_OUT: Final = (110, 110, 110)
_LABEL: Final = (255, 255, 240)


def preview(reading: Reading, *, long_side: int = 1600, units: Units = "in") -> Image.Image:
    """Return the photo, `long_side` pixels at most, with everything measured drawn over it.

    Scraps are numbered from 1 in the order of `reading.scraps`; lengths are shown in `units`,
    rounded to ruler marks; the uncertainty is rounded up. What was left out is
    drawn in grey.
    """
    pixels = reading.photo.pixels
    height, width = pixels.shape[:2]
    ratio = min(1.0, long_side / max(height, width))
    small = Image.fromarray(pixels).resize(
        (max(1, round(width * ratio)), max(1, round(height * ratio))), Image.Resampling.BOX
    )
    if reading.photo.icc_profile is not None:
        small = Image.fromarray(to_srgb(np.asarray(small), reading.photo.icc_profile))
    draw = ImageDraw.Draw(small)
    pen = max(2, round(max(small.size) / 500))
    for square in reading.squares:
        _ring(draw, square.in_picture * ratio, _SQUARE, pen)
    font = ImageFont.load_default(size=max(12, round(max(small.size) / 70)))
    for refusal in reading.left_out:
        if refusal.in_picture is not None:
            _ring(draw, refusal.in_picture * ratio, _LEFT_OUT, pen)
            x, y = (
                float(v) for v in np.clip(refusal.in_picture.mean(axis=0) * ratio, 0, small.size)
            )
            draw.text((x, y), "not measured", font=font, anchor="mm", fill=_INK,
                      stroke_width=3, stroke_fill=_LABEL)  # fmt: skip
    for scrap in reading.scraps:
        for ring in scrap.in_picture:
            _ring(draw, ring * ratio, _LINE, pen)
    for number, scrap in enumerate(reading.scraps, start=1):
        _label(draw, scrap, number, ratio, font, units)
    return small


def _ring(
    draw: ImageDraw.ImageDraw, ring: np.ndarray, colour: tuple[int, int, int], pen: int
) -> None:
    points = [(float(x), float(y)) for x, y in ring]
    draw.line([*points, *points[:2]], fill=colour, width=pen, joint="curve")


def label(scrap: MeasuredScrap, number: int, units: Units) -> str:
    """Return what stands on a scrap: its number, its size on ruler marks, its uncertainty.

    The uncertainty is rounded up, to 1/64 in or a millimetre.
    """
    length, width = (format_length(side, units) for side in bounding_sides(scrap.outline))
    more = format_cut(scrap.uncertainty, units, 1 / 64)
    return f"{number}\n{length} by {width}\n± {more}"


def label_place(scrap: MeasuredScrap, ratio: float) -> tuple[float, float]:
    """Return a scrap's middle, or an L's widest place, in pixels of a picture `ratio` as large."""
    outer, *holes = (ring * ratio for ring in scrap.in_picture)
    shape = shapely.Polygon(outer, holes)
    widest = shapely.maximum_inscribed_circle(shape, tolerance=0.5)
    middle = shape.centroid
    if shape.contains(middle) and shape.boundary.distance(middle) > widest.length / 2:
        return middle.x, middle.y
    x, y = widest.coords[0]
    return float(x), float(y)


def _label(
    draw: ImageDraw.ImageDraw,
    scrap: MeasuredScrap,
    number: int,
    ratio: float,
    font: ImageFont.ImageFont | ImageFont.FreeTypeFont,
    units: Units,
) -> None:
    text = label(scrap, number, units)
    x, y = label_place(scrap, ratio)
    box = draw.multiline_textbbox((x, y), text, font=font, anchor="mm", align="center")
    draw.rectangle((box[0] - 4, box[1] - 3, box[2] + 4, box[3] + 4), fill=_LABEL, outline=_INK)
    draw.multiline_text((x, y), text, font=font, anchor="mm", align="center", fill=_INK)
