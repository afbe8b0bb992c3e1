"""Frames on the table: a place x, y (inches) and a turn (radians, counter-clockwise)."""

import numpy as np

from scrapstore.photo.arrays import Floats

__all__ = ["box_at", "rotated"]


def rotated(points: Floats, turn: float) -> Floats:
    """Return points (n × 2) turned about the origin by `turn`, radians counter-clockwise."""
    cos, sin = np.cos(turn), np.sin(turn)
    return np.asarray(points @ np.array([[cos, sin], [-sin, cos]]))


def box_at(place: Floats, left: float, bottom: float, right: float, top: float) -> Floats:
    """Return the corners (4 × 2) on the table of a box given in the frame at `place`.

    Counter-clockwise from the left bottom.
    """
    corners = np.array([[left, bottom], [right, bottom], [right, top], [left, top]])
    return rotated(corners, place[2]) + place[:2]
