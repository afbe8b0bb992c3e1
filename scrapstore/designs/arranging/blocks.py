"""Schemes in which whole blocks of places have one source: rounds, wedges, alternating, graded."""

import re
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from scrapstore.designs.arranging.aims import borders, contrast
from scrapstore.designs.arranging.forms import (
    Amount,
    Arrangement,
    By,
    Job,
    NearMiss,
    SchemeFound,
    TopPlaces,
    plus,
)
from scrapstore.designs.arranging.groups import groups_of
from scrapstore.designs.arranging.search import Blocks, PlaceBlock, Source, all_ways, least_short
from scrapstore.designs.arranging.sources import sources_by
from scrapstore.designs.arranging.spread import spread
from scrapstore.designs.arranging.symmetry import turns_of
from scrapstore.sentences import several

__all__ = [
    "alternating",
    "by_rounds",
    "by_wedges",
    "graded_rounds",
    "nearest_miss",
    "rings_of",
]

_Named = tuple[str, tuple[int, ...]]
_Pairs = Mapping[tuple[int, int], NDArray[np.bool_]]
_LEAST_STEP: Final = 3.0  # L*; two rounds nearer than that do not read as a step
_FEW: Final = 12  # ways; who has more to choose from does not ask what the next one lacks
_UNFILLED: Final = 12  # ways of one colour each that could not be filled with single cloths
_NO_ORDER: Final = "what the roles and pins allow leaves no such order"


def rings_of(top: TopPlaces) -> dict[int, tuple[int, ...]]:
    """Return the places of each round, from the middle outwards; empty without rounds.

    What has none, such as a border, is one more round outside.
    """
    rings = [place.ring for place in top.places]
    return _by_number(rings, max((ring for ring in rings if ring is not None), default=0) + 1)


def _wedges_of(top: TopPlaces) -> dict[int, tuple[int, ...]]:
    """Return the places of each wedge; what has none, such as the middle, is wedge 0."""
    return _by_number([place.wedge for place in top.places], 0)


def _by_number(numbers: Sequence[int | None], without: int) -> dict[int, tuple[int, ...]]:
    found: dict[int, list[int]] = defaultdict(list)
    if set(numbers) == {None}:
        return {}
    for at, number in enumerate(numbers):
        found[without if number is None else number].append(at)
    return {number: tuple(found[number]) for number in sorted(found)}


def _named_rounds(top: TopPlaces) -> list[_Named]:
    return [
        (top.places[at[0]].role if top.places[at[0]].ring is None else f"round {ring}", at)
        for ring, at in rings_of(top).items()
    ]


def _named_wedges(top: TopPlaces) -> list[_Named]:
    return [
        (f"wedge {wedge}" if wedge else top.places[at[0]].role, at)
        for wedge, at in _wedges_of(top).items()
    ]


def by_rounds(job: Job) -> SchemeFound:
    """One source a round, another in the next."""
    named = _named_rounds(job.top)
    if len(named) < 2:
        return SchemeFound("rounds", reason="this design has no rounds")
    return _of_blocks(job, "rounds", [named], _unlike_neighbours, _contrast_said("rounds"))


def by_wedges(job: Job) -> SchemeFound:
    """One source a wedge, another in the next."""
    named = _named_wedges(job.top)
    if len(named) < 2:
        return SchemeFound("wedges", reason="this design has no wedges")
    return _of_blocks(job, "wedges", [named], _unlike_neighbours, _contrast_said("wedges"))


def alternating(job: Job) -> SchemeFound:
    """Two sources in turn: wedge by wedge, round by round, or piece by piece."""
    top = job.top
    ways: list[list[_Named]] = []
    for word, numbered in (("wedge", _wedges_of(top)), ("round", rings_of(top))):
        # Round the middle, the last lies beside the first.
        if len(numbered) < 2 or (word == "wedge" and (len(numbered) % 2 or 0 in numbered)):
            continue
        halves: list[list[int]] = [[], []]
        for turn, number in enumerate(numbered):
            halves[turn % 2].append(number)
        ways.append(
            [
                (
                    f"{word}{'s' if len(half) > 1 else ''} {several([str(n) for n in half])}",
                    tuple(place for number in half for place in numbered[number]),
                )
                for half in halves
            ]
        )
    colours = _two_colouring(top)
    if colours is not None:
        ways.append(
            [
                (f"every other piece, {word}", tuple(i for i, c in enumerate(colours) if c == one))
                for one, word in ((0, "the first on"), (1, "the second on"))
            ]
        )
    if not ways:
        return SchemeFound("alternating", reason="the pieces of this design do not take turns")
    return _of_blocks(job, "alternating", ways, _unlike_neighbours, _contrast_said("the two"))


def _two_colouring(top: TopPlaces) -> list[int] | None:
    """Return 0 and 1 for the places so that neighbours differ; None where that cannot be."""
    colours = [-1] * len(top.places)
    for start in range(len(colours)):
        if colours[start] >= 0:
            continue
        colours[start] = 0
        waiting = [start]
        while waiting:
            at = waiting.pop()
            for beside in top.neighbours[at]:
                if colours[beside] < 0:
                    colours[beside] = 1 - colours[at]
                    waiting.append(beside)
                elif colours[beside] == colours[at]:
                    return None
    return colours if 1 in colours else None


def graded_rounds(job: Job) -> SchemeFound:
    """One fabric a round, each darker than the one before, from the middle out or inwards."""
    named = _named_rounds(job.top)
    if len(named) < 2:
        return SchemeFound("graded", reason="this design has no rounds")
    by_fabric = replace(job, by=("fabric",))
    return _of_blocks(by_fabric, "graded", [named, named[::-1]], _darker, _steps_said)


def _unlike_neighbours(
    top: TopPlaces, blocks: Sequence[PlaceBlock], sources: Sequence[Source]
) -> _Pairs:
    """Blocks that share an edge have different sources."""
    block_of = {place: b for b, block in enumerate(blocks) for place in block.places}
    different = ~np.eye(len(sources), dtype=np.bool_)
    return dict.fromkeys(
        sorted(
            {
                (min(block_of[p], block_of[q]), max(block_of[p], block_of[q]))
                for p, beside in enumerate(top.neighbours)
                for q in beside
                if block_of[p] != block_of[q]
            }
        ),
        different,
    )


def _darker(_top: TopPlaces, blocks: Sequence[PlaceBlock], sources: Sequence[Source]) -> _Pairs:
    """Each block is darker than the one before it."""
    light = np.array([source.lab[0] for source in sources])
    darker = light[:, None] >= light[None, :] + _LEAST_STEP
    whole = [i for i, block in enumerate(blocks) if not block.carved]
    return dict.fromkeys(pairwise(whole), darker)


_Said = Callable[
    [Job, Sequence[int], Sequence[PlaceBlock], Sequence[Source]], tuple[tuple[float, ...], str]
]


def _contrast_said(what: str) -> _Said:
    def said(
        job: Job, cloth_of: Sequence[int], blocks: Sequence[PlaceBlock], _chosen: Sequence[Source]
    ) -> tuple[tuple[float, ...], str]:
        block_of = _block_of(blocks)
        least, mean = contrast(job, cloth_of, borders(job.top, block_of))
        return (least, mean), f"{what} differ by {least:.0f} or more"

    return said


def _steps_said(
    job: Job, _cloth_of: Sequence[int], blocks: Sequence[PlaceBlock], chosen: Sequence[Source]
) -> tuple[tuple[float, ...], str]:
    light = [
        source.lab[0] for block, source in zip(blocks, chosen, strict=True) if not block.carved
    ]
    steps = [round(a - b, 1) for a, b in pairwise(light)]
    first, last = (job.top.places[blocks[k].places[0]].ring or 0 for k in (0, -1))
    # What has no ring, such as a border, lies outside.
    outwards = first and (first < last or not last)
    where = "from the middle out" if outwards else "towards the middle"
    return (min(steps), -max(steps)), f"darker {where}, each step {min(steps):.0f} or more"


def _block_of(blocks: Sequence[PlaceBlock]) -> list[int]:
    of_place = {place: b for b, block in enumerate(blocks) for place in block.places}
    return [of_place[i] for i in range(len(of_place))]


def _of_blocks(
    job: Job,
    scheme: str,
    ways_named: Sequence[Sequence[_Named]],
    pairs: Callable[[TopPlaces, Sequence[PlaceBlock], Sequence[Source]], _Pairs],
    said: _Said,
) -> SchemeFound:
    """Return what comes of a scheme by the first of `job.by` under which anything can be cut.

    `ways_named` are several ways of naming blocks, each a problem of its own.
    """
    first: SchemeFound | None = None
    for by in job.by:
        if by == "piece":
            continue
        sources = sources_by(job, by)
        problems = [_problem(job, named, sources, pairs) for named in ways_named]
        found = _found(job, scheme, by, problems, said)
        # Why it cannot be cut by fabric says most: it is told whatever else leads anywhere.
        if found.arrangements:
            return found if first is None else replace(found, misses=first.misses)
        if first is None or (not first.misses and found.misses):
            first = found
    assert first is not None
    return first


def _problem(
    job: Job,
    named: Sequence[_Named],
    sources: tuple[Source, ...],
    pairs: Callable[[TopPlaces, Sequence[PlaceBlock], Sequence[Source]], _Pairs],
) -> Blocks:
    """Return the blocks; where only part of one is pinned, that part is a block of its own."""
    blocks = []
    for name, places in named:
        parts: dict[str, list[int]] = defaultdict(list)
        for place in places:
            parts[job.pinned.get(place, "")].append(place)
        for pin, part in parts.items():
            carved = len(parts) > 1 and bool(pin)
            allowed = tuple(
                s
                for s, source in enumerate(sources)
                if all(any(c in job.allowed[p] for c in source.members) for p in part)
            )
            blocks.append(
                PlaceBlock(
                    pin if carved else name, tuple(part), job.top.amount(part), allowed, carved
                )
            )
    beside = pairs(job.top, blocks, sources)
    # What is pinned lies where it was pinned, whatever is beside it.
    kept = {
        (i, j): rule
        for (i, j), rule in beside.items()
        if not blocks[i].carved and not blocks[j].carved
    }
    return Blocks(tuple(blocks), sources, kept)


def _found(job: Job, scheme: str, by: By, problems: Sequence[Blocks], said: _Said) -> SchemeFound:
    ranked: list[tuple[tuple[float, ...], int, tuple[int, ...]]] = []
    count, complete = 0, True
    turns = [] if job.pinned else turns_of(job)
    for number, problem in enumerate(problems):
        found = all_ways(problem, job.seed)
        ways = _but_turned(problem, found.ways, turns)
        count += len(ways)
        complete &= found.complete
        for way in ways:
            chosen = [problem.sources[s] for s in way]
            lies = _middle_cloths(problem, chosen)
            figure, _ = said(job, lies, problem.blocks, chosen)
            ranked.append((figure, number, way))
    ranked.sort(key=lambda each: (tuple(-f for f in each[0]), each[1], each[2]))
    single = all(len(source.members) == 1 for problem in problems for source in problem.sources)
    ruled = bool(job.conditions)
    made: list[Arrangement] = []
    kept = 0
    why = ""
    for tried, (_, number, way) in enumerate(ranked):
        enough = len(made) >= job.want
        # Where roles set conditions, the ways that keep them are counted one by one.
        if enough and not (single and ruled):
            break
        if not single and tried - len(made) > _UNFILLED:
            complete = False
            break
        problem = problems[number]
        chosen = [problem.sources[s] for s in way]
        cloth_of = _filled(job, problem, chosen, tried)
        broken = "" if cloth_of is None else job.broken(cloth_of)
        if cloth_of is None or broken:
            why = why or broken
            continue
        kept += 1
        if enough:
            continue
        figure, words = said(job, cloth_of, problem.blocks, chosen)
        where = _lies(problem, chosen)
        made.append(Arrangement((scheme,), by, cloth_of, where, figure, words))
    if single and ruled:
        count = kept
    misses: tuple[NearMiss, ...] = ()
    if not made or count <= _FEW:
        misses = min((nearest_miss(problem) for problem in problems), key=_lacking, default=())
    made.sort(key=lambda one: tuple(-f for f in one.figure))
    return SchemeFound(
        scheme, by, tuple(made), count if made else 0, complete and (single or not made), misses,
        "" if made else why or ("" if misses else _NO_ORDER),
    )  # fmt: skip


def _but_turned(
    problem: Blocks, ways: Sequence[tuple[int, ...]], turns: Sequence[Sequence[int]]
) -> list[tuple[int, ...]]:
    """Return the ways without those that are another one, turned."""
    block_of = _block_of(problem.blocks)
    orders = set()
    for images in turns:
        # Where each block comes to lie; a turn that breaks one up makes no two ways alike.
        onto = {(block_of[i], block_of[image]) for i, image in enumerate(images)}
        if len(onto) == len(problem.blocks):
            orders.add(tuple(to for _, to in sorted(onto)))
    seen: set[tuple[int, ...]] = set()
    kept = []
    for way in ways:
        if way not in seen:
            kept.append(way)
            for order in orders:
                turned = [0] * len(way)
                for block, to in enumerate(order):
                    turned[to] = way[block]
                seen.add(tuple(turned))
    return kept


def _lies(problem: Blocks, chosen: Sequence[Source]) -> tuple[tuple[str, str], ...]:
    """Say what lies where, in the order of their numbers; what is pinned last, and once."""
    both = sorted(
        zip(problem.blocks, chosen, strict=True),
        key=lambda each: (each[0].carved, [int(n) for n in re.findall(r"\d+", each[0].name)]),
    )
    return tuple(dict.fromkeys((block.name, source.word) for block, source in both))


def _lacking(misses: Sequence[NearMiss]) -> tuple[bool, int]:
    return not misses, sum(miss.needs - miss.has for miss in misses)


def _middle_cloths(problem: Blocks, chosen: Sequence[Source]) -> list[int]:
    """Return for each place one cloth of its source, to rank by before any is filled in."""
    of_place = {
        place: source.members[0]
        for block, source in zip(problem.blocks, chosen, strict=True)
        for place in block.places
    }
    return [of_place[i] for i in range(len(of_place))]


def _filled(
    job: Job, problem: Blocks, chosen: Sequence[Source], turn: int
) -> tuple[int, ...] | None:
    """Return a cloth of its source for every place; None where the places' own rules leave none."""
    if all(len(source.members) == 1 for source in chosen):
        return tuple(_middle_cloths(problem, chosen))
    allowed: dict[int, tuple[int, ...]] = {}
    for block, source in zip(problem.blocks, chosen, strict=True):
        for place in block.places:
            allowed[place] = tuple(c for c in source.members if c in job.allowed[place])
    places = range(len(job.top.places))
    groups = groups_of(job.top, [(i,) for i in places], [allowed[i] for i in places])
    for apart in (True, False):
        made = spread(
            groups, job.cloths, job.unlike, job.seed * 1000 + turn, apart=apart,
            conditions=job.conditions,
        )  # fmt: skip
        if made is not None:
            return groups.cloth_of(made)
    return None


def nearest_miss(problem: Blocks) -> tuple[NearMiss, ...]:
    """Return what the way lacks that lacks fewest pieces; empty where every way can be cut."""
    found = least_short(problem)
    if found is None:
        return ()
    way, _ = found
    instead = _lies(problem, [problem.sources[s] for s in way])
    misses = []
    for s in dict.fromkeys(way):
        source = problem.sources[s]
        mine = [block for block, own in zip(problem.blocks, way, strict=True) if own == s]
        needs: Amount = mine[0].takes
        for block in mine[1:]:
            needs = plus(needs, block.takes)
        lacks = min(
            sum(max(0, b - a) for a, b in zip(one, needs, strict=True)) for one in source.gives
        )
        if lacks:
            where = several(list(dict.fromkeys(block.name for block in mine)))
            misses.append(NearMiss(source.word, where, sum(needs) - lacks, sum(needs), instead))
    return tuple(misses)
