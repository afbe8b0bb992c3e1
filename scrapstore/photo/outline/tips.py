"""Where cloth goes on past a corner of a rough outline, in a tip too narrow for the first look.

Opening a mask and simplifying a ring blunt tips, and profiles across the sides of a blunt corner do
not reach what lies ahead of it. So the picture is looked at ahead of each corner, row by row.
"""

from collections.abc import Callable, Iterator

import numpy as np

from scrapstore.photo.arrays import Floats, Mask
from scrapstore.photo.outline import tuning

__all__ = ["with_tips"]


def with_tips(ring: Floats, is_scrap: Callable[[Floats], Mask], step: float) -> Floats:
    """Return the ring (n × 2, inches, the scrap on its left) with corners moved out to their tips.

    `is_scrap`: which of given places (n × 2) are mostly scrap; `step`: inches between the places
    that are looked at.
    """
    before = _unit(ring - np.roll(ring, 1, axis=0))
    after = np.roll(before, -1, axis=0)
    left = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0] > 0
    sharp = left & (np.sum(before * after, axis=1) < tuning.SMOOTHED_CORNER)
    moved = ring.copy()
    for k in np.flatnonzero(sharp):
        moved[k] = _tip(ring[k], _unit(before[k] - after[k]), is_scrap, step)
    return moved


def _tip(corner: Floats, ahead: Floats, is_scrap: Callable[[Floats], Mask], step: float) -> Floats:
    """Return where the cloth ends that narrows `ahead` of a corner; the corner if none does."""
    half = round(tuning.TIP_HALF / step)
    across = np.arange(-half, half + 1) * step
    aside = np.array([-ahead[1], ahead[0]])

    def rows() -> Iterator[tuple[float, Mask]]:
        # Mostly the first few say that the cloth ends here.
        some = max(2, round(tuning.TIP_BASE / step))
        for first in range(-some, round(tuning.TIP_REACH / step), some):
            along = np.arange(first, first + some) * step
            places = corner + along[:, None, None] * ahead + across[:, None] * aside
            seen = is_scrap(places.reshape(-1, 2)).reshape(len(along), len(across))
            yield from zip(along.tolist(), seen, strict=True)

    low = high = half
    wide = len(across)
    tip = corner
    for along, row in rows():
        ends = np.flatnonzero(np.diff(np.pad(row, 1).astype(np.int8))).reshape(-1, 2)
        runs = [(a, b - 1) for a, b in ends.tolist() if b >= low and a <= high + 1]
        if not runs:
            break
        low, high = max(runs, key=lambda run: run[1] - run[0])
        if along > 0 and (low == 0 or high == len(row) - 1 or high - low > wide + 1):
            return corner  # this is the end of nothing
        wide = high - low + 1
        if wide * step < tuning.THREAD:
            break  # no wider than a thread
        if along > tuning.TIP_LEAST:
            tip = corner + along * ahead + across[(low + high) // 2] * aside
    return tip


def _unit(vectors: Floats) -> Floats:
    return np.asarray(vectors / np.maximum(np.linalg.norm(vectors, axis=-1, keepdims=True), 1e-12))
