"""Laying the same pieces anew in whole rows, pushed to one side, everything on marks.

Rows run right across a part of the cloth, one after another from one side; in a row stand blocks
whose sides are cuts across it. What rows of one direction do not take is laid in what they leave,
in rows of any direction.
"""

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon, affinity

from scrapstore.packing.cutting.blocks import Block
from scrapstore.packing.cutting.cloth import Reference, first_part
from scrapstore.packing.cutting.room import Room
from scrapstore.packing.cutting.row_rules import RowRules, row_ways
from scrapstore.packing.cutting.shapes import (
    placement_of,
    turn_matrix,
)
from scrapstore.packing.pieces import PieceKind, Placement

__all__ = ["relaid"]

Floats = NDArray[np.float64]
Region = Polygon | MultiPolygon

_SAME = 1e-6
_ASKEW = 2  # cuts that rows along no edge of the cloth count more
_ENOUGH = 3  # layouts to choose from
_REST = 4.0  # cuts that a rest of the whole cloth is worth
_DEPTH = 2  # how often what rows leave is laid in rows again


@dataclass(frozen=True)
class _Row:
    y: float
    height: float
    blocks: tuple[tuple[Block, float], ...]

    @property
    def start(self) -> float:
        return self.blocks[0][1]


Counts = tuple[int, ...]


def relaid(
    outline: Polygon,
    region: Region,
    kinds: Sequence[PieceKind],
    counts: Sequence[int],
    step: float,
    work: int,
) -> list[list[Placement]]:
    """Return layouts of `counts[i]` pieces of `kinds[i]` in whole rows, the easiest to cut first.

    Only layouts that hold all of them are returned. The ruler can be laid against straight edges of
    `outline`. `work` bounds how many rows are tried for each.
    """
    edges = first_part(outline).references
    wanted = tuple(counts)
    ways = row_ways(region, kinds)
    rules: list[RowRules] = []
    layings: list[_Laying] = []
    for depth in range(1, _DEPTH + 1):
        found: list[tuple[float, int, list[Placement]]] = []
        for number, along in enumerate(ways):
            if depth == 1:
                rules.append(RowRules(kinds, along, step))
                layings.append(_Laying(region, edges, rules[number], rules, work))
            laying = layings[number]
            placed, left = laying.best(wanted, depth)
            if not any(left):
                found.append((laying.toil, number, placed))
            if len(found) >= (_ENOUGH if depth == 1 else 1):
                break
        if found:
            return [placed for _, _, placed in sorted(found, key=lambda f: f[:2])]
    return []


class _Laying:
    """Rows along one direction in one region."""

    def __init__(
        self,
        region: Region,
        edges: Sequence[Reference],
        rules: RowRules,
        every: Sequence[RowRules],
        work: int,
    ) -> None:
        self.edges, self.rules, self.every, self.work = edges, rules, every, work
        self.kinds, self.step, self.along = rules.kinds, rules.step, rules.along
        self.blocks = rules.blocks
        self.toil = 0.0
        self._rows: tuple[tuple[_Row, ...], Counts] | None = None
        self.turned_region = affinity.rotate(region, -rules.along, origin=(0, 0))
        self.room = Room(self.turned_region)
        turn = turn_matrix(-rules.along)
        # Straight edges of the cloth as (normal, offset), as the rows see them.
        self.straight = [(turn @ np.array(e.normal), e.offset) for e in edges]

    def best(self, wanted: Counts, depth: int) -> tuple[list[Placement], Counts]:
        """Return the placements found and what is left over; `wanted` is the same each time."""
        if self.turned_region.is_empty or not self.blocks:
            return [], wanted
        if self._rows is None:
            self._rows = self._best_rows(wanted)
        rows, left = self._rows
        self.toil = self._toil(rows)
        placed = [p for row in rows for p in self._placed(row)]
        if any(left) and depth > 1:
            rests = self._rests(rows)
            # What does not fit by area needs no trying.
            if self._worth(left) > sum(rest.area for rest in rests):
                return placed, left
            for part in rests:
                more: list[Placement] = []
                best_left = left
                for rules in self.every:
                    laying = _Laying(part, self.edges, rules, self.every, 5)
                    found, after = laying.best(left, depth - 1)
                    if sum(after) < sum(best_left):
                        more, best_left = found, after
                    if not any(best_left):
                        break
                placed, left = placed + more, best_left
                if not any(left):
                    break
        return placed, left

    def _best_rows(self, wanted: Counts) -> tuple[tuple[_Row, ...], Counts]:
        """Return the best rows from the lower edge up, and what is left over."""
        bottom = self.room.bounds[1]
        on_mark = self._from_edge(np.array([0.0, 1.0]), bottom)
        rows, left = self._search(bottom if on_mark is None else on_mark, wanted, ())
        if any(left) and on_mark is not None:
            # Closer to the edge than a mark from there, the first cut is laid by eye.
            closer, less = self._search(bottom, wanted, ())
            if self._worth(less) < self._worth(left):
                rows, left = closer, less
        return rows, left

    def _search(
        self, low: float, wanted: Counts, rows: tuple[_Row, ...]
    ) -> tuple[tuple[_Row, ...], Counts]:
        """Return the best rows from `low` up, in depth first search."""
        best = rows, wanted
        if not any(wanted):
            return best
        options = []
        for height in self.rules.heights:
            if any(b.height > height - _SAME and wanted[b.kind] for b in self.blocks):
                options += self._rows_from(low, height, wanted)
        options.sort(key=lambda option: (-option[0], option[1].y))
        for _, row in options[:2]:
            self.work -= 1
            left = self._after(wanted, row)
            found = self._search(row.y + row.height, left, (*rows, row))
            if self._worth(found[1]) < self._worth(best[1]) - _SAME:
                best = found
            if not any(best[1]) or self.work <= 0:
                break
        return best

    def _toil(self, rows: Sequence[_Row]) -> float:
        """Return about how many cuts rows take, less what a large rest above them is worth."""
        cuts = 0
        for row in rows:
            cuts += 2 + len(row.blocks)
            for (block, _), (after, _) in pairwise(row.blocks):
                cuts += abs(block.right - after.left) > _SAME
            cuts += sum(b.count - 1 + (b.height < row.height - _SAME) for b, _ in row.blocks)
        if not rows:
            return 0.0
        if all(abs(float(own[1])) < 1 - _SAME for own, _ in self.straight):
            cuts += _ASKEW
        x0, _, x1, y1 = self.room.bounds
        above = shapely.box(x0, min(rows[-1].y + rows[-1].height, y1), x1, y1)
        whole = self.turned_region.area
        return cuts - _REST * self.turned_region.intersection(above).area / whole

    def _worth(self, counts: Counts) -> float:
        return sum(n * area for n, area in zip(counts, self.rules.area, strict=True))

    def _after(self, wanted: Counts, row: _Row) -> Counts:
        taken = Counter(b.kind for b, _ in row.blocks for _ in b.pieces)
        return tuple(n - taken[i] for i, n in enumerate(wanted))

    def _rows_from(self, low: float, height: float, wanted: Counts) -> list[tuple[float, _Row]]:
        """Return the first row of a height from `low` up, and the best one soon after it."""
        found: list[tuple[float, _Row]] = []
        top = self.room.bounds[3]
        many = max(0, math.ceil((top + self.step - height - low) / self.rules.stride - _SAME))
        if not many:
            return []
        ys = [low + k * self.rules.stride for k in range(many)]
        blocks = [b for b in self.rules.of_height(height) if wanted[b.kind] >= b.count]
        full = [b for b in blocks if abs(b.height - height) < _SAME]
        first, longest, most = None, 0.0, 0.0
        for k, y in enumerate(ys):
            if first is not None and y > first + height:
                break
            if k % 8 == 0:
                for block in blocks:
                    for _, corners in block.pieces:
                        self.room.look(corners, ys[k : k + 8])
            # Where there is no more room than below, there are no more pieces.
            long = sum(high - at + 0.01 for b in full for at, high in self._places(b, y))
            if long <= longest + _SAME:
                continue
            longest = long
            row = self._row(y, height, wanted)
            if row is None:
                continue
            first = y if first is None else first
            value = self._value(row)
            if value > most + _SAME:
                most = value
                found.append((value / (y + height - low + 0.25), row))
                if not any(self._after(wanted, row)):
                    break
        return found[:1] + ([max(found[1:], key=lambda f: f[0])] if found[1:] else [])

    def _row(self, y: float, height: float, wanted: Counts) -> _Row | None:
        """Return a row filled from the left, or None where nothing of its full height fits.

        It begins a little off the edge where there is room, so that its first cut need not be
        exact.
        """
        off = self._filled(y, height, wanted, self.step / 2)
        if off is not None and not any(self._after(wanted, off)):
            return off
        near = self._filled(y, height, wanted, 0.0)
        if near is None or (off is not None and self._value(off) >= self._value(near)):
            return off
        return near

    def _value(self, row: _Row) -> float:
        return sum(self.rules.area[b.kind] * b.count for b, _ in row.blocks)

    def _filled(self, y: float, height: float, wanted: Counts, off: float) -> _Row | None:
        left = list(wanted)
        placed: list[tuple[Block, float]] = []
        full = False
        while True:
            best: tuple[tuple[float, ...], Block, float] | None = None
            before = placed[-1][0] if placed else None
            for order, block in enumerate(self.rules.of_height(height)):
                if block.count > left[block.kind]:
                    continue
                x = self._next(y, height, placed, block, off)
                if x is None:
                    continue
                same = before is not None and block.kind == before.kind
                reach = x + block.width + max(0.0, block.right * height)
                gain = block.count * self.rules.area[block.kind]
                start = placed[-1][1] + placed[-1][0].width if placed else x
                rank = (
                    block.height < height - _SAME and block.count == 1,
                    not same,
                    -gain / max(0.2, reach - start),
                    order,
                )
                if best is None or rank < best[0]:
                    best = (rank, block, x)
            if best is None:
                break
            _, block, x = best
            placed.append((block, x))
            left[block.kind] -= block.count
            full = full or abs(block.height - height) < _SAME
        return _Row(y, height, tuple(placed)) if placed and full else None

    def _next(
        self,
        y: float,
        height: float,
        placed: Sequence[tuple[Block, float]],
        block: Block,
        off: float,
    ) -> float | None:
        """Return where a block comes next in a row: on a mark from what stands there, or first."""
        places = self._places(block, y)
        if not places:
            return None
        if not placed:
            low, high = places[0]
            return min(high, low + self._first(low, y, block, min(off, (high - low) / 2)))
        last, at = placed[-1]
        pitch = self.step * math.hypot(1.0, block.left)
        start = at + last.width + max(0.0, (last.right - block.left) * height)
        for low, high in places:
            if high < start - _SAME:
                continue
            k = max(0, math.ceil((low - start) / pitch - 1e-5))
            if start + k * pitch <= high + _SAME:
                return start + k * pitch
        return None

    def _first(self, x: float, y: float, block: Block, off: float) -> float:
        """Return how far from where it could lie at most a block begins a row.

        Along an edge of the cloth it lies on a mark from there; along another straight edge close
        to it; else a little `off`.
        """
        if not off:
            return 0.0
        square = math.hypot(1.0, block.left)
        normal = np.array([1.0, -block.left]) / square
        at = float(normal @ np.array([x, y]))
        on_mark = self._from_edge(normal, at)
        if on_mark is not None:
            return (on_mark - at) * square
        ends = self.room.edges.reshape(-1, 2, 2) @ normal - at
        along = np.abs(ends).max(axis=1) < 1e-5
        return 0.0 if along.any() else off

    def _from_edge(self, normal: Floats, at: float) -> float | None:
        """Return the first mark from a straight edge of the cloth at or above a level."""
        for own, offset in self.straight:
            way = float(own @ normal)
            if abs(way) > 1 - 1e-12:
                zero = offset * math.copysign(1.0, way)
                if -_SAME < at - zero < 1:
                    return zero + math.ceil((at - zero) / self.step - 1e-5) * self.step
        return None

    def _places(self, block: Block, y: float) -> list[tuple[float, float]]:
        found: list[tuple[float, float]] | None = None
        for _, corners in block.pieces:
            own = self.room.places(corners, y)
            found = own if found is None else _both(found, own)
            if not found:
                return []
        return found or []

    def _placed(self, row: _Row) -> Iterator[Placement]:
        back = turn_matrix(self.along)
        for block, x in row.blocks:
            for turned, corners in block.pieces:
                yield placement_of(turned, corners + np.array([x, row.y]), back, self.kinds)

    def _rests(self, rows: Sequence[_Row]) -> list[Region]:
        """Return what rows leave: above, below and between them, and at their ends."""
        x0, y0, x1, y1 = self.room.bounds
        cuts: list[Polygon] = []
        at = y0
        for row in rows:
            cuts.append(shapely.box(x0 - 1, at, x1 + 1, row.y))
            (first, left), (last, right) = row.blocks[0], row.blocks[-1]
            top = row.y + row.height
            end = right + last.width
            cuts.append(
                Polygon([(x0 - 9, row.y), (left, row.y), (left + first.left * row.height, top),
                         (x0 - 9, top)])
            )  # fmt: skip
            cuts.append(
                Polygon([(end, row.y), (x1 + 9, row.y), (x1 + 9, top),
                         (end + last.right * row.height, top)])
            )  # fmt: skip
            at = top
        cuts.append(shapely.box(x0 - 1, at, x1 + 1, y1 + 1))
        least = min(self.rules.area)
        found = []
        for cut in cuts:
            if cut.is_valid and cut.area > 0:
                rest = self.turned_region.intersection(cut)
                found += [
                    affinity.rotate(part, self.along, origin=(0, 0))
                    for part in shapely.get_parts(rest)
                    if isinstance(part, Polygon) and part.area >= least
                ]
        return sorted(found, key=lambda part: -part.area)


def _both(a: list[tuple[float, float]], b: list[tuple[float, float]]) -> list[tuple[float, float]]:
    return [
        (max(l0, l1), min(h0, h1)) for l0, h0 in a for l1, h1 in b if max(l0, l1) <= min(h0, h1)
    ]
