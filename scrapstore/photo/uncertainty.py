"""How wrong a measured outline may be, in inches, stated so that it holds 95 times in 100."""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from scrapstore.photo.lens import View
from scrapstore.photo.solve import Solution

__all__ = ["edge_uncertainty", "geometry_uncertainty", "outline_uncertainty"]

Floats = NDArray[np.float64]

# Set on rendered photos so that the sum holds for 95 scraps of 100; the benchmark
# tests/benchmarks/photo_measure.py shows for how many it does.
_CLOTH: Final = 0.09
"""Frayed edges and corners, threads, the thickness of cloth; inches."""
_PIXELS: Final = 1.5
_FAINT: Final = 0.1
"""Contrast below which the edge is guessed from what lies beside it."""
_GUESSED: Final = 1.2
"""Inches of error that a scrap with nothing but faint edges would have."""
_TWO_SIGMA: Final = 1.96


def outline_uncertainty(
    outline: Floats, solution: Solution, pixels_per_inch: float, contrast: Floats
) -> float:
    """Return the outline's uncertainty: camera and squares, and the edge itself.

    `outline`: n × 2 table inches. `contrast`: how plain the edge is along it, 0 to 1.
    """
    return float(
        np.hypot(
            geometry_uncertainty(outline, solution), edge_uncertainty(pixels_per_inch, contrast)
        )
    )


def geometry_uncertainty(outline: Floats, solution: Solution) -> float:
    """Return by how much camera and squares may have bent or stretched the outline, inches.

    Each principal error of the solution moves the points; what is merely a shift or a turn of the
    whole scrap does not matter and is taken out first. The rest adds up in squares.
    """
    imaged = solution.view.to_image(outline)
    total = np.zeros(len(outline))
    for view in solution.shifted_views():
        total += np.sum(_without_motion(outline, view, imaged) ** 2, axis=1)
    return float(_TWO_SIGMA * np.sqrt(total.max()))


def _without_motion(outline: Floats, view: View, imaged: Floats) -> Floats:
    moved = view.to_table(imaged)
    moved = np.where(np.isfinite(moved), moved, outline)
    a, b = outline - outline.mean(axis=0), moved - moved.mean(axis=0)
    # The turn that brings b nearest to a (Procrustes in the plane).
    turn = np.arctan2(np.sum(b[:, 0] * a[:, 1] - b[:, 1] * a[:, 0]), np.sum(a * b))
    cos, sin = np.cos(turn), np.sin(turn)
    return np.asarray(b @ np.array([[cos, sin], [-sin, cos]]) - a)


def edge_uncertainty(pixels_per_inch: float, contrast: Floats) -> float:
    """Return how far the edge itself may be from where it was seen, inches."""
    faint = float(np.mean(contrast < _FAINT))
    return float(np.sqrt(_CLOTH**2 + (_PIXELS / pixels_per_inch) ** 2 + (_GUESSED * faint) ** 2))
