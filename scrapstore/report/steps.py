"""Words beside a drawing: in what order to cut, read off the rulers of the drawing."""

from collections import defaultdict
from collections.abc import Sequence

import numpy as np
from shapely import Polygon

from scrapstore.report.forms import SheetPiece
from scrapstore.units import Units, format_length

__all__ = ["cutting_steps", "number_pieces"]

_SAME = 1 / 64


def number_pieces(pieces: Sequence[SheetPiece]) -> list[str]:
    """Return the mark of each piece on the drawing: its letter and a running number."""
    numbers: dict[str, int] = defaultdict(int)
    marks = []
    for piece in pieces:
        numbers[piece.letter] += 1
        marks.append(f"{piece.letter}{numbers[piece.letter]}")
    return marks


def cutting_steps(
    outline: Polygon, pieces: Sequence[SheetPiece], units: Units, ruler_step: float
) -> tuple[str, ...]:
    """Return one sentence for each row of pieces that two straight cuts set free, then the rest.

    A row is a set of pieces that share both a lower and an upper straight edge; its two cuts are
    given as distances from the lower edge of the drawing's box (the zero of the upright ruler).
    A cut off the marks carries ``~``, and the least height of the strip is then told exactly.
    Pieces that lie in no row are named with the place of their lowest left corner.
    """
    left, bottom, _, _ = outline.bounds
    rows: dict[tuple[int, int], list[int]] = defaultdict(list)
    loose: list[int] = []
    for index, piece in enumerate(pieces):
        band = _flat_band(piece.outline)
        if band is None:
            loose.append(index)
        else:
            rows[round(band[0] / _SAME), round(band[1] / _SAME)].append(index)
    marks = number_pieces(pieces)

    def show(inches: float) -> str:
        return format_length(max(inches, 0.0), units, ruler_step / 2)

    steps = []
    for (low, high), members in sorted(rows.items()):
        inside = sorted(members, key=lambda i: pieces[i].outline.bounds[0])
        names = ", ".join(marks[i] for i in inside)
        below = min(pieces[i].outline.bounds[1] for i in members) - bottom
        above = max(pieces[i].outline.bounds[3] for i in members) - bottom
        edge = "the lower edge" if below < _SAME else f"{show(below)} up"
        start = min(pieces[i].outline.bounds[0] for i in inside) - left
        end = max(pieces[i].outline.bounds[2] for i in inside) - left
        in_the_way = [
            marks[i]
            for i in range(len(pieces))
            if i not in members and _crosses(pieces[i].outline, low * _SAME, high * _SAME)
        ]
        # A straight cut right across would spoil a piece that lies higher or lower.
        reach = f", only from {show(start)} to {show(end)} from the left" if in_the_way else ""
        spare = f" (mind {', '.join(in_the_way)})" if in_the_way else ""
        least = _least(above - below, show(above - below), units)
        steps.append(
            f"Cut along {edge} and {show(above)} up{least}{reach}{spare}; this frees {names}."
        )
    for index in loose:
        x, y = min(pieces[index].outline.exterior.coords, key=lambda c: (c[1], c[0]))
        steps.append(
            f"{marks[index]}: lowest corner {show(x - left)} from the left, {show(y - bottom)} up."
        )
    return tuple(steps)


def _least(height: float, shown: str, units: Units) -> str:
    """Say how high the strip must at least be, where that is no ruler mark."""
    if not shown.startswith("~"):
        return ""
    exact = f"{height * 2.54:.2f} cm" if units == "cm" else f"{height:.3f} in"
    return f" (the strip must be at least {exact} high)"


def _crosses(outline: Polygon, low: float, high: float) -> bool:
    """Tell whether a level cut at `low` or at `high`, right across, would go through `outline`."""
    _, bottom, _, top = outline.bounds
    return any(bottom + _SAME < level < top - _SAME for level in (low, high))


def _flat_band(outline: Polygon) -> tuple[float, float] | None:
    """Return the height of the lower and of the upper side, if a side lies flat at either."""
    corners = np.asarray(outline.exterior.coords)
    low, high = float(corners[:, 1].min()), float(corners[:, 1].max())
    rises = np.abs(np.diff(corners[:, 1])) < 1e-6
    heights = corners[:-1, 1][rises]
    # A triangle has one flat side; its tip touches the other cut of the strip it came from.
    touches = bool(np.any(np.abs(heights - low) < 1e-6) or np.any(np.abs(heights - high) < 1e-6))
    return (low, high) if touches else None
