"""Pieces that must stay whole while the cloth round them is cut."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from scrapstore.packing.cutting.geometry import distinct_normals
from scrapstore.packing.pieces import following

__all__ = ["ProtectedPiece", "pieces_within", "side_normals"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class ProtectedPiece:
    """The convex hull of a placed piece: `corners` (n, 2), inches, counter-clockwise.

    `number` is the index of its placement.
    """

    number: int
    corners: Floats

    def moved(self, shift: Floats) -> "ProtectedPiece":
        """Return the piece translated by `shift` (2,)."""
        return ProtectedPiece(self.number, self.corners + shift)


def pieces_within(outline: Polygon, pieces: list[ProtectedPiece]) -> list[ProtectedPiece]:
    """Return the pieces whose mean corner lies in an outline."""
    middles = [shapely.Point(piece.corners.mean(axis=0)) for piece in pieces]
    return [p for p, middle in zip(pieces, middles, strict=True) if outline.contains(middle)]


def side_normals(pieces: Sequence[ProtectedPiece]) -> list[Floats]:
    """Return the distinct upward unit normals (2,) of all sides of the pieces, in sorted order."""
    sides = [side for piece in pieces for side in following(piece.corners) - piece.corners]
    return sorted(distinct_normals(sides), key=lambda normal: normal.round(5).tolist())
