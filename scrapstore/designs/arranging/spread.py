"""Cloth for single places, or small groups of them: neighbours unlike, many fabrics.

A quick construction comes first, then exchanges that make neighbours differ more. Where the
construction fails, an exact model decides whether there is any way at all.
"""

from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from scrapstore.designs.arranging.exact import most_laid
from scrapstore.designs.arranging.forms import Amount, OfferedCloth, RoleConditions, can_give, plus
from scrapstore.designs.arranging.groups import Groups, fabric_numbers

__all__ = ["spread"]

_BEGINS: Final = 6
_EXCHANGES: Final = 25  # tried for each group
_MOST_EXCHANGES: Final = 4_000
_SOFT: Final = 8.0  # of CIEDE2000: differences well above it count alike


def spread(
    groups: Groups,
    cloths: Sequence[OfferedCloth],
    unlike: NDArray[np.float64],
    seed: int,
    *,
    apart: bool = True,
    conditions: Mapping[str, RoleConditions] | None = None,
) -> tuple[int, ...] | None:
    """Return a cloth for every group; None where there is no way, or none was found.

    `unlike[c, d]` is CIEDE2000 between two cloths. With `apart` no two groups that share an edge
    have one fabric; else that only counts against a way. As many fabrics as can be are used, and
    those of neighbours differ as much as the exchanges bring about.
    """
    fabrics = fabric_numbers(cloths)
    chance = np.random.default_rng(seed)
    # What may be exchanged takes the same pieces; where a role counts, of one line of the list.
    alike: list[tuple[object, ...]] = [
        tuple(groups.top.places[p].line if conditions else groups.top.places[p].kind for p in each)
        for each in groups.places
    ]
    for _ in range(_BEGINS):
        chosen = _constructed(groups, cloths, fabrics, unlike, chance, apart=apart)
        if chosen is None:
            continue
        chosen = _exchanged(groups, fabrics, unlike, chosen, alike, chance, apart=apart)
        if _kept(groups, cloths, chosen, conditions):
            return tuple(chosen)
    exact, _ = most_laid(groups, cloths, seed, apart=apart, conditions=conditions)
    if exact is None or None in exact:
        return None
    chosen = [cloth for cloth in exact if cloth is not None]
    if not _kept(groups, cloths, chosen, conditions):
        return None
    better = _exchanged(groups, fabrics, unlike, list(chosen), alike, chance, apart=apart)
    return tuple(better if _kept(groups, cloths, better, conditions) else chosen)


def _kept(
    groups: Groups,
    cloths: Sequence[OfferedCloth],
    chosen: Sequence[int],
    conditions: Mapping[str, RoleConditions] | None,
) -> bool:
    cloth_of = groups.cloth_of(chosen)
    return not any(
        rule.broken(groups.top, cloths, cloth_of, role) for role, rule in (conditions or {}).items()
    )


def _constructed(
    groups: Groups,
    cloths: Sequence[OfferedCloth],
    fabrics: Sequence[int],
    unlike: NDArray[np.float64],
    chance: np.random.Generator,
    *,
    apart: bool,
) -> list[int] | None:
    """Give the groups cloths one by one, the one with fewest left to choose from first."""
    count = len(groups.places)
    chosen: list[int] = [-1] * count
    nothing = (0,) * len(groups.top.kinds)
    used: dict[int, Amount] = {}
    uses = [0] * (max(fabrics, default=0) + 1)
    taken: list[set[int]] = [set() for _ in range(count)]
    ties = chance.permutation(count).tolist()
    open_groups = set(range(count))
    while open_groups:
        at = min(
            open_groups,
            key=lambda g: (len(groups.allowed[g]) - len(taken[g]), -len(taken[g]), ties[g]),
        )
        beside = [chosen[n] for n in groups.beside[at] if chosen[n] >= 0]
        best: tuple[float, ...] | None = None
        noise = chance.random(len(groups.allowed[at]))
        for cloth, jitter in zip(groups.allowed[at], noise.tolist(), strict=True):
            near = fabrics[cloth] in taken[at]
            if apart and near:
                continue
            after = plus(used.get(cloth, nothing), groups.takes[at])
            if not can_give(cloths[cloth].gives, after):
                continue
            nearest = min((float(unlike[cloth, other]) for other in beside), default=50.0)
            # What has most left of what it can give comes first: it must end up somewhere.
            left = max(sum(gives) for gives in cloths[cloth].gives) - sum(after)
            cost = (near, uses[fabrics[cloth]] - 0.05 * left, -min(nearest, 25.0) + 8 * jitter)
            if best is None or (*cost, cloth) < best:
                best = (*cost, cloth)
        if best is None:
            return None
        cloth = int(best[-1])
        chosen[at] = cloth
        used[cloth] = plus(used.get(cloth, nothing), groups.takes[at])
        uses[fabrics[cloth]] += 1
        for other in groups.beside[at]:
            taken[other].add(fabrics[cloth])
        open_groups.remove(at)
    return chosen


def _exchanged(
    groups: Groups,
    fabrics: Sequence[int],
    unlike: NDArray[np.float64],
    chosen: list[int],
    alike: Sequence[tuple[object, ...]],
    chance: np.random.Generator,
    *,
    apart: bool,
) -> list[int]:
    """Exchange the cloths of two groups that are `alike`, while neighbours come to differ more."""
    count = len(groups.places)
    likeness = np.exp(-unlike / _SOFT)
    same = np.equal.outer(np.array(fabrics), np.array(fabrics))
    likeness = likeness + same * (1e6 if apart else 3.0)
    allowed = [frozenset(each) for each in groups.allowed]

    def cost(at: int, cloth: int, other: int, others: int) -> float:
        row = likeness[cloth]
        return sum(float(row[others if n == other else chosen[n]]) for n in groups.beside[at])

    tries = min(_MOST_EXCHANGES, _EXCHANGES * count)
    for i, j in chance.integers(0, max(count, 1), size=(tries, 2)).tolist():
        a, b = chosen[i], chosen[j]
        if a == b or alike[i] != alike[j] or b not in allowed[i] or a not in allowed[j]:
            continue
        before = cost(i, a, j, b) + cost(j, b, i, a)
        after = cost(i, b, j, a) + cost(j, a, i, b)
        if after < before - 1e-12:
            chosen[i], chosen[j] = b, a
    return chosen
