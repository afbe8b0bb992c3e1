"""What surely is table, before anything else is known of the picture.

Beside the printed squares and along the picture's rim lies table, or floor and desk under it. A
scrap close to a square, or one that the picture cuts off, lies there too; but the table goes on
elsewhere and scraps do not: a place that looks like none far away is taken for no table.
"""

from dataclasses import dataclass

import cv2
import numpy as np
from scipy.spatial import KDTree
from scipy.spatial.distance import cdist

from scrapstore.photo.arrays import Field, Labels, Mask
from scrapstore.photo.segmentation import tuning
from scrapstore.photo.segmentation.masks import closed, dilated, eroded, square
from scrapstore.photo.segmentation.patches import Patches

__all__ = ["KnownTable", "LikelyTable", "know_table", "likely_table"]


@dataclass(frozen=True, eq=False)
class LikelyTable:
    """Pixels that are table if nothing lies there: `beside` the paper and along the `rim`."""

    beside: Mask
    rim: Mask


def likely_table(seen: Mask, paper: Mask, scale: float) -> LikelyTable:
    """Return the pixels that are table if nothing lies there.

    `seen`: what the picture shows; `paper`: the printed squares; `scale`: pixels an inch.
    """
    clear = dilated(paper, square(max(1, round(tuning.PAPER_SHADOW * scale))))
    framed = np.pad(seen, 1)
    inner = eroded(framed, square(1 + round(tuning.RIM * scale)))[1:-1, 1:-1]
    whole = eroded(framed, square(2))[1:-1, 1:-1] & ~clear
    beside = dilated(paper, square(round(tuning.BESIDE * scale))) & whole
    return LikelyTable(beside, whole & ~inner & ~beside)


@dataclass(frozen=True, eq=False)
class KnownTable:
    """The table as far as it is known.

    `table`: which patches are table; `usual`: the distance from the nearest of these within which
    99 of 100 of the table's own lie.
    """

    table: Mask
    usual: float


def know_table(patches: Patches, likely: LikelyTable) -> KnownTable:
    """Return which patches of the likely table are table: those that look like one far away.

    A square may lie on a sheet of its own: what goes all round it is table too. In a view so close
    that nothing is far away, all of the likely table counts.
    """
    beside, rim = patches.at(likely.beside), patches.at(likely.rim)
    either = beside | rim
    sampled = _sampled(either, tuning.VOUCHING)
    if len(sampled) < 2:
        return KnownTable(either, tuning.LEAST_NOVEL)
    values = patches.values[sampled[:, 0], sampled[:, 1]]
    away = cdist(values, values)
    away[cdist(sampled, sampled) < tuning.FAR_APART * min(patches.shape)] = np.inf
    nearest = away.min(axis=1)
    limit = tuning.STRANGE * float(np.percentile(nearest, 75))
    if not np.isfinite(limit):  # so close a view that nothing is far away
        return KnownTable(either, tuning.LEAST_NOVEL)
    limit = max(limit, tuning.LEAST_NOVEL)
    vouched = nearest <= limit
    usual = max(tuning.LEAST_NOVEL, float(np.percentile(nearest[vouched], 99)))
    table = either & ~_unlike(patches, either, values[vouched], limit)
    table |= _all_round(beside & ~table, beside)
    of_squares = values[vouched & beside[sampled[:, 0], sampled[:, 1]]]
    other = closed(_unlike(patches, rim & table, of_squares, limit), square(2))
    return KnownTable(table & ~_in_one_corner(other, rim), usual)


def _sampled(mask: Mask, enough: int) -> Labels:
    """Return rows and columns (n × 2) of at most `enough` places of the mask, spread evenly."""
    places = np.argwhere(mask)
    chosen = np.linspace(0, len(places) - 1, min(enough, len(places))).astype(int)
    return np.asarray(places[chosen], np.int32)


def _unlike(patches: Patches, where: Mask, bank: Field, limit: float) -> Mask:
    """Return the places whose patches are farther than `limit` from all of the bank (n × 15)."""
    unlike = np.zeros_like(where)
    unlike[where] = True
    if len(bank):
        unlike[where] = np.isinf(
            KDTree(bank).query(patches.values[where], distance_upper_bound=limit)[0]
        )
    return unlike


def _all_round(strange: Mask, beside: Mask) -> Mask:
    """Return what is strange and goes nearly all round a square."""
    count, squares = cv2.connectedComponents(beside.astype(np.uint8), connectivity=8)
    whole = np.bincount(squares.ravel(), minlength=count)
    there = np.bincount(squares[strange], minlength=count)
    around = there > tuning.ALL_ROUND * whole
    around[0] = False
    return np.asarray(around[squares], bool)


def _in_one_corner(other: Mask, rim: Mask) -> Mask:
    """Return the parts of the rim, unlike what is beside the squares, that take in one corner.

    A floor or a desk takes in two or more, or none; a scrap that the picture cuts off, one.
    """
    _, labels = cv2.connectedComponents(other.astype(np.uint8), connectivity=8)
    rows, columns = np.nonzero(rim)
    if not len(rows):
        return other
    down, right = rows / rim.shape[0], columns / rim.shape[1]
    corners = [int(np.argmax(i * down + j * right)) for i in (-1, 1) for j in (-1, 1)]
    taken = [
        np.unique(labels[max(0, r - 2) : r + 3, max(0, c - 2) : c + 3])
        for r, c in zip(rows[corners], columns[corners], strict=True)
    ]
    numbers, times = np.unique(np.concatenate(taken), return_counts=True)
    return np.asarray(np.isin(labels, numbers[(times == 1) & (numbers > 0)]))
