"""Arrangements drawn in their own cloth: a contact sheet to choose from, or one alone.

Beside each stands the same in grey, for what a colour is light or dark beside its neighbours.
"""

import textwrap
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Final

from shapely import affinity, box

from scrapstore.colour import colour_words, lab_to_srgb
from scrapstore.designs.arranging import OfferedCloth
from scrapstore.planning.arranging.cuts import PlacePiece
from scrapstore.planning.arranging.result import Arranged, CuttableWay
from scrapstore.planning.cloth_on_top import lie_of_cloth
from scrapstore.report.arrange_text import lies_words, why_words
from scrapstore.report.cloth_pictures import cloth_picture
from scrapstore.report.forms import ClothPicture, Rgb
from scrapstore.report.painting import Area, Drawing, Part, TextLine
from scrapstore.report.picture_file import write_picture
from scrapstore.report.top_picture import Patch, top_drawing
from scrapstore.settings import Settings
from scrapstore.store import Scrap, StockFilter, Store

__all__ = ["sheet_drawing", "way_patches", "write_arrangements"]

_PIXELS: Final = 900  # of a scrap's picture
_SIDE: Final = 210.0  # points; of a top on the sheet
_SMALL: Final = 84.0  # of the same in grey
_MARGIN: Final = 24.0
_GAP: Final = 22.0
_LINE: Final = 12.5
_WORDS: Final = 9.0
_LETTERS: Final = 72  # to the line of a tile
_MOST_LINES: Final = 4
_SWATCH: Final = 30.0
_BOX: Final = box(-0.8, -0.4, 0.8, 0.4)  # inches of cloth in a swatch
_AS_IT_LIES: Final = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
_KEY_LINE: Final = 21.0
_WHITE: Final[Rgb] = (255, 255, 255)
_OTHERS: Final[Rgb] = (250, 248, 243)
"""Pieces of roles that are not arranged."""
_IN_A_ROW: Final = 2


def write_arrangements(
    store: Store,
    arranged: Arranged,
    ways: Sequence[tuple[int, CuttableWay]],
    file: Path,
    settings: Settings,
    *,
    grey: bool = False,
    alone: bool = False,
) -> Path:
    """Draw these ways by their numbers to `file`, a single one `alone` if wanted.

    Return where it is. Raises as `write_picture` does.
    """
    numbers = {piece.scrap for _, way in ways for piece in way.pieces if piece.scrap is not None}
    scraps: dict[int, Scrap] = {}
    if numbers:
        with store.read() as reader:
            found = reader.scraps(StockFilter(ids=tuple(sorted(numbers)), statuses=()))
        scraps = {scrap.id: scrap for scrap in found}
    seen = {number: cloth_picture(store, scrap, _PIXELS) for number, scrap in scraps.items()}
    pictures = {number: one for number, one in seen.items() if one is not None}
    title = arranged.project.name
    if alone:
        ((number, way),) = ways
        said = f"{title}: {number}, {', '.join(way.arrangement.schemes)}"
        patches = way_patches(arranged, way, scraps)
        drawing = top_drawing(said, patches, pictures, grey=grey)
    else:
        drawing = sheet_drawing(arranged, ways, scraps, pictures, grey=grey)
    return write_picture(drawing, file, "arranged", title=title, paper=settings.page)


def way_patches(
    arranged: Arranged, way: CuttableWay, scraps: Mapping[int, Scrap]
) -> tuple[Patch, ...]:
    """Return every piece of the top, those arranged with the part of the scrap that they show."""
    design, job = arranged.project.design, arranged.job
    assert design is not None
    spots = {piece.position: piece for piece in design.pieces}
    needs = {need.name: need for need in arranged.project.pieces}
    patches = [
        Patch(piece.position, piece.outline, _OTHERS, f"{piece.role}, not arranged")
        for piece in design.pieces
        if piece.role not in arranged.roles
    ]
    for place, cloth, piece in zip(
        job.top.places, way.arrangement.cloth_of, way.pieces, strict=True
    ):
        spot, lies = spots[place.position], arranged.own_placement(piece)
        to_scrap = None
        if lies is not None and piece.scrap is not None:
            need = needs[place.line]
            scrap = scraps[piece.scrap]
            lie = lie_of_cloth(spot.outline, need.shape.outline, need.cut, scrap, lies)
            to_scrap = None if lie is None else lie.to_scrap
        patches.append(
            Patch(
                place.position, place.outline, _rgb(job.cloths[cloth]), _word(job.cloths[cloth]),
                scrap=piece.scrap, to_scrap=to_scrap,
            )
        )  # fmt: skip
    return tuple(patches)


def _rgb(cloth: OfferedCloth) -> Rgb:
    red, green, blue = (min(255, max(0, round(part))) for part in lab_to_srgb(cloth.lab).tolist())
    return red, green, blue


def _word(cloth: OfferedCloth) -> str:
    """Return the cloth's name and its colour in words."""
    if "(" in cloth.word:
        return cloth.word
    looks = colour_words(cloth.family, cloth.value, unknown="colour not known")
    return f"{cloth.word} ({looks})"


def sheet_drawing(
    arranged: Arranged,
    ways: Sequence[tuple[int, CuttableWay]],
    scraps: Mapping[int, Scrap],
    pictures: Mapping[int, ClothPicture],
    *,
    grey: bool = False,
) -> Drawing:
    """Return the contact sheet: a tile for each way, and one key of all their cloths."""
    tiles = [_tile(arranged, number, way, scraps, pictures, grey=grey) for number, way in ways]
    wide = _SIDE + _GAP / 2 + _SMALL
    parts: list[Part] = [TextLine(arranged.project.name, _MARGIN, _MARGIN + 10, 15.0, bold=True)]
    top = _MARGIN + 28.0
    for begin in range(0, len(tiles), _IN_A_ROW):
        row = tiles[begin : begin + _IN_A_ROW]
        for column, tile in enumerate(row):
            parts += tile.at(_MARGIN + column * (wide + _GAP), top)
        top += max(tile.height for tile in row) + _GAP
    width = 2 * _MARGIN + _IN_A_ROW * wide + (_IN_A_ROW - 1) * _GAP
    key = _key(arranged, ways, pictures, width, top, grey=grey)
    height = max([part.y for part in key if isinstance(part, TextLine)], default=top) + _MARGIN
    paper = Area(box(0, 0, width, height), _WHITE)
    return Drawing(width, height, (paper, *parts, *key))


def _tile(
    arranged: Arranged,
    number: int,
    way: CuttableWay,
    scraps: Mapping[int, Scrap],
    pictures: Mapping[int, ClothPicture],
    *,
    grey: bool,
) -> Drawing:
    """Return one way with its number, what lies where, and itself in grey."""
    patches = way_patches(arranged, way, scraps)
    large = top_drawing("", patches, pictures, grey=grey, bare=True, side=_SIDE)
    head = f"{number}   {', '.join(way.arrangement.schemes)}"
    parts: list[Part] = [TextLine(head, 0.0, 12.0, 12.0, bold=True)]
    text = textwrap.wrap(f"{why_words(way)} {lies_words(way)}.", _LETTERS)
    if len(text) > _MOST_LINES:
        text = [*text[: _MOST_LINES - 1], f"{text[_MOST_LINES - 1]} …"]
    y = 12.0
    for line in text:
        y += _LINE
        parts.append(TextLine(line, 0.0, y, _WORDS))
    y += _LINE
    parts += large.at((_SIDE - large.width) / 2, y)
    if not grey:
        small = top_drawing("", patches, pictures, grey=True, bare=True, side=_SMALL)
        parts += small.at(_SIDE + _GAP / 2, y + large.height - small.height)
    return Drawing(_SIDE + _GAP / 2 + _SMALL, y + large.height, tuple(parts))


def _key(
    arranged: Arranged,
    ways: Sequence[tuple[int, CuttableWay]],
    pictures: Mapping[int, ClothPicture],
    width: float,
    top: float,
    *,
    grey: bool,
) -> list[Part]:
    """Return a swatch and the words for every cloth on the sheet, in columns."""
    shown: dict[str, Patch] = {}
    for _, way in ways:
        for piece, cloth in zip(way.pieces, way.arrangement.cloth_of, strict=True):
            word = _word(arranged.job.cloths[cloth])
            if word not in shown or (piece.scrap in pictures and shown[word].scrap is None):
                shown[word] = _swatch(arranged, piece, arranged.job.cloths[cloth], pictures)
    others = [role for role in _roles(arranged) if role not in arranged.roles]
    shown |= {f"{role}, not arranged": Patch("", _BOX, _OTHERS, "") for role in others}
    columns = max(1, min(3, len(shown)))
    each = (width - 2 * _MARGIN) / columns
    rows = -(-len(shown) // columns)
    parts: list[Part] = []
    for k, (word, patch) in enumerate(sorted(shown.items())):
        x, y = _MARGIN + (k // rows) * each, top + (k % rows) * _KEY_LINE
        swatch = top_drawing("", [patch], pictures, grey=grey, bare=True, side=_SWATCH)
        parts += swatch.at(x, y)
        parts.append(TextLine(word, x + _SWATCH + 7, y + 11.5, 10.0))
    return parts


def _roles(arranged: Arranged) -> list[str]:
    assert arranged.project.design is not None
    return list(dict.fromkeys(piece.role for piece in arranged.project.design.pieces))


def _swatch(
    arranged: Arranged, piece: PlacePiece, cloth: OfferedCloth, pictures: Mapping[int, ClothPicture]
) -> Patch:
    """Return a box of the cloth round the middle of a piece, in its scrap's inches."""
    lies = arranged.own_placement(piece)
    if lies is None or piece.scrap not in pictures:
        return Patch("", _BOX, _rgb(cloth), "")
    middle = lies.outline.centroid
    spot = affinity.translate(_BOX, middle.x, middle.y)
    return Patch("", spot, _rgb(cloth), "", scrap=piece.scrap, to_scrap=_AS_IT_LIES)
