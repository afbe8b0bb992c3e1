"""The forms of the packer: what may be cut, and where it was put.

Inches, y up, degrees counter-clockwise. The packer works in the frame of the region it is given;
for a scrap that is the frame in which 0° is the lengthwise grain.
"""

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import Polygon
from shapely.validation import explain_validity

from scrapstore.errors import ShapeError

__all__ = [
    "Layout",
    "Orientation",
    "PieceKind",
    "Placement",
    "alike",
    "believed",
    "check_kinds",
    "following",
    "lengths",
    "orientations",
    "preceding",
    "products",
    "rotation_matrix",
    "signed_area",
]

Points = NDArray[np.float64]
"""Corners, shape (n, 2), inches."""

_ALIKE = 1e-8
"""Inches; a tenth of the tolerance with which `regions` lets a piece fit."""


@dataclass(frozen=True)
class PieceKind:
    """One kind of piece that may be cut.

    `outline` is the cut outline in the piece's own frame (inches, no holes); `wanted` the most that
    may be cut; `rotations_deg` the turns that the grain rule allows; `mirror` whether the piece may
    also be turned over; `value` what one piece is worth (None: its area in square inches).
    `mirrored_rotations_deg` are the turns of the piece turned over (None: the same). Turning over
    is x → −x, done before the turn; an edge drawn at angle a then lies at 180° − a.

    Raises ShapeError, naming the kind, when one of these cannot be.
    """

    name: str
    outline: Polygon
    wanted: int
    rotations_deg: tuple[float, ...]
    mirror: bool
    value: float | None = None
    mirrored_rotations_deg: tuple[float, ...] | None = None

    def __post_init__(self) -> None:
        if self.outline.is_empty:
            raise ShapeError(f"piece {self.name!r}: its outline is empty; give at least 3 corners")
        if not np.isfinite(np.asarray(self.outline.exterior.coords)).all():
            raise ShapeError(f"piece {self.name!r}: a corner is not a number; check its measures")
        if not self.outline.is_valid:
            why = explain_validity(self.outline)
            msg = f"piece {self.name!r}: its outline crosses itself ({why}); list corners in order"
            raise ShapeError(msg)
        if self.outline.interiors:
            raise ShapeError(
                f"piece {self.name!r}: a piece cannot have a hole; give its outer edge"
            )
        if self.outline.area < 1e-4:
            raise ShapeError(f"piece {self.name!r}: it has no area; check its measures")
        if self.wanted < 0:
            msg = f"piece {self.name!r}: {self.wanted} wanted; the number must be 0 or more"
            raise ShapeError(msg)
        if not self.rotations_deg or not all(map(math.isfinite, self.rotations_deg)):
            msg = f"piece {self.name!r}: no rotation is allowed; give at least one, for example 0"
            raise ShapeError(msg)
        if self.mirrored_rotations_deg is not None and not all(
            map(math.isfinite, self.mirrored_rotations_deg)
        ):
            raise ShapeError(f"piece {self.name!r}: a mirrored rotation is not a number")
        if self.value is not None and not (math.isfinite(self.value) and self.value >= 0):
            msg = f"piece {self.name!r}: value {self.value}; it must be 0 or more, or left out"
            raise ShapeError(msg)

    def allowed_rotations_deg(self, *, mirrored: bool) -> tuple[float, ...]:
        """Return the rotations allowed for the piece as drawn, or for its mirror image."""
        if mirrored and self.mirrored_rotations_deg is not None:
            return self.mirrored_rotations_deg
        return self.rotations_deg

    @property
    def worth(self) -> float:
        """What one piece adds to a layout's value."""
        return self.outline.area if self.value is None else self.value


@dataclass(frozen=True)
class Placement:
    """One piece placed on the cloth: its kind's name and its outline in the region's inches."""

    kind: str
    outline: Polygon
    rotation_deg: float = 0.0
    mirrored: bool = False


def believed(bound: float, value: float) -> float:
    """Return `bound` as it holds beside a layout worth `value`: never below, rounding apart.

    A bound that is clearly below what has been placed is wrong, and says nothing; it must not turn
    into a proof that the layout is the best.
    """
    return max(bound, value) if bound >= value * (1 - 1e-9) else math.inf


@dataclass(frozen=True)
class Layout:
    """Pieces placed on one region.

    `value` is the sum of the pieces' worth; `bound` a proven upper limit of what any layout of the
    same pieces on the same region can be worth.
    """

    placements: tuple[Placement, ...]
    value: float
    bound: float

    @property
    def proven(self) -> bool:
        """Whether no better layout exists."""
        return self.value >= self.bound * (1 - 1e-9)

    def counts(self) -> dict[str, int]:
        """Return how many pieces of each kind are placed; kinds without a piece are left out."""
        return dict(Counter(placement.kind for placement in self.placements))


@dataclass(frozen=True, eq=False)
class Orientation:
    """One allowed orientation of a kind: turned, perhaps mirrored, with its bounds starting at 0.

    `corners` (n, 2) counter-clockwise without straight corners; `size` its width and height;
    `drawn` the corners of the kind's own outline in this orientation, for output.
    """

    kind: int
    rotation_deg: float
    mirrored: bool
    corners: Points
    drawn: Points
    size: tuple[float, float]
    area: float

    def placed(self, x: float, y: float, name: str) -> Placement:
        """Return the piece with the lower left of its bounds at (x, y)."""
        outline = Polygon(self.drawn + np.array([x, y]))
        return Placement(name, outline, self.rotation_deg, self.mirrored)


def check_kinds(kinds: Sequence[PieceKind]) -> None:
    """Raise ShapeError when two kinds bear the same name."""
    for name, count in Counter(kind.name for kind in kinds).items():
        if count > 1:
            raise ShapeError(f"two kinds of piece are called {name!r}; give each its own name")


def orientations(
    kinds: Iterable[PieceKind], along_deg: float = 0.0, apart: float = _ALIKE
) -> list[Orientation]:
    """Return the different orientations of each kind, kinds in order; equal outlines only once.

    They are seen in a frame whose x axis runs along `along_deg`. `apart` is how far in inches the
    corners of outlines that count as equal may lie apart.
    """
    found: list[Orientation] = []
    for number, kind in enumerate(kinds):
        own: list[Orientation] = []
        for mirrored in (False, True) if kind.mirror else (False,):
            for rotation in kind.allowed_rotations_deg(mirrored=mirrored):
                turned = _oriented(number, kind.outline, rotation, along_deg, mirrored)
                if not any(alike(turned.corners, other.corners, apart) for other in own):
                    own.append(turned)
        found += own
    return found


def following(ring: Points) -> Points:
    """Return for each corner the one after it; many times quicker than `numpy.roll` on few."""
    return np.concatenate((ring[1:], ring[:1]))


def lengths(vectors: Points) -> Points:
    """Return the length of each vector, shape (n,); rounded alike on every processor.

    `numpy.hypot` is left to the system's library, and products of matrices to one that chooses its
    way by processor and threads: the packer uses neither.
    """
    found: Points = np.sqrt(vectors[:, 0] * vectors[:, 0] + vectors[:, 1] * vectors[:, 1])
    return found


def products(vectors: Points, others: Points) -> Points:
    """Return the scalar product of each vector (n, 2) with each of others (m, 2), shape (n, m)."""
    found: Points = vectors[:, :1] * others[:, 0] + vectors[:, 1:] * others[:, 1]
    return found


def preceding(ring: Points) -> Points:
    """Return for each corner the one before it."""
    return np.concatenate((ring[-1:], ring[:-1]))


def alike(a: Points, b: Points, apart: float = _ALIKE) -> bool:
    """Tell whether two outlines have the same corners, to a tenth of what a fit is tolerant of.

    So every position of the one is, within that tolerance, one of the other. Corners that were
    printed with six decimals and turned by half a circle are not alike: where cloth is exactly as
    large as the piece, only one of the two may fit.
    """
    if len(a) != len(b):
        return False
    gap = np.abs(a[:, None] - b[None]).max(axis=2)
    return bool((gap.min(axis=1) < apart).all())


def _oriented(
    kind: int, outline: Polygon, rotation_deg: float, along_deg: float, mirrored: bool
) -> Orientation:
    drawn = np.asarray(outline.exterior.coords, dtype=np.float64)[:-1, :2].copy()
    if mirrored:
        drawn[:, 0] *= -1.0
    drawn = products(drawn, rotation_matrix(rotation_deg - along_deg))
    drawn -= drawn.min(axis=0)
    if signed_area(drawn) < 0:
        drawn = drawn[::-1].copy()
    corners = _without_straight_corners(drawn)
    width, height = drawn.max(axis=0)
    area = signed_area(drawn)
    return Orientation(kind, rotation_deg, mirrored, corners, drawn, (width, height), area)


def rotation_matrix(rotation_deg: float) -> Points:
    """Return the matrix (2, 2) that rotates column vectors; quarter turns are exact.

    Sine and cosine may differ in the last bits from one system's library to another's, so they are
    rounded.
    """
    quarter, rest = divmod(rotation_deg % 360.0, 90.0)
    if rest == 0.0:
        c, s = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarter) % 4]
    else:
        angle = math.radians(rotation_deg)
        c, s = round(math.cos(angle), 12), round(math.sin(angle), 12)
    return np.array([[c, -s], [s, c]])


def signed_area(corners: Points) -> float:
    """Return the area (square inches) inside a ring (n, 2), below 0 where it runs clockwise."""
    after = following(corners)
    return float(0.5 * np.sum(corners[:, 0] * after[:, 1] - after[:, 0] * corners[:, 1]))


def _without_straight_corners(corners: Points) -> Points:
    """Drop corners that lie within 1e-9 in of the line through their neighbours."""
    kept = corners
    while len(kept) > 3:
        before, after = preceding(kept), following(kept)
        along = after - before
        reach = np.maximum(lengths(along), 1e-12)
        off = along[:, 0] * (kept[:, 1] - before[:, 1]) - along[:, 1] * (kept[:, 0] - before[:, 0])
        straight = np.flatnonzero(np.abs(off) / reach < 1e-9)
        if not len(straight):
            break
        kept = np.delete(kept, straight[0], axis=0)
    return kept
