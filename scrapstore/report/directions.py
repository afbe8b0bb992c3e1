"""Where one thing lies from another, in words: above, left of, leaning right."""

import math
from typing import Final

from scrapstore.shapes import Line

__all__ = [
    "ADJECTIVES",
    "between",
    "corner_of",
    "from_line",
    "is_level",
    "is_upright",
    "leaning",
    "side",
    "side_on_cloth",
]

Way = tuple[float, float]

ADJECTIVES: Final = {"above": "upper", "below": "lower", "right of": "right", "left of": "left"}
"""The edge of a thing on that side of it."""

_UNSEEN: Final = 1e-3  # sine of an angle that nobody sees


def side(way: Way) -> str:
    """Return on which side of a thing one is that lies `way` from it."""
    x, y = way
    if abs(y) >= abs(x):
        return "above" if y > 0 else "below"
    return "right of" if x > 0 else "left of"


def side_on_cloth(way: Way, outwards: Way) -> str:
    """Return on which side of a corner one is that lies `way` from it, where there is cloth.

    `outwards` is the way to the corner from the middle of its cloth: there is none below a lower
    corner, for example, and what lies below and to the right of it is right of it on the cloth.
    """
    x, y = (0.0 if one * out > 0 else one for one, out in zip(way, outwards, strict=True))
    return side((x, y) if x or y else way)


def corner_of(way: Way) -> str:
    """Return the corner of a thing that lies `way` from its middle: ``lower left``."""
    x, y = way
    return f"{'upper' if y > 0 else 'lower'} {'right' if x > 0 else 'left'}"


def from_line(line: Line, point: Way) -> Way:
    """Return the way from a line to a point, square to the line."""
    (x0, y0), (x1, y1) = line
    dx, dy = x1 - x0, y1 - y0
    off = ((point[0] - x0) * -dy + (point[1] - y0) * dx) / (dx * dx + dy * dy)
    return -dy * off, dx * off


def between(base: Line, line: Line) -> Way:
    """Return the way from one line to another that is parallel to it."""
    (x0, y0), (x1, y1) = line
    return from_line(base, ((x0 + x1) / 2, (y0 + y1) / 2))


def is_level(line: Line) -> bool:
    """Return whether a line runs from left to right."""
    (x0, y0), (x1, y1) = line
    return abs(y1 - y0) < _UNSEEN * math.hypot(x1 - x0, y1 - y0)


def is_upright(line: Line) -> bool:
    """Return whether a line runs from below to above."""
    (x0, y0), (x1, y1) = line
    return abs(x1 - x0) < _UNSEEN * math.hypot(x1 - x0, y1 - y0)


def leaning(line: Line) -> str:
    """Return ``right`` or ``left`` for a line that leans so as it rises, else nothing."""
    if is_level(line) or is_upright(line):
        return ""
    (x0, y0), (x1, y1) = line
    return "right" if (x1 - x0) * (y1 - y0) > 0 else "left"
