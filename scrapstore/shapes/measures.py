"""The sizes to cut, by name: exact, and rounded up to a mark of the ruler."""

import math
from dataclasses import dataclass

from scrapstore.errors import ShapeError
from scrapstore.shapes.catalog import KINDS
from scrapstore.shapes.cutting import Tips, cut_shape, raw_edge_lengths
from scrapstore.shapes.outline import EdgeLength, Reach, Shape, corners_of
from scrapstore.units import round_up_to_mark

__all__ = ["CutMeasure", "cut_measures"]


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
