"""What the patterns found so far could give of each need, and in which order to look further."""

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from scrapstore.matching.aims import Aim
from scrapstore.matching.forms import Need, RoleRule
from scrapstore.matching.screen import Screen

__all__ = ["LookingOrder"]

# Of a scrap's area, the share that pieces come to after the edges are lost: a guess that only
# decides what is looked at first.
_YIELD = 0.8
_TIGHT = 2.25  # times a piece's area, below which a crooked scrap gives one by luck only
_STRAIGHT = 0.98  # of the box round a scrap; one that fills it holds what it measures
_ALONE: Final = 1.25  # times what is wanted, that the order of the first aim must give by itself
_SHARED: Final = 6.0  # and at the most where others want the same scraps


class LookingOrder:
    """Gives, for a need, the scraps to look at next, and says when there is enough.

    Two orders take turns: the smallest scraps first (they are used up), and those of the most
    pieces first (few to fetch). What the first aim asks for has two turns of three. Where pieces
    must come from one fabric in sets, scraps of one fabric follow each other in a third order.
    """

    def __init__(
        self,
        screened: Screen,
        needs: Sequence[Need],
        roles: Mapping[str, RoleRule],
        classes: Mapping[str, str],
        aims: Sequence[Aim],
    ) -> None:
        self._screened, self._needs, self._roles, self._classes = screened, needs, roles, classes
        self._queues: list[list[NDArray[np.int64]]] = []
        self._at: list[list[int]] = []
        self._turn = [0] * len(needs)
        self._seen_in: list[list[set[int]]] = []
        self._factors = _factors(screened, needs)
        keys = [scrap.cloth_key for scrap in screened.scraps]
        few = [aim for aim in aims if aim in ("whole", "scraps")][:1] == ["scraps"]
        regions = np.array([scrap.region for scrap in screened.scraps], dtype=object)
        x0, y0, x1, y1 = shapely.bounds(regions).reshape(-1, 4).T
        straight = screened.area >= _STRAIGHT * (x1 - x0) * (y1 - y0)
        for j, need in enumerate(needs):
            rows = np.flatnonzero(screened.may[:, j])
            area = screened.area[rows]
            guess = np.clip(_YIELD * area / need.outline.area - 0.4, 0.05, need.wanted)
            # Hardly any crooked ones that are barely larger than the piece hold it: they come last.
            tight = (area < _TIGHT * need.outline.area) & ~straight[rows]
            smallest = rows[np.lexsort((rows, np.where(tight, -area, area), tight))]
            most = rows[np.lexsort((rows, area, -guess))]
            first, other = (most, smallest) if few else (smallest, most)
            queues = [first, other]
            if roles[need.role].same_fabric_sets:
                queues.append(_by_fabric(rows, guess, keys))
            self._queues.append(queues)
            self._at.append([0] * len(queues))
            self._seen_in.append([set() for _ in queues])

    def take(self, need: int, count: int, seen: set[int]) -> list[int]:
        """Return up to `count` rows of the screen for one need that are not in `seen`."""
        found: list[int] = []
        queues, at = self._queues[need], self._at[need]
        turns = [0, 0, *range(1, len(queues))]
        while len(found) < count and any(a < len(q) for a, q in zip(at, queues, strict=True)):
            turn = turns[self._turn[need] % len(turns)]
            self._turn[need] += 1
            queue = queues[turn]
            while at[turn] < len(queue):
                row = int(queue[at[turn]])
                at[turn] += 1
                self._seen_in[need][turn].add(row)
                if row not in seen and row not in found:
                    found.append(row)
                    break
        return found

    def wanting(self, gives: Mapping[tuple[int, str], int], oversupply: float) -> list[int]:
        """Return the needs, by index, of which the scraps looked at could not give enough.

        `gives` maps (row of the screen, class) to the most pieces that a pattern of it gives.
        Enough is `oversupply` times what is wanted; and what the order of the first aim came upon
        is enough by itself, or a single large scrap would end the looking for small ones.
        """
        return [
            j
            for j in range(len(self._needs))
            if self._supply(j, gives, None) < oversupply
            or (
                not self._roles[self._needs[j].role].same_fabric_sets
                and self._at[j][0] < len(self._queues[j][0])
                and self._supply(j, gives, self._seen_in[j][0]) < self._factors[j] * oversupply / 2
            )
        ]

    def _supply(self, j: int, gives: Mapping[tuple[int, str], int], rows: set[int] | None) -> float:
        """Return how many times over need `j` could be had; 0 while too few fabrics are seen."""
        need, screened = self._needs[j], self._screened
        role, name = self._roles[need.role], self._classes[need.name]
        supply: Counter[str] = Counter()
        for (row, given), count in gives.items():
            if given == name and screened.may[row, j] and (rows is None or row in rows):
                supply[screened.scraps[row].cloth_key] += count
        # Needs that are cut alike take from the same scraps.
        wanted = sum(n.wanted for n in self._needs if self._classes[n.name] == name)
        size = role.same_fabric_sets or 1
        most = role.max_per_fabric or wanted
        if rows is None and len(supply) < 2 * (role.min_fabrics or 0):
            return 0.0
        return sum(min(count // size * size, most) for count in supply.values()) / max(wanted, 1)


def _factors(screened: Screen, needs: Sequence[Need]) -> list[float]:
    """Return for each need how many times over small scraps must give it.

    More than once where other needs compete for the same scraps: a piece of each takes cloth about
    by its area.
    """
    area = np.array([need.outline.area * need.wanted for need in needs])
    may = screened.may.astype(np.float64)
    both = may.T @ may  # scraps that two needs share
    own = np.maximum(np.diag(both), 1.0)
    shares = both / own[:, None] >= 0.5
    together = shares @ area / np.maximum(area, 1e-9)
    return [float(min(_SHARED, _ALONE * factor)) for factor in together]


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
