"""Finding a line of a drawing on the cloth: its edges by name, its corners by letter.

The first cut has no earlier one to be measured from. It is found from the cloth's own corners.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from shapely import LineString, Point, Polygon

from scrapstore.shapes import Line

__all__ = ["Corner", "edge_along", "lettered_corners", "line_from_corners"]

_SHARP_DEG: Final = 20.0  # a corner that a person would call one
_MOST: Final = 12  # letters at every bend of a frayed edge help nobody
_LETTERS: Final = "abcdefghijkl"
_BESIDE: Final = 1.0  # inches beyond the cloth, so that a line surely crosses its edges


@dataclass(frozen=True)
class Corner:
    """A corner of the cloth: its letter, and where it is in the drawing, in inches."""

    letter: str
    x: float
    y: float


def lettered_corners(outline: Polygon) -> tuple[Corner, ...]:
    """Return the sharp corners, lettered from the lowest left one on, counter-clockwise.

    Nothing for cloth without corners, or with so many that letters do not help.
    """
    ring = np.asarray(outline.exterior.coords)[:-1]
    doubled = np.sum(ring[:, 0] * np.roll(ring[:, 1], -1) - np.roll(ring[:, 0], -1) * ring[:, 1])
    if doubled < 0:
        ring = ring[::-1]
    before, after = ring - np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0) - ring
    turn = np.arctan2(
        before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0], np.sum(before * after, axis=1)
    )
    sharp = ring[np.abs(np.degrees(turn)) > _SHARP_DEG]
    if not 3 <= len(sharp) <= _MOST:
        return ()
    first = int(np.argmin(sharp[:, 0] + sharp[:, 1]))
    around = np.roll(sharp, -first, axis=0)
    return tuple(
        Corner(letter, float(x), float(y)) for letter, (x, y) in zip(_LETTERS, around, strict=False)
    )


def line_from_corners(
    outline: Polygon, line: Line, show: Callable[[float], str], step: float
) -> str:
    """Say where a line meets the edges of the cloth, measured along them from lettered corners.

    ``from corner a to the edge 2 in from corner b towards c``; nothing where there are no letters
    or the line does not cross the cloth. `show` prints a length that is on a mark, `step` inches
    from the next.
    """
    corners = lettered_corners(outline)
    (x0, y0), (x1, y1) = line
    length = math.hypot(x1 - x0, y1 - y0)
    ux, uy = (x1 - x0) / length, (y1 - y0) / length
    left, bottom, right, top = outline.bounds
    reach = math.hypot(right - left, top - bottom) + _BESIDE
    # The foot of the cloth's middle on the line, and from there far enough both ways.
    middle = ((left + right) / 2 - x0) * ux + ((bottom + top) / 2 - y0) * uy
    ends = [(x0 + (middle + far) * ux, y0 + (middle + far) * uy) for far in (-reach, reach)]
    met = outline.exterior.intersection(LineString(ends))
    points = [p.coords[0] for p in getattr(met, "geoms", (met,)) if not p.is_empty]
    if not corners or len(points) < 2:
        return ""
    points.sort(key=lambda p: (round(p[0], 6), p[1]))
    start, end = (_on_edge((p[0], p[1]), corners, show, step) for p in (points[0], points[-1]))
    return f"from {start} to {end}"


def _on_edge(
    point: tuple[float, float],
    corners: Sequence[Corner],
    show: Callable[[float], str],
    step: float,
) -> str:
    """Say how far from a corner a point of the outline lies, and on which edge."""
    sides = list(zip(corners, (*corners[1:], corners[0]), strict=True))
    off = [LineString([(a.x, a.y), (b.x, b.y)]).distance(Point(point)) for a, b in sides]
    one, two = sides[int(np.argmin(off))]
    along, back = (math.hypot(point[0] - end.x, point[1] - end.y) for end in (one, two))
    inches, corner, toward = (along, one, two) if along <= back else (back, two, one)
    mark = math.floor(inches / step + 0.5) * step
    if not mark:
        return f"corner {corner.letter}"
    return f"the edge {show(mark)} from corner {corner.letter} towards {toward.letter}"


def edge_along(outline: Polygon, line: Line, distance: float, angle_deg: float) -> Line:
    """Return the straight edge of the cloth that a ruler for `line` is placed against.

    That is the edge which comes nearest to lying `distance` inches from the line, at `angle_deg`
    to it; long edges before short ones.
    """
    ring = np.asarray(outline.exterior.coords)[:, :2]
    starts, steps = ring[:-1], np.diff(ring, axis=0)
    lengths = np.hypot(steps[:, 0], steps[:, 1])
    kept = lengths > 0
    starts, steps, lengths = starts[kept], steps[kept], lengths[kept]
    base = np.array(line[0], dtype=float)
    way = np.array(line[1]) - base
    way /= np.hypot(*way)
    sine = np.abs(steps @ (-way[1], way[0])) / lengths
    wanted = abs(math.sin(math.radians(angle_deg)))
    off = np.abs(sine - wanted)
    if wanted < math.sin(math.radians(1)):
        middle = starts + steps / 2 - base
        off = off + np.abs(np.abs(middle @ (-way[1], way[0])) - distance)
    best = int(np.argmin(off - 0.01 * lengths / lengths.max()))
    (ax, ay), (bx, by) = starts[best].tolist(), (starts[best] + steps[best]).tolist()
    return (ax, ay), (bx, by)
