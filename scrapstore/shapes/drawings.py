"""The corners of each trade shape from its finished sizes, counter-clockwise, inches, y up."""

import math
from collections.abc import Callable

from scrapstore.errors import ShapeError
from scrapstore.shapes.outline import Corner

Draw = Callable[..., list[Corner]]
"""Takes one of the shape's sets of sizes by name and returns its corners."""

_ROOT_3 = math.sqrt(3)


def square(*, side: float) -> list[Corner]:
    """Lower left corner at the origin."""
    return rectangle(width=side, height=side)


def rectangle(*, width: float, height: float) -> list[Corner]:
    """Lower left corner at the origin, width level."""
    return [(0, 0), (width, 0), (width, height), (0, height)]


def diamond_60(*, side: float | None = None, height: float | None = None) -> list[Corner]:
    """Sharp corner at the origin, two sides level."""
    return _diamond(60, side, height)


def diamond_45(*, side: float | None = None, height: float | None = None) -> list[Corner]:
    """Sharp corner at the origin, two sides level."""
    return _diamond(45, side, height)


def _diamond(angle_deg: float, side: float | None, height: float | None) -> list[Corner]:
    sin, cos = math.sin(math.radians(angle_deg)), math.cos(math.radians(angle_deg))
    if side is None:
        side = _given(height) / sin
    rise = side * sin if height is None else height
    return [(0, 0), (side, 0), (side + side * cos, rise), (side * cos, rise)]


def equilateral_triangle(*, side: float | None = None, height: float | None = None) -> list[Corner]:
    """Level base, point up."""
    side, height = _side_and_height(side, height)
    return [(0, 0), (side, 0), (side / 2, height)]


def triangle_120(
    *, side: float | None = None, long_side: float | None = None, height: float | None = None
) -> list[Corner]:
    """Longest side level, point up: half of a 60° diamond along its longer diagonal."""
    if long_side is None:
        long_side = side * _ROOT_3 if side is not None else _given(height) * 2 * _ROOT_3
    rise = long_side / (2 * _ROOT_3) if height is None else height
    return [(0, 0), (long_side, 0), (long_side / 2, rise)]


def half_triangle_left(*, side: float | None = None, height: float | None = None) -> list[Corner]:
    """Left half of an equilateral triangle that stands on its base: right angle lower right."""
    side, height = _side_and_height(side, height)
    return [(0, 0), (side / 2, 0), (side / 2, height)]


def half_triangle_right(*, side: float | None = None, height: float | None = None) -> list[Corner]:
    """Right half of an equilateral triangle that stands on its base: right angle lower left."""
    side, height = _side_and_height(side, height)
    # The corners of the left one, mirrored: edge i there is edge 2 - i here.
    return [(side / 2, 0), (0, height), (0, 0)]


def half_square_triangle(*, short_side: float) -> list[Corner]:
    """Right angle at the origin, short sides level and upright."""
    return [(0, 0), (short_side, 0), (0, short_side)]


def quarter_square_triangle(*, long_side: float) -> list[Corner]:
    """Long side level, point up."""
    return [(0, 0), (long_side, 0), (long_side / 2, long_side / 2)]


def hexagon(*, side: float | None = None, height: float | None = None) -> list[Corner]:
    """Two sides level."""
    if side is None:
        side = _given(height) / _ROOT_3
    rise = (side * _ROOT_3 if height is None else height) / 2
    half = side / 2
    return [(-half, -rise), (half, -rise), (side, 0), (half, rise), (-half, rise), (-side, 0)]


def half_hexagon(*, side: float | None = None, height: float | None = None) -> list[Corner]:
    """Long side level at the bottom."""
    side, height = _side_and_height(side, height)
    return [(0, 0), (2 * side, 0), (1.5 * side, height), (side / 2, height)]


def trapezoid(*, long_side: float, short_side: float, height: float) -> list[Corner]:
    """Longer side level at the bottom, the shorter centred above it."""
    if short_side >= long_side:
        msg = f"trapezoid: short_side {short_side} is not shorter than long_side {long_side}"
        raise ShapeError(f"{msg}; for equal sides take a rectangle")
    inset = (long_side - short_side) / 2
    return [(0, 0), (long_side, 0), (long_side - inset, height), (inset, height)]


def kite(
    *,
    long_side: float | None = None,
    short_side: float | None = None,
    length: float | None = None,
    width: float | None = None,
    shoulder: float | None = None,
) -> list[Corner]:
    """Sharper point at the origin, middle line upright; one size alone: 60°, 90°, 120°, 90°."""
    if width is None or shoulder is None:
        # Half of this kite is a 30-60-90 triangle with the middle line as its longest side.
        if short_side is not None:
            width, length = short_side * _ROOT_3, short_side * 2
        elif long_side is not None:
            width, length = long_side, long_side * 2 / _ROOT_3
        else:
            width = _given(length) * _ROOT_3 / 2
        shoulder = width * _ROOT_3 / 2
    length = _given(length)
    if shoulder >= length:
        msg = f"kite: the shoulder, {shoulder} in from the point, lies beyond its length {length}"
        raise ShapeError(f"{msg}; give a shoulder shorter than the length")
    return [(0, 0), (width / 2, shoulder), (0, length), (-width / 2, shoulder)]


def no_drawing(**_sizes: float) -> list[Corner]:
    """No corners: a polygon brings its own."""
    return []


def _side_and_height(side: float | None, height: float | None) -> tuple[float, float]:
    """Return both sizes of an equilateral triangle from the one that is given."""
    if side is None:
        side = _given(height) * 2 / _ROOT_3
    return side, side * _ROOT_3 / 2 if height is None else height


def _given(size: float | None) -> float:
    assert size is not None  # the catalogue admits only whole sets of sizes
    return size
