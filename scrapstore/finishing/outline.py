"""The trimmed outline of a top: its sides and corners, and where the corners lie."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from scrapstore.errors import ShapeError

__all__ = ["TopOutline", "hexagon", "measured_outline", "rectangle"]

_GAP: Final = 0.02
"""Share of the perimeter by which measured sides and corners may fail to close."""
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
