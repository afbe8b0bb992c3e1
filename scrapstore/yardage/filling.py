"""Filling strips with the pieces of one cloth."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import product
from typing import Final

from shapely import Polygon

from scrapstore.errors import ShapeError
from scrapstore.units import round_up_to_mark
from scrapstore.yardage.nesting import SLACK, Row, StripPiece, lay_row

__all__ = ["Run", "Strip", "fill_strips", "rows_by_width"]

_MOST_CHOICES: Final = 256
"""Ways of laying all pieces that are compared; beyond it each piece lies as it would alone."""


@dataclass(frozen=True, slots=True)
class Run:
    """Neighbouring pieces of one kind on a strip, from `start` to `end` along it, inches."""

    piece: str
    start: float
    end: float
    outlines: tuple[Polygon, ...]


@dataclass(frozen=True, slots=True)
class Strip:
    """A strip to cut, and what to sub-cut from it; `times` strips are cut alike."""

    width: float
    times: int
    runs: tuple[Run, ...]
    left_over: float

    def counts(self) -> dict[str, int]:
        """Return how many pieces of each name all `times` strips give."""
        found: dict[str, int] = {}
        for run in self.runs:
            found[run.piece] = found.get(run.piece, 0) + len(run.outlines) * self.times
        return found


def rows_by_width(
    piece: StripPiece, strip_length: float, step: float, *, along_grain: bool = False
) -> list[Row]:
    """Return the best row for each strip width that the piece can be cut from.

    The first takes the least fabric for all pieces; of equal ones fewer strips, then more pieces a
    strip, then the narrower strip. Raises ShapeError where the piece is longer than the strip in
    every allowed position.
    """
    best: dict[float, tuple[tuple[float, ...], Row]] = {}
    shortest = math.inf
    for rotation in piece.rotations_deg:
        row = lay_row(piece, rotation, along_grain=along_grain)
        shortest = min(shortest, row.length(1))
        per_strip = row.fits(strip_length)
        if not per_strip:
            continue
        width = round_up_to_mark(row.height, step)
        strips = math.ceil(max(piece.count, 1) / per_strip)
        cost = (round(strips * width, 9), strips, -per_strip, round(row.height, 9))
        if width not in best or cost < best[width][0]:
            best[width] = cost, row
    if not best:
        msg = (
            f"{piece.name}: at least {shortest:.2f} in long in every position that its grain "
            f"allows, and the strip is {strip_length:.2f} in; piece it from two parts, or allow "
            "another grain direction"
        )
        raise ShapeError(msg)
    return [row for _, row in sorted(best.values(), key=lambda found: found[0])]


@dataclass(slots=True)
class _Open:
    """A strip while it is being filled: piece, row, where it starts, how many."""

    width: float
    used: float = 0.0
    parts: list[tuple[StripPiece, Row, float, int]] = field(default_factory=list)


def fill_strips(
    wishes: Sequence[tuple[StripPiece, Sequence[Row]]], strip_length: float, step: float
) -> tuple[Strip, ...]:
    """Return strips that give every piece, each in one of its rows, best row first.

    Of all ways to choose the rows the one that needs the least fabric, then the fewest strips.
    """
    if math.prod(len(rows) for _, rows in wishes) > _MOST_CHOICES:
        wishes = [(piece, rows[:1]) for piece, rows in wishes]
    pieces = [piece for piece, _ in wishes]
    ways = [
        _fill(list(zip(pieces, rows, strict=True)), strip_length, step)
        for rows in product(*(rows for _, rows in wishes))
    ]
    least = min(ways, key=lambda way: (round(math.fsum(s.width for s in way), 9), len(way)))
    return _gathered(least, strip_length)


def _fill(rows: list[tuple[StripPiece, Row]], strip_length: float, step: float) -> list[_Open]:
    """Fill strips piece by piece."""
    strips: list[_Open] = []
    # Wide strips and long pieces first, so that small ones find the ends; names settle ties.
    for piece, row in sorted(rows, key=lambda pr: (-pr[1].height, -pr[1].spacing, pr[0].name)):
        width, wanted = round_up_to_mark(row.height, step), piece.count
        ends = [strip for strip in strips if abs(strip.width - width) < SLACK]
        while wanted:
            strip = ends.pop(0) if ends else _Open(width)
            count = min(wanted, row.fits(strip_length - strip.used))
            if not count:
                continue
            if not strip.parts:
                strips.append(strip)
            strip.parts.append((piece, row, strip.used, count))
            strip.used += row.length(count)
            wanted -= count
    return strips


def _gathered(strips: Sequence[_Open], strip_length: float) -> tuple[Strip, ...]:
    """Draw the strips, those that are cut alike once."""
    times: dict[tuple[object, ...], int] = {}
    first: dict[tuple[object, ...], _Open] = {}
    for strip in strips:
        key = (strip.width, *((piece.name, count) for piece, _, _, count in strip.parts))
        first.setdefault(key, strip)
        times[key] = times.get(key, 0) + 1
    return tuple(
        Strip(
            strip.width,
            times[key],
            tuple(
                Run(piece.name, start, start + row.length(count), row.outlines(count, start))
                for piece, row, start, count in strip.parts
            ),
            strip_length - strip.used,
        )
        for key, strip in first.items()
    )
