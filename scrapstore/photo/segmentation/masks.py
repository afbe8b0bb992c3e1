"""Masks of pixels: widened, shrunk, filled, taken to parts. OpenCV's calls with their types."""

from collections.abc import Iterable

import cv2
import numpy as np

from scrapstore.photo.arrays import Bytes, Field, Labels, Mask

__all__ = [
    "closed",
    "depth",
    "dilated",
    "disc",
    "eroded",
    "filled",
    "large_parts",
    "opened",
    "outer_ring",
    "resized_mask",
    "rings_of",
    "square",
]


def disc(reach: int) -> Bytes:
    """Return a disc that reaches so many pixels from its centre."""
    size = 2 * reach + 1
    return np.asarray(cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size)), np.uint8)


def square(reach: int) -> Bytes:
    """Return a square that reaches so many pixels from its centre."""
    return np.ones((2 * reach + 1, 2 * reach + 1), np.uint8)


def dilated(mask: Mask, kernel: Bytes) -> Mask:
    """Return the mask widened by the kernel."""
    return np.asarray(cv2.dilate(mask.astype(np.uint8), kernel) > 0)


def eroded(mask: Mask, kernel: Bytes, times: int = 1) -> Mask:
    """Return the mask shrunk by the kernel; what lies beyond the picture does not shrink it."""
    return np.asarray(cv2.erode(mask.astype(np.uint8), kernel, iterations=times) > 0)


def opened(mask: Mask, kernel: Bytes) -> Mask:
    """Return the mask without what is narrower than the kernel."""
    return np.asarray(cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_OPEN, kernel) > 0)


def closed(mask: Mask, kernel: Bytes) -> Mask:
    """Return the mask with gaps narrower than the kernel filled."""
    return np.asarray(cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_CLOSE, kernel) > 0)


def depth(mask: Mask, *, framed: bool = False) -> Field:
    """Return each pixel's distance to the nearest one outside the mask, pixels.

    `framed`: what lies beyond the array is outside as well.
    """
    if framed:
        return depth(np.pad(mask, 1))[1:-1, 1:-1]
    return np.asarray(cv2.distanceTransform(mask.astype(np.uint8), cv2.DIST_L2, 3), np.float32)


def rings_of(mask: Mask) -> list[Labels]:
    """Return the outer ring of pixels (n × 1 × 2: column, row) of each part, 8-connected."""
    rings, _ = cv2.findContours(mask.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    return [np.asarray(ring, np.int32) for ring in rings]


def outer_ring(mask: Mask) -> Labels:
    """Return the ring of pixels round the part of `mask` that encloses most."""
    return max(rings_of(mask), key=cv2.contourArea)


def filled(rings: Iterable[Labels], shape: tuple[int, ...]) -> Mask:
    """Return a mask of what the rings enclose, themselves included."""
    drawn = np.zeros(shape, np.uint8)
    cv2.drawContours(drawn, list(rings), -1, (1.0,), cv2.FILLED)
    return drawn > 0


def resized_mask(mask: Mask, size: tuple[int, int]) -> Mask:
    """Return the mask at another size (columns, rows); each pixel is that of the nearest one."""
    return np.asarray(cv2.resize(mask.astype(np.uint8), size, interpolation=cv2.INTER_NEAREST) > 0)


def large_parts(mask: Mask, area: float, width: float) -> Labels:
    """Return labels 1… of the mask's parts that are larger than so many pixels and wide enough.

    `width`: of a disc that fits into the part, pixels. Parts that touch at a corner are one.
    """
    count, labels, stats, _ = cv2.connectedComponentsWithStats(
        mask.astype(np.uint8), connectivity=8
    )
    deep = depth(mask)
    new = np.zeros(count, np.int32)
    for number in range(1, count):
        large = stats[number, cv2.CC_STAT_AREA] > area
        if large and 2 * float(deep[labels == number].max()) > width:
            new[number] = int(new.max()) + 1
    return np.asarray(new[labels], np.int32)
