"""Cloths with known colours, as a phone sees them: weave, shadow, noise, JPEG, coloured light.

Small pictures for the colour tests; their geometry does not matter. Light and dyes are worked in
linear light, and dyes are given in CIELAB.
"""

import io
from dataclasses import dataclass

import colour
import numpy as np
import numpy.typing as npt
from PIL import Image

from scrapstore.colour import delta_e, srgb_to_lab
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


def stripe(
    dyes: list[Dye], widths: list[int] | None = None, size: int = 160, turn_deg: float = 17.0
) -> Cloth:
    """Stripes; widths in pixels, one a dye. Nobody lays a scrap square to the camera's pixels."""
    edges = np.cumsum(widths or [10] * len(dyes))
    y, x = np.mgrid[:size, :size]
    turn = np.radians(turn_deg)
    along = (x * np.cos(turn) + y * np.sin(turn) + 1000) % edges[-1]
    return Cloth(tuple(dyes), np.searchsorted(edges, along, side="right").astype(np.intp))


def check(dyes: list[Dye], width: int = 12, size: int = 160, turn_deg: float = 17.0) -> Cloth:
    """A check of two dyes, or of three where the third lies on the crossings."""
    y, x = np.mgrid[:size, :size]
    turn = np.radians(turn_deg)
    across = (x * np.cos(turn) + y * np.sin(turn) + 1000) // width % 2
    down = (y * np.cos(turn) - x * np.sin(turn) + 1000) // width % 2
    return Cloth(tuple(dyes), ((across + down) % len(dyes)).astype(np.intp))


def dotted(
    ground: Dye, dots: list[Dye], spacing: int = 20, radius: float = 5, size: int = 160
) -> Cloth:
    """Dots of one or more dyes on a ground, in turn."""
    y, x = np.mgrid[:size, :size]
    inside = np.hypot(x % spacing - spacing / 2, y % spacing - spacing / 2) < radius
    turn = (x // spacing + 2 * (y // spacing)) % len(dots) + 1
    return Cloth((ground, *dots), np.where(inside, turn, 0).astype(np.intp))


def random_cloth(seed: int, apart: float = 22.0) -> Cloth:
    """A solid, a stripe, a check or a dotted print of dyes at least `apart` in CIEDE2000."""
    rng = np.random.default_rng(seed)
    wanted = int(rng.choice([1, 2, 3, 4], p=[0.4, 0.3, 0.2, 0.1]))
    dyes: list[Dye] = []
    while len(dyes) < wanted:
        red, green, blue = (int(v) for v in rng.integers(12, 248, 3))
        if all(delta_e(srgb_to_lab((red, green, blue)), srgb_to_lab(d)) >= apart for d in dyes):
            dyes.append((red, green, blue))
    turn = float(rng.uniform(5, 85))
    if wanted == 1:
        return solid(dyes[0])
    if wanted == 4:
        return dotted(dyes[0], dyes[1:], spacing=26, radius=9)
    kind = rng.integers(3)
    if kind == 0:
        return stripe(dyes, [int(w) for w in rng.integers(8, 24, wanted)], turn_deg=turn)
    if kind == 1 and wanted == 2:
        return check(dyes, turn_deg=turn)
    return dotted(dyes[0], dyes[1:], spacing=24, radius=float(rng.uniform(6, 9)))


def photograph(
    cloth: Cloth,
    seed: int = 0,
    *,
    light: npt.NDArray[np.float64] | None = None,
    shadow: float = 0.25,
    weave: float = 0.10,
    noise: float = 0.01,
    quality: int = 85,
) -> Picture:
    """Return the picture, sRGB (h, w, 3).

    `light` (3, 3) takes a colour's linear red, green and blue under daylight to those the camera
    sees; `shadow` is how much of the light is missing in the darkest corner, `weave` the relief of
    the yarns, `noise` the sensor's, each as a part of the light.
    """
    rng = np.random.default_rng(seed)
    high, wide = cloth.where.shape
    linear = lab_to_linear(cloth.labs).clip(0, 1)[cloth.where]
    y, x = np.mgrid[:high, :wide]
    slope = (np.cos(rng.uniform(0, 7)) * x / wide + np.sin(rng.uniform(0, 7)) * y / high + 1) / 2
    relief = np.sin(x * np.pi / 2) * np.sin(y * np.pi / 2 + x * np.pi)
    relief = relief + rng.normal(0, 0.6, (high, wide))
    shade = (1 - shadow * slope.clip(0, 1)) * (1 + weave * relief)
    seen = (linear if light is None else linear @ light.T) * shade[..., None]
    seen = seen + rng.normal(0, noise, seen.shape) * np.sqrt(seen.clip(0.02, None))
    coded = np.rint(linear_to_srgb(seen.clip(0, 1))).astype(np.uint8)
    held = io.BytesIO()
    Image.fromarray(coded).save(held, "JPEG", quality=quality)
    return np.asarray(Image.open(held))


def lamp(kelvin: float, balanced: float, exposure: float = 0.9) -> npt.NDArray[np.float64]:
    """Return what takes linear sRGB under daylight to what a camera sees under a black body.

    The lamp acts in the eye's cones (Bradford matrix) and the camera then takes away the part
    `balanced`, 0 to 1, of the cast by gains. White comes out no brighter than `exposure`.
    """
    white = colour.CCT_to_xy(kelvin, method="Kang 2002")
    daylight = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D65"]
    adapted = colour.adaptation.matrix_chromatic_adaptation_VonKries(
        colour.xy_to_XYZ(daylight), colour.xy_to_XYZ(white), transform="Bradford"
    )
    to_xyz = colour.RGB_COLOURSPACES["sRGB"].matrix_RGB_to_XYZ
    matrix = np.linalg.inv(to_xyz) @ adapted @ to_xyz
    matrix = np.diag((matrix @ np.ones(3)).clip(0.02) ** -balanced) @ matrix
    return np.asarray(exposure * matrix / (matrix @ np.ones(3)).max(), dtype=np.float64)


def printed_greys(
    light: npt.NDArray[np.float64], lightness: npt.NDArray[np.float64]
) -> npt.NDArray[np.float64]:
    """Return how neutral patches of L* (n,) come out under `light`, sRGB (n, 3)."""
    labs = np.stack([lightness, np.zeros_like(lightness), np.zeros_like(lightness)], axis=1)
    return np.rint(linear_to_srgb((lab_to_linear(labs) @ light.T).clip(0, 1)))
