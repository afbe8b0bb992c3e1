"""Rows of placed pieces: those that lie between the same two straight cuts."""

import numpy as np
from shapely import Polygon

__all__ = ["row_of"]

_SAME = 1e-6  # inches: two cuts this close are one


def row_of(outline: Polygon, axis: int) -> tuple[float, float] | None:
    """Return the two levels between which a piece lies, if a side of it runs along one of them.

    `axis` 0: level rows, between two values of y; 1: upright ones, between two values of x. A
    triangle has one such side; its tip touches the other cut of the row.
    """
    levels = np.asarray(outline.exterior.coords)[:, 1 - axis]
    low, high = float(levels.min()), float(levels.max())
    sides = levels[:-1][np.abs(np.diff(levels)) < _SAME]
    touches = np.any(np.abs(sides - low) < _SAME) or np.any(np.abs(sides - high) < _SAME)
    return (low, high) if touches else None
