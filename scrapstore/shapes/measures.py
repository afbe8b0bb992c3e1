"""The sizes to cut, by name: exact, and rounded up to a mark of the ruler."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from shapely import Polygon

from scrapstore.errors import ShapeError
from scrapstore.shapes.catalog import KINDS
from scrapstore.shapes.cutting import Tips, cut_shape, raw_edge_lengths
from scrapstore.shapes.outline import EdgeLength, Reach, Shape, corners_of
from scrapstore.units import round_up_to_mark

__all__ = ["CutMeasure", "bounding_sides", "cut_measures", "sides_as_drawn"]

Bounds = tuple[float, float, float, float]

_EQUAL: Final = 0.01
"""Part by which the areas of two rectangles may differ and count as equal."""
_SAME_WAY: Final = 0.1
"""Sine of the angle by which two edges may differ and count as of one direction."""


@dataclass(frozen=True, slots=True)
class CutMeasure:
    """One size of a cut piece, inches: `exact`, and `on_ruler` rounded **up** to a mark."""

    name: str
    finished: float
    exact: float
    on_ruler: float


def cut_measures(
    shape: Shape, seam_allowance: float, step: float = 1 / 8, *, tips: Tips = "pointed"
) -> tuple[CutMeasure, ...]:
    """Return the cut sizes of `shape`, the size it is mostly cut by first.

    `step` is the distance between ruler marks in inches. With trimmed tips, heights and sides are
    those of the trimmed piece. A polygon by corners has its sides, and the width and height of the
    upright rectangle round it.

    Raises ShapeError as `cut_outline` does, and for a step that is not above zero.

    >>> from scrapstore.shapes import make_shape
    >>> cut_measures(make_shape("half-square-triangle", short_side=3), 0.25)[0].on_ruler
    3.875
    """
    if not (math.isfinite(step) and step > 0):
        raise ShapeError(f"ruler step: {step} in will not do; give for example 0.125")
    cut = cut_shape(shape, seam_allowance, tips)
    raw = raw_edge_lengths(shape, seam_allowance, tips)
    measured = KINDS[shape.kind].measured or _polygon_measures(shape)
    result = []
    for name, how in measured.items():
        exact = raw[how.edge] if isinstance(how, EdgeLength) else how.of(cut)
        on_ruler = round_up_to_mark(exact, step)
        result.append(CutMeasure(name, shape.measures[name], exact, on_ruler))
    return tuple(result)


def _polygon_measures(shape: Shape) -> dict[str, EdgeLength | Reach]:
    sides = {f"side {i + 1}": EdgeLength(i) for i in range(len(corners_of(shape.outline)))}
    return {"width": Reach(0), "height": Reach(90), **sides}


def bounding_sides(outline: Polygon) -> tuple[float, float]:
    """Return the long and the short side of the smallest rectangle round `outline`, in inches.

    The smallest rectangle has a side along an edge of the convex hull (Freeman and Shapira,
    "Determining the minimum-area encasing rectangle for an arbitrary closed curve", 1975). Of
    rectangles of nearly equal area, such as the two round a right triangle, the squarest counts, so
    that a measured triangle and the same one typed have the same size.
    """
    hull = shapely.get_coordinates(outline.convex_hull)[:-1]
    edges = np.roll(hull, -1, axis=0) - hull
    lengths = np.hypot(edges[:, 0], edges[:, 1])
    along = edges[lengths > 0] / lengths[lengths > 0, None]
    across = np.column_stack([-along[:, 1], along[:, 0]])
    sides = np.column_stack([np.ptp(hull @ along.T, axis=0), np.ptp(hull @ across.T, axis=0)])
    sides.sort(axis=1)
    areas = sides[:, 0] * sides[:, 1]
    equal = areas <= areas.min() * (1 + _EQUAL)
    squarest = along[np.argmax(np.where(equal, sides[:, 0], 0.0))]
    # Edges of a measured outline that nearly agree are one direction; there the smallest counts.
    off = np.abs(along @ squarest)
    same = np.minimum(off, np.sqrt(np.maximum(1 - off**2, 0))) < _SAME_WAY
    short, long = sides[np.argmin(np.where(same, areas, np.inf))]
    # A side that is on a ruler mark but for the rotation's rounding shall pass a filter on it.
    return round(float(long), 9), round(float(short), 9)


def sides_as_drawn(long_side: float, short_side: float, bounds: Bounds) -> tuple[float, float]:
    """Return the two sides in the order in which they are drawn and typed: across, then up.

    `bounds` (least x, least y, greatest x, greatest y) are those of the outline in its own frame.

    >>> sides_as_drawn(9, 6, (0, 0, 9, 6)), sides_as_drawn(9, 6, (0, 0, 6, 9))
    ((9, 6), (6, 9))
    """
    low_x, low_y, high_x, high_y = bounds
    upright = high_y - low_y > high_x - low_x
    return (short_side, long_side) if upright else (long_side, short_side)
