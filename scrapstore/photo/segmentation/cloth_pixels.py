"""Which pixels of a photo are the scrap, when its size was typed and nothing else is known.

What differs from the table at the rim and holds the middle of the picture is the scrap. Where that
finds nothing sensible, the middle of the picture is taken, which is right for a close-up.
"""

import cv2
import numpy as np

from scrapstore.colour import srgb_to_lab
from scrapstore.photo.arrays import Bytes, Mask
from scrapstore.photo.segmentation import tuning
from scrapstore.photo.segmentation.masks import (
    closed,
    eroded,
    filled,
    opened,
    resized_mask,
    rings_of,
    square,
)
from scrapstore.photo.segmentation.rim_background import fit_rim_background

__all__ = ["cloth_pixels"]


def cloth_pixels(pixels: Bytes) -> Bytes:
    """Return pixels of the scrap (n × 3, sRGB) out of a picture (height × width × 3, sRGB)."""
    height, width = pixels.shape[:2]
    scale = min(1.0, tuning.CLOTH_SIDE / max(height, width))
    size = (max(1, round(width * scale)), max(1, round(height * scale)))
    small = np.asarray(cv2.resize(pixels, size, interpolation=cv2.INTER_AREA), np.uint8)
    step = -(-max(height, width) // tuning.CLOTH_SAMPLED_SIDE)
    picked = pixels[::step, ::step]
    mask = resized_mask(_scrap_mask(small), (picked.shape[1], picked.shape[0]))
    return np.asarray(picked[mask], dtype=np.uint8)


def _scrap_mask(small: Bytes) -> Mask:
    rows, columns = small.shape[:2]
    middle = np.zeros((rows, columns), dtype=bool)
    middle[rows // 3 : rows - rows // 3, columns // 3 : columns - columns // 3] = True
    if min(rows, columns) < tuning.CLOTH_LEAST_SIDE:
        return middle
    part = _holding_middle(fit_rim_background(srgb_to_lab(small)).foreground, middle)
    least, most = tuning.CLOTH_SHARE
    if not least < part.mean() < most:
        return middle
    # Away from the edge: fray, shadow and the blur of making it small.
    inner = eroded(part, square(2))
    return inner if inner.any() else part


def _holding_middle(mask: Mask, middle: Mask) -> Mask:
    """Return the connected part of `mask` that fills most of the middle, its holes filled."""
    whole = opened(closed(mask, square(3)), square(1))
    _, labels = cv2.connectedComponents(whole.astype(np.uint8))
    held = np.bincount(labels[middle])
    if len(held) < 2:
        return np.zeros_like(mask)
    held[0] = 0
    return filled(rings_of(labels == int(np.argmax(held))), mask.shape)
