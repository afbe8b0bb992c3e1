"""The binding the obvious way: all orders, turns and slopes of joins; all places on a fine grid."""

import math
import random
from collections.abc import Sequence
from itertools import combinations, pairwise, permutations, product

import numpy as np

from scrapstore.finishing import StripEnds

__all__ = ["ends_lose", "longest_ring", "random_course", "random_strips", "scanned_margin"]


def ends_lose(slope: float, join: float, width: float, seam: float) -> float:
    """What an end loses, as the trade has it: three cases, for ends square or at 45 degrees."""
    if slope == 0:
        return width / 2
    return seam * math.sqrt(2) + (0 if slope == join else width)


def longest_ring(strips: Sequence[StripEnds], width: float, seam: float) -> float:
    """Try every choice of strips, order, turn and slope of each join."""
    best = 0.0
    for count in range(1, len(strips) + 1):
        for chosen in combinations(strips, count):
            for rest in permutations(chosen[1:]):
                ring = (chosen[0], *rest)
                for joins in product((45.0, -45.0), repeat=count):
                    best = max(best, _longest_turned(ring, joins, width, seam))
    return best


def _longest_turned(
    ring: Sequence[StripEnds], joins: Sequence[float], width: float, seam: float
) -> float:
    total = 0.0
    for at, strip in enumerate(ring):
        start, end = joins[at], joins[(at + 1) % len(ring)]
        lost = min(
            ends_lose(first, start, width, seam) + ends_lose(last, end, width, seam)
            for first, last in (strip[2:], strip[:1:-1])
        )
        # The two seams may not cross in the strip.
        if strip.length - lost <= (width if start != end else 0):
            return 0.0
        total += strip.length - lost
    return total


def random_strips(seed: int, most: int = 4) -> list[StripEnds]:
    chance = random.Random(seed)
    return [
        StripEnds(
            chance.choice([4, 6, 9, 12.5, 20, 24, 31.25, 40]),
            chance.choice([2.25, 2.25, 2.5]),
            chance.choice([0, 45, -45]),
            chance.choice([0, 45, -45]),
        )
        for _ in range(chance.randint(1, most))
    ]


def random_course(
    seed: int,
) -> tuple[list[tuple[float, float]], int, list[int], list[int]]:
    """Gaps on a round of whole inches, its length, least and greatest lengths of strips."""
    chance = random.Random(seed)
    marks = sorted(chance.sample(range(24), chance.randint(2, 6)))
    needed = marks[-1] - marks[0] + chance.randint(1, 9)
    ends = [mark - marks[0] for mark in marks] + [needed]
    gaps = [(float(low), float(high)) for low, high in pairwise(ends) if chance.random() < 0.8] or [
        (0.0, float(ends[1]))
    ]
    most = [chance.randint(2, 18) for _ in range(chance.randint(1, 3))]
    while sum(most) < needed:
        most[chance.randrange(len(most))] += 2
    least = [chance.randint(0, each) for each in most]
    while sum(least) > needed:
        least = [each // 2 for each in least]
    return gaps, needed, least, most


def scanned_margin(
    gaps: Sequence[tuple[float, float]], needed: int, least: Sequence[int], most: Sequence[int]
) -> float:
    """The best margin of joins on every half inch.

    With whole inches given, a best one is there: each tight chain of constraints runs from a gap's
    end by whole lengths to a gap's end, and the margin counts once at either.
    """
    grid = np.arange(2 * needed) / 2
    margin = np.max(
        [
            np.minimum(grid - low + turn * needed, high - turn * needed - grid)
            for low, high in gaps
            for turn in (-1, 0, 1)
        ],
        axis=0,
    )
    best = -math.inf
    for first in range(len(grid)):
        # reached[x]: the best margin so far with the latest join at x half inches.
        reached = np.full(4 * needed + 1, -math.inf)
        reached[first] = margin[first]
        for low, high in zip(least[:-1], most[:-1], strict=True):
            onward = np.full_like(reached, -math.inf)
            for step in range(2 * low, 2 * high + 1):
                if step < len(reached):
                    shifted = reached[: len(reached) - step]
                    onward[step:] = np.maximum(onward[step:], shifted)
            reached = np.minimum(onward, margin[np.arange(len(reached)) % len(grid)])
        goal = first + 2 * needed
        from_low = max(0, goal - 2 * most[-1])
        last = reached[from_low : goal - 2 * least[-1] + 1]
        best = max(best, float(last.max(initial=-math.inf)))
    return best
