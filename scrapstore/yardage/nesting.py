"""Pieces side by side along one strip, as close as a ruler allows.

The strip lies level: x runs along it (from selvage to selvage), y across it (along the lengthwise
grain, so that a one-way print runs up). A piece whose outline is not convex counts by its convex
hull. Between neighbours the strip is cut straight through. Each cut is parallel to the end that the
cut before left, or at an angle to the strip for which a ruler has a line, and it lies a number of
ruler marks from that end or from one of its corners, measured square to the cut. So a plan counts
only with figures that can be cut.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise, product
from typing import Final

from shapely import Polygon
from shapely.affinity import rotate, translate
from shapely.geometry.polygon import orient

from scrapstore.errors import ShapeError
from scrapstore.units import round_up_to_mark

__all__ = ["SLACK", "Row", "StripPiece", "on_angle_line", "pack_rows"]

SLACK: Final = 1e-9
"""Inches: what rounding may add before a piece counts as too long."""
_SAME: Final = 1e-6  # inches
_LEVEL: Final = 0.2
"""Sine of the angle to the strip below which a cut runs too far along it to part it."""
_ANGLES_DEG: Final = 15
"""Rulers have lines at 30°, 45° and 60°; with its two edges that makes every 15°."""


@dataclass(frozen=True, slots=True)
class StripPiece:
    """Pieces to be cut from full-width fabric.

    `cut` is the cut outline in the piece's own frame; `count` how many are wanted;
    `rotations_deg` the rotations allowed with the lengthwise grain at 0°. Neighbours are turned
    against one another only where these rotations allow it: a piece for a one-way print has one
    rotation, and lies the same way up throughout. Turning pieces over is not tried: the outline
    mirrored at its upright line reaches furthest at the same heights as the piece beside it, so
    the two never nest. `role` groups pieces that come from the same cloth.

    `blank` is an outline round `cut`, in its frame, from which `cut` may be trimmed: the piece with
    its tips still pointed, which can nest closer.
    """

    name: str
    cut: Polygon
    count: int
    rotations_deg: tuple[float, ...] = (0.0, 90.0)
    role: str = ""
    blank: Polygon | None = None

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
    """One way to fill a strip `width` inches wide: two outlines in turn, or one (`one is two`).

    A cut that meets the lower edge of the strip at x = c runs along ``x = c + y * lean``. `leans`
    are those of the cuts before the first outline and before the second. Both outlines are drawn
    for c = 0 on their left; `advances` are how far along the lower edge the next cut then lies.
    `height` is that of the outlines, at most `width`; `step` is a ruler mark. Where `pairs`, two
    pieces are first cut off square together, and then parted. Where `template`, no ruler gives the
    outlines: they lie as close as they can, and all of them are cut off square together.
    """

    one: Polygon
    two: Polygon
    leans: tuple[float, float]
    advances: tuple[float, float]
    width: float
    height: float
    step: float
    pairs: bool = False
    template: bool = False

    @property
    def spacing(self) -> float:
        """Return the strip length that one piece takes in a long row, inches."""
        return sum(self.advances) / 2

    @property
    def trims(self) -> int:
        """Return how many sides of a piece, and of its neighbour, no cut across the strip makes."""
        return _trims(self)

    @property
    def alternates(self) -> bool:
        """Return whether every other piece is turned."""
        return self.one is not self.two

    def cuts(self, count: int) -> Iterator[tuple[float, float]]:
        """Yield (c, lean) of the cuts before, between and after `count` pieces.

        The strip has a square end at x = 0.
        """
        at = max(0.0, -self.leans[0] * self.width)
        for i in range(count + 1):
            yield at, self.leans[i % 2]
            at += self.advances[i % 2]

    def outlines(self, count: int) -> tuple[Polygon, ...]:
        """Return `count` outlines between these cuts."""
        pair = (self.one, self.two)
        places = zip(range(count), self.cuts(count), strict=False)
        return tuple(translate(pair[i % 2], c) for i, (c, _) in places)

    def length(self, count: int) -> float:
        """Return how much of the strip `count` pieces take, up to the far end of the last cut."""
        if self.template:
            return round_up_to_mark(self.reach(count), self.step)
        *_, (c, lean) = self.cuts(count)
        return c + max(0.0, lean * self.width) if count else 0.0

    def reach(self, count: int) -> float:
        """Return where the furthest of `count` pieces ends; there the strip may end, too."""
        ends = (self.one.bounds[2], self.two.bounds[2])
        places = zip(range(count), self.cuts(count), strict=False)
        return max((c + ends[i % 2] for i, (c, _) in places), default=0.0)

    def fits(self, length: float) -> int:
        """Return how many pieces a strip of `length` inches gives."""
        count = max(0, math.floor((length + SLACK) / self.spacing) + 1)
        while count and self.reach(count) > length + SLACK:
            count -= 1
        return count


def on_angle_line(deg: float) -> float:
    """Return the nearest angle that has a line on a ruler."""
    return round(deg / _ANGLES_DEG) * float(_ANGLES_DEG)


def _lean_of(deg: float) -> float:
    """Return how far a cut at `deg` to the strip runs along it for each inch across."""
    return 0.0 if deg == 90 else 1 / math.tan(math.radians(deg))


def pack_rows(
    piece: StripPiece,
    rotation_deg: float,
    step: float,
    *,
    along_grain: bool = False,
    square: bool = False,
) -> tuple[Row, ...]:
    """Return the closest rows of `piece` with the strip as wide as it is at `rotation_deg`.

    Every other piece may be turned as the piece's other rotations allow, if it is then equally
    high. `step` is the distance of ruler marks. `along_grain` lays the strip along the lengthwise
    grain instead of across it; `square` leaves out slanted cuts through the strip. Rows of pairs,
    and rows of the blank, come beside those that need neither.
    """
    found: list[Row] = []
    for shape in filter(None, (piece.cut, piece.blank)):
        turned = [
            _turned(piece.cut, shape, turn, along_grain=along_grain)
            for turn in (rotation_deg, *piece.rotations_deg)
        ]
        height = turned[0].height
        template = not turned[0].by_ruler(step)
        strip = _Strip(round_up_to_mark(height, step), height, step, template, square)
        if strip.template and shape is piece.blank:
            continue
        ways: list[_TurnedPiece] = []
        for one in turned:
            if abs(one.height - height) < _SAME:
                lifted = one.lifted(strip.width - height)
                if not any(lifted.piece.equals_exact(way.piece, _SAME) for way in ways):
                    ways.append(lifted)
        rows = [row for one, two in product(ways, repeat=2) for row in strip.rows(one, two)]
        closest = _closest([row for row in rows if not row.pairs])
        found.append(closest)
        if 0.0 in closest.leans:
            simple = _trims(closest)
            pairs = [row for row in rows if row.pairs and _trims(row) <= simple]
            found += [_closest(pairs)] if pairs else []
    return tuple(found)


def _closest(rows: Sequence[Row]) -> Row:
    """Return the closest row: of equals the simpler; then the one that loses less at its ends."""
    least = min(round(row.spacing, 9) for row in rows)
    return min(
        (row for row in rows if round(row.spacing, 9) == least),
        key=lambda row: (
            row.alternates, _trims(row), sum(map(bool, row.leans)),
            round(row.length(1), 9), round(row.length(2), 9),
        ),
    )  # fmt: skip


def _trims(row: Row) -> int:
    """Return how many sides of both pieces no cut across the strip makes."""
    count = 0
    for outline, left, right in ((row.one, *row.leans), (row.two, *row.leans[::-1])):
        for (x0, y0), (x1, y1) in pairwise(_corners(outline)):
            level = abs(y1 - y0) < _SAME and (y0 < _SAME or y0 > row.height - _SAME)
            lean = right if y1 > y0 else left
            count += not level and abs((x1 - x0) - lean * (y1 - y0)) > _SAME
    return count


@dataclass(frozen=True, slots=True)
class _Strip:
    """The strip that rows are packed on; `template` as in `Row`, `square` as for `pack_rows`."""

    width: float
    height: float
    step: float
    template: bool
    square: bool

    def rows(self, one: "_TurnedPiece", two: "_TurnedPiece") -> Iterator[Row]:
        """Yield the rows of two outlines in turn, for every two leans that their sides have."""
        exact = self.template
        leans = {0.0, *one.leans(exact=exact), *two.leans(exact=exact)}
        if self.square:
            leans = {0.0}
        for first, second in product(sorted(leans), repeat=2):
            if one is two and first != second:
                continue
            gap = _Gap(one, first, second, self.width)
            after_one = self._next_cut(gap)
            left = gap.placed(after_one)
            if one is two:
                yield self._row((left, left), (first, second), (after_one, after_one))
                continue
            gap = _Gap(two, second, first, self.width)
            after_two = self._next_cut(gap)
            pair = left, gap.placed(after_two)
            yield self._row(pair, (first, second), (after_one, after_two))
            if first == 0.0 and second != 0.0 and not self.template:
                after_two = round_up_to_mark(after_one + gap.least, self.step) - after_one
                pair = left, gap.placed(after_two)
                yield self._row(pair, (first, second), (after_one, after_two), pairs=True)

    def _next_cut(self, gap: "_Gap") -> float:
        return gap.least if self.template else gap.next_cut(self.step)

    def _row(
        self,
        outlines: tuple[Polygon, Polygon],
        leans: tuple[float, float],
        advances: tuple[float, float],
        *,
        pairs: bool = False,
    ) -> Row:
        return Row(
            *outlines, leans, advances, self.width, self.height, self.step, pairs, self.template
        )


class _Gap:
    """The strip between two cuts that lean as `before` and `after` say, and a piece in it.

    The first cut lies at c = 0, the other at `least` or further: there it holds the piece, and does
    not meet the first inside the strip.
    """

    def __init__(self, piece: "_TurnedPiece", before: float, after: float, width: float) -> None:
        self.piece, self.before, self.after = piece, before, after
        self.at = -min(x - y * before for x, y in piece.corners)
        self.end = self.at + max(x - y * after for x, y in piece.corners)
        self.top = width * (after - before)
        self.least = max(self.end, 0.0, -self.top)

    def next_cut(self, step: float) -> float:
        """Return where the second cut lies on a mark, from the first or from either end of it."""
        square = 1 / math.hypot(1, self.after)  # across the cut, for each inch along the strip
        below = round_up_to_mark(self.least * square, step) / square
        above = round_up_to_mark((self.least + self.top) * square, step) / square - self.top
        return below if self.before == self.after else min(below, above)

    def placed(self, c: float) -> Polygon:
        """Return the piece with the second cut at `c`.

        Between cuts that are not parallel it lies in the middle: so it is large by little on each
        side.
        """
        spare = 0.0 if self.before == self.after else (c - self.end) / 2
        return translate(self.piece.piece, self.at + spare)


@dataclass(frozen=True, slots=True)
class _TurnedPiece:
    """A piece as it lies on the strip, and the corners of the convex outline it is cut by."""

    piece: Polygon
    corners: tuple[tuple[float, float], ...]

    @property
    def height(self) -> float:
        return max(y for _, y in self.corners)

    def lifted(self, free: float) -> "_TurnedPiece":
        """Return it at the upper edge of a strip with `free` inches to spare, if wider there."""
        top = self.height
        if _breadth(self.corners, top) <= _breadth(self.corners, 0.0) + _SAME:
            return self
        raised = tuple((x, y + free) for x, y in self.corners)
        return _TurnedPiece(translate(self.piece, 0, free), raised)

    def leans(self, *, exact: bool) -> set[float]:
        """Return the leans of its sides; unless `exact`, each at the nearest angle of a ruler."""
        turns = {deg if exact else on_angle_line(deg) for deg, _ in self._sides()}
        return {_lean_of(deg % 180) for deg in turns if abs(math.sin(math.radians(deg))) > _LEVEL}

    def by_ruler(self, step: float) -> bool:
        """Return whether straight cuts at the angles of a ruler give the piece."""
        if self.piece.convex_hull.area - self.piece.area > _SAME:
            return False
        hull = pairwise(_corners(self.piece))
        return all(
            abs(math.sin(math.radians(deg - on_angle_line(deg)))) * length < step
            for deg, length in map(_turn_and_length, hull)
        )

    def _sides(self) -> Iterator[tuple[float, float]]:
        return map(_turn_and_length, pairwise((*self.corners, self.corners[0])))


def _turn_and_length(side: tuple[tuple[float, float], tuple[float, float]]) -> tuple[float, float]:
    """Return the direction of a side in degrees, and how long it is."""
    (x0, y0), (x1, y1) = side
    return math.degrees(math.atan2(y1 - y0, x1 - x0)), math.hypot(x1 - x0, y1 - y0)


def _breadth(corners: Sequence[tuple[float, float]], height: float) -> float:
    level = [x for x, y in corners if abs(y - height) < _SAME]
    return max(level) - min(level)


def _turned(cut: Polygon, shape: Polygon, turn_deg: float, *, along_grain: bool) -> _TurnedPiece:
    """Return `cut` turned, then seen with the strip level, the bounds of `shape` at (0, 0)."""
    turn = (turn_deg + (0.0 if along_grain else 90.0)) % 360
    hull: Polygon = rotate(_hull(shape), turn, origin=(0, 0))
    west, south, _, _ = hull.bounds
    piece = translate(rotate(cut, turn, origin=(0, 0)), -west, -south)
    return _TurnedPiece(piece, tuple((x - west, y - south) for x, y in _corners(hull)[:-1]))


def _corners(outline: Polygon) -> list[tuple[float, float]]:
    """Return the corners of its convex hull counter-clockwise, the first one again at the end."""
    return [(x, y) for x, y, *_ in _hull(outline).exterior.coords]


def _hull(outline: Polygon) -> Polygon:
    hull = outline.convex_hull
    assert isinstance(hull, Polygon)  # an outline with area has one
    return orient(hull)
