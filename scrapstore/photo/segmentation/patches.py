"""Patches of the picture: what is to be seen at a place and round it, in a few numbers."""

from dataclasses import dataclass

import cv2
import numpy as np

from scrapstore.photo.arrays import Field, Mask
from scrapstore.photo.segmentation import tuning
from scrapstore.photo.segmentation.colour_model import weighted

__all__ = ["Patches", "patches_of"]


@dataclass(frozen=True, eq=False)
class Patches:
    """A grid of patches.

    `values`: rows × columns × 15, comparable by their distance; `step`: pixels of the picture from
    one patch to the next; `inches`: the same on the table.
    """

    values: Field
    step: int
    inches: float

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns of the grid."""
        return self.values.shape[0], self.values.shape[1]

    def at(self, mask: Mask) -> Mask:
        """Return a mask of the picture at the patches' middles."""
        rows, columns = self.shape
        half = self.step // 2
        return np.asarray(mask[half :: self.step, half :: self.step][:rows, :columns])

    def over(self, grid: Field, shape: tuple[int, ...]) -> Field:
        """Return what the grid's places have, over all pixels of the picture between them."""
        middle = (self.step - 1) / 2
        grow = np.array([[self.step, 0, middle], [0, self.step, middle]], np.float32)
        spread = cv2.warpAffine(
            grid.astype(np.float32), grow, (shape[1], shape[0]), flags=cv2.INTER_LINEAR,
            borderMode=cv2.BORDER_REPLICATE,
        )  # fmt: skip
        return np.asarray(spread, np.float32)


def patches_of(colours: Field, scale: float) -> Patches:
    """Return the patches of a picture: its colour, and their mean and spread in two circles.

    `colours`: rows × columns × 3, as `log_opponent` gives them, in even light; `scale`: pixels an
    inch.
    """
    colours = weighted(colours)
    step = max(1, round(tuning.PATCH_STEP * scale))
    rows, columns = (max(1, n // step) for n in colours.shape[:2])
    means, squares = (
        cv2.resize(
            each[: rows * step, : columns * step], (columns, rows), interpolation=cv2.INTER_AREA
        )
        for each in (colours, colours * colours)
    )
    half = step // 2
    parts = [cv2.GaussianBlur(colours, (0, 0), 1.0)[half::step, half::step][:rows, :columns]]
    for reach in tuning.PATCH_REACHES:
        mean, square = (
            cv2.GaussianBlur(each, (0, 0), reach * scale / step) for each in (means, squares)
        )
        parts += [mean, np.sqrt(np.maximum(square - mean * mean, 0))]
    return Patches(np.concatenate(parts, axis=2), step, step / scale)
