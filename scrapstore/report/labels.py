"""Labels for scraps, each with its number, words, and a code that `find --label` reads in a photo.

A drawing here is in points, x to the right and y down; it is painted on paper or as pixels.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Final

import shapely
from shapely import Polygon

from scrapstore.photo.label_texts import label_text
from scrapstore.report.contact import Tile, tile_drawing
from scrapstore.report.painting import Area, Drawing, Part, TextLine
from scrapstore.report.pdf.lettering import fitting, text_width

__all__ = ["CODE_SIDE", "LABEL_SIZE", "Label", "code_parts", "label_drawing", "tile_label_drawing"]

LABEL_SIZE: Final = (252.0, 126.0)
"""Width and height of a label to pin: 3½ × 1¾ in, ten on a page."""
CODE_SIDE: Final = 79.8
"""Side of the code on it, 21 modules of 3.8 points: 1.1 in, for a photo of a whole table."""
_QUIET: Final = 4 * CODE_SIDE / 21
"""White round a code, which ISO/IEC 18004 asks for: four modules."""
_SMALL_CODE: Final = 50.4
"""On a sheet for a box, which is held before the camera: 0.7 in."""
_RIGHT: Final = 10.0
_LINE: Final = 13.0
_NUMBER: Final = 30.0
_WORDS: Final = 10.0
_SMALL: Final = 8.0


@dataclass(frozen=True)
class Label:
    """What stands on a label: the scrap's number, and lines that say what it is.

    `colour` is in words, for eyes that see no colour and printers that print none.
    """

    number: int
    size: str
    colour: str
    name: str
    place: str = ""


def label_drawing(label: Label) -> Drawing:
    """Return the label with the line to cut it out along, and a line to write on."""
    wide, tall = LABEL_SIZE
    x = 2 * _QUIET + CODE_SIDE
    parts: list[Part] = [Area(shapely.box(0, 0, wide, tall), edge=0.5)]
    parts += code_parts(label_text(label.number), _QUIET, _QUIET, CODE_SIDE)
    y = tall - 9
    parts.append(Area(shapely.Point(_QUIET + 5, y - 3).buffer(4), edge=0.8))
    parts.append(TextLine("pin here", _QUIET + 13, y, _SMALL))
    room = wide - x - _RIGHT
    parts.append(TextLine(f"{label.number}", x, 34, _NUMBER, bold=True))
    lines = (label.size, label.colour, label.name, label.place and f"in: {label.place}")
    for at, line in enumerate(line for line in lines if line):
        size, bold = _WORDS, at == 0
        parts.append(TextLine(_cut(line, room, size, bold=bold), x, 50 + at * _LINE, size, bold))
    parts.append(Area(shapely.box(x, tall - 12, wide - _RIGHT, tall - 11.5), fill=(120, 120, 120)))
    return Drawing(wide, tall, tuple(parts))


def tile_label_drawing(tile: Tile, width: float, height: float, scale: float) -> Drawing:
    """Return a scrap of a sheet for a box: its cloth, `scale` points for an inch, and its label."""
    cloth = tile_drawing(tile, scale)
    foot = height - _SMALL_CODE - 12
    left, _, right, _ = tile.outline.bounds
    shown = (right - left) * scale + 2
    parts: list[Part] = [Area(shapely.box(0, 0, width, height), edge=0.5)]
    parts += cloth.at((width - shown) / 2, 4 + (foot - 8 - cloth.height) / 2)
    quiet = 4 * _SMALL_CODE / 21
    parts += code_parts(label_text(tile.number), quiet, foot + 2, _SMALL_CODE)
    x = 2 * quiet + _SMALL_CODE
    parts.append(TextLine(f"{tile.number}", x, foot + 18, 18, bold=True))
    words = ", ".join(filter(None, (tile.family or "no colour yet", tile.value)))
    for at, line in enumerate((tile.size, words, tile.name)):
        short = _cut(line, width - x - 4, _SMALL)
        parts.append(TextLine(short, x, foot + 30 + at * 11, _SMALL))
    return Drawing(width, height, tuple(parts))


def code_parts(text: str, x: float, y: float, side: float) -> Iterator[Part]:
    """Yield the dark of a code as areas, its upper left corner at (x, y).

    `text` is of the alphanumeric set, at most 16 signs, so that it fits 21 modules a side with a
    quarter of them spoilt (version 1, level Q).
    """
    module = side / 21
    for shape in _dark(text):
        yield Area(
            shapely.transform(shape, lambda at: at * module + (x, y)), fill=(0, 0, 0)
        )  # joined, so that no hair lines show between modules


@cache
def _dark(text: str) -> Sequence[Polygon]:
    """Return the dark of a code in modules, the upper left corner at (0, 0)."""
    from reportlab.graphics.barcode.qrencoder import QRCode, QRErrorCorrectLevel

    code = QRCode(1, QRErrorCorrectLevel.Q)
    code.addData(text)
    code.make()
    boxes = [
        shapely.box(column, row, column + 1, row + 1)
        for row, modules in enumerate(code.modules)
        for column, dark in enumerate(modules)
        if dark
    ]
    parts = shapely.get_parts(shapely.union_all(boxes)).tolist()
    return [part for part in parts if isinstance(part, Polygon)]


def _cut(line: str, room: float, size: float, *, bold: bool = False) -> str:
    """Return a line that is no longer than `room` points, with dots where it was cut."""
    line = fitting(line)
    if text_width(line, size, bold=bold) <= room:
        return line
    while line and text_width(f"{line}…", size, bold=bold) > room:
        line = line[:-1]
    return f"{line.rstrip(' ,')}…"
