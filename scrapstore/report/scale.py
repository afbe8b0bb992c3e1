"""One scale for the drawings of a plan, so that a piece looks the same size on every sheet.

Only a scrap so large that it would make all others too small to read has one of its own.
"""

import math
from collections.abc import Sequence
from fractions import Fraction
from typing import Final

import shapely

from scrapstore.report.forms import CuttingReport

__all__ = ["common_scale", "drawing_scales", "report_scales", "row_width", "scale_text"]

_WIDEST: Final = 6.7
"""Inches of paper for a drawing without its rulers, within the margins of A4 and of Letter."""
_TALLEST: Final = 7.5  # inches of paper, with its words a page
_HALF_PAGE: Final = 2.7  # inches of paper: two scraps a page, with their words
_MOST_TALL: Final = 0.1  # of the drawings; so many may need more than half a page
_READABLE: Final = Fraction(1, 6)
"""At this scale the labels of usual pieces have room; for a smaller one, look who is to blame."""
_LABEL: Final = 8.5  # points; radius of the least piece whose label can be read
_MOST_LARGE: Final = 0.2  # of the drawings, and one at least, may have a scale of their own
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
        high = sum(_height(*size, scale) > _HALF_PAGE for size in sizes)
        if high <= _MOST_TALL * len(sizes) and all(_fits_page(*size, scale) for size in sizes):
            return scale
    return _SCALES[-1]


def drawing_scales(sizes: Sequence[tuple[float, float]]) -> tuple[Fraction, tuple[Fraction, ...]]:
    """Return the common scale of drawings of these widths and heights (inches), and each one's.

    They differ only where few large ones would make the common scale too small to read: each of
    those has the largest scale at which it fits a page.
    """
    scale = common_scale(sizes)
    alone = [common_scale([size]) for size in sizes]
    order = sorted(range(len(sizes)), key=lambda at: (alone[at], at))
    for count in range(1, min(len(sizes), max(2, math.floor(_MOST_LARGE * len(sizes)) + 1))):
        if scale >= _READABLE:
            break
        scale = max(scale, common_scale([sizes[at] for at in order[count:]]))
    return scale, tuple(min(scale, _page_scale(size)) for size in sizes)


def report_scales(report: CuttingReport) -> tuple[Fraction, tuple[Fraction, ...]]:
    """Return the common scale, and that of each scrap's drawing.

    Where pieces are small it is larger, as far as a page has room, so that their labels have some.
    """
    plans = [sheet.cutting for sheet in report.sheets] or [
        strip.cutting for role in report.short for one in role.sources for strip in one.strips
    ]
    bounds = [plan.outline.bounds for plan in plans]
    sizes = [(right - left, top - low) for left, low, right, top in bounds]
    common, own = drawing_scales(sizes)
    outlines = {piece.outline for plan in plans for piece in plan.pieces}
    least = min(
        (shapely.maximum_inscribed_circle(one, tolerance=0.05).length for one in outlines),
        default=1.0,
    )
    for scale in reversed(_SCALES):
        if common < scale <= _READABLE and least * float(common) < _LABEL / 72:
            fit = [_fits_page(*size, scale) for size, now in zip(sizes, own, strict=True)
                   if now == common]  # fmt: skip
            common = scale if all(fit) else common
    own = tuple(min(common, _page_scale(size)) for size in sizes)
    return common, own[: len(report.sheets)]


def _page_scale(size: tuple[float, float]) -> Fraction:
    """Return the largest scale at which a drawing fits a page by itself."""
    return next((scale for scale in _SCALES if _fits_page(*size, scale)), _SCALES[-1])


def _height(wide: float, tall: float, scale: Fraction) -> float:
    return tall * float(scale) * math.ceil(wide / row_width(wide, tall, scale))


def _fits_page(wide: float, tall: float, scale: Fraction) -> bool:
    if _is_long(wide, tall):
        fits = wide <= _MOST_ROWS * row_width(wide, tall, scale)
    else:
        fits = wide * scale <= _WIDEST
    return fits and _height(wide, tall, scale) <= _TALLEST


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
