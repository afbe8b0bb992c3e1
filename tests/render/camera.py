"""A pinhole camera with radial distortion over a flat table.

Table frame: inches, x to the right, y up, z towards the camera, the table is z = 0. Picture frame:
pixels, x right, y down, (0, 0) is the centre of the first pixel. Distortion as OpenCV writes it:
a point at radius r from the axis (in focal lengths) is seen at r (1 + k1 r²).
"""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]
Floats = NDArray[np.float32]
_STEP = 8


@dataclass(frozen=True)
class Camera:
    """Where the camera is and how it draws; `rotation` takes table directions to camera ones."""

    width: int
    height: int
    focal: float
    centre: tuple[float, float]
    k1: float
    rotation: NDArray[np.float64]
    position: NDArray[np.float64]

    @property
    def matrix(self) -> NDArray[np.float64]:
        """The 3×3 camera matrix in OpenCV's order."""
        cx, cy = self.centre
        return np.array([[self.focal, 0.0, cx], [0.0, self.focal, cy], [0.0, 0.0, 1.0]])

    @property
    def translation(self) -> NDArray[np.float64]:
        """OpenCV's tvec: the table's origin seen from the camera, inches."""
        return np.asarray(-self.rotation @ self.position)

    def project(self, xy: Points, z: float = 0.0) -> Points:
        """Pixels (n, 2) of table points (n, 2) at a height of `z` inches."""
        space = np.column_stack([xy, np.full(len(xy), z)])
        seen = (space - self.position) @ self.rotation.T
        flat = seen[:, :2] / seen[:, 2:]
        r2 = np.sum(flat**2, axis=1, keepdims=True)
        return np.asarray(flat * (1 + self.k1 * r2) * self.focal + np.array(self.centre))

    def unproject(self, pixels: Points) -> Points:
        """Table points (n, 2) in inches under pixels (n, 2)."""
        bent = (pixels - np.array(self.centre)) / self.focal
        far = np.linalg.norm(bent, axis=1)
        r = far.copy()
        for _ in range(12):  # Newton's method on r (1 + k1 r²) = far
            r -= (r * (1 + self.k1 * r**2) - far) / (1 + 3 * self.k1 * r**2)
        scale = np.divide(r, far, out=np.ones_like(r), where=far > 0)
        rays = np.column_stack([bent * scale[:, None], np.ones(len(bent))]) @ self.rotation
        return np.asarray(self.position[:2] - rays[:, :2] * (self.position[2] / rays[:, 2:]))

    def table_map(self) -> tuple[Floats, Floats]:
        """Table x and y in inches under each pixel, two (height, width) arrays.

        Worked out on every eighth pixel and drawn out by straight lines between: the map bends by
        less than 0.002 px over that way.
        """
        columns = np.arange(-1, self.width // _STEP + 2)
        rows = np.arange(-1, self.height // _STEP + 2)
        centre = (_STEP - 1) / 2
        px, py = np.meshgrid(columns * _STEP + centre, rows * _STEP + centre)
        xy = self.unproject(np.column_stack([px.ravel(), py.ravel()]))
        coarse = xy.reshape(len(rows), len(columns), 2).astype(np.float32)
        size = (len(columns) * _STEP, len(rows) * _STEP)
        fine = cv2.resize(coarse, size, interpolation=cv2.INTER_LINEAR)
        fine = fine[_STEP : _STEP + self.height, _STEP : _STEP + self.width]
        return np.ascontiguousarray(fine[..., 0]), np.ascontiguousarray(fine[..., 1])

    def pixels_per_inch(self, xy: tuple[float, float] = (0.0, 0.0)) -> float:
        """How many pixels an inch at a table point takes, geometric mean of both ways."""
        x, y = xy
        around = self.project(np.array([[x, y], [x + 0.01, y], [x, y + 0.01]]))
        along, up = around[1] - around[0], around[2] - around[0]
        return float(np.sqrt(abs(along[0] * up[1] - along[1] * up[0])) / 0.01)

    def view(self) -> Points:
        """The picture's border as a ring of table points, inches."""
        w, h = self.width - 1.0, self.height - 1.0
        t = np.linspace(0.0, 1.0, 9)[:-1]
        zero, one = np.zeros_like(t), np.ones_like(t)
        sides = [(t, zero), (one, t), (1 - t, one), (zero, 1 - t)]
        ring = np.concatenate([np.column_stack([x * w, y * h]) for x, y in sides])
        return self.unproject(ring)


def over_table(
    *,
    width: int,
    height: int,
    focal: float,
    camera_height: float,
    tilt_deg: float = 0.0,
    tilt_towards_deg: float = 90.0,
    roll_deg: float = 0.0,
    k1: float = 0.0,
    centre: tuple[float, float] | None = None,
) -> Camera:
    """A camera `camera_height` inches above the table whose axis meets the table at (0, 0).

    `tilt_deg` 0 looks straight down; otherwise it looks towards the table direction
    `tilt_towards_deg`. `roll_deg` turns it about its own axis; 0 keeps +y up in the picture.
    """
    tilt, azimuth, roll = np.radians([tilt_deg, tilt_towards_deg, roll_deg])
    ahead = np.array(
        [np.sin(tilt) * np.cos(azimuth), np.sin(tilt) * np.sin(azimuth), -np.cos(tilt)]
    )
    right = np.cross(ahead, [0.0, 1.0, 0.0])
    right /= np.linalg.norm(right)
    down = np.cross(ahead, right)
    turned = np.cos(roll) * right + np.sin(roll) * down
    rotation = np.vstack([turned, np.cross(ahead, turned), ahead])
    middle = ((width - 1) / 2, (height - 1) / 2) if centre is None else centre
    position = -ahead * camera_height / np.cos(tilt)
    return Camera(width, height, focal, middle, k1, rotation, position)
