"""The rectified image in coarse cells, in which the background is fitted; distances of colours.

Colours are compared as logarithms of light, split into brightness and two tints: a shadow changes
the first and hardly the others, so brightness counts for less, the more so downwards.
"""

from typing import Final

import cv2
import numpy as np

from scrapstore.photo.arrays import Bytes, Field, Mask
from scrapstore.photo.scale import LIGHT, RectifiedImage
from scrapstore.photo.segmentation import tuning
from scrapstore.photo.segmentation.masks import eroded, resized_mask, square

__all__ = ["Cells", "connected_to", "light_of", "log_opponent", "normalised_distance"]


_LOG_LIGHT: Final = np.log(LIGHT + tuning.DARKEST_LIGHT).astype(np.float32)
# Brightness; red against green; both against blue. Rows are of length 1, 1, 1.
_OPPONENT: Final = np.array(
    [[1, 1, 1], [1, -1, 0], [1, 1, -2]], dtype=np.float32
) / np.sqrt(np.array([[3], [2], [6]], dtype=np.float32))  # fmt: skip


def log_opponent(pixels: Bytes) -> Field:
    """Return brightness and two tints, as logarithms of light, of RGB pixels (rows × columns)."""
    logs = cv2.LUT(pixels, _LOG_LIGHT)
    return np.asarray(cv2.transform(logs, _OPPONENT), dtype=np.float32)


def light_of(features: Field) -> Field:
    """Return the light (… × 3, RGB, 0 to 1) from which `log_opponent` made `features`."""
    return np.asarray(np.exp(features @ _OPPONENT) - tuning.DARKEST_LIGHT, dtype=np.float32)


class Cells:
    """The rectified image in coarse cells: mean features, and which cells may be looked at."""

    def __init__(self, rectified: RectifiedImage, printed: Mask) -> None:
        rows, columns = rectified.seen.shape
        step = max(1, round(tuning.CELL * rectified.scale))
        self.size = (columns, rows)
        self.shape = (max(1, rows // step), max(1, columns // step))
        # A second, wider median: grid lines must not cut the background into little squares.
        coarse = cv2.resize(rectified.image, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
        self.half = np.asarray(coarse, np.uint8)
        self.wide = log_opponent(np.asarray(cv2.medianBlur(coarse, tuning.COARSE_MEDIAN), np.uint8))
        self.features = self._reduce(self.wide)
        blank = (~rectified.seen | printed).astype(np.float32)
        self.usable: Mask = self._reduce(blank) < tuning.MOST_BLANK
        self.seen: Mask = self._reduce(rectified.seen.astype(np.float32)) > tuning.LEAST_SEEN
        self.inches = step / rectified.scale

    def _reduce(self, values: Field) -> Field:
        size = (self.shape[1], self.shape[0])
        return np.asarray(cv2.resize(values, size, interpolation=cv2.INTER_AREA), np.float32)

    def share(self, mask: Mask) -> Field:
        """Return the share of each cell that the rectified image's `mask` covers."""
        return self._reduce(mask.astype(np.float32))

    def enlarge(self, values: Field) -> Field:
        """Return values of the cells over the rectified image's pixels, running into each other."""
        return np.asarray(cv2.resize(values, self.size, interpolation=cv2.INTER_LINEAR), np.float32)

    def enlarge_mask(self, mask: Mask) -> Mask:
        """Return the rectified image's pixels whose cells are in `mask`."""
        return resized_mask(mask, self.size)

    def rim(self) -> Mask:
        """Cells along the border of what the photo shows."""
        reach = max(1, round(tuning.RIM / self.inches))
        return np.asarray(self.seen & ~eroded(np.pad(self.seen, 1), square(reach))[1:-1, 1:-1])


def normalised_distance(colours: Field, field: Field, deviation: Field) -> Field:
    """Return the distance of colours from the field, in standard deviations.

    Darker counts for less than lighter: shadow.
    """
    # One plane after the other: arithmetic over a last axis of three is slow.
    first, second, third = ((colours[..., k] - field[..., k]) / deviation[k] for k in range(3))
    far = np.maximum(first, -tuning.DARKER_WEIGHT * first)
    far *= far
    second *= second
    far += second
    third *= third
    far += third
    return np.asarray(np.sqrt(far, out=far), dtype=np.float32)


def connected_to(mask: Mask, seeds: Mask) -> Mask:
    """Return the connected parts of `mask` that contain a fair number of seeds."""
    count, labels = cv2.connectedComponents(mask.astype(np.uint8), connectivity=8)
    hits = np.bincount(labels[seeds & mask], minlength=count)
    keep = hits >= tuning.LEAST_SEEDS
    keep[0] = False
    return np.asarray(keep[labels])
