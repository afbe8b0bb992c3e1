"""In which ways pieces may lie on strips of a given length."""

from collections.abc import Sequence

import numpy as np

from scrapstore.errors import ShapeError
from scrapstore.units import Units, format_cut, format_length
from scrapstore.yardage.cutting_stock import CuttingStockProblem
from scrapstore.yardage.nesting import Row, StripPiece, pack_rows
from scrapstore.yardage.patterns import Way

__all__ = ["cutting_stock_problem", "rows_to_lie"]


def rows_to_lie(
    piece: StripPiece,
    room: float,
    step: float,
    *,
    along_grain: bool = False,
    units: Units = "in",
) -> tuple[Row, ...]:
    """Return the rows in which `piece` may lie on a strip `room` inches long, narrowest first.

    A row that is no narrower than another, and nowhere shorter, is left out. `step` is the distance
    of ruler marks. Raises ShapeError, with lengths in `units`, where the piece is longer than the
    strip in every allowed position.

    >>> from shapely import box
    >>> [row.height for row in rows_to_lie(StripPiece("bar", box(0, 0, 2, 4), 9), 40, 1 / 8)]
    [2.0, 4.0]
    """
    most = max(piece.count, 1)

    def rows_of(*, square: bool) -> list[Row]:
        return [
            row
            for turn in piece.rotations_deg
            for row in pack_rows(piece, turn, step, along_grain=along_grain, square=square)
        ]

    rows = rows_of(square=False)
    if not any(row.fits(room) for row in rows):
        rows += rows_of(square=True)  # a slanted first cut costs length
    # Of two rows that give the same number, pairs are simpler to cut.
    paired = {(row.width, row.fits(room)) for row in rows if row.pairs}
    kept: list[tuple[float, np.ndarray[tuple[int], np.dtype[np.float64]], Row]] = []
    for row in sorted(rows, key=lambda r: (r.width, round(r.spacing, 9), r.alternates)):
        fits = min(row.fits(room), most)
        if not fits or (not row.pairs and (row.width, row.fits(room)) in paired):
            continue
        # Beyond what fits a row is as long as can be.
        lengths = np.full(most, np.inf)
        lengths[:fits] = lengths_of(row, fits, room)
        if not any((other <= lengths + 1e-9).all() for _, other, _ in kept):
            kept.append((row.width, lengths, row))
    if not kept:
        shortest = min(row.reach(1) for row in rows)
        long = format_cut(shortest, units, min(step, 1 / 16))
        msg = (
            f"{piece.name}: at least {long} long in every position that its grain allows, and the "
            f"strip is {format_length(room, units)}; piece it from two parts, or allow another "
            "grain direction"
        )
        raise ShapeError(msg)
    return tuple(row for _, _, row in kept)


def cutting_stock_problem(
    pieces: Sequence[StripPiece],
    room: float,
    step: float,
    *,
    along_grain: bool,
    units: Units = "in",
) -> tuple[CuttingStockProblem, tuple[StripPiece, ...], tuple[str, ...]]:
    """Return the cutting-stock problem of `pieces` on strips `room` inches long.

    With it the pieces that fit such strips, in the order of the problem, and a sentence for each
    piece that is too long.
    """
    ways: list[Way] = []
    able: list[StripPiece] = []
    too_long = []
    for piece in pieces:
        try:
            rows = rows_to_lie(piece, room, step, along_grain=along_grain, units=units)
        except ShapeError as error:
            too_long.append(str(error))
            continue
        for row in rows:
            most = min(row.fits(room), piece.count)
            marks = round(row.width / step)
            ways.append(Way(len(able), row, marks, lengths_of(row, most, room)))
        able.append(piece)
    problem = CuttingStockProblem(
        tuple(ways), tuple(p.count for p in able), tuple(p.cut.area for p in able), room
    )
    return problem, tuple(able), tuple(too_long)


def lengths_of(row: Row, most: int, room: float) -> tuple[float, ...]:
    """Return what 1, 2, … `most` pieces take of a strip `room` inches long.

    Where the strip ends behind the last piece, there is no further cut.
    """
    return tuple(min(row.length(n + 1), room) for n in range(most))
