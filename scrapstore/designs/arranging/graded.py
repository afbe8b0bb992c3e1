"""Grading piece by piece: every round darker than the one before."""

from collections.abc import Sequence

import numpy as np

from scrapstore.designs.arranging.blocks import rings_of
from scrapstore.designs.arranging.forms import (
    Amount,
    Arrangement,
    Job,
    SchemeFound,
    can_give,
    plus,
)
from scrapstore.designs.arranging.singly import (
    counted,
    misses_of_all,
    piecewise,
    seeds,
    single_places,
)

__all__ = ["graded_pieces"]


def graded_pieces(job: Job) -> SchemeFound:
    """Every round darker than the one before, each piece chosen by itself."""
    rings = rings_of(job.top)
    if len(rings) < 2:
        return SchemeFound("graded", "piece", reason="this design has no rounds")
    made = []
    for turn, seed in enumerate(seeds(job)):
        inner_light = turn % 2 == 0
        order = [rings[r] for r in (rings if inner_light else reversed(rings))]
        cloth_of = _graded(job, order, seed)
        if cloth_of is None or job.broken(cloth_of):
            continue
        light = [[job.cloths[cloth_of[i]].lab[0] for i in ring] for ring in order]
        # How far each round's mean is from even steps between the lightest and the darkest.
        means = [float(np.mean(each)) for each in light]
        even = np.linspace(means[0], means[-1], len(means))
        off = round(float(np.abs(even - means).max()), 1)
        where = "from the middle out" if inner_light else "towards the middle"
        said = f"darker {where}, lightness {means[0]:.0f} to {means[-1]:.0f}, none out of order"
        figure = (round(means[0] - means[-1] - 2 * off, 1),)
        made.append(
            Arrangement(("graded",), "piece", cloth_of, counted(job, cloth_of), figure, said)
        )
    if made:
        return piecewise(job, "graded", made)
    misses = misses_of_all(job, single_places(job), apart=False)
    reason = "" if misses else "no order of lightness was found that the roles allow"
    return SchemeFound("graded", "piece", misses=misses, reason=reason)


def _graded(job: Job, order: Sequence[Sequence[int]], seed: int) -> tuple[int, ...] | None:
    """Give each place in turn the lightest cloth that is left of those to be used.

    Which are left out, where there are more than are needed, is drawn by lot. None where a place
    finds nothing no lighter than what the rounds before it have.
    """
    cloths, top = job.cloths, job.top
    by_light = sorted(range(len(cloths)), key=lambda c: (-cloths[c].lab[0], c))
    free = [i for ring in order for i in ring if i not in job.pinned]
    used: dict[int, Amount] = {}
    nothing = (0,) * len(top.kinds)
    chosen: dict[int, int] = {}
    for place in job.pinned:
        options = [c for c in job.allowed[place] if _fits(job, used, c, place)]
        if not options:
            return None
        chosen[place] = options[0]
        used[options[0]] = plus(used.get(options[0], nothing), top.amount([place]))
    left = {c: _left(job, used, c) for c in by_light}
    spare = sum(left.values()) - len(free)
    if spare < 0:
        return None
    chance = np.random.default_rng(seed)
    # Pieces in the order of their lightness, some left out by lot.
    pieces = [c for c in by_light for _ in range(left[c])]
    out = set(chance.choice(len(pieces), size=spare, replace=False).tolist()) if spare else set()
    waiting = [c for k, c in enumerate(pieces) if k not in out]
    for place in free:
        at = next(
            (
                k
                for k, c in enumerate(waiting)
                if c in job.allowed[place] and _fits(job, used, c, place)
            ),
            None,
        )
        if at is None:
            return None
        cloth = waiting.pop(at)
        chosen[place] = cloth
        used[cloth] = plus(used.get(cloth, nothing), top.amount([place]))
    darkest = 200.0
    for ring in order:
        light = [cloths[chosen[i]].lab[0] for i in ring if i not in job.pinned]
        if light and max(light) > darkest + 1e-9:
            return None
        darkest = min(light, default=darkest)
    return tuple(chosen[i] for i in range(len(top.places)))


def _left(job: Job, used: dict[int, Amount], cloth: int) -> int:
    """Return how many pieces, of whichever kinds, a cloth gives beside what is used of it."""
    most = max(sum(amount) for amount in job.cloths[cloth].gives)
    return max(0, most - sum(used.get(cloth, ())))


def _fits(job: Job, used: dict[int, Amount], cloth: int, place: int) -> bool:
    after = plus(used.get(cloth, (0,) * len(job.top.kinds)), job.top.amount([place]))
    return can_give(job.cloths[cloth].gives, after)
