"""The earth mover's distance between cloths, and the cloths most like one.

How far is a navy with roses from a navy with dots? As far as its colour must be carried, share by
share, to become the other's: the earth mover's distance (Rubner, Tomasi and Guibas, "The Earth
Mover's Distance as a Metric for Image Retrieval", International Journal of Computer Vision 40,
2000). A colour's way is its CIEDE2000, so a distance of 2 can hardly be seen and 20 is another
colour.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from scrapstore.colour.difference import delta_e
from scrapstore.colour.reading import ACCENT_SHARE
from scrapstore.colour.spaces import FloatArray
from scrapstore.colour.swatches import Swatch
from scrapstore.colour.table import SwatchTable, tabulate

__all__ = ["Match", "colour_anywhere", "most_like"]

_ROWS_AT_ONCE: Final = 20_000  # keeps the working memory under about 200 MB


@dataclass(frozen=True, slots=True)
class Match:
    """A cloth, as its place in the sequence it came in, and how far off it is in CIEDE2000."""

    place: int
    distance: float


def most_like(
    query: Sequence[Swatch], swatch_sets: Sequence[Sequence[Swatch]], *, most: int = 20
) -> tuple[Match, ...]:
    """Return the `most` cloths nearest to `query` as whole cloths, the nearest first; exact.

    For all of them a lower bound is worked out at once (each colour goes to its nearest, however
    full that is). Then cloths are measured exactly in the order of their bounds, until the next
    bound is farther than the last that would be kept.
    """
    if not swatch_sets or most < 1:
        return ()
    wanted, table = tabulate([query]), tabulate(swatch_sets)
    bounds = np.concatenate(
        [
            _bounds(wanted, table, slice(at, at + _ROWS_AT_ONCE))
            for at in range(0, len(table), _ROWS_AT_ONCE)
        ]
    )
    kept: list[Match] = []
    for place in np.argsort(bounds, kind="stable").tolist():
        if len(kept) == most and bounds[place] > kept[-1].distance:
            break
        ways = delta_e(wanted.labs[0][:, None, :], table.labs[place][None, :, :])
        distance = _carry(ways, wanted.shares[0], table.shares[place])
        kept.append(Match(place, distance))
        kept.sort(key=lambda match: (match.distance, match.place))
        del kept[most:]
    return tuple(kept)


def colour_anywhere(
    colour: Swatch, swatch_sets: Sequence[Sequence[Swatch]], *, most: int = 20
) -> tuple[Match, ...]:
    """Return the `most` cloths that hold a colour nearest to `colour`, ground or accent alike.

    A colour counts from the share of an accent on.
    """
    if not swatch_sets or most < 1:
        return ()
    table = tabulate(swatch_sets)
    apart = np.where(table.shares >= ACCENT_SHARE, delta_e(table.labs, colour.lab), np.inf)
    nearest = apart.min(axis=1)
    order = np.argsort(nearest, kind="stable")[:most]
    return tuple(Match(at, float(nearest[at])) for at in order.tolist() if nearest[at] < np.inf)


def _bounds(wanted: SwatchTable, table: SwatchTable, rows: slice) -> FloatArray:
    labs, shares = table.labs[rows], table.shares[rows]
    ways = delta_e(wanted.labs[0][None, :, None, :], labs[:, None, :, :])
    used = shares[:, None, :] > 0
    out = np.where(used, ways, np.inf).min(axis=2) @ wanted.shares[0]
    back = (ways.min(axis=1) * shares).sum(axis=1)
    return np.asarray(np.maximum(out, back) - 1e-9, dtype=np.float64)


def _carry(ways: FloatArray, have: FloatArray, need: FloatArray) -> float:
    """Return the least cost of carrying `have` (m,) to `need` (k,) when a way costs (m, k)."""
    ways = ways[have > 0][:, need > 0]
    have, need = have[have > 0], need[need > 0]
    if len(have) == 1 or len(need) == 1:
        return float(have @ ways @ need)
    from scipy.optimize import linprog

    m, k = ways.shape
    leaves = np.kron(np.eye(m), np.ones(k))
    arrives = np.kron(np.ones(m), np.eye(k))
    # One of the equations follows from the rest; left out, rounding cannot set them at odds.
    plan = linprog(
        ways.ravel(),
        A_eq=np.vstack([leaves, arrives[:-1]]),
        b_eq=np.concatenate([have, need[:-1]]),
        method="highs-ds",
    )
    assert plan.fun is not None  # a plan always exists: as much is needed as there is
    return float(plan.fun)
