"""The table seen straight from above, at a working resolution."""

from dataclasses import dataclass

import cv2
import numpy as np

from scrapstore.photo.arrays import Bytes, Floats, Mask
from scrapstore.photo.scale import tuning
from scrapstore.photo.scale.lens import View
from scrapstore.photo.scale.sampling import area_resize, sample

__all__ = ["RectifiedImage", "rectify"]


@dataclass(frozen=True, eq=False)
class RectifiedImage:
    """The table from above.

    `image`: rows × columns × 3, RGB; row 0 is the far (upper) edge. `scale`: pixels an inch.
    `left`, `top`: table inches of the upper left pixel's centre. `seen`: which pixels the photo
    shows.
    """

    image: Bytes
    seen: Mask
    scale: float
    left: float
    top: float

    def to_pixels(self, table: Floats) -> Floats:
        """Return pixel positions (n × 2: column, row) of points on the table (n × 2, inches)."""
        return np.column_stack(
            [(table[:, 0] - self.left) * self.scale, (self.top - table[:, 1]) * self.scale]
        )

    def to_table(self, pixels: Floats) -> Floats:
        """Return the table position (n × 2, inches) of pixel positions (n × 2: column, row)."""
        return np.column_stack(
            [self.left + pixels[:, 0] / self.scale, self.top - pixels[:, 1] / self.scale]
        )


def rectify(pixels: Bytes, view: View, middle: Floats) -> RectifiedImage:
    """Return the table as seen from above.

    `middle`: a point on the table, inches, where the squares lie; what is farther than 45 in from
    it, or shown at less than a fifth of its resolution, is left out.
    """
    height, width = pixels.shape[:2]
    native = float(view.pixels_per_inch(middle[None])[0])
    spread = np.linspace(0, 1, 33)
    rim = np.concatenate(
        [
            np.column_stack([spread * (width - 1), np.full(33, edge)]) for edge in (0, height - 1)
        ] + [np.column_stack([np.full(33, edge), spread * (height - 1)]) for edge in (0, width - 1)]
    )  # fmt: skip
    table = view.to_table(rim)
    table = np.where(np.isfinite(table), table, middle + tuning.FARTHEST)
    low = np.maximum(table.min(axis=0), middle - tuning.FARTHEST)
    high = np.minimum(table.max(axis=0), middle + tuning.FARTHEST)
    size = np.maximum(high - low, 0.5)
    scale = float(min(tuning.FINEST, native, np.sqrt(tuning.MOST_PIXELS / (size[0] * size[1]))))
    columns, rows = int(size[0] * scale) + 1, int(size[1] * scale) + 1

    # The mapping is smooth: it is computed at nodes and interpolated between them. A node more on
    # every side keeps the interpolation from being clamped at the rim.
    across = (np.arange(-1, columns // tuning.NODE + 3) + 0.5) * tuning.NODE - 0.5
    down = (np.arange(-1, rows // tuning.NODE + 3) + 0.5) * tuning.NODE - 0.5
    nodes = np.stack(np.meshgrid(low[0] + across / scale, high[1] - down / scale), axis=-1)
    mapped = view.to_image(nodes.reshape(-1, 2)).reshape(nodes.shape)

    step = max(1, int(native / scale / tuning.OVERSAMPLED))
    reduced = area_resize(pixels, width // step, height // step)
    ratio = np.array([reduced.shape[1] / width, reduced.shape[0] / height])
    coarse = ((mapped + 0.5) * ratio - 0.5).astype(np.float32)
    full = cv2.resize(
        coarse, None, fx=tuning.NODE, fy=tuning.NODE, interpolation=cv2.INTER_LINEAR
    )[tuning.NODE : tuning.NODE + rows, tuning.NODE : tuning.NODE + columns]  # fmt: skip
    seen = (
        (full[..., 0] >= 0) & (full[..., 0] <= reduced.shape[1] - 1)
        & (full[..., 1] >= 0) & (full[..., 1] <= reduced.shape[0] - 1)
    )  # fmt: skip
    image = sample(reduced, full).astype(np.uint8)
    return RectifiedImage(image, seen, scale, float(low[0]), float(high[1]))
