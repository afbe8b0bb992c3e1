"""Labels on paper: ten to a page, to cut apart; or a sheet for each box, with its scraps on it."""

from collections.abc import Sequence
from typing import Final

from scrapstore.report.contact import Tile
from scrapstore.report.labels import LABEL_SIZE, Label, label_drawing, tile_label_drawing
from scrapstore.report.painting import Drawing, svg_drawing
from scrapstore.report.pdf.pages import NOTE, TITLE, Pages
from scrapstore.units import Paper

__all__ = ["boxes_pdf", "labels_pdf"]

_HOW: Final = (
    "Cut along the lines. The code may be crossed by a fold, not by ink: write on the line. "
    "Pins: pin through the mark, count them out and back in, keep them and small cut labels away "
    "from children and animals, and take pins and paper out before you press, sew or cut. Where a "
    "pin would leave a hole, use a clip."
)
_BOX_HOW: Final = (
    "Fasten it to the box. scrapstore find --label PHOTO reads the codes of a photo of it; "
    "scrapstore stocktake compares what is there with the store."
)
_COLUMNS: Final = 4
_CELL_HIGH: Final = 150.0
_CLOTH_HIGH: Final = 76.0
_RIM: Final = 8.0
_LARGEST_SCALE: Final = 24.0  # points for an inch


def labels_pdf(labels: Sequence[Label], paper: Paper) -> bytes:
    """Return the labels in rows, as many on a page as it holds whole."""
    title = f"Labels: {len(labels)} scrap{'' if len(labels) == 1 else 's'}"
    pages = Pages(paper, title, title)
    _head(pages, title, _HOW)
    columns = int(pages.width // LABEL_SIZE[0])
    _grid(pages, [label_drawing(label) for label in labels], columns)
    return pages.finished()


def boxes_pdf(boxes: Sequence[tuple[str, Sequence[Tile]]], paper: Paper) -> bytes:
    """Return a sheet for each place, with its scraps in their cloth, all of it at one scale."""
    pages = Pages(paper, "Scraps by place", "Scraps by place")
    width = pages.width / _COLUMNS
    for at, (place, tiles) in enumerate(boxes):
        if at:
            pages.turn()
        count = f"{len(tiles)} scrap{'' if len(tiles) == 1 else 's'}"
        _head(pages, f"{place or 'No place noted'}: {count}", _BOX_HOW)
        scale = _LARGEST_SCALE
        for tile in tiles:
            left, low, right, high = tile.outline.bounds
            scale = min(scale, (width - _RIM) / (right - left), _CLOTH_HIGH / (high - low))
        cells = [tile_label_drawing(tile, width, _CELL_HIGH, scale) for tile in tiles]
        _grid(pages, cells, _COLUMNS)
    return pages.finished()


def _head(pages: Pages, title: str, how: str) -> None:
    pages.words(title, TITLE, bold=True)
    pages.words(how, NOTE)
    pages.y -= 6


def _grid(pages: Pages, cells: Sequence[Drawing], columns: int) -> None:
    """Put drawings of one size in rows edge to edge, so that one cut parts two."""
    for start in range(0, len(cells), columns):
        row = cells[start : start + columns]
        if pages.room < row[0].height:
            pages.turn()
        for at, cell in enumerate(row):
            name = f"cell-{start + at}"
            pages.drawing(svg_drawing(cell, name), pages.left + at * cell.width, pages.y)
        pages.y -= row[0].height
