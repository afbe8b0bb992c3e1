"""Light and colour for the renderer, from their definitions: shares nothing with the program.

Reflectances and light are *linear* sRGB-primaries triples, 0..1, float32; encoded colours are the
0..255 integers of a file. sRGB's curve and matrix: IEC 61966-2-1. The white of a lamp: Planck's law
through the approximation of Kim et al. (US patent 7024034), good to 1667–25000 K. Change of white:
the Bradford cone matrix of CIECAM97s, so that a lamp does not act as three plain RGB gains.
"""

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float32]
Rgb = tuple[int, int, int]

_TO_XYZ: Final = np.array(
    [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
)
_BRADFORD: Final = np.array(
    [[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]]
)


def linear(rgb: Rgb | Sequence[Rgb] | NDArray[np.uint8]) -> Floats:
    """Linear light 0..1 of encoded colours 0..255, same shape."""
    v = np.asarray(rgb, dtype=np.float64) / 255.0
    return np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4).astype(np.float32)


def encoded(light: NDArray[np.floating]) -> NDArray[np.float64]:
    """Encoded colours 0..255, not rounded, of linear light; clipped to the range."""
    v = np.clip(np.asarray(light, dtype=np.float64), 0.0, 1.0)
    return 255.0 * np.where(v <= 0.0031308, v * 12.92, 1.055 * v ** (1 / 2.4) - 0.055)


def encode_table(contrast: float = 0.0) -> NDArray[np.uint8]:
    """65,536 encoded values for linear light 0..1, with a camera's tone curve.

    `contrast` 0 is plain sRGB; 0.5 is a firm S-curve (black, mid grey and white stay put).
    """
    v = encoded(np.linspace(0.0, 1.0, 65536)) / 255.0
    s_curve = v + contrast * 0.25 * np.sin(2 * np.pi * v) * -0.5
    return np.clip(np.rint(s_curve * 255.0), 0, 255).astype(np.uint8)


def lab(light: NDArray[np.floating]) -> NDArray[np.float64]:
    """CIELAB (D65, the white of sRGB itself) of linear colours (..., 3); CIE 15, chapter 8."""
    xyz = np.asarray(light, dtype=np.float64) @ _TO_XYZ.T / (_TO_XYZ @ np.ones(3))
    f = np.where(xyz > (6 / 29) ** 3, np.cbrt(xyz), xyz * (29 / 6) ** 2 / 3 + 4 / 29)
    x, y, z = f[..., 0], f[..., 1], f[..., 2]
    return np.stack([116 * y - 16, 500 * (x - y), 200 * (y - z)], axis=-1)


def white_xyz(kelvin: float) -> NDArray[np.float64]:
    """XYZ (Y = 1) of a black body; 6500 K gives sRGB's own white, so that it is neutral."""
    if abs(kelvin - 6500.0) < 1.0:
        return np.asarray(_TO_XYZ @ np.ones(3))
    t = 1000.0 / kelvin
    if kelvin < 4000:
        x = -0.2661239 * t**3 - 0.2343589 * t**2 + 0.8776956 * t + 0.179910
        y = -0.9549476 * x**3 - 1.37418593 * x**2 + 2.09137015 * x - 0.16748867
    else:
        x = -3.0258469 * t**3 + 2.1070379 * t**2 + 0.2226347 * t + 0.240390
        y = 3.0817580 * x**3 - 5.87338670 * x**2 + 3.75112997 * x - 0.37001483
    if kelvin < 2222:
        y = -1.1063814 * x**3 - 1.34811020 * x**2 + 2.18555832 * x - 0.20219683
    return np.array([x / y, 1.0, (1 - x - y) / y])


def lamp_matrix(kelvin: float, balance: float = 0.0) -> Floats:
    """3×3: linear colour of a cloth under daylight → under a lamp of `kelvin`, as a camera sees it.

    `balance` 0..1 is how much of the cast the camera takes away again by plain RGB gains, as
    automatic white balance does; a grey keeps its green (about its brightness).
    """
    cones = _BRADFORD @ _TO_XYZ
    ratio = (_BRADFORD @ white_xyz(kelvin)) / (cones @ np.ones(3))
    matrix = np.linalg.inv(cones) @ np.diag(ratio) @ cones
    white = np.maximum(matrix @ np.ones(3), 0.02)
    gains = white**-balance
    matrix = np.diag(gains) @ matrix
    return np.asarray(matrix / (matrix @ np.ones(3))[1], dtype=np.float32)
