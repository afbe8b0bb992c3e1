"""How much of each pixel a polygon covers: exact areas, no sampling.

The running-sum method: every edge is cut where it crosses a pixel border; each bit adds its height
to the pixels on its right, and to its own pixel the part that lies on its right. Pixel (column i,
row j) is the unit square centred on (i, j), as OpenCV counts.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]
Box = tuple[int, int, int, int]
"""Left, top, width, height in pixels."""


def box_around(points: Points, margin: float, width: int, height: int) -> Box | None:
    """The pixels that `points` and a margin touch, inside a picture; None when there are none."""
    left, top = np.floor(points.min(axis=0) - margin).astype(int)
    right, bottom = np.ceil(points.max(axis=0) + margin).astype(int) + 1
    left, top = max(int(left), 0), max(int(top), 0)
    right, bottom = min(int(right), width), min(int(bottom), height)
    return (left, top, right - left, bottom - top) if right > left and bottom > top else None


def coverage(rings: Sequence[Points], box: Box) -> NDArray[np.float32]:
    """Covered share 0..1 of each pixel of `box`, shape (height, width).

    `rings` are closed by themselves; each (n, 2), columns x and y in pixels. Areas are signed by
    the way a ring turns, the first ring counts as positive: a hole turns the other way. Rings that
    lie side by side leave no seam; where they overlap, the share stops at 1.
    """
    left, top, width, height = box
    starts = np.concatenate(rings)
    ends = np.concatenate([np.roll(ring, -1, axis=0) for ring in rings])
    shift = np.array([0.5 - left, 0.5 - top])
    a, b = _cut_at_borders(starts + shift, ends + shift)
    middle = (a + b) / 2
    drop = b[:, 1] - a[:, 1]
    column = np.floor(middle[:, 0]).astype(np.int64)
    row = np.floor(middle[:, 1]).astype(np.int64)
    beyond = np.where(column < 0, 0.0, middle[:, 0] - column)
    column = np.maximum(column, 0)
    keep = (row >= 0) & (row < height) & (column < width)
    row, column, drop, beyond = row[keep], column[keep], drop[keep], beyond[keep]
    cell = row * (width + 1) + column
    size = height * (width + 1)
    sums = np.bincount(cell, drop * (1 - beyond), size)
    sums += np.bincount(cell + 1, drop * beyond, size)
    share = np.cumsum(sums.reshape(height, width + 1)[:, :width], axis=1)
    first = rings[0]
    x, y = first[:, 0], first[:, 1]
    turn = np.sum(x * np.roll(y, -1) - y * np.roll(x, -1))
    return np.clip(share if turn < 0 else -share, 0.0, 1.0).astype(np.float32)


def _cut_at_borders(a: Points, b: Points) -> tuple[Points, Points]:
    """Split segments a→b at every whole x and whole y they cross."""
    owners, params = [np.arange(len(a))], [np.zeros(len(a))]
    for axis in (0, 1):
        low = np.minimum(a[:, axis], b[:, axis])
        high = np.maximum(a[:, axis], b[:, axis])
        first = np.floor(low).astype(np.int64) + 1
        count = np.maximum(np.ceil(high).astype(np.int64) - first, 0)
        owner = np.repeat(np.arange(len(a)), count)
        border = np.arange(count.sum()) - np.repeat(np.cumsum(count) - count, count) + first[owner]
        owners.append(owner)
        params.append((border - a[owner, axis]) / (b[owner, axis] - a[owner, axis]))
    owner, param = np.concatenate(owners), np.concatenate(params)
    order = np.lexsort((param, owner))
    owner, param = owner[order], param[order]
    last = np.append(owner[1:] != owner[:-1], True)
    until = np.where(last, 1.0, np.append(param[1:], 1.0))
    way = b[owner] - a[owner]
    return a[owner] + way * param[:, None], a[owner] + way * until[:, None]
