"""Reading a picture between its pixels; the few OpenCV calls that need their types spelled out."""

from typing import Final, TypeVar

import cv2
import numpy as np
from numpy.typing import NDArray

__all__ = ["LIGHT", "area_resize", "disc_kernel", "large_parts", "sample"]

Bytes = NDArray[np.uint8]
Floats = NDArray[np.float64]
_Number = TypeVar("_Number", np.uint8, np.float32)

_CODES: Final = np.arange(256) / 255
LIGHT: Final[NDArray[np.float32]] = np.where(
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


def disc_kernel(reach: int) -> Bytes:
    """Return a disc that reaches so many pixels from its middle, to widen or shrink masks with."""
    size = 2 * reach + 1
    return np.asarray(cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size)), np.uint8)


def large_parts(mask: NDArray[np.bool_], area: float, width: float) -> NDArray[np.int32]:
    """Return labels 1… of the mask's parts that are larger than so many pixels and wide enough.

    `width`: of a disc that fits into the part, pixels. Parts that touch at a corner are one.
    """
    filled = mask.astype(np.uint8)
    count, labels, stats, _ = cv2.connectedComponentsWithStats(filled, connectivity=8)
    deep = cv2.distanceTransform(filled, cv2.DIST_L2, 3)
    new = np.zeros(count, np.int32)
    for number in range(1, count):
        large = stats[number, cv2.CC_STAT_AREA] > area
        if large and 2 * float(deep[labels == number].max()) > width:
            new[number] = int(new.max()) + 1
    return np.asarray(new[labels], np.int32)
