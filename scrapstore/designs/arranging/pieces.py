"""Schemes in which each piece is chosen by itself: scattered, mirrored, a plain middle."""

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from typing import Final

from scrapstore.colour import MULTICOLOUR
from scrapstore.designs.arranging.aims import borders, contrast, fabrics_shown
from scrapstore.designs.arranging.blocks import rings_of
from scrapstore.designs.arranging.forms import (
    Arrangement,
    By,
    Job,
    NearMiss,
    SchemeFound,
)
from scrapstore.designs.arranging.groups import Groups, groups_of
from scrapstore.designs.arranging.singly import (
    NO_WAY,
    SEEDS,
    counted,
    counts_said,
    misses_of_all,
    piecewise,
    seeds,
    short_of,
    single_places,
    spread_within,
)
from scrapstore.designs.arranging.spread import spread
from scrapstore.designs.arranging.symmetry import mirror_pairs

__all__ = ["mirrored", "plain_middle", "scattered"]

PLAIN: Final = ("white", "grey", "black")
"""Families that read as a plain middle beside colours."""

_AXES_DEG: Final = (90.0, 0.0, 30.0, 150.0, 60.0, 120.0, 45.0, 135.0)


def scattered(job: Job) -> SchemeFound:
    """No two neighbours of one fabric."""
    groups = single_places(job)
    made = []
    for seed in seeds(job):
        chosen = spread(groups, job.cloths, job.unlike, seed, conditions=job.conditions)
        if chosen is not None:
            made.append(_scattered(job, groups.cloth_of(chosen)))
        elif not made:
            break
    if made:
        return piecewise(job, "scattered", made)
    misses = misses_of_all(job, groups)
    return SchemeFound("scattered", "piece", misses=misses, reason="" if misses else NO_WAY)


def _scattered(job: Job, cloth_of: tuple[int, ...]) -> Arrangement:
    pairs = borders(job.top, range(len(cloth_of)))
    least, _ = contrast(job, cloth_of, pairs)
    fabrics = fabrics_shown(job, cloth_of)
    said = f"{fabrics} fabrics; neighbours differ by {least:.0f} or more"
    return Arrangement(
        ("scattered",), "piece", cloth_of, counted(job, cloth_of), (fabrics, least), said
    )


def mirrored(job: Job) -> SchemeFound:
    """One half of the top mirrors the other, about the first lines about which its pieces do."""
    found = [(angle, pairs) for angle in _AXES_DEG if (pairs := mirror_pairs(job.top, angle))]
    if not found:
        return SchemeFound("mirrored", reason="this design does not mirror itself")
    made: list[Arrangement] = []
    misses: tuple[NearMiss, ...] = ()
    for turn, seed in enumerate(seeds(job)):
        angle, pairs = found[turn % len(found)]
        groups = groups_of(job.top, pairs, job.allowed)
        for apart in (True, False):
            chosen = spread(
                groups, job.cloths, job.unlike, seed, apart=apart, conditions=job.conditions
            )
            if chosen is not None:
                made.append(_mirrored(job, groups, chosen, angle))
                break
        if not made and turn >= len(found) - 1:
            misses = misses_of_all(job, groups, apart=False)
            break
    if made:
        return piecewise(job, "mirrored", made)
    return SchemeFound("mirrored", "piece", misses=misses, reason="" if misses else NO_WAY)


def _mirrored(job: Job, groups: Groups, chosen: Sequence[int], angle: float) -> Arrangement:
    cloth_of = groups.cloth_of(chosen)
    group_of = {place: g for g, group in enumerate(groups.places) for place in group}
    numbered = [group_of[i] for i in range(len(cloth_of))]
    least, mean = contrast(job, cloth_of, borders(job.top, numbered))
    line = {90.0: "left and right", 0.0: "above and below"}.get(angle, f"a line at {angle:.0f}°")
    said = f"exact about {line}; neighbours differ by {least:.0f} or more"
    figure = (least, mean)
    return Arrangement(("mirrored",), "piece", cloth_of, counted(job, cloth_of), figure, said)


def plain_middle(job: Job) -> SchemeFound:
    """One plain cloth (white, grey or black) in the middle rounds, colours outside."""
    rings = rings_of(job.top)
    if len(rings) < 2:
        return SchemeFound("plain middle", "piece", reason="this design has no rounds")
    coloured = [
        c
        for c, cloth in enumerate(job.cloths)
        if cloth.family is not None and cloth.family not in (*PLAIN, MULTICOLOUR)
    ]
    middles = []
    for last in list(rings)[:-1]:
        inside = [i for ring, places in rings.items() if ring <= last for i in places]
        # A middle of about half the rounds first.
        middles.append((abs(last - len(rings) / 2), last, inside))
    made: list[Arrangement] = []
    misses: list[tuple[NearMiss, ...]] = []
    for _, last, inside in sorted(middles):
        for by, word, plain in _plain_cloths(job):
            if len(made) >= job.want:
                break
            short = short_of(job, word, plain, inside)
            outside = [i for i in range(len(job.top.places)) if i not in set(inside)]
            short += short_of(job, "coloured cloth", coloured, outside)
            if short:
                misses.append(short)
                continue
            arrangement = _plain_middle(job, inside, plain, coloured, last, by, word)
            if arrangement is not None:
                made.append(arrangement)
    if made:
        return piecewise(job, "plain middle", made)
    if not misses:
        return SchemeFound("plain middle", "piece", reason="no white, grey or black cloth is there")
    nearest = min(misses, key=lambda each: sum(miss.needs - miss.has for miss in each))
    return SchemeFound("plain middle", "piece", misses=nearest)


def _plain_cloths(job: Job) -> Iterator[tuple[By, str, list[int]]]:
    """Yield single plain fabrics, those that give most first; then whole plain families."""
    fabrics: dict[str, list[int]] = defaultdict(list)
    families: dict[str, list[int]] = defaultdict(list)
    for c, cloth in enumerate(job.cloths):
        if cloth.family in PLAIN:
            fabrics[cloth.fabric].append(c)
            families[cloth.family].append(c)

    def most(members: Sequence[int]) -> int:
        return sum(max(sum(amount) for amount in job.cloths[c].gives) for c in members)

    for _, members in sorted(fabrics.items(), key=lambda each: (-most(each[1]), each[0])):
        yield "fabric", job.cloths[members[0]].word, members
    for family, members in families.items():
        if len(members) > 1:
            yield "colour", family, members


def _plain_middle(
    job: Job,
    inside: Sequence[int],
    plain: Sequence[int],
    coloured: Sequence[int],
    last: int,
    by: By,
    word: str,
) -> Arrangement | None:
    within = set(inside)
    allowed = [
        own
        if i in job.pinned
        else tuple(c for c in (plain if i in within else coloured) if c in own)
        for i, own in enumerate(job.allowed)
    ]
    cloth_of = spread_within(job, allowed, job.seed * SEEDS + last)
    if cloth_of is None:
        return None
    numbers = [0 if i in within else 1 for i in range(len(allowed))]
    least, mean = contrast(job, cloth_of, borders(job.top, numbers))
    middle = "round 1" if last == 1 else f"rounds 1 to {last}"
    colours = Counter(job.cloths[c].word for i, c in enumerate(cloth_of) if i not in within)
    lies = ((middle, word), ("outside", counts_said(colours)))
    said = f"the middle differs from the colours round it by {least:.0f} or more"
    # Of middles that stand out as much, one of about half the rounds.
    rounds = len(rings_of(job.top))
    figure = (least, -abs(last - rounds / 2), mean)
    return Arrangement(("plain middle",), by, cloth_of, lies, figure, said)
