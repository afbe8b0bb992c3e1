"""How different two colours look: CIEDE2000.

Source: Sharma, Wu and Dalal, "The CIEDE2000 color-difference formula: implementation notes,
supplementary test data, and mathematical observations", Color Research & Application 30 (2005);
the names of the steps are theirs. About 1 is the least difference seen side by side; two cloths of
the same dye lot photographed twice lie within 2 or 3.
"""

from typing import Final

import numpy as np
import numpy.typing as npt

from scrapstore.colour.spaces import FloatArray

__all__ = ["delta_e"]

_25_TO_7TH: Final = 25.0**7


def delta_e(lab1: npt.ArrayLike, lab2: npt.ArrayLike) -> FloatArray:
    """Return CIEDE2000 between CIELAB colours of shapes (..., 3) that broadcast together.

    All three weights are 1. Symmetric; 0 for equal colours.

    >>> float(delta_e((50, 2.6772, -79.7751), (50, 0, -82.7485)).round(4))
    2.0425
    """
    l1, a1, b1 = np.moveaxis(np.asarray(lab1, dtype=np.float64), -1, 0)
    l2, a2, b2 = np.moveaxis(np.asarray(lab2, dtype=np.float64), -1, 0)

    # Step 1: a* is stretched for colours near grey, then hue and chroma are taken anew.
    mean_c7 = ((np.hypot(a1, b1) + np.hypot(a2, b2)) / 2) ** 7
    stretch = 1.5 - 0.5 * np.sqrt(mean_c7 / (mean_c7 + _25_TO_7TH))
    a1, a2 = a1 * stretch, a2 * stretch
    c1, c2 = np.hypot(a1, b1), np.hypot(a2, b2)
    h1, h2 = _hue(a1, b1), _hue(a2, b2)

    # Step 2: differences. A grey has no hue, so it takes the other colour's.
    grey = c1 * c2 == 0
    # Half a circle to the last bit depends on the machine's arctangent; a hair of room does not.
    far = np.abs(h2 - h1) > 180 + 1e-9
    turn = np.where(grey, 0.0, h2 - h1 - np.where(far, np.copysign(360, h2 - h1), 0.0))
    d_l, d_c = l2 - l1, c2 - c1
    d_h = 2 * np.sqrt(c1 * c2) * np.sin(np.radians(turn / 2))

    # Step 3: the mean colour and its weights.
    mean_l, mean_c = (l1 + l2) / 2, (c1 + c2) / 2
    mean_h = np.where(grey, h1 + h2, ((h1 + h2) / 2 + np.where(far, 180, 0)) % 360)
    t = (
        1
        - 0.17 * np.cos(np.radians(mean_h - 30))
        + 0.24 * np.cos(np.radians(2 * mean_h))
        + 0.32 * np.cos(np.radians(3 * mean_h + 6))
        - 0.20 * np.cos(np.radians(4 * mean_h - 63))
    )
    mean_c7 = mean_c**7
    rotation = (
        -2
        * np.sqrt(mean_c7 / (mean_c7 + _25_TO_7TH))
        * np.sin(np.radians(60 * np.exp(-(((mean_h - 275) / 25) ** 2))))
    )
    from_50 = (mean_l - 50) ** 2
    l_term = d_l / (1 + 0.015 * from_50 / np.sqrt(20 + from_50))
    c_term = d_c / (1 + 0.045 * mean_c)
    h_term = d_h / (1 + 0.015 * mean_c * t)
    square = l_term**2 + c_term**2 + h_term**2 + rotation * c_term * h_term
    return np.asarray(np.sqrt(np.maximum(square, 0.0)), dtype=np.float64)


def _hue(a: FloatArray, b: FloatArray) -> FloatArray:
    """Return the hue angle, 0 up to but never 360, to which a tiny negative angle would round."""
    turned = np.degrees(np.arctan2(b, a)) % 360
    return np.where(turned == 360, 0.0, turned)
