"""What is left of the strips of a binding: exactly what its plan cuts off them."""

import math
from collections.abc import Iterator, Sequence
from typing import Final

from scrapstore.finishing.forms import BindingPlan, PlacedStrip, StripEnds

__all__ = ["strip_rests"]

_NEAR: Final = 1e-9
_FINE: Final = 9  # decimals: no noise of rounding in what is kept


def strip_rests(
    plan: BindingPlan, strips: Sequence[StripEnds], smallest: float
) -> tuple[tuple[StripEnds, ...], ...]:
    """Return for each strip of a plan what is left of it, in the order of `plan.strips`.

    Each strip is first cut to the plan's width off its shorter edge, then at its start where that
    is recut, then at its end, which is where its spare length comes off. A rest narrower than
    `smallest`, or whose shorter edge is shorter, is waste and left out. Inches.
    """
    slopes = plan.slopes_deg
    found = []
    for at, (placed, off) in enumerate(zip(plan.strips, plan.taken_off, strict=True)):
        joins = slopes[at], slopes[(at + 1) % len(slopes)]
        cut_off = _cut_off(strips[placed.index], placed, joins, off, plan.width)
        found.append(
            tuple(
                rest._replace(length=round(rest.length, _FINE))
                for rest in cut_off
                if _least(rest) >= smallest - _NEAR
            )
        )
    return tuple(found)


def _cut_off(
    strip: StripEnds, placed: PlacedStrip, joins: tuple[float, float], off: float, width: float
) -> Iterator[StripEnds]:
    ends = (strip.start_slope_deg, strip.end_slope_deg)
    start, end = ends[::-1] if placed.turned else ends
    narrowed = strip.width - width
    if narrowed > _NEAR:
        # The middle of the shorter part lies inward, that of the longer outward.
        yield StripEnds(strip.length - width / 2 * _apart(start, end), narrowed, start, end)
        off += narrowed / 2 * _apart(start, end)
    if placed.recut_start_deg is not None:
        yield StripEnds(width / 2 * _apart(start, joins[0]), width, start, joins[0])
    if placed.recut_end_deg is not None:
        yield StripEnds(off + width / 2 * _apart(end, joins[1]), width, joins[1], end)
    elif off > _NEAR:
        yield StripEnds(off, width, end, end)


def _apart(one_deg: float, other_deg: float) -> float:
    return abs(math.tan(math.radians(one_deg)) - math.tan(math.radians(other_deg)))


def _least(rest: StripEnds) -> float:
    """Return the width or the shorter edge of a strip, whichever is less."""
    shorter = rest.length - rest.width / 2 * _apart(rest.start_slope_deg, rest.end_slope_deg)
    return min(rest.width, shorter)
