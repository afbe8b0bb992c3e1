"""Cuts carried out on a strip, one by one, and written down with the way the ruler lies.

Every part is a convex outline, and each of its sides knows which cut made it. How a cut is measured
is found from the part itself: from a side parallel to it, or, at an angle for which a ruler has a
line, from a corner.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final, Literal

import shapely
from shapely import Polygon, box
from shapely.affinity import translate

from scrapstore.errors import PlanError
from scrapstore.shapes import Cut
from scrapstore.units import round_up_to_mark
from scrapstore.yardage.nesting import on_angle_line

__all__ = ["Carving"]

Point = tuple[float, float]
_Made = int | Literal["edge"]

_SAME: Final = 1e-7  # inches
_SLIVER: Final = 1e-6  # inches
_PARALLEL: Final = 1e-9  # sine of an angle
_ON_MARK: Final = 1e-5  # of the distance between two marks
_LONG_ENOUGH: Final = 1.0  # inches
_ROUND_DEG: Final = 1e-6
_FLATTEST_DEG: Final = 5
"""Lines at a smaller angle cross at no clear point."""


@dataclass(frozen=True, slots=True)
class _Part:
    """The corners of a convex part, counter-clockwise, and what made the side after each."""

    corners: tuple[Point, ...]
    made: tuple[_Made, ...]

    def sides(self) -> Iterable[tuple[Point, Point, _Made]]:
        return zip(self.corners, (*self.corners[1:], self.corners[0]), self.made, strict=True)

    def left_of(self, at: Point, way: Point, number: int) -> "_Part | None":
        """Return what lies left of a line through `at`; None where nothing does."""
        found: list[tuple[Point, _Made]] = []
        for start, end, made in self.sides():
            a, b = _left(start, at, way), _left(end, at, way)
            if a > -_SAME:
                found.append((start, made if b > -_SAME else number if a <= _SAME else made))
            if (a > _SAME and b < -_SAME) or (a < -_SAME and b > _SAME):
                share = a / (a - b)
                crossing = (
                    start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1])
                )  # fmt: skip
                found.append((crossing, number if a > 0 else made))
        if len(found) < 3 or max(_left(corner, at, way) for corner, _ in found) < _SLIVER:
            return None
        return _Part(tuple(p for p, _ in found), tuple(m for _, m in found))


class Carving:
    """The cuts of one strip, `length` inches long and `width` wide, on a ruler of marks `step`."""

    def __init__(self, length: float, width: float, step: float) -> None:
        self.step, self._length = step, length
        self.outline: Polygon = box(0, 0, length, width)
        corners = ((0.0, 0.0), (length, 0.0), (length, width), (0.0, width))
        self._parts = [_Part(corners, ("edge",) * 4)]
        self.cuts: list[Cut] = []

    def corners(self, part: int) -> tuple[Point, ...]:
        """Return the corners of a part, counter-clockwise."""
        return self._parts[part].corners

    def cut(self, part: int, at: Point, way: Point) -> tuple[int | None, int | None]:
        """Cut `part` along the line through `at` in the direction `way`.

        Return the part left of it and the part right of it; where the line parts nothing, `part`
        itself is one of them, and the other None. What lies left is measured: from the side of the
        part left of the line, if one is parallel. Raises PlanError where no mark of the ruler leads
        to the line.
        """
        size = math.hypot(*way)
        way = (way[0] / size, way[1] / size)
        cloth, number = self._parts[part], len(self.cuts)
        left = cloth.left_of(at, way, number)
        right = cloth.left_of(at, (-way[0], -way[1]), number)
        if left is None or right is None:
            return (None, part) if left is None else (part, None)
        count = len(self._parts)
        line = _ends(left, at, way)
        bare = Cut(part, line, (count, count + 1))
        self.cuts.append(self._measured(bare, cloth, at, way))
        self._parts += [left, right]
        return count, count + 1

    def _measured(self, bare: Cut, cloth: _Part, at: Point, way: Point) -> Cut:
        """Return a cut of `cloth` with the way the ruler lies for it."""
        level = [
            (_left(start, at, way), made)
            for start, end, made in cloth.sides()
            if abs(_sine(start, end, way)) < _PARALLEL and not self._at_end(start, end)
        ]
        # What is left of the line is wanted: first from there, and from near.
        for away, made in sorted(level, key=lambda one: (one[0] < 0, abs(one[0]))):
            if self._on_mark(abs(away)):
                return replace(bare, ruler_from=made, distance=self._mark(away), angle_deg=0.0)
        through = [corner for corner in cloth.corners if abs(_left(corner, at, way)) < _SAME]
        if len(through) == 2:
            return replace(bare, corners=True)
        crossed = [
            (round(length, 6), round(deg, 6), made == "edge", made)
            for start, end, made in cloth.sides()
            if abs((deg := _angle_deg(start, end, way)) - on_angle_line(deg)) < _ROUND_DEG
            and (length := self._length_if_met(start, end, at, way))
            and not self._at_end(start, end)
        ]
        points = [
            (round(abs(_left(corner, at, way)), 6), corner)
            for corner in cloth.corners
            if self._on_mark(abs(_left(corner, at, way))) and not self._at_end(corner)
        ]
        if not crossed or not points:
            raise PlanError("a strip: a cut lies on no mark of the ruler; please report this")
        # A side that is long enough to lay a ruler on, and as steep as can be.
        _, deg, _, made = max(
            crossed, key=lambda one: (min(one[0], _LONG_ENOUGH), *one[1:3], one[0])
        )
        away, corner = min(points)
        return replace(
            bare,
            ruler_from=made,
            distance=0.0,
            angle_deg=on_angle_line(deg),
            point=corner,
            point_distance=self._mark(away),
        )

    def trim(self, part: int, piece: Polygon) -> int | None:
        """Cut `part` down to `piece`, a convex outline inside it; return the part that is left.

        It is then larger than the piece by less than a mark on each side. Where straight cuts do
        not get there nothing is cut, and None returned.
        """
        before = len(self._parts), len(self.cuts)
        corners = shapely.normalize(piece).exterior.coords[::-1]
        sides = [((a[0], a[1]), (b[0], b[1])) for a, b in pairwise(corners)]
        for _ in range(2 * len(sides)):
            cloth = self._parts[part]
            large = [
                (start, way)
                for start, way in ((a, _unit(a, b)) for a, b in sides)
                if max(-_left(corner, start, way) for corner in cloth.corners) > self.step - _SLIVER
            ]
            if not large:
                return part
            _, at, way = min(
                (self._trimming(cloth, sides, start, way) for start, way in large),
                key=lambda found: found[0],
            )
            left, right = self.cut(part, at, way)
            if left is None or right is None:
                break
            part = left
        del self._parts[before[0] :], self.cuts[before[1] :]
        return None

    def settled(self, part: int, piece: Polygon) -> Polygon:
        """Return `piece`, a convex outline inside `part`, moved to where least is left round it.

        That is into a corner of the part where it has such a corner. Not where it would take more
        cuts to trim it there.
        """
        best, least = piece, self._left_over(part, piece)
        for moved in self._in_corners(part, piece):
            left = self._left_over(part, moved)
            if left < least:
                best, least = moved, left
        return best

    def _left_over(self, part: int, piece: Polygon) -> tuple[float, ...]:
        """Return how many cuts trim `part` to `piece`, and how large it then is; nothing is cut."""
        before = len(self._parts), len(self.cuts)
        trimmed = self.trim(part, piece)
        if trimmed is None:
            return (math.inf,)
        cuts, area = len(self.cuts) - before[1], Polygon(self._parts[trimmed].corners).area
        del self._parts[before[0] :], self.cuts[before[1] :]
        return cuts, round(area, 6)

    def _in_corners(self, part: int, piece: Polygon) -> Iterable[Polygon]:
        """Give `piece` moved into each corner of the part where two of its own sides lie along."""
        cloth = _turns(self._parts[part].corners)
        own = _turns([(x, y) for x, y in shapely.normalize(piece).exterior.coords[:0:-1]])
        for at, into, out in cloth:
            for corner, piece_into, piece_out in own:
                alike = math.dist(into, piece_into) + math.dist(out, piece_out) < _PARALLEL
                right, up = at[0] - corner[0], at[1] - corner[1]
                if not alike or math.hypot(right, up) < _SLIVER:
                    continue
                moved = translate(piece, right, up)
                if all(
                    _left((x, y), start, _unit(start, end)) > -_SAME
                    for start, end, _ in self._parts[part].sides()
                    for x, y in moved.exterior.coords
                ):
                    yield moved

    def _trimming(
        self, cloth: _Part, sides: Sequence[tuple[Point, Point]], at: Point, way: Point
    ) -> tuple[tuple[float, ...], Point, Point]:
        """Return a line on a mark, just outside the side of a piece through `at`.

        Before it how hard it is to lay the ruler for it: parallel to a side of the cloth is easy.
        """
        found = []
        for start, end, _ in cloth.sides():
            if abs(_sine(start, end, way)) < _PARALLEL and not self._at_end(start, end):
                away = _left(start, at, way)
                out = self._out(away)
                if out < -away - _SLIVER or away > 0:
                    order = 0.0, float(away < 0), round(out, 6)
                    found.append((order, _right(at, way, out), way))
        if found:
            return min(found)
        # At an angle that a ruler has to the longest side that it crosses.
        start, end, _ = max(
            cloth.sides(), key=lambda side: self._length_if_met(side[0], side[1], at, way)
        )
        deg = _angle_deg(start, end, way, signed=True)
        way = _turned(way, on_angle_line(deg) - deg)
        at = min((corner for corner, _ in sides), key=lambda corner: _left(corner, at, way))
        for corner in cloth.corners:
            if not self._at_end(corner):
                away = _left(corner, at, way)
                out = self._out(away)
                order = 1.0, round(abs(away + out), 6), round(out, 6)
                found.append((order, _right(at, way, out), way))
        return min(found)

    def _at_end(self, *points: Point) -> bool:
        """Return whether all points lie at the far end of the strip.

        Nothing is measured from there: how long a strip is across the fabric is not quite known.
        """
        return all(x > self._length - _SAME for x, _ in points)

    def _out(self, away: float) -> float:
        """Return how far outside a piece a cut lies, on a mark from something `away` left of it."""
        return round_up_to_mark(away, self.step) - away

    def _on_mark(self, distance: float) -> bool:
        return abs(distance / self.step - round(distance / self.step)) < _ON_MARK

    def _mark(self, distance: float) -> float:
        return round(abs(distance) / self.step) * self.step

    def _length_if_met(self, start: Point, end: Point, at: Point, way: Point) -> float:
        """Return how long a side is that the line crosses or ends on, else 0."""
        if math.degrees(math.asin(min(1.0, abs(_sine(start, end, way))))) < _FLATTEST_DEG:
            return 0.0
        met = min(_left(start, at, way), _left(end, at, way)) < _SAME and (
            max(_left(start, at, way), _left(end, at, way)) > -_SAME
        )
        return math.dist(start, end) if met else 0.0


def _turns(corners: Sequence[Point]) -> list[tuple[Point, Point, Point]]:
    """Return each corner with the unit vectors of the side that ends and of that which begins."""
    ways = [_unit(a, b) for a, b in pairwise((*corners, corners[0]))]
    return [(corners[i], ways[i - 1], ways[i]) for i in range(len(corners))]


def _left(point: Point, at: Point, way: Point) -> float:
    """Return how far `point` lies left of the line through `at` along the unit vector `way`."""
    return way[0] * (point[1] - at[1]) - way[1] * (point[0] - at[0])


def _right(at: Point, way: Point, out: float) -> Point:
    """Return `at` moved `out` inches to the right of `way`."""
    return at[0] + way[1] * out, at[1] - way[0] * out


def _unit(start: Point, end: Point) -> Point:
    length = math.dist(start, end)
    return (end[0] - start[0]) / length, (end[1] - start[1]) / length


def _turned(way: Point, deg: float) -> Point:
    cos, sin = math.cos(math.radians(deg)), math.sin(math.radians(deg))
    return way[0] * cos - way[1] * sin, way[0] * sin + way[1] * cos


def _sine(start: Point, end: Point, way: Point) -> float:
    """Return the sine of the angle from `way` to a side."""
    ux, uy = _unit(start, end)
    return way[0] * uy - way[1] * ux


def _angle_deg(start: Point, end: Point, way: Point, *, signed: bool = False) -> float:
    """Return the angle from a side to `way` in (-90, 90]; without its sign unless `signed`."""
    ux, uy = _unit(start, end)
    deg = math.degrees(math.atan2(ux * way[1] - uy * way[0], ux * way[0] + uy * way[1]))
    deg = deg - 180 if deg > 90 + _SAME else deg + 180 if deg < -90 + _SAME else deg
    return deg if signed else abs(deg)


def _ends(part: _Part, at: Point, way: Point) -> tuple[Point, Point]:
    """Return where a line along a side of `part` begins and ends."""
    on_line = [corner for corner in part.corners if abs(_left(corner, at, way)) < _SAME]
    on_line.sort(key=lambda p: way[0] * p[0] + way[1] * p[1])
    return on_line[0], on_line[-1]
