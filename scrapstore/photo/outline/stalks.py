"""Narrow parts of a scrap that its outline leaves out: stalks, and strips that hang on.

The first look takes what is narrow for a thread or a line of the table. Whoever cuts by the outline
loses nothing by it, but is told.
"""

from collections.abc import Callable

import numpy as np

from scrapstore.photo.arrays import Floats, Mask
from scrapstore.photo.outline import tuning
from scrapstore.photo.outline.edges import profiles

__all__ = ["has_stalk"]


def has_stalk(ring: Floats, is_own_cloth: Callable[[Floats], Mask]) -> bool:
    """Say whether the scrap goes on somewhere outside its outline.

    `ring`: the outline's corners, n × 2 inches, counter-clockwise. `is_own_cloth`: which of given
    places (n × 2) show the scrap's colours and cannot be background.
    """
    points, normals, _ = profiles(ring, tuning.STALK_SPACING)
    if len(points) == 0:
        return False
    offsets = np.linspace(*tuning.STALK)
    places = points[:, None] + offsets[:, None] * normals[:, None]
    on = is_own_cloth(places.reshape(-1, 2)).reshape(len(points), len(offsets)).all(axis=1)
    if on.all() or not on.any():
        return False
    on = np.roll(on, -int(np.argmin(on)))  # no run goes round the ring's beginning
    ends = np.flatnonzero(np.diff(np.pad(on, 1).astype(np.int8))).reshape(-1, 2)
    widths = (ends[:, 1] - ends[:, 0]) * tuning.STALK_SPACING
    least, most = tuning.STALK_WIDTH
    return bool(np.any((widths > least) & (widths < most)))
