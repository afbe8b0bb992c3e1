"""Taking the colour of the light out of a picture, by grey patches whose reflectance is known.

Two ways are common. A camera multiplies its red, green and blue (von Kries's rule in the camera's
primaries); an eye adapts in its cones (Bradford matrix, CIE 160:2004). Which undoes a given picture
depends on how far the camera has already balanced it, which the picture does not say. Half way
between is the safe choice. On 500 random colours under black bodies of 2700 to 6500 K its median
CIEDE2000 was 0.9 with a camera that does not balance, 2.1 with one that balances fully, 1.0 where
the lamp itself is plain gains; gains alone gave 1.8, 1.7 and 0.1, Bradford alone 0.2, 1.8 and 2.0.
``tests/benchmarks/colour_light.py`` measures whole cloths.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from scrapstore.colour.spaces import (
    WHITE_XYZ,
    XYZ_FROM_RGB,
    FloatArray,
    lab_to_linear,
    linear_to_lab,
    linear_to_srgb,
    srgb_to_linear,
)
from scrapstore.errors import PhotoError

__all__ = ["Balance", "balance_from_greys", "balance_from_paper"]

_BRADFORD: Final[FloatArray] = np.array(
    [[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]]
)
_BURNT: Final = 253  # of 255; a channel this high may have been cut off
_DARK: Final = 6  # of 255; a channel this low says more of the noise than of the light
_PAPERS: Final = ((87.0, -1.0, -10.0), (95.0, 2.5, 6.0))
"""Least and greatest L*, a*, b* of white papers: the types of ISO 12647-2, 2004 (87, -1, 3 to
93, 0, -3 and 88, 0, 6) and 2013 (95, 1.5, -6; with much brightener 93.5, 2.5, -10)."""


@dataclass(frozen=True, slots=True, eq=False)
class Balance:
    """What makes a picture look as under daylight (D65) with a perfect white at 255."""

    matrix: FloatArray
    """Shape (3, 3); from seen to true in linear sRGB, applied to columns."""

    def correct(self, rgb: npt.ArrayLike) -> FloatArray:
        """Return sRGB 0 to 255, clipped but not rounded, of a picture's pixels (..., 3)."""
        return linear_to_srgb((srgb_to_linear(rgb) @ self.matrix.T).clip(0, 1))


def balance_from_greys(seen_rgb: npt.ArrayLike, lightness: npt.ArrayLike) -> Balance:
    """Return the balance from neutral patches.

    `seen_rgb` (n, 3) is each patch's mean in the picture, sRGB 0 to 255; `lightness` (n,) its true
    L*. Patches with a channel burnt out or near black are left aside. Raises PhotoError when none
    is left.
    """
    seen = np.asarray(seen_rgb, dtype=np.float64).reshape(-1, 3)
    true = np.asarray(lightness, dtype=np.float64).reshape(-1)
    usable = (seen.max(axis=1) < _BURNT) & (seen.min(axis=1) > _DARK) & (true > 5)
    if not usable.any():
        msg = (
            f"white balance: none of the {len(seen)} grey patches can be used, each is burnt out "
            "or nearly black; take the photo again with less glare, or more light"
        )
        raise PhotoError(msg)
    seen, true = seen[usable], true[usable]
    greys = np.stack([true, np.zeros_like(true), np.zeros_like(true)], axis=1)
    reflected = lab_to_linear(greys)[:, 1]
    # The light by least squares: bright patches, whose noise is small for their light, count most.
    white = reflected @ srgb_to_linear(seen) / (reflected @ reflected)
    return Balance(_without(white))


def balance_from_paper(seen_rgb: npt.ArrayLike) -> Balance:
    """Return the balance from bare white paper, of which nobody knows the very shade.

    `seen_rgb` (3,) is its mean in the picture, sRGB 0 to 255. What may be the paper's own is left
    in; paper that looks darker or more dyed than any is taken to the nearest shade that paper has.
    Raises PhotoError where the paper is burnt out or nearly black.
    """
    seen = np.asarray(seen_rgb, dtype=np.float64)
    if seen.max() >= _BURNT or seen.min() <= _DARK:
        msg = "white balance: the white paper is burnt out or nearly black"
        raise PhotoError(msg)
    light = srgb_to_linear(seen)
    paper = np.clip(linear_to_lab(light), *_PAPERS)
    return Balance(_without(light / lab_to_linear(paper)))


def _without(white: FloatArray) -> FloatArray:
    """Return what takes out a light in which a perfect white is seen as `white`, linear (3,)."""
    return (_by_gains(white) + _by_cones(white)) / 2


def _by_gains(white: FloatArray) -> FloatArray:
    return np.diag(1 / white)


def _by_cones(white: FloatArray) -> FloatArray:
    cones = _BRADFORD @ XYZ_FROM_RGB
    ratio = (_BRADFORD @ WHITE_XYZ) / (cones @ white)
    return np.asarray(np.linalg.inv(cones) @ np.diag(ratio) @ cones, dtype=np.float64)
