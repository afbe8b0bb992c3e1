"""A camera over a table with printed squares, as numbers: for tests of what is solved from them."""

import cv2
import numpy as np

from scrapstore.photo.detect import FoundSquare
from scrapstore.photo.lens import LensPrior, View
from scrapstore.photo.squares import SquareSet

SHAPE = (3000, 4000)
CENTRE = (1999.5, 1499.5)
LOOSE = SquareSet()
UNKNOWN = LensPrior(0.8, 0.3, 0.0, 0.05, known=False)
CORNERS = np.array([[-0.5, 0.5], [0.5, 0.5], [0.5, -0.5], [-0.5, -0.5]])


def camera(tilt_deg: float, towards_deg: float, height: float = 24.0, k1: float = 0.0) -> View:
    """A camera that looks at the table's origin from `height` inches along its line of sight."""
    tilt, towards = np.radians([tilt_deg, towards_deg])
    axis = np.array([np.cos(towards), np.sin(towards), 0.0])
    upright = np.diag([1.0, -1.0, -1.0])
    rotation = upright @ np.asarray(cv2.Rodrigues(axis * tilt)[0])
    rvec = np.asarray(cv2.Rodrigues(rotation)[0]).ravel()
    return View(rvec, np.array([0.0, 0.0, height]), 0.74 * 4000, k1, CENTRE)


def seen(
    view: View, places: np.ndarray, noise: float, rng: np.random.Generator
) -> tuple[FoundSquare, ...]:
    found = []
    for number, (x, y, turn) in enumerate(places):
        cos, sin = np.cos(turn), np.sin(turn)
        table = CORNERS @ np.array([[cos, sin], [-sin, cos]]) + (x, y)
        corners = view.to_image(table) + rng.normal(0, noise, (4, 2))
        found.append(FoundSquare(number, corners, 0.1, 0.8))
    return tuple(found)


SPREAD = np.array([[-11, -7, 0.3], [11, -6, 1.9], [-10, 7, -0.7], [10, 8, 2.8], [1, 0, 0.1]], float)
