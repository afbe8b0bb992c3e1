"""A part of the cloth while it is cut: its outline, and the lines a ruler can be laid against."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from scrapstore.packing.pieces import following, preceding

__all__ = [
    "Part",
    "Reference",
    "angled",
    "bare_corners",
    "first_part",
    "fresh_corners",
    "is_fresh",
    "is_slanted",
    "nearly_along",
    "normal_of",
    "parallel",
    "split",
    "turns",
]

Floats = NDArray[np.float64]

_ON_LINE = 1e-6  # inches
_LEAST_PART = 1e-4  # square inches: a line that gives less than this is not a cut
_RULER_EDGE = 1.0  # inches: the least straight edge of raw cloth that a ruler is laid against
_RULER_CUT = 0.3  # and of a fresh cut
_PARALLEL = 1e-6  # sine of an angle
_BY_ANGLE_DEG = 15.0  # a ruler shows the multiples of this
_NEARLY = 0.998  # cosine of an angle that only a sum of rounding makes
_FRESH = 0.85  # of the way round a part; short tips count for nothing


@dataclass(frozen=True)
class Reference:
    """A straight line on the edge of a part: normal · point = offset; `key` names its cut."""

    key: int | Literal["edge"]
    normal: tuple[float, float]
    offset: float


@dataclass(frozen=True)
class Part:
    """`outline` with its `corners` (n, 2), and the references that still bound it."""

    outline: Polygon
    corners: Floats
    references: tuple[Reference, ...]


def normal_of(direction: Floats) -> Floats:
    """Return the unit normal, left of a direction, that points up, or right where it is level."""
    normal = np.array([-direction[1], direction[0]]) / math.hypot(*direction)
    # Exact for sides along the axes, so that straight cloth stays straight.
    normal[np.abs(normal) < 1e-12] = 0.0
    if normal[1] < -1e-9 or (abs(normal[1]) <= 1e-9 and normal[0] < 0):
        normal = -normal
    return normal + 0.0


def first_part(outline: Polygon) -> Part:
    """Return the whole cloth as part 0, with its straight edges as references."""
    ring = shapely.get_coordinates(outline.exterior)
    found: dict[tuple[float, float, float], Reference] = {}
    for start, side in zip(ring[:-1], np.diff(ring, axis=0), strict=True):
        if math.hypot(*side) >= _RULER_EDGE:
            normal = normal_of(side)
            offset = float(normal @ start)
            key = (round(float(normal[0]), 6), round(float(normal[1]), 6), round(offset, 6))
            found.setdefault(key, Reference("edge", (float(normal[0]), float(normal[1])), offset))
    return Part(outline, shapely.get_coordinates(outline), tuple(found.values()))


def split(
    part: Part, normal: Floats, offset: float, key: int
) -> tuple[list[Part], list[Part]] | None:
    """Cut a part along a line; return the parts on the side of `normal`, then the others.

    Each side is in order along the line, that is along `normal` turned by -90°. None where the
    line gives nothing on one side, or so little that it is no cut.
    """
    along = np.array([normal[1], -normal[0]])
    reach = float(np.ptp(part.corners, axis=0).sum()) + 1.0
    middle = part.corners.mean(axis=0)
    foot = middle + normal * (offset - float(normal @ middle))
    a, b = foot - along * 2 * reach, foot + along * 2 * reach
    own = Reference(key, (float(normal[0]), float(normal[1])), offset)
    sides: list[list[Part]] = []
    for way in (1.0, -1.0):
        far = normal * (2 * reach * way)
        half = shapely.polygons(np.array([a, b, b + far, a + far]))
        got = shapely.get_parts(shapely.intersection(part.outline, half)).tolist()
        pieces = [p for p in got if p.geom_type == "Polygon" and p.area > 1e-9]
        if not pieces or any(p.area < _LEAST_PART for p in pieces):
            return None
        made = [_part(piece, (*part.references, own)) for piece in pieces]
        if len(made) > 1:
            made.sort(key=lambda p: _begins(p, normal, offset, along))
        sides.append(made)
    return sides[0], sides[1]


def _begins(part: Part, normal: Floats, offset: float, along: Floats) -> float:
    on_line = np.abs(part.corners @ normal - offset) < _ON_LINE
    return float((part.corners[on_line] @ along).min()) if on_line.any() else math.inf


def _part(outline: Polygon, references: Sequence[Reference]) -> Part:
    corners = shapely.get_coordinates(outline)
    normals = np.array([r.normal for r in references])
    off = np.abs(corners @ normals.T - np.array([r.offset for r in references])) < _ON_LINE
    length = np.hypot(*np.diff(corners, axis=0).T)
    bounding = (off[:-1] & off[1:]).T @ length
    return Part(
        outline,
        corners,
        tuple(
            reference
            for reference, long in zip(references, bounding.tolist(), strict=True)
            if long >= (_RULER_EDGE if reference.key == "edge" else _RULER_CUT)
        ),
    )


def is_slanted(part: Part, normal: Floats) -> bool:
    """Tell whether a line is neither along nor square to any edge of a part."""
    cosines = np.abs(np.array([r.normal for r in part.references]).reshape(-1, 2) @ normal)
    return bool(len(cosines) and not np.any((cosines < 1e-6) | (cosines > 1 - 1e-9)))


def is_fresh(part: Part, ring: Floats) -> bool:
    """Tell whether a part is bounded nearly all round by cuts, or by edges flush with a piece.

    `ring` (n, 2) are the corners of the piece.
    """
    normals = np.array([r.normal for r in part.references]).reshape(-1, 2)
    offsets = np.array([r.offset for r in part.references])
    flush = (np.abs(ring @ normals.T - offsets) < _ON_LINE).sum(axis=0) > 1
    good = flush | [r.key != "edge" for r in part.references]
    if good.sum() < 3:
        return False
    on = np.abs(part.corners @ normals[good].T - offsets[good]) < _ON_LINE
    long = np.hypot(*np.diff(part.corners, axis=0).T)
    return float(long[(on[:-1] & on[1:]).any(axis=1)].sum()) > _FRESH * float(long.sum())


def nearly_along(part: Part, normal: Floats, level: float, step: float) -> bool:
    """Tell whether a cut bounds a part at a level along `normal`, askew by less than `step`."""
    for reference in part.references:
        own = np.array(reference.normal)
        if reference.key != "edge" and abs(float(own @ normal)) > _NEARLY:
            on = part.corners[np.abs(part.corners @ own - reference.offset) < _ON_LINE] @ normal
            if np.abs(on - level).max() < step:
                return True
    return False


def parallel(part: Part, normal: Floats) -> list[Reference]:
    """Return the references of a part that lie square to `normal`; cuts before raw edges."""
    found = []
    for reference in part.references:
        if abs(float(normal[0]) * reference.normal[1] - float(normal[1]) * reference.normal[0]) < (
            _PARALLEL
        ):
            way = float(normal @ np.array(reference.normal))
            found.append(
                Reference(reference.key, (float(normal[0]), float(normal[1])),
                          reference.offset * math.copysign(1.0, way))
            )  # fmt: skip
    return sorted(found, key=lambda r: r.key == "edge")


def angled(part: Part, normal: Floats) -> tuple[Reference | None] | None:
    """Return what a line of a new direction is laid against; (None,) for the first cut."""
    cuts = [r for r in part.references if r.key != "edge"]
    for reference in cuts[::-1]:
        cosine = abs(float(normal @ np.array(reference.normal)))
        angle = math.degrees(math.acos(min(1.0, cosine))) / _BY_ANGLE_DEG
        if round(angle) and abs(angle - round(angle)) < 1e-4:
            return (reference,)
    return None if cuts else (None,)


def fresh_corners(part: Part) -> Floats:
    """Return the corners of a part at which two of its references meet."""
    corners = bare_corners(part.corners)
    normals = np.array([r.normal for r in part.references]).reshape(-1, 2)
    on = np.abs(corners @ normals.T - np.array([r.offset for r in part.references])) < _ON_LINE
    fresh: Floats = corners[on.sum(axis=1) > 1]
    return fresh


def bare_corners(ring: Floats) -> Floats:
    """Return the corners of a ring at which it turns."""
    return turns(ring)[0]


def turns(ring: Floats) -> tuple[Floats, Floats, Floats]:
    """Return the corners (n, 2) at which a closed ring turns, and the ways there and on (n, 2)."""
    open_ring = ring[:-1]
    before = open_ring - preceding(open_ring)
    after = following(open_ring) - open_ring
    into, out = (way / np.hypot(*way.T)[:, None] for way in (before, after))
    bare = np.abs(into[:, 0] * out[:, 1] - into[:, 1] * out[:, 0]) > 1e-7
    return open_ring[bare], into[bare], out[bare]
