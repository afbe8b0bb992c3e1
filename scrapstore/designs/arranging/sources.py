"""What a block of places may be one of: fabrics, or all cloths of a colour or of a value."""

from collections import defaultdict
from collections.abc import Sequence
from typing import Final

import numpy as np

from scrapstore.designs.arranging.forms import Amount, By, Job, plus, undominated_amounts
from scrapstore.designs.arranging.search import Source

__all__ = ["sources_by", "sum_of_gives"]

_MOST_AMOUNTS: Final = 200
"""Kept of what several cloths give together."""


def sources_by(job: Job, by: By) -> tuple[Source, ...]:
    """Return the cloths gathered by fabric, by colour family or by value; unknown ones left out."""
    members: dict[str, list[int]] = defaultdict(list)
    for at, cloth in enumerate(job.cloths):
        key = {"fabric": cloth.fabric, "colour": cloth.family, "value": cloth.value}[by]
        if key is not None:
            members[key].append(at)
    whole = job.top.amount(range(len(job.top.places)))
    return tuple(
        Source(
            job.cloths[each[0]].word if by == "fabric" else key,
            tuple(each),
            _mean_lab(job, each),
            sum_of_gives([job.cloths[c].gives for c in each], whole),
        )
        for key, each in members.items()
    )


def _mean_lab(job: Job, members: Sequence[int]) -> tuple[float, float, float]:
    weights = [max(sum(amount) for amount in job.cloths[c].gives) for c in members]
    mean = np.average([job.cloths[c].lab for c in members], axis=0, weights=weights)
    light, a, b = mean.tolist()
    return light, a, b


def sum_of_gives(each: Sequence[Sequence[Amount]], cap: Amount) -> tuple[Amount, ...]:
    """Return what several cloths give together, as far as it is wanted.

    Where kinds compete there may be very many amounts; then those are kept that differ most.
    """
    total: tuple[Amount, ...] = ((0,) * len(cap),)
    for gives in each:
        sums = {
            tuple(min(c, k) for c, k in zip(plus(one, other), cap, strict=True))
            for one in total
            for other in gives
        }
        total = undominated_amounts(sums)
        if len(total) > _MOST_AMOUNTS:
            step = (len(total) - 1) / (_MOST_AMOUNTS - 1)
            total = tuple(total[round(k * step)] for k in range(_MOST_AMOUNTS))
    return total
