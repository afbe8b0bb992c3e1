"""Woven checks: where two yarns cross, the eye sees a blend; people name the yarns.

In a gingham, yarns of one colour and of another lie both ways. With a part p of the one, p² of the
cloth shows it alone, (1 − p)² the other, and 2p(1 − p) their blend, half of the light of each. A
green and white check is thus half a greyish green, which nobody would call a grey cloth.
"""

from itertools import combinations
from typing import Final

import numpy as np

from scrapstore.colour.difference import delta_e
from scrapstore.colour.spaces import FloatArray, lab_to_linear, linear_to_lab

__all__ = ["shares_by_yarn"]

_ALIKE: Final = 6.0
"""CIEDE2000 between a swatch and the blend of two others, for it to be taken for that."""
_AS_WOVEN: Final = 1.4
"""By what factor its share may differ from the one that weaving gives."""


def shares_by_yarn(labs: FloatArray, shares: FloatArray) -> FloatArray:
    """Return `shares` (n, k) with those of blends given to the two yarns, half each.

    `labs` (n, k, 3) are the swatches' CIELAB colours. Swatches that are no blend of two others, as
    a woven check has it, keep their shares.
    """
    count = shares.shape[1]
    nearest = np.full(shares.shape, _ALIKE)
    parents = np.full((*shares.shape, 2), -1)
    for one, other in combinations(range(count), 2):
        woven = 2 * np.sqrt(shares[:, one] * shares[:, other])
        for blend in set(range(count)) - {one, other}:
            share = shares[:, blend]
            likely = (share > 0) & (share < _AS_WOVEN * woven) & (woven < _AS_WOVEN * share)
            rows = np.flatnonzero(likely)
            if not len(rows):
                continue
            light = lab_to_linear(labs[rows][:, [one, other]]).mean(axis=1)
            apart = delta_e(linear_to_lab(light), labs[rows, blend])
            nearer = rows[apart < nearest[rows, blend]]
            nearest[nearer, blend] = apart[apart < nearest[rows, blend]]
            parents[nearer, blend] = one, other
    told = shares.copy()
    rows, blends = np.nonzero(parents[..., 0] >= 0)
    given = shares[rows, blends]
    told[rows, blends] = 0.0
    for side in (0, 1):
        np.add.at(told, (rows, parents[rows, blends, side]), given / 2)
    return told
