"""Which places of a top come to lie on one another when it is turned or mirrored."""

import math
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from scrapstore.designs.arranging.forms import Job, TopPlaces

__all__ = ["mirror_pairs", "turns_of"]

_SAME_POINT: Final = 1e-4  # inches
_TURNS_DEG: Final = tuple(sorted({*range(30, 360, 30), *range(45, 360, 45)}))


def mirror_pairs(top: TopPlaces, angle_deg: float) -> list[tuple[int, ...]] | None:
    """Return places with those that they mirror about a line through the middle, or None."""
    double = math.radians(2 * angle_deg)
    c, s = math.cos(double), math.sin(double)
    partner = _images(top, np.array([[c, s], [s, -c]]))
    if partner is None:
        return None
    pairs: list[tuple[int, ...]] = [
        (i, j) if i != j else (i,) for i, j in enumerate(partner) if i <= j
    ]
    return pairs if len(pairs) < len(partner) else None


def turns_of(job: Job) -> list[list[int]]:
    """Return, for each turn that brings the top onto itself, where each place comes to lie.

    Only turns are meant after which every place may have the same cloths as before.
    """
    found = []
    for angle in _TURNS_DEG:
        turn = math.radians(angle)
        c, s = math.cos(turn), math.sin(turn)
        images = _images(job.top, np.array([[c, s], [-s, c]]))
        if images is not None and all(
            job.allowed[i] == job.allowed[j] for i, j in enumerate(images)
        ):
            found.append(images)
    return found


def _images(top: TopPlaces, matrix: NDArray[np.float64]) -> list[int] | None:
    """Return the place on which each comes to lie by a linear map; None where one finds none."""
    outlines = np.array([place.outline for place in top.places], dtype=object)
    centres = shapely.get_coordinates(shapely.centroid(outlines))
    moved = centres @ matrix
    far = np.abs(moved[:, None] - centres[None, :]).max(axis=2)
    images = far.argmin(axis=1)
    area = shapely.area(outlines)
    rows = np.arange(len(images))
    if (far[rows, images] > _SAME_POINT).any() or len(set(images.tolist())) < len(rows):
        return None
    if (np.abs(area - area[images]) > _SAME_POINT).any():
        return None
    return [int(image) for image in images]
