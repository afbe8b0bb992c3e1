"""The pages of a PDF document: their size, their margins, and words and boxes put on them.

Lengths are points, 72 to the inch, from the lower left corner. The same calls give the same bytes.
"""

import io
from typing import TYPE_CHECKING, Any, Final
from xml.etree import ElementTree as ET

from scrapstore.printable import printable
from scrapstore.report.pdf.lettering import text_width, wrapped
from scrapstore.report.pdf.painting import drawing_size, paint_drawing, put_text
from scrapstore.units import PAPER_SIZES, Paper

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

__all__ = ["BODY", "NOTE", "SMALL", "TITLE", "Pages"]

TITLE: Final = 12.0
BODY: Final = 9.5
SMALL: Final = 8.5
NOTE: Final = 8.0
"""Sizes of letters, in points; none is smaller."""
_MARGIN: Final = 32.4  # points: 0.45 in, which every printer can print up to
_FOOT: Final = 14.0
_LEADING: Final = 1.25
_BOX: Final = 0.85  # of the size of the letters beside it


class Pages:
    """A document that is filled from the top: `y` is where the next thing goes.

    `foot` is written at the lower left of every page, its number at the right.
    """

    def __init__(self, paper: Paper, title: str, foot: str) -> None:
        wide, tall = PAPER_SIZES[paper]
        self.left, self.right = _MARGIN, wide * 72 - _MARGIN
        self.top, self.bottom = tall * 72 - _MARGIN, _MARGIN + _FOOT
        self.y = self.top
        self._stored = io.BytesIO()
        self._foot = foot
        self.canvas = _counting_canvas(self._stored, (wide * 72, tall * 72), self._footer)
        self.canvas.setTitle(printable(title))
        self.canvas.setAuthor("scrapstore")

    @property
    def width(self) -> float:
        """From margin to margin."""
        return self.right - self.left

    @property
    def room(self) -> float:
        """What is left of the page below `y`."""
        return self.y - self.bottom

    @property
    def number(self) -> int:
        """Which page this is, from 1."""
        return int(self.canvas.getPageNumber())

    def turn(self) -> None:
        """Go on to a new page."""
        self.canvas.showPage()
        self.y = self.top

    def finished(self) -> bytes:
        """End the document and return it."""
        self.canvas.showPage()
        self.canvas.save()
        return self._stored.getvalue()

    def _footer(self, number: int, count: int) -> None:
        page = f"page {number} of {count}"
        width = text_width(page, NOTE)
        room = self.width - width - 20
        lines = wrapped(self._foot, room, NOTE)
        words = lines[0] + ("…" if len(lines) > 1 else "") if lines else ""
        put_text(self.canvas, words, self.left, _MARGIN, NOTE)
        put_text(self.canvas, page, self.right - width, _MARGIN, NOTE)

    def words(
        self,
        text: str,
        size: float = BODY,
        *,
        bold: bool = False,
        x: float | None = None,
        width: float | None = None,
    ) -> None:
        """Write a paragraph at `y` and move `y` below it; on to a new page where it must."""
        x = self.left if x is None else x
        for line in wrapped(text, self.right - x if width is None else width, size, bold=bold):
            if self.room < size * _LEADING:
                self.turn()
            put_text(self.canvas, line, x, self.y - size, size, bold=bold)
            self.y -= size * _LEADING

    def height(self, text: str, width: float, size: float = BODY, *, bold: bool = False) -> float:
        """Return how high a paragraph is."""
        return len(wrapped(text, width, size, bold=bold)) * size * _LEADING

    def tick(self, x: float, y: float, size: float = BODY) -> float:
        """Draw a box to tick on the line whose letters stand on `y`; return where words go on."""
        self.canvas.setLineWidth(0.8)
        self.canvas.rect(x, y - 0.08 * size, _BOX * size, _BOX * size, stroke=1, fill=0)
        return x + (_BOX + 0.4) * size

    def heading(self, text: str) -> None:
        """Write a heading over a rule at `y`; on to a new page where too little could follow it."""
        self.y -= 8
        if self.room < 4 * TITLE:
            self.turn()
        self.words(text, TITLE, bold=True)
        self.rule()
        self.y -= 4

    def rule(self, thick: float = 0.8) -> None:
        """Draw a line from margin to margin at `y`."""
        self.canvas.setLineWidth(thick)
        self.canvas.line(self.left, self.y, self.right, self.y)

    def fitted(self, drawing: ET.Element) -> None:
        """Paint a drawing as large as the width and what is left of the page allow."""
        wide, tall = drawing_size(drawing)
        scale = min(self.width / wide, self.room / tall)
        self.canvas.saveState()
        self.canvas.translate(self.left + (self.width - scale * wide) / 2, self.y)
        self.canvas.scale(scale, scale)
        paint_drawing(self.canvas, drawing, 0, 0)
        self.canvas.restoreState()
        self.y -= scale * tall

    def drawing(self, drawing: ET.Element, x: float, y: float) -> float:
        """Paint a drawing with its upper left corner at (x, y); return its height."""
        paint_drawing(self.canvas, drawing, x, y)
        return drawing_size(drawing)[1]


def _counting_canvas(stored: io.BytesIO, size: tuple[float, float], footer: Any) -> "Canvas":
    """Return a canvas that writes the footers at the end, when it knows how many pages there are.

    `footer` is called with the number of a page and their count.
    """
    from reportlab.pdfgen.canvas import Canvas

    class Counting(Canvas):  # type: ignore[misc]
        def __init__(self) -> None:
            super().__init__(stored, pagesize=size, invariant=True)
            self._kept: list[dict[str, Any]] = []

        def showPage(self) -> None:  # noqa: N802
            self._kept.append(dict(self.__dict__))
            self._startPage()

        def save(self) -> None:
            kept = self._kept
            for number, page in enumerate(kept, 1):
                self.__dict__.update(page)
                footer(number, len(kept))
                super().showPage()
            super().save()

    return Counting()
