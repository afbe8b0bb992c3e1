"""Blocks: what stands in a row between two straight cuts.

A block is one piece, a pair of triangles, or a stack of such. It is as high as its pieces, rounded
up to a mark of the ruler. Its two sides are cuts across the row: parallel ones are whole marks
apart; others lie on a mark from a corner that an earlier cut makes.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon

from scrapstore.packing.cutting.geometry import cross, overhang
from scrapstore.packing.pieces import (
    Orientation,
    PieceKind,
    Placement,
    alike,
    following,
    orientations,
)

__all__ = ["Block", "build_blocks", "placement_of", "side_directions_deg", "stack"]

Floats = NDArray[np.float64]

_SAME = 1e-6
_MOST_STACKED = 6


@dataclass(frozen=True, eq=False)
class Block:
    """Pieces of one kind, each with its corners (n, 2) as seen from the block's lower left corner.

    The left side runs from (0, 0) up, `left` inches to the right for every inch up; the right side
    from (`width`, 0), `right` inches for every inch up.
    """

    kind: int
    pieces: tuple[tuple[Orientation, Floats], ...]
    height: float
    width: float
    left: float
    right: float

    @property
    def count(self) -> int:
        """The number of its pieces."""
        return len(self.pieces)


def build_blocks(kinds: Sequence[PieceKind], along_deg: float, step: float) -> list[Block]:
    """Return the single blocks of the kinds in rows along `along_deg`, marks `step` apart."""
    oriented = orientations(kinds, along_deg, _SAME)
    return [
        block
        for one in oriented
        for block in (*_single_blocks(one, step), *_triangle_pairs(one, oriented, step))
    ]


def stack(block: Block, height: float) -> Block | None:
    """Return a pile of as many equal blocks as a row of `height` holds; None for less than two."""
    count = min(_MOST_STACKED, int(height / block.height + _SAME))
    if count < 2 or abs(block.left - block.right) > _SAME:
        return None
    pieces = tuple(
        (orientation, corners + np.array([block.left, 1.0]) * (k * block.height))
        for k in range(count)
        for orientation, corners in block.pieces
    )
    return replace(block, pieces=pieces, height=count * block.height)


def side_directions_deg(kinds: Sequence[PieceKind]) -> list[float]:
    """Return the angles (0 to 180) of the sides of all orientations, most inches of side first."""
    length: dict[float, float] = {}
    for one in orientations(kinds, apart=_SAME):
        for x, y in following(one.corners) - one.corners:
            angle = math.degrees(math.atan2(y, x)) % 180
            angle = round(0.0 if angle > 180 - 1e-6 else angle, 7)
            length[angle] = length.get(angle, 0.0) + math.hypot(x, y)
    return sorted(length, key=lambda angle: (-round(length[angle], 3), angle))


def placement_of(
    orientation: Orientation, corners: Floats, rotation: Floats, kinds: Sequence[PieceKind]
) -> Placement:
    """Return the placement of a piece with these corners (n, 2) in the frame of its row.

    `rotation` (2, 2) turns that frame to the cloth's.
    """
    outline = Polygon((orientation.drawn + corners.min(axis=0)) @ rotation.T)
    name = kinds[orientation.kind].name
    return Placement(name, outline, orientation.rotation_deg, orientation.mirrored)


def _rounded_up(inches: float, step: float) -> float:
    return math.ceil(inches / step - 1e-5) * step


def _single_blocks(one: Orientation, step: float) -> Iterator[Block]:
    """Yield the blocks of one piece with a side along the row."""
    corners = one.corners
    tall = float(corners[:, 1].max())
    height = _rounded_up(tall, step)
    if all((np.abs(corners[:, 1] - y) < _SAME).sum() < 2 for y in (0.0, tall)):
        return
    lefts, rights = _slopes(corners)
    parallel = [(a, b) for a in lefts for b in rights if abs(a - b) < _SAME]
    for left, right in parallel or [(a, b) for a in lefts for b in rights]:
        foot = float((corners[:, 0] - left * corners[:, 1]).min())
        end = float((corners[:, 0] - right * corners[:, 1]).max())
        # Inches square to the right side for every inch along the row.
        square = 1 / math.hypot(1.0, right)
        if abs(left - right) < _SAME:
            width = _rounded_up((end - foot) * square, step) / square
        else:
            # The right side lies on a mark from where the left one meets either cut of the row.
            zeros = (0.0, (left - right) * height)
            width = min(
                zero + _rounded_up((end - foot - zero) * square, step) / square for zero in zeros
            )
            crossed = min(width, width + (right - left) * height) < -_SAME
            if crossed or (width - (end - foot)) * square > step - _SAME:
                continue
        piece = one, corners - np.array([foot, 0.0])
        yield Block(one.kind, (piece,), height, max(0.0, width), left, right)


def _slopes(corners: Floats) -> tuple[list[float], list[float]]:
    """Return the slopes (x for y) of the left and right sides of a counter-clockwise ring."""
    sides = following(corners) - corners
    lefts = {round(float(x / y), 9) for x, y in sides if y < -_SAME}
    rights = {round(float(x / y), 9) for x, y in sides if y > _SAME}
    return sorted(lefts), sorted(rights)


def _triangle_pairs(
    one: Orientation, oriented: Sequence[Orientation], step: float
) -> Iterator[Block]:
    """Yield parallelograms of two triangles, one turned by 180°, cut along the diagonal."""
    triangle = _triangle(one.corners)
    other = next((o for o in oriented if o.kind == one.kind and _is_half_turn(o, one)), None)
    if triangle is None or other is None:
        return
    low = triangle[:, 1].min()
    base = np.flatnonzero(np.abs(triangle[:, 1] - low) < _SAME)
    if len(base) != 2:
        return
    apex = triangle[3 - base.sum()]
    ends = triangle[base][np.argsort(triangle[base][:, 0])]
    tall = float(apex[1] - low)
    height = _rounded_up(tall, step)
    for corner, far, way in ((ends[0], ends[1], 1.0), (ends[1], ends[0], -1.0)):
        slope = float((apex[0] - corner[0]) / tall)
        square = 1 / math.hypot(1.0, slope)
        width = _rounded_up(abs(float(far[0] - corner[0])) * square, step) / square
        # Which corner of the parallelogram the first one lies in: lower left, or lower right.
        at = np.array([0.0 if way > 0 else width, 0.0])
        first = one.corners - corner + at
        second = np.array([width + slope * height, height]) - first
        diagonal = np.array([[at[0] + way * width, 0.0], at + np.array([slope, 1.0]) * height])
        if overhang(triangle - corner + at, diagonal) <= step - _SAME:
            pieces = (one, first), (other, second)
            yield Block(one.kind, pieces, height, width, slope, slope)


def _is_half_turn(one: Orientation, other: Orientation) -> bool:
    a, b = (o.corners - o.corners.mean(axis=0) for o in (one, other))
    return alike(a, -b, _SAME)


def _triangle(corners: Floats) -> Floats | None:
    """Return the corners (3, 2) of a triangle whose tips may be trimmed; None for other shapes."""
    sides = following(corners) - corners
    length = np.hypot(*sides.T)
    three = np.sort(np.argsort(-length, kind="stable")[:3])
    lines = [(corners[i], sides[i] / length[i]) for i in three]
    turns = [cross(lines[i - 1][1], lines[i][1]) for i in range(3)]
    tips = np.delete(length, three)
    if len(tips) > 3 or min(turns) < 0.1 or tips.max(initial=0.0) >= 0.5 * length[three].min():
        return None
    return np.array([_intersection(lines[i - 1], lines[i]) for i in range(3)])


def _intersection(a: tuple[Floats, Floats], b: tuple[Floats, Floats]) -> Floats:
    """Return where two lines, each a point and a direction, meet."""
    point: Floats = a[0] + cross(b[0] - a[0], b[1]) / cross(a[1], b[1]) * a[1]
    return point
