"""The camera: how a point on the table comes into the picture, and the way back.

Pinhole with radial distortion, as OpenCV's calibration documents it: a point at ``(X, Y, Z)`` in
the camera's frame (x right, y down, z forward) is imaged at ``c + f·d·(X/Z, Y/Z)`` with
``d = 1 + k1·r²`` and ``r² = (X/Z)² + (Y/Z)²``. One coefficient: with five or six squares in a
picture a second one follows the noise. The lens's centre is taken to be the picture's.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import cv2
import numpy as np

from scrapstore.photo.arrays import Floats
from scrapstore.photo.forms import LensProfile
from scrapstore.photo.picture import Shot
from scrapstore.photo.scale import tuning

__all__ = ["LensPrior", "View", "lens_key", "prior_for"]


_FILM_DIAGONAL_MM: Final = 43.2666
"""Of 36 × 24 mm film: CIPA defines the 35 mm equivalent by the diagonal."""


@dataclass(frozen=True)
class LensPrior:
    """What is believed of the lens before looking at the squares; units as in LensProfile."""

    focal: float
    focal_sigma: float
    k1: float
    k1_sigma: float
    known: bool


def lens_key(shot: Shot, width: int, height: int) -> str | None:
    """Return the name under which a lens is remembered, or None when the file does not say.

    Camera model, focal lengths and the picture's aspect: a digital zoom changes the second, a
    crop in the camera the third. A picture cropped later has no name: its middle is not the lens's.
    """
    if shot.camera is None or shot.focal_length_mm is None or shot.cropped(width, height):
        return None
    aspect = max(width, height) / min(width, height)
    film = "" if shot.focal_length_35mm is None else f" ({shot.focal_length_35mm:.0f} mm eq.)"
    return f"{shot.camera}, {shot.focal_length_mm:.2f} mm{film}, {aspect:.2f}:1"


def prior_for(
    shot: Shot, width: int, height: int, lenses: LensProfile | Iterable[LensProfile] | None
) -> LensPrior:
    """Return what is known of the lens: a profile that matches, else EXIF, else what is usual."""
    known = (lenses,) if isinstance(lenses, LensProfile) else tuple(lenses or ())
    key = lens_key(shot, width, height)
    for lens in known:
        if key is not None and lens.key == key:
            return LensPrior(lens.focal, lens.focal_sigma, lens.k1, lens.k1_sigma, known=True)
    if shot.cropped(width, height):
        return LensPrior(*tuning.FOCAL_CROPPED, 0.0, tuning.K1_SIGMA, known=False)
    shortest, longest = tuning.FOCAL_EXIF_MM
    if shot.focal_length_35mm is not None and shortest <= shot.focal_length_35mm <= longest:
        diagonal = float(np.hypot(width, height)) / max(width, height)
        focal = shot.focal_length_35mm / _FILM_DIAGONAL_MM * diagonal
        return LensPrior(focal, tuning.FOCAL_EXIF_SIGMA, 0.0, tuning.K1_SIGMA, known=False)
    return LensPrior(*tuning.FOCAL_UNKNOWN, 0.0, tuning.K1_SIGMA, known=False)


@dataclass(frozen=True, eq=False)
class View:
    """Where the camera stood over the table, and its lens.

    `rvec`: Rodrigues vector of the rotation from table to camera; `tvec`: the table's origin in the
    camera's frame, inches; `focal` in pixels; `centre` in pixels (pixel centres are whole numbers).
    The table's frame: inches, x right, y up as the picture shows them, z towards the camera.
    """

    rvec: Floats
    tvec: Floats
    focal: float
    k1: float
    centre: tuple[float, float]

    @cached_property
    def rotation(self) -> Floats:
        """The 3 × 3 matrix of `rvec`."""
        return np.asarray(cv2.Rodrigues(self.rvec)[0], dtype=np.float64)

    @property
    def tilt_deg(self) -> float:
        """Angle between the line of sight and the table's upright."""
        return float(np.degrees(np.arccos(np.clip(-self.rotation[2, 2], -1, 1))))

    @property
    def height(self) -> float:
        """Height of the camera above the table, inches."""
        return float(-(self.rotation.T @ self.tvec)[2])

    def to_image(self, table: Floats) -> Floats:
        """Return the pixel positions (n × 2) of points on the table (n × 2, inches)."""
        seen = table @ self.rotation[:, :2].T + self.tvec
        flat = seen[:, :2] / seen[:, 2:]
        r2 = np.sum(flat * flat, axis=1, keepdims=True)
        return np.asarray(flat * (1 + self.k1 * r2) * self.focal + np.asarray(self.centre))

    def to_table(self, pixels: Floats) -> Floats:
        """Return where the line of sight through each pixel (n × 2) meets the table, inches.

        NaN where it does not meet it in front of the camera.
        """
        bent = (pixels - np.asarray(self.centre)) / self.focal
        radius = np.linalg.norm(bent, axis=1)
        straight = radius.copy()
        for _ in range(6):
            # Newton's method on r·(1 + k1·r²) = radius.
            slope = np.maximum(1 + 3 * self.k1 * straight**2, 0.2)
            straight -= (straight * (1 + self.k1 * straight**2) - radius) / slope
        flat = bent * (straight / np.maximum(radius, 1e-12))[:, None]
        rays = np.column_stack([flat, np.ones(len(flat))]) @ self.rotation
        eye = -self.rotation.T @ self.tvec
        with np.errstate(divide="ignore", invalid="ignore"):
            along = -eye[2] / rays[:, 2]
            table = eye[:2] + rays[:, :2] * along[:, None]
        table[~(along > 0)] = np.nan
        return np.asarray(table)

    def pixels_per_inch(self, table: Floats) -> Floats:
        """Return, for each point of the table (n × 2), the smaller local scale, pixels an inch."""
        step = 0.05
        base = self.to_image(table)
        along_x = (self.to_image(table + np.array([step, 0.0])) - base) / step
        along_y = (self.to_image(table + np.array([0.0, step])) - base) / step
        jacobians = np.stack([along_x, along_y], axis=2)
        return np.asarray(np.linalg.svd(jacobians, compute_uv=False)[:, -1])
