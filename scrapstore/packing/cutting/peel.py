"""Laying the same pieces anew by peeling: one straight cut after another, in any direction.

A block, or a row of one, is pushed into a part of the cloth as far as it goes, square to one of its
sides; the part is cut along that side, and what lies beyond it, and what the block's other sides
leave of the strip, are parts in which the search goes on. So every layout found can be cut apart
by lines right across.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from scrapstore.packing.cutting.blocks import Block, blocks_of
from scrapstore.packing.cutting.shapes import (
    Turned,
    directions_deg,
    placement_of,
    turn_matrix,
    turned_kinds,
)
from scrapstore.packing.pieces import PieceKind, Placement, following, preceding

__all__ = ["peeled"]

Floats = NDArray[np.float64]
Counts = tuple[int, ...]

_SAME = 1e-6
_HAIR = 3e-7  # inches: so much less than it touches a piece may lie outside a part
_VISIBLE = 1 / 16  # inches of play in which a cut can be laid by eye
_LONGEST = 6  # blocks in a row
_CORES = 6  # convex parts in which pieces are laid, of a part that is not convex
_FLAT = 1e-7  # square inches: dents so small are none
_SIDES = 4  # of a block
_OPTIONS = 12  # ways to cut that are looked at for one part
_OF_ONE_SIZE = 4
_PER_LEVEL = 5  # layouts of so many pieces that are gone on with
_SPLIT = 0.1  # of a smallest piece: what one more part counts as waste


@dataclass(frozen=True, eq=False)
class _Item:
    """One block or a row of them, as it may lie in the cloth.

    `pieces` have their corners as its row sees them, which `turn` turns to how the cloth lies.
    `hull` (n, 2) holds its pieces; `normals` (4, 2) and `offsets` (4,) are the lines along its
    sides, outward, where its own origin is at 0, 0.
    """

    pieces: tuple[tuple[Turned, Floats], ...]
    turn: Floats
    taken: Counts
    area: float
    hull: Floats
    normals: Floats
    offsets: Floats


@dataclass(frozen=True)
class _State:
    """Pieces laid, kinds left over, and the parts that can still hold one, smallest first."""

    placed: tuple[Placement, ...]
    left: Counts
    parts: tuple["_Part", ...]
    waste: float


class _Part:
    """A part of the usable cloth, and the convex parts of it in which pieces are laid."""

    def __init__(self, outline: Polygon) -> None:
        self.outline = outline
        self.area = float(outline.area)

    @cached_property
    def cores(self) -> list[tuple[Floats, Floats, Floats, Floats]]:
        """Half-planes (normals, offsets) of each convex part; pairs of them and where they meet."""
        found = []
        for core in _convex_parts(self.outline):
            normals, offsets = _half_planes(core)
            pairs = np.array(list(combinations(range(len(normals)), 2)))
            a, b = normals[pairs[:, 0]], normals[pairs[:, 1]]
            cross = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
            pairs = pairs[np.abs(cross) > 1e-4]
            found.append((normals, offsets + _HAIR, pairs, np.linalg.inv(normals[pairs])))
        return found

    def places(self, hulls: Floats) -> tuple[NDArray[np.intp], Floats]:
        """Return where hulls (m, corners, 2) fit at the most: which one, and moved how (k, 2)."""
        which, moves = [np.empty(0, np.intp)], [np.empty((0, 2))]
        for normals, offsets, pairs, inverse in self.cores:
            room = offsets - (hulls @ normals.T).max(axis=1)
            at = np.einsum("pij,mpj->mpi", inverse, room[:, pairs])
            fits = (at @ normals.T <= room[:, None] + _HAIR).all(axis=2)
            item, pair = np.nonzero(fits)
            which.append(item)
            moves.append(at[item, pair])
        return np.concatenate(which), np.concatenate(moves)


def peeled(
    region: Polygon | MultiPolygon,
    kinds: Sequence[PieceKind],
    counts: Sequence[int],
    step: float,
    work: int,
) -> Iterator[list[Placement]]:
    """Give layouts of `counts[i]` pieces of `kinds[i]` that straight cuts right across part.

    Only layouts that hold all of them are given. `work` bounds how many parts are looked at.
    """
    for gap in (min(step / 2, _VISIBLE) + 10 * _SAME, 0.0):
        yield from _Peeling(kinds, counts, step, gap).layouts(region, work)


class _Peeling:
    """`gap`: what is left free beside a cut, so that a cut of a new direction need not be exact."""

    def __init__(
        self, kinds: Sequence[PieceKind], counts: Sequence[int], step: float, gap: float
    ) -> None:
        self.kinds, self.wanted, self.gap = kinds, tuple(counts), gap
        self.piece_area = [kind.outline.area for kind in kinds]
        self.items = list(_items(kinds, self.wanted, step))
        most = max(len(item.hull) for item in self.items) if self.items else 0
        self.hulls = np.array([_filled_up(item.hull, most) for item in self.items])
        self.alone = [sum(item.taken) == 1 for item in self.items]
        self._fits: dict[bytes, NDArray[np.bool_]] = {}

    def layouts(self, region: Polygon | MultiPolygon, work: int) -> Iterator[list[Placement]]:
        """Give the layouts; those with most pieces laid are gone on with first."""
        if not self.items:
            return
        self.least = min(a for a, n in zip(self.piece_area, self.wanted, strict=True) if n)
        start = self._state((), self.wanted, [], [region], region.area)
        levels: list[list[_State]] = [[] for _ in range(sum(self.wanted) + 1)]
        seen = [0] * len(levels)
        levels[0] += [start] if start.parts else []
        while work > 0:
            level = max(
                (n for n, states in enumerate(levels) if states and seen[n] < _PER_LEVEL),
                default=None,
            )
            if level is None:
                return
            levels[level].sort(key=lambda state: round(state.waste, 6))
            state = levels[level].pop(0)
            seen[level] += 1
            work -= 1
            for after in self._moves(state, region.area):
                if not any(after.left):
                    yield list(after.placed)
                    return
                if not after.parts:
                    continue
                levels[len(after.placed)].append(after)

    def _worth(self, counts: Counts) -> float:
        return sum(n * area for n, area in zip(counts, self.piece_area, strict=True))

    def _state(
        self,
        placed: tuple[Placement, ...],
        left: Counts,
        parts: Sequence[_Part],
        rests: Sequence[BaseGeometry],
        whole: float,
    ) -> _State:
        """Return the state with those parts and rests that still hold a piece."""
        fresh = [
            _Part(part)
            for rest in rests
            for part in shapely.get_parts(rest)
            if part.geom_type == "Polygon" and part.area >= self.least
        ]
        own = [part for part in (*parts, *fresh) if self._holds(part, left)]
        own.sort(key=lambda part: part.area)
        laid = self._worth(self.wanted) - self._worth(left)
        room = sum(part.area for part in own)
        return _State(
            placed, left, tuple(own), whole - laid - room + _SPLIT * self.least * len(own)
        )

    def _holds(self, part: _Part, left: Counts) -> bool:
        key = shapely.get_coordinates(part.outline).round(6).tobytes()
        if key not in self._fits:
            fits = np.zeros(len(self.kinds), dtype=np.bool_)
            single = np.flatnonzero(self.alone)
            for item in np.unique(part.places(self.hulls[single])[0]):
                fits |= np.array(self.items[single[item]].taken) > 0
            self._fits[key] = fits
        return bool(self._fits[key][np.array(left) > 0].any())

    def _moves(self, state: _State, whole: float) -> Iterator[_State]:
        """Give what can become of the smallest part: left alone, or a block cut from it."""
        part, others = state.parts[0], state.parts[1:]
        if sum(p.area for p in others) >= self._worth(state.left):
            yield self._state(state.placed, state.left, others, [], whole)
        usable = np.flatnonzero(
            [all(t <= n for t, n in zip(i.taken, state.left, strict=True)) for i in self.items]
        )
        if not len(usable):
            return
        which, moves = part.places(self.hulls[usable])
        chosen: list[tuple[int, int, Floats]] = []
        for number in np.unique(which):
            own = moves[which == number]
            item = self.items[usable[number]]
            for side, normal in enumerate(item.normals):
                deep = own @ normal
                ends = _ends(own[deep < deep.min() + 1e-5])
                chosen += [(int(usable[number]), side, at) for at in ends]
        if not chosen:
            return
        halves = [
            _half(item.normals[side], item.offsets[side] + self.gap + item.normals[side] @ at, at)
            for item, side, at in ((self.items[i], side, at) for i, side, at in chosen)
        ]
        beyond = _clipped(part.outline, halves)
        strips = [part.area - rest.area for rest in beyond]
        order = sorted(
            range(len(chosen)), key=lambda k: round(strips[k] / self.items[chosen[k][0]].area, 6)
        )
        sizes: dict[Counts, int] = {}
        for k in order:
            number, side, at = chosen[k]
            item = self.items[number]
            sizes[item.taken] = sizes.get(item.taken, 0) + 1
            if sizes[item.taken] > _OF_ONE_SIZE:
                continue
            left = tuple(n - t for n, t in zip(state.left, item.taken, strict=True))
            rests = [beyond[k], *self._ends_of_strip(part, item, side, at)]
            placed = (*state.placed, *self._placed(item, at))
            after = self._state(placed, left, others, rests, whole)
            if sum(p.area for p in after.parts) >= self._worth(left):
                yield after
            if sum(min(n, _OF_ONE_SIZE) for n in sizes.values()) >= _OPTIONS:
                break

    def _ends_of_strip(self, part: _Part, item: _Item, side: int, at: Floats) -> list[BaseGeometry]:
        """Return what the other sides leave of the strip, the largest rest cut off first."""
        offsets = item.offsets + item.normals @ at
        strip = _clipped(part.outline, [_half(-item.normals[side], -offsets[side], at)])[0]
        sides = [k for k in range(_SIDES) if k != side]
        found: list[BaseGeometry] = []
        while sides:
            halves = [_half(item.normals[k], offsets[k] + self.gap, at) for k in sides]
            rests = _clipped(strip, halves)
            best = int(np.argmax([round(rest.area, 6) for rest in rests]))
            if rests[best].area < self.least:
                break
            found.append(rests[best])
            k = sides.pop(best)
            strip = _clipped(strip, [_half(-item.normals[k], -offsets[k], at)])[0]
        return found

    def _placed(self, item: _Item, at: Floats) -> Iterator[Placement]:
        for turned, corners in item.pieces:
            yield placement_of(turned, corners + at @ item.turn, item.turn, self.kinds)


def _items(kinds: Sequence[PieceKind], counts: Counts, step: float) -> Iterator[_Item]:
    """Give each block, and rows of it, in every direction in which it can be cut."""
    seen: set[tuple[object, ...]] = set()
    for along in directions_deg(kinds):
        turn = turn_matrix(along)
        for block in blocks_of(turned_kinds(kinds, along), step):
            most = counts[block.kind] // block.count
            if abs(block.left - block.right) > _SAME:
                most = min(most, 1)
            for many in range(1, min(most, _LONGEST) + 1):
                item = _item(block, many, turn, kinds)
                key = (item.taken, item.hull.round(5).tobytes(), _lines(item))
                if key not in seen:
                    seen.add(key)
                    yield item


def _lines(item: _Item) -> tuple[tuple[float, ...], ...]:
    lines = np.column_stack((item.normals, item.offsets)).round(5) + 0.0
    return tuple(sorted(tuple(line) for line in lines.tolist()))


def _item(block: Block, many: int, turn: Floats, kinds: Sequence[PieceKind]) -> _Item:
    pieces = tuple(
        (turned, corners + np.array([k * block.width, 0.0]))
        for k in range(many)
        for turned, corners in block.pieces
    )
    wide = many * block.width
    normals = [(0.0, -1.0), (0.0, 1.0)]
    for way, slope in ((-1.0, block.left), (1.0, block.right)):
        square = math.hypot(1.0, slope)
        normals.append((way / square, -way * slope / square))
    offsets = np.array([0.0, block.height, 0.0, wide * normals[3][0]])
    taken = [0] * len(kinds)
    taken[block.kind] = len(pieces)
    # The lower left corner of what the pieces fill becomes the origin, so that equal ones are seen.
    every = np.concatenate([corners for _, corners in pieces]) @ turn.T
    hull = shapely.get_coordinates(shapely.MultiPoint(every).convex_hull)[:-1]
    origin = hull[np.lexsort(hull.round(6).T)[0]]
    turned_normals = np.array(normals) @ turn.T
    offsets = offsets - turned_normals @ origin
    return _Item(
        tuple((turned, corners - origin @ turn) for turned, corners in pieces),
        turn,
        tuple(taken),
        len(pieces) * kinds[block.kind].outline.area,
        hull - origin,
        turned_normals,
        offsets,
    )


def _filled_up(hull: Floats, most: int) -> Floats:
    return np.concatenate((hull, np.repeat(hull[:1], most - len(hull), axis=0)))


def _ends(points: Floats) -> list[Floats]:
    """Return the two ends of points on one line, or the one point."""
    if np.ptp(points, axis=0).max() < 1e-5:
        return [points[0]]
    order = np.lexsort(points.round(6).T)
    return [points[order[0]], points[order[-1]]]


def _clipped(outline: BaseGeometry, halves: Sequence[Floats]) -> list[BaseGeometry]:
    """Return what of an outline lies in each half-plane."""
    return list(shapely.intersection(outline, np.asarray(shapely.polygons(np.array(halves)))))


def _half(normal: Floats, offset: float, near: Floats) -> Floats:
    """Return the corners of a large box on the side of a line to which `normal` points."""
    far = 500.0  # inches: across the longest scrap from corner to corner, and more
    foot = near + normal * (offset - float(normal @ near))
    along = np.array([normal[1], -normal[0]]) * far
    return np.array([foot - along, foot + along, foot + along + normal * far,
                     foot - along + normal * far])  # fmt: skip


def _half_planes(core: Polygon) -> tuple[Floats, Floats]:
    """Return the outward normals (n, 2) and the offsets (n,) of the sides of a convex outline."""
    ring = shapely.get_coordinates(shapely.orient_polygons(core).exterior)[:-1]
    sides = following(ring) - ring
    long = np.hypot(*sides.T)
    ring, sides, long = (each[long > _SAME] for each in (ring, sides, long))
    normals = np.column_stack((sides[:, 1], -sides[:, 0])) / long[:, None]
    return normals, np.sum(normals * ring, axis=1)


def _convex_parts(outline: Polygon) -> list[Polygon]:
    """Return convex parts of an outline, the largest first: each cut along edges of its dents."""
    waiting, found = [outline], list[Polygon]()
    looked = 0
    while waiting and looked < 8 * _CORES and len(found) < _CORES:
        waiting.sort(key=lambda part: part.area)
        part = waiting.pop()
        looked += 1
        hull = part.convex_hull
        if hull.area - part.area < _FLAT and isinstance(hull, Polygon):
            found.append(hull)
            continue
        lines = _dent(part)
        for normal, at in lines:
            half = Polygon(_half(normal, float(normal @ at), at))
            rest = shapely.get_parts(shapely.intersection(part, half))
            waiting += [p for p in rest if p.geom_type == "Polygon" and p.area > 0.1]
    return found


def _dent(part: Polygon) -> list[tuple[Floats, Floats]]:
    """Return the half-planes (inward normal, point) of the edges at the deepest dent or a hole."""
    part = shapely.orient_polygons(part)
    if part.interiors:
        ring = shapely.get_coordinates(part.interiors[0])[:-1]
        sides = following(ring) - ring
        return [
            (np.array([-y, x]) / math.hypot(x, y), at)
            for at, (x, y) in zip(ring, sides, strict=True)
        ]
    ring = shapely.get_coordinates(part.exterior)[:-1]
    before, after = ring - preceding(ring), following(ring) - ring
    turn = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    deepest = int(np.argmin(turn / np.maximum(_SAME, np.hypot(*(before + after).T))))
    at = ring[deepest]
    return [
        (np.array([-y, x]) / math.hypot(x, y), at) for x, y in (before[deepest], after[deepest])
    ]
