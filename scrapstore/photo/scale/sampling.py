"""Reading a picture between its pixels, making it smaller, and from sRGB values to light."""

from typing import Final, TypeVar

import cv2
import numpy as np
from numpy.typing import NDArray

from scrapstore.photo.arrays import Bytes, Field

__all__ = ["LIGHT", "area_resize", "sample"]

_Number = TypeVar("_Number", np.uint8, np.float32)

_CODES: Final = np.arange(256) / 255
LIGHT: Final[Field] = np.where(
    np.arange(256) <= 10, _CODES / 12.92, ((_CODES + 0.055) / 1.055) ** 2.4
).astype(np.float32)
"""sRGB value 0..255 → amount of light 0..1 (IEC 61966-2-1)."""


def sample(image: NDArray[_Number], places: NDArray[np.floating]) -> NDArray[_Number]:
    """Return the image's values at `places` (rows × columns × 2, pixels x, y), bilinear.

    Outside the picture its nearest edge pixel counts. Whole numbers are pixel centres.
    """
    grid = np.ascontiguousarray(places, dtype=np.float32)
    found = cv2.remap(
        image, grid[..., 0], grid[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
    )
    return np.asarray(found, dtype=image.dtype)


def area_resize(image: Bytes, width: int, height: int) -> Bytes:
    """Return the image reduced to width × height by averaging."""
    if image.shape[:2] == (height, width):
        return image
    return np.asarray(cv2.resize(image, (width, height), interpolation=cv2.INTER_AREA), np.uint8)
