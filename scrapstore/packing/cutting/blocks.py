"""What stands in a row between two straight cuts: one piece, a pair of triangles, or a stack.

A block is as high as its pieces, rounded up to a mark, and its two sides are cuts across the row:
parallel ones whole marks apart, others through a mark from a corner that is cut before.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from scrapstore.packing.cutting.shapes import Turned
from scrapstore.packing.pieces import following

__all__ = ["Block", "blocks_of"]

Floats = NDArray[np.float64]

_SAME = 1e-6
_MOST_STACKED = 6


@dataclass(frozen=True, eq=False)
class Block:
    """Pieces (each with its corners, the block's lower left corner at 0, 0) of one kind.

    Its left side runs from (0, 0) up, `left` inches to the right for every inch up; its right side
    from (`width`, 0), `right` inches for every inch up.
    """

    kind: int
    pieces: tuple[tuple[Turned, Floats], ...]
    height: float
    width: float
    left: float
    right: float

    @property
    def count(self) -> int:
        """How many pieces it gives."""
        return len(self.pieces)


def blocks_of(turns: Sequence[Turned], step: float) -> list[Block]:
    """Return the blocks that can be made of the turned pieces, rows running along x."""
    found: list[Block] = []
    for turned in turns:
        found += _singles(turned, step)
        found += _pairs(turned, turns, step)
    return found


def stacked(block: Block, height: float) -> Block | None:
    """Return as many of a block as stand upon each other in a row of `height`, if two or more."""
    many = min(_MOST_STACKED, int(height / block.height + _SAME))
    if many < 2 or abs(block.left - block.right) > _SAME:
        return None
    pieces = tuple(
        (turned, corners + np.array([block.left, 1.0]) * (k * block.height))
        for k in range(many)
        for turned, corners in block.pieces
    )
    return replace(block, pieces=pieces, height=many * block.height)


def _up(inches: float, step: float) -> float:
    return math.ceil(inches / step - 1e-5) * step


def _singles(turned: Turned, step: float) -> Iterator[Block]:
    corners = turned.corners - turned.corners.min(axis=0)
    tall = float(corners[:, 1].max())
    height = _up(tall, step)
    bottom, top = (int((np.abs(corners[:, 1] - y) < _SAME).sum()) for y in (0.0, tall))
    if bottom < 2 and top < 2:
        return
    lefts, rights = _slopes(corners)
    paired = [(a, b) for a in lefts for b in rights if abs(a - b) < _SAME]
    for left, right in paired or [(a, b) for a in lefts for b in rights]:
        foot = float((corners[:, 0] - left * corners[:, 1]).min())
        end = float((corners[:, 0] - right * corners[:, 1]).max())
        # Square to the right side, an inch along the row is this much.
        square = 1 / math.hypot(1.0, right)
        if abs(left - right) < _SAME:
            width = _up((end - foot) * square, step) / square
        else:
            # The right side lies on a mark from where the left one meets either cut of the row.
            zeros = (0.0, (left - right) * height)
            width = min(zero + _up((end - foot - zero) * square, step) / square for zero in zeros)
            if min(width, width + (right - left) * height) < -_SAME:
                continue
            if (width - (end - foot)) * square > step - _SAME:
                continue
        yield Block(
            turned.kind,
            ((turned, corners - np.array([foot, 0.0])),),
            height,
            max(0.0, width),
            left,
            right,
        )


def _slopes(corners: Floats) -> tuple[list[float], list[float]]:
    """Return the slopes (x for y) of the sides at the left and at the right, ring ccw."""
    sides = following(corners) - corners
    lefts = {round(float(x / y), 9) for x, y in sides if y < -_SAME}
    rights = {round(float(x / y), 9) for x, y in sides if y > _SAME}
    return sorted(lefts), sorted(rights)


def _pairs(turned: Turned, turns: Sequence[Turned], step: float) -> Iterator[Block]:
    """Two triangles, one turned half round: a parallelogram that is cut corner to corner."""
    triangle = turned.triangle
    if triangle is None:
        return
    other = next((t for t in turns if t.is_half_round(turned)), None)
    if other is None:
        return
    low = triangle[:, 1].min()
    base = np.flatnonzero(np.abs(triangle[:, 1] - low) < _SAME)
    if len(base) != 2:
        return
    apex = triangle[3 - base.sum()]
    ends = triangle[base][np.argsort(triangle[base][:, 0])]
    tall = float(apex[1] - low)
    height = _up(tall, step)
    for corner, far, way in ((ends[0], ends[1], 1.0), (ends[1], ends[0], -1.0)):
        slope = float((apex[0] - corner[0]) / tall)
        square = 1 / math.hypot(1.0, slope)
        long = abs(float(far[0] - corner[0]))
        width = _up(long * square, step) / square
        # Which corner of the parallelogram the first one lies in: lower left, or lower right.
        at = np.array([0.0 if way > 0 else width, 0.0])
        first = turned.corners - corner + at
        across = np.array([width + slope * height, height])
        second = across - first
        diagonal = np.array([at[0] + way * width, 0.0]), at + np.array([slope, 1.0]) * height
        if _beyond(triangle - corner + at, diagonal) > step - _SAME:
            continue
        yield Block(
            turned.kind, ((turned, first), (other, second[::1])), height, width, slope, slope
        )


def _beyond(triangle: Floats, line: tuple[Floats, Floats]) -> float:
    """Return how far the line's ends lie beyond the triangle's side there."""
    middle = triangle.mean(axis=0)
    worst = 0.0
    for end in line:
        beyond = math.inf
        for a, b in zip(triangle, following(triangle), strict=True):
            normal = np.array([b[1] - a[1], a[0] - b[0]]) / math.hypot(*(b - a))
            if float(normal @ (middle - a)) > 0:
                normal = -normal
            across = np.array(line[1]) - np.array(line[0])
            if abs(float(normal @ across)) / math.hypot(*across) < 0.5:
                beyond = min(beyond, float(normal @ (end - a)))
        worst = max(worst, beyond)
    return worst
