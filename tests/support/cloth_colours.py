"""Cloths with known colours, as a phone sees them: weave, shadow, noise, JPEG, coloured light.

Small pictures for the colour tests; their geometry does not matter. Light and dyes are worked in
linear light, and dyes are given in CIELAB.
"""

import io
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from PIL import Image

from scrapstore.colour import srgb_to_lab
from scrapstore.colour.spaces import lab_to_linear, linear_to_srgb

Dye = tuple[int, int, int]
Picture = npt.NDArray[np.uint8]


@dataclass(frozen=True)
class Cloth:
    """A drawn cloth: its dyes in sRGB, the share of each, and which dye lies where (h, w)."""

    dyes: tuple[tuple[int, int, int], ...]
    where: npt.NDArray[np.intp]

    @property
    def shares(self) -> npt.NDArray[np.float64]:
        return np.bincount(self.where.ravel(), minlength=len(self.dyes)) / self.where.size

    @property
    def labs(self) -> npt.NDArray[np.float64]:
        return srgb_to_lab(self.dyes)


def solid(dye: Dye, size: int = 160) -> Cloth:
    return Cloth((dye,), np.zeros((size, size), dtype=np.intp))


def stripe(dyes: list[Dye], widths: list[int] | None = None, size: int = 160) -> Cloth:
    """Upright stripes; widths in pixels, one a dye."""
    widths = widths or [10] * len(dyes)
    row = np.concatenate([np.full(w, n) for n, w in enumerate(widths)])
    row = np.tile(row, size // len(row) + 1)[:size]
    return Cloth(tuple(dyes), np.tile(row, (size, 1)).astype(np.intp))


def dotted(
    ground: Dye, dots: list[Dye], spacing: int = 20, radius: float = 5, size: int = 160
) -> Cloth:
    """Dots of one or more dyes on a ground, in turn."""
    y, x = np.mgrid[:size, :size]
    inside = np.hypot(x % spacing - spacing / 2, y % spacing - spacing / 2) < radius
    turn = (x // spacing + y // spacing) % len(dots) + 1
    return Cloth((ground, *dots), np.where(inside, turn, 0).astype(np.intp))


def photograph(
    cloth: Cloth,
    seed: int = 0,
    *,
    light: npt.ArrayLike = (1.0, 1.0, 1.0),
    shadow: float = 0.25,
    weave: float = 0.10,
    noise: float = 0.01,
    quality: int = 85,
) -> Picture:
    """Return the picture, sRGB (h, w, 3).

    `light` multiplies the camera's linear red, green and blue; `shadow` is how much of the light is
    missing in the darkest corner, `weave` the relief of the yarns, `noise` the sensor's, each as a
    part of the light.
    """
    rng = np.random.default_rng(seed)
    high, wide = cloth.where.shape
    linear = lab_to_linear(cloth.labs).clip(0, 1)[cloth.where]
    y, x = np.mgrid[:high, :wide]
    slope = (np.cos(rng.uniform(0, 7)) * x / wide + np.sin(rng.uniform(0, 7)) * y / high + 1) / 2
    relief = np.sin(x * np.pi / 2) * np.sin(y * np.pi / 2 + x * np.pi)
    relief = relief + rng.normal(0, 0.6, (high, wide))
    shade = (1 - shadow * slope.clip(0, 1)) * (1 + weave * relief)
    seen = linear * shade[..., None] * np.asarray(light)
    seen = seen + rng.normal(0, noise, seen.shape) * np.sqrt(seen.clip(0.02, None))
    coded = np.rint(linear_to_srgb(seen.clip(0, 1))).astype(np.uint8)
    held = io.BytesIO()
    Image.fromarray(coded).save(held, "JPEG", quality=quality)
    return np.asarray(Image.open(held))
