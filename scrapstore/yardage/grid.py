"""How many rectangles a rectangle gives, cut in a grid of strips."""

import math

from scrapstore.errors import ShapeError

__all__ = ["grid_count", "squares_from", "times"]

_SLACK = 1e-9


def times(length: float, part: float) -> int:
    """Return how many times `part` goes into `length`; a shortfall of rounding is forgiven."""
    return max(0, math.floor(length / part + _SLACK))


def grid_count(width: float, length: float, piece_width: float, piece_length: float) -> int:
    """Return how many pieces a cloth of `width` × `length` gives, none of them turned.

    Inches throughout, cut sizes. Raises ShapeError for a piece without size and for a cloth of
    less than none.
    """
    for name, value in {"width": piece_width, "length": piece_length}.items():
        if not (math.isfinite(value) and value > 0):
            raise ShapeError(f"piece {name}: {value} in will not do; give a cut size, such as 2.5")
    for name, value in {"width": width, "length": length}.items():
        if not (math.isfinite(value) and value >= 0):
            raise ShapeError(f"cloth {name}: {value} in will not do; give inches, such as 18")
    return times(width, piece_width) * times(length, piece_length)


def squares_from(width: float, length: float, side: float) -> int:
    """Return how many squares of cut size `side` a cloth of `width` × `length` gives, in inches.

    >>> squares_from(22, 18, 2), squares_from(44, 36, 2.875)
    (99, 180)
    """
    return grid_count(width, length, side, side)
