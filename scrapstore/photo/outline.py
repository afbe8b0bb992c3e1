"""From a ring of edge points to an outline: straight edges straight, corners sharp, curves few.

The points are split where they leave a chord by more than a tolerance; runs that belong to one
straight line are joined again and get the line that fits them best; where two lines meet, their
meeting point is the corner, however rounded the picture shows it.
"""

from collections.abc import Callable
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray
from shapely.geometry import Polygon
from shapely.geometry.polygon import orient

__all__ = ["TOLERANCE", "straightened", "thinned"]

Floats = NDArray[np.float64]

TOLERANCE: Final = 1 / 40
"""An outline stays this close to the edge points it is made from, inches (corners excepted)."""
_SHORTEST_LINE: Final = 0.3
_FARTHEST_CORNER: Final = 0.06
_WIDEST_BLUNT: Final = 0.45
_FARTHEST_TIP: Final = 0.6

_Belongs = Callable[[Floats], float]
_Line = tuple[Floats, Floats]
"""A point and the direction, of length 1, of a straight edge."""


def straightened(
    points: Floats, belongs: _Belongs | None = None, tolerance: float = TOLERANCE
) -> Polygon | None:
    """Return the outline through the closed ring `points` (n × 2, inches), or None without one.

    `points` go counter-clockwise round a scrap and clockwise round a hole in it. `belongs` tells
    which share of given places (n × 2) is scrap; it decides whether a blunt end between two
    straight edges is a corner that the picture shows rounded, or is really blunt.
    """
    ring = _untangled(points)
    if ring is None:
        return None
    breaks = _breaks(ring, tolerance)
    if len(breaks) < 3:
        return None
    breaks = _joined(ring, breaks, tolerance)
    if len(breaks) < 3:
        return None
    lines = [_line(ring, a, b, tolerance) for a, b in zip(breaks, np.roll(breaks, -1), strict=True)]
    corners = [ring[at] for at in breaks]
    corners, lines = _sharpened(corners, lines, belongs)
    made: list[Floats] = []
    for k, corner in enumerate(corners):
        made.extend(_corner(corner, lines[k - 1], lines[k], belongs))
    for candidate in (made, corners, list(ring)):
        polygon = Polygon(np.array(candidate)).simplify(0.6 * tolerance)
        if isinstance(polygon, Polygon) and polygon.is_valid and polygon.area > 0:
            return polygon
    return None


def _untangled(points: Floats) -> Floats | None:
    """Return the ring without the little loops that neighbouring profiles make where they cross."""
    polygon = Polygon(points)
    if not polygon.is_valid:
        whole = polygon.buffer(0)
        parts = [part for part in getattr(whole, "geoms", [whole]) if isinstance(part, Polygon)]
        if not parts:
            return None
        polygon = max(parts, key=lambda part: part.area)
    x, y = points[:, 0], points[:, 1]
    left = np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)) > 0
    ring = np.asarray(orient(polygon, 1.0 if left else -1.0).exterior.coords)[:-1]
    return ring if len(ring) >= 8 else None


def _sharpened(
    corners: list[Floats], lines: list[_Line | None], belongs: _Belongs | None
) -> tuple[list[Floats], list[_Line | None]]:
    """Replace blunt ends, short runs between two straight edges, by the corner those make.

    `lines[k]` is the run from `corners[k]` to the next.
    """
    left = len(corners)
    while left > 0 and len(corners) > 3:
        # The run before the end in question is the last of the lists, so that nothing wraps round.
        for runs in range(1, min(4, len(corners) - 2)):
            if float(np.linalg.norm(corners[runs] - corners[runs - 1])) > _WIDEST_BLUNT:
                break
            before, after = lines[-1], lines[runs]
            if before is None or after is None:
                continue
            tip = _meeting(before, after)
            if tip is not None and _is_tip(tip, corners[0], corners[runs], before, after, belongs):
                corners, lines = [tip, *corners[runs + 1 :]], lines[runs:]
                break
        corners, lines = corners[1:] + corners[:1], lines[1:] + lines[:1]
        left -= 1
    return corners, lines


def _is_tip(
    tip: Floats, start: Floats, end: Floats, before: _Line, after: _Line, belongs: _Belongs | None
) -> bool:
    """Say whether two straight edges, seen to `start` and from `end` on, really go on to `tip`."""
    ahead, behind = (tip - start) @ before[1], (end - tip) @ after[1]
    far = max(float(np.linalg.norm(tip - start)), float(np.linalg.norm(tip - end)))
    if min(ahead, behind) < -0.05 or far > _FARTHEST_TIP:
        return False
    chord, side = end - start, tip - start
    high = abs(float(chord[0] * side[1] - chord[1] * side[0])) / max(float(np.hypot(*chord)), 1e-9)
    if belongs is None:
        return far < 0.15
    if far < 0.12 or (far < 0.3 and high < 0.035):
        return True  # no more than the blur of the picture: nothing there to look at
    u, v = np.meshgrid(np.linspace(0.1, 0.75, 8), np.linspace(0.1, 0.9, 8))
    base = start + v[..., None] * (end - start)
    share = belongs((base + u[..., None] * (tip - base)).reshape(-1, 2))
    # Where the outline turns inwards the tip is a bit of surface instead.
    inwards = before[1][0] * after[1][1] - before[1][1] * after[1][0] < 0
    return share < 0.6 if inwards else share > 0.4


def thinned(points: Floats, tolerance: float) -> Floats:
    """Return the corners of a polygon that stays within `tolerance` of the ring `points`."""
    return points[_breaks(points, tolerance)]


def _breaks(ring: Floats, tolerance: float) -> list[int]:
    """Return the places of the ring where a chord would leave it (Douglas and Peucker)."""
    size = len(ring)
    # Start at the two points farthest apart: corners, unlike the ring's arbitrary beginning.
    first = int(np.argmax(np.linalg.norm(ring - ring.mean(axis=0), axis=1)))
    turned = np.roll(ring, -first, axis=0)
    far = int(np.argmax(np.linalg.norm(turned - turned[0], axis=1)))
    closed = np.vstack([turned, turned[:1]])
    kept = {0, far}
    stack = [(0, far), (far, size)]
    while stack:
        a, b = stack.pop()
        if b - a < 2:
            continue
        stray = _stray(closed[a + 1 : b], closed[a], closed[b])
        worst = int(np.argmax(stray))
        if stray[worst] > tolerance:
            middle = a + 1 + worst
            kept.add(middle)
            stack += [(a, middle), (middle, b)]
    return sorted((k + first) % size for k in kept)


def _stray(points: Floats, start: Floats, end: Floats) -> Floats:
    way = end - start
    length = float(np.hypot(*way))
    if length < 1e-9:
        return np.asarray(np.linalg.norm(points - start, axis=1))
    return np.asarray(np.abs((points - start) @ np.array([-way[1], way[0]])) / length)


def _run(ring: Floats, a: int, b: int) -> Floats:
    count = (b - a) % len(ring) or len(ring)
    return ring[(a + np.arange(count + 1)) % len(ring)]


def _joined(ring: Floats, breaks: list[int], tolerance: float) -> list[int]:
    """Drop breaks whose two runs together are one straight line."""
    k = 0
    checked = 0
    while len(breaks) > 3 and checked < len(breaks):
        a, b = breaks[k - 1], breaks[(k + 1) % len(breaks)]
        run = _run(ring, a, b)
        middle, way = _fitted(run)
        stray = np.abs((run - middle) @ np.array([-way[1], way[0]]))
        short = min(_length(_run(ring, a, breaks[k])), _length(_run(ring, breaks[k], b)))
        if stray.max() < tolerance or (short < 0.12 and np.percentile(stray, 95) < tolerance):
            del breaks[k]
            k, checked = k % len(breaks), 0
        else:
            k, checked = (k + 1) % len(breaks), checked + 1
    return breaks


def _length(run: Floats) -> float:
    return float(np.linalg.norm(run[-1] - run[0]))


def _fitted(run: Floats) -> tuple[Floats, Floats]:
    """Return a point and the direction of the line that fits the run, outliers held down."""
    x, y, px, py = cv2.fitLine(run.astype(np.float32), cv2.DIST_HUBER, 0, 0.002, 0.001).ravel()
    return np.array([px, py], dtype=np.float64), np.array([x, y], dtype=np.float64)


def _line(ring: Floats, a: int, b: int, tolerance: float) -> _Line | None:
    """Return the straight edge between two breaks, or None for a bit of curve."""
    run = _run(ring, a, b)
    if _length(run) < _SHORTEST_LINE or len(run) < 6:
        return None
    # Near its ends the picture rounds the corner.
    trim = max(1, min(len(run) // 6, 4))
    middle, way = _fitted(run[trim:-trim])
    if way @ (run[-1] - run[0]) < 0:
        way = -way
    stray = np.abs((run[trim:-trim] - middle) @ np.array([-way[1], way[0]]))
    return (middle, way) if np.percentile(stray, 90) < tolerance else None


def _corner(
    seen: Floats, before: _Line | None, after: _Line | None, belongs: _Belongs | None
) -> list[Floats]:
    """Return the corner, or two where the outline is blunt there."""
    if before is not None and after is not None:
        first, second = _onto(seen, before), _onto(seen, after)
        meet = _meeting(before, after)
        if meet is None:
            close = float(np.linalg.norm(first - second)) < 0.05
            return [(first + second) / 2] if close else [first, second]
        if np.linalg.norm(meet - seen) < _FARTHEST_CORNER or _is_tip(
            meet, first, second, before, after, belongs
        ):
            return [meet]
        return [first, second]
    line = before if before is not None else after
    return [seen if line is None else _onto(seen, line)]


def _meeting(before: _Line, after: _Line) -> Floats | None:
    """Return where two lines meet, or None when they are nearly parallel."""
    turn = before[1][0] * after[1][1] - before[1][1] * after[1][0]
    if abs(turn) < 0.1:
        return None
    gap = after[0] - before[0]
    along = (gap[0] * after[1][1] - gap[1] * after[1][0]) / turn
    return np.asarray(before[0] + along * before[1])


def _onto(point: Floats, line: _Line) -> Floats:
    return np.asarray(line[0] + ((point - line[0]) @ line[1]) * line[1])
