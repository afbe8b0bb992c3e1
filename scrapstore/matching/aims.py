"""The aims of a plan, and what they weigh: cloth kept whole, scraps to fetch, ruler cuts."""

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Final, Literal, get_args

import numpy as np

from scrapstore.errors import UsageError
from scrapstore.matching.patterns import Pattern
from scrapstore.near_words import did_you_mean

__all__ = [
    "AIMS",
    "DEFAULT_AIMS",
    "LARGE",
    "Aim",
    "checked_aims",
    "costs",
    "ruler_cuts",
    "scrap_costs",
]

Aim = Literal["cover", "whole", "scraps", "cuts"]
"""Most yardage saved; small scraps used up and large ones kept whole; fewest scraps to fetch;
fewest ruler cuts."""

AIMS: Final[tuple[Aim, ...]] = get_args(Aim)
DEFAULT_AIMS: Final[tuple[Aim, ...]] = ("cover", "whole", "scraps", "cuts")

LARGE: Final = 60.0
"""Square inches: a scrap of so much or more counts as large. Such scraps are kept whole as long as
any others will do."""

_STEEP = 4  # a scrap a quarter larger costs 2.4 times as much: rather three of 18 than one of 24
_UNITS = 1_000_000  # that a scrap just below LARGE costs: the solver reckons in whole numbers
_GIVE_OF_SMALL = 0.02
_GIVE = 0.05  # a twentieth of one aim may be given up for the aims after it


def checked_aims(words: Sequence[str]) -> tuple[Aim, ...]:
    """Return the aims in the order of `words`, those left out behind them in the usual order.

    Raises UsageError for an unknown word, and where another aim stands before "cover": fewest
    scraps first, for example, is best kept by cutting nothing at all.
    """
    named = [word.strip().lower() for word in words]
    unknown = [word for word in named if word not in AIMS]
    if unknown:
        raise UsageError(f"aims: {unknown[0]!r} is none; {did_you_mean(unknown[0], AIMS)}")
    if len(set(named)) < len(named):
        raise UsageError(f"aims: one is named twice; put some of {', '.join(AIMS)} in your order")
    if named and named[0] != "cover":
        msg = (
            f"aims: {named[0]!r} before 'cover' is best kept by cutting nothing; put cover first, "
            f"as in cover,{','.join(word for word in named if word != 'cover')}"
        )
        raise UsageError(msg)
    first = [aim for word in named for aim in AIMS if aim == word]
    return (*first, *(aim for aim in DEFAULT_AIMS if aim not in named))


def ruler_cuts(pattern: Pattern) -> int:
    """Return along how many straight lines the edges of a pattern's pieces lie."""
    lines = set()
    for placement in pattern.placements:
        corners = np.asarray(placement.outline.exterior.coords)
        for (x0, y0), (x1, y1) in pairwise(corners.tolist()):
            angle = math.atan2(y1 - y0, x1 - x0) % math.pi
            if angle > math.pi - 1e-4:
                angle = 0.0
            offset = y0 * math.cos(angle) - x0 * math.sin(angle)
            lines.add((round(angle, 2), round(offset, 2)))
    return len(lines)


def scrap_costs(aim: Aim, areas: Sequence[float]) -> list[tuple[list[int], float]]:
    """Return what cutting into scraps of these `areas` costs under "whole" or "scraps".

    One list after the other is to be held low; beside each stands the share that may be given up
    for what comes after it. A scrap that is cut into counts as gone, however little is taken.
    """
    if aim == "whole":
        large = [round(100 * area) if area >= LARGE else 0 for area in areas]
        small = [
            0 if area >= LARGE else max(1, round(_UNITS * (area / LARGE) ** _STEEP))
            for area in areas
        ]
        return [(large, 0.0), (small, _GIVE_OF_SMALL)]
    return [([1] * len(areas), _GIVE)]


def costs(
    aim: Aim, patterns: Sequence[Pattern], areas: Mapping[int, float]
) -> list[tuple[list[int], float]]:
    """Return what each pattern costs under one of the aims that follow "cover".

    `areas` are the true areas of the scraps, square inches; see `scrap_costs` for the answer.
    """
    if aim == "cuts":
        return [([ruler_cuts(pattern) for pattern in patterns], _GIVE)]
    return scrap_costs(aim, [areas[pattern.scrap_id] for pattern in patterns])
