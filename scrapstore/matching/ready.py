"""Ready-cut pieces: which of them are the very piece that a need asks for."""

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon

from scrapstore.matching.forms import Need, ReadyStock

__all__ = ["congruent", "serves"]

# A stack of ready-cut pieces is taken as the same size when every side agrees to the thickness of
# a pencil line and every angle to what that line makes at the end of a short side.
_SIDE_INCHES = 1 / 32
_ANGLE_DEG = 1.5


def serves(ready: ReadyStock, need: Need) -> bool:
    """Tell whether a ready-cut piece is, in size and in hand, what `need` asks for."""
    mirror = need.mirror or ready.sides_alike
    return any(
        congruent(ready.outline, outline, mirror=mirror)
        for outline in (need.outline, *need.sews_as)
    )


def congruent(one: Polygon, other: Polygon, *, mirror: bool) -> bool:
    """Tell whether two outlines are the same piece, turned (and turned over, with `mirror`)."""
    sides, angles = _walk(one)
    candidates = [other]
    if mirror:
        candidates.append(Polygon([(-x, y) for x, y in other.exterior.coords]))
    for candidate in candidates:
        theirs, their_angles = _walk(candidate)
        if len(theirs) != len(sides):
            continue
        for shift in range(len(sides)):
            near = np.abs(np.roll(theirs, shift) - sides).max() <= _SIDE_INCHES
            if near and np.abs(np.roll(their_angles, shift) - angles).max() <= _ANGLE_DEG:
                return True
    return False


def _walk(outline: Polygon) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return side lengths and the angle at the start of each side, counter-clockwise."""
    corners = np.asarray(outline.exterior.coords)[:-1]
    if not outline.exterior.is_ccw:
        corners = corners[::-1]
    edges = np.roll(corners, -1, axis=0) - corners
    turn = np.arctan2(edges[:, 1], edges[:, 0])
    inner = 180 - np.degrees((turn - np.roll(turn, 1) + np.pi) % (2 * np.pi) - np.pi)
    return np.hypot(edges[:, 0], edges[:, 1]), inner
