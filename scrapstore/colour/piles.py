"""Scraps into piles without naming a colour, for sorting a bin by hand.

Cloths are alike when little colour must be carried little way to turn the one into the other: the
earth mover's distance between their swatches in CIELAB. Exact for every pair it would not go beyond
a few hundred scraps; so each cloth becomes a point whose plain distance to another is the *sliced*
earth mover's distance (Rabin, Peyré, Delon and Bernot, "Wasserstein barycenter and its application
to texture mixing", 2011): seen along one direction of the colour space, carrying is only a matter
of sorting, and directions all round make up the whole. k-means (scikit-learn) on these points, or
on a fair draw of them where there are very many, gives the piles.
"""

from collections.abc import Sequence
from typing import Final

import numpy as np
import numpy.typing as npt

from scrapstore.colour.reading import read_many
from scrapstore.colour.spaces import FloatArray
from scrapstore.colour.swatches import Swatch
from scrapstore.colour.table import SwatchTable, tabulate
from scrapstore.colour.wheel import sheet_order
from scrapstore.errors import ScrapstoreError

__all__ = ["group_into_piles", "pile_points"]

_DIRECTIONS: Final = 16
_QUANTILES: Final = 8
_ROWS_AT_ONCE: Final = 10_000
_DRAWN: Final = 10_000  # cloths that decide where the piles lie; beyond, a draw says as much


def group_into_piles(
    swatch_sets: Sequence[Sequence[Swatch]], n: int, *, seed: int = 0
) -> tuple[tuple[int, ...], ...]:
    """Return at most `n` piles in which cloths look alike, every cloth in one of them.

    A pile is places in `swatch_sets`, the most typical cloth first. By that one the piles follow
    one another along the hue circle like a contact sheet. There are fewer when
    there are fewer different cloths. The same cloths and seed give the same piles. Raises
    ScrapstoreError when `n` is less than 1 or a cloth has no swatches.
    """
    if n < 1:
        msg = f"piles: {n} is no number of piles; ask for 1 or more"
        raise ScrapstoreError(msg)
    if not swatch_sets:
        return ()
    points = pile_points(tabulate(swatch_sets))
    labels, apart = _cluster(points, n, seed)
    piles = [
        tuple(places[np.argsort(apart[places], kind="stable")].tolist())
        for places in (np.flatnonzero(labels == label) for label in np.unique(labels))
    ]
    readings = read_many([swatch_sets[members[0]] for members in piles])
    return tuple(piles[at] for at in sheet_order(readings).tolist())


def _cluster(
    points: npt.NDArray[np.float32], n: int, seed: int
) -> tuple[npt.NDArray[np.intp], FloatArray]:
    """Return each point's cluster and its distance from the middle of it."""
    from sklearn.cluster import KMeans

    drawn = points
    if len(points) > _DRAWN:
        drawn = points[np.random.default_rng(seed).choice(len(points), _DRAWN, replace=False)]
    different = len(np.unique(drawn, axis=0))
    means = KMeans(min(n, different), n_init=3, max_iter=100, random_state=seed).fit(drawn)
    labels = np.asarray(means.predict(points), dtype=np.intp)
    return labels, np.linalg.norm(points - means.cluster_centers_[labels], axis=1)


def pile_points(table: SwatchTable) -> npt.NDArray[np.float32]:
    """Return points (n, 128) whose distances are sliced earth mover's distances in CIELAB.

    Two solids are as far apart as their colours.
    """
    # Directions evenly over a half sphere, by the golden angle.
    turn = np.arange(_DIRECTIONS)
    height = (turn + 0.5) / _DIRECTIONS
    angle = turn * np.pi * (3 - np.sqrt(5))
    round_ = np.sqrt(1 - height**2)
    ways = np.stack([height, round_ * np.cos(angle), round_ * np.sin(angle)], axis=1)
    # One direction shows a third of a distance's square.
    scale = np.sqrt(3 / (_DIRECTIONS * _QUANTILES))
    points = np.empty((len(table), _DIRECTIONS * _QUANTILES), dtype=np.float32)
    levels = (np.arange(_QUANTILES) + 0.5) / _QUANTILES
    for at in range(0, len(table), _ROWS_AT_ONCE):
        rows = slice(at, at + _ROWS_AT_ONCE)
        along = np.swapaxes(table.labs[rows] @ ways.T, 1, 2)
        shares = np.broadcast_to(table.shares[rows][:, None, :], along.shape)
        order = np.argsort(along, axis=2)
        along = np.take_along_axis(along, order, axis=2)
        reached = np.cumsum(np.take_along_axis(shares, order, axis=2), axis=2)
        # The colour at a level is the first whose share reaches it.
        first = (reached[..., None, :] < levels[:, None] - 1e-9).sum(axis=-1)
        first = np.minimum(first, along.shape[2] - 1)
        found = np.take_along_axis(along, first, axis=2)
        points[rows] = scale * found.reshape(len(found), -1)
    return points
