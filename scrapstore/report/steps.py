"""Words beside a drawing: in what order to cut, read off the rulers of the drawing."""

from collections import defaultdict
from collections.abc import Callable, Sequence

import numpy as np
from shapely import Polygon

from scrapstore.packing import row_of
from scrapstore.report.corners import first_line
from scrapstore.report.forms import SheetPiece
from scrapstore.shapes import sub_cuts
from scrapstore.units import Units, format_exact, format_length

__all__ = ["cutting_steps", "number_pieces"]

_SAME = 1 / 64
_LEVEL, _UPRIGHT = 0, 1


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
    """Return one sentence for each strip of pieces that two straight cuts set free, then the rest.

    A strip is a set of pieces that share both a lower and an upper straight edge, or, where they
    have none, a left and a right one. Its two cuts are given as distances from the lower or the
    left edge of the drawing's box (the zeros of its rulers), and the sub-cuts as far as the pieces
    follow one another evenly. A cut off the marks carries ``~``, and the least width of the strip
    is then told exactly. Pieces that lie in no strip are named with their lowest corner. Where the
    scrap has no edge to lay the ruler on, a first sentence tells where the first cut meets its
    edges.
    """
    marks = number_pieces(pieces)
    strips: dict[tuple[int, int, int], list[int]] = defaultdict(list)
    loose: list[int] = []
    for index, piece in enumerate(pieces):
        for axis in (_LEVEL, _UPRIGHT):
            band = row_of(piece.outline, axis)
            if band is not None:
                strips[axis, round(band[0] / _SAME), round(band[1] / _SAME)].append(index)
                break
        else:
            loose.append(index)

    def show(inches: float) -> str:
        return format_length(max(inches, 0.0), units, ruler_step / 2)

    steps = [
        _strip(outline, pieces, marks, axis, members, units, show)
        for (axis, _, _), members in sorted(strips.items())
    ]
    if strips:
        axis, members = min((axis, members) for (axis, _, _), members in strips.items())
        level = min(pieces[i].outline.bounds[1 - axis] for i in members)
        steps[:0] = first_line(outline, axis, level, show)
    left, bottom, _, _ = outline.bounds
    for index in loose:
        x, y = min(pieces[index].outline.exterior.coords, key=lambda c: (c[1], c[0]))
        steps.append(
            f"{marks[index]}: lowest corner {show(x - left)} from the left, {show(y - bottom)} up."
        )
    return tuple(steps)


def _strip(
    outline: Polygon,
    pieces: Sequence[SheetPiece],
    marks: Sequence[str],
    axis: int,
    members: Sequence[int],
    units: Units,
    show: Callable[[float], str],
) -> str:
    """Return the sentence for one strip; its cuts run level (`axis` 0) or upright (1)."""
    across = 1 - axis
    zero_across, zero_along = outline.bounds[across], outline.bounds[axis]
    inside = sorted(members, key=lambda i: pieces[i].outline.bounds[axis])
    low = min(pieces[i].outline.bounds[across] for i in inside)
    high = max(pieces[i].outline.bounds[across + 2] for i in inside)
    start = min(pieces[i].outline.bounds[axis] for i in inside) - zero_along
    end = max(pieces[i].outline.bounds[axis + 2] for i in inside) - zero_along
    up, side = ("up", "from the left") if axis == _LEVEL else ("from the left", "up")
    edge = "the lower edge" if axis == _LEVEL else "the left edge"
    first = edge if low - zero_across < _SAME else f"{show(low - zero_across)} {up}"
    in_the_way = [
        marks[i]
        for i in range(len(pieces))
        if i not in members and _crosses(pieces[i].outline, across, low, high)
    ]
    # A straight cut right across would spoil a piece that lies beside the strip.
    reach = f", only from {show(start)} to {show(end)} {side}" if in_the_way else ""
    spare = f" (mind {', '.join(in_the_way)})" if in_the_way else ""
    least = _least(high - low, show(high - low), units)
    names = ", ".join(marks[i] for i in inside)
    return (
        f"Cut {'' if axis == _LEVEL else 'upright '}along {first} and "
        f"{show(high - zero_across)} {up}{least}{reach}{spare}; this frees {names}."
        f"{_sub_cuts([pieces[i].outline for i in inside], axis, zero_along, side, show, units)}"
    )


def _sub_cuts(
    outlines: Sequence[Polygon],
    axis: int,
    zero: float,
    side: str,
    show: Callable[[float], str],
    units: Units,
) -> str:
    """Say where the sub-cuts lie, for pieces that are all alike and evenly spaced; else nothing."""
    if len(outlines) < 2:
        return ""
    starts = [one.bounds[axis] for one in outlines]
    gaps = np.diff(starts)
    first = np.asarray(outlines[0].exterior.coords)
    for one, start in zip(outlines, starts, strict=True):
        move = np.zeros(2)
        move[axis] = start - starts[0]
        corners = np.asarray(one.exterior.coords)
        if corners.shape != first.shape or np.abs(corners - first - move).max() > _SAME:
            return ""
    if np.ptp(gaps) > _SAME:
        return ""
    every, begin = float(gaps.mean()), show(starts[0] - zero)
    cuts = sub_cuts(outlines[0], (every, 0.0) if axis == _LEVEL else (0.0, every))
    straight = cuts.slant_deg > 89.9
    lean = "straight across" if straight else f"at {cuts.slant_deg:.0f}° to the strip"
    if cuts.apart is None:
        spaced = f"every {show(every)} along it"
    else:
        # Square across the cuts, as the ruler lies; along the strip it is on no mark.
        exact = _exact(cuts.apart, show(cuts.apart), units)
        spaced = f"{show(cuts.apart)}{f' (at least {exact})' if exact else ''} from cut to cut"
    return f" Sub-cut {lean}, {spaced}; the first piece begins {begin} {side}."


def _least(width: float, shown: str, units: Units) -> str:
    """Say how wide the strip must at least be, where that is no ruler mark."""
    exact = _exact(width, shown, units)
    return f" (the strip must be at least {exact} wide)" if exact else ""


def _exact(length: float, shown: str, units: Units) -> str:
    """Return the length exactly where what is `shown` is no ruler mark, else nothing."""
    return format_exact(length, units) if shown.startswith("~") else ""


def _crosses(outline: Polygon, across: int, low: float, high: float) -> bool:
    """Tell whether a cut right across at `low` or at `high` would go through `outline`."""
    near, far = outline.bounds[across], outline.bounds[across + 2]
    return any(near + _SAME < level < far - _SAME for level in (low, high))
