"""A picture of what was measured: outlines, numbers, sizes as a ruler reads, uncertainty."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot
from typing import Final

import numpy as np
import shapely
from PIL import Image, ImageDraw, ImageFont

from scrapstore.photo.forms import Refusal
from scrapstore.photo.measurement.left_out import letters
from scrapstore.photo.measurement.measure import MeasuredScrap, Measurement
from scrapstore.photo.picture import Photo, to_srgb
from scrapstore.shapes import bounding_sides, sides_as_drawn
from scrapstore.units import Units, format_cut, format_size

__all__ = ["label", "label_place", "place_labels", "preview", "refused_preview"]

Place = tuple[float, float]

_LINE: Final = (20, 20, 20)
_HALO: Final = (255, 255, 255)
"""Under every line, so that it is seen on cloth of any colour."""
_MOST_COVERED: Final = 0.35  # of a scrap's area, by its own label
_SQUARE: Final = (0, 150, 255)
_INK: Final = (20, 20, 20)
_LEFT_OUT: Final = (110, 110, 110)
_LABEL: Final = (255, 255, 240)


def preview(reading: Measurement, *, long_side: int = 1600, units: Units = "in") -> Image.Image:
    """Return the photo, `long_side` pixels at most, with everything measured drawn over it.

    Scraps are numbered from 1 in the order of `reading.scraps`; lengths are shown in `units`,
    rounded to ruler marks; the uncertainty is rounded up. A label lies on its scrap, or beside one
    that it would cover. What was left out is drawn in grey, with the letters of `letters`.
    """
    small, ratio = _reduced(reading.photo, long_side)
    for square in reading.squares:
        _ring(ImageDraw.Draw(small), square.in_picture * ratio, _SQUARE, _pen(small))
    texts = [label(scrap, number, units) for number, scrap in enumerate(reading.scraps, start=1)]
    marks = [
        _Mark(text, label_place(scrap, ratio), _in_picture(scrap, ratio), _LINE)
        for text, scrap in zip(texts, reading.scraps, strict=True)
    ]
    _draw(small, [*marks, *_left_out_marks(reading.left_out, ratio, small.size)])
    return small


def refused_preview(photo: Photo, refusal: Refusal, *, long_side: int = 1600) -> Image.Image:
    """Return a photo of which nothing was measured, with what lies in it and the letters of it."""
    small, ratio = _reduced(photo, long_side)
    _draw(small, _left_out_marks((refusal, *refusal.others), ratio, small.size))
    return small


@dataclass(frozen=True, eq=False)
class _Mark:
    """What is drawn round one thing: its label, where that is wished, its shape, its colour."""

    text: str
    wished: Place
    shape: shapely.Polygon
    colour: tuple[int, int, int]


def _left_out_marks(
    left_out: Sequence[Refusal], ratio: float, size: tuple[int, int]
) -> list[_Mark]:
    marks = []
    for refusal, letter in zip(left_out, letters(left_out), strict=True):
        if refusal.in_picture is not None:
            shape = shapely.Polygon(refusal.in_picture * ratio)
            seen = shape.buffer(0).intersection(shapely.box(0, 0, *size))
            middle = shape.centroid if seen.is_empty else seen.representative_point()
            marks.append(_Mark(f"{letter}\nnot measured", (middle.x, middle.y), shape, _LEFT_OUT))
    return marks


def _reduced(photo: Photo, long_side: int) -> tuple[Image.Image, float]:
    """Return the photo in sRGB, no larger than `long_side`, and how much smaller it is."""
    height, width = photo.pixels.shape[:2]
    ratio = min(1.0, long_side / max(height, width))
    small = Image.fromarray(photo.pixels).resize(
        (max(1, round(width * ratio)), max(1, round(height * ratio))), Image.Resampling.BOX
    )
    if photo.icc_profile is not None:
        small = Image.fromarray(to_srgb(np.asarray(small), photo.icc_profile))
    return small, ratio


def _pen(picture: Image.Image) -> int:
    return max(2, round(max(picture.size) / 500))


def _draw(picture: Image.Image, marks: Sequence[_Mark]) -> None:
    """Draw the outlines, and the labels where none covers another."""
    draw, pen = ImageDraw.Draw(picture), _pen(picture)
    font = ImageFont.load_default(size=max(12, round(max(picture.size) / 70)))
    for mark in marks:
        for ring in (mark.shape.exterior, *mark.shape.interiors):
            _ring(draw, np.asarray(ring.coords)[:-1], mark.colour, pen)
    boxes = [
        draw.multiline_textbbox((0, 0), mark.text, font=font, anchor="mm", align="center")
        for mark in marks
    ]
    sizes = [(box[2] - box[0] + 8, box[3] - box[1] + 7) for box in boxes]
    placed = place_labels(
        [mark.wished for mark in marks],
        sizes,
        picture.size,
        [mark.shape for mark in marks],
    )
    for mark, place in zip(marks, placed, strict=True):
        if mark.wished != place:
            _line(draw, [mark.wished, place], mark.colour, pen)
    for mark, place in zip(marks, placed, strict=True):
        _label(draw, mark.text, place, font)


def _ring(
    draw: ImageDraw.ImageDraw, ring: np.ndarray, colour: tuple[int, int, int], pen: int
) -> None:
    points = [(float(x), float(y)) for x, y in ring]
    _line(draw, [*points, *points[:2]], colour, pen)


def _line(
    draw: ImageDraw.ImageDraw, points: list[Place], colour: tuple[int, int, int], pen: int
) -> None:
    draw.line(points, fill=_HALO, width=3 * pen, joint="curve")
    draw.line(points, fill=colour, width=pen, joint="curve")


def label(scrap: MeasuredScrap, number: int, units: Units) -> str:
    """Return what stands on a scrap: its number, its size on ruler marks, its uncertainty.

    The uncertainty is rounded up, to 1/64 in or a millimetre.
    """
    sides = sides_as_drawn(*bounding_sides(scrap.outline), scrap.outline.bounds)
    more = format_cut(scrap.uncertainty, units, 1 / 64)
    # Pillow's own font, which the picture is lettered in, has no ×.
    return f"{number}\n{format_size(*sides, units).replace('×', 'x')}\n± {more}"


def label_place(scrap: MeasuredScrap, ratio: float) -> tuple[float, float]:
    """Return a scrap's middle, or an L's widest place, in pixels of a picture `ratio` as large."""
    shape = _in_picture(scrap, ratio)
    widest = shapely.maximum_inscribed_circle(shape, tolerance=0.5)
    middle = shape.centroid
    if shape.contains(middle) and shape.boundary.distance(middle) > widest.length / 2:
        return middle.x, middle.y
    x, y = widest.coords[0]
    return float(x), float(y)


def _in_picture(scrap: MeasuredScrap, ratio: float) -> shapely.Polygon:
    outer, *holes = (ring * ratio for ring in scrap.in_picture)
    return shapely.Polygon(outer, holes)


def place_labels(
    wished: Sequence[Place],
    sizes: Sequence[Place],
    picture: tuple[int, int],
    scraps: Sequence[shapely.Polygon] = (),
) -> list[Place]:
    """Return the middles of labels so that none covers another, each near where it is wished.

    `wished`: middles, pixels; `sizes`: width and height of each; `picture`: its width and height,
    which no label leaves; `scraps`: what the labels belong to, in the same order. A label lies
    within its own scrap if that is much larger, else on none. One for which there is no such room
    keeps off the other labels; if there is no room for that either, it stays where it is wished.
    """
    placed: list[Place] = []
    for number, ((x, y), size) in enumerate(zip(wished, sizes, strict=True)):
        width, height = size
        steps = [(i * width / 4, j * height / 4) for i in range(-8, 9) for j in range(-16, 17)]
        steps.sort(key=lambda step: hypot(*step))
        taken = list(zip(placed, sizes, strict=False))
        free = [
            (x + right, y + down)
            for right, down in steps
            if _is_within((x + right, y + down), size, picture)
            and not any(_overlap((x + right, y + down), size, *other) for other in taken)
        ]
        clear = (place for place in free if not _covers(place, size, number, scraps))
        placed.append(next(clear, free[0] if free else (x, y)))
    return placed


def _covers(place: Place, size: Place, number: int, scraps: Sequence[shapely.Polygon]) -> bool:
    """Tell whether a label there hides too much of its own scrap, or any of another."""
    (x, y), (width, height) = place, size
    label = shapely.box(x - width / 2, y - height / 2, x + width / 2, y + height / 2)
    on_own = bool(scraps) and scraps[number].contains(label)
    if on_own and label.area <= _MOST_COVERED * scraps[number].area:
        return False
    return any(label.intersects(scrap) for scrap in scraps)


def _is_within(place: Place, size: Place, picture: tuple[int, int]) -> bool:
    return all(
        side / 2 <= at <= most - side / 2
        for at, side, most in zip(place, size, picture, strict=True)
    )


def _overlap(place: Place, size: Place, other: Place, its_size: Place) -> bool:
    apart = (abs(place[k] - other[k]) - (size[k] + its_size[k]) / 2 for k in (0, 1))
    return all(gap < 0 for gap in apart)


def _label(
    draw: ImageDraw.ImageDraw,
    text: str,
    place: Place,
    font: ImageFont.ImageFont | ImageFont.FreeTypeFont,
) -> None:
    box = draw.multiline_textbbox(place, text, font=font, anchor="mm", align="center")
    draw.rectangle((box[0] - 4, box[1] - 3, box[2] + 4, box[3] + 4), fill=_LABEL, outline=_INK)
    draw.multiline_text(place, text, font=font, anchor="mm", align="center", fill=_INK)
