"""The swatches of many cloths as two arrays, so that thousands are worked at once."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from scrapstore.colour.spaces import FloatArray
from scrapstore.colour.swatches import Swatch
from scrapstore.errors import ScrapstoreError

__all__ = ["SwatchTable", "tabulate"]


@dataclass(frozen=True, slots=True, eq=False)
class SwatchTable:
    """Swatches of n cloths, at most k each; a row with fewer is filled up with shares of 0."""

    labs: FloatArray
    """CIELAB, shape (n, k, 3)."""
    shares: FloatArray
    """Shape (n, k); each row sums to 1."""

    def __len__(self) -> int:
        return len(self.shares)


def tabulate(swatch_sets: Sequence[Sequence[Swatch]]) -> SwatchTable:
    """Return the table of one sequence of swatches a cloth.

    Raises ScrapstoreError for a cloth without swatches or whose shares sum to nothing.
    """
    counts = np.array([len(one) for one in swatch_sets], dtype=np.intp)
    if len(counts) == 0:
        return SwatchTable(np.zeros((0, 1, 3)), np.zeros((0, 1)))
    flat = np.array([(*one.lab, one.share) for cloth in swatch_sets for one in cloth]).reshape(
        -1, 4
    )
    rows = np.repeat(np.arange(len(counts)), counts)
    columns = np.arange(len(flat)) - np.repeat(np.cumsum(counts) - counts, counts)
    labs = np.zeros((len(counts), max(1, int(counts.max())), 3))
    shares = np.zeros(labs.shape[:2])
    labs[rows, columns], shares[rows, columns] = flat[:, :3], flat[:, 3]
    total = shares.sum(axis=1, keepdims=True)
    bare = np.flatnonzero(~(total[:, 0] > 0))
    if len(bare):
        msg = (
            f"colours: cloth {bare[0] + 1} of {len(counts)} has no swatch with a share; "
            "give it a photo or a colour"
        )
        raise ScrapstoreError(msg)
    return SwatchTable(labs, shares / total)
