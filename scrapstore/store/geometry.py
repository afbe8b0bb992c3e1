"""Outlines as the store keeps them, and what is worked out from them for filters."""

import json
from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from scrapstore.errors import ShapeError, StoreDamagedError

__all__ = [
    "checked_flaw",
    "checked_outline",
    "flaws_from_wkb",
    "flaws_to_wkb",
    "outline_from_wkb",
    "outline_to_wkb",
    "wkb_to_geojson",
]


def checked_outline(outline: Polygon, *, what: str) -> Polygon:
    """Return `outline` when it can be kept, with its outer ring counter-clockwise.

    Raises ShapeError, naming `what`, for an outline that is empty, crosses itself, or has
    coordinates that are no numbers.
    """
    if outline.is_empty or not outline.area > 0:
        msg = f"{what}: the outline encloses nothing; give at least three corners not in one line"
        raise ShapeError(msg)
    if not np.isfinite(shapely.get_coordinates(outline)).all():
        msg = f"{what}: a corner of the outline is not a number; give every corner in inches"
        raise ShapeError(msg)
    if not outline.is_valid:
        why = shapely.is_valid_reason(outline)
        msg = f"{what}: the outline crosses itself ({why}); list the corners in order round it"
        raise ShapeError(msg)
    return shapely.geometry.polygon.orient(outline)


def checked_flaw(flaw: Polygon, outline: Polygon) -> Polygon:
    """Return `flaw` as `checked_outline` does; ShapeError also when it lies beside the scrap."""
    checked = checked_outline(flaw, what="flaw")
    if not checked.intersects(outline):
        x, y = checked.centroid.coords[0]
        msg = f"flaw: the one about {x:g},{y:g} lies beside the scrap; give corners on the scrap"
        raise ShapeError(msg)
    return checked


def outline_to_wkb(outline: Polygon) -> bytes:
    """Return `outline` as little-endian WKB, so that a store reads the same on every machine."""
    return shapely.to_wkb(outline, byte_order=1)


def outline_from_wkb(wkb: bytes) -> Polygon:
    """Return the polygon in `wkb`; StoreDamagedError when it holds none."""
    geometry = _read(wkb)
    if not isinstance(geometry, Polygon):
        raise _damaged(f"a {geometry.geom_type} stands where an outline should be")
    return geometry


def flaws_to_wkb(flaws: Sequence[Polygon]) -> bytes | None:
    """Return `flaws` as one WKB multipolygon, None when there are none."""
    return shapely.to_wkb(MultiPolygon(flaws), byte_order=1) if flaws else None


def flaws_from_wkb(wkb: bytes | None) -> tuple[Polygon, ...]:
    """Return the flaws in `wkb`, in the order they were given."""
    if wkb is None:
        return ()
    geometry = _read(wkb)
    if not isinstance(geometry, MultiPolygon):
        raise _damaged(f"a {geometry.geom_type} stands where flaws should be")
    return tuple(geometry.geoms)


def wkb_to_geojson(wkb: bytes) -> dict[str, Any]:
    """Return the geometry in `wkb` as a GeoJSON object, for the history."""
    geojson: dict[str, Any] = json.loads(json.dumps(shapely.geometry.mapping(_read(wkb))))
    return geojson


def _read(wkb: bytes) -> BaseGeometry:
    try:
        return shapely.from_wkb(wkb)
    except shapely.GEOSException as error:
        raise _damaged(str(error)) from error


def _damaged(why: str) -> StoreDamagedError:
    return StoreDamagedError(
        f"an outline in the store cannot be read ({why}); go back to a copy from its backups folder"
    )
