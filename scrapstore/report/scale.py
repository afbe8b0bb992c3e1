"""One scale for all drawings of a plan, so that a piece looks the same size on every sheet."""

import math
from collections.abc import Sequence
from fractions import Fraction
from typing import Final

__all__ = ["common_scale", "row_width", "scale_text"]

_WIDEST: Final = 6.7
"""Inches of paper for a drawing without its rulers, within the margins of A4 and of Letter."""
_TALLEST: Final = 7.5  # inches of paper, with its words a page
_HALF_PAGE: Final = 2.7  # inches of paper: two scraps a page, with their words
_MOST_TALL: Final = 0.1  # of the drawings; so many may need more than half a page
_LONG: Final = 20.0  # inches of cloth; what is longer, and four times as long as wide,
_SLIM: Final = 4.0  # may be drawn in several rows
_MOST_ROWS: Final = 3
_SCALES: Final = tuple(
    1 / Fraction(n)
    for n in ("2", "5/2", "3", "4", "5", "6", "8", "10", "12", "16", "20", "25", "30", "40", "50")
)


def common_scale(sizes: Sequence[tuple[float, float]]) -> Fraction:
    """Return the scale for drawings of cloth of these widths and heights (inches): 1/3 is a third.

    The largest of some round ones at which every drawing fits a page, and most fit half of one.
    """
    for scale in _SCALES:
        heights = [
            tall * scale * math.ceil(wide / row_width(wide, tall, scale)) for wide, tall in sizes
        ]
        fits = all(
            wide <= _MOST_ROWS * row_width(wide, tall, scale)
            if _is_long(wide, tall)
            else wide * scale <= _WIDEST
            for wide, tall in sizes
        )
        high = sum(height > _HALF_PAGE for height in heights)
        if fits and max(heights, default=0) <= _TALLEST and high <= _MOST_TALL * len(sizes):
            return scale
    return _SCALES[-1]


def row_width(wide: float, tall: float, scale: Fraction) -> float:
    """Return how many inches of cloth a row of the drawing shows: all of it, where that fits."""
    most = _WIDEST / float(scale)
    if wide <= most or not _is_long(wide, tall):
        return wide
    # Whole inches, so that a row begins at a figure of its ruler; and rows of about one length.
    return math.ceil(wide / math.ceil(wide / math.floor(most)))


def _is_long(wide: float, tall: float) -> bool:
    return wide > _LONG and wide > _SLIM * tall


def scale_text(scale: Fraction) -> str:
    """Return the scale in words.

    >>> scale_text(Fraction(1, 3)), scale_text(Fraction(2, 5))
    ('1/3 of full size', '2/5 of full size')
    """
    return f"{scale} of full size"
