"""Which pixels of a photo are the scrap, when its size was typed and nothing else is known.

One scrap lies about the middle of the picture on a table that shows all round it. The table's
colour is followed across the picture, as light falls off; what differs from it and holds the
middle is the scrap. Where that finds nothing sensible, the middle of the picture is taken, which is
right for a close-up.
"""

import cv2
import numpy as np

from scrapstore.colour import srgb_to_lab
from scrapstore.photo.arrays import Bytes, Mask

__all__ = ["cloth_pixels"]


_LONG_SIDE = 240
"""The picture is looked at this small: weave and print blur, the scrap stays."""
_PICKED_SIDE = 1200
"""Every so many-th pixel is handed out, as if the picture were this large: colours need no more."""
_RIM = 0.04  # of the picture's side: taken for table
_LEAST_DIFFERENCE = 7.0  # CIELAB; paler differences are light and shadow
_SPREADS = 3.5
_SMALLEST, _LARGEST = 0.015, 0.9  # of the picture


def cloth_pixels(pixels: Bytes) -> Bytes:
    """Return pixels of the scrap (n × 3, sRGB) out of a picture (height × width × 3, sRGB)."""
    height, width = pixels.shape[:2]
    scale = min(1.0, _LONG_SIDE / max(height, width))
    size = (max(1, round(width * scale)), max(1, round(height * scale)))
    small = cv2.resize(pixels, size, interpolation=cv2.INTER_AREA).astype(np.uint8)
    mask = _scrap_mask(small).astype(np.uint8)
    step = -(-max(height, width) // _PICKED_SIDE)
    picked = pixels[::step, ::step]
    large = cv2.resize(mask, picked.shape[1::-1], interpolation=cv2.INTER_NEAREST)
    return np.asarray(picked[large.astype(bool)], dtype=np.uint8)


def _scrap_mask(small: Bytes) -> Mask:
    rows, columns = small.shape[:2]
    middle = np.zeros((rows, columns), dtype=bool)
    middle[rows // 3 : rows - rows // 3, columns // 3 : columns - columns // 3] = True
    if min(rows, columns) < 16:
        return middle
    part = _holding_middle(_unlike_table(small), middle)
    share = part.mean()
    if not _SMALLEST < share < _LARGEST:
        return middle
    # Away from the edge: fray, shadow and the blur of making it small.
    inner = cv2.erode(part.astype(np.uint8), np.ones((5, 5), np.uint8)).astype(bool)
    return inner if inner.any() else part


def _unlike_table(small: Bytes) -> Mask:
    """Tell the pixels whose colour the table cannot have at that place."""
    lab = srgb_to_lab(small)
    rows, columns = lab.shape[:2]
    y, x = np.mgrid[-1 : 1 : rows * 1j, -1 : 1 : columns * 1j]
    terms = np.stack([np.ones_like(x), x, y, x * y, x * x, y * y], axis=-1)
    rim_wide = max(2, round(_RIM * min(rows, columns)))
    rim = np.ones((rows, columns), dtype=bool)
    rim[rim_wide:-rim_wide, rim_wide:-rim_wide] = False
    rim_terms, rim_lab = terms[rim], lab[rim]
    table = np.ones(len(rim_lab), dtype=bool)
    for _ in range(3):  # again without what lies on the table at the rim
        # Six normal equations: quicker than a least-squares routine over every pixel of the rim.
        chosen = rim_terms[table]
        # The trifle added keeps them solvable when table shows along one side only.
        normal = chosen.T @ chosen + 1e-6 * np.eye(terms.shape[-1])
        fit = np.linalg.solve(normal, chosen.T @ rim_lab[table])
        stray = rim_lab - rim_terms @ fit
        spread = _SPREADS * (1.4826 * np.median(np.abs(stray[table]), axis=0) + 0.5)
        table = ((stray / spread) ** 2).sum(axis=-1) < 1
        if table.sum() < len(table) // 4:
            break
    stray = lab - terms @ fit
    far = (stray**2).sum(axis=-1) > _LEAST_DIFFERENCE**2
    return np.asarray((((stray / spread) ** 2).sum(axis=-1) > 1) & far)


def _holding_middle(mask: Mask, middle: Mask) -> Mask:
    """Return the connected part of `mask` that fills most of the middle, its holes filled."""
    kernel = np.ones((7, 7), np.uint8)
    closed = cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_CLOSE, kernel)
    opened = cv2.morphologyEx(closed, cv2.MORPH_OPEN, np.ones((3, 3), np.uint8))
    _, labels = cv2.connectedComponents(opened)
    held = np.bincount(labels[middle])
    if len(held) < 2:
        return np.zeros_like(mask)
    held[0] = 0
    part = (labels == int(np.argmax(held))).astype(np.uint8)
    rings, _ = cv2.findContours(part, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    cv2.drawContours(part, rings, -1, 1, thickness=cv2.FILLED)
    return np.asarray(part, dtype=bool)
