"""Compiled moves that reduce the overlap of placed pieces; names as in `compiled`."""

import numpy as np
from numpy.typing import NDArray

from scrapstore.packing.compiled import Tables, compiled, cover_of, depth_of, depths

__all__ = ["minimize_overlap", "push_apart"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Singles = NDArray[np.float32]
_WAYS = np.array(
    [[1, 0], [-1, 0], [0, 1], [0, -1], [1, 1], [-1, 1], [-1, -1], [1, -1]], np.float64
)  # steps of `_refine`


@compiled
def _random(state: NDArray[np.uint64]) -> np.int64:
    """Return the next of a sequence of whole numbers from 0 to 2³¹ − 1 (xorshift64)."""
    s = state[0]
    s ^= s << np.uint64(13)
    s ^= s >> np.uint64(7)
    s ^= s << np.uint64(17)
    state[0] = s
    return np.int64(s >> np.uint64(33))


@compiled
def _overlap_at(
    tables: Tables, i: int, t: int, px: float, py: float, others: Ints, turn: Ints, x: Floats,
    y: Floats, weight: Floats, limit: float,
) -> float:  # fmt: skip
    """Return the weighted depth of piece `i` if it lay in turn `t` at (px, py), or over `limit`.

    Only the pieces `others` count, and never `i` itself.
    """
    total: float = 0.0
    for j in others:
        if j != i:
            d = depth_of(tables, t, turn[j], x[j] - px, y[j] - py)
            if d > 0.0:
                total += weight[i, j] * d
                if total >= limit:
                    return total
    return total


@compiled
def _is_feasible(tables: Tables, t: int, px: float, py: float) -> bool:
    """Tell whether turn `t` may lie at (px, py): whether that is inside its rings."""
    inside = False
    for e in range(tables.ring_from[t], tables.ring_from[t + 1]):
        y0, y1 = tables.ring[e, 1], tables.ring[e, 3]
        if (y0 <= py) != (y1 <= py):
            x0, x1 = tables.ring[e, 0], tables.ring[e, 2]
            if px < x0 + (py - y0) / (y1 - y0) * (x1 - x0):
                inside = not inside
    return inside


@compiled
def _cheapest_spot(
    tables: Tables, i: int, kind: int, weight: Floats, cover: Singles,
    cost: Singles, state: NDArray[np.uint64],
) -> int:  # fmt: skip
    """Return the spot of `kind` where piece `i` would overlap the others least by weight."""
    begin = tables.spot_from[tables.turn_from[kind]]
    count = tables.spot_from[tables.turn_from[kind + 1]] - begin
    cost[:count] = 0.0
    for j in range(len(cover)):
        if j != i:
            w = np.float32(weight[i, j])
            row = cover[j, begin : begin + count]
            for s in range(count):
                cost[s] += w * row[s]
    # The first of the least from a random spot on: equal spots are chosen among at random.
    least = np.float32(1e30)
    cheapest: int = 0
    offset = _random(state) % count
    for m in range(count):
        s = m + offset
        if s >= count:
            s -= count
        if cost[s] < least:
            least = cost[s]
            cheapest = s
    cheapest += begin
    return cheapest


@compiled
def _refine(
    tables: Tables, i: int, t: int, px: float, py: float, turn: Ints, x: Floats, y: Floats,
    weight: Floats,
) -> tuple[float, float, float, int]:  # fmt: skip
    """Walk from (px, py) by ever finer steps to where piece `i` in turn `t` overlaps less.

    Returns the weighted overlap there, the position, and how many positions were tried. The
    piece stays inside the region.
    """
    far = 2 * tables.step[t]
    start_x, start_y = px, py
    near = np.empty(len(turn), np.int64)
    count = 0
    for j in range(len(turn)):
        dx, dy = x[j] - px, y[j] - py
        if (
            j != i
            and -tables.size[turn[j], 0] - far < dx
            and dx < tables.size[t, 0] + far
            and -tables.size[turn[j], 1] - far < dy
            and dy < tables.size[t, 1] + far
        ):
            near[count] = j
            count += 1
    value = _overlap_at(tables, i, t, px, py, near[:count], turn, x, y, weight, 1e30)
    reach, finest = tables.step[t] / 2, tables.step[t] / 30
    tried = 1
    while value > 0.0 and reach > finest:
        found = False
        for k in range(8):
            qx, qy = px + reach * _WAYS[k, 0], py + reach * _WAYS[k, 1]
            if abs(qx - start_x) > far or abs(qy - start_y) > far:
                continue
            finer = _overlap_at(tables, i, t, qx, qy, near[:count], turn, x, y, weight, value)
            tried += 1
            if finer < value and _is_feasible(tables, t, qx, qy):
                value, px, py = finer, qx, qy
                found = True
                break
        if not found:
            reach /= 2
    return value, px, py, tried * count


@compiled
def _best_move(
    tables: Tables, i: int, kind: int, every: Ints, turn: Ints, x: Floats, y: Floats,
    weight: Floats, cover: Singles, cost: Singles, state: NDArray[np.uint64],
) -> int:  # fmt: skip
    """Move piece `i` to where its weighted overlap is least; return the work that took.

    `every` are the numbers of all pieces.
    """
    spot = _cheapest_spot(tables, i, kind, weight, cover, cost, state)
    t = tables.turn_from[kind]
    while tables.spot_from[t + 1] <= spot:
        t += 1
    now = _overlap_at(tables, i, turn[i], x[i], y[i], every, turn, x, y, weight, 1e30)
    value, px, py, tried = _refine(
        tables, i, t, tables.spot[spot, 0], tables.spot[spot, 1], turn, x, y, weight
    )
    if value < now * (1.0 - 1e-9):
        turn[i], x[i], y[i] = t, px, py
        cover_of(tables, t, px, py, cover[i], cost)
    count = tables.spot_from[tables.turn_from[kind + 1]] - tables.spot_from[tables.turn_from[kind]]
    work: int = len(turn) * count // 7 + count + len(tables.spot) + 10 * tried + 200
    return work


@compiled
def _way_out(
    tables: Tables, a: int, b: int, dx: float, dy: float
) -> tuple[float, float, float]:  # fmt: skip
    """Return how deep turn `b`, (dx, dy) from turn `a`, lies in it, and the way out."""
    deepest, nx, ny = 0.0, 0.0, 0.0
    for f in range(tables.pair[a, b, 0], tables.pair[a, b, 1]):
        least, at = 1e30, 0
        for k in range(tables.fit[f, 0], tables.fit[f, 1]):
            gap = tables.sides[k, 2] - tables.sides[k, 0] * dx - tables.sides[k, 1] * dy
            if gap < least:
                least, at = gap, k
                if gap <= 0.0:
                    break
        if least > deepest:
            deepest, nx, ny = least, tables.sides[at, 0], tables.sides[at, 1]
    return deepest, nx, ny


@compiled
def _nearest_feasible(tables: Tables, t: int, px: float, py: float) -> tuple[float, float]:
    """Return (px, py) if turn `t` may lie there, else the nearest position where it may."""
    if _is_feasible(tables, t, px, py):
        return px, py
    nearest, at_x, at_y = 1e30, px, py
    for e in range(tables.ring_from[t], tables.ring_from[t + 1]):
        x0, y0 = tables.ring[e, 0], tables.ring[e, 1]
        ex, ey = tables.ring[e, 2] - x0, tables.ring[e, 3] - y0
        length = ex * ex + ey * ey
        share = 0.0
        if length > 0.0:
            share = min(1.0, max(0.0, ((px - x0) * ex + (py - y0) * ey) / length))
        qx, qy = x0 + share * ex, y0 + share * ey
        far = (qx - px) ** 2 + (qy - py) ** 2
        if far < nearest:
            nearest, at_x, at_y = far, qx, qy
    return at_x, at_y


@compiled
def push_apart(tables: Tables, turn: Ints, x: Floats, y: Floats, rounds: int) -> float:
    """Push overlapping pieces apart, half the depth each, and back into the region.

    All pieces move a little at a time, so that a row makes room together. `x` and `y` change in
    place. Returns the sum of depths that is left.
    """
    n = len(turn)
    depth = np.zeros((n, n))
    for r in range(rounds):
        for i in range(n):
            for j in range(i + 1, n):
                if depth_of(tables, turn[i], turn[j], x[j] - x[i], y[j] - y[i]) > 0.0:
                    d, nx, ny = _way_out(tables, turn[i], turn[j], x[j] - x[i], y[j] - y[i])
                    half = 0.5 * d + 1e-8
                    x[i], y[i] = _nearest_feasible(
                        tables, turn[i], x[i] - half * nx, y[i] - half * ny
                    )
                    x[j], y[j] = _nearest_feasible(
                        tables, turn[j], x[j] + half * nx, y[j] + half * ny
                    )
        if r % 10 == 9 and depths(tables, turn, x, y, depth) == 0.0:
            break
    return depths(tables, turn, x, y, depth)


@compiled
def _overlapping(depth: Floats, order: Ints, state: NDArray[np.uint64]) -> int:
    """Write the pieces that overlap another to `order`, shuffled; return how many there are."""
    n = len(depth)
    count = 0
    for i in range(n):
        for j in range(n):
            if depth[i, j] > 0.0:
                order[count] = i
                count += 1
                break
    for k in range(count - 1, 0, -1):
        m = _random(state) % (k + 1)
        order[k], order[m] = order[m], order[k]
    return count


@compiled
def _reweigh(depth: Floats, weight: Floats) -> None:
    """Let the weights of overlapping pairs grow with their depth, those of others shrink to 1."""
    n = len(depth)
    deepest = 1e-30
    for i in range(n):
        for j in range(n):
            deepest = max(deepest, depth[i, j])
    for i in range(n):
        for j in range(n):
            if depth[i, j] > 0.0:
                weight[i, j] *= 1.2 + 0.8 * depth[i, j] / deepest
            else:
                weight[i, j] = max(1.0, weight[i, j] * 0.95)


@compiled
def minimize_overlap(
    tables: Tables, kind: Ints, turn: Ints, x: Floats, y: Floats, weight: Floats,
    state: NDArray[np.uint64], enough: float, passes: int, work: Ints,
) -> float:  # fmt: skip
    """Move overlapping pieces, one at a time, until the sum of depths is at most `enough`.

    Each pass takes every piece that overlaps another, in random order, to the spot where its
    weighted overlap is least; then the weights change, so that stubborn pairs come apart. `turn`,
    `x`, `y`, `weight` (n, n, symmetric) and `state` change in place; `work[0]` falls by the steps
    taken, and the search stops when it is used up. Returns the sum of depths.
    """
    n = len(turn)
    depth = np.zeros((n, n))
    order, every = np.zeros(n, np.int64), np.arange(n)
    total = depths(tables, turn, x, y, depth)
    if total <= enough:
        return total
    cover = np.zeros((n, len(tables.spot)), np.float32)
    cost = np.zeros(len(tables.spot), np.float32)
    for i in range(n):
        cover_of(tables, turn[i], x[i], y[i], cover[i], cost)
    work[0] -= n * len(tables.spot)
    for _ in range(passes):
        count = _overlapping(depth, order, state)
        for k in range(count):
            i = order[k]
            if _overlap_at(tables, i, turn[i], x[i], y[i], every, turn, x, y, weight, 1e30) > 0.0:
                work[0] -= _best_move(
                    tables, i, kind[i], every, turn, x, y, weight, cover, cost, state
                )
        total = depths(tables, turn, x, y, depth)
        if total <= enough or work[0] <= 0:
            break
        _reweigh(depth, weight)
    return total
