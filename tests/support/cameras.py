"""A camera over a table with printed squares, as numbers: for tests of what is solved from them."""

from collections.abc import Callable
from dataclasses import replace

import cv2
import numpy as np

from scrapstore.photo.scale.detect import FoundSquare
from scrapstore.photo.scale.lens import LensPrior, View
from scrapstore.photo.squares import SquareSet

SHAPE = (3000, 4000)
CENTRE = (1999.5, 1499.5)
LOOSE = SquareSet()
UNKNOWN = LensPrior(0.8, 0.3, 0.0, 0.05, known=False)
BELIEVED = LensPrior(0.74, 0.03, 0.0, 0.02, known=True)
"""A lens known as well as a few photos teach it; `drawn` makes cameras of which this is true."""
CORNERS = np.array([[-0.5, 0.5], [0.5, 0.5], [0.5, -0.5], [-0.5, -0.5]])


def camera(tilt_deg: float, towards_deg: float, height: float = 24.0, k1: float = 0.0) -> View:
    """A camera that looks at the table's origin from `height` inches along its line of sight."""
    tilt, towards = np.radians([tilt_deg, towards_deg])
    axis = np.array([np.cos(towards), np.sin(towards), 0.0])
    upright = np.diag([1.0, -1.0, -1.0])
    rotation = upright @ np.asarray(cv2.Rodrigues(axis * tilt)[0])
    rvec = np.asarray(cv2.Rodrigues(rotation)[0]).ravel()
    return View(rvec, np.array([0.0, 0.0, height]), 0.74 * 4000, k1, CENTRE)


def drawn(rng: np.random.Generator) -> View:
    """A camera whose lens is drawn by chance from what BELIEVED says of it."""
    view = camera(rng.uniform(0, 20), rng.uniform(0, 360))
    focal = BELIEVED.focal * max(SHAPE) * float(np.exp(rng.normal(0, BELIEVED.focal_sigma)))
    return replace(view, focal=focal, k1=float(rng.normal(BELIEVED.k1, BELIEVED.k1_sigma)))


def opencv_image(view: View, table: np.ndarray) -> np.ndarray:
    """Where OpenCV's camera shows points on the table (n × 2, inches)."""
    matrix = np.array([[view.focal, 0, CENTRE[0]], [0, view.focal, CENTRE[1]], [0, 0, 1]])
    solid = np.column_stack([table, np.zeros(len(table))])
    bend = np.array([view.k1, 0.0, 0.0, 0.0])
    return np.asarray(cv2.projectPoints(solid, view.rvec, view.tvec, matrix, bend)[0]).reshape(
        -1, 2
    )


def seen(
    view: View, places: np.ndarray, noise: float, rng: np.random.Generator,
    image: Callable[[View, np.ndarray], np.ndarray] = View.to_image,
) -> tuple[FoundSquare, ...]:  # fmt: skip
    found = []
    for number, (x, y, turn) in enumerate(places):
        cos, sin = np.cos(turn), np.sin(turn)
        table = CORNERS @ np.array([[cos, sin], [-sin, cos]]) + (x, y)
        corners = image(view, table) + rng.normal(0, noise, (4, 2))
        found.append(FoundSquare(number, corners, 0.1, 0.8))
    return tuple(found)


SPREAD = np.array([[-11, -7, 0.3], [11, -6, 1.9], [-10, 7, -0.7], [10, 8, 2.8], [1, 0, 0.1]], float)
