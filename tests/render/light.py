"""Light on the table: lamps, fall-off, a cast shadow, and what the camera makes of it."""

from dataclasses import dataclass

import cv2
import numpy as np

from tests.render.camera import Camera
from tests.render.colours import Floats, lamp_matrix

_COARSE = 16


@dataclass(frozen=True)
class Lamp:
    """A lamp at `at` (x, y, z inches over the table); far away it lights the table evenly."""

    kelvin: float = 6500.0
    at: tuple[float, float, float] = (0.0, 0.0, 4000.0)
    power: float = 1.0


@dataclass(frozen=True)
class CastShadow:
    """The soft edge of someone's shadow: half the table beyond a line is darker by `depth`."""

    through: tuple[float, float]
    facing_deg: float
    softness: float
    depth: float


@dataclass(frozen=True)
class Light:
    """All lamps, and the camera's part: exposure, white balance 0..1, corners, noise, blur, tone.

    `exposure` is the linear value a perfect white gets where the light is average; a camera turns
    it down when the brightest spot would burn out. `blur` and `sharpen` are the lens and the
    camera's own sharpening (pixels; share); `shake` is how far the camera moved while the picture
    was taken (pixels) and which way (degrees from the picture's level). `noise` is the standard
    deviation at full white in linear light.
    """

    lamps: tuple[Lamp, ...] = (Lamp(),)
    shadow: CastShadow | None = None
    exposure: float = 0.9
    balance: float = 0.8
    vignette: float = 0.0
    noise: float = 0.0
    blur: float = 0.0
    sharpen: float = 0.0
    shake: tuple[float, float] = (0.0, 0.0)
    contrast: float = 0.0

    def fall(self, camera: Camera, x: Floats, y: Floats) -> list[tuple[Floats, Floats]]:
        """Per lamp: strength (height, width) and the 3×3 matrix from daylight to its colour."""
        cx, cy = x[::_COARSE, ::_COARSE], y[::_COARSE, ::_COARSE]
        fields = []
        for lamp in self.lamps:
            d2 = (cx - lamp.at[0]) ** 2 + (cy - lamp.at[1]) ** 2 + lamp.at[2] ** 2
            fields.append(lamp.power * lamp.at[2] / d2**1.5)
        total = sum(float(field.mean()) for field in fields)
        shade = self._shade(camera, cx, cy)
        size = (camera.width, camera.height)
        exposure = min(self.exposure, 1.08 * total / float((sum(fields) * shade).max()))
        weights = [
            cv2.resize((field / total * shade * exposure).astype(np.float32), size)
            for field in fields
        ]
        mired = 1e6 / np.average(
            [1e6 / lamp.kelvin for lamp in self.lamps], weights=[float(f.mean()) for f in fields]
        )
        return [
            (np.asarray(weight, dtype=np.float32), self._matrix(lamp.kelvin, float(mired)))
            for weight, lamp in zip(weights, self.lamps, strict=True)
        ]

    def _matrix(self, kelvin: float, mean_kelvin: float) -> Floats:
        """The lamp's colour, with white balance set for the mean of all lamps."""
        plain, mean = lamp_matrix(kelvin), lamp_matrix(mean_kelvin)
        gains = np.maximum(mean @ np.ones(3), 0.02) ** -self.balance
        return (np.diag(gains) @ plain).astype(np.float32)

    def _shade(self, camera: Camera, x: Floats, y: Floats) -> Floats:
        rows = np.arange(x.shape[0])[:, None] * _COARSE - camera.centre[1]
        columns = np.arange(x.shape[1])[None, :] * _COARSE - camera.centre[0]
        r2 = (rows**2 + columns**2) / (camera.width**2 + camera.height**2) * 4
        shade = (1 - self.vignette * r2).astype(np.float32)
        if self.shadow is not None:
            a = np.radians(self.shadow.facing_deg)
            d = (x - self.shadow.through[0]) * np.cos(a) + (y - self.shadow.through[1]) * np.sin(a)
            shade *= 1 - self.shadow.depth / (
                1 + np.exp(np.clip(-d / self.shadow.softness, -40, 40))
            )
        return np.asarray(shade, dtype=np.float32)
