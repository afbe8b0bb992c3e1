"""Row layouts: the same pieces packed in whole rows, pushed to one side, everything on marks.

Rows run right across a part of the cloth, one after another from one side; in a row stand blocks
whose sides are cuts across it. Pieces that the rows of one direction do not take are packed into
what those rows leave, in rows of any direction.
"""

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import islice, pairwise

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon, affinity

from scrapstore.packing.cutting.blocks import Block, placement_of
from scrapstore.packing.cutting.feasible_intervals import FeasibleIntervals, Interval
from scrapstore.packing.cutting.parts import Reference, whole_part
from scrapstore.packing.cutting.row_options import RowOptions, row_directions_deg
from scrapstore.packing.pieces import PieceKind, Placement, rotation_matrix

__all__ = ["row_layouts"]

Floats = NDArray[np.float64]
Region = Polygon | MultiPolygon
Counts = tuple[int, ...]

_SAME = 1e-6
_SLANTED_ROWS = 2  # cuts that rows along no edge of the cloth count more
_LAYOUTS = 3  # layouts to choose from
_REMAINDER_BONUS = 4.0  # cuts that a remainder as large as the whole cloth is worth
_REMAINDER_WORK = 5  # rows tried in a remainder, for each direction


@dataclass(frozen=True)
class _Row:
    """Blocks from left to right, each with the x of its lower left corner, at height `y`."""

    y: float
    height: float
    blocks: tuple[tuple[Block, float], ...]


def row_layouts(
    outline: Polygon,
    region: Region,
    kinds: Sequence[PieceKind],
    counts: Sequence[int],
    step: float,
    work: int,
) -> list[list[Placement]]:
    """Return layouts of `counts[i]` pieces of `kinds[i]` in whole rows, the easiest to cut first.

    Only layouts that hold all of them are returned. The ruler can be laid against straight edges of
    `outline`; its marks are `step` inches apart. `work` bounds the rows tried for each direction.
    """
    edges = whole_part(outline).references
    every = [RowOptions(kinds, along, step) for along in row_directions_deg(region, kinds)]
    packers = [_RowPacker(region, edges, own, every, tuple(counts), work) for own in every]
    for depth, most in ((1, _LAYOUTS), (2, 1)):
        packed = ((packer.effort, *packer.pack(depth)) for packer in packers)
        found = list(islice((f for f in packed if not any(f[2])), most))
        if found:
            return [placed for _, placed, _ in sorted(found, key=lambda f: f[0])]
    return []


class _RowPacker:
    """Rows along one direction in one region."""

    def __init__(
        self,
        region: Region,
        edges: Sequence[Reference],
        options: RowOptions,
        all_options: Sequence[RowOptions],
        wanted: Counts,
        work: int,
    ) -> None:
        self.edges, self.options, self.all_options = edges, options, all_options
        self.wanted, self.work, self.step = wanted, work, options.step
        # The region and the straight edges of the cloth, (normal, offset), in the frame of rows.
        self.region = affinity.rotate(region, -options.along_deg, origin=(0, 0))
        self.intervals = FeasibleIntervals(self.region)
        rotation = rotation_matrix(-options.along_deg)
        self.cloth_edges = [(rotation @ edge.normal, edge.offset) for edge in edges]

    def pack(self, depth: int) -> tuple[list[Placement], Counts]:
        """Return placements and the numbers of pieces left over.

        With `depth` 2, what the rows leave is packed in rows once more.
        """
        rows, left = self.rows
        placed = [p for row in rows for p in self._placements(row)]
        if not any(left) or depth == 1:
            return placed, left
        remainders = self._remainders(rows)
        # Pieces with more area than what is left cannot fit.
        if self._area(left) > sum(remainder.area for remainder in remainders):
            return placed, left
        for part in remainders:
            best: tuple[list[Placement], Counts] = [], left
            for own in self.all_options:
                packer = _RowPacker(part, self.edges, own, self.all_options, left, _REMAINDER_WORK)
                best = min(best, packer.pack(depth - 1), key=lambda found: sum(found[1]))
                if not any(best[1]):
                    break
            placed, left = placed + best[0], best[1]
            if not any(left):
                break
        return placed, left

    @cached_property
    def rows(self) -> tuple[tuple[_Row, ...], Counts]:
        """The best rows from the lower edge up, and the numbers of pieces left over."""
        bottom = self.intervals.bounds[1]
        on_mark = self._mark_from_edge(np.array([0.0, 1.0]), bottom)
        best = self._search(bottom if on_mark is None else on_mark, self.wanted, ())
        if any(best[1]) and on_mark is not None:
            # Closer to the edge than a mark from there, the first cut is laid by eye.
            best = min(best, self._search(bottom, self.wanted, ()), key=lambda f: self._area(f[1]))
        return best

    def _search(
        self, low: float, wanted: Counts, rows: tuple[_Row, ...]
    ) -> tuple[tuple[_Row, ...], Counts]:
        """Return the best rows from `low` up and what they leave over, by depth-first search."""
        best = rows, wanted
        options = []
        for height in self.options.heights:
            if any(b.height > height - _SAME and wanted[b.kind] for b in self.options.blocks):
                options += self._candidate_rows(low, height, wanted)
        options.sort(key=lambda option: (-option[0], option[1].y))
        for _, row in options[:2]:
            self.work -= 1
            left = self._remaining(wanted, row)
            found = self._search(row.y + row.height, left, (*rows, row))
            if self._area(found[1]) < self._area(best[1]) - _SAME:
                best = found
            if not any(best[1]) or self.work <= 0:
                break
        return best

    @property
    def effort(self) -> float:
        """About how many cuts the rows take, less what a large remainder above them is worth."""
        rows, _ = self.rows
        if not rows:
            return 0.0
        cuts = 0
        for row in rows:
            cuts += 2 + len(row.blocks)
            for (block, _), (after, _) in pairwise(row.blocks):
                cuts += abs(block.right - after.left) > _SAME
            cuts += sum(b.count - 1 + (b.height < row.height - _SAME) for b, _ in row.blocks)
        if all(abs(float(own[1])) < 1 - _SAME for own, _ in self.cloth_edges):
            cuts += _SLANTED_ROWS
        x0, _, x1, y1 = self.intervals.bounds
        above = shapely.box(x0, min(rows[-1].y + rows[-1].height, y1), x1, y1)
        return cuts - _REMAINDER_BONUS * self.region.intersection(above).area / self.region.area

    def _area(self, counts: Counts) -> float:
        return sum(n * area for n, area in zip(counts, self.options.area, strict=True))

    def _remaining(self, wanted: Counts, row: _Row) -> Counts:
        taken = Counter(b.kind for b, _ in row.blocks for _ in b.pieces)
        return tuple(n - taken[i] for i, n in enumerate(wanted))

    def _candidate_rows(
        self, low: float, height: float, wanted: Counts
    ) -> list[tuple[float, _Row]]:
        """Return the first row of a height from `low` up, and the best one soon after it.

        Each comes after its value for every inch of height that it takes.
        """
        top, stride = self.intervals.bounds[3], self.options.stride
        many = max(0, math.ceil((top + self.step - height - low) / stride - _SAME))
        ys = [low + k * stride for k in range(many)]
        blocks = [b for b in self.options.of_height(height) if wanted[b.kind] >= b.count]
        full = [b for b in blocks if abs(b.height - height) < _SAME]
        found: list[tuple[float, _Row]] = []
        longest, most = 0.0, 0.0
        for k, y in enumerate(ys):
            if found and y > found[0][1].y + height:
                break
            if k % 8 == 0:
                for corners in (corners for block in blocks for _, corners in block.pieces):
                    self.intervals.compute(corners, ys[k : k + 8])
            # Where there is no more room than below, there are no more pieces.
            long = sum(high - at + 0.01 for b in full for at, high in self._feasible(b, y))
            if long <= longest + _SAME:
                continue
            longest = long
            row = self._best_row(y, height, wanted)
            if row is not None and (value := self._value(row)) > most + _SAME:
                most = value
                found.append((value / (y + height - low + 0.25), row))
                if not any(self._remaining(wanted, row)):
                    break
        return found[:1] + ([max(found[1:], key=lambda f: f[0])] if found[1:] else [])

    def _best_row(self, y: float, height: float, wanted: Counts) -> _Row | None:
        """Return a row filled from the left, or None where nothing of its full height fits.

        It begins a little off the edge where there is room, so that its first cut need not be
        exact.
        """
        spaced = self._fill_row(y, height, wanted, self.step / 2)
        if spaced is not None and not any(self._remaining(wanted, spaced)):
            return spaced
        rows = [row for row in (spaced, self._fill_row(y, height, wanted, 0.0)) if row is not None]
        return max(rows, key=self._value, default=None)

    def _value(self, row: _Row) -> float:
        return sum(self.options.area[b.kind] * b.count for b, _ in row.blocks)

    def _fill_row(self, y: float, height: float, wanted: Counts, margin: float) -> _Row | None:
        """Return a row that begins `margin` inches off the edge; the best next block each time."""
        left = list(wanted)
        placed: list[tuple[Block, float]] = []
        while True:
            best: tuple[tuple[float, ...], Block, float] | None = None
            for order, block in enumerate(self.options.of_height(height)):
                if block.count > left[block.kind]:
                    continue
                x = self._next_position(y, height, placed, block, margin)
                if x is None:
                    continue
                same = bool(placed) and block.kind == placed[-1][0].kind
                reach = x + block.width + max(0.0, block.right * height)
                gain = block.count * self.options.area[block.kind]
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
            placed.append(best[1:])
            left[best[1].kind] -= best[1].count
        full = any(abs(block.height - height) < _SAME for block, _ in placed)
        return _Row(y, height, tuple(placed)) if full else None

    def _next_position(
        self,
        y: float,
        height: float,
        placed: Sequence[tuple[Block, float]],
        block: Block,
        margin: float,
    ) -> float | None:
        """Return where a block comes next in a row: on a mark from what stands there, or first."""
        intervals = self._feasible(block, y)
        if not intervals:
            return None
        if not placed:
            low, high = intervals[0]
            least = min(margin, (high - low) / 2)
            return min(high, low + self._offset_of_first(low, y, block, least))
        last, at = placed[-1]
        pitch = self.step * math.hypot(1.0, block.left)
        start = at + last.width + max(0.0, (last.right - block.left) * height)
        for low, high in intervals:
            if high < start - _SAME:
                continue
            k = max(0, math.ceil((low - start) / pitch - 1e-5))
            if start + k * pitch <= high + _SAME:
                return start + k * pitch
        return None

    def _offset_of_first(self, x: float, y: float, block: Block, margin: float) -> float:
        """Return by how many inches the first block of a row lies off its leftmost position.

        Beside an edge of the cloth it lies on the first mark from there; beside another straight
        edge close to it; else by `margin`.
        """
        if not margin:
            return 0.0
        square = math.hypot(1.0, block.left)
        normal = np.array([1.0, -block.left]) / square
        at = float(normal @ np.array([x, y]))
        on_mark = self._mark_from_edge(normal, at)
        if on_mark is not None:
            return (on_mark - at) * square
        ends = self.intervals.edges.reshape(-1, 2, 2) @ normal - at
        along = np.abs(ends).max(axis=1) < 1e-5
        return 0.0 if along.any() else margin

    def _mark_from_edge(self, normal: Floats, at: float) -> float | None:
        """Return the first mark from a straight edge of the cloth at or above a level."""
        for own, offset in self.cloth_edges:
            way = float(own @ normal)
            if abs(way) > 1 - 1e-12:
                zero = offset * math.copysign(1.0, way)
                if -_SAME < at - zero < 1:
                    return zero + math.ceil((at - zero) / self.step - 1e-5) * self.step
        return None

    def _feasible(self, block: Block, y: float) -> list[Interval]:
        """Return the intervals of x in which a block at height `y` lies inside the region."""
        found: list[Interval] = [(-math.inf, math.inf)]
        for _, corners in block.pieces:
            found = [
                (max(low, a), min(high, b))
                for low, high in found
                for a, b in self.intervals.at(corners, y)
                if max(low, a) <= min(high, b)
            ]
        return found

    def _placements(self, row: _Row) -> Iterator[Placement]:
        back = rotation_matrix(self.options.along_deg)
        for block, x in row.blocks:
            for one, corners in block.pieces:
                at = corners + np.array([x, row.y])
                yield placement_of(one, at, back, self.options.kinds)

    def _remainders(self, rows: Sequence[_Row]) -> list[Polygon]:
        """Return what rows leave, the largest first: between them, and at their ends."""
        x0, y0, x1, y1 = self.intervals.bounds
        areas: list[Polygon] = []
        at = y0
        for row in rows:
            areas.append(shapely.box(x0 - 1, at, x1 + 1, row.y))
            (first, left), (last, right) = row.blocks[0], row.blocks[-1]
            at = row.y + row.height
            end = right + last.width
            areas += [
                Polygon([(x0 - 9, row.y), (left, row.y), (left + first.left * row.height, at),
                         (x0 - 9, at)]),
                Polygon([(end, row.y), (x1 + 9, row.y), (x1 + 9, at),
                         (end + last.right * row.height, at)]),
            ]  # fmt: skip
        areas.append(shapely.box(x0 - 1, at, x1 + 1, y1 + 1))
        found = [
            affinity.rotate(part, self.options.along_deg, origin=(0, 0))
            for area in areas
            if area.is_valid and area.area > 0
            for part in shapely.get_parts(self.region.intersection(area))
            if isinstance(part, Polygon) and part.area >= min(self.options.area)
        ]
        return sorted(found, key=lambda part: -part.area)
