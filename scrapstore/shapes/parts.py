"""The parts that straight cuts leave: a cutting plan carried out, cut by cut."""

import math
from typing import Final

import numpy as np
import shapely
from shapely import Polygon

from scrapstore.errors import PlanError
from scrapstore.shapes.cuts import Cut, CuttingPlan, Line

__all__ = ["cut_parts"]

_FAR: Final = 1e5  # inches; a half plane as large as that ends beyond every cloth
_ON_LINE: Final = 1e-6  # inches


def cut_parts(plan: CuttingPlan) -> tuple[Polygon, ...]:
    """Return every part by its number, the outline first; parts that are cut on included.

    Raises PlanError for a cut that does not part its part into as many as it gives.
    """
    parts = {0: plan.outline}
    for number, cut in enumerate(plan.cuts, start=1):
        parts.update(zip(cut.gives, _parted(parts[cut.part], cut, number), strict=True))
    return tuple(parts[number] for number in range(len(parts)))


def _parted(part: Polygon, cut: Cut, number: int) -> list[Polygon]:
    """Return what a cut makes of `part`: left of the line first, each side in order along it."""
    (x0, y0), (x1, y1) = cut.line
    length = math.hypot(x1 - x0, y1 - y0)
    ux, uy = (x1 - x0) / length, (y1 - y0) / length
    ends = ((x0 - _FAR * ux, y0 - _FAR * uy), (x0 + _FAR * ux, y0 + _FAR * uy))
    found: list[tuple[bool, float, Polygon]] = []
    for right, side in ((False, 1), (True, -1)):
        nx, ny = -uy * side * _FAR, ux * side * _FAR
        half = Polygon([*ends, *((x + nx, y + ny) for x, y in reversed(ends))])
        found += [
            (right, _begins(one, cut.line), one)
            for one in shapely.get_parts(part.intersection(half)).tolist()
            if isinstance(one, Polygon) and one.area > 0
        ]
    # A line along an edge leaves slivers by rounding, which are no parts.
    found.sort(key=lambda one: -one[2].area)
    kept = sorted(found[: len(cut.gives)], key=lambda one: one[:2])
    if len(kept) < len(cut.gives):
        msg = f"cut {number} does not part the cloth it goes through; please report this"
        raise PlanError(msg)
    return [one[2] for one in kept]


def _begins(part: Polygon, line: Line) -> float:
    """Return where along the line the part first touches it."""
    start, end = np.asarray(line)
    along = (end - start) / np.hypot(*(end - start))
    corners = np.asarray(part.exterior.coords)[:, :2] - start
    on_line = np.abs(corners @ (-along[1], along[0])) < _ON_LINE
    return float((corners[on_line] if on_line.any() else corners).dot(along).min())
