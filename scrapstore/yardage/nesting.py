"""Pieces side by side along one strip, as close as straight cuts allow.

The strip lies level: x runs along it (from selvage to selvage), y across it (along the lengthwise
grain, so that a one-way print runs up). A piece whose outline is not convex counts by its convex
hull. Neighbours are placed by exact arithmetic: the least shift at which their outlines do not
overlap. Between two convex pieces there is then always one straight cut.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise, product
from typing import Final

from shapely import Polygon
from shapely.affinity import rotate, translate

from scrapstore.errors import ShapeError

__all__ = ["Row", "StripPiece", "lay_row"]

SLACK: Final = 1e-9
"""Inches: what rounding may add before a piece counts as too long."""


@dataclass(frozen=True, slots=True)
class StripPiece:
    """Pieces to be cut from full-width fabric.

    `cut` is the cut outline in the piece's own frame; `count` how many are wanted;
    `rotations_deg` the rotations allowed with the lengthwise grain at 0°. Neighbours are turned
    against one another only where these rotations allow it: a piece for a one-way print has one
    rotation, and lies the same way up throughout. Turning pieces over is not tried: the outline
    mirrored at its upright line reaches furthest at the same heights as the piece beside it, so
    the two never nest. `role` groups pieces that come from the same cloth.
    """

    name: str
    cut: Polygon
    count: int
    rotations_deg: tuple[float, ...] = (0.0, 90.0)
    role: str = ""

    def __post_init__(self) -> None:
        if self.count < 0:
            raise ShapeError(f"{self.name}: {self.count} pieces cannot be cut; give 0 or more")
        if not self.rotations_deg:
            raise ShapeError(f"{self.name}: no rotation is allowed; give at least one, such as 0")
        if self.cut.is_empty or not self.cut.is_valid or not math.isfinite(self.cut.area):
            raise ShapeError(
                f"{self.name}: its cut outline is no simple outline; check its corners"
            )


@dataclass(frozen=True, slots=True)
class Row:
    """One way to fill a strip: two outlines in turn, or one over and over (`one is two`).

    Both stand on y = 0, reach `height` and start at x = 0. `shifts` are how far the second lies
    from the first, and the next first one from the second, measured between their starts.
    """

    one: Polygon
    two: Polygon
    shifts: tuple[float, float]
    height: float

    @property
    def spacing(self) -> float:
        """Return the strip length that one piece takes in a long row, inches."""
        return sum(self.shifts) / 2

    @property
    def first_cut_loss(self) -> float:
        """Return what slanted ends cost once per strip, inches; 0 for rectangles."""
        return max(0.0, self.length(2) - 2 * self.spacing)

    @property
    def alternates(self) -> bool:
        """Return whether every other piece is turned."""
        return self.one is not self.two

    def starts(self, count: int) -> Iterator[float]:
        """Yield where each of `count` pieces starts, from the left end of the row."""
        at = 0.0
        for i in range(count):
            yield at
            at += self.shifts[i % 2]

    def length(self, count: int) -> float:
        """Return how long a row of `count` pieces is, from its first to its last point."""
        widths = (self.one.bounds[2], self.two.bounds[2])
        ends = (at + widths[i % 2] for i, at in enumerate(self.starts(count)))
        return max(ends, default=0.0)

    def fits(self, length: float) -> int:
        """Return how many pieces a strip of `length` inches gives."""
        count = max(0, math.floor((length + SLACK) / self.spacing) + 1)
        while count and self.length(count) > length + SLACK:
            count -= 1
        return count

    def outlines(self, count: int, start: float = 0.0) -> tuple[Polygon, ...]:
        """Return `count` outlines laid from x = `start`."""
        pair = (self.one, self.two)
        places = enumerate(self.starts(count))
        return tuple(translate(pair[i % 2], start + at) for i, at in places)


def lay_row(piece: StripPiece, rotation_deg: float, *, along_grain: bool = False) -> Row:
    """Return the closest row of `piece` with the strip as wide as it is at `rotation_deg`.

    Every other piece may be turned as the piece's other rotations allow, if it is then equally
    high. `along_grain` lays the strip along the lengthwise grain instead of across it.
    """
    first = _lying(piece.cut, rotation_deg, along_grain=along_grain)
    height = first.bounds[3]
    ways = [first]
    for turn in piece.rotations_deg:
        other = _lying(piece.cut, turn, along_grain=along_grain)
        level = abs(other.bounds[3] - height) < 1e-6
        if level and not any(other.equals_exact(way, 1e-6) for way in ways):
            ways.append(other)
    sides = [_Sides(way) for way in ways]
    shift = {(a, b): _shift(sides[a], sides[b]) for a in range(len(ways)) for b in range(len(ways))}
    rows = [
        Row(ways[a], ways[b], (shift[a, b], shift[b, a]), height)
        for a, b in product(range(len(ways)), repeat=2)
    ]
    # Of equally close rows the simpler one; then the one that loses less at its ends.
    return min(rows, key=lambda r: (round(r.spacing, 9), r.alternates, *_short_lengths(r)))


def _short_lengths(row: Row) -> tuple[float, float]:
    return round(row.length(1), 9), round(row.length(2), 9)


def _lying(cut: Polygon, turn_deg: float, *, along_grain: bool) -> Polygon:
    """Return `cut` turned, then seen with the strip level, its bounds starting at (0, 0)."""
    turned = rotate(cut, (turn_deg + (0.0 if along_grain else 90.0)) % 360, origin=(0, 0))
    west, south, _, _ = turned.bounds
    return translate(turned, -west, -south)


class _Sides:
    """How far a convex hull reaches left and right at every height."""

    def __init__(self, outline: Polygon) -> None:
        hull = outline.convex_hull
        assert isinstance(hull, Polygon)  # an outline with area has one
        points = [(x, y) for x, y, *_ in hull.exterior.coords]
        self.edges = list(pairwise(points))
        self.heights = sorted({y for _, y in points})

    def reach(self, y: float) -> tuple[float, float]:
        """Return the least and the greatest x at height `y`."""
        y = min(max(y, self.heights[0]), self.heights[-1])
        crossings = []
        for (x0, y0), (x1, y1) in self.edges:
            if min(y0, y1) <= y <= max(y0, y1):
                if y0 == y1:
                    crossings += [x0, x1]
                else:
                    crossings.append(x0 + (x1 - x0) * (y - y0) / (y1 - y0))
        return min(crossings), max(crossings)


def _shift(left: _Sides, right: _Sides) -> float:
    """Return the least distance between the starts of two hulls lying side by side."""
    # The gap between two convex outlines changes direction only at a corner of one of them.
    heights = {*left.heights, *right.heights}
    return max(left.reach(y)[1] - right.reach(y)[0] for y in heights)
