"""Prices summed over pieces, compiled: what a piece covers, and the least it covers near by.

The cells are squares of side `step`; cell (row, column) begins at (column·step, row·step), so all
corners and positions are counted from the lower left of the first cell. `price` (rows, columns) is
the price of a square inch in each cell and `below` (rows, columns) the sum, over the cells of the
same column below it, of price · step. An outline is an (n, 2) array of corners, counter-clockwise,
convex or not; inches throughout.
"""

import numpy as np
from numpy.typing import NDArray

from scrapstore.packing.compiled import compiled

__all__ = ["covered_price", "covered_shares", "least_prices"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@compiled
def _cuts(x: float, y: float, dx: float, dy: float, step: float, cut: Floats) -> int:
    """Write to `cut` where the edge from (x, y) to (x + dx, y + dy) leaves cells, 0 first, 1 last.

    Return how many were written.
    """
    ends, along = 1, 0.0
    cut[0] = 0.0
    right = np.floor(x / step) + 1.0 if dx > 0.0 else np.ceil(x / step) - 1.0
    above = np.floor(y / step) + 1.0 if dy > 0.0 else np.ceil(y / step) - 1.0
    while along < 1.0:
        at_x = (right * step - x) / dx if dx != 0.0 else 2.0
        at_y = (above * step - y) / dy if dy != 0.0 else 2.0
        along = min(at_x, at_y, 1.0)
        if at_x <= along:
            right += 1.0 if dx > 0.0 else -1.0
        if at_y <= along:
            above += 1.0 if dy > 0.0 else -1.0
        cut[ends] = along
        ends += 1
    return ends


@compiled
def covered_price(
    outline: Floats, x: float, y: float, step: float, price: Floats, below: Floats, cut: Floats
) -> float:
    """Return the integral of the price over the outline placed at (x, y).

    By Green's theorem: along every edge, the price of what lies below it, by x. `cut` is scratch.
    """
    total, corners = 0.0, len(outline)
    for k in range(corners):
        n = k + 1 if k + 1 < corners else 0
        ax, ay = outline[k, 0] + x, outline[k, 1] + y
        dx, dy = outline[n, 0] - outline[k, 0], outline[n, 1] - outline[k, 1]
        if dx == 0.0:
            continue
        ends = _cuts(ax, ay, dx, dy, step, cut)
        for j in range(1, ends):
            middle = 0.5 * (cut[j] + cut[j - 1])
            up = ay + middle * dy
            row, column = int(up / step), int((ax + middle * dx) / step)
            under = below[row, column] + price[row, column] * (up - row * step)
            total -= (cut[j] - cut[j - 1]) * dx * under
    return total


@compiled
def covered_shares(
    outline: Floats, at: Floats, step: float, columns: int, cell: Ints, place: Ints, share: Floats
) -> int:
    """Write which share of which cell (row · columns + column) the outline at each place covers.

    `at` (places, 2); the three last are filled side by side, an entry for each cell covered. Return
    how many entries were written. They must have room for every cell of the outline's bounds.
    """
    corners, written = len(outline), 0
    tall = int((outline[:, 1].max() - outline[:, 1].min()) / step) + 3
    wide = int((outline[:, 0].max() - outline[:, 0].min()) / step) + 3
    inside, over = np.empty((tall, wide)), np.empty((tall, wide))
    cut = np.empty(2 * (tall + wide) + 8)
    for p in range(len(at)):
        inside[:], over[:] = 0.0, 0.0
        low_row = int((at[p, 1] + outline[:, 1].min()) / step)
        low_column = int((at[p, 0] + outline[:, 0].min()) / step)
        for k in range(corners):
            n = k + 1 if k + 1 < corners else 0
            ax, ay = outline[k, 0] + at[p, 0], outline[k, 1] + at[p, 1]
            dx, dy = outline[n, 0] - outline[k, 0], outline[n, 1] - outline[k, 1]
            ends = _cuts(ax, ay, dx, dy, step, cut) if dx != 0.0 else 0
            for j in range(1, ends):
                middle = 0.5 * (cut[j] + cut[j - 1])
                up = (ay + middle * dy) / step
                row, column = int(up), int((ax + middle * dx) / step)
                across = (cut[j] - cut[j - 1]) * dx / step
                inside[row - low_row, column - low_column] -= across * (up - row)
                over[row - low_row, column - low_column] -= across
        for column in range(wide):
            full = 0.0
            for row in range(tall - 1, -1, -1):
                part = inside[row, column] + full
                full += over[row, column]
                if part > 1e-9:
                    cell[written] = (low_row + row) * columns + low_column + column
                    place[written], share[written] = p, part
                    written += 1
    return written


@compiled
def least_prices(
    outline: Floats,
    step: float,
    price: Floats,
    below: Floats,
    ends: Floats,
    first: Ints,
    least: Floats,
    seen: Floats,
    worst: Floats,
) -> None:
    """Find for many small sets of positions the least price that the outline covers in each.

    Set i is the hull of the points `ends[first[i]:first[i + 1]]`. `least` (sets,) gets a lower
    limit over the hull, `worst` (sets, 2) the end where that limit is reached, `seen` (sets,) the
    price covered there.

    When a piece moves by d, each edge sweeps: the price covered changes by the sum over edges of
    n·d · I, n the edge's outward normal and I the integral of the price along the edge, averaged
    over the way. I lies between limits found from the cells that the edge can touch while its
    position stays in the bounds of the set. The change is thus at least the sum of n·d times the
    lower limit where n·d is positive, the upper where it is negative: a concave function of d, so
    its least over the hull is at one of the ends. Of the straight sum nothing is lost where the
    price is even, so the limit is good to second order.
    """
    corners, rows, columns = len(outline), price.shape[0], price.shape[1]
    reach = outline.max() - outline.min()
    cut = np.empty(2 * int(2 * reach / step) + 16)
    low, high = np.empty(corners), np.empty(corners)
    nx, ny = np.empty(corners), np.empty(corners)
    for i in range(len(least)):
        of = ends[first[i] : first[i + 1]]
        x0, x1 = of[:, 0].min(), of[:, 0].max()
        y0, y1 = of[:, 1].min(), of[:, 1].max()
        x, y = 0.0, 0.0
        for v in range(len(of)):
            x += of[v, 0] / len(of)
            y += of[v, 1] / len(of)
        fine = max(min(max(x1 - x0, y1 - y0), 0.5 * step), 0.02 * step)
        for k in range(corners):
            n = k + 1 if k + 1 < corners else 0
            ax, ay = outline[k, 0], outline[k, 1]
            dx, dy = outline[n, 0] - ax, outline[n, 1] - ay
            length = np.sqrt(dx * dx + dy * dy)
            nx[k], ny[k] = dy / length, -dx / length
            pieces = int(length / fine) + 1
            bottom, top = 0.0, 0.0
            for j in range(pieces):
                sx, ex = ax + dx * j / pieces, ax + dx * (j + 1) / pieces
                sy, ey = ay + dy * j / pieces, ay + dy * (j + 1) / pieces
                # A little wider, for an edge that runs on the line between two cells.
                c0 = max(int((min(sx, ex) + x0 - 1e-9) / step), 0)
                c1 = min(int((max(sx, ex) + x1 + 1e-9) / step), columns - 1)
                r0 = max(int((min(sy, ey) + y0 - 1e-9) / step), 0)
                r1 = min(int((max(sy, ey) + y1 + 1e-9) / step), rows - 1)
                small, large = 1e30, 0.0
                for r in range(r0, r1 + 1):
                    for c in range(c0, c1 + 1):
                        small, large = min(small, price[r, c]), max(large, price[r, c])
                bottom += small
                top += large
            low[k], high[k] = bottom * length / pieces, top * length / pieces
        change, at = 1e30, 0
        for v in range(len(of)):
            total = 0.0
            for k in range(corners):
                out = nx[k] * (of[v, 0] - x) + ny[k] * (of[v, 1] - y)
                total += out * (low[k] if out > 0.0 else high[k])
            if total < change:
                change, at = total, v
        least[i] = covered_price(outline, x, y, step, price, below, cut) + change
        worst[i, 0], worst[i, 1] = of[at, 0], of[at, 1]
        seen[i] = covered_price(outline, of[at, 0], of[at, 1], step, price, below, cut)
