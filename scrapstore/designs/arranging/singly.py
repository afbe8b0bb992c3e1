"""What the schemes share in which each piece is chosen by itself."""

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Final

from scrapstore.designs.arranging.exact import most_laid
from scrapstore.designs.arranging.forms import Arrangement, Job, NearMiss, SchemeFound, TopPlaces
from scrapstore.designs.arranging.groups import Groups, groups_of
from scrapstore.designs.arranging.sources import sum_of_gives
from scrapstore.designs.arranging.spread import spread
from scrapstore.sentences import several

__all__ = [
    "NO_WAY",
    "SEEDS",
    "counted",
    "counts_said",
    "misses_of_all",
    "piecewise",
    "seeds",
    "short_of",
    "single_places",
    "spread_within",
]

NO_WAY: Final = "no way was found that keeps all conditions"
SEEDS: Final = 1_000
"""Apart, so that those of two variants do not meet."""
_NAMED: Final = 6  # cloths of a scheme that goes piece by piece; the others are counted
_TRIES: Final = 3  # times as many tries as arrangements that are wanted


def single_places(job: Job) -> Groups:
    """Return every place as a group of its own, with the cloths that it may have."""
    return groups_of(job.top, [(i,) for i in range(len(job.top.places))], job.allowed)


def seeds(job: Job) -> Iterator[int]:
    """Yield a seed for each try, more of them than arrangements that are wanted."""
    yield from range(job.seed * SEEDS, job.seed * SEEDS + _TRIES * job.want)


def piecewise(job: Job, scheme: str, made: Sequence[Arrangement]) -> SchemeFound:
    """Return so many different ones as are wanted, the best first."""
    ranked = sorted(made, key=lambda one: (tuple(-f for f in one.figure), one.cloth_of))
    unlike: dict[tuple[str, ...], Arrangement] = {}
    for one in ranked:
        unlike.setdefault(tuple(job.cloths[c].fabric for c in one.cloth_of), one)
    best = tuple(unlike.values())[: job.want]
    return SchemeFound(scheme, best[0].by, best, len(best))


def counted(job: Job, cloth_of: Sequence[int]) -> tuple[tuple[str, str], ...]:
    """Say how many pieces there are of each cloth."""
    return (("all over", counts_said(Counter(job.cloths[c].word for c in cloth_of))),)


def counts_said(counts: "Counter[str]") -> str:
    """Return ``teal 12, rust 6``."""
    ranked = sorted(counts.items(), key=lambda each: (-each[1], each[0]))
    said = [f"{word} {count}" for word, count in ranked[:_NAMED]]
    more = len(ranked) - _NAMED
    return ", ".join(said) + (f" and {more} other{'s' if more > 1 else ''}" if more > 0 else "")


def short_of(
    job: Job, word: str, cloths: Sequence[int], places: Sequence[int]
) -> tuple[NearMiss, ...]:
    """Return what these cloths, each wherever its role allows it, lack for these places."""
    needs = job.top.amount(places)
    gives = sum_of_gives([job.cloths[c].gives for c in cloths], needs)
    lacks = min(sum(max(0, b - a) for a, b in zip(one, needs, strict=True)) for one in gives)
    if not lacks:
        return ()
    return (NearMiss(word, _where(job.top, places), sum(needs) - lacks, sum(needs)),)


def _where(top: TopPlaces, places: Sequence[int]) -> str:
    if len(places) == len(top.places):
        return f"all {len(places)} places"
    rings = sorted({ring for i in places if (ring := top.places[i].ring) is not None})
    return f"round{'s' if len(rings) > 1 else ''} {several([str(ring) for ring in rings])}"


def misses_of_all(job: Job, groups: Groups, *, apart: bool = True) -> tuple[NearMiss, ...]:
    """Return for how many of the places there is cloth, at the most."""
    laid, _ = most_laid(groups, job.cloths, job.seed, apart=apart, conditions=job.conditions)
    if laid is None:
        return ()
    has = sum(
        len(group) for group, cloth in zip(groups.places, laid, strict=True) if cloth is not None
    )
    needs = len(job.top.places)
    if has == needs:
        return ()
    return (NearMiss("all cloth together", f"all {needs} places", has, needs),)


def spread_within(job: Job, allowed: Sequence[Sequence[int]], seed: int) -> tuple[int, ...] | None:
    """Return cloths of `allowed` for all places, neighbours of different fabrics if that can be."""
    groups = groups_of(job.top, [(i,) for i in range(len(allowed))], allowed)
    chosen = spread(groups, job.cloths, job.unlike, seed, apart=False, conditions=job.conditions)
    return None if chosen is None else groups.cloth_of(chosen)
