"""The kinds of piece as they may lie, seen along one direction of cutting."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon

from scrapstore.packing.pieces import PieceKind, Placement, following, preceding, signed_area

__all__ = ["Turned", "directions_deg", "placement_of", "turn_matrix", "turned_kinds"]

Floats = NDArray[np.float64]

_ALIKE = 1e-6


@dataclass(frozen=True, eq=False)
class Turned:
    """One way to lay a kind: `corners` (n, 2), counter-clockwise, as seen along the rows.

    `drawn` are the corners in their own order, as the kind has them.
    """

    kind: int
    rotation_deg: float
    mirrored: bool
    corners: Floats
    drawn: Floats

    @property
    def triangle(self) -> Floats | None:
        """The triangle that it is, tips untrimmed; None for any other shape."""
        sides = following(self.corners) - self.corners
        long = np.hypot(sides[:, 0], sides[:, 1])
        three = np.sort(np.argsort(-long, kind="stable")[:3])
        if len(self.corners) > 3 and len(self.corners) - 3 > 3:
            return None
        lines = [(self.corners[i], sides[i] / long[i]) for i in three]
        turns = [_cross(lines[i][1], lines[(i + 1) % 3][1]) for i in range(3)]
        if min(turns) < 0.1 or (len(self.corners) > 3 and not _tips_only(long, three)):
            return None
        return np.array([_meet(lines[i - 1], lines[i]) for i in range(3)])

    def is_half_round(self, other: "Turned") -> bool:
        """Tell whether it is the other one, turned half round."""
        if self.kind != other.kind or len(self.corners) != len(other.corners):
            return False
        own = self.corners - self.corners.mean(axis=0)
        turned = -(other.corners - other.corners.mean(axis=0))
        return _same_corners(own, turned)


def _tips_only(long: Floats, three: NDArray[np.intp]) -> bool:
    """Tell whether the other sides are short: tips that were trimmed."""
    rest = [i for i in range(len(long)) if i not in three]
    return bool(long[rest].max() < 0.5 * long[three].min())


def _cross(a: Floats, b: Floats) -> float:
    return float(a[0] * b[1] - a[1] * b[0])


def _meet(a: tuple[Floats, Floats], b: tuple[Floats, Floats]) -> Floats:
    share = _cross(b[0] - a[0], b[1]) / _cross(a[1], b[1])
    point: Floats = a[0] + share * a[1]
    return point


def _same_corners(a: Floats, b: Floats) -> bool:
    if len(a) != len(b):
        return False
    apart = np.abs(a[:, None] - b[None]).max(axis=2)
    return bool((apart.min(axis=1) < _ALIKE).all())


def turned_kinds(kinds: Sequence[PieceKind], along_deg: float) -> list[Turned]:
    """Return the different ways to lay each kind, turned so that `along_deg` runs along x."""
    found: list[Turned] = []
    for number, kind in enumerate(kinds):
        own: list[Turned] = []
        ring = np.asarray(kind.outline.exterior.coords, dtype=np.float64)[:-1, :2]
        for mirrored in (False, True) if kind.mirror else (False,):
            for rotation in kind.turns_deg(mirrored=mirrored):
                drawn = ring * np.array([-1.0, 1.0]) if mirrored else ring
                drawn = drawn @ turn_matrix(rotation - along_deg).T
                corners = drawn if signed_area(drawn) > 0 else drawn[::-1]
                corners = _straightened(corners)
                if not any(
                    _same_corners(corners - corners.min(axis=0), o.corners - o.corners.min(axis=0))
                    for o in own
                ):
                    own.append(Turned(number, rotation, mirrored, corners, drawn))
        found += own
    return found


def directions_deg(kinds: Sequence[PieceKind]) -> list[float]:
    """Return the directions (0 to 180) of the sides of the kinds as they may lie, longest first."""
    length: dict[float, float] = {}
    for turned in turned_kinds(kinds, 0.0):
        for x, y in following(turned.corners) - turned.corners:
            angle = math.degrees(math.atan2(y, x)) % 180
            angle = round(0.0 if angle > 180 - 1e-6 else angle, 7)
            length[angle] = length.get(angle, 0.0) + math.hypot(x, y)
    return sorted(length, key=lambda angle: (-round(length[angle], 3), angle))


def turn_matrix(angle_deg: float) -> Floats:
    """Return the matrix that turns column vectors; quarter turns are exact."""
    quarter, rest = divmod(angle_deg % 360.0, 90.0)
    if rest < 1e-9:
        c, s = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarter) % 4]
    else:
        c, s = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    return np.array([[c, -s], [s, c]])


def _straightened(ring: Floats) -> Floats:
    """Drop corners at which the outline goes straight on."""
    before, after = ring - preceding(ring), following(ring) - ring
    turn = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    kept: Floats = ring[np.abs(turn) > 1e-7 * np.hypot(*before.T) * np.hypot(*after.T)]
    return kept


def placement_of(
    turned: Turned, corners: Floats, back: Floats, kinds: Sequence[PieceKind]
) -> Placement:
    """Return the piece with its corners (n, 2) there; `back` turns rows to how the cloth lies."""
    shift = corners.min(axis=0) - turned.corners.min(axis=0)
    outline = Polygon((turned.drawn + shift) @ back.T)
    return Placement(kinds[turned.kind].name, outline, turned.rotation_deg, turned.mirrored)
