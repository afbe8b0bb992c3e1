"""Ready-cut pieces: which are the very piece that a need asks for, or give it by a diagonal cut."""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon, affinity

from scrapstore.matching.forms import Need, ReadyStock

__all__ = ["SIDE_INCHES", "congruent", "pieces_each", "serves"]

# A stack of ready-cut pieces is taken as the same size when every side agrees to the thickness of
# a pencil line and every angle to what that line makes at the end of a short side.
SIDE_INCHES = 1 / 32
_ANGLE_DEG = 1.5

# A triangle cut from a ready-cut square may be larger by what the trade rounds its squares up by
# (finished size and 7/8 in, or 1 1/4 in); along a slanted side that is more by half.
_LARGER_INCHES = 3 / 32


def pieces_each(ready: ReadyStock, need: Need) -> int:
    """Return how many pieces of `need` one ready-cut piece gives; 0 for none.

    One as it is. A rectangle cut from corner to corner gives two triangles, a square cut along both
    diagonals four; they keep the grain rule as long as one side of the ready-cut piece lies on the
    straight grain, which of the two directions it is nobody knows.
    """
    if serves(ready, need):
        return 1
    if need.needs_grain or need.one_way:
        return 0
    mirror = need.mirror or ready.sides_alike
    wanted = list(_packed(need, mirror=mirror))
    for count, part in _by_diagonals(ready.outline):
        edges = _edges(part)
        if any(_gives(edges, other) for other in wanted):
            return count
    return 0


def _by_diagonals(outline: Polygon) -> Iterator[tuple[int, Polygon]]:
    """Yield how many triangles a rectangle gives, and one of them, its sides along the axes."""
    lengths, angles = _walk(outline)
    if len(lengths) != 4 or np.abs(angles - 90).max() > _ANGLE_DEG:
        return
    wide, tall = float(lengths[0] + lengths[2]) / 2, float(lengths[1] + lengths[3]) / 2
    yield 2, Polygon([(0, 0), (wide, 0), (wide, tall)])
    yield 2, Polygon([(0, 0), (wide, 0), (0, tall)])
    if abs(wide - tall) <= SIDE_INCHES:
        yield 4, Polygon([(0, 0), (wide, 0), (wide / 2, tall / 2)])


def _packed(need: Need, *, mirror: bool) -> Iterator[NDArray[np.float64]]:
    """Yield the edges of a piece in each way that the grain rule allows, by quarter turns."""
    for outline in (need.outline, *need.sews_as):
        for turn in {angle % 90 for angle in need.rotations_deg}:
            for quarter in (0, 90, 180, 270):
                yield _edges(affinity.rotate(outline, turn + quarter, origin=(0, 0)))
                if mirror:
                    # Turned over, an edge at angle a lies at 180° − a.
                    over = affinity.scale(outline, -1, 1, origin=(0, 0))
                    yield _edges(affinity.rotate(over, quarter - turn, origin=(0, 0)))


def _edges(outline: Polygon) -> NDArray[np.float64]:
    """Return direction (degrees) and length of each edge, counter-clockwise, (n, 2)."""
    corners = np.asarray(outline.exterior.coords)
    if not outline.exterior.is_ccw:
        corners = corners[::-1]
    x, y = np.diff(corners, axis=0).T
    return np.stack((np.degrees(np.arctan2(y, x)), np.hypot(x, y)), axis=1)


def _gives(part: NDArray[np.float64], piece: NDArray[np.float64]) -> bool:
    """Tell whether a part, as it lies, is the piece or larger by no more than the trade rounds."""
    if len(part) != len(piece):
        return False
    for shift in range(len(part)):
        turned, longer = (part - np.roll(piece, shift, axis=0)).T
        askew = np.abs((turned + 180) % 360 - 180).max()
        if askew <= _ANGLE_DEG and -SIDE_INCHES <= longer.min() <= longer.max() <= _LARGER_INCHES:
            return True
    return False


def serves(ready: ReadyStock, need: Need) -> bool:
    """Tell whether a ready-cut piece is, in size and in hand, what `need` asks for."""
    mirror = need.mirror or ready.sides_alike
    return any(
        congruent(ready.outline, outline, mirror=mirror)
        for outline in (need.outline, *need.sews_as, *need.ready_as)
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
            near = np.abs(np.roll(theirs, shift) - sides).max() <= SIDE_INCHES
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
