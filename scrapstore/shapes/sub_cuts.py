"""How a strip with a row of equal pieces is sub-cut: at which angle, and how far apart."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from shapely import Polygon

__all__ = ["SubCuts", "sub_cuts"]

_SAME: Final = 1e-6  # inches


@dataclass(frozen=True, slots=True)
class SubCuts:
    """The cuts across a strip; `slant_deg` is their angle to it, 90 straight across.

    `apart` is the distance from one cut to the next in inches, square across the cuts, as a ruler
    measures it; None where the pieces leave cloth between them, or cuts of another slant.
    """

    slant_deg: float
    apart: float | None


def sub_cuts(outline: Polygon, step: tuple[float, float]) -> SubCuts:
    """Return the cuts for a row of pieces like `outline`, each moved on by `step` (inches).

    The longest side that does not run along the row gives the slant. Of 60° diamonds the cuts are
    as far apart as the diamond is high, with trimmed tips too.

    >>> from scrapstore.shapes import make_shape
    >>> cuts = sub_cuts(make_shape("diamond-60", height=1.75).outline, (1.75 / 3**0.5 * 2, 0))
    >>> round(cuts.slant_deg), round(cuts.apart or 0, 6)
    (60, 1.75)
    """
    corners = np.asarray(outline.exterior.coords)[:, :2]
    along = np.array(step) / math.hypot(*step)
    sides = np.diff(corners, axis=0)
    rise = np.abs(sides[:, 0] * along[1] - sides[:, 1] * along[0])
    length = np.hypot(sides[:, 0], sides[:, 1])
    longest = int(np.argmax(np.where(rise > _SAME, length, 0.0)))
    slant = math.degrees(math.asin(min(1.0, float(rise[longest] / length[longest]))))
    normal = np.array([-sides[longest, 1], sides[longest, 0]]) / length[longest]
    apart = abs(float(normal @ np.array(step)))
    # The cut that ends one piece begins the next, if the piece fills what lies between.
    fills = abs(float(np.ptp(corners @ normal)) - apart) < _SAME
    return SubCuts(slant, apart if fills else None)
