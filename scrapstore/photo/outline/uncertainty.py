"""How wrong a measured outline may be, in inches, stated so that it holds 95 times in 100."""

from typing import Final

import numpy as np

from scrapstore.photo.arrays import Floats
from scrapstore.photo.outline import tuning
from scrapstore.photo.scale import CameraPose, View, rotated

__all__ = [
    "edge_uncertainty",
    "geometry_uncertainty",
    "outline_uncertainty",
    "visibility_uncertainty",
]


# Set on rendered photos so that the sum holds for 95 scraps of 100; the benchmark
# tests/benchmarks/photo_measure.py shows for how many it does.
_TWO_SIGMA: Final = 1.96


def outline_uncertainty(
    outline: Floats, pose: CameraPose, pixels_per_inch: float, guess: float
) -> float:
    """Return the outline's uncertainty: camera and squares, and the edge itself.

    `outline`: n × 2 table inches; `guess`: as `visibility_uncertainty` returns it.
    """
    edge = edge_uncertainty(pixels_per_inch, guess)
    return float(np.hypot(geometry_uncertainty(outline, pose), edge))


def geometry_uncertainty(outline: Floats, pose: CameraPose) -> float:
    """Return by how much camera and squares may have bent or stretched the outline, inches.

    Each principal error of the solution moves the points; what is merely a shift or a turn of the
    whole scrap does not matter and is taken out first. The rest adds up in squares.
    """
    imaged = pose.view.to_image(outline)
    total = np.zeros(len(outline))
    for view in pose.perturbed_views():
        total += np.sum(_without_motion(outline, view, imaged) ** 2, axis=1)
    return float(_TWO_SIGMA * np.sqrt(total.max()))


def _without_motion(outline: Floats, view: View, imaged: Floats) -> Floats:
    moved = view.to_table(imaged)
    moved = np.where(np.isfinite(moved), moved, outline)
    a, b = outline - outline.mean(axis=0), moved - moved.mean(axis=0)
    # The turn that brings b nearest to a (Procrustes in the plane).
    turn = np.arctan2(np.sum(b[:, 0] * a[:, 1] - b[:, 1] * a[:, 0]), np.sum(a * b))
    return np.asarray(rotated(b, turn) - a)


def edge_uncertainty(pixels_per_inch: float, guess: float) -> float:
    """Return how far the edge itself may be from where it was seen, inches."""
    return float(np.sqrt(tuning.CLOTH**2 + (tuning.PIXELS / pixels_per_inch) ** 2 + guess**2))


def visibility_uncertainty(contrast: Floats, background_share: float, widest_patch: float) -> float:
    """Return the part of an edge's uncertainty, inches, that comes from hardly seeing it.

    `contrast`: how plain the edge is along it, 0 to 1; `background_share`: share of the scrap that
    looks like the background; `widest_patch`: width of the widest such patch, inches, as no more is
    bitten off.
    """
    faint = max(float(np.mean(contrast < tuning.FAINT)) - tuning.FEW_FAINT, 0.0)
    bitten = min(tuning.PER_MIXED * max(background_share - tuning.FEW_MIXED, 0.0), widest_patch)
    return float(np.hypot(tuning.PER_FAINT * faint, bitten))
