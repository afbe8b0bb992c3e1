"""What sticks out of a ring of edge points and is too narrow for cloth."""

from collections.abc import Callable

import numpy as np
import shapely
from shapely.geometry import Polygon

from scrapstore.photo.arrays import Floats
from scrapstore.photo.outline import tuning
from scrapstore.photo.outline.rings import polygons_of, signed_area

__all__ = ["remove_slivers"]


def remove_slivers(points: Floats, scrap_share: Callable[[Floats], float]) -> Floats:
    """Return the ring (n × 2, inches) without what sticks out of it and is narrower than a thread.

    That is loose threads and bits of lines on the table; a sharp corner shows the scrap's colours,
    which `scrap_share` measures.
    """
    polygon = Polygon(points)
    if signed_area(points) <= 0 or not polygon.is_valid:
        return points
    opened = polygon.buffer(-tuning.SLIVER, join_style="mitre").buffer(
        tuning.SLIVER, join_style="mitre"
    )
    kept = max(polygons_of(opened), key=lambda part: part.area, default=None)
    if kept is None or kept.area < tuning.SLIVER_KEEPS * polygon.area:
        return points
    lost = polygon.difference(kept.buffer(tuning.SLIVER_SLACK))
    slivers = [
        part
        for part in polygons_of(lost)
        if part.length / 2 > tuning.SLIVER_LENGTH
        and scrap_share(_within(part)) < tuning.SLIVER_SHARE
    ]
    if not slivers:
        return points
    away = shapely.distance(shapely.points(points), shapely.unary_union(slivers)) > 1e-6
    return points[away] if np.count_nonzero(away) >= tuning.LEAST_PROFILES else points


def _within(part: Polygon) -> Floats:
    rim = shapely.get_coordinates(shapely.segmentize(part.exterior, tuning.SLIVER_SPACING))
    return np.asarray(rim + tuning.SLIVER_INWARD * (np.asarray(part.centroid.coords[0]) - rim))
