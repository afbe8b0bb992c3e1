"""Each colour family in one patch of the top."""

from collections.abc import Iterator, Mapping, Sequence

import numpy as np
import shapely

from scrapstore.colour import FAMILY_ORDER
from scrapstore.designs.arranging.aims import borders, contrast
from scrapstore.designs.arranging.forms import (
    Amount,
    Arrangement,
    Job,
    SchemeFound,
    TopPlaces,
    can_give,
)
from scrapstore.designs.arranging.singly import piecewise, seeds, short_of, spread_within
from scrapstore.designs.arranging.sources import sum_of_gives

__all__ = ["families_together"]


def families_together(job: Job) -> SchemeFound:
    """Each colour family is one patch of the top."""
    members = _by_family(job)
    if len(members) < 2:
        return SchemeFound("families", "piece", reason="fewer than two colour families are known")
    made: list[Arrangement] = []
    orders = list(_sweeps(job.top))
    for turn, seed in enumerate(seeds(job)):
        arrangement = _families(job, members, orders[turn % len(orders)], seed, turn)
        if arrangement is not None:
            made.append(arrangement)
    if made:
        return piecewise(job, "families", made)
    known = [cloth for cloths in members.values() for cloth in cloths]
    misses = short_of(job, "cloth whose colour is known", known, range(len(job.top.places)))
    reason = "" if misses else "the families cannot each lie in one patch"
    return SchemeFound("families", "piece", misses=misses, reason=reason)


def _by_family(job: Job) -> dict[str, list[int]]:
    """Return the cloths of each family, in the order of the hue circle."""
    members = {
        family: [c for c, cloth in enumerate(job.cloths) if cloth.family == family]
        for family in FAMILY_ORDER
    }
    return {family: cloths for family, cloths in members.items() if cloths}


def _sweeps(top: TopPlaces) -> Iterator[list[int]]:
    """Yield orders of the places in which a run is likely to be one patch."""
    centres = shapely.get_coordinates(
        shapely.centroid(np.array([place.outline for place in top.places], dtype=object))
    )
    places = range(len(top.places))
    angle = np.round(np.degrees(np.arctan2(centres[:, 1], centres[:, 0])) % 360, 6)
    away = np.round(np.hypot(centres[:, 0], centres[:, 1]), 6)
    yield sorted(places, key=lambda i: (angle[i], away[i]))
    yield sorted(places, key=lambda i: (away[i], angle[i]))
    down, across = np.round(-centres[:, 1], 3), np.round(centres[:, 0], 3)
    yield sorted(places, key=lambda i: (down[i], across[i]))


def _families(
    job: Job, members: dict[str, list[int]], order: Sequence[int], seed: int, turn: int
) -> Arrangement | None:
    """Give runs of `order` to the families; None where a run is no patch or cannot be cut."""
    free = [i for i in order if i not in job.pinned]
    whole = job.top.amount(range(len(job.top.places)))
    names = list(members)
    begin = turn % len(names)
    names = names[begin:] + names[:begin]
    if turn >= len(names):
        names = [names[k] for k in np.random.default_rng(seed).permutation(len(names))]
    gives = {
        name: sum_of_gives([job.cloths[c].gives for c in members[name]], whole) for name in names
    }
    most = {name: max(sum(amount) for amount in gives[name]) for name in names}
    lengths = _shares([most[name] for name in names], len(free))
    if lengths is None:
        return None
    family_of = _grown(job, names, lengths, gives, free)
    if family_of is None:
        return None
    allowed = [
        job.allowed[i]
        if i in job.pinned
        else tuple(c for c in members[family_of[i]] if c in job.allowed[i])
        for i in range(len(job.top.places))
    ]
    cloth_of = spread_within(job, allowed, seed)
    if cloth_of is None:
        return None
    numbers = [names.index(family_of[i]) if i in family_of else -1 for i in range(len(allowed))]
    least, mean = contrast(job, cloth_of, borders(job.top, numbers))
    counts = [(name, n) for name, n in zip(names, lengths, strict=True) if n]
    lies = tuple((name, f"{n} piece{'' if n == 1 else 's'}") for name, n in counts)
    said = f"{len(counts)} families, a patch each; at their borders they differ by {mean:.0f}"
    figure = (len(counts), mean, least)
    return Arrangement(("families",), "piece", cloth_of, lies, figure, said)


def _shares(most: Sequence[int], count: int) -> list[int] | None:
    """Return lengths that add up to `count`, in proportion to `most` and no greater; or None."""
    total = sum(most)
    if total < count:
        return None
    lengths = [each * count // total for each in most]
    for k in sorted(range(len(most)), key=lambda k: (lengths[k] - most[k], k)):
        lengths[k] += min(most[k] - lengths[k], count - sum(lengths))
    return lengths


def _grown(
    job: Job,
    names: Sequence[str],
    lengths: Sequence[int],
    gives: Mapping[str, Sequence[Amount]],
    order: Sequence[int],
) -> dict[int, str] | None:
    """Let each family grow from the first place that is left, always to the first one beside it.

    None where one finds no room, or where its cloth does not suffice for the places it has.
    """
    rank = {place: k for k, place in enumerate(order)}
    family_of: dict[int, str] = {}
    for name, length in zip(names, lengths, strict=True):
        patch: list[int] = []
        edge: set[int] = set()
        for _ in range(length):
            left = edge if patch else rank.keys() - family_of.keys()
            if not left:
                return None
            place = min(left, key=rank.__getitem__)
            patch.append(place)
            family_of[place] = name
            edge |= {n for n in job.top.neighbours[place] if n in rank}
            edge -= family_of.keys()
        if not can_give(gives[name], job.top.amount(patch)):
            return None
    return family_of
