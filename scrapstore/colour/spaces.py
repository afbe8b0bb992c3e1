"""sRGB and CIELAB, both ways, for one colour or a million.

sRGB is that of IEC 61966-2-1:1999; CIELAB that of CIE 15, with the white of D65 for the 2° observer
at the chromaticity (0.3127, 0.3290) that the sRGB standard gives. At the edge a colour is three
numbers from 0 to 255; inside it is L* (0 black to 100 white), a* (green to red), b* (blue to
yellow).
"""

from typing import Final

import numpy as np
import numpy.typing as npt

__all__ = [
    "WHITE_XYZ",
    "XYZ_FROM_RGB",
    "FloatArray",
    "chroma_hue",
    "lab_to_linear",
    "lab_to_srgb",
    "linear_to_lab",
    "linear_to_srgb",
    "srgb_to_lab",
    "srgb_to_linear",
]

FloatArray = npt.NDArray[np.float64]

# Rows X, Y, Z; columns red, green, blue (IEC 61966-2-1, rounded to four places as printed there).
XYZ_FROM_RGB: Final[FloatArray] = np.array(
    [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
)
# The inverse as the standard prints it, and not the exact one: a round trip moves a colour by less
# than a tenth of one step of 255, and everyone who follows the standard gets the same numbers.
_RGB_FROM_XYZ: Final[FloatArray] = np.array(
    [[3.2406, -1.5372, -0.4986], [-0.9689, 1.8758, 0.0415], [0.0557, -0.2040, 1.0570]]
)
WHITE_XYZ: Final[FloatArray] = np.array([0.3127 / 0.3290, 1.0, (1 - 0.3127 - 0.3290) / 0.3290])

# CIE 15: the cube root gives way to a straight line below (6/29)³.
_KNEE: Final = 6 / 29


def srgb_to_linear(rgb: npt.ArrayLike) -> FloatArray:
    """Return light in proportion to photons, 0 to 1, from sRGB 0 to 255; shape (..., 3) kept.

    Values outside 0 to 255 are carried on along the same curve, mirrored below zero.
    """
    coded = np.asarray(rgb, dtype=np.float64) / 255
    size = np.abs(coded)
    return np.copysign(
        np.where(size <= 0.04045, size / 12.92, ((size + 0.055) / 1.055) ** 2.4), coded
    )


def linear_to_srgb(linear: npt.ArrayLike) -> FloatArray:
    """Return sRGB 0 to 255, not rounded and not clipped; the inverse of `srgb_to_linear`."""
    light = np.asarray(linear, dtype=np.float64)
    size = np.abs(light)
    coded = np.where(size <= 0.04045 / 12.92, size * 12.92, 1.055 * size ** (1 / 2.4) - 0.055)
    return np.copysign(coded, light) * 255


def linear_to_lab(linear: npt.ArrayLike) -> FloatArray:
    """Return CIELAB of linear light 0 to 1 in sRGB's primaries; shape (..., 3) kept."""
    xyz = np.asarray(linear, dtype=np.float64) @ XYZ_FROM_RGB.T / WHITE_XYZ
    f = np.where(xyz > _KNEE**3, np.cbrt(xyz), xyz / (3 * _KNEE**2) + 4 / 29)
    fx, fy, fz = np.moveaxis(f, -1, 0)
    return np.stack([116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)], axis=-1)


def lab_to_linear(lab: npt.ArrayLike) -> FloatArray:
    """Return linear light of CIELAB; outside 0 to 1 where no screen can show the colour."""
    lightness, a, b = np.moveaxis(np.asarray(lab, dtype=np.float64), -1, 0)
    fy = (lightness + 16) / 116
    f = np.stack([fy + a / 500, fy, fy - b / 200], axis=-1)
    xyz = np.where(f > _KNEE, f**3, 3 * _KNEE**2 * (f - 4 / 29)) * WHITE_XYZ
    return np.asarray(xyz @ _RGB_FROM_XYZ.T, dtype=np.float64)


def srgb_to_lab(rgb: npt.ArrayLike) -> FloatArray:
    """Return CIELAB of sRGB 0 to 255; shape (..., 3) kept.

    >>> srgb_to_lab((255, 255, 255)).round(2) + 0.0
    array([100.,   0.,   0.])
    """
    return linear_to_lab(srgb_to_linear(rgb))


def lab_to_srgb(lab: npt.ArrayLike) -> FloatArray:
    """Return sRGB of CIELAB, not rounded and not clipped to 0 to 255; shape (..., 3) kept."""
    return linear_to_srgb(lab_to_linear(lab))


def chroma_hue(lab: npt.ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Return C* and the hue angle in degrees, 0 up to 360, each of shape (...).

    0° is towards red, 90° yellow, 180° green, 270° blue; a grey's hue says nothing.
    """
    _, a, b = np.moveaxis(np.asarray(lab, dtype=np.float64), -1, 0)
    return np.hypot(a, b), np.degrees(np.arctan2(b, a)) % 360
