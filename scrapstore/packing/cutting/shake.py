"""Shaking a layout apart: the pieces stay as they lie to each other, but straight cuts fit between.

A layout that the packer crams often lacks little to be cut: pieces reach a little beyond a line
that would part them, or leave no room for it. Which lines, in which order, is read from the layout;
a linear programme then moves the pieces so that every line has as much room as there is.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon, affinity

from scrapstore.packing.cutting.cloth import normal_of
from scrapstore.packing.cutting.shapes import turn_matrix
from scrapstore.packing.pieces import Placement, following

__all__ = ["shaken"]

Floats = NDArray[np.float64]

_SAME = 1e-6
_FINE = 8  # decimals of an inch
_HAIR = 3e-7  # inches: so much a piece may lie outside the region
_BY_ANGLE_DEG = 15  # a ruler shows the multiples of this
_OVERLAP = 0.5  # inches: so far pieces may reach across a line that is to part them
_VISIBLE = 1 / 16  # inches of play in which a cut can be laid by eye
_WAYS = (0.0, -1.0, 1.0)
_ALIKE = ((0.0,), (-1.0,), (1.0,))
_HEADS = 3  # lines whose ways are mixed
_MIXED = 3  # orders of cuts for which they are
_LINES = 8  # tried for one group of pieces
_KEPT = 40  # ways to part one group


@dataclass(frozen=True)
class _Split:
    """A line square to `normal` between pieces; `level` it has now."""

    normal: Floats
    lower: tuple[int, ...]
    upper: tuple[int, ...]


def shaken(
    region: Polygon | MultiPolygon, placements: Sequence[Placement], step: float, work: int
) -> Iterator[list[Placement]]:
    """Give layouts of the same pieces, moved so that straight cuts right across part them.

    `work` bounds how many orders of cuts are tried.
    """
    hulls = [
        shapely.get_coordinates(shapely.orient_polygons(p.outline.convex_hull))[:-1]
        for p in placements
    ]
    normals = _normals(hulls)
    span = [
        (np.array([(h @ n).min() for h in hulls]), np.array([(h @ n).max() for h in hulls]))
        for n in normals
    ]
    edges = _edges(region)
    within = [_room(hull, edges) for hull in hulls]
    least = min(step / 2, _VISIBLE) + 10 * _SAME
    seen: set[bytes] = set()
    hopeful = []
    for _, splits in _Trees(normals, span, least).of(tuple(range(len(hulls))))[:work]:
        program = _Programme(splits, hulls, within, step)
        moves = program.roomy(least)
        if moves is None and program.roomy(0.0) is None:
            continue
        hopeful.append(program)
        for found in (moves, *(program.on_marks(least, ways) for ways in _ALIKE)):
            if found is not None and found.tobytes() not in seen:
                seen.add(found.tobytes())
                yield _moved(placements, found)
    for program in hopeful[:_MIXED]:
        for ways in product(_WAYS, repeat=min(program.heads, _HEADS)):
            found = program.on_marks(least, ways)
            if found is not None and found.tobytes() not in seen:
                seen.add(found.tobytes())
                yield _moved(placements, found)


def _moved(placements: Sequence[Placement], moves: Floats) -> list[Placement]:
    return [
        replace(p, outline=affinity.translate(p.outline, *by))
        for p, by in zip(placements, moves, strict=True)
    ]


def _edges(region: Polygon | MultiPolygon) -> tuple[Floats, Floats]:
    """Return the ends (n, 2, 2) of the region's edges and their outward normals (n, 2)."""
    found = []
    for part in shapely.get_parts(region):
        for ring in shapely.get_rings(shapely.orient_polygons(part)):
            at = shapely.get_coordinates(ring)
            found.append(np.stack((at[:-1], at[1:]), axis=1))
    ends = np.concatenate(found)
    sides = ends[:, 1] - ends[:, 0]
    long = np.hypot(*sides.T)
    ends, sides, long = (each[long > _SAME] for each in (ends, sides, long))
    return ends, np.column_stack((sides[:, 1], -sides[:, 0])) / long[:, None]


def _room(hull: Floats, edges: tuple[Floats, Floats]) -> tuple[Floats, Floats]:
    """Return how a piece may move: by at most so much (n,) along each normal (n, 2).

    Each edge of the region lies beyond one side of the piece, or the piece within the edge's line:
    what leaves more room holds.
    """
    ends, out = edges
    inner = np.sum(out * ends[:, 0], axis=1) - (hull @ out.T).max(axis=0)
    sides = following(hull) - hull
    own = np.column_stack((sides[:, 1], -sides[:, 0])) / np.hypot(*sides.T)[:, None]
    beyond = (ends @ own.T).min(axis=1) - np.sum(own * hull, axis=1)
    best = beyond.argmax(axis=1)
    most = beyond.max(axis=1)
    return (
        np.where((most > inner)[:, None], own[best], out),
        np.maximum(most, inner),
    )


def _normals(hulls: Sequence[Floats]) -> list[Floats]:
    found: dict[tuple[float, float], Floats] = {}
    sides = [side for hull in hulls for side in following(hull) - hull]
    for turn in range(0, 180, _BY_ANGLE_DEG):
        for side in sides:
            normal = normal_of(turn_matrix(turn) @ side)
            found.setdefault((round(float(normal[0]), 5), round(float(normal[1]), 5)), normal)
    return list(found.values())


class _Trees:
    """The ways to part groups of pieces, those with the least reaching across first."""

    def __init__(
        self, normals: Sequence[Floats], span: Sequence[tuple[Floats, Floats]], least: float
    ) -> None:
        self.normals, self.span, self.least = normals, span, least
        self._known: dict[tuple[int, ...], list[tuple[float, list[_Split]]]] = {}

    def of(self, group: tuple[int, ...]) -> list[tuple[float, list[_Split]]]:
        """Return (inches that pieces reach across, lines) for the easiest ways."""
        if len(group) < 2:
            return [(0.0, [])]
        if group not in self._known:
            found = []
            for across, split in self._lines(group):
                for first, those in self.of(split.lower):
                    for then, these in self.of(split.upper):
                        found.append((across + first + then, [split, *those, *these]))
            found.sort(key=lambda way: round(way[0], 4))
            self._known[group] = found[:_KEPT]
        return self._known[group]

    def _lines(self, group: tuple[int, ...]) -> list[tuple[float, _Split]]:
        own = np.array(group)
        options = []
        for normal, (lows, highs) in zip(self.normals, self.span, strict=True):
            low, high = lows[own], highs[own]
            order = np.argsort(low + high, kind="stable")
            top = np.maximum.accumulate(high[order])
            bottom = np.minimum.accumulate(low[order][::-1])[::-1]
            for k in range(1, len(own)):
                across = float(top[k - 1] - bottom[k]) + self.least
                if across < _OVERLAP:
                    lower, upper = (tuple(sorted(own[o].tolist())) for o in (order[:k], order[k:]))
                    options.append((max(0.0, round(across, 4)), _Split(normal, lower, upper)))
        options.sort(key=lambda option: option[0])
        return options[:_LINES]


class _Programme:
    """The linear programme: how pieces move (2 each), where lines lie, the room beside them."""

    def __init__(
        self,
        splits: Sequence[_Split],
        hulls: Sequence[Floats],
        within: Sequence[tuple[Floats, Floats]],
        step: float,
    ) -> None:
        self.splits, self.step, self.many = splits, step, len(hulls)
        self.hulls = hulls
        # Pieces, lines, for each line another one beside its whole group, room.
        self.columns = 2 * self.many + 2 * len(splits) + 1
        self.rows: list[Floats] = []
        self.limits: list[float] = []
        for number, (normals, room) in enumerate(within):
            for normal, far in zip(normals, room, strict=True):
                row = np.zeros(self.columns)
                row[2 * number : 2 * number + 2] = normal
                self._most(row, max(0.0, far) + _HAIR)
        self.before = [self._parallel(k) for k in range(len(splits))]

    def _most(self, row: Floats, limit: float) -> None:
        self.rows.append(row)
        self.limits.append(limit)

    def _parallel(self, k: int) -> int | None:
        """Return the last line before line k that parts its group off and is parallel to it."""
        own = self.splits[k]
        group = {*own.lower, *own.upper}
        for j in range(k - 1, -1, -1):
            other = self.splits[j]
            if group <= {*other.lower, *other.upper} and (
                abs(float(own.normal[0] * other.normal[1] - own.normal[1] * other.normal[0]))
                < _SAME
            ):
                return j
        return None

    def _line(self, k: int) -> int:
        return 2 * self.many + k

    def roomy(self, least: float) -> Floats | None:
        """Return how each piece moves (n, 2) so that lines have the most room, `least` or more."""
        return self._moves(least, None)

    def on_marks(self, least: float, ways: Sequence[float]) -> Floats | None:
        """Return how each piece moves (n, 2) so that lines lie on marks.

        A line parallel to one before lies on a mark from there. Of the others each has a way: on a
        mark from a line below (-1) or above (1) its group, or with `least` of room (0). Where ways
        are too few the last one goes on.
        """
        heads = [k for k, before in enumerate(self.before) if before is None]
        return self._moves(least, {k: ways[min(n, len(ways) - 1)] for n, k in enumerate(heads)})

    @property
    def heads(self) -> int:
        """How many lines are parallel to none before."""
        return sum(before is None for before in self.before)

    def _moves(self, least: float, beside: dict[int, float] | None) -> Floats | None:
        rows, limits = list(self.rows), list(self.limits)
        marks = []
        for k, split in enumerate(self.splits):
            roomy = beside is None or (self.before[k] is None and not beside.get(k))
            for group, way in ((split.lower, 1.0), (split.upper, -1.0)):
                for number in group:
                    row = self._beside(number, split, way, self._line(k))
                    row[-1] = 0.5 if roomy else 0.0
                    rows.append(row)
                    limits.append(-float((self.hulls[number] @ (way * split.normal)).max()))
            if roomy:
                continue
            row = np.zeros(self.columns)
            before = self.before[k]
            if before is None:
                assert beside is not None
                out = beside[k]
                base = self._line(len(self.splits) + k)
                for number in (*split.lower, *split.upper):
                    rows.append(self._beside(number, split, out, base))
                    limits.append(-float((self.hulls[number] @ (out * split.normal)).max()))
                row[[base, self._line(k)]] = out, -out
            else:
                other = self.splits[before]
                same = float(other.normal @ split.normal)
                way = -same if split.lower[0] in other.lower else same
                row[[self._line(k), self._line(before)]] = way * same, -way
            marks.append(row)
        if not marks:
            aim = np.zeros(self.columns)
            aim[-1] = -1.0
            return self._solved(aim, rows, limits, [], [], least)
        near = self._found(np.sum(marks, axis=0), rows, limits, [], [], least)
        if near is None:
            return None
        far = [math.ceil(float(row @ near) / self.step - 1e-4) * self.step for row in marks]
        aim = np.zeros(self.columns)
        aim[-1] = -1.0
        return self._solved(aim, rows, limits, marks, far, least)

    def _beside(self, number: int, split: _Split, way: float, line: int) -> Floats:
        row = np.zeros(self.columns)
        row[2 * number : 2 * number + 2] = way * split.normal
        row[line] = -way
        return row

    def _solved(
        self,
        aim: Floats,
        rows: Sequence[Floats],
        limits: Sequence[float],
        marks: Sequence[Floats],
        far: Sequence[float],
        least: float,
    ) -> Floats | None:
        found = self._found(aim, rows, limits, marks, far, least)
        if found is None:
            return None
        # Rounded, so that a processor's last digits do not show.
        moves: Floats = found[: 2 * self.many].reshape(self.many, 2).round(_FINE)
        return moves

    def _found(
        self,
        aim: Floats,
        rows: Sequence[Floats],
        limits: Sequence[float],
        marks: Sequence[Floats],
        far: Sequence[float],
        least: float,
    ) -> Floats | None:
        # scipy takes most of a second to load; only a layout that lies in no rows pays for it.
        from scipy.optimize import linprog

        found = linprog(
            aim,
            A_ub=np.array(rows),
            b_ub=np.array(limits),
            A_eq=np.array(marks) if len(marks) else None,
            b_eq=np.array(far) if len(marks) else None,
            bounds=[(None, None)] * (self.columns - 1) + [(least, max(self.step, least))],
            method="highs-ds",
        )
        x: Floats | None = found.x
        return x
