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
        return np.asarray(mask[:: self.step, :: self.step][:rows, :columns])

    def over(self, grid: Field, shape: tuple[int, ...]) -> Field:
        """Return what the grid's places have, over all pixels of the picture between them."""
        grow = np.array([[self.step, 0, 0], [0, self.step, 0]], np.float32)
        size = (shape[1], shape[0])
        spread = cv2.warpAffine(
            grid.astype(np.float32), grow, size, flags=cv2.INTER_LINEAR,
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
    parts = [cv2.GaussianBlur(colours, (0, 0), 1.0)[::step, ::step]]
    for reach in tuning.PATCH_REACHES:
        mean, squares = (
            cv2.GaussianBlur(each, (0, 0), reach * scale)[::step, ::step]
            for each in (colours, colours * colours)
        )
        parts += [mean, np.sqrt(np.maximum(squares - mean * mean, 0))]
    return Patches(np.concatenate(parts, axis=2), step, step / scale)
