"""From a ring of edge points to an outline: straight edges straight, corners sharp, curves few.

The points are split where they leave a chord by more than a tolerance; runs that belong to one
straight line are joined again and get the line that fits them best; where two lines meet, their
meeting point is the corner, however rounded the picture shows it.
"""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from math import hypot

import cv2
import numpy as np
from shapely.geometry import Polygon
from shapely.geometry.polygon import orient

from scrapstore.photo.arrays import Floats
from scrapstore.photo.outline import tuning
from scrapstore.photo.outline.rings import farthest, polygons_of, ring_breaks, signed_area

__all__ = ["ClothShares", "fit_polygon"]


@dataclass(frozen=True)
class ClothShares:
    """Which share of given places (n × 2, inches) is the scrap's, 0 to 1.

    `scrap`: in the scrap's own colours; `cloth`: in those, or at least in none of the background's.
    """

    scrap: Callable[[Floats], float]
    cloth: Callable[[Floats], float]


_Line = tuple[Floats, Floats]
"""A point and the direction, of length 1, of a straight edge."""


def fit_polygon(
    points: Floats,
    shares: ClothShares | None = None,
    tolerance: float = tuning.TOLERANCE,
    *,
    notches: bool = True,
) -> Polygon | None:
    """Return the outline through the closed ring `points` (n × 2, inches), or None without one.

    `points` go counter-clockwise round a scrap and clockwise round a hole in it. `shares`
    decide whether a blunt end between two straight edges is a corner that the picture shows
    rounded, or is really blunt. A narrow bump on a straight edge is a thread or a line on the table
    and goes; a narrow notch in one stays only with `notches`: without, the scrap's print may have
    the table's colour there.
    """
    ring = _without_loops(points)
    if ring is None:
        return None
    breaks, lines = _runs(ring, tolerance)
    if (smooth := _without_bumps(ring, breaks, lines, tolerance, notches=notches)) is not None:
        ring = smooth
        breaks, lines = _runs(ring, tolerance)
    if len(breaks) < 3:
        return None
    corners = [ring[at] for at in breaks]
    made = _corners(ring, breaks, lines, shares)
    for candidate in (made, corners, list(ring)):
        places = np.array(candidate)
        # Where the ring begins is kept, so it begins at a corner.
        first = farthest(places, places.mean(axis=0))
        polygon = Polygon(np.roll(places, -first, axis=0)).simplify(
            tuning.FINAL_TOLERANCE * tolerance
        )
        if isinstance(polygon, Polygon) and polygon.is_valid and polygon.area > 0:
            return polygon
    return None


def _without_loops(points: Floats) -> Floats | None:
    """Return the ring without the little loops that neighbouring profiles make where they cross."""
    polygon = Polygon(points)
    if not polygon.is_valid:
        polygon = max(polygons_of(polygon.buffer(0)), key=lambda part: part.area, default=Polygon())
    sign = 1.0 if signed_area(points) > 0 else -1.0
    ring = np.asarray(orient(polygon, sign).exterior.coords)[:-1]
    return ring if len(ring) >= 8 else None


def _runs(ring: Floats, tolerance: float) -> tuple[list[int], list[_Line | None]]:
    """Return where straight edges and bits of curve begin, and the lines of the straight."""
    breaks = ring_breaks(ring, tolerance)
    if len(breaks) >= 3:
        breaks = _merged(ring, breaks, tolerance)
    ends = breaks[1:] + breaks[:1]
    return breaks, [_line(ring, a, b, tolerance) for a, b in zip(breaks, ends, strict=True)]


def _without_bumps(
    ring: Floats, breaks: list[int], lines: list[_Line | None], tolerance: float, *, notches: bool
) -> Floats | None:
    """Return the ring with narrow bumps (notches, if so wished) cut straight; None if it has none.

    Only where the edge goes on along the same straight line on both sides.
    """
    if len(breaks) < 5:
        return None
    ends = breaks[1:] + breaks[:1]
    lengths = [_length(_run(ring, a, b)) for a, b in zip(breaks, ends, strict=True)]
    whole = ring
    ring = ring.copy()
    count = len(breaks)
    wider, longer = tuning.BUMP_SHOULDER
    for k in range(count):
        for between in range(2, min(tuning.MOST_BUMP_RUNS + 1, count - 2)):
            before, after = lines[k - 1], lines[(k + between) % count]
            a, b = breaks[k], breaks[(k + between) % count]
            gap = float(np.linalg.norm(ring[b] - ring[a]))
            if (
                before is None
                or after is None
                or gap > (tuning.WIDEST_BUMP if notches else tuning.WIDEST_NOTCH)
            ):
                continue
            if min(lengths[k - 1], lengths[(k + between) % count]) < wider * gap + longer:
                continue
            turn = _cross(before[1], after[1])
            gap_across = np.linalg.norm(_projected(ring[b], before) - _projected(ring[b], after))
            if (
                abs(turn) > tuning.PARALLEL
                or before[1] @ after[1] < 0
                or gap_across > tuning.BUMP_OFFSET * tolerance
            ):
                continue
            run = _run(ring, a, b)
            if notches and signed_area(run - run[0]) < 0:
                continue
            at = (a + np.arange(len(run))) % len(ring)
            ring[at] = ring[a] + np.linspace(0, 1, len(run))[:, None] * (ring[b] - ring[a])
            break
    return None if np.array_equal(ring, whole) else ring


def _corners(
    ring: Floats, breaks: list[int], lines: list[_Line | None], shares: ClothShares | None
) -> list[Floats]:
    """Return the outline's corners: straight edges go on until they meet where the cloth does too.

    `lines[k]` is the run from `breaks[k]` to the next. Between two straight edges up to three short
    runs, a corner that the picture shows rounded, may give way to the point where those meet.
    """
    count = len(breaks)
    tips: dict[int, tuple[int, Floats]] = {}
    taken: set[int] = set()
    for dropped in range(tuning.MOST_DROPPED + 1):
        for k in range(count):
            # Runs k … k + dropped - 1 lie between the lines k - 1 and k + dropped.
            between = [(k + i) % count for i in range(dropped)]
            before, after = lines[k - 1], lines[(k + dropped) % count]
            if before is None or after is None or count - dropped < 3:
                continue
            if k in tips or taken & {*between, (k - 1) % count, (k + dropped) % count}:
                continue
            if any((i + 1) % count in tips or i in tips for i in between):
                continue
            places = [breaks[(k + i) % count] for i in (-1, 0, dropped, dropped + 1)]
            tip = _tip(ring, places, (before, after), shares)
            if tip is not None:
                tips[k] = (dropped, tip)
                taken.update(between)
    made: list[Floats] = []
    inside = {(k + i) % count for k, (dropped, _) in tips.items() for i in range(1, dropped + 1)}
    for k in range(count):
        if k in tips:
            made.append(tips[k][1])
        elif k not in inside:
            made.extend(_corner_at(ring[breaks[k]], lines[k - 1], lines[k]))
    return made


def _tip(
    ring: Floats, breaks: list[int], sides: tuple[_Line, _Line], shares: ClothShares | None
) -> Floats | None:
    """Return the corner to which two straight edges go on, or None where they do not.

    `breaks`: where in the ring the one edge begins and ends, the other begins and ends.
    """
    first, start, end, last = breaks
    seen = ring[[start]] if start == end else _run(ring, start, end)
    if np.linalg.norm(np.diff(seen, axis=0), axis=1).sum() > tuning.WIDEST_BLUNT:
        return None
    tip = _intersection(*sides)
    if tip is None or _cuts_off(ring, start, end, tip, sides, shares):
        return None
    if start == end:
        # Noise may put a break some points before or past its corner.
        seen = _nearest(_run(ring, first, last), tip)
    return tip if _is_tip(tip, seen, *sides, shares) else None


def _cuts_off(
    ring: Floats,
    start: int,
    end: int,
    tip: Floats,
    sides: tuple[_Line, _Line],
    shares: ClothShares | None,
) -> bool:
    """Say whether the corner `tip` of two edges would cut off scrap that the ring takes in.

    `start`, `end`: where in the ring the one edge ends and the other begins.
    """
    _, trim = tuning.LINE_TRIM
    near = _run(ring, (start - trim) % len(ring), (end + trim) % len(ring))
    turn = 1 if _cross(sides[0][1], sides[1][1]) > 0 else -1
    past = [turn * (near - at) @ np.array([along[1], -along[0]]) for at, along in sides]
    out = near[np.max(past, axis=0) > tuning.CUT_OFF]
    if len(out) == 0 or shares is None:
        return len(out) > 0
    share = shares.scrap(_between(tip, out))
    # Where the outline turns inwards it is a cut into the scrap instead.
    return share > tuning.TIP_SHARE if turn > 0 else share < tuning.NOTCH_TIP_SHARE


def _between(tip: Floats, base: Floats) -> Floats:
    """Return places (n × 2) evenly over the area between a tip and the points `base`."""
    part = np.sqrt(np.linspace(*tuning.TIP_PLACES))
    return np.asarray((tip + part[:, None, None] * (base - tip)).reshape(-1, 2))


def _is_tip(
    tip: Floats, seen: Floats, before: _Line, after: _Line, shares: ClothShares | None
) -> bool:
    """Say whether two straight edges, between which the ring is `seen`, really go on to `tip`."""
    ahead, behind = (tip - seen[0]) @ before[1], (seen[-1] - tip) @ after[1]
    away = float(np.linalg.norm(seen - tip, axis=1).min())
    # The sharper a corner, the more of it the blur takes.
    half = np.cos(np.arccos(np.clip(before[1] @ after[1], -1, 1)) / 2)
    wide, least = tuning.BLUR_HALF
    blur = tuning.BLUR * max(1.0, wide / max(float(half), least))
    if away < (blur if len(seen) == 1 else tuning.DROPPED_BLUR * blur):
        return True  # no more than the blur of the picture: nothing there to look at
    far = max(float(np.linalg.norm(tip - seen[0])), float(np.linalg.norm(tip - seen[-1])))
    if min(ahead, behind) < tuning.BEHIND_TIP or far > tuning.FARTHEST_TIP:
        return False
    if shares is None:
        return away < tuning.UNSEEN_TIP
    ends = np.vstack(
        [
            _projected(seen[0] - tuning.TIP_ENDS * before[1], before),
            seen,
            _projected(seen[-1] + tuning.TIP_ENDS * after[1], after),
        ]
    )
    closed = np.vstack([ends[0], *(np.linspace(p, q, 5)[1:] for p, q in pairwise(ends))])
    # Where the outline turns inwards the tip is a bit of background instead.
    if _cross(before[1], after[1]) < 0:
        return shares.scrap(_between(tip, closed)) < tuning.NOTCH_TIP_SHARE
    return shares.cloth(_between(tip, closed)) > tuning.TIP_SHARE


def _run(ring: Floats, a: int, b: int) -> Floats:
    count = (b - a) % len(ring) or len(ring)
    return ring[(a + np.arange(count + 1)) % len(ring)]


def _merged(ring: Floats, breaks: list[int], tolerance: float) -> list[int]:
    """Drop breaks whose two runs together are one straight line."""
    k = 0
    checked = 0
    while len(breaks) > 3 and checked < len(breaks):
        a, b = breaks[k - 1], breaks[(k + 1) % len(breaks)]
        if _is_straight(ring, a, breaks[k], b, tolerance):
            del breaks[k]
            k, checked = k % len(breaks), 0
        else:
            k, checked = (k + 1) % len(breaks), checked + 1
    return breaks


def _is_straight(ring: Floats, a: int, k: int, b: int, tolerance: float) -> bool:
    """Say whether the ring's runs from `a` to `k` and on to `b` together are one straight line."""
    (ax, ay), (kx, ky), (bx, by) = ring[[a, k, b]].tolist()
    sides = (hypot(kx - ax, ky - ay), hypot(bx - kx, by - ky), hypot(bx - ax, by - ay))
    short = min(sides[:2])
    # No line comes nearer to all three corners of a triangle than half its least height.
    height = abs((kx - ax) * (by - ay) - (ky - ay) * (bx - ax)) / max(*sides, 1e-12)
    if height / 2 >= tolerance and short >= tuning.SHORT_RUN:
        return False
    run = _run(ring, a, b)
    stray = _distances(run, _fitted(run))
    return bool(
        stray.max() < tolerance
        or (short < tuning.SHORT_RUN and _nearly_all(stray, tuning.SHORT_RUN_SHARE) < tolerance)
    )


def _nearest(run: Floats, place: Floats) -> Floats:
    """Return the point of a run that is nearest to a place, as a run of its own."""
    return run[[int(np.argmin(np.linalg.norm(run - place, axis=1)))]]


def _nearly_all(values: Floats, share: float) -> float:
    """Return what the given share of the values does not exceed."""
    place = int(share * (len(values) - 1))
    return float(np.partition(values, place)[place])


def _length(run: Floats) -> float:
    return float(np.linalg.norm(run[-1] - run[0]))


def _distances(points: Floats, line: _Line) -> Floats:
    return np.asarray(np.abs((points - line[0]) @ np.array([-line[1][1], line[1][0]])))


def _fitted(run: Floats) -> _Line:
    """Return a point and the direction of the line that fits the run, outliers held down."""
    x, y, px, py = cv2.fitLine(run.astype(np.float32), cv2.DIST_HUBER, 0, 0.002, 0.001).ravel()
    return np.array([px, py], dtype=np.float64), np.array([x, y], dtype=np.float64)


def _line(ring: Floats, a: int, b: int, tolerance: float) -> _Line | None:
    """Return the straight edge between two breaks, or None for a bit of curve."""
    run = _run(ring, a, b)
    if _length(run) < tuning.SHORTEST_LINE or len(run) < tuning.LINE_POINTS:
        return None
    # Near its ends the picture rounds the corner.
    part, most = tuning.LINE_TRIM
    trim = max(1, min(len(run) // part, most))
    middle, along = _fitted(run[trim:-trim])
    line = (middle, along if along @ (run[-1] - run[0]) >= 0 else -along)
    stray = _distances(run[trim:-trim], line)
    return line if _nearly_all(stray, tuning.LINE_SHARE) < tolerance else None


def _corner_at(seen: Floats, before: _Line | None, after: _Line | None) -> list[Floats]:
    """Return the corner at a break of the ring where no two lines meet; two where it is blunt."""
    near = [_projected(seen, line) for line in (before, after) if line is not None]
    if len(near) == 2 and np.linalg.norm(near[0] - near[1]) > tuning.BLUR:
        return near
    return [np.asarray(np.mean(near, axis=0)) if near else seen]


def _intersection(before: _Line, after: _Line) -> Floats | None:
    """Return where two lines meet, or None when they are nearly parallel."""
    turn = _cross(before[1], after[1])
    if abs(turn) < tuning.PARALLEL:
        return None
    gap = after[0] - before[0]
    return np.asarray(before[0] + _cross(gap, after[1]) / turn * before[1])


def _cross(first: Floats, second: Floats) -> float:
    return float(first[0] * second[1] - first[1] * second[0])


def _projected(point: Floats, line: _Line) -> Floats:
    return np.asarray(line[0] + ((point - line[0]) @ line[1]) * line[1])
