"""Guillotine packing: the same pieces packed again, one straight cut after another.

A block, or a row of one, is pushed into a part of the cloth as far as it goes, square to one of its
sides. The part is cut along that side. What lies beyond it, and what the block's other sides leave
of the strip, are parts in which the search goes on. So every layout found can be cut apart by lines
right across parts, in any direction.
"""

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from scrapstore.packing.convex import half_planes
from scrapstore.packing.cutting.blocks import (
    Block,
    build_blocks,
    placement_of,
    side_directions_deg,
)
from scrapstore.packing.cutting.geometry import half_plane_box
from scrapstore.packing.pieces import (
    Orientation,
    PieceKind,
    Placement,
    following,
    preceding,
    rotation_matrix,
)

__all__ = ["guillotine_layouts"]

Floats = NDArray[np.float64]
Counts = tuple[int, ...]

_SAME = 1e-6
_TOLERANCE = 3e-7  # inches by which a piece may lie outside a part, so that it can touch its edges
_VISIBLE = 1 / 16  # inches of play in which a cut can be laid by eye
_FAR = 500.0  # inches: more than the longest scrap from corner to corner
_MOST_IN_ROW = 6  # blocks
_CONVEX_PARTS = 6  # in which pieces are packed, of a part that is not convex
_FLAT = 1e-7  # square inches that a part may lack to its hull and count as convex
_SIDES = 4  # of a block
_OPTIONS = 12  # ways to cut that are examined for one part
_OF_ONE_SIZE = 4  # of them with as many pieces of each kind
_PER_LEVEL = 5  # layouts with so many pieces that are continued
_PART_PENALTY = 0.1  # of a smallest piece: what one more part counts as waste


@dataclass(frozen=True, eq=False)
class _Item:
    """One block or a row of them, in one direction of the cloth.

    `pieces` have their corners in the frame of the row, which `rotation` turns to the cloth's.
    `taken` counts them by kind, `area` is theirs. `hull` (n, 2) holds them; `normals` (4, 2) and
    `offsets` (4,) are the outward lines along the block's sides. Hull and lines are those of the
    item with its origin at (0, 0).
    """

    pieces: tuple[tuple[Orientation, Floats], ...]
    rotation: Floats
    taken: Counts
    area: float
    hull: Floats
    normals: Floats
    offsets: Floats


@dataclass(frozen=True)
class _State:
    """Pieces packed, numbers left over, and the parts that can still hold one, smallest first.

    `waste` is the cloth that is lost, in square inches less a constant.
    """

    placed: tuple[Placement, ...]
    left: Counts
    parts: tuple["_FreePart", ...]
    waste: float


class _FreePart:
    """A part of the usable cloth, and the convex parts of it in which pieces are packed."""

    def __init__(self, outline: Polygon) -> None:
        self.outline = outline
        self.area = float(outline.area)

    @cached_property
    def convex_parts(self) -> list[tuple[Floats, Floats, Floats, Floats]]:
        """For each convex part: half-planes (normals, offsets), pairs of them, inverse matrices.

        The inverse (pairs, 2, 2) turns the offsets of a pair into the point where its lines meet.
        """
        found = []
        for ring in _convex_parts(self.outline):
            planes = half_planes(ring)
            normals = planes[:, :2]
            pairs = np.array(list(combinations(range(len(normals)), 2)))
            a, b = normals[pairs[:, 0]], normals[pairs[:, 1]]
            sine = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
            pairs = pairs[np.abs(sine) > 1e-4]
            inverse = np.linalg.inv(normals[pairs])
            found.append((normals, planes[:, 2] + _TOLERANCE, pairs, inverse))
        return found

    def positions(self, hulls: Floats) -> tuple[NDArray[np.intp], Floats]:
        """Return extreme positions of hulls (m, corners, 2): numbers (k,) and shifts (k, 2)."""
        which, shifts = [np.empty(0, np.intp)], [np.empty((0, 2))]
        for normals, offsets, pairs, inverse in self.convex_parts:
            room = offsets - (hulls @ normals.T).max(axis=1)
            at = np.einsum("pij,mpj->mpi", inverse, room[:, pairs])
            fits = (at @ normals.T <= room[:, None] + _TOLERANCE).all(axis=2)
            item, pair = np.nonzero(fits)
            which.append(item)
            shifts.append(at[item, pair])
        return np.concatenate(which), np.concatenate(shifts)


def guillotine_layouts(
    region: Polygon | MultiPolygon,
    kinds: Sequence[PieceKind],
    counts: Sequence[int],
    step: float,
    work: int,
) -> Iterator[list[Placement]]:
    """Yield layouts of `counts[i]` pieces of `kinds[i]` that guillotine cuts take apart.

    Only layouts that hold all of them are yielded. `step` is the distance between the ruler's
    marks, in inches; `work` bounds how many parts are examined.
    """
    for gap in (min(step / 2, _VISIBLE) + 10 * _SAME, 0.0):
        yield from _GuillotinePacker(kinds, counts, step, gap).layouts(region, work)


class _GuillotinePacker:
    """`gap`: inches left free beside a cut, so that a cut in a new direction need not be exact."""

    def __init__(
        self, kinds: Sequence[PieceKind], counts: Sequence[int], step: float, gap: float
    ) -> None:
        self.kinds, self.wanted, self.gap = kinds, tuple(counts), gap
        self.piece_area = [kind.outline.area for kind in kinds]
        self.items = list(_items(kinds, self.wanted, step))
        most = max(len(item.hull) for item in self.items) if self.items else 0
        # Shorter hulls repeat their last corner, so that all fit one array.
        self.hulls = np.array(
            [np.pad(i.hull, ((0, most - len(i.hull)), (0, 0)), mode="edge") for i in self.items]
        )
        self.single = np.flatnonzero([sum(item.taken) == 1 for item in self.items])
        self._fits: dict[bytes, NDArray[np.bool_]] = {}

    def layouts(self, region: Polygon | MultiPolygon, work: int) -> Iterator[list[Placement]]:
        """Yield the layouts; those with most pieces packed are continued first."""
        if not self.items:
            return
        self.least = min(a for a, n in zip(self.piece_area, self.wanted, strict=True) if n)
        start = self._state((), self.wanted, [], [region])
        states = [start] if start.parts else []
        seen: Counter[int] = Counter()
        while states and work > 0:
            ranks = [(-len(state.placed), round(state.waste, 6)) for state in states]
            state = states.pop(ranks.index(min(ranks)))
            seen[len(state.placed)] += 1
            if seen[len(state.placed)] > _PER_LEVEL:
                continue
            work -= 1
            for after in self._successors(state):
                if not any(after.left):
                    yield list(after.placed)
                    return
                if after.parts:
                    states.append(after)

    def _area(self, counts: Counts) -> float:
        return sum(n * area for n, area in zip(counts, self.piece_area, strict=True))

    def _state(
        self,
        placed: tuple[Placement, ...],
        left: Counts,
        parts: Sequence[_FreePart],
        rests: Sequence[BaseGeometry],
    ) -> _State:
        """Return the state with those parts, and parts of `rests`, that can still hold a piece."""
        more = [
            _FreePart(part)
            for rest in rests
            for part in shapely.get_parts(rest)
            if part.geom_type == "Polygon" and part.area >= self.least
        ]
        own = [part for part in (*parts, *more) if self._can_hold(part, left)]
        own.sort(key=lambda part: part.area)
        used = self._area(self.wanted) - self._area(left)
        lost = -used - sum(part.area for part in own)
        waste = lost + _PART_PENALTY * self.least * len(own)
        return _State(placed, left, tuple(own), waste)

    def _can_hold(self, part: _FreePart, left: Counts) -> bool:
        key = shapely.get_coordinates(part.outline).round(6).tobytes()
        if key not in self._fits:
            fits = np.zeros(len(self.kinds), dtype=np.bool_)
            for item in np.unique(part.positions(self.hulls[self.single])[0]):
                fits |= np.array(self.items[self.single[item]].taken) > 0
            self._fits[key] = fits
        return bool(self._fits[key][np.array(left) > 0].any())

    def _successors(self, state: _State) -> Iterator[_State]:
        """Yield what can become of the smallest part: left alone, or an item cut from it."""
        part, others = state.parts[0], state.parts[1:]
        if sum(p.area for p in others) >= self._area(state.left):
            yield self._state(state.placed, state.left, others, [])
        usable = np.flatnonzero(
            [all(t <= n for t, n in zip(i.taken, state.left, strict=True)) for i in self.items]
        )
        which, moves = part.positions(self.hulls[usable])
        chosen: list[tuple[int, int, Floats]] = []
        for number in np.unique(which):
            own = moves[which == number]
            item = self.items[usable[number]]
            for side, normal in enumerate(item.normals):
                deep = own @ normal
                ends = _extremes(own[deep < deep.min() + 1e-5])
                chosen += [(int(usable[number]), side, at) for at in ends]
        if not chosen:
            return
        halves = []
        for number, side, at in chosen:
            normal = self.items[number].normals[side]
            offset = self.items[number].offsets[side] + self.gap + normal @ at
            halves.append(half_plane_box(normal, offset, at, _FAR))
        beyond = _clipped(part.outline, halves)
        strips = [part.area - rest.area for rest in beyond]
        order = sorted(
            range(len(chosen)), key=lambda k: round(strips[k] / self.items[chosen[k][0]].area, 6)
        )
        sizes: Counter[Counts] = Counter()
        for k in order:
            number, side, at = chosen[k]
            item = self.items[number]
            sizes[item.taken] += 1
            if sizes[item.taken] > _OF_ONE_SIZE:
                continue
            left = tuple(n - t for n, t in zip(state.left, item.taken, strict=True))
            rests = [beyond[k], *self._rest_of_strip(part, item, side, at)]
            placed = (*state.placed, *self._placed(item, at))
            after = self._state(placed, left, others, rests)
            if sum(p.area for p in after.parts) >= self._area(left):
                yield after
            if sum(min(n, _OF_ONE_SIZE) for n in sizes.values()) >= _OPTIONS:
                break

    def _rest_of_strip(
        self, part: _FreePart, item: _Item, side: int, at: Floats
    ) -> list[BaseGeometry]:
        """Return what the other sides leave of the strip, the largest rest cut off first."""
        offsets = item.offsets + item.normals @ at

        def inside(outline: BaseGeometry, k: int) -> BaseGeometry:
            half = half_plane_box(-item.normals[k], -offsets[k], at, _FAR)
            return _clipped(outline, [half])[0]

        strip = inside(part.outline, side)
        sides = [k for k in range(_SIDES) if k != side]
        found: list[BaseGeometry] = []
        while sides:
            halves = [
                half_plane_box(item.normals[k], offsets[k] + self.gap, at, _FAR) for k in sides
            ]
            rests = _clipped(strip, halves)
            best = int(np.argmax([round(rest.area, 6) for rest in rests]))
            if rests[best].area < self.least:
                break
            found.append(rests[best])
            strip = inside(strip, sides.pop(best))
        return found

    def _placed(self, item: _Item, at: Floats) -> Iterator[Placement]:
        for one, corners in item.pieces:
            shifted = corners + at @ item.rotation
            yield placement_of(one, shifted, item.rotation, self.kinds)


def _items(kinds: Sequence[PieceKind], counts: Counts, step: float) -> Iterator[_Item]:
    """Yield each block, and rows of it, in every direction in which it can be cut."""
    seen: set[tuple[object, ...]] = set()
    for along in side_directions_deg(kinds):
        for block in build_blocks(kinds, along, step):
            most = counts[block.kind] // block.count
            if abs(block.left - block.right) > _SAME:
                most = min(most, 1)
            for many in range(1, min(most, _MOST_IN_ROW) + 1):
                item = _item(block, many, rotation_matrix(along), kinds)
                lines = np.column_stack((item.normals, item.offsets)).round(5) + 0.0
                key = (item.taken, item.hull.round(5).tobytes(), tuple(sorted(map(tuple, lines))))
                if key not in seen:
                    seen.add(key)
                    yield item


def _item(block: Block, many: int, rotation: Floats, kinds: Sequence[PieceKind]) -> _Item:
    pieces = tuple(
        (one, corners + np.array([k * block.width, 0.0]))
        for k in range(many)
        for one, corners in block.pieces
    )
    normals = [(0.0, -1.0), (0.0, 1.0)]
    for way, slope in ((-1.0, block.left), (1.0, block.right)):
        square = math.hypot(1.0, slope)
        normals.append((way / square, -way * slope / square))
    offsets = np.array([0.0, block.height, 0.0, many * block.width * normals[3][0]])
    taken = [0] * len(kinds)
    taken[block.kind] = len(pieces)
    # The lower left corner of what the pieces fill becomes the origin, so that equal ones are seen.
    corners = np.concatenate([corners for _, corners in pieces]) @ rotation.T
    hull = shapely.get_coordinates(shapely.MultiPoint(corners).convex_hull)[:-1]
    origin = hull[np.lexsort(hull.round(6).T)[0]]
    rotated = np.array(normals) @ rotation.T
    return _Item(
        tuple((one, corners - origin @ rotation) for one, corners in pieces),
        rotation,
        tuple(taken),
        len(pieces) * kinds[block.kind].outline.area,
        hull - origin,
        rotated,
        offsets - rotated @ origin,
    )


def _extremes(points: Floats) -> list[Floats]:
    """Return the two ends of points on one line, or the one point."""
    order = np.lexsort(points.round(6).T)
    if np.ptp(points, axis=0).max() < 1e-5:
        return [points[0]]
    return [points[order[0]], points[order[-1]]]


def _clipped(outline: BaseGeometry, halves: Sequence[Floats]) -> list[BaseGeometry]:
    """Return what of an outline lies in each half-plane, given as boxes (4, 2)."""
    return list(shapely.intersection(outline, np.asarray(shapely.polygons(np.array(halves)))))


def _convex_parts(outline: Polygon) -> list[Floats]:
    """Return the corners of convex parts of an outline, the largest first; they may overlap.

    Each dent is cut along both of its edges in turn.
    """
    waiting, found = [outline], list[Floats]()
    examined = 0
    while waiting and examined < 8 * _CONVEX_PARTS and len(found) < _CONVEX_PARTS:
        waiting.sort(key=lambda part: part.area)
        part = waiting.pop()
        examined += 1
        hull = part.convex_hull
        if hull.area - part.area < _FLAT:
            clean = shapely.remove_repeated_points(shapely.orient_polygons(hull), _SAME)
            found.append(shapely.get_coordinates(clean)[:-1])
            continue
        for normal, at in _dent(part):
            half = Polygon(half_plane_box(normal, float(normal @ at), at, _FAR))
            rest = shapely.get_parts(shapely.intersection(part, half))
            waiting += [p for p in rest if p.geom_type == "Polygon" and p.area > 0.1]
    return found


def _dent(part: Polygon) -> list[tuple[Floats, Floats]]:
    """Return half-planes (inward normal, point) along the edges of a hole or the deepest dent."""
    part = shapely.orient_polygons(part)
    ring = shapely.get_coordinates(part.interiors[0] if part.interiors else part.exterior)[:-1]
    before, after = ring - preceding(ring), following(ring) - ring
    edges = list(zip(ring, after, strict=True))
    if not part.interiors:
        turn = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
        deepest = int(np.argmin(turn / np.maximum(_SAME, np.hypot(*(before + after).T))))
        edges = [(ring[deepest], before[deepest]), edges[deepest]]
    return [(np.array([-y, x]) / math.hypot(x, y), at) for at, (x, y) in edges]
