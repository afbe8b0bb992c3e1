"""Outlines as the store keeps them, and what is worked out from them for filters."""

from collections.abc import Sequence
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon

from scrapstore.errors import ShapeError, StoreError
from scrapstore.store.column_types import UnreadableValueError
from scrapstore.units import LONGEST_SCRAP

__all__ = [
    "checked_flaw",
    "flaws_from_wkb",
    "flaws_to_wkb",
    "outline_to_wkb",
    "outlines_from_wkb",
    "refuse_giants",
    "storable_outline",
]


FURTHEST: Final = 20_000.0
"""Inches from the origin of its frame that no corner of an outline goes beyond."""


def storable_outline(outline: Polygon, *, what: str) -> Polygon:
    """Return `outline` when it can be kept, with its outer ring counter-clockwise.

    Raises ShapeError, naming `what`, for an outline that is empty, crosses itself, or has
    coordinates that are no numbers or beyond `FURTHEST`.
    """
    if outline.is_empty or not outline.area > 0:
        msg = f"{what}: the outline encloses nothing; give at least three corners not in one line"
        raise ShapeError(msg)
    if not (np.abs(shapely.get_coordinates(outline)) <= FURTHEST).all():
        msg = (
            f"{what}: a corner of the outline is not a number, or lies more than "
            f"{FURTHEST:,.0f} in away; give every corner in inches"
        )
        raise ShapeError(msg)
    if not outline.is_valid:
        why = shapely.is_valid_reason(outline)
        msg = f"{what}: the outline crosses itself ({why}); list the corners in order round it"
        raise ShapeError(msg)
    return shapely.geometry.polygon.orient(outline)


def checked_flaw(flaw: Polygon, outline: Polygon) -> Polygon:
    """Return `flaw` as `storable_outline` does; ShapeError also when it lies beside the scrap."""
    checked = storable_outline(flaw, what="flaw")
    if not checked.intersects(outline):
        x, y = checked.centroid.coords[0]
        msg = f"flaw: the one about {x:g},{y:g} lies beside the scrap; give corners on the scrap"
        raise ShapeError(msg)
    return checked


def outline_to_wkb(outline: Polygon) -> bytes:
    """Return `outline` as little-endian WKB, so that a store reads the same on every machine."""
    return shapely.to_wkb(outline, byte_order=1)


def outlines_from_wkb(wkbs: Sequence[bytes]) -> list[Polygon]:
    """Return the polygon in each of `wkbs`, all read at once.

    Raises UnreadableValueError when one holds none, or one without area, or with a corner that is
    no number or lies further out than any cloth reaches.
    """
    read = _read(wkbs)
    kinds = shapely.get_type_id(read)
    if (wrong := kinds != shapely.GeometryType.POLYGON).any():
        raise UnreadableValueError(
            f"a {read[wrong][0].geom_type} stands where an outline should be"
        )
    _refuse_strange(read)
    return list(read)


def flaws_from_wkb(wkb: bytes | None) -> tuple[Polygon, ...]:
    """Return the flaws in `wkb`, in the order they were given; raises as `outlines_from_wkb`."""
    if wkb is None:
        return ()
    (geometry,) = _read([wkb])
    if not isinstance(geometry, MultiPolygon):
        raise UnreadableValueError(f"a {geometry.geom_type} stands where flaws should be")
    _refuse_strange(np.array([geometry]))
    return tuple(geometry.geoms)


def flaws_to_wkb(flaws: Sequence[Polygon]) -> bytes | None:
    """Return `flaws` as one WKB multipolygon, None when there are none."""
    return shapely.to_wkb(MultiPolygon(flaws), byte_order=1) if flaws else None


def refuse_giants(numbers: Sequence[int], outlines: Sequence[Polygon]) -> None:
    """Raise StoreError for the first scrap that is larger than any, and say how to put it right."""
    left, low, right, high = shapely.bounds(outlines).reshape(-1, 4).T
    longest = np.maximum(right - left, high - low)
    for at in np.flatnonzero(longest > LONGEST_SCRAP + 0.01)[:1]:
        msg = (
            f"scrap {numbers[at]} is {longest[at]:,.0f} in long, and no scrap is over "
            f"{LONGEST_SCRAP:.0f} in; put its size right with scrap edit {numbers[at]} --size, or "
            "retire it"
        )
        raise StoreError(msg)


def _read(wkbs: Sequence[bytes]) -> NDArray[np.object_]:
    try:
        with np.errstate(invalid="ignore"):  # what is no number is refused below
            return np.asarray(shapely.from_wkb(wkbs), dtype=object)
    except shapely.GEOSException as error:
        raise UnreadableValueError(f"an outline cannot be read ({error})") from error


def _refuse_strange(geometries: NDArray[np.object_]) -> None:
    corners = shapely.get_coordinates(geometries)
    # Also false for what is no number.
    if not (np.abs(corners) <= FURTHEST).all() or not (shapely.area(geometries) > 0).all():
        msg = "an outline encloses nothing, or a corner of it lies where no cloth reaches"
        raise UnreadableValueError(msg)
