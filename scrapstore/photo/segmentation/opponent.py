"""Opponent colours: brightness and two tints, as logarithms of light.

A shadow or a lamp farther away changes the first and hardly the others, and each by a sum.
"""

from typing import Final

import cv2
import numpy as np

from scrapstore.photo.arrays import Bytes, Field
from scrapstore.photo.scale import LIGHT
from scrapstore.photo.segmentation import tuning

__all__ = ["light_of", "log_opponent"]


_LOG_LIGHT: Final = np.log(LIGHT + tuning.DARKEST_LIGHT).astype(np.float32)
# Brightness; red against green; both against blue. Rows are of length 1, 1, 1.
_OPPONENT: Final = np.array(
    [[1, 1, 1], [1, -1, 0], [1, 1, -2]], dtype=np.float32
) / np.sqrt(np.array([[3], [2], [6]], dtype=np.float32))  # fmt: skip


def log_opponent(pixels: Bytes) -> Field:
    """Return brightness and two tints, as logarithms of light, of pixels (rows × columns × 3, RGB).

    Logarithms are natural. The axes are orthonormal, so distances stay as they are.
    """
    logs = cv2.LUT(pixels, _LOG_LIGHT)
    return np.asarray(cv2.transform(logs, _OPPONENT), dtype=np.float32)


def light_of(features: Field) -> Field:
    """Return the light (… × 3, RGB, 0 to 1) from which `log_opponent` made `features`."""
    return np.asarray(np.exp(features @ _OPPONENT) - tuning.DARKEST_LIGHT, dtype=np.float32)
