"""The verifier of cuts: it carries a plan out and reports what is wrong, before anyone sees it.

It shares no code with the planner. The planner cuts with half-planes; here a part is divided by the
line itself (`shapely.ops.split`), and every figure is computed again from the lines alone.
"""

import math
from collections.abc import Sequence
from itertools import pairwise

import shapely
from shapely import LineString, Point, Polygon
from shapely.ops import split

from scrapstore.shapes import Cut, CuttingPlan, Line

__all__ = ["cut_faults"]

_TOLERANCE = 2e-6  # inches; what the verifier of layouts allows, and what printing rounds away
_LEAST_AREA = 1e-7  # square inches: below it a part is only rounding
_SAME_CORNER = 2e-6  # inches: corners closer than this are one to a ruler
_STRAIGHT = 1e-8  # inches from the chord
_STRAIGHT_EDGE = 0.5  # inches of an edge that a ruler can lie against


def cut_faults(plan: CuttingPlan) -> list[str]:
    """Return the faults of a plan as sentences; an empty list means that it can be cut.

    Checked: every cut goes through a part that is there and gives what it says, in order; every
    figure lies on a mark and is the real one; each piece ends whole in a part of its own that is
    larger by less than a ruler step on every side, or by template in a part that holds all of it.
    """
    parts: dict[int, Polygon] = {0: plan.outline}
    faults: list[str] = []
    for index, cut in enumerate(plan.cuts):
        part = parts.pop(cut.part, None)
        if part is None:
            return [*faults, f"cut {index}: there is no part {cut.part}"]
        made = _halves(part, cut.line)
        if not made or len(made) != len(cut.gives) or cut.gives[0] <= max(parts, default=0):
            return [*faults, f"cut {index} gives {len(made)} parts, not {len(cut.gives)}"]
        parts.update(zip(cut.gives, made, strict=True))
        wrong = _ruler_fault(plan, index, cut, part)
        if wrong:
            faults.append(f"cut {index}: {wrong}")
    return faults + _piece_faults(plan, parts)


def _halves(part: Polygon, line: Line) -> list[Polygon]:
    """Return the parts left of the line, then right of it, each side in order along it."""
    (ax, ay), (bx, by) = line
    long = math.hypot(bx - ax, by - ay)
    if not long:
        return []
    ux, uy = (bx - ax) / long, (by - ay) / long
    reach = long + part.length
    knife = LineString(
        [(ax - ux * reach, ay - uy * reach), (bx + ux * reach, by + uy * reach)]
    )  # fmt: skip
    sides: dict[bool, list[tuple[float, Polygon]]] = {True: [], False: []}
    for piece in split(part, knife).geoms:
        if isinstance(piece, Polygon) and piece.area > _LEAST_AREA:
            x, y = piece.representative_point().coords[0]
            left = ux * (y - ay) - uy * (x - ax) > 0
            on_line = (
                ux * (x - ax) + uy * (y - ay)
                for x, y in piece.exterior.coords
                if abs(ux * (y - ay) - uy * (x - ax)) < _TOLERANCE
            )
            begins = min(on_line, default=0.0)  # a line beside the part divides nothing
            sides[left].append((begins, piece))
    if not sides[True] or not sides[False]:
        return []
    return [piece for left in (True, False) for _, piece in sorted(sides[left], key=lambda s: s[0])]


def _ruler_fault(plan: CuttingPlan, index: int, cut: Cut, part: Polygon) -> str | None:
    """Return what is wrong with how the ruler lies for a cut, or None."""
    if cut.corners:
        on = sum(_distance(corner, cut.line) < _TOLERANCE for corner in _vertices(part))
        return None if on == 2 else "it does not run from corner to corner"
    if cut.ruler_from is None:
        return None if index == 0 else "it is measured from nothing"
    if cut.distance is None or cut.angle_deg is None or not _is_on_mark(cut.distance, plan.step):
        return f"{cut.distance} is on no mark"
    if cut.point is not None and not (
        cut.point_distance is not None
        and _is_on_mark(cut.point_distance, plan.step)
        and abs(_distance(cut.point, cut.line) - cut.point_distance) < _TOLERANCE
        and any(math.dist(corner, cut.point) < _TOLERANCE for corner in _vertices(part))
    ):
        return f"it does not lie {cut.point_distance} from a corner at {cut.point}"
    if isinstance(cut.ruler_from, int):
        if not 0 <= cut.ruler_from < index:
            return f"there is no cut {cut.ruler_from} before it"
        lines: Sequence[Line] = [plan.cuts[cut.ruler_from].line]
    else:
        ring = list(plan.outline.exterior.coords)
        lines = [
            ((ax, ay), (bx, by))
            for (ax, ay), (bx, by) in pairwise(ring)
            if math.hypot(bx - ax, by - ay) >= _STRAIGHT_EDGE
        ]
    if any(_lies_at(cut.line, other, cut.distance, cut.angle_deg) for other in lines):
        return None
    return f"it does not lie {cut.distance} at {cut.angle_deg}° from {cut.ruler_from}"


def _lies_at(line: Line, other: Line, distance: float, angle_deg: float) -> bool:
    """Tell whether a line lies at that distance and angle from another one."""
    between = abs(_direction(line) - _direction(other)) % 180
    if abs(min(between, 180 - between) - angle_deg) > 1e-3:
        return False
    if angle_deg == 0:
        return all(
            abs(_distance(end, other) - distance) < _TOLERANCE * max(1.0, distance) for end in line
        )
    return distance == 0


def _piece_faults(plan: CuttingPlan, parts: dict[int, Polygon]) -> list[str]:
    faults = []
    shared = [piece.part for piece in plan.pieces]
    for number, piece in enumerate(plan.pieces, 1):
        name = f"piece {number} ({piece.name})"
        part = parts.get(piece.part)
        if part is None:
            faults.append(f"{name}: there is no part {piece.part} at the end")
            continue
        inner = piece.outline.buffer(-_TOLERANCE, join_style="mitre", mitre_limit=10.0)
        if not part.covers(inner):
            faults.append(f"{name} is damaged or small")
        if piece.template:
            continue
        if shared.count(piece.part) > 1:
            faults.append(f"{name} is not alone in its part")
        ring = list(shapely.normalize(piece.outline).exterior.coords)[::-1]
        for a, b in pairwise(ring):
            beyond = max(_distance_right(corner, (a, b)) for corner in part.exterior.coords)
            if beyond > plan.step - _TOLERANCE / 4:
                faults.append(f"{name} is too large by {beyond:.4f} in")
    return faults


def _vertices(part: Polygon) -> list[tuple[float, float]]:
    """Return the corners at which a part turns; corners closer than `_SAME_CORNER` are one."""
    clean = shapely.remove_repeated_points(part.exterior, _SAME_CORNER)
    ring: list[tuple[float, float]] = [(x, y) for x, y in clean.coords[:-1]]
    return [
        b
        for a, b, c in zip([ring[-1], *ring[:-1]], ring, [*ring[1:], ring[0]], strict=True)
        if Point(b).distance(LineString([a, c])) > _STRAIGHT
    ]


def _direction(line: Line) -> float:
    (ax, ay), (bx, by) = line
    return math.degrees(math.atan2(by - ay, bx - ax))


def _distance_right(point: Sequence[float], line: Sequence[Sequence[float]]) -> float:
    """Return how far a point lies to the right of a line."""
    (ax, ay), (bx, by) = (end[:2] for end in line)
    return ((by - ay) * (point[0] - ax) - (bx - ax) * (point[1] - ay)) / math.hypot(
        bx - ax, by - ay
    )


def _distance(point: Sequence[float], line: Line) -> float:
    return abs(_distance_right(point, line))


def _is_on_mark(distance: float, step: float) -> bool:
    marks = distance / step
    return abs(marks - round(marks)) < 1e-6
