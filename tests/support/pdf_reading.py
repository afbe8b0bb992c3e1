"""What stands in a PDF, read back by pypdf: lines with their lengths, words, the size of pages."""

import io
import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from pypdf import PdfReader

__all__ = ["MM", "Stroke", "letter_sizes", "page_sizes", "page_words", "strokes"]

MM = 72 / 25.4
"""Points in a millimetre."""


@dataclass(frozen=True)
class Stroke:
    """One part of a path as it is drawn: its corners on the page in points, and how it looks."""

    points: tuple[tuple[float, float], ...]
    width: float
    dashed: bool
    filled: bool
    stroked: bool


@dataclass
class _State:
    width: float = 1.0
    dashed: bool = False


@dataclass
class _Collector:
    found: list[Stroke] = field(default_factory=list)
    parts: list[list[tuple[float, float]]] = field(default_factory=list)
    state: _State = field(default_factory=_State)
    kept: list[_State] = field(default_factory=list)

    def visit(
        self, operator: bytes, operands: Sequence[Any], cm: Sequence[float], _tm: Any
    ) -> None:
        match operator:
            case b"q":
                self.kept.append(_State(self.state.width, self.state.dashed))
            case b"Q":
                self.state = self.kept.pop()
            case b"w":
                self.state.width = float(operands[0])
            case b"d":
                self.state.dashed = bool(operands[0])
            case b"m":
                self.parts.append([at(operands, cm)])
            case b"l":
                self.parts[-1].append(at(operands, cm))
            case b"re":
                x, y, wide, tall = map(float, operands)
                ring = ((x, y), (x + wide, y), (x + wide, y + tall), (x, y + tall), (x, y))
                self.parts.append([at(point, cm) for point in ring])
            case b"h":
                self.parts[-1].append(self.parts[-1][0])
            case b"n":
                self.parts = []
            case b"S" | b"s" | b"f" | b"f*" | b"B" | b"B*":
                how = (operator != b"S" and operator != b"s", operator not in (b"f", b"f*"))
                for points in self.parts:
                    self.found.append(
                        Stroke(tuple(points), self.state.width, self.state.dashed, *how)
                    )
                self.parts = []


def at(operands: Sequence[Any], cm: Sequence[float]) -> tuple[float, float]:
    x, y = float(operands[0]), float(operands[1])
    a, b, c, d, e, f = cm
    return a * x + c * y + e, b * x + d * y + f


def _reader(pdf: bytes | Path) -> PdfReader:
    return PdfReader(io.BytesIO(pdf) if isinstance(pdf, bytes) else pdf)


def strokes(pdf: bytes | Path) -> list[list[Stroke]]:
    """Return what is drawn on each page; curves are passed over."""
    pages = []
    for page in _reader(pdf).pages:
        collector = _Collector()
        page.extract_text(visitor_operand_before=collector.visit)
        pages.append(collector.found)
    return pages


def page_words(pdf: bytes | Path) -> list[str]:
    """Return the text of each page, all white space one blank."""
    return [" ".join(page.extract_text().split()) for page in _reader(pdf).pages]


def letter_sizes(pdf: bytes | Path) -> set[float]:
    """Return the sizes in which letters stand on the pages, in points."""
    found = set()

    def visit(
        text: str, cm: Sequence[float], tm: Sequence[float], _font: Any, size: float | None
    ) -> None:
        if text.strip() and size:
            tall = math.hypot(cm[2], cm[3]) * math.hypot(tm[2], tm[3]) * float(size)
            found.add(round(tall, 6))

    for page in _reader(pdf).pages:
        page.extract_text(visitor_text=visit)
    return found


def page_sizes(pdf: bytes | Path) -> set[tuple[float, float]]:
    """Return the sizes of the pages, in points."""
    return {(float(p.mediabox.width), float(p.mediabox.height)) for p in _reader(pdf).pages}
