"""Which assemblies are the same but for where they lie and how they are turned.

Such assemblies are sewn in the same way, one after the other. A mirrored one is another.
"""

import math
from collections import defaultdict
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from scrapstore.designs.sewing.subdivision import Assembly

__all__ = ["Canonical", "Congruence"]

_STEP: Final = 1e-4
"""Inches; corners are compared on a grid as fine as this."""
_SHIFT: Final = 0.31415
"""Of a step: sizes are fractions of an inch, and must not lie on the border between two steps."""

Row = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Canonical:
    """An assembly as it would be described anywhere: `key` is equal for what is congruent.

    `order` are its pieces in the order of the key, so that those at one place belong together.
    """

    key: Hashable
    order: tuple[int, ...]


class Congruence:
    """Compares assemblies of pieces with these corners, each ring counter-clockwise."""

    def __init__(self, rings: Sequence[Sequence[tuple[float, float]]]) -> None:
        self._rings = [np.array(ring) for ring in rings]
        self._middles = np.array([ring.mean(axis=0) for ring in self._rings])
        self._kinds = [_kind(ring) for ring in self._rings]

    def canonical(
        self, assembly: Assembly, labels: Mapping[int, Sequence[Hashable]] | None = None
    ) -> Canonical:
        """Return the description; with `labels` for each piece, these must correspond too.

        Which label it is does not matter, only which pieces have the same at the same depth.
        """
        pieces = sorted(assembly)
        middle = self._middles[pieces].mean(axis=0)
        best: tuple[tuple[Row, ...], Row] | None = None
        order: tuple[int, ...] = ()
        for anchor in self._anchors(pieces, middle):
            for way in self._ways(anchor, middle):
                rows = self._rows(pieces, self._middles[anchor], way)
                placed = sorted(range(len(pieces)), key=rows.__getitem__)
                pattern = () if labels is None else _pattern([labels[pieces[k]] for k in placed])
                key = (tuple(rows[k] for k in placed), pattern)
                if best is None or key < best:
                    best, order = key, tuple(pieces[k] for k in placed)
        return Canonical(best, order)

    def _anchors(self, pieces: list[int], middle: NDArray[np.float64]) -> list[int]:
        """Return the pieces of the rarest kind, by shape and by how far off the middle they are."""
        kinds: dict[tuple[int, ...], list[int]] = defaultdict(list)
        for piece in pieces:
            off = float(np.hypot(*(self._middles[piece] - middle)))
            kinds[(*self._kinds[piece], math.floor(off / (10 * _STEP) + _SHIFT))].append(piece)
        return min(kinds.items(), key=lambda one: (len(one[1]), one[0]))[1]

    def _ways(self, anchor: int, middle: NDArray[np.float64]) -> list[NDArray[np.float64]]:
        """Return the directions from which an assembly may be looked at, as unit vectors."""
        off = self._middles[anchor] - middle
        if np.hypot(*off) > 100 * _STEP:
            ways = off[None, :]
        else:
            ring = self._rings[anchor]
            ways = np.roll(ring, -1, axis=0) - ring
        return list(ways / np.hypot(ways[:, 0], ways[:, 1])[:, None])

    def _rows(
        self, pieces: list[int], origin: NDArray[np.float64], way: NDArray[np.float64]
    ) -> list[Row]:
        """Return each piece by its corners, seen from `origin` in the direction `way`."""
        turn = np.array([[way[0], -way[1]], [way[1], way[0]]])
        every = np.concatenate([self._rings[piece] for piece in pieces])
        seen = np.floor((every - origin) @ turn / _STEP + _SHIFT).astype(np.int64)
        rows: list[Row] = []
        at = 0
        for piece in pieces:
            corners = sorted(map(tuple, seen[at : at + len(self._rings[piece])].tolist()))
            at += len(self._rings[piece])
            rows.append(tuple(part for corner in corners for part in corner))
        return rows


def _kind(ring: NDArray[np.float64]) -> Row:
    """Return the area of a ring on a coarse grid, and the number of its corners."""
    x, y = ring[:, 0], ring[:, 1]
    area = float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)) / 2
    return math.floor(area / (10 * _STEP) + _SHIFT), len(ring)


def _pattern(labels: Sequence[Sequence[Hashable]]) -> Row:
    """Return the labels of each depth as numbers in the order in which they first occur."""
    pattern: list[int] = []
    for depth in zip(*labels, strict=True):
        numbers: dict[Hashable, int] = {}
        pattern += [numbers.setdefault(label, len(numbers)) for label in depth]
    return tuple(pattern)
