"""What differs much from the background but passes into it softly: a lamp mirrored in the mat.

A scrap's edge is a step, a reflection has none. Cloth may be shaded and go on changing inside its
edge; so where such a part meets the background is looked at as well as how it got there.
"""

import cv2
import numpy as np

from scrapstore.photo.arrays import Field, Mask
from scrapstore.photo.segmentation import tuning
from scrapstore.photo.segmentation.cells import Cells, connected_to, normalised_distance
from scrapstore.photo.segmentation.masks import dilated, eroded, square

__all__ = ["include_reflections", "parts_without_seam"]


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
    reach = tuning.SOFT_REACH / cells.inches
    wider = inside
    for _ in range(tuning.MOST_CREEPS):
        local = _local_mean(colours, wider, reach)
        border = dilated(wider, square(1))
        grown = wider | (
            border
            & cells.usable
            & (normalised_distance(colours, local, deviation) < tuning.BACKGROUND_LIMIT)
        )
        if np.count_nonzero(grown) == np.count_nonzero(wider):
            break
        wider = grown
    rough = normalised_distance(colours, _local_mean(colours, wider, reach), deviation)
    stepped = rough > tuning.EDGE_STEP
    # Wider by a cell, so that a line of them has no gaps.
    sloping = connected_to(wider & ~dilated(stepped, square(1)), inside) & ~inside
    gained = sloping & parts_without_seam(
        sloping, inside, wider, rough, normalised_distance(colours, field, deviation)
    )
    if not gained.any():
        return field, inside
    gained = dilated(gained, square(1)) & wider & ~inside & ~stepped
    inside = inside | gained
    # As far as the background counts beyond its own cells, so does its colour there.
    near = dilated(gained, square(2))
    local = _local_mean(colours, inside, reach)
    return np.where((near & ~inside | gained)[..., None], local, field).astype(np.float32), inside


def parts_without_seam(gained: Mask, inside: Mask, wider: Mask, rough: Field, far: Field) -> Mask:
    """Return the parts of `gained` that end far from the background and pass into it softly.

    `inside`: the background; `wider`: what may be looked at; `rough`: how far each place is from
    those round it; `far`: from the background. Cloth may be shaded and go on changing inside its
    edge; along it, places are rougher than the background is: where it meets the background, and
    all round.
    """
    deep = eroded(inside, square(3))
    own = float(np.percentile(rough[deep], 90)) if deep.any() else 0.0
    beside = wider & dilated(inside, square(2))
    count, labels = cv2.connectedComponents(gained.astype(np.uint8), connectivity=8)
    farthest = np.zeros(count, np.float32)
    np.maximum.at(farthest, np.asarray(labels[gained], np.intp), far[gained])
    soft = np.zeros(count, bool)
    for number in np.flatnonzero(farthest > tuning.REFLECTION_LEAST):
        part = labels == number
        around = wider & dilated(part, square(2))
        soft[number] = np.percentile(rough[around & beside], 90) < max(
            tuning.SEAM, tuning.SEAM_RATIO * own
        ) and np.percentile(rough[around & ~part], 75) < max(tuning.SEAM, tuning.AROUND_RATIO * own)
    return np.asarray(soft[labels])


def _local_mean(colours: Field, inside: Mask, reach: float) -> Field:
    """Return the mean colour (rows × columns × 3) of what is `inside` and `reach` cells near."""
    weight = inside.astype(np.float32)
    known = cv2.GaussianBlur(weight, (0, 0), reach)
    mean = cv2.GaussianBlur(colours * weight[..., None], (0, 0), reach)
    return np.asarray(mean / np.maximum(known, 1e-4)[..., None], dtype=np.float32)
