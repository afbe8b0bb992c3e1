"""What the patterns found so far could give of each need, and in which order to look further."""

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from scrapstore.matching.forms import Need, RoleRule
from scrapstore.matching.screen import Screen

__all__ = ["LookingOrder", "wanting"]

# Of a scrap's area, the share that pieces come to after the edges are lost: a guess that only
# decides what is looked at first.
_YIELD = 0.8
_STEP = 0.6180339887498949  # golden section: leaves no gap large for long


class LookingOrder:
    """Gives, for a need, the scraps to look at next.

    Four orders take turns: the least cloth for a piece first (small scraps are used up), again,
    then the most pieces first (few scraps to fetch), then scraps of all sizes evenly.
    """

    def __init__(
        self, screened: Screen, needs: Sequence[Need], roles: Mapping[str, RoleRule]
    ) -> None:
        self._queues: list[list[NDArray[np.int64]]] = []
        self._at: list[list[int]] = []
        keys = [scrap.cloth_key for scrap in screened.scraps]
        for j, need in enumerate(needs):
            rows = np.flatnonzero(screened.may[:, j])
            area = screened.area[rows]
            guess = np.clip(_YIELD * area / need.outline.area - 0.4, 0.05, need.wanted)
            by_cost = rows[np.lexsort((rows, area / guess))]
            if roles[need.role].same_fabric_sets:
                by_cost = _by_fabric(rows, guess, keys)
            by_yield = rows[np.lexsort((rows, area, -guess))]
            ranked = rows[np.lexsort((rows, area))]
            evenly = ranked[np.argsort((np.arange(len(rows)) * _STEP) % 1, kind="stable")]
            self._queues.append([by_cost, by_cost, by_yield, evenly])
            self._at.append([0, 0, 0, 0])

    def take(self, need: int, count: int, seen: set[int]) -> list[int]:
        """Return up to `count` rows of the screen for one need that are not in `seen`."""
        found: list[int] = []
        queues, at = self._queues[need], self._at[need]
        while len(found) < count and any(a < len(q) for a, q in zip(at, queues, strict=True)):
            for turn, queue in enumerate(queues):
                while at[turn] < len(queue):
                    row = int(queue[at[turn]])
                    at[turn] += 1
                    if row not in seen and row not in found:
                        found.append(row)
                        break
                if len(found) == count:
                    break
        return found


def _by_fabric(
    rows: NDArray[np.int64], guess: NDArray[np.float64], keys: Sequence[str]
) -> NDArray[np.int64]:
    """Order so that scraps of one fabric follow each other, the fabrics that give most first."""
    total: dict[str, float] = defaultdict(float)
    for row, pieces in zip(rows, guess, strict=True):
        total[keys[int(row)]] += float(pieces)
    order = sorted(
        range(len(rows)),
        key=lambda i: (-total[keys[int(rows[i])]], keys[int(rows[i])], -guess[i], rows[i]),
    )
    return rows[order]


def wanting(
    gives: Mapping[tuple[int, str], int],
    screened: Screen,
    needs: Sequence[Need],
    roles: Mapping[str, RoleRule],
    classes: Mapping[str, str],
    oversupply: float,
) -> list[int]:
    """Return the needs, by index, that the scraps seen so far could not give several times over.

    `gives` maps (row of the screen, class) to the most pieces that a pattern of it gives.
    """
    found = []
    for j, need in enumerate(needs):
        role = roles[need.role]
        supply: Counter[str] = Counter()
        for (row, name), count in gives.items():
            if name == classes[need.name] and screened.may[row, j]:
                supply[screened.scraps[row].cloth_key] += count
        # Needs that are cut alike take from the same scraps.
        wanted = sum(n.wanted for n in needs if classes[n.name] == classes[need.name])
        size = role.same_fabric_sets or 1
        most = role.max_per_fabric or wanted
        total = sum(min(count // size * size, most) for count in supply.values())
        if total < oversupply * wanted or len(supply) < 2 * (role.min_fabrics or 0):
            found.append(j)
    return found
