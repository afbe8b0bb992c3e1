"""Flowers of hexagons: one in the middle, and rings of 6, 12, 18 … round it, pieced over papers."""

import math
from collections.abc import Iterator
from typing import Final

import shapely
from shapely import Polygon

from scrapstore.designs.forms import Design, Lattice, PlacedPiece, Sizing, design_piece
from scrapstore.designs.sizes import nearest_piece, refuse_both

__all__ = ["PAPER_SEAM", "make_flower"]

PAPER_SEAM: Final = 0.375
"""Inches that a patch is larger than its paper on every side; common practice for hand piecing."""

_CORNERS: Final = ((0, 2), (-1, 1), (-1, -1), (0, -2), (1, -1), (1, 1))
_STEPS: Final = ((-1, 1), (-1, 0), (0, -1), (1, -1), (1, 0), (0, 1))
"""From the hexagon at the right round a ring, counter-clockwise, in hexagons along two axes."""


def make_flower(sizing: Sizing, *, rings: int) -> Design:
    """Return a flower with `rings` rings round its middle, every hexagon upright on a tip."""
    refuse_both(sizing)
    height = sizing.piece if sizing.piece is not None else nearest_piece(sizing, 2 * rings + 1)
    lattice = Lattice(height / 2, height / (2 * math.sqrt(3)))
    pieces = tuple(_hexagons(rings, lattice))
    outline = shapely.union_all([piece.outline for piece in pieces])
    assert isinstance(outline, Polygon)  # they share whole edges
    lines = [
        design_piece(f"{role} hexagon", max(1, 6 * ring), role, "hexagon", height=height)
        for ring, role in enumerate(map(_role, range(rings + 1)))
    ]
    return Design(
        name="hexagon-flower",
        title=f"Hexagon flower of {rings} ring{'s' * (rings > 1)}",
        outline=shapely.orient_polygons(outline),
        lines=tuple(lines),
        pieces=pieces,
        piece_size=height,
        size=(2 * rings + 1) * height,
        measured="wide",
        wanted=sizing.size,
        set_in_seams=6 * rings**2,
        notes=(
            "For piecing over papers: papers are the finished hexagons; a patch is cut larger by "
            "the seam allowance on every side, which folds over its paper.",
        ),
    )


def _hexagons(rings: int, lattice: Lattice) -> Iterator[PlacedPiece]:
    yield _hexagon(0, 0, (0, 0), lattice)
    for ring in range(1, rings + 1):
        q, r = ring, 0
        for number in range(6 * ring):
            yield _hexagon(ring, number, (q, r), lattice)
            step = _STEPS[number // ring]
            q, r = q + step[0], r + step[1]


def _hexagon(ring: int, number: int, at: tuple[int, int], lattice: Lattice) -> PlacedPiece:
    q, r = at
    corners = [(2 * q + r + a, 3 * r + b) for a, b in _CORNERS]
    role = _role(ring)
    return PlacedPiece(
        f"{ring + 1}.{number + 1}", f"{role} hexagon", role, ring + 1,
        number // ring + 1 if ring else None, role if ring else "middle", lattice.outline(corners),
        90.0,
    )  # fmt: skip


def _role(ring: int) -> str:
    return f"ring of {6 * ring}" if ring else "middle"
