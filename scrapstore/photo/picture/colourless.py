"""Whether a picture has colour in it at all: greyscale and toned pictures have not."""

from typing import Final

import numpy as np

from scrapstore.photo.arrays import Bytes

__all__ = ["is_greyscale", "is_toned"]

# Set on photos of `tests.render`: grey cloth on a grey table with tints of two sRGB steps under
# lamps of 2700 to 6500 K is colour, those photos saved without it (JPEG quality 75 and more) not.
_STEP: Final = 16  # every so many-th pixel is looked at,
_EQUAL: Final = 1  # sRGB steps between channels that are the same,
_SHARE: Final = 0.999  # in more than this share of them
_BLOCK: Final = 16  # px: of so large a square the mean is taken, as JPEG stores colour by such
_BLOCKS: Final = 6000  # about so many of them are looked at
_BURNT: Final = 250  # of 255: a block this bright has lost its tone
_TONED: Final = 25.0  # sRGB steps between channels that a tone reaches at least,
_STRAY: Final = 0.1  # of that: how far colours stray from one line at most (99 %)


def is_greyscale(pixels: Bytes) -> bool:
    """Say whether red, green and blue (height × width × 3) are the same nearly everywhere."""
    some = pixels[::_STEP, ::_STEP].astype(np.int16)
    return bool(np.mean(np.ptp(some, axis=2) <= _EQUAL) > _SHARE)


def is_toned(pixels: Bytes) -> bool:
    """Say whether a picture (height × width × 3) is of one tone, as sepia is.

    All colours then lie on one straight line from dark to light. White paper must be in view: cloth
    and table of one colour alone do so too. One lamp's cast over things without colour comes near
    to that, but not so near.
    """
    rows, columns = (side // _BLOCK for side in pixels.shape[:2])
    if not rows or not columns:
        return False
    each = max(1, round((rows * columns / _BLOCKS) ** 0.5))
    blocks = pixels[: rows * _BLOCK, : columns * _BLOCK].reshape(rows, _BLOCK, columns, _BLOCK, 3)
    means = blocks[::each, :, ::each].mean(axis=(1, 3)).reshape(-1, 3)
    means = means[means.max(axis=1) < _BURNT]
    if len(means) < 3:
        return False
    terms = np.column_stack([np.ones(len(means)), means.mean(axis=1)])
    tint = means[:, [0, 2]] - means[:, [1]]
    stray = np.linalg.norm(tint - terms @ np.linalg.lstsq(terms, tint, rcond=None)[0], axis=1)
    tone = float(np.percentile(np.linalg.norm(tint, axis=1), 99))
    return tone > _TONED and float(np.percentile(stray, 99)) < _STRAY * tone
