"""What an edge encloses all round, however much its colour is the background's.

Cloth of nearly the table's colour is like its patches. What tells such cloth from a shadow or a
slope of light is its edge: a step, all round. At each of a few heights, the places without a step
as high are split into connected parts; a part that is neither the table nor reaches the picture's
rim is enclosed by a step of that height. In the same way cloth ends in a step, and a lamp mirrored
in the table does not.
"""

from collections.abc import Sequence

import cv2
import numpy as np

from scrapstore.photo.arrays import Bytes, Field, Mask
from scrapstore.photo.segmentation import tuning
from scrapstore.photo.segmentation.candidates import Candidate
from scrapstore.photo.segmentation.colour_model import weighted
from scrapstore.photo.segmentation.masks import (
    dilated,
    disc,
    eroded,
    large_parts,
    square,
)
from scrapstore.photo.segmentation.opponent import log_opponent

__all__ = ["enclosed_by_steps", "parts_not_found", "step_heights", "without_soft_edges"]


def parts_not_found(parts: Mask, candidates: Sequence[Candidate], scale: float) -> list[Candidate]:
    """Return the parts that are large enough for a scrap and of which no candidate takes in any.

    `scale`: pixels an inch.
    """
    known = np.zeros_like(parts)
    for candidate in candidates:
        known[candidate.window] |= candidate.mask
    labels = large_parts(parts, tuning.STEP_AREA * scale**2, tuning.STEP_WIDTH * scale)
    found = []
    for number in range(1, int(labels.max()) + 1):
        part = labels == number
        if np.mean(known[part]) < tuning.ALIKE_LISTED:
            left, top, width, height = cv2.boundingRect(part.astype(np.uint8))
            window = (slice(top, top + height), slice(left, left + width))
            found.append(Candidate(window, part[window]))
    return found


def step_heights(image: Bytes) -> Field:
    """Return the height of the step at each place (rows × columns), in colour, but for fine lines.

    A step of height h, smoothed by a Gaussian of s pixels, rises by h / (s √(2π)) a pixel at most;
    a slope, as of a soft shadow or a mirrored lamp, seems the higher the larger s is, and counts
    for nothing. `image`: rows × columns × 3, RGB, at about FINE pixels an inch.
    """
    plain = cv2.medianBlur(image, tuning.STEP_MEDIAN)
    colours = weighted(log_opponent(np.asarray(plain, np.uint8)))
    fine = _rises(colours, tuning.STEP_BLUR)
    rows, columns = fine.shape
    few = np.asarray(
        cv2.resize(colours, (columns // 2, rows // 2), interpolation=cv2.INTER_AREA), np.float32
    )
    wide = cv2.resize(_rises(few, tuning.SLOPE_BLUR / 2), (columns, rows))
    return np.where(fine > tuning.STEP_SHARP * wide, fine, 0).astype(np.float32)


def without_soft_edges(lying: Mask, steps: Field, enclosed: Mask, scale: float) -> Mask:
    """Return what lies there without what passes into the table softly: a lamp mirrored in it.

    Cloth ends in a step. What mostly does not goes, except what a step encloses. `lying`: pixels of
    what lies there; `steps`: as `step_heights` gives them; `enclosed`: as `enclosed_by_steps` does;
    `scale`: pixels an inch.
    """
    table = dilated(~lying, square(1))
    near = cv2.dilate(steps, square(max(1, round(tuning.EDGE_REACH * scale))))
    rest = lying & ~enclosed
    count, labels = cv2.connectedComponents(rest.astype(np.uint8), connectivity=4)
    ends = rest & table
    number, low = labels[ends], near[ends] < tuning.SOFT_STEP
    whole, soft = (np.bincount(each, minlength=count) for each in (number, number[low]))
    return np.asarray(lying & ~(2 * soft > whole)[labels])


def _rises(colours: Field, sigma: float) -> Field:
    """Return how high a step at each place would be that rises as colours smoothed by sigma do."""
    smooth = cv2.GaussianBlur(colours, (0, 0), sigma)
    across = cv2.Sobel(smooth, cv2.CV_32F, 1, 0, scale=1 / 8)
    down = cv2.Sobel(smooth, cv2.CV_32F, 0, 1, scale=1 / 8)
    rise = np.sqrt(np.sum(across * across + down * down, axis=2))
    return np.asarray(rise * sigma * np.sqrt(2 * np.pi), np.float32)


def enclosed_by_steps(steps: Field, shown: Mask, paper: Mask, scale: float) -> Mask:
    """Return the pixels that a step encloses, in parts large enough to tell.

    `steps`: as `step_heights` gives them; `shown`: what the photo shows; `paper`: the printed
    squares'; `scale`: pixels an inch.
    """
    seen = shown & ~paper
    inner = eroded(np.pad(shown, 1), square(round(3 * tuning.STEP_BLUR)))[1:-1, 1:-1]
    # Where the picture ends is no step, so that what lies there reaches the rim.
    heights = np.where(inner, steps, 0).astype(np.float32)
    beside = dilated(paper, square(3))
    # The table's own grain has steps too; only what is higher than most of those encloses.
    table = heights[seen & ~beside]
    own = float(np.percentile(table, tuning.STEP_OWN_PERCENT)) if len(table) else 0.0
    found = np.zeros_like(seen)
    for height in tuning.STEP_HEIGHTS:
        if height < tuning.STEP_OVER_OWN * own:
            continue
        level = seen & ~beside & ~dilated(heights > height, disc(round(tuning.STEP_GAP * scale)))
        found |= _inside(level, inner, scale)
    return dilated(found & seen, disc(round(tuning.STEP_GAP * scale) + 1)) & seen


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
