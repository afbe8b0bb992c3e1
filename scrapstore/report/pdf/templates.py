"""``templates.pdf``: the pieces at true size, to be cut out and cut round.

One that is larger than a page is tiled: its parts overlap, and crosses that stand on two of them
are laid on one another.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final
from xml.etree import ElementTree as ET

from shapely import Polygon, box

from scrapstore.report.forms import Template
from scrapstore.report.pdf.lettering import text_width
from scrapstore.report.pdf.pages import BODY, NOTE, SMALL, TITLE, Pages
from scrapstore.report.pdf.painting import drawing_size, paint_drawing, put_text
from scrapstore.report.template_drawing import draw_template, grain_line
from scrapstore.units import Paper

__all__ = ["templates_pdf"]

_CHECK: Final = 6 * 72.0
_CHECK_HIGH: Final = 44.0  # points for the line to check the printer with, and its words
_OVERLAP: Final = 0.5 * 72.0
_GAP: Final = 14.0  # points between two templates of a page
_RIM: Final = 2.0  # points round a template, for half of its line
_KEY: Final = 60.0  # points; the longer side of the small picture of how tiles join
_CROSS: Final = 8.0
_NAMES: Final = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
_SEAM: Final = "Solid line: cut along it. Broken line: the seam."


def templates_pdf(project: str, templates: Sequence[Template], paper: Paper) -> bytes:
    """Return the document, a page at least."""
    pages = Pages(paper, f"Templates: {project}", f"Templates at true size: {project}")
    _begin(pages)
    for template in templates:
        _put(pages, template)
    return pages.finished()


def _begin(pages: Pages) -> None:
    """Put the line to check the printer with at the foot of the page."""
    y = pages.bottom + 22
    canvas = pages.canvas
    canvas.setLineWidth(0.8)
    x = pages.left
    canvas.line(x, y, x + _CHECK, y)
    for k in range(7):
        canvas.line(x + k * 72, y, x + k * 72, y + 7)
    for k in range(16):
        at = x + k * 72 / 2.54
        canvas.line(at, y, at, y - 5)
    for k, figure in ((0, "0"), (6, "6 in (15.24 cm)")):
        put_text(canvas, figure, x + k * 72 + 3, y + 2, NOTE)
    put_text(canvas, "inches", x + 75, y + 2, NOTE)
    put_text(canvas, "centimetres", x + 30, y - 9, NOTE)
    words = "Print at 100 % (“actual size”), and lay a ruler along this line before you cut:"
    put_text(canvas, words, x, y + 14, SMALL)
    pages.bottom += _CHECK_HIGH


def _turn(pages: Pages) -> None:
    pages.turn()
    pages.bottom -= _CHECK_HIGH
    _begin(pages)


def _head(template: Template, tile: str = "") -> list[tuple[str, float, bool]]:
    """Return the lines above a template: text, size, whether bold."""
    count = ", ".join(
        f"{count} {letter}" for count, letter in zip(template.counts, template.letters, strict=True)
    )
    names = ", ".join(
        f"{letter} {name}" for letter, name in zip(template.letters, template.names, strict=True)
    )
    return [
        (f"Template {names}{tile and f': tile {tile}'}", TITLE, True),
        (f"Cut {count}. Cut size: {', '.join(template.sizes)}. Finishes as {template.finishes_as}.",
         BODY, False),
        (f"{grain_line(template)} {_SEAM}", SMALL, False),
    ]  # fmt: skip


def _head_height(pages: Pages, lines: Sequence[tuple[str, float, bool]], width: float) -> float:
    return sum(pages.height(text, width, size, bold=bold) for text, size, bold in lines) + 6


def _put(pages: Pages, template: Template) -> None:
    """Put a template where there is room: on this page, on the next, or on several."""
    full = pages.top - pages.bottom
    lines = _head(template)
    head = _head_height(pages, lines, pages.width)
    for one in (template, template.turned):
        drawing = draw_template(one)
        wide, tall = drawing_size(drawing)
        if wide + 2 * _RIM > pages.width or head + tall + 2 * _RIM > full:
            continue
        if head + tall + 2 * _RIM > pages.room:
            _turn(pages)
        _write(pages, lines, pages.width)
        pages.drawing(drawing, pages.left + _RIM, pages.y - _RIM)
        pages.y -= tall + 2 * _RIM + _GAP
        return
    if pages.y < pages.top:
        _turn(pages)
    _put_tiles(pages, template)


def _write(pages: Pages, lines: Sequence[tuple[str, float, bool]], width: float) -> None:
    for text, size, bold in lines:
        pages.words(text, size, bold=bold, width=width)
    pages.y -= 6


@dataclass(frozen=True)
class _Tiling:
    """How a template is parted: `wide` and `tall` are of a tile, lengths in points.

    `used` holds (row, column) of the tiles on which there is anything of it.
    """

    rows: int
    columns: int
    wide: float
    tall: float
    used: tuple[tuple[int, int], ...]

    def corner(self, row: int, column: int) -> tuple[float, float]:
        """Return the upper left corner of a tile in the drawing."""
        return column * (self.wide - _OVERLAP) - _RIM, row * (self.tall - _OVERLAP) - _RIM


def _tiling(shape: Polygon, wide: float, tall: float) -> _Tiling:
    """Return the tiling of a shape, in points and y down, from its upper left corner."""
    _, _, right, low = shape.bounds

    def count(length: float, tile: float) -> int:
        return max(1, math.ceil((length + 2 * _RIM - _OVERLAP) / (tile - _OVERLAP)))

    plan = _Tiling(count(low, tall), count(right, wide), wide, tall, ())
    used = []
    for row in range(plan.rows):
        for column in range(plan.columns):
            x, y = plan.corner(row, column)
            if shape.intersects(box(x, y, x + wide, y + tall)):
                used.append((row, column))
    return _Tiling(plan.rows, plan.columns, wide, tall, tuple(used))


def _put_tiles(pages: Pages, template: Template) -> None:
    """Put a template on several pages, a tile on each."""
    text_room = pages.width - 1.6 * _KEY
    head = max(_head_height(pages, _head(template, "A1 of 10"), text_room) + 24, 1.4 * _KEY)
    wide, tall = pages.width, pages.top - pages.bottom - head
    choices = []
    for one in (template, template.turned):
        drawing = draw_template(one)
        choices.append((_tiling(_shape_of(one), wide, tall), one, drawing))
    plan, chosen, drawing = min(choices, key=lambda choice: len(choice[0].used))
    for number, (row, column) in enumerate(plan.used):
        if number:
            _turn(pages)
        name = _name(row, column)
        lines = _head(chosen, f"{name} of {len(plan.used)} tiles")
        lines.append((_join_words(plan, row, column), SMALL, False))
        _key(pages, plan, chosen, (row, column))
        _write(pages, lines, text_room)
        _tile(pages, plan, drawing, (row, column), pages.top - head)
        pages.y = pages.bottom


def _shape_of(template: Template) -> Polygon:
    left, _, _, top = template.cut.bounds
    return Polygon([((x - left) * 72, (top - y) * 72) for x, y in template.cut.exterior.coords])


def _name(row: int, column: int) -> str:
    return f"{_NAMES[row % len(_NAMES)]}{column + 1}"


def _join_words(plan: _Tiling, row: int, column: int) -> str:
    sides = (("left", 0, -1), ("right", 0, 1), ("above", -1, 0), ("below", 1, 0))
    others = [
        f"{_name(row + down, column + on)} {side}"
        for side, down, on in sides
        if (row + down, column + on) in plan.used
    ]
    return f"Lay crosses of the same number on one another, and glue: {', '.join(others)}."


def _marks(plan: _Tiling) -> list[tuple[float, float, int]]:
    """Return the crosses in the drawing: in the middle of what two tiles share, two a side."""
    found: list[tuple[float, float, int]] = []
    for row, column in plan.used:
        x, y = plan.corner(row, column)
        if (row, column + 1) in plan.used:
            at = x + plan.wide - _OVERLAP / 2
            found += [(at, y + plan.tall * share, 0) for share in (0.25, 0.75)]
        if (row + 1, column) in plan.used:
            at = y + plan.tall - _OVERLAP / 2
            found += [(x + plan.wide * share, at, 0) for share in (0.25, 0.75)]
    return [(x, y, number) for number, (x, y, _) in enumerate(found, 1)]


def _tile(
    pages: Pages, plan: _Tiling, drawing: ET.Element, place: tuple[int, int], top: float
) -> None:
    """Paint one tile below `top`."""
    canvas, (x, y) = pages.canvas, plan.corner(*place)
    left = pages.left
    canvas.setLineWidth(0.4)
    canvas.setStrokeGray(0.55)
    canvas.rect(left, top - plan.tall, plan.wide, plan.tall, stroke=1, fill=0)
    canvas.setStrokeGray(0)
    canvas.saveState()
    path = canvas.beginPath()
    path.rect(left, top - plan.tall, plan.wide, plan.tall)
    canvas.clipPath(path, stroke=0, fill=0)
    paint_drawing(canvas, drawing, left - x, top + y)
    canvas.restoreState()
    canvas.setLineWidth(0.6)
    for at_x, at_y, number in _marks(plan):
        on_x, on_y = left + at_x - x, top - (at_y - y)
        inside = left < on_x < left + plan.wide and top - plan.tall < on_y < top
        if inside:
            canvas.circle(on_x, on_y, _CROSS / 2, stroke=1, fill=0)
            canvas.line(on_x - _CROSS, on_y, on_x + _CROSS, on_y)
            canvas.line(on_x, on_y - _CROSS, on_x, on_y + _CROSS)
            put_text(canvas, str(number), on_x + 5, on_y + 3, NOTE)
    name = f"tile {_name(*place)}"
    put_text(canvas, name, left + plan.wide / 2 - text_width(name, BODY) / 2, top - plan.tall + 4,
             BODY)  # fmt: skip


def _key(pages: Pages, plan: _Tiling, template: Template, place: tuple[int, int]) -> None:
    """Draw at the upper right how the tiles join, this one grey."""
    canvas = pages.canvas
    wide = plan.columns * (plan.wide - _OVERLAP) + _OVERLAP
    tall = plan.rows * (plan.tall - _OVERLAP) + _OVERLAP
    scale = min(1.4 * _KEY / wide, 1.2 * _KEY / tall)
    left, top = pages.right - wide * scale, pages.top
    canvas.setLineWidth(0.5)
    for row, column in plan.used:
        x, y = plan.corner(row, column)
        # The last of a row or column reaches further by the overlap, which hardly shows.
        size = ((plan.wide - _OVERLAP) * scale, (plan.tall - _OVERLAP) * scale)
        canvas.setFillGray(0.82 if (row, column) == place else 1)
        corner = (left + (x + _RIM) * scale, top - (y + _RIM) * scale - size[1])
        canvas.rect(*corner, *size, stroke=1, fill=1)
    path = canvas.beginPath()
    for index, (x, y) in enumerate(_shape_of(template).exterior.coords):
        (path.lineTo if index else path.moveTo)(left + x * scale, top - y * scale)
    canvas.setLineWidth(1.0)
    canvas.drawPath(path, stroke=1, fill=0)
    canvas.setFillGray(0)
    for row, column in plan.used:
        x, y = plan.corner(row, column)
        name = _name(row, column)
        middle = left + (x + (plan.wide - _OVERLAP) / 2) * scale - text_width(name, NOTE) / 2
        put_text(canvas, name, middle, top - (y + (plan.tall - _OVERLAP) / 2) * scale - 3, NOTE)
