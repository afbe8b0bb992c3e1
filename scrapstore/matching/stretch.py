"""A scrap drawn out in one direction: what it would hold if it were so much longer, or wider."""

import math
from itertools import pairwise

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon, affinity

from scrapstore.packing import union_of

__all__ = ["grown", "long_direction_deg"]


def long_direction_deg(region: Polygon | MultiPolygon) -> float:
    """Return the direction of the longer side of the smallest rectangle round the region."""
    around = region.minimum_rotated_rectangle
    assert isinstance(around, Polygon)
    (x0, y0), (x1, y1), (x2, y2), *_ = around.exterior.coords
    first, second = (x1 - x0, y1 - y0), (x2 - x1, y2 - y1)
    x, y = first if math.hypot(*first) >= math.hypot(*second) else second
    return math.degrees(math.atan2(y, x)) % 180


def grown(
    region: Polygon | MultiPolygon, direction_deg: float, inches: float
) -> Polygon | MultiPolygon:
    """Return the region drawn out by `inches`: all that it covers while it is moved so far."""
    turn = math.radians(direction_deg)
    x, y = inches * math.cos(turn), inches * math.sin(turn)
    parts: list[Polygon | MultiPolygon] = [region, affinity.translate(region, x, y)]
    for ring in shapely.get_rings(region).tolist():
        for a, b in pairwise(np.asarray(ring.coords)):
            side = Polygon([a, b, b + np.array((x, y)), a + np.array((x, y))])
            if side.area > 1e-12:
                parts.append(side.buffer(1e-9, join_style="mitre"))
    drawn = union_of(parts)
    assert isinstance(drawn, Polygon | MultiPolygon)
    return drawn
