"""Contact sheets: scraps side by side, each cut to its outline, with words beside every colour.

Colour is never the only sign. Under each scrap stand its number, its family and its value in
words, and beside the value a mark of three boxes: one filled is light, two medium, three dark.
"""

from dataclasses import dataclass
from typing import Final, Literal

import shapely
from shapely import Polygon, affinity

from scrapstore.report.forms import ClothPicture, Rgb
from scrapstore.report.painting import Area, Drawing, Part, Picture, Words

__all__ = [
    "ContactSection",
    "ContactSheet",
    "Tile",
    "contact_drawing",
    "tile_drawing",
    "tile_lines",
    "value_mark",
]

Value = Literal["light", "medium", "dark"]

_WIDE: Final = 152.0  # points; the room for a scrap
_TALL: Final = 104.0
_GAP: Final = 16.0
_LINE: Final = 14.0
_MARGIN: Final = 24.0
_HEAD: Final = 46.0
_LONGEST: Final = 26  # signs of a line of 11 points that fit under a tile
_FILLED: Final[dict[Value, int]] = {"light": 1, "medium": 2, "dark": 3}
_BOX: Final = 7.0
_DARK_INK: Final[Rgb] = (26, 26, 26)


@dataclass(frozen=True)
class Tile:
    """One scrap on a contact sheet.

    `relative` is its value among the scraps on the sheet. `swatches` are (sRGB, share, family);
    they are drawn as stripes where there is no `picture`. `remark` says why it is here.
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

    @property
    def tiles(self) -> int:
        """How many tiles there are."""
        return sum(len(section.tiles) for section in self.sections)


def tile_lines(tile: Tile) -> tuple[str, ...]:
    """Return the words under a tile after its first line: all that its colours would tell."""
    value: str = tile.value or "value not known"
    if tile.relative is not None and tile.relative != tile.value:
        value += f" ({tile.relative} here)"
    accents = f"with {', '.join(tile.accents)}" if tile.accents else ""
    if tile.picture is None and len(tile.swatches) > 1:
        shares: dict[str, float] = {}
        for _, share, word in tile.swatches:
            shares[word] = shares.get(word, 0.0) + share
        largest = sorted(shares, key=lambda word: -shares[word])
        accents = ", ".join(f"{word} {shares[word]:.0%}" for word in largest)
    return tuple(filter(None, (tile.name, tile.size, value, accents, tile.remark)))


def tile_title(tile: Tile) -> str:
    """Return the first line: the scrap's number and family."""
    return f"{tile.number}  {tile.family or 'no colour yet'}"


def tile_drawing(tile: Tile) -> Drawing:
    """Return the scrap cut to its outline, as large as its room allows."""
    left, bottom, right, top = tile.outline.bounds
    scale = min((_WIDE - 4) / (right - left), (_TALL - 4) / (top - bottom))
    across, down = (right - left) * scale, (top - bottom) * scale
    x0, y0 = (_WIDE - across) / 2, (_TALL - down) / 2

    def placed(shape: Polygon) -> Polygon:
        # y up in inches becomes y down on the sheet.
        return affinity.affine_transform(
            shape, [scale, 0, 0, -scale, x0 - left * scale, y0 + top * scale]
        )

    shape = placed(tile.outline)
    parts: list[Part] = []
    if tile.picture is not None:
        box = placed(shapely.box(*tile.picture.box)).bounds
        parts.append(Picture(tile.picture.data, (box[0], box[1], box[2], box[3]), shape))
    else:
        parts += _stripes(shape, tile.swatches)
    parts.append(Area(shape, edge=1.0))
    if tile.picture is None and not tile.swatches:
        middle = shape.representative_point()
        parts.append(Words("no photo", middle.x, middle.y + 4, anchor="middle"))
    return Drawing(_WIDE, _TALL, tuple(parts))


def _stripes(shape: Polygon, swatches: tuple[tuple[Rgb, float, str], ...]) -> list[Part]:
    """Return a stripe for each colour, as wide as its share of the area is."""
    left, top, right, bottom = shape.bounds
    total = sum(share for _, share, _ in swatches)
    parts: list[Part] = []
    start = left
    for rgb, share, _ in swatches:
        end = start + (right - left) * share / total
        stripe = shape.intersection(shapely.box(start, top, end, bottom))
        parts += [
            Area(piece, fill=rgb)
            for piece in shapely.get_parts(stripe).tolist()
            if isinstance(piece, Polygon) and not piece.is_empty
        ]
        start = end
    return parts


def value_mark(value: Value | None) -> Drawing:
    """Return three boxes of which one, two or all are filled; nothing for a value not known."""
    filled = 0 if value is None else _FILLED[value]
    boxes = tuple(
        Area(
            shapely.box(1 + at * (_BOX + 2), 1, 1 + at * (_BOX + 2) + _BOX, 1 + _BOX),
            fill=_DARK_INK if at < filled else (255, 255, 255),
            edge=1.0,
        )
        for at in range(3)
    )
    return Drawing(3 * _BOX + 6, _BOX + 2, boxes if filled else ())


def contact_drawing(sheet: ContactSheet) -> Drawing:
    """Return the whole sheet as one drawing, the wider the more tiles there are."""
    columns = max(6, min(16, round((1.1 * sheet.tiles) ** 0.5)))
    width = 2 * _MARGIN + columns * (_WIDE + _GAP) - _GAP
    parts: list[Part] = [Words(sheet.title, _MARGIN, 40, 22, bold=True)]
    y = 52.0
    for line in _wrapped(sheet.text, width - 2 * _MARGIN, 12):
        parts.append(Words(line, _MARGIN, y + 10, 12))
        y += 17
    for section in sheet.sections:
        parts.append(Words(section.title, _MARGIN, y + 30, 16, bold=True))
        parts.append(Area(shapely.box(_MARGIN, y + 37, width - _MARGIN, y + 38.5), fill=_DARK_INK))
        y += _HEAD
        for line in _wrapped(section.text, width - 2 * _MARGIN, 12):
            parts.append(Words(line, _MARGIN, y + 8, 12))
            y += 17
        for start in range(0, len(section.tiles), columns):
            row = section.tiles[start : start + columns]
            for column, tile in enumerate(row):
                parts += _whole_tile(tile).at(_MARGIN + column * (_WIDE + _GAP), y)
            y += _TALL + _LINE * (1 + max(len(tile_lines(tile)) for tile in row)) + _GAP
    return Drawing(width, y + _MARGIN, tuple(parts))


def _whole_tile(tile: Tile) -> Drawing:
    lines = tile_lines(tile)
    parts: list[Part] = list(tile_drawing(tile).parts)
    parts.append(Words(tile_title(tile), 0, _TALL + _LINE, 12, bold=True))
    mark = value_mark(tile.value)
    parts += mark.at(_WIDE - mark.width, _TALL + 5)
    for at, line in enumerate(lines, 2):
        short = line if len(line) <= _LONGEST else f"{line[: _LONGEST - 1].rstrip()}…"
        parts.append(Words(short, 0, _TALL + at * _LINE))
    return Drawing(_WIDE, _TALL + _LINE * (1 + len(lines)), tuple(parts))


def _wrapped(text: str, width: float, size: float) -> list[str]:
    """Return `text` in lines that fit `width` points, reckoning half the size for each sign."""
    import textwrap

    return textwrap.wrap(text, max(20, int(width / (0.52 * size))))
