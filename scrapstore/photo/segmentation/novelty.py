"""How unlike the table each place is, and which pixels are what lies there.

A place is as novel as its patch is far from every patch of the known table; the table's own places,
compared with others far away, tell what is usual. So a print or a gingham is as good a table as a
plain one, and no limit is set for one kind or the other. A patch sees round the edge of what lies
beside it; which pixels are novel is then decided by colours: those of the novel places against
those of the table, by how common each colour is in either.
"""

from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter
from scipy.spatial import KDTree

from scrapstore.photo.arrays import Field, Mask
from scrapstore.photo.segmentation import tuning
from scrapstore.photo.segmentation.colour_model import weighted
from scrapstore.photo.segmentation.known_table import KnownTable
from scrapstore.photo.segmentation.masks import disc, eroded
from scrapstore.photo.segmentation.patches import Patches

__all__ = ["novelty_of", "what_lies_there"]

_BINS: Final = 48  # of each channel


def novelty_of(patches: Patches, known: KnownTable) -> Field:
    """Return how novel each patch is; 1 is as novel as one of the table's own in a hundred.

    What is twice as novel, or more, is given as 2.
    """
    each = patches.values.reshape(-1, patches.values.shape[2])
    table = each[known.table.ravel()]
    if not len(table):
        return np.ones(patches.shape, np.float32)
    table = table[np.linspace(0, len(table) - 1, min(len(table), tuning.PATCHES)).astype(int)]
    away = KDTree(table).query(each, distance_upper_bound=2 * known.usual)[0] / known.usual
    return np.minimum(away, 2).reshape(patches.shape).astype(np.float32)


def what_lies_there(colours: Field, novel: Mask, table: Mask, scale: float) -> Mask:
    """Return the pixels of novel places whose colours are rather theirs than the table's.

    `colours`: rows × columns × 3, as `in_local_light` gives them; `novel`: places unlike the table;
    `table`: what surely is table; `scale`: pixels an inch.
    """
    smooth = cv2.GaussianBlur(weighted(colours), (0, 0), 0.7)
    bins = np.clip((smooth / tuning.COLOUR_BIN + _BINS / 2), 0, _BINS - 1).astype(np.int32)
    bins = np.asarray((bins[..., 0] * _BINS + bins[..., 1]) * _BINS + bins[..., 2])
    of_table = _log_shares(bins[table])
    count, labels, stats, _ = cv2.connectedComponentsWithStats(
        novel.astype(np.uint8), connectivity=4
    )
    lying = np.zeros_like(novel)
    margin = disc(round(tuning.PATCH_REACHES[-1] * scale))
    for number in range(1, count):
        left, top, width, height, area = (int(v) for v in stats[number])
        if area < tuning.LEAST_AREA * scale**2:
            continue
        window = (slice(top, top + height), slice(left, left + width))
        part = labels[window] == number
        inside = eroded(np.pad(part, 1), margin)[1:-1, 1:-1]
        inside = inside if inside.any() else part
        for _ in range(2):
            score = (_log_shares(bins[window][inside]) - of_table)[bins[window]]
            score = cv2.GaussianBlur(score, (0, 0), tuning.SCORE_REACH * scale)
            inside = part & (np.asarray(score) > 0)
        lying[window] |= inside
    return lying


def _log_shares(bins: NDArray[np.int32]) -> Field:
    """Return the logarithm of each colour's share of the samples, near colours taken together.

    `bins`: numbers of the colours of n samples; returned for all _BINS³.
    """
    counts = np.bincount(bins, minlength=_BINS**3).reshape([_BINS] * 3).astype(np.float32)
    smooth = gaussian_filter(counts, 1.0, truncate=2.0).ravel()
    return np.asarray(np.log(smooth / max(1, len(bins)) + tuning.LEAST_SHARE), np.float32)
