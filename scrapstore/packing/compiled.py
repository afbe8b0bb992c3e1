"""Overlap of placed pieces and of pieces at spots, compiled: the inner loops of the local search.

Plain arrays in, plain arrays out, no Python objects, so that numba can compile every function
once and keep the machine code in its cache. Inches throughout. Names used in all functions:

* a *turn* is the index of an oriented piece (see `PackingProblem.turns`); `n` pieces lie at
  (x[i], y[i]) in turn[i];
* the displacement of piece b from piece a lies in one of the pair's no-fit polygons exactly when
  the two overlap; a no-fit polygon is convex, a run of rows (nx, ny, c) with the outward normal
  and nx·dx + ny·dy < c inside;
* the *depth* of an overlap is how far the displacement must move to leave the no-fit polygon.
"""

import hashlib
import pkgutil
from collections.abc import Callable
from typing import Any, Final, NamedTuple, TypeVar, cast

import numba
import numpy as np
from numpy.typing import NDArray

__all__ = [
    "Tables",
    "add_cover",
    "cheapest_exchanges",
    "cheapest_spots",
    "compiled",
    "cover_of",
    "covers",
    "depth_of",
    "depths",
]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Singles = NDArray[np.float32]
_F = TypeVar("_F", bound=Callable[..., Any])


_HOLDING: Final = ("compiled.py", "moves.py", "proof/price_integrals.py")
"""The files of this package with compiled functions; those import nothing from any other."""


def _sources() -> str:
    """Return a short hash of all that is compiled, as it is written."""
    files = (pkgutil.get_data(__package__, file) or b"" for file in _HOLDING)
    return hashlib.sha256(b"".join(files)).hexdigest()[:12]


_SOURCES: Final = _sources()


def compiled(function: _F) -> _F:
    """Compile `function`, so that it lets other threads run and its code is kept on disk.

    Never with `fastmath`: every operation then rounds as IEEE 754 says, in the order written, and
    a layout does not depend on what was inlined, on the processor, or on whether the code was
    compiled just now or comes from the disk.
    """
    # Functions of other files are compiled into it, yet numba compares its own file only. The
    # qualified name is in the name of the file on disk, so other sources have another file.
    function.__qualname__ += f"_{_SOURCES}"
    made: Any = numba.njit(cache=True, nogil=True, error_model="numpy")(function)
    return cast("_F", made)


class Tables(NamedTuple):
    """What the compiled loops know of a problem; made once, by `tables.tables`.

    `size` (turns, 2); `pair` (turns, turns, 2): first and last+1 of the pair's no-fit polygons in
    `fit`; `fit` (polygons, 2): first and last+1 of their rows in `sides` (rows, 3); `spot` (spots,
    2): positions to try, a turn's from below upwards; `across`, `up` (spots,): the same in single
    precision;
    `spot_from` (turns + 1): where each turn's begin; `ring` (edges, 4): edges of the feasible
    positions, `ring_from` (turns + 1) likewise; `turn_from` (kinds + 1): the turns of each kind;
    `step` (turns,): how far apart the spots of a turn are, in inches.
    """

    size: Floats
    step: Floats
    pair: Ints
    fit: Ints
    sides: Floats
    spot: Floats
    across: Singles
    up: Singles
    spot_from: Ints
    ring: Floats
    ring_from: Ints
    turn_from: Ints


@compiled
def depth_of(tables: Tables, a: int, b: int, dx: float, dy: float) -> float:
    """Return how deep turn `b`, displaced by (dx, dy) from turn `a`, lies in it; 0 if apart."""
    if dx <= -tables.size[b, 0] or dx >= tables.size[a, 0]:
        return 0.0
    if dy <= -tables.size[b, 1] or dy >= tables.size[a, 1]:
        return 0.0
    total = 0.0
    for f in range(tables.pair[a, b, 0], tables.pair[a, b, 1]):
        least = 1e30
        for k in range(tables.fit[f, 0], tables.fit[f, 1]):
            gap = tables.sides[k, 2] - tables.sides[k, 0] * dx - tables.sides[k, 1] * dy
            if gap < least:
                least = gap
                if gap <= 0.0:
                    break
        if least > 0.0:
            total += least
    return total


@compiled
def cover_of(tables: Tables, t: int, x: float, y: float, cover: Singles, room: Singles) -> None:
    """Fill `cover` (spots,): how deep a piece at each spot would lie in one of turn `t` at x, y.

    `room` (spots,) is scratch. Singles are exact enough to choose a spot by, and twice as fast.
    """
    cover[:] = 0.0
    for other in range(len(tables.size)):
        first, last = tables.spot_from[other], tables.spot_from[other + 1]
        # The spots of a turn rise, so those that are near in height follow each other.
        first = _above(tables.up, first, last, np.float32(y - tables.size[other, 1]))
        last = _above(tables.up, first, last, np.float32(y + tables.size[t, 1]))
        part = cover[first:last]
        for f in range(tables.pair[t, other, 0], tables.pair[t, other, 1]):
            sides = tables.sides[tables.fit[f, 0] : tables.fit[f, 1]]
            _room(sides, x, y, tables.across[first:last], tables.up[first:last], room)
            for s in range(len(part)):
                part[s] += np.float32(0.5) * (room[s] + abs(room[s]))  # what is above 0


@compiled
def _room(sides: Floats, x: float, y: float, across: Singles, up: Singles, room: Singles) -> None:
    """Fill `room` (spots,): how far inside a no-fit polygon, moved by (x, y), each spot lies.

    Spots outside get some number below 0. Written so that the compiler takes eight spots at a time:
    three sides in a row, no exits, arrays walked from 0.
    """
    for s in range(len(across)):
        room[s] = np.float32(1e30)
    last = len(sides) - 1
    for k in range(0, last + 1, 3):
        m, n = min(k + 1, last), min(k + 2, last)
        nx0, ny0 = np.float32(sides[k, 0]), np.float32(sides[k, 1])
        nx1, ny1 = np.float32(sides[m, 0]), np.float32(sides[m, 1])
        nx2, ny2 = np.float32(sides[n, 0]), np.float32(sides[n, 1])
        c0 = np.float32(sides[k, 2] + sides[k, 0] * x + sides[k, 1] * y)
        c1 = np.float32(sides[m, 2] + sides[m, 0] * x + sides[m, 1] * y)
        c2 = np.float32(sides[n, 2] + sides[n, 0] * x + sides[n, 1] * y)
        for s in range(len(across)):
            least = room[s]
            gap = c0 - nx0 * across[s] - ny0 * up[s]
            least = gap if gap < least else least  # noqa: FURB136  (min costs the eightfold steps)
            gap = c1 - nx1 * across[s] - ny1 * up[s]
            least = gap if gap < least else least  # noqa: FURB136  (min costs the eightfold steps)
            gap = c2 - nx2 * across[s] - ny2 * up[s]
            room[s] = gap if gap < least else least  # noqa: FURB136  (min costs the eightfold steps)


@compiled
def _above(up: Singles, first: int, last: int, height: np.float32) -> int:
    """Return the first of the spots from `first` to `last` that lies above `height`."""
    while first < last:
        middle = (first + last) // 2
        if up[middle] > height:
            last = middle
        else:
            first = middle + 1
    return first


@compiled
def covers(tables: Tables, turn: Ints, x: Floats, y: Floats) -> NDArray[np.float32]:
    """Return, shape (n, spots), how deep a piece at each spot would lie in each of the pieces."""
    cover = np.zeros((len(turn), len(tables.spot)), np.float32)
    room = np.zeros(len(tables.spot), np.float32)
    for i in range(len(turn)):
        cover_of(tables, turn[i], x[i], y[i], cover[i], room)
    return cover


@compiled
def add_cover(tables: Tables, spot: int, cover: Singles) -> None:
    """Add to `cover` (spots,) how deep a piece at each spot would lie in one at `spot`."""
    t = 0
    while tables.spot_from[t + 1] <= spot:
        t += 1
    more = np.empty_like(cover)
    room = np.empty_like(cover)
    cover_of(tables, t, tables.spot[spot, 0], tables.spot[spot, 1], more, room)
    cover += more


@compiled
def cheapest_spots(tables: Tables, cover: Singles, depth: Floats, spot: Ints) -> None:
    """Write to `depth` and `spot` (kinds,) the least of `cover` over each kind's spots, and where.

    The depth of a kind without spots is 1e30.
    """
    for kind in range(len(depth)):
        first = tables.spot_from[tables.turn_from[kind]]
        own = cover[first : tables.spot_from[tables.turn_from[kind + 1]]]
        depth[kind], spot[kind] = 1e30, 0
        if len(own):
            at = np.argmin(own)
            depth[kind], spot[kind] = own[at], first + at


@compiled
def cheapest_exchanges(tables: Tables, cover: Singles, depth: Floats) -> None:
    """Write to `depth` (n + 1, kinds) the least depth of a new piece when one piece is taken away.

    `cover` is that of the n pieces; the last row is for none taken away.
    """
    total = np.zeros(cover.shape[1], np.float32)
    for i in range(len(cover)):
        total += cover[i]
    spot = np.empty(depth.shape[1], np.int64)
    for i in range(len(cover)):
        cheapest_spots(tables, total - cover[i], depth[i], spot)
    cheapest_spots(tables, total, depth[len(cover)], spot)


@compiled
def depths(tables: Tables, turn: Ints, x: Floats, y: Floats, depth: Floats) -> float:
    """Fill `depth` (n, n) with the depth of every pair; return the sum over pairs."""
    n = len(turn)
    total = 0.0
    for i in range(n):
        depth[i, i] = 0.0
        for j in range(i + 1, n):
            d = depth_of(tables, turn[i], turn[j], x[j] - x[i], y[j] - y[i])
            depth[i, j] = d
            depth[j, i] = d
            total += d
    return total
