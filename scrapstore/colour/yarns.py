"""Woven checks: where a yarn crosses white, the eye sees a tint; people name the yarn.

In a gingham, yarns of a colour and of white lie both ways. With a part p of the one, p² of the
cloth shows it alone, (1 − p)² the white, and 2p(1 − p) their blend, half of the light of each. A
red and white check is thus half pink, a green and white one half a greyish green, and nobody would
call them pink or grey.

Only checks with white (or cream, which counts as white) are corrected: there the blend is a tint of
the other colour, so that little is lost when a print happens to have the same shares. Of two dyes
and a third half way between them, swatches cannot distinguish a weave from a print.
"""

from itertools import combinations
from typing import Final

import numpy as np

from scrapstore.colour.difference import delta_e
from scrapstore.colour.families import FAMILIES, families
from scrapstore.colour.spaces import FloatArray, lab_to_linear, linear_to_lab

__all__ = ["shares_by_yarn"]

# A swatch counts wholly as the blend of two others up to the first, and no longer from the second
# on; between the two the word passes softly from the one reading to the other.
_ALIKE: Final = (4.0, 8.0)  # CIEDE2000 to the blend
_AS_WOVEN: Final = (1.25, 1.8)  # by what factor its share differs from the one that weaving gives


def shares_by_yarn(labs: FloatArray, shares: FloatArray) -> FloatArray:
    """Return `shares` (n, k) with those of blends given to the two yarns, half each.

    `labs` (n, k, 3) are the swatches' CIELAB colours. As much of a share is given as the swatch is
    surely a blend of a white and another, as a woven check has it; the sum stays.
    """
    count = shares.shape[1]
    white = families(labs) == FAMILIES.index("white")
    surest = np.zeros(shares.shape)
    parents = np.zeros((*shares.shape, 2), dtype=np.intp)
    for one, other in combinations(range(count), 2):
        woven = 2 * np.sqrt(shares[:, one] * shares[:, other])
        checks = (white[:, one] != white[:, other]) & (woven > 0)
        for blend in set(range(count)) - {one, other}:
            rows = np.flatnonzero(checks & (shares[:, blend] > 0))
            factor = np.exp(np.abs(np.log(shares[rows, blend] / woven[rows])))
            sure = _falling(factor, _AS_WOVEN)
            rows, sure = rows[sure > 0], sure[sure > 0]
            if not len(rows):
                continue
            light = lab_to_linear(labs[rows][:, [one, other]]).mean(axis=1)
            sure *= _falling(delta_e(linear_to_lab(light), labs[rows, blend]), _ALIKE)
            surer = sure > surest[rows, blend]
            surest[rows[surer], blend] = sure[surer]
            parents[rows[surer], blend] = one, other
    corrected = shares.copy()
    rows, blends = np.nonzero(surest)
    given = (surest * shares)[rows, blends]
    corrected[rows, blends] -= given
    for side in (0, 1):
        np.add.at(corrected, (rows, parents[rows, blends, side]), given / 2)
    return corrected


def _falling(amount: FloatArray, ends: tuple[float, float]) -> FloatArray:
    """Return 1 up to the first of `ends`, 0 from the second on, and a straight way between."""
    return np.asarray(1 - np.clip((amount - ends[0]) / (ends[1] - ends[0]), 0, 1))
