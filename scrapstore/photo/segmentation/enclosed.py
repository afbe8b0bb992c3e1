"""What an edge encloses all round, or has no grain, however much its colour is the background's.

A background that follows the light also follows cloth of nearly its own colour. What tells such
cloth from a shadow or a slope of light is its edge: a step, all round. At each of a few heights,
the places without a step as high are taken to parts; a part that is neither the table's nor reaches
the picture's rim is enclosed by a step of that height.
"""

from collections.abc import Sequence

import cv2
import numpy as np

from scrapstore.photo.arrays import Bytes, Field, Mask
from scrapstore.photo.scale import RectifiedImage
from scrapstore.photo.segmentation import tuning
from scrapstore.photo.segmentation.candidates import Candidate
from scrapstore.photo.segmentation.cells import Cells, log_opponent
from scrapstore.photo.segmentation.colour_model import weighted
from scrapstore.photo.segmentation.masks import (
    dilated,
    disc,
    eroded,
    large_parts,
    opened,
    resized_mask,
    square,
)

__all__ = ["enclosed_by_steps", "parts_on_background", "step_heights"]


def parts_on_background(
    enclosed: Mask, background: Mask, candidates: Sequence[Candidate], scale: float
) -> list[Candidate]:
    """Return the enclosed parts that were taken for background, and lie on it and on nothing else.

    `candidates`: what was found already; a hole in one is enclosed too. `scale`: pixels an inch.
    """
    known = np.zeros_like(enclosed)
    for candidate in candidates:
        known[candidate.window] |= candidate.mask
    labels = large_parts(enclosed, tuning.STEP_AREA * scale**2, tuning.STEP_WIDTH * scale)
    reach = round(tuning.GRAIN_REACH * scale)
    found = []
    for number in range(1, int(labels.max()) + 1):
        left, top, width, height = cv2.boundingRect((labels == number).astype(np.uint8))
        window = (
            slice(max(0, top - reach), top + height + reach),
            slice(max(0, left - reach), left + width + reach),
        )
        part = labels[window] == number
        ring = dilated(part, square(reach)) & ~part
        if (
            np.mean(background[window][part]) > tuning.ALIKE_SHARE
            and np.mean(known[window][part]) < tuning.ALIKE_LISTED
            and np.mean(background[window][ring]) > tuning.ALIKE_AROUND
        ):
            found.append(Candidate(window, part))
    return found


def step_heights(features: Field) -> Field:
    """Return the height of the step at each place (rows × columns), in colour.

    A step of height h, smoothed by a Gaussian of s pixels, rises by h / (s √(2π)) a pixel at most;
    a slope, as of a soft shadow or a mirrored lamp, seems the higher the larger s is, and counts
    for nothing.
    """
    colours = weighted(features)
    fine, wide = (_rises(colours, sigma) for sigma in (tuning.STEP_BLUR, tuning.SLOPE_BLUR))
    return np.where(fine > tuning.STEP_SHARP * wide, fine, 0).astype(np.float32)


def _rises(colours: Field, sigma: float) -> Field:
    smooth = cv2.GaussianBlur(colours, (0, 0), sigma)
    across = cv2.Sobel(smooth, cv2.CV_32F, 1, 0, scale=1 / 8)
    down = cv2.Sobel(smooth, cv2.CV_32F, 0, 1, scale=1 / 8)
    rise = np.sqrt(np.sum(across * across + down * down, axis=2))
    return np.asarray(rise * sigma * np.sqrt(2 * np.pi), np.float32)


def enclosed_by_steps(cells: Cells, rectified: RectifiedImage, printed: Mask) -> Mask:
    """Return the pixels of the rectified image that a step encloses, in parts large enough to tell.

    `cells`: its colours at half its size, fine lines taken out; `printed`: the scale's paper.
    """
    scale = rectified.scale / 2
    rows, columns = cells.wide.shape[:2]
    size = (columns, rows)
    seen = resized_mask(rectified.seen & ~printed, size)
    inner = np.pad(resized_mask(rectified.seen, size), 1)
    inner = eroded(inner, square(round(3 * tuning.STEP_BLUR)))[1:-1, 1:-1]
    # Where the picture ends is no step, so that what lies there reaches the rim.
    heights = np.where(inner, step_heights(cells.wide), 0).astype(np.float32)
    paper = dilated(resized_mask(printed, size), square(3))
    # The table's own grain has steps too; only what is higher than most of those encloses.
    own = float(np.percentile(heights[seen & ~paper], tuning.STEP_OWN_PERCENT))
    found = _inside(_of_other_grain(cells.half, seen & ~paper, scale), inner, scale)
    for height in tuning.STEP_HEIGHTS:
        if height < tuning.STEP_OVER_OWN * own:
            continue
        level = seen & ~paper & ~dilated(heights > height, disc(round(tuning.STEP_GAP * scale)))
        found |= _inside(level, inner, scale)
    found &= seen
    grown = dilated(found, disc(round(tuning.STEP_GAP * scale) + 1))
    return resized_mask(grown, (rectified.seen.shape[1], rectified.seen.shape[0])) & ~printed


def _inside(places: Mask, inner: Mask, scale: float) -> Mask:
    """Return the parts of `places` that are large enough, within the rim, and not the table."""
    count, labels, stats, _ = cv2.connectedComponentsWithStats(
        places.astype(np.uint8), connectivity=4
    )
    areas = stats[:, cv2.CC_STAT_AREA].astype(np.float64)
    keep = areas > tuning.STEP_AREA * scale**2
    keep &= np.bincount(labels[places & ~inner], minlength=count) == 0
    keep[0] = False
    keep[1:][areas[1:] > tuning.STEP_MOST * places.size] = False
    return np.asarray(keep[labels])


def _of_other_grain(image: Bytes, seen: Mask, scale: float) -> Mask:
    """Return places of much less or more grain than the table has: plain cloth on a rug.

    `image`: rows × columns × 3; `seen`: what is table or lies on it.
    """
    brightness = log_opponent(image)[..., 0]
    rough = np.abs(brightness - cv2.GaussianBlur(brightness, (0, 0), tuning.STEP_BLUR))
    window = 2 * round(tuning.GRAIN_REACH * scale) + 1
    mean = cv2.blur(np.minimum(rough, tuning.GRAIN_MOST), (window, window))
    grain = np.asarray(np.log2(mean + tuning.GRAIN_LEAST), np.float32)
    usual = grain[seen]
    middle = float(np.median(usual))
    spread = 1.4826 * float(np.median(np.abs(usual - middle)))
    other = np.abs(grain - middle) > max(tuning.GRAIN_LIMIT * spread, tuning.GRAIN_RATIO)
    other = opened(seen & other, disc(round(tuning.GRAIN_REACH * scale)))
    width = 4 * tuning.GRAIN_REACH * scale
    return np.asarray(large_parts(other, tuning.STEP_AREA * scale**2, width) > 0)
