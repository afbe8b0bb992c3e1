"""A part of the cloth while it is cut: its outline, and the lines a ruler can be laid against."""

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from scrapstore.packing.cutting.geometry import cross, half_plane_box, upward_normal, vertices

__all__ = [
    "Part",
    "Reference",
    "angled_reference",
    "has_cut_at",
    "is_bounded_by_cuts",
    "is_slanted",
    "parallel_references",
    "reference_corners",
    "split",
    "whole_part",
]

Floats = NDArray[np.float64]

_ON_LINE = 1e-6  # inches
_LEAST_PART = 1e-4  # square inches: a line that gives less than this is not a cut
_RULER_EDGE = 1.0  # inches: the least straight edge of raw cloth that a ruler is laid against
_RULER_CUT = 0.3  # inches: the same for an edge that was cut
_PARALLEL = 1e-6  # sine of an angle
_BY_ANGLE_DEG = 15.0  # a ruler shows the multiples of this
_NEARLY = 0.998  # cosine of an angle that only a sum of rounding makes
_CUT_SHARE = 0.85  # of the way round a part; short tips do not matter


@dataclass(frozen=True, eq=False)
class Reference:
    """A straight line on the edge of a part: normal · point = offset.

    `key` is the number of its cut, or "edge" for raw cloth; `normal` has length 1, shape (2,).
    """

    key: int | Literal["edge"]
    normal: Floats
    offset: float


@dataclass(frozen=True, eq=False)
class Part:
    """A part of the cloth, with the references that still bound it."""

    outline: Polygon
    references: tuple[Reference, ...]

    @cached_property
    def corners(self) -> Floats:
        """The coordinates (n, 2) of its rings, each ring closed."""
        return shapely.get_coordinates(self.outline)

    @cached_property
    def normals(self) -> Floats:
        """The normals (k, 2) of its references."""
        return np.array([r.normal for r in self.references]).reshape(-1, 2)

    def on_references(self, points: Floats) -> NDArray[np.bool_]:
        """Tell, shape (n, k), which of the points (n, 2) lie on which reference."""
        offsets = np.array([r.offset for r in self.references])
        on: NDArray[np.bool_] = np.abs(points @ self.normals.T - offsets) < _ON_LINE
        return on


def whole_part(outline: Polygon) -> Part:
    """Return the whole cloth as a part, with its straight edges as references."""
    ring = shapely.get_coordinates(outline.exterior)
    found: dict[tuple[float, ...], Reference] = {}
    for start, side in zip(ring[:-1], np.diff(ring, axis=0), strict=True):
        if math.hypot(*side) >= _RULER_EDGE:
            normal = upward_normal(side)
            offset = float(normal @ start)
            key = (*normal.round(6).tolist(), round(offset, 6))
            found.setdefault(key, Reference("edge", normal, offset))
    return Part(outline, tuple(found.values()))


def split(
    part: Part, normal: Floats, offset: float, key: int
) -> tuple[list[Part], list[Part]] | None:
    """Cut a part along a line; return the parts on the side of `normal`, then the others.

    The line is normal · point = offset, and `key` the number of the cut. Each side is in order
    along the line, that is along `normal` turned by -90°. None where the line gives nothing on one
    side, or so little that it is no cut.
    """
    along = np.array([normal[1], -normal[0]])
    reach = 2 * (float(np.ptp(part.corners, axis=0).sum()) + 1.0)
    middle = part.corners.mean(axis=0)
    cut = Reference(key, normal, offset)

    def begin(child: Part) -> float:
        on_line = np.abs(child.corners @ normal - offset) < _ON_LINE
        return float((child.corners[on_line] @ along).min(initial=math.inf))

    sides: list[list[Part]] = []
    for way in (1.0, -1.0):
        half = shapely.polygons(half_plane_box(way * normal, way * offset, middle, reach))
        found = shapely.get_parts(shapely.intersection(part.outline, half)).tolist()
        outlines = [p for p in found if p.geom_type == "Polygon" and p.area > 1e-9]
        if not outlines or any(p.area < _LEAST_PART for p in outlines):
            return None
        children = [_bounded(outline, (*part.references, cut)) for outline in outlines]
        sides.append(sorted(children, key=begin))
    return sides[0], sides[1]


def _bounded(outline: Polygon, references: tuple[Reference, ...]) -> Part:
    """Return the part with those references along which it has an edge long enough for a ruler."""
    part = Part(outline, references)
    on = part.on_references(part.corners)
    length = (on[:-1] & on[1:]).T @ np.hypot(*np.diff(part.corners, axis=0).T)
    least = [_RULER_EDGE if r.key == "edge" else _RULER_CUT for r in references]
    kept = tuple(r for r, long in zip(references, length >= least, strict=True) if long)
    return Part(outline, kept)


def is_slanted(part: Part, normal: Floats) -> bool:
    """Tell whether a line is neither along nor square to any reference of a part."""
    cosines = np.abs(part.normals @ normal)
    return bool(len(cosines) and not np.any((cosines < 1e-6) | (cosines > 1 - 1e-9)))


def is_bounded_by_cuts(part: Part, ring: Floats) -> bool:
    """Tell whether a part is bounded nearly all round by cuts, or by edges flush with a piece.

    `ring` (n, 2) are the corners of the piece.
    """
    flush = part.on_references(ring).sum(axis=0) > 1
    good = flush | [r.key != "edge" for r in part.references]
    if good.sum() < 3:
        return False
    on = part.on_references(part.corners)[:, good]
    length = np.hypot(*np.diff(part.corners, axis=0).T)
    return float(length[(on[:-1] & on[1:]).any(axis=1)].sum()) > _CUT_SHARE * float(length.sum())


def has_cut_at(part: Part, normal: Floats, level: float, step: float) -> bool:
    """Tell whether a cut bounds a part at a level along `normal`, askew by less than `step`."""
    on = part.on_references(part.corners).T
    return any(
        reference.key != "edge"
        and abs(float(reference.normal @ normal)) > _NEARLY
        and np.abs(part.corners[own] @ normal - level).max() < step
        for reference, own in zip(part.references, on, strict=True)
    )


def parallel_references(part: Part, normal: Floats) -> list[Reference]:
    """Return the references of a part with that normal or its opposite, as ones with that normal.

    Cuts come before raw edges.
    """
    found = [
        Reference(r.key, normal, r.offset * math.copysign(1.0, float(normal @ r.normal)))
        for r in part.references
        if abs(cross(normal, r.normal)) < _PARALLEL
    ]
    return sorted(found, key=lambda r: r.key == "edge")


def angled_reference(part: Part, normal: Floats) -> tuple[Reference | None] | None:
    """Return what a line of a new direction is laid against; (None,) for the first cut."""
    cuts = [r for r in part.references if r.key != "edge"]
    for reference in cuts[::-1]:
        cosine = abs(float(normal @ reference.normal))
        angle = math.degrees(math.acos(min(1.0, cosine))) / _BY_ANGLE_DEG
        if round(angle) and abs(angle - round(angle)) < 1e-4:
            return (reference,)
    return None if cuts else (None,)


def reference_corners(part: Part) -> Floats:
    """Return the corners (n, 2) of a part at which two of its references meet."""
    corners = vertices(part.corners[:-1])
    met: Floats = corners[part.on_references(corners).sum(axis=1) > 1]
    return met
