"""Prints in the background's colour: nothing but their motifs is seen, as specks close together.

Such a scrap cannot be measured, but it is not to vanish without a word.
"""

from collections.abc import Sequence
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from scrapstore.photo.scale import RectifiedImage, disc_kernel, large_parts
from scrapstore.photo.segmentation.candidates import Candidate
from scrapstore.photo.segmentation.segment import Background

__all__ = ["find_speck_groups"]

Bytes = NDArray[np.uint8]
Mask = NDArray[np.bool_]

_CLEAR: Final = 0.25
"""Inches from candidates, paper and the picture's edge within which no speck counts."""
_LARGEST: Final = 1.2
"""Inches; a speck is no wider."""
_APART: Final = 0.6
"""Inches; motifs farther apart make no group."""
_SMALLEST: Final = 1.5
"""Square inches of a group."""
_NARROWEST: Final = 1.2
"""Inches; where wood shows its grain or a mat its lines, groups are narrower."""
_ELSEWHERE: Final = 0.1
"""How dense specks are elsewhere at most, as a part of how dense they are in the groups."""
_MOST_TABLE: Final = 0.2
"""Share of the table that such scraps take; more of it is the background's own pattern."""


def find_speck_groups(
    rectified: RectifiedImage, background: Background, paper: Mask, candidates: Sequence[Candidate]
) -> list[Candidate]:
    """Return where specks lie close together on a background that is plain elsewhere.

    `paper`: where the scale lies; `candidates`: what was found already.
    """
    scale = rectified.scale / 2
    free = (rectified.seen & ~paper).astype(np.uint8)
    for candidate in candidates:
        free[candidate.window][candidate.mask] = 0
    size = (max(1, free.shape[1] // 2), max(1, free.shape[0] // 2))
    free = np.asarray(cv2.resize(free, size, interpolation=cv2.INTER_NEAREST), np.uint8)
    reach = 2 * round(_CLEAR * scale) + 1
    kernel = np.ones((reach, reach), np.uint8)
    free = np.asarray(cv2.erode(np.pad(free, 1), kernel)[1:-1, 1:-1], np.uint8)
    odd = (~background.mask).astype(np.float32)
    odd = np.asarray(cv2.resize(odd, size, interpolation=cv2.INTER_AREA), np.float32) * free
    table, specks = int(free.sum()), _small(odd > 0, scale)
    if np.count_nonzero(specks) < 0.1 * _SMALLEST * scale**2:
        return []
    groups = _groups(specks, scale)
    inside = (groups > 0) & (free > 0)
    within, without = int(inside.sum()), int(((free > 0) & ~inside).sum())
    if not 0 < within < _MOST_TABLE * table:
        return []
    dense = float(odd[inside].sum()) / within
    if float(odd[~inside].sum()) / (without + 1) > _ELSEWHERE * dense:
        return []
    whole = (rectified.seen.shape[1], rectified.seen.shape[0])
    found = []
    for number in range(1, int(groups.max()) + 1):
        one = (groups == number).astype(np.uint8)
        mask = np.asarray(cv2.resize(one, whole, interpolation=cv2.INTER_NEAREST) > 0)
        found.append(Candidate((slice(0, whole[1]), slice(0, whole[0])), mask))
    return found


def _small(odd: Mask, scale: float) -> Mask:
    """Return the specks among what is odd."""
    count, labels, stats, _ = cv2.connectedComponentsWithStats(odd.astype(np.uint8), connectivity=8)
    sides = stats[:, [cv2.CC_STAT_WIDTH, cv2.CC_STAT_HEIGHT]].max(axis=1)
    small = (sides < _LARGEST * scale) & (np.arange(count) > 0)
    return np.asarray(small[labels])


def _groups(specks: Mask, scale: float) -> NDArray[np.int32]:
    """Return labels 1… of groups of specks as large and wide as a scrap."""
    reach = round(_APART / 2 * scale)
    padded = np.pad(specks, reach + 1).astype(np.uint8)
    closed = cv2.morphologyEx(padded, cv2.MORPH_CLOSE, disc_kernel(reach))
    closed = closed[reach + 1 : -reach - 1, reach + 1 : -reach - 1]
    return large_parts(closed > 0, _SMALLEST * scale**2, _NARROWEST * scale)
