"""The scale to print: six squares on a card of 6 × 4 in, a ruled line to check the printer with.

Drawn once in inches; a PDF page (A4 or Letter) and a PNG are two ways of putting that on paper.
"""

import io
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import cv2
import numpy as np
from PIL import Image, ImageDraw, ImageFont

from scrapstore.errors import PhotoError
from scrapstore.photo.scale.detect import dictionary
from scrapstore.photo.squares import (
    CARD_HEIGHT,
    CARD_WIDTH,
    CELL,
    OUR_PRINT,
)
from scrapstore.units import PAPER_SIZES

__all__ = ["scale_pdf", "scale_png"]

_HAIR: Final = 0.01
_INK: Final = 0
_PALE: Final = 190
_LINE_INCHES: Final = 6
_LINE_CM: Final = 15


@dataclass(frozen=True)
class _Box:
    """A filled rectangle, inches from the drawing's lower left corner; `grey` 0 to 255."""

    left: float
    bottom: float
    right: float
    top: float
    grey: int


@dataclass(frozen=True)
class _Text:
    """Words: left end, or middle, of the baseline at x, y; `size` in inches."""

    x: float
    y: float
    size: float
    words: str
    centred: bool = False


def _card(x0: float, y0: float) -> Iterator[_Box]:
    """Draw the card with its lower left corner at (x0, y0)."""
    for number, (x, y) in OUR_PRINT.layout.items():
        left, bottom = x0 + x - OUR_PRINT.side / 2, y0 + y - OUR_PRINT.side / 2
        yield from _square(number, left, bottom)
        for patch in OUR_PRINT.patches:
            box = (
                x0 + x + patch.left,
                y0 + y + patch.bottom,
                x0 + x + patch.right,
                y0 + y + patch.top,
            )
            if patch.name == "white":
                yield from _frame(*box, _HAIR, _INK)
            else:
                yield _Box(*box, _INK if patch.name == "black" else patch.grey)
    for k in range(round(CARD_WIDTH / CELL) + 1):
        x = x0 + k * CELL
        yield _Box(x - _HAIR / 2, y0, x + _HAIR / 2, y0 + CARD_HEIGHT, _PALE)
    for k in range(round(CARD_HEIGHT / CELL) + 1):
        y = y0 + k * CELL
        yield _Box(x0, y - _HAIR / 2, x0 + CARD_WIDTH, y + _HAIR / 2, _PALE)


def _square(number: int, left: float, bottom: float) -> Iterator[_Box]:
    """Draw the code as black boxes, one for each run of black in a row.

    A hair of overlap between rows keeps printers from leaving white seams.
    """
    codes = dictionary(OUR_PRINT.family)
    cells = int(codes.markerSize) + 2
    picture = cv2.aruco.generateImageMarker(codes, number, cells)
    step = OUR_PRINT.side / cells
    for row, line in enumerate(np.asarray(picture) < 128):
        edges = np.flatnonzero(np.diff(np.concatenate([[0], line.astype(int), [0]])))
        top = bottom + OUR_PRINT.side - row * step
        for begin, end in zip(edges[::2], edges[1::2], strict=True):
            low = max(bottom, top - step - 0.0005)
            yield _Box(left + begin * step, low, left + end * step, top, _INK)


def _frame(
    left: float, bottom: float, right: float, top: float, wide: float, grey: int
) -> Iterator[_Box]:
    yield _Box(left, bottom, right, bottom + wide, grey)
    yield _Box(left, top - wide, right, top, grey)
    yield _Box(left, bottom, left + wide, top, grey)
    yield _Box(right - wide, bottom, right, top, grey)


def _ruler(x0: float, y0: float) -> Iterator[_Box | _Text]:
    """Draw a line of 6 in above, 15 cm below, both from x0."""
    yield _Box(x0, y0, x0 + _LINE_INCHES, y0 + _HAIR, _INK)
    for k in range(_LINE_INCHES * 8 + 1):
        x, high = x0 + k / 8, 0.22 if k % 8 == 0 else 0.14 if k % 4 == 0 else 0.09
        yield _Box(x - _HAIR / 2, y0, x + _HAIR / 2, y0 + high, _INK)
        if k % 8 == 0:
            yield _Text(x, y0 + 0.26, 0.13, f"{k // 8} in" if k else "0", centred=True)
    for k in range(_LINE_CM * 2 + 1):
        x, high = x0 + k / 2 / 2.54, 0.2 if k % 2 == 0 else 0.1
        yield _Box(x - _HAIR / 2, y0 - high, x + _HAIR / 2, y0, _INK)
        if k % 10 == 0:
            yield _Text(x, y0 - 0.34, 0.13, f"{k // 2} cm" if k else "0", centred=True)


_WORDS: Final = (
    "Print at 100 % (“actual size”). Then lay a ruler along the line above: from end to end it is",
    "6 in (15.24 cm). If it is not, give its true length: scrapstore settings set check_line …",
    "Cut along the pale lines and spread the six squares round the scraps: most accurate, and it",
    "teaches the program your lens. Or leave the card whole and lay it beside the scraps: quick,",
    "and as good once the lens is known. Keep the white round every square, and all of it flat.",
)


def _sheet(width: float, height: float) -> Iterator[_Box | _Text]:
    left = (width - CARD_WIDTH) / 2
    yield from _card(left, height - 1.0 - CARD_HEIGHT)
    line = height - 1.0 - CARD_HEIGHT - 1.0
    yield from _ruler(left, line)
    for k, words in enumerate(_WORDS):
        yield _Text(left, line - 0.85 - 0.2 * k, 0.14, words)


def scale_pdf(page: str = "a4") -> bytes:
    """Return the scale as a PDF of one page, ``a4`` or ``letter``.

    The same page gives the same bytes. Raises PhotoError for another page.
    """
    from reportlab.pdfgen.canvas import Canvas

    if page.lower() not in PAPER_SIZES:
        msg = f"page: cannot print on {page!r}; use {' or '.join(PAPER_SIZES)}"
        raise PhotoError(msg)
    width, height = PAPER_SIZES[page.lower()]
    stored = io.BytesIO()
    canvas = Canvas(stored, pagesize=(width * 72, height * 72), invariant=True)
    canvas.setTitle("Scale for measuring scraps from a photo")
    for part in _sheet(width, height):
        if isinstance(part, _Box):
            canvas.setFillGray(part.grey / 255)
            size = ((part.right - part.left) * 72, (part.top - part.bottom) * 72)
            canvas.rect(part.left * 72, part.bottom * 72, *size, stroke=0, fill=1)
        else:
            canvas.setFillGray(0.2)
            canvas.setFont("Helvetica", part.size * 72 * 0.9)
            put = canvas.drawCentredString if part.centred else canvas.drawString
            put(part.x * 72, part.y * 72, part.words)
    canvas.showPage()
    canvas.save()
    return stored.getvalue()


def scale_png(dots_per_inch: int = 300, page: str | None = None) -> bytes:
    """Return the scale as a PNG that carries its resolution: the card alone, or a whole `page`.

    Raises PhotoError for an unknown page or fewer than 100 dots an inch, which blur the codes.
    """
    if not 100 <= dots_per_inch <= 1200:
        msg = f"print: {dots_per_inch} dots an inch will not do; use 100 to 1200"
        raise PhotoError(msg)
    if page is not None and page.lower() not in PAPER_SIZES:
        msg = f"page: cannot print on {page!r}; use {' or '.join(PAPER_SIZES)}"
        raise PhotoError(msg)
    width, height = (CARD_WIDTH, CARD_HEIGHT) if page is None else PAPER_SIZES[page.lower()]
    image = Image.new("L", (round(width * dots_per_inch), round(height * dots_per_inch)), 255)
    draw = ImageDraw.Draw(image)
    for part in _card(0.0, 0.0) if page is None else _sheet(width, height):
        if isinstance(part, _Box):
            left, right = (round(x * dots_per_inch) for x in (part.left, part.right))
            top, low = (round((height - y) * dots_per_inch) for y in (part.top, part.bottom))
            right, low = max(right - 1, left), max(low - 1, top)
            draw.rectangle((left, top, right, low), fill=part.grey)
        else:
            font = ImageFont.load_default(size=part.size * 0.9 * dots_per_inch)
            place = (part.x * dots_per_inch, (height - part.y) * dots_per_inch)
            draw.text(place, part.words, font=font, fill=50, anchor="ms" if part.centred else "ls")
    stored = io.BytesIO()
    image.save(stored, "PNG", dpi=(dots_per_inch, dots_per_inch), optimize=True)
    return stored.getvalue()
