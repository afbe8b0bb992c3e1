"""Contact sheets: scraps side by side, each cut to its outline, all at one scale.

Colour is never the only sign. Under each scrap stand its number, its family and its value in
words, and beside the value a mark of three boxes: one filled is light, two medium, three dark.
"""

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
import shapely
from shapely import Polygon, affinity

from scrapstore.report.forms import ClothPicture, Rgb
from scrapstore.report.painting import Area, Drawing, Part, Picture, TextLine, over_box
from scrapstore.units import INCHES_PER_CM, Units

__all__ = [
    "ContactSection",
    "ContactSheet",
    "Tile",
    "contact_drawing",
    "contact_scale",
    "scale_bar",
    "tile_drawing",
    "tile_lines",
    "tile_width",
    "value_mark",
]

Value = Literal["light", "medium", "dark"]

_WIDE: Final = 128.0  # points; the least room for a scrap and its words
_USUAL: Final = 100.0  # points; the side of a square as large as nearly all scraps are at most
_WIDEST: Final = 620.0  # points; nor is any wider
_TALLEST: Final = 560.0
_NEARLY_ALL: Final = 80.0  # per cent
_LARGEST_SCALE: Final = 24.0  # points for an inch
_BAR: Final = 120.0  # points; the scale's line is at most so long
_GAP: Final = 16.0
_LINE: Final = 14.0
_MARGIN: Final = 24.0
_HEAD: Final = 46.0
_SIGN: Final = 5.7  # points; the width of a letter of 11 points
_FILLED: Final[dict[Value, int]] = {"light": 1, "medium": 2, "dark": 3}
_BOX: Final = 7.0
_DARK_INK: Final[Rgb] = (26, 26, 26)
_WHITE: Final[Rgb] = (255, 255, 255)


@dataclass(frozen=True)
class Tile:
    """One scrap on a contact sheet.

    `relative` is its value among the scraps on the sheet, `tint` a line of words. `swatches` are
    (sRGB, share, family). Without a `picture` the scrap is drawn in `plain` colour, with a word.
    `remark` says why it is on the sheet.
    """

    number: int
    name: str
    family: str | None
    value: Value | None
    relative: Value | None
    size: str
    outline: Polygon
    swatches: tuple[tuple[Rgb, float, str], ...] = ()
    accents: tuple[str, ...] = ()
    tint: str = ""
    picture: ClothPicture | None = None
    plain: Rgb = (236, 234, 228)
    remark: str = ""


@dataclass(frozen=True)
class ContactSection:
    """Tiles under one heading."""

    title: str
    text: str
    tiles: tuple[Tile, ...]


@dataclass(frozen=True)
class ContactSheet:
    """A whole sheet."""

    title: str
    text: str
    sections: tuple[ContactSection, ...]
    units: Units = "in"

    @property
    def tiles(self) -> int:
        """How many tiles there are."""
        return sum(len(section.tiles) for section in self.sections)


def contact_scale(sheet: ContactSheet) -> float:
    """Return the one scale of all tiles, points for an inch, so that the usual scrap fits."""
    bounds = np.array(
        [tile.outline.bounds for section in sheet.sections for tile in section.tiles]
    ).reshape(-1, 4)
    if not len(bounds):
        return _LARGEST_SCALE
    sides = bounds[:, 2:] - bounds[:, :2]
    usual = float(np.percentile(np.sqrt(sides.prod(axis=1)), _NEARLY_ALL))
    wide, tall = sides.max(axis=0).tolist()
    return float(min(_USUAL / usual, _WIDEST / wide, _TALLEST / tall, _LARGEST_SCALE))


def scale_bar(sheet: ContactSheet) -> Drawing:
    """Return a line of a round length, with that length: the scale of all tiles."""
    unit = contact_scale(sheet) * (1.0 if sheet.units == "in" else INCHES_PER_CM)
    count = max((n for n in (1, 2, 5, 10, 20, 50, 100) if n * unit <= _BAR), default=1)
    long = count * unit
    parts = (
        Area(shapely.box(0, 6, long, 8), fill=_DARK_INK),
        Area(shapely.box(0, 2, 1.5, 12), fill=_DARK_INK),
        Area(shapely.box(long - 1.5, 2, long, 12), fill=_DARK_INK),
        TextLine(f"{count} {sheet.units}: all scraps are drawn at one scale", long + 8, 11, 11),
    )
    return Drawing(long + 290, 14, parts)


def tile_lines(tile: Tile) -> tuple[str, ...]:
    """Return the words under a tile after its first line: what its colours would show."""
    value: str = tile.value or "value not known"
    if tile.relative is not None and tile.relative != tile.value:
        value += f" ({tile.relative} of these)"
    accents = f"with {', '.join(tile.accents)}" if tile.accents else ""
    if tile.picture is None and len(tile.swatches) > 1:
        shares: dict[str, float] = {}
        for _, share, word in tile.swatches:
            shares[word] = shares.get(word, 0.0) + share
        largest = sorted(shares, key=lambda word: -shares[word])
        accents = ", ".join(f"{word} {shares[word]:.0%}" for word in largest)
    words = (tile.name, tile.size, value, tile.tint, accents, tile.remark)
    return tuple(filter(None, words))


def tile_title(tile: Tile) -> str:
    """Return the first line: the scrap's number and family."""
    return f"{tile.number}  {tile.family or 'no colour yet'}"


def tile_width(tile: Tile, scale: float) -> float:
    """Return how wide a tile is, points: as the scrap, and wide enough for its words."""
    left, _, right, _ = tile.outline.bounds
    return max(_WIDE, (right - left) * scale + 2)


def tile_drawing(tile: Tile, scale: float) -> Drawing:
    """Return the scrap cut to its outline, `scale` points for an inch."""
    left, bottom, _, top = tile.outline.bounds

    def placed(shape: Polygon) -> Polygon:
        # y up in inches becomes y down on the sheet.
        return affinity.affine_transform(
            shape, [scale, 0, 0, -scale, 1 - left * scale, 1 + top * scale]
        )

    shape = placed(tile.outline)
    parts: list[Part] = []
    if tile.picture is not None:
        box = placed(shapely.box(*tile.picture.box)).bounds
        lies = over_box((box[0], box[1], box[2], box[3]))
        parts.append(Picture(tile.picture.data, lies, shape))
    else:
        parts.append(Area(shape, fill=tile.plain))
    parts.append(Area(shape, edge=1.0))
    if tile.picture is None:
        parts += _word(tile.family or "no colour yet", shape)
    return Drawing(tile_width(tile, scale), (top - bottom) * scale + 2, tuple(parts))


def _word(word: str, shape: Polygon) -> list[Part]:
    """Return a word on white in the middle of a shape, where there is room for it."""
    spot = shape.representative_point()
    half = len(word) * _SIGN / 2 + 3
    label = shapely.box(spot.x - half, spot.y - 8, spot.x + half, spot.y + 6)
    if not shape.contains(label):
        return []
    return [Area(label, fill=_WHITE), TextLine(word, spot.x, spot.y + 3, anchor="middle")]


def value_mark(value: Value | None) -> Drawing:
    """Return three boxes of which one, two or all are filled; nothing for a value not known."""
    filled = 0 if value is None else _FILLED[value]
    boxes = tuple(
        Area(
            shapely.box(1 + at * (_BOX + 2), 1, 1 + at * (_BOX + 2) + _BOX, 1 + _BOX),
            fill=_DARK_INK if at < filled else _WHITE,
            edge=1.0,
        )
        for at in range(3)
    )
    return Drawing(3 * _BOX + 6, _BOX + 2, boxes if filled else ())


def contact_drawing(sheet: ContactSheet) -> Drawing:
    """Return the whole sheet as one drawing, the wider the more tiles there are.

    Sections lie beside one another where they fit.
    """
    scale = contact_scale(sheet)
    columns = max(6, min(16, round((1.1 * sheet.tiles) ** 0.5)))
    inner = max(1.2 * columns * (_WIDE + _GAP), _WIDEST)
    parts: list[Part] = [TextLine(sheet.title, _MARGIN, 40, 22, bold=True)]
    y = 52.0
    for line in _wrapped(sheet.text, inner, 12):
        parts.append(TextLine(line, _MARGIN, y + 10, 12))
        y += 17
    parts += scale_bar(sheet).at(_MARGIN, y + 4)
    y += 22
    x = high = 0.0
    for section in sheet.sections:
        drawn = _whole_section(section, scale, inner)
        if x and x + drawn.width > inner:
            x, y, high = 0.0, y + high, 0.0
        parts += drawn.at(_MARGIN + x, y)
        x, high = x + drawn.width + 2 * _GAP, max(high, drawn.height)
    return Drawing(inner + 2 * _MARGIN, y + high + _MARGIN, tuple(parts))


def _whole_section(section: ContactSection, scale: float, most: float) -> Drawing:
    """Return a section in rows of at most `most` points."""
    rows: list[list[Drawing]] = [[]]
    wide = 0.0
    for tile in section.tiles:
        drawn = _whole_tile(tile, scale)
        if rows[-1] and wide + drawn.width > most:
            rows.append([])
            wide = 0.0
        rows[-1].append(drawn)
        wide += drawn.width + _GAP
    widths = [sum(one.width + _GAP for one in row) - _GAP for row in rows if row]
    title = len(section.title) * 16 * 0.58
    width = min(most, max([title, *widths], default=title))
    parts: list[Part] = [
        TextLine(section.title, 0, 30, 16, bold=True),
        Area(shapely.box(0, 37, width, 38.5), fill=_DARK_INK),
    ]
    y = _HEAD
    for line in _wrapped(section.text, width, 12):
        parts.append(TextLine(line, 0, y + 8, 12))
        y += 17
    for row in rows:
        x = 0.0
        for drawn in row:
            parts += drawn.at(x, y)
            x += drawn.width + _GAP
        y += max((drawn.height for drawn in row), default=0.0) + _GAP
    return Drawing(width, y, tuple(parts))


def _whole_tile(tile: Tile, scale: float) -> Drawing:
    drawn = tile_drawing(tile, scale)
    lines = tile_lines(tile)
    parts: list[Part] = list(drawn.parts)
    foot = drawn.height
    parts.append(TextLine(tile_title(tile), 0, foot + _LINE, 12, bold=True))
    mark = value_mark(tile.value)
    parts += mark.at(drawn.width - mark.width, foot + 5)
    longest = int(drawn.width / _SIGN)
    for at, line in enumerate(lines, 2):
        short = line if len(line) <= longest else f"{line[: longest - 1].rstrip()}…"
        parts.append(TextLine(short, 0, foot + at * _LINE))
    return Drawing(drawn.width, foot + _LINE * (1 + len(lines)), tuple(parts))


def _wrapped(text: str, width: float, size: float) -> list[str]:
    """Return `text` in lines that fit `width` points, reckoning half the size for each sign."""
    import textwrap

    return textwrap.wrap(text, max(16, int(width / (0.52 * size))))
