"""What differs much from the background but passes into it softly: a lamp mirrored in the mat.

A scrap's edge is a step, a reflection has none. Cloth may be shaded and go on changing inside its
edge; so where such a part meets the background is looked at as well as how it got there.
"""

from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from scrapstore.photo.segmentation.cells import LIMIT, Cells, connected_to, normalised_distance

__all__ = ["include_reflections", "parts_without_seam"]

Mask = NDArray[np.bool_]
Field = NDArray[np.float32]

_SOFT: Final = 0.2
"""Inches over which a soft change is looked at: several times the width of an edge."""
_MOST_CREEPS: Final = 150
"""Cells, one after the other, over which a reflection may go on: no table is so wide."""
_STEP: Final = 2.0
"""Standard deviations by which a place differs from what lies round it at most, if no edge goes
through it."""
_FAR: Final = 8.0
"""Standard deviations; what differs less is near enough to the background to be looked at as a
scrap."""
_SEAM: Final = 1.6
"""Standard deviations by which nine in ten places differ from those round them where a reflection
begins. Lamps on plain tables and mats gave 0.6 to 1.7, shaded cloth 1.9 to 2.8."""
_ROUGHER: Final = 2.25
"""Or so many times what they do on the background itself: on boards and carpet 1.4 to 2.1 times."""
_ROUGHER_ALL_ROUND: Final = 1.7
"""The same for three in four places all round; lamps and boards 0.5 to 1.6 times."""


def include_reflections(
    cells: Cells, field: Field, deviation: Field, inside: Mask
) -> tuple[Field, Mask]:
    """Return the background's field (rows × columns × 3) and cells with the reflections on it.

    `field`, `deviation`, `inside`: the background as found: colour, how far it strays from it, its
    cells. A scrap's edge is a step: its cells differ from the mean of what lies on both sides of
    it, which those on a slope do not. Only what is reached over slopes alone is included, and only
    where it differs in the end by more than the background itself may.
    """
    colours = cells.features
    reach = _SOFT / cells.inches
    wider, square = inside, np.ones((3, 3), np.uint8)
    for _ in range(_MOST_CREEPS):
        local = _local_mean(colours, wider, reach)
        border = cv2.dilate(wider.astype(np.uint8), square) > 0
        grown = wider | (
            border & cells.usable & (normalised_distance(colours, local, deviation) < LIMIT)
        )
        if np.count_nonzero(grown) == np.count_nonzero(wider):
            break
        wider = grown
    rough = normalised_distance(colours, _local_mean(colours, wider, reach), deviation)
    stepped = rough > _STEP
    # Wider by a cell, so that a line of them has no gaps.
    excluded = cv2.dilate(stepped.astype(np.uint8), square) > 0
    sloping = connected_to(wider & ~excluded, inside) & ~inside
    gained = sloping & parts_without_seam(
        sloping, inside, wider, rough, normalised_distance(colours, field, deviation)
    )
    if not gained.any():
        return field, inside
    gained = (cv2.dilate(gained.astype(np.uint8), square) > 0) & wider & ~inside & ~stepped
    inside = inside | gained
    # As far as the background counts beyond its own cells, so does its colour there.
    near = cv2.dilate(gained.astype(np.uint8), np.ones((5, 5), np.uint8)) > 0
    local = _local_mean(colours, inside, reach)
    return np.where((near & ~inside | gained)[..., None], local, field).astype(np.float32), inside


def parts_without_seam(gained: Mask, inside: Mask, wider: Mask, rough: Field, far: Field) -> Mask:
    """Return the parts of `gained` that end far from the background and pass into it softly.

    `inside`: the background; `wider`: what may be looked at; `rough`: how far each place is from
    those round it; `far`: from the background. Cloth may be shaded and go on changing inside its
    edge; along it, places are rougher than the background is: where it meets the background, and
    all round.
    """
    two = np.ones((5, 5), np.uint8)
    deep = cv2.erode(inside.astype(np.uint8), np.ones((7, 7), np.uint8)) > 0
    own = float(np.percentile(rough[deep], 90)) if deep.any() else 0.0
    beside = wider & (cv2.dilate(inside.astype(np.uint8), two) > 0)
    count, labels = cv2.connectedComponents(gained.astype(np.uint8), connectivity=8)
    farthest = np.zeros(count, np.float32)
    np.maximum.at(farthest, np.asarray(labels[gained], np.intp), far[gained])
    soft = np.zeros(count, bool)
    for number in np.flatnonzero(farthest > _FAR):
        part = labels == number
        around = wider & (cv2.dilate(part.astype(np.uint8), two) > 0)
        soft[number] = np.percentile(rough[around & beside], 90) < max(
            _SEAM, _ROUGHER * own
        ) and np.percentile(rough[around & ~part], 75) < max(_SEAM, _ROUGHER_ALL_ROUND * own)
    return np.asarray(soft[labels])


def _local_mean(colours: Field, inside: Mask, reach: float) -> Field:
    """Return the mean colour (rows × columns × 3) of what is `inside` and `reach` cells near."""
    weight = inside.astype(np.float32)
    known = cv2.GaussianBlur(weight, (0, 0), reach)
    mean = cv2.GaussianBlur(colours * weight[..., None], (0, 0), reach)
    return np.asarray(mean / np.maximum(known, 1e-4)[..., None], dtype=np.float32)
