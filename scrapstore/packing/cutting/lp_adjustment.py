"""Adjusting a layout by linear programming, so that straight cuts fit between its pieces.

A dense layout often lacks little to be cut: pieces reach a little beyond a line that would divide
them, or leave no room for it. The lines and their order are read from the layout. A linear program
then moves the pieces, which stay as they lie to each other, so that every line has as much room as
there is.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon, affinity

from scrapstore.packing.convex import half_planes
from scrapstore.packing.cutting.geometry import cross, distinct_normals
from scrapstore.packing.pieces import Placement, following, rotation_matrix
from scrapstore.packing.regions import region_edges

__all__ = ["adjusted_layouts"]

Floats = NDArray[np.float64]
Group = tuple[int, ...]

_SAME = 1e-6
_DECIMALS = 8  # of an inch, in translations
_TOLERANCE = 3e-7  # inches by which a piece may lie outside the region
_BY_ANGLE_DEG = 15  # a ruler shows the multiples of this
_OVERLAP = 0.5  # inches by which pieces may reach across a line that is to divide them
_VISIBLE = 1 / 16  # inches of play in which a cut can be laid by eye
_WAYS = (0.0, -1.0, 1.0)
_LINES = 8  # tried for one group of pieces
_TREES = 40  # ways to divide one group


@dataclass(frozen=True)
class _SplitLine:
    """A line square to `normal` between two groups of pieces."""

    normal: Floats
    lower: Group
    upper: Group


def adjusted_layouts(
    region: Polygon | MultiPolygon, placements: Sequence[Placement], step: float, work: int
) -> Iterator[list[Placement]]:
    """Yield layouts of the same pieces, moved so that guillotine cuts take them apart.

    `step` is the distance between the ruler's marks, in inches; `work` bounds how many orders of
    cuts are tried.
    """
    seen: set[bytes] = set()
    for shifts in _translations(region, placements, step, work):
        if shifts is not None and shifts.tobytes() not in seen:
            seen.add(shifts.tobytes())
            yield [
                replace(p, outline=affinity.translate(p.outline, *by))
                for p, by in zip(placements, shifts, strict=True)
            ]


def _translations(
    region: Polygon | MultiPolygon, placements: Sequence[Placement], step: float, work: int
) -> Iterator[Floats | None]:
    """Yield translations (n, 2) of the pieces, or None where an order of cuts has none."""
    hulls = [
        shapely.get_coordinates(shapely.orient_polygons(p.outline.convex_hull))[:-1]
        for p in placements
    ]
    clean = shapely.orient_polygons(shapely.remove_repeated_points(region, _SAME))
    limits = [_translation_limits(hull, *region_edges(clean)) for hull in hulls]
    least = min(step / 2, _VISIBLE) + 10 * _SAME
    for _, lines in _CutTrees(hulls, least).of(tuple(range(len(hulls))))[:work]:
        program = _LinearProgram(lines, hulls, limits, step)
        widest = program.solve(least, None)
        if widest is not None or program.solve(0.0, None) is not None:
            yield widest
            yield from (program.solve(least, way) for way in _WAYS)


def _translation_limits(hull: Floats, starts: Floats, ends: Floats) -> Floats:
    """Return rows (nx, ny, most): how far a piece may move along the normal.

    Each edge of the region, from `starts` to `ends` (m, 2) with the region at its left, lies beyond
    one side of the piece, or the piece within the edge's line: the one with more room holds.
    """
    sides = ends - starts
    out = np.column_stack((sides[:, 1], -sides[:, 0])) / np.hypot(*sides.T)[:, None]
    inner = np.sum(out * starts, axis=1) - (hull @ out.T).max(axis=0)
    own = half_planes(hull)
    beyond = np.minimum(starts @ own[:, :2].T, ends @ own[:, :2].T) - own[:, 2]
    normals = np.where((beyond.max(axis=1) > inner)[:, None], own[beyond.argmax(axis=1), :2], out)
    return np.column_stack((normals, np.maximum(beyond.max(axis=1), inner)))


class _CutTrees:
    """The ways to divide groups of pieces by lines, those with the least overlap first.

    `hulls` are the corners of each piece, `least` the room in inches that a line needs.
    """

    def __init__(self, hulls: Sequence[Floats], least: float) -> None:
        sides = [side for hull in hulls for side in following(hull) - hull]
        angles = [rotation_matrix(angle) for angle in range(0, 180, _BY_ANGLE_DEG)]
        self.normals = distinct_normals(rotation @ side for rotation in angles for side in sides)
        levels = [[hull @ normal for hull in hulls] for normal in self.normals]
        self.low = np.array([[level.min() for level in own] for own in levels])
        self.high = np.array([[level.max() for level in own] for own in levels])
        self.least = least
        self._known: dict[Group, list[tuple[float, list[_SplitLine]]]] = {}

    def of(self, group: Group) -> list[tuple[float, list[_SplitLine]]]:
        """Return (inches that pieces reach across lines, the lines) for the easiest ways."""
        if len(group) < 2:
            return [(0.0, [])]
        if group not in self._known:
            found = [
                (across + first + then, [line, *those, *these])
                for across, line in self._lines(group)
                for first, those in self.of(line.lower)
                for then, these in self.of(line.upper)
            ]
            self._known[group] = sorted(found, key=lambda way: round(way[0], 4))[:_TREES]
        return self._known[group]

    def _lines(self, group: Group) -> list[tuple[float, _SplitLine]]:
        own = np.array(group)
        options = []
        levels = zip(self.normals, self.low[:, own], self.high[:, own], strict=True)
        for normal, low, high in levels:
            order = np.argsort(low + high, kind="stable")
            top = np.maximum.accumulate(high[order])
            bottom = np.minimum.accumulate(low[order][::-1])[::-1]
            for k in range(1, len(own)):
                across = float(top[k - 1] - bottom[k]) + self.least
                if across < _OVERLAP:
                    lower, upper = (tuple(sorted(own[o].tolist())) for o in (order[:k], order[k:]))
                    line = _SplitLine(normal, lower, upper)
                    options.append((max(0.0, round(across, 4)), line))
        return sorted(options, key=lambda option: option[0])[:_LINES]


class _LinearProgram:
    """The translations of pieces, two variables each, that give lines the most room.

    The other variables are the level of each line, the level of a line beside its whole group, and
    the room beside lines. `limits` are the rows of `_translation_limits` for each piece.
    """

    def __init__(
        self,
        lines: Sequence[_SplitLine],
        hulls: Sequence[Floats],
        limits: Sequence[Floats],
        step: float,
    ) -> None:
        self.lines, self.hulls, self.step = lines, hulls, step
        self.columns = 2 * len(hulls) + 2 * len(lines) + 1
        self.rows: list[Floats] = []
        self.most: list[float] = []
        for number, own in enumerate(limits):
            for x, y, most in own:
                row = np.zeros(self.columns)
                row[2 * number : 2 * number + 2] = x, y
                self.rows.append(row)
                self.most.append(max(0.0, most) + _TOLERANCE)
        self.parallel = [self._parallel(k) for k in range(len(lines))]

    def _parallel(self, k: int) -> int | None:
        """Return the last line before line k that bounds its group and is parallel to it."""
        own = self.lines[k]
        group = {*own.lower, *own.upper}
        found = [
            j
            for j, other in enumerate(self.lines[:k])
            if group <= {*other.lower, *other.upper}
            and abs(cross(own.normal, other.normal)) < _SAME
        ]
        return found[-1] if found else None

    def solve(self, least: float, way: float | None) -> Floats | None:
        """Return the translations (n, 2) that give lines the most room, `least` inches or more.

        With a `way`, lines lie on marks of the ruler: a line parallel to an earlier one on a mark
        from there, the others on a mark from a line below (-1) or above (1) their group, or with
        `least` of room (0). None where that cannot be.
        """
        rows, most = list(self.rows), list(self.most)
        marks = []
        for k, line in enumerate(self.lines):
            level = 2 * len(self.hulls) + k
            parallel = self.parallel[k]
            roomy = way is None or (parallel is None and not way)
            beside = [(number, 1.0, level) for number in line.lower]
            beside += [(number, -1.0, level) for number in line.upper]
            row = np.zeros(self.columns)
            if way and parallel is None:
                base = level + len(self.lines)
                beside += [(number, way, base) for number in (*line.lower, *line.upper)]
                row[[base, level]] = way, -way
            elif parallel is not None and not roomy:
                other = self.lines[parallel]
                same = float(other.normal @ line.normal)
                sign = -same if line.lower[0] in other.lower else same
                row[[level, 2 * len(self.hulls) + parallel]] = sign * same, -sign
            if not roomy:
                marks.append(row)
            for number, side, column in beside:
                row = np.zeros(self.columns)
                row[2 * number : 2 * number + 2] = side * line.normal
                row[column] = -side
                row[-1] = 0.5 if roomy else 0.0
                rows.append(row)
                most.append(-float((self.hulls[number] @ (side * line.normal)).max()))
        far: list[float] = []
        if marks:
            near = self._minimum(np.sum(marks, axis=0), (rows, most), ([], []), least)
            if near is None:
                return None
            far = [math.ceil(float(row @ near) / self.step - 1e-4) * self.step for row in marks]
        aim = np.zeros(self.columns)
        aim[-1] = -1.0
        found = self._minimum(aim, (rows, most), (marks, far), least)
        if found is None:
            return None
        # Rounded, so that a processor's last digits do not show.
        shifts: Floats = found[: 2 * len(self.hulls)].reshape(-1, 2).round(_DECIMALS)
        return shifts

    def _minimum(
        self,
        aim: Floats,
        at_most: tuple[Sequence[Floats], Sequence[float]],
        equal: tuple[Sequence[Floats], Sequence[float]],
        least: float,
    ) -> Floats | None:
        """Return the variables that minimise `aim`, under rows with their right-hand sides."""
        # scipy takes most of a second to load; only a layout that fits no rows needs it.
        from scipy.optimize import linprog

        found = linprog(
            aim,
            A_ub=np.array(at_most[0]),
            b_ub=np.array(at_most[1]),
            A_eq=np.array(equal[0]) if equal[0] else None,
            b_eq=np.array(equal[1]) if equal[0] else None,
            bounds=[(None, None)] * (self.columns - 1) + [(least, max(self.step, least))],
            method="highs-ds",
        )
        x: Floats | None = found.x
        return x
