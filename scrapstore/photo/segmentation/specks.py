"""Prints in the background's colour: nothing but their motifs is seen, as specks close together.

Such a scrap cannot be measured, but it is not to vanish without a word.
"""

from collections.abc import Sequence

import cv2
import numpy as np

from scrapstore.photo.arrays import Labels, Mask
from scrapstore.photo.scale import RectifiedImage
from scrapstore.photo.segmentation import tuning
from scrapstore.photo.segmentation.candidates import Candidate
from scrapstore.photo.segmentation.masks import (
    closed,
    disc,
    eroded,
    large_parts,
    resized_mask,
    square,
)
from scrapstore.photo.segmentation.segment import Background

__all__ = ["find_speck_groups"]


def find_speck_groups(
    rectified: RectifiedImage, background: Background, paper: Mask, candidates: Sequence[Candidate]
) -> list[Candidate]:
    """Return where specks lie close together on a background that is plain elsewhere.

    `paper`: where the scale lies; `candidates`: what was found already.
    """
    scale = rectified.scale / 2
    whole = (rectified.seen.shape[1], rectified.seen.shape[0])
    size = (max(1, whole[0] // 2), max(1, whole[1] // 2))
    free = rectified.seen & ~paper
    for candidate in candidates:
        free[candidate.window][candidate.mask] = False
    clear = square(round(tuning.SPECK_CLEAR * scale))
    free = eroded(np.pad(resized_mask(free, size), 1), clear)[1:-1, 1:-1]
    odd = (~background.mask).astype(np.float32)
    odd = np.asarray(cv2.resize(odd, size, interpolation=cv2.INTER_AREA), np.float32) * free
    table, specks = int(free.sum()), _small(odd > 0, scale)
    if np.count_nonzero(specks) < tuning.SPECK_LEAST * tuning.SPECK_AREA * scale**2:
        return []
    groups = _groups(specks, scale)
    inside = (groups > 0) & free
    within, without = int(inside.sum()), int((free & ~inside).sum())
    if not 0 < within < tuning.SPECKS_OF_TABLE * table:
        return []
    dense = float(odd[inside].sum()) / within
    if float(odd[~inside].sum()) / (without + 1) > tuning.SPECKS_ELSEWHERE * dense:
        return []
    everywhere = (slice(0, whole[1]), slice(0, whole[0]))
    return [
        Candidate(everywhere, resized_mask(groups == number, whole))
        for number in range(1, int(groups.max()) + 1)
    ]


def _small(odd: Mask, scale: float) -> Mask:
    """Return the specks among what is odd."""
    count, labels, stats, _ = cv2.connectedComponentsWithStats(odd.astype(np.uint8), connectivity=8)
    sides = stats[:, [cv2.CC_STAT_WIDTH, cv2.CC_STAT_HEIGHT]].max(axis=1)
    small = (sides < tuning.SPECK_SIZE * scale) & (np.arange(count) > 0)
    return np.asarray(small[labels])


def _groups(specks: Mask, scale: float) -> Labels:
    """Return labels 1… of groups of specks as large and wide as a scrap."""
    reach = round(tuning.SPECK_SPACING / 2 * scale)
    joined = closed(np.pad(specks, reach + 1), disc(reach))
    joined = joined[reach + 1 : -reach - 1, reach + 1 : -reach - 1]
    return large_parts(joined, tuning.SPECK_AREA * scale**2, tuning.SPECK_WIDTH * scale)
