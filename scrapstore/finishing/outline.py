"""The trimmed outline of a top: its sides and corners, and where the corners lie."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from scrapstore.errors import ShapeError

__all__ = ["TopOutline", "hexagon", "measured_outline", "rectangle"]

_GAP: Final = 0.02
"""Share of the perimeter by which measured sides and corners may fail to close."""
_SAME: Final = 1e-6
"""Inches or degrees that are nothing."""
_TURN: Final = 5.0
"""Degrees by which measured corners may miss their sum."""

Point = tuple[float, float]


@dataclass(frozen=True)
class TopOutline:
    """Sides in inches, clockwise as a binding is sewn, and the angle of the corner after each."""

    sides: tuple[float, ...]
    corners_deg: tuple[float, ...]

    @property
    def perimeter(self) -> float:
        """Inches."""
        return sum(self.sides)

    @property
    def is_rectangle(self) -> bool:
        """Whether its corners are square and its opposite sides alike."""
        square = len(self.sides) == 4 and all(abs(angle - 90) < _SAME for angle in self.corners_deg)
        return square and all(abs(self.sides[at] - self.sides[at + 2]) < _SAME for at in (0, 1))

    @property
    def measures(self) -> tuple[float, ...]:
        """What is measured of it: both sides of a rectangle, of others how deep it is.

        The depth is the greatest distance square to the first side: of a hexagon, between flats.
        """
        return self.sides[:2] if self.is_rectangle else (self.bounds[1],)

    @property
    def bounds(self) -> tuple[float, float]:
        """Width and depth of the box round it, its first side level."""
        across, down = zip(*self.corners(), strict=True)
        return max(across) - min(across), max(down) - min(down)

    def moved(self, by: float) -> "TopOutline":
        """Return the outline with each side moved outward by so much, inward where less than 0.

        Raises ShapeError where nothing is left of a side.
        """
        gains = [by / math.tan(math.radians(angle) / 2) for angle in self.corners_deg]
        sides = tuple(side + gains[at - 1] + gains[at] for at, side in enumerate(self.sides))
        if min(sides) <= 0:
            raise ShapeError("sides: the top is too small for its seams; check them")
        return TopOutline(sides, self.corners_deg)

    def with_measures(self, measures: Sequence[float]) -> "TopOutline":
        """Return the outline in the size that has these `measures`; ShapeError for others."""
        own = self.measures
        if len(measures) != len(own):
            what = "two, width and height" if len(own) == 2 else "one, square to side 1"
            raise ShapeError(f"measures: this top has {what}; give {what.partition(',')[0]}")
        if not all(0 < one < math.inf for one in measures):
            raise ShapeError("measures: each must be more than nothing")
        grown = [new / old for new, old in zip(measures, own, strict=True)]
        sides = tuple(side * grown[at % len(grown)] for at, side in enumerate(self.sides))
        return TopOutline(sides, self.corners_deg)

    def room_in(self, outer: "TopOutline") -> tuple[float, ...]:
        """Return how far `outer`, of the same corners, lies outside it, by measure.

        Less than 0 where it lies inside.
        """
        ways = zip(outer.measures, self.measures, self.moved(1.0).measures, strict=True)
        return tuple((out - own) / (wider - own) for out, own, wider in ways)

    def corners(self) -> tuple[Point, ...]:
        """Return where each side begins: the first at (0, 0), its side along +x, y down.

        What measures fail to close by is spread over all sides.
        """
        ends = [(0.0, 0.0)]
        heading = 0.0
        for side, angle in zip(self.sides, self.corners_deg, strict=True):
            x, y = ends[-1]
            ends.append(
                (
                    x + side * math.cos(math.radians(heading)),
                    y + side * math.sin(math.radians(heading)),
                )
            )
            heading += 180 - angle
        off_x, off_y = ends[-1]
        count = len(self.sides)
        return tuple(
            (x - off_x * at / count, y - off_y * at / count) for at, (x, y) in enumerate(ends[:-1])
        )

    def gap(self) -> float:
        """Return how far from its beginning the outline ends, in inches."""
        heading = x = y = 0.0
        for side, angle in zip(self.sides, self.corners_deg, strict=True):
            x += side * math.cos(math.radians(heading))
            y += side * math.sin(math.radians(heading))
            heading += 180 - angle
        return math.hypot(x, y)


def rectangle(width: float, height: float) -> TopOutline:
    """Return a square or a rectangle, its first side `width` long."""
    return TopOutline((width, height, width, height), (90.0,) * 4)


def hexagon(side: float) -> TopOutline:
    """Return a hexagon of six equal sides and corners."""
    return TopOutline((side,) * 6, (120.0,) * 6)


def measured_outline(
    sides: Sequence[float], corners_deg: Sequence[float] | None = None
) -> TopOutline:
    """Return a convex outline by its measured sides and corners; four corners may be left out.

    Raises ShapeError where corners are missing, do not add up, or the outline does not close.
    """
    count = len(sides)
    if count < 3:
        raise ShapeError("sides: give three or more, in order round the top")
    if corners_deg is None and count != 4:
        msg = f"corners: {count} sides need their corners too, such as --corners '120, 120, …'"
        raise ShapeError(msg)
    angles = tuple(corners_deg or (90.0,) * count)
    if len(angles) != count:
        raise ShapeError(f"corners: {count} sides have as many corners, not {len(angles)}")
    if not all(0 < angle < 180 for angle in angles):
        raise ShapeError("corners: each is between 0° and 180°; others than convex will not do")
    right = (count - 2) * 180
    if abs(sum(angles) - right) > _TURN:
        msg = f"corners: those of {count} sides add up to {right}°, not {sum(angles):g}°"
        raise ShapeError(f"{msg}; measure them again")
    outline = TopOutline(tuple(sides), angles)
    if outline.gap() > _GAP * outline.perimeter:
        msg = f"sides: with these corners the outline is open by {outline.gap():.2f} in"
        raise ShapeError(f"{msg}; measure again, and give corners in the order of the sides")
    return outline
