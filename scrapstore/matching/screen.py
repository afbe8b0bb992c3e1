"""Cheap screening: which scraps could serve which needs at all, worked out for all at once.

A scrap is let through for a need when the role allows its cloth, the grain rule can be kept on it,
and it is not plainly too small: in area, in its least width, and for the circle that the piece
holds. Each test only ever turns away what could not serve, so what is turned away counts as proven.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon

from scrapstore.matching.forms import Need, RoleRule, ScrapStock

__all__ = ["Screen", "min_width", "min_widths", "screen"]


@dataclass(frozen=True)
class Screen:
    """The scraps that might serve, in the order they came; one row each, one column a need.

    `may[i, j]` is whether scrap i may serve need j; `most[i, j]` is a proven limit on the pieces
    of need j that scrap i can give, from its area; `area[i]` its usable square inches.
    """

    scraps: tuple[ScrapStock, ...]
    may: NDArray[np.bool_]
    most: NDArray[np.int64]
    area: NDArray[np.float64]


def screen(
    scraps: Sequence[ScrapStock], needs: Sequence[Need], roles: Mapping[str, RoleRule]
) -> Screen:
    """Return the scraps that might serve at least one need."""
    may = _allowed(scraps, needs, roles)
    regions = np.array([scrap.region for scrap in scraps], dtype=object)
    area = shapely.area(regions) if len(regions) else np.zeros(0)
    outlines = [need.outline for need in needs]
    piece_area = np.array([outline.area for outline in outlines])
    may &= piece_area[None, :] <= area[:, None] + 1e-9
    width = np.zeros(len(scraps))
    open_rows = np.flatnonzero(may.any(axis=1))
    width[open_rows] = min_widths(regions[open_rows])
    may &= np.array([min_width(o) for o in outlines])[None, :] <= width[:, None] + 1e-9
    _hold_the_circle(regions, outlines, may)
    kept = np.flatnonzero(may.any(axis=1))
    most = np.floor(area[kept, None] / piece_area[None, :] + 1e-6).astype(np.int64)
    return Screen(
        scraps=tuple(scraps[int(i)] for i in kept),
        may=may[kept],
        most=np.where(may[kept], most, 0),
        area=area[kept],
    )


def _allowed(
    scraps: Sequence[ScrapStock], needs: Sequence[Need], roles: Mapping[str, RoleRule]
) -> NDArray[np.bool_]:
    """Return what the conditions say, (scraps, needs); asked once for each kind of cloth."""
    known: dict[object, list[bool]] = {}
    rows = []
    named = frozenset[int]().union(*(role.scraps for role in roles.values()))
    for scrap in scraps:
        number = scrap.id if scrap.id in named else None
        key = (scrap.families, scrap.value, scrap.fabric, scrap.fibre, scrap.grain_known, number)
        if key not in known:
            known[key] = [
                roles[need.role].allows(scrap) and (scrap.grain_known or not need.needs_grain)
                for need in needs
            ]
        rows.append(known[key])
    return np.array(rows, dtype=np.bool_).reshape(len(scraps), len(needs))


def _hold_the_circle(
    regions: NDArray[np.object_], outlines: Sequence[Polygon], may: NDArray[np.bool_]
) -> None:
    """Strike out of `may` where the largest circle in the piece finds no room in the region.

    The region shrunk by the radius is empty then. Arcs at inward corners are drawn by their chords,
    which takes off less than the true inset, and a hair is taken off the radius against rounding.
    """
    radii: dict[float, list[int]] = {}
    for j, outline in enumerate(outlines):
        radius = float(shapely.maximum_inscribed_circle(outline, tolerance=1e-4).length)
        radii.setdefault(math.floor(radius * 1e3) / 1e3 - 2e-3, []).append(j)
    for radius, columns in radii.items():
        rows = np.flatnonzero(may[:, columns].any(axis=1))
        if radius <= 0 or not len(rows):
            continue
        inner = shapely.buffer(regions[rows], -radius, quad_segs=4)
        lost = rows[shapely.is_empty(inner)]
        for j in columns:
            may[lost, j] = False


def min_width(shape: Polygon | MultiPolygon) -> float:
    """Return the least distance, in inches, between parallel lines that hold `shape` between them.

    A piece can lie in a region only if the region is at least as wide as the piece: a cheap test
    that never turns away a scrap that would do. Zero for an empty or a flat shape.
    """
    return float(min_widths(np.array([shape], dtype=object))[0])


def min_widths(shapes: NDArray[np.object_]) -> NDArray[np.float64]:
    """Return the least width of each shape, (n,); see `min_width`.

    The least width of a convex polygon is found with one line along an edge. Hulls with equally
    many corners are worked out together.
    """
    widths = np.zeros(len(shapes))
    hulls = shapely.convex_hull(shapes)
    flat = shapely.get_type_id(hulls) != shapely.GeometryType.POLYGON
    counts = np.where(flat, 0, shapely.get_num_coordinates(hulls))
    for count in np.unique(counts[counts > 0]):
        rows = np.flatnonzero(counts == count)
        # In runs, so that memory does not grow with the number of scraps.
        for part in np.array_split(rows, 1 + len(rows) // 4096):
            corners = shapely.get_coordinates(hulls[part]).reshape(len(part), count, 2)
            starts, edges = corners[:, :-1], np.diff(corners, axis=1)
            lengths = np.hypot(edges[..., 0], edges[..., 1])
            lengths[lengths == 0] = np.nan
            normals = np.stack([-edges[..., 1], edges[..., 0]], axis=2) / lengths[..., None]
            across = np.einsum("ied,icd->iec", normals, corners)
            across -= np.einsum("ied,ied->ie", normals, starts)[..., None]
            widths[part] = np.nanmin(np.abs(across).max(axis=2), axis=1)
    return widths
