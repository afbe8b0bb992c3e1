"""A card for each scrap and each strip: its drawing, its pieces and its cuts, to be ticked off."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final
from xml.etree import ElementTree as ET

from scrapstore.report.cut_words import CutWords
from scrapstore.report.forms import PieceLine
from scrapstore.report.pdf.lettering import text_width, wrapped
from scrapstore.report.pdf.pages import BODY, NOTE, SMALL, TITLE, Pages
from scrapstore.report.pdf.painting import drawing_size, paint_drawing, put_text
from scrapstore.report.step_drawing import draw_step
from scrapstore.shapes import CuttingPlan, cut_parts

__all__ = ["Card", "put_card"]

_COLUMNS: Final = 4
_GAP: Final = 12.0  # points between columns, and between cards
_STEP_TALL: Final = 78.0  # points; the picture of a step
_LEAST_BESIDE: Final = 130.0  # points; words narrower than that go below the drawing
_LEADING: Final = 1.22
_BEFORE: Final = 6.0


@dataclass(frozen=True)
class Card:
    """What a card shows: `title` and the sentences `said` above, `notes` below the pieces.

    `alike` are the labels of pieces that are cut in the same way from other cloth. `heading` goes
    before the first card of a section, with a paragraph.
    """

    title: str
    said: tuple[str, ...]
    drawing: ET.Element
    plan: CuttingPlan
    words: CutWords
    notes: tuple[str, ...] = ()
    alike: tuple[str, ...] = ()
    heading: tuple[str, str] | None = None
    tick: bool = False


@dataclass(frozen=True)
class _Cell:
    """A step of a card: its name, its picture, where it has one, and its sentence.

    Where the ruler is laid several times, further cells show the later ones.
    """

    name: str
    text: str
    picture: ET.Element | None
    tick: bool = False

    @property
    def picture_tall(self) -> float:
        return 0.0 if self.picture is None else drawing_size(self.picture)[1]


def put_card(pages: Pages, card: Card, lines: dict[str, PieceLine]) -> None:
    """Put a card below what is on the page; its steps go on on further pages where they must."""
    wide, tall = drawing_size(card.drawing)
    beside = pages.width - wide - _GAP >= _LEAST_BESIDE
    width = pages.width - wide - _GAP if beside else pages.width
    blocks = _piece_blocks(card, lines, width)
    words = sum(block.tall for block in blocks)
    words += sum(pages.height(note, width, NOTE) for note in card.notes)
    head = pages.height(card.title, pages.width, TITLE, bold=True) + sum(
        pages.height(text, pages.width, SMALL) for text in card.said
    )
    rows = _rows(_cells(card, (pages.width - (_COLUMNS - 1) * _GAP) / _COLUMNS))
    body = max(tall, words) if beside else tall + words
    first = _row_tall(rows[0], pages) if rows else 0.0
    if card.heading is not None:
        head += 3 * TITLE + pages.height(card.heading[1], pages.width)
    if pages.y < pages.top:
        pages.y -= _GAP
        if head + body + first + 2 * _BEFORE > pages.room:
            pages.turn()
    if card.heading is not None:
        pages.words(card.heading[0], 1.2 * TITLE, bold=True)
        pages.words(card.heading[1])
        pages.y -= 6
    pages.rule(1.4)
    pages.y -= 5
    after = pages.tick(pages.left, pages.y - TITLE, TITLE) if card.tick else pages.left
    pages.words(card.title, TITLE, bold=True, x=after)
    for text in card.said:
        pages.words(text, SMALL)
    pages.y -= _BEFORE
    start = pages.y
    pages.drawing(card.drawing, pages.left, start)
    x = pages.left + wide + _GAP if beside else pages.left
    if not beside:
        pages.y -= tall + _BEFORE
    for block in blocks:
        if block.tall > pages.room:
            pages.turn()
            start = pages.y + tall
        block.put(pages, x)
    for note in card.notes:
        pages.words(note, NOTE, x=x, width=width)
    if beside:
        pages.y = min(pages.y, start - tall)
    for row in rows:
        _put_row(pages, row, card.title)
    pages.y -= 2


@dataclass(frozen=True)
class _Block:
    """The boxes of the pieces of one line of the list, under its name; `boxes` in rows."""

    name: tuple[str, ...]
    boxes: tuple[tuple[str, ...], ...]

    @property
    def tall(self) -> float:
        return len(self.name) * SMALL * _LEADING + len(self.boxes) * BODY * 1.45 + 4

    def put(self, pages: Pages, x: float) -> None:
        for text in self.name:
            put_text(pages.canvas, text, x, pages.y - SMALL, SMALL)
            pages.y -= SMALL * _LEADING
        for row in self.boxes:
            at = x
            for label in row:
                at = pages.tick(at, pages.y - BODY * 1.1)
                put_text(pages.canvas, label, at, pages.y - BODY * 1.1, BODY, bold=True)
                at += text_width(label, BODY, bold=True) + 8
            pages.y -= BODY * 1.45
        pages.y -= 4


def _piece_blocks(card: Card, lines: dict[str, PieceLine], width: float) -> list[_Block]:
    """Return the pieces to be ticked off, line by line, the largest first."""
    labels: dict[str, list[str]] = {}
    area: dict[str, float] = {}
    for piece in card.plan.pieces:
        letter = piece.label.rstrip("0123456789")
        labels.setdefault(letter, []).append(piece.label)
        area[letter] = max(area.get(letter, 0.0), piece.outline.area)
    for label in card.alike:
        labels[label.rstrip("0123456789")].append(label)
    blocks = []
    for letter in sorted(labels, key=lambda one: (-round(area[one], 6), one)):
        line = lines[letter]
        name = f"{letter} {line.name}: {', '.join(line.cut_size)}"
        rows: list[list[str]] = [[]]
        used = 0.0
        for label in sorted(labels[letter], key=lambda one: int(one[len(letter) :] or 0)):
            step = text_width(label, BODY, bold=True) + 8 + BODY * 1.25
            if used + step > width and rows[-1]:
                rows.append([])
                used = 0.0
            rows[-1].append(label)
            used += step
        blocks.append(_Block(tuple(wrapped(name, width, SMALL)), tuple(map(tuple, rows))))
    return blocks


def _cells(card: Card, width: float) -> list[_Cell]:
    parts, size = cut_parts(card.plan), (width, _STEP_TALL)
    cells = []
    for step in card.words.steps:
        for number in step.shown:
            picture = draw_step(card.plan, parts, number, step, card.words, size)
            if number == step.first:
                cells.append(_Cell(f"Cut {step.number}", step.text, picture, tick=True))
            else:
                cells.append(_Cell(f"then cut {number}", "", picture))
    if card.words.by_template:
        cells.append(_Cell("By template", card.words.by_template, None, tick=True))
    return cells


def _rows(cells: Sequence[_Cell]) -> list[list[_Cell]]:
    """Return the cells row by row; those of one step stay beside one another where they can."""
    rows: list[list[_Cell]] = [[]]
    for at, cell in enumerate(cells):
        later = cells[at + 1 :]
        group = 1 + next((n for n, one in enumerate(later) if one.tick), len(later))
        needed = min(group, _COLUMNS) if cell.tick else 1
        if len(rows[-1]) + needed > _COLUMNS:
            rows.append([])
        rows[-1].append(cell)
    return rows if rows[0] else []


def _column(pages: Pages) -> float:
    return (pages.width - (_COLUMNS - 1) * _GAP) / _COLUMNS


def _texts(row: Sequence[_Cell], width: float) -> list[list[str]]:
    """Return the lines under each cell: as long as there is room up to the next step."""
    found = []
    for at, cell in enumerate(row):
        others = (n for n, one in enumerate(row[at + 1 :]) if one.tick)
        more = next(others, _COLUMNS - at - 1)
        found.append(wrapped(cell.text, width + more * (width + _GAP), SMALL))
    return found


def _row_tall(row: Sequence[_Cell], pages: Pages) -> float:
    words = max(len(lines) for lines in _texts(row, _column(pages))) * SMALL * _LEADING
    return _BEFORE + max(cell.picture_tall for cell in row) + words + 1.5 * BODY + 2


def _put_row(pages: Pages, row: Sequence[_Cell], title: str) -> None:
    """Put cells beside one another; on a new page under the title again."""
    if _row_tall(row, pages) > pages.room:
        pages.turn()
        pages.rule(1.4)
        pages.y -= 5
        pages.words(f"{title} (goes on)", TITLE, bold=True)
    width, top = _column(pages), pages.y - _BEFORE
    tallest = max(cell.picture_tall for cell in row)
    for at, (cell, lines) in enumerate(zip(row, _texts(row, width), strict=True)):
        x = pages.left + at * (width + _GAP)
        y = top - BODY
        after = pages.tick(x, y) if cell.tick else x
        put_text(pages.canvas, cell.name, after, y, BODY, bold=cell.tick)
        y -= 0.5 * BODY
        if cell.picture is not None:
            paint_drawing(pages.canvas, cell.picture, x, y)
        y -= tallest
        for line in lines:
            put_text(pages.canvas, line, x, y - SMALL, SMALL)
            y -= SMALL * _LEADING
    pages.y -= _row_tall(row, pages)
