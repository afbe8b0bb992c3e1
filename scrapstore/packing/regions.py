"""Where pieces may be placed: the usable region of a scrap, and the positions of one piece in it.

A position is where the lower left of an oriented piece's bounds comes to lie. The feasible
positions are the region eroded by the piece; they are found as what remains of the region, shifted
to the piece's reference corner, when every position is taken away at which the piece covers a point
of the region's edge. The swept area of each edge is taken *filled*, so a flaw smaller than the
piece, which could lie wholly inside it, is felt as well.
"""

from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiLineString, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.validation import explain_validity

from scrapstore.errors import ShapeError
from scrapstore.packing.convex import Points, hulls, inset

__all__ = [
    "TOLERANCE",
    "Region",
    "as_region",
    "feasible_positions",
    "region_edges",
    "union_of",
    "usable_region",
]

Region = Polygon | MultiPolygon

# Every piece is taken this much smaller on each side, in inches, so that a piece that fits exactly
# has a place. Neighbours may thus overlap by twice as much, a fifth of the verifier's tolerance.
TOLERANCE = 1e-7

_GRID: Final = 1e-12  # inches
_REMEMBERED: Final = 1024  # a few kilobytes each


def usable_region(
    outline: Region,
    flaws: Iterable[Region] = (),
    margin: float = 0.0,
    edges: MultiLineString | None = None,
) -> MultiPolygon:
    """Return the part of a scrap that pieces may be cut from, in the scrap's own frame.

    `outline` is the true outline, `flaws` what must stay out of every piece, `margin` the width in
    inches of the frayed or uncertain edge, taken off the outline but not around flaws. `edges` is
    the part of the outline's edge that the margin is measured from, square to it: by default all
    of it. The result
    is empty when nothing is left. Raises ShapeError for an outline that crosses itself or a
    negative margin; a flaw that crosses itself is taken with all that it encloses.
    """
    if not margin >= 0:
        raise ShapeError(f"margin {margin} in: it must be 0 or more")
    region: BaseGeometry = as_region(outline)
    if margin and edges is not None:
        region = region.difference(
            shapely.line_merge(edges).buffer(margin, cap_style="flat", join_style="mitre")
        )
    elif margin:
        # Mitred where the outline turns inwards: a little more than the margin, never less.
        region = region.buffer(-margin, join_style="mitre", mitre_limit=2.0)
    holes = [flaw if flaw.is_valid else shapely.make_valid(flaw) for flaw in flaws]
    if holes:
        region = region.difference(union_of(holes))
    return as_region(region)


def as_region(region: BaseGeometry) -> MultiPolygon:
    """Return `region` as a MultiPolygon of parts with an area; raise ShapeError if it crosses."""
    if not region.is_valid:
        why = explain_validity(region)
        msg = f"the outline of the scrap crosses itself ({why}); list its corners in order"
        raise ShapeError(msg)
    parts = [part for part in _polygons(region) if part.area > 1e-9]
    if any(not np.isfinite(part.bounds).all() for part in parts):
        raise ShapeError("a corner of the scrap is not a number; check its outline")
    return MultiPolygon([shapely.force_2d(part) for part in parts])


def feasible_positions(region: MultiPolygon, parts: Sequence[Points]) -> MultiPolygon:
    """Return where a piece, given as convex parts around its reference point, lies in `region`.

    Answers are cached: while a plan is sought, the same scrap is filled many times.
    """
    return _feasible(region.wkb, tuple(part.tobytes() for part in parts))


@lru_cache(maxsize=_REMEMBERED)
def _feasible(region_wkb: bytes, part_bytes: tuple[bytes, ...]) -> MultiPolygon:
    """As `feasible_positions`, of what is equal by its bytes: by content, not by identity."""
    region = shapely.from_wkb(region_wkb)
    assert isinstance(region, MultiPolygon)
    feasible: BaseGeometry | None = None
    for part in (np.frombuffer(data).reshape(-1, 2) for data in part_bytes):
        at = _erode(region, inset(part, TOLERANCE))
        feasible = at if feasible is None else feasible.intersection(at)
    assert feasible is not None
    return MultiPolygon([p for p in _polygons(feasible) if not p.is_empty])


def _erode(region: MultiPolygon, part: Points) -> BaseGeometry:
    starts, ends = region_edges(region)
    if not len(starts):
        return MultiPolygon()
    # For a convex part, the positions that touch an edge are the hull of the part's mirror image
    # moved to the edge's two ends.
    swept = np.concatenate((starts[:, None] - part[None], ends[:, None] - part[None]), axis=1)
    blocked = hulls(swept)
    # The region is shifted by a point inside the part: the shifted edge then runs inside what is
    # blocked. Shifted by a corner, the two would share a line, and rounding would leave slivers.
    middle = part.mean(axis=0)
    shifted = shapely.transform(region, lambda at: at - middle)
    return shifted.difference(union_of(blocked))


def union_of(shapes: Sequence[BaseGeometry] | NDArray[np.object_]) -> BaseGeometry:
    """Return the union of valid shapes.

    GEOS refuses some valid shapes whose edges all but coincide ("side location conflict"). Those
    are united on a grid of 1e-12 in, which is far below every tolerance here.
    """
    try:
        return shapely.union_all(shapes)
    except shapely.GEOSException:
        return shapely.union_all(shapes, grid_size=_GRID)


def region_edges(region: BaseGeometry) -> tuple[Points, Points]:
    """Return the two ends of every edge of the region's rings, each (n, 2)."""
    rings = shapely.get_rings(shapely.get_parts(region))
    at, of = shapely.get_coordinates(rings, return_index=True)
    joined = of[1:] == of[:-1]
    return at[:-1][joined], at[1:][joined]


def _polygons(geometry: BaseGeometry) -> list[Polygon]:
    """Return the polygons of any geometry, without its points and lines."""
    parts = shapely.get_parts(shapely.get_parts(geometry))
    return [part for part in parts if isinstance(part, Polygon) and not part.is_empty]
