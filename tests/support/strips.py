"""Checks of drawn strips, by shapely alone; and one piece's row on strips of its own."""

import math
from dataclasses import dataclass
from itertools import combinations

from shapely import Polygon, box

from scrapstore.units import round_up_to_mark
from scrapstore.yardage import Row, Strip, StripPiece, rows_to_lie


def lie_sound(outlines: tuple[Polygon, ...], length: float, width: float) -> None:
    """All inside the strip, no two overlapping."""
    strip = box(0, 0, length, width).buffer(1e-6)
    for outline in outlines:
        assert strip.covers(outline)
    for a, b in combinations(outlines, 2):
        assert a.intersection(b, grid_size=1e-9).area < 1e-6


def cut_sound(strip: Strip, length: float) -> None:
    """Pieces lie sound, and every one inside the strip or the narrower strip it is cut from."""
    lie_sound(tuple(o for run in strip.all_runs for o in run.outlines), length, strip.width)
    at = 0.0
    for run in strip.runs:
        assert run.width == strip.width
        assert all(box(at, 0, run.end, strip.width).buffer(1e-6).covers(o) for o in run.outlines)
        at = run.end
    if strip.rest is None:
        return
    assert strip.rest.start >= at - 1e-9
    assert strip.rest.end <= length + 1e-9
    low = 0.0
    for narrow in strip.rest.strips:
        assert narrow.low >= low - 1e-9
        low = narrow.low + narrow.width
        assert narrow.width == narrow.runs[0].width
        start = strip.rest.start
        for run in narrow.runs:
            assert run.start >= start - 1e-9
            room = box(start, narrow.low, run.end, narrow.low + run.width).buffer(1e-6)
            assert all(room.covers(outline) for outline in run.outlines)
            start, width = run.end, run.width
            assert width <= narrow.width
    assert low <= strip.width + 1e-9


@dataclass(frozen=True)
class Alone:
    """One piece cut from strips of nothing else, the way that takes least fabric."""

    row: Row
    strip_width: float
    per_strip: int
    strips: int
    on_last_strip: int
    outlines: tuple[Polygon, ...]


def alone(
    piece: StripPiece, room: float = 40.0, *, step: float = 1 / 8, along_grain: bool = False
) -> Alone:
    def fabric(row: Row) -> tuple[float, int, int]:
        strips = math.ceil(piece.count / row.fits(room))
        return round(strips * round_up_to_mark(row.height, step), 9), strips, -row.fits(room)

    row = min(rows_to_lie(piece, room, step, along_grain=along_grain), key=fabric)
    per_strip = row.fits(room)
    strips = math.ceil(piece.count / per_strip)
    return Alone(
        row=row,
        strip_width=round_up_to_mark(row.height, step),
        per_strip=per_strip,
        strips=strips,
        on_last_strip=piece.count - per_strip * (strips - 1),
        outlines=row.outlines(per_strip),
    )
