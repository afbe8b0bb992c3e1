"""In which ways pieces may lie on strips of a given length."""

from collections.abc import Sequence

import numpy as np

from scrapstore.errors import ShapeError
from scrapstore.units import round_up_to_mark
from scrapstore.yardage.choose import Problem
from scrapstore.yardage.nesting import Row, StripPiece, lay_row
from scrapstore.yardage.patterns import Way

__all__ = ["pose", "rows_to_lie"]


def rows_to_lie(
    piece: StripPiece, room: float, step: float, *, along_grain: bool = False
) -> tuple[Row, ...]:
    """Return the rows in which `piece` may lie on a strip `room` inches long, narrowest first.

    A row that is no narrower than another, and nowhere shorter, is left out. `step` is the distance
    of ruler marks. Raises ShapeError where the piece is longer than the strip in every allowed
    position.

    >>> from shapely import box
    >>> [row.height for row in rows_to_lie(StripPiece("bar", box(0, 0, 2, 4), 9), 40, 1 / 8)]
    [2.0, 4.0]
    """
    most = max(piece.count, 1)
    rows = [lay_row(piece, turn, along_grain=along_grain) for turn in piece.rotations_deg]
    kept: list[tuple[int, np.ndarray[tuple[int], np.dtype[np.float64]], Row]] = []
    for row in sorted(rows, key=lambda r: (_marks(r, step), round(r.spacing, 9), r.alternates)):
        fits = min(row.fits(room), most)
        if not fits:
            continue
        # Beyond what fits a row is as long as can be.
        lengths = np.full(most, np.inf)
        lengths[:fits] = [row.length(n + 1) for n in range(fits)]
        if not any((other <= lengths + 1e-9).all() for _, other, _ in kept):
            kept.append((_marks(row, step), lengths, row))
    if not kept:
        shortest = min(row.length(1) for row in rows)
        msg = (
            f"{piece.name}: at least {shortest:.2f} in long in every position that its grain "
            f"allows, and the strip is {room:.2f} in; piece it from two parts, or allow "
            "another grain direction"
        )
        raise ShapeError(msg)
    return tuple(row for _, _, row in kept)


def pose(
    pieces: Sequence[StripPiece], room: float, step: float, *, along_grain: bool
) -> tuple[Problem, tuple[StripPiece, ...], tuple[str, ...]]:
    """Return the problem of cutting `pieces` from strips `room` long.

    Beside it the pieces it is about, in its order, and a sentence for each piece that is too long
    for such a strip.
    """
    ways: list[Way] = []
    able: list[StripPiece] = []
    too_long = []
    for piece in pieces:
        try:
            rows = rows_to_lie(piece, room, step, along_grain=along_grain)
        except ShapeError as error:
            too_long.append(str(error))
            continue
        for row in rows:
            most = min(row.fits(room), piece.count)
            lengths = tuple(row.length(n + 1) for n in range(most))
            ways.append(Way(len(able), row, _marks(row, step), lengths))
        able.append(piece)
    problem = Problem(
        tuple(ways), tuple(p.count for p in able), tuple(p.cut.area for p in able), room
    )
    return problem, tuple(able), tuple(too_long)


def _marks(row: Row, step: float) -> int:
    return round(round_up_to_mark(row.height, step) / step)
