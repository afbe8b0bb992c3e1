"""A picture of what a cut makes of its cloth: pieces, offcuts with their letters, waste."""

import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from shapely import LineString, Polygon, affinity

from scrapstore.planning.cut_request import Offcut, PlannedCut
from scrapstore.report.cloth_pictures import plain_rgb
from scrapstore.report.forms import Rgb
from scrapstore.report.painting import Area, Drawing, Part, TextLine, paint_pixels
from scrapstore.units import Units, format_size

__all__ = ["after_cut_picture"]

_WIDE: Final = 1000.0  # points of the picture
_SPACE: Final = 24.0
_TITLE: Final = 20.0
_LARGEST: Final = 30.0  # points for an inch of cloth
_SMALLEST_TEXT: Final = 8.0
_TEXT: Final = 12.0
_PIECE: Final[Rgb] = (255, 255, 255)
_SPOILT: Final[Rgb] = (244, 200, 190)
_WASTE: Final[Rgb] = (120, 120, 120)
_STRIP: Final[Rgb] = (222, 226, 214)
_PALER: Final = 0.55
"""Share of white in the cloth's colour, so that the letters on an offcut can be read."""
_LETTER: Final = 0.62  # of the size of the text; the width of a letter
_OFFCUT_EDGE: Final = 2.5
"""Points; thicker than that of a piece, so that one of white cloth shows."""
_STRIPES, _LINE = 7.0, 1.2
"""Points between the lines on waste, and how thick they are."""


@dataclass(frozen=True)
class _Block:
    """One drawing with its title, before it has a place in the picture."""

    drawing: Drawing
    title: str


def after_cut_picture(cuts: Sequence[PlannedCut], units: Units) -> bytes:
    """Return a PNG of what each cut leaves, all at one scale."""
    bounds = [plan.outline.bounds for cut in cuts for plan in cut.source.plans]
    widest = max((right for _, _, right, _ in bounds), default=1.0)
    scale = min(_LARGEST, (_WIDE - 2 * _SPACE) / widest)
    blocks = [block for cut in cuts for block in _blocks(cut, scale, units)]
    picture = io.BytesIO()
    paint_pixels(_page(blocks), 1.5).save(picture, "PNG")
    return picture.getvalue()


def _blocks(cut: PlannedCut, scale: float, units: Units) -> list[_Block]:
    source = cut.source
    if source.scrap is not None:
        title, colour = f"scrap {source.scrap.id}: {source.scrap.title}", plain_rgb(source.scrap)
    else:
        fabric = source.cloth.fabric
        called = fabric.name if fabric else ""
        title, colour = f"length {source.cloth.id}: {called}", _STRIP
    title += ", not cut" if cut.untouched else ""
    red, green, blue = (round(part + (255 - part) * _PALER) for part in colour)
    colour = (red, green, blue)
    blocks = [
        _Block(_drawing(cut, index, colour, scale, units), title)
        for index in range(len(source.plans))
    ]
    for one in cut.offcuts:
        if one.plan is None:
            parts = _offcut(one, colour, scale, units)
            _, _, wide, tall = one.outline.bounds
            drawing = Drawing(wide * scale, tall * scale, _upright(parts, tall * scale))
            blocks.append(_Block(drawing, f"{title}, beside the strips"))
    return blocks


def _drawing(cut: PlannedCut, index: int, colour: Rgb, scale: float, units: Units) -> Drawing:
    plan, after = cut.source.plans[index], cut.after[index]
    left, bottom, right, top = plan.outline.bounds
    parts: list[Part] = [Area(_scaled(plan.outline, scale), _PIECE, 1.5)]
    for waste in after.waste:
        parts += _striped(_scaled(waste, scale))
    for piece in after.pieces:
        parts += _labelled(_scaled(piece.outline, scale), (piece.label,), _PIECE)
    for label, outline in after.spoilt.items():
        parts += _labelled(_scaled(outline, scale), (label, "spoilt"), _SPOILT)
    for one in cut.offcuts:
        if one.plan is plan:
            parts += _offcut(one, colour, scale, units)
    moved = Drawing(0, 0, tuple(parts)).at(-left * scale, -bottom * scale)
    tall = (top - bottom) * scale
    return Drawing((right - left) * scale, tall, _upright(tuple(moved), tall))


def _offcut(one: Offcut, colour: Rgb, scale: float, units: Units) -> list[Part]:
    shape = _scaled(one.outline, scale)
    if not one.kept:
        return [*_striped(shape), *_labelled(shape, (one.letter, "left out"), None)]
    return _labelled(shape, (one.letter, format_size(*one.size, units)), colour, edge=_OFFCUT_EDGE)


def _labelled(
    shape: Polygon, lines: Sequence[str], fill: Rgb | None, *, edge: float = 1.0
) -> list[Part]:
    """Return an area with lines of text in its middle, as many as there is room for."""
    circle = shapely.maximum_inscribed_circle(shape, tolerance=0.5)
    x, y = circle.coords[0]
    room = 2 * circle.length
    size = min(_TEXT, max(_SMALLEST_TEXT, room / 3))
    across = shape.intersection(LineString([(x - _WIDE, y), (x + _WIDE, y)])).length
    longest = max(map(len, lines)) * size * _LETTER
    shown = lines if room > 3.2 * size and across > longest else lines[:1]
    parts: list[Part] = [Area(shape, fill, edge)]
    for at, text in enumerate(shown):
        # y runs up here; the picture is turned over at the end.
        below = (at - (len(shown) - 1) / 2) * size * 1.2
        parts.append(TextLine(text, x, y - below - size * 0.35, size, at == 0, "middle"))
    return parts


def _striped(shape: Polygon) -> list[Part]:
    """Return an area with slanted lines, so that waste shows without colour too."""
    left, bottom, right, top = shape.bounds
    tall = top - bottom
    bands = [
        Polygon([(x, bottom), (x + _LINE, bottom), (x + _LINE + tall, top), (x + tall, top)])
        for x in np.arange(left - tall, right, _STRIPES)
    ]
    inside = shapely.get_parts(shapely.intersection(bands, shape)).tolist()
    lines = [Area(part, _WASTE) for part in inside if isinstance(part, Polygon) and part.area]
    return [Area(shape, _PIECE, 0.6), *lines]


def _scaled(shape: Polygon, scale: float) -> Polygon:
    return affinity.scale(shape, scale, scale, origin=(0, 0))


def _upright(parts: Sequence[Part], tall: float) -> tuple[Part, ...]:
    """Return parts drawn with y up as a picture has them: with y down."""
    turned: list[Part] = []
    for part in parts:
        if isinstance(part, TextLine):
            turned.append(
                TextLine(part.text, part.x, tall - part.y, part.size, part.bold, part.anchor)
            )
        elif isinstance(part, Area):
            over = affinity.affine_transform(part.shape, [1, 0, 0, -1, 0, tall])
            turned.append(Area(over, part.fill, part.edge))
    return tuple(turned)


def _page(blocks: Sequence[_Block]) -> Drawing:
    """Put the drawings in rows."""
    parts: list[Part] = []
    x, y, high = _SPACE, _SPACE, 0.0
    for block in blocks:
        wide = max(block.drawing.width, len(block.title) * _TEXT * _LETTER)
        if x > _SPACE and x + wide > _WIDE - _SPACE:
            x, y, high = _SPACE, y + high + _SPACE + _TITLE, 0.0
        parts.append(TextLine(block.title, x, y + _TITLE - 7, _TEXT, bold=True))
        parts += block.drawing.at(x, y + _TITLE)
        x += wide + _SPACE
        high = max(high, block.drawing.height)
    return Drawing(_WIDE, y + high + _TITLE + _SPACE, tuple(parts))
