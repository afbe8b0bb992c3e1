"""The arrays that the rooms of photo hand on, by name."""

import numpy as np
from numpy.typing import NDArray

__all__ = ["Bytes", "Field", "Floats", "Labels", "Mask"]

# Pixels 0..255: rows × columns, or rows × columns × 3 (RGB).
Bytes = NDArray[np.uint8]
# Values over pixels: rows × columns, or rows × columns × k.
Field = NDArray[np.float32]
# Points (n × 2) and other exact figures.
Floats = NDArray[np.float64]
# Numbers of connected parts over pixels, 0 for none; rings of pixels (n × 1 × 2: column, row).
Labels = NDArray[np.int32]
# Which pixels: rows × columns.
Mask = NDArray[np.bool_]
