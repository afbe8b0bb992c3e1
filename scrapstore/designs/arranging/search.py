"""Exact search: every way to give each block of places a source, by what the sources can give.

All ways are found where there are not too many. Where there are, the search is begun again and
again in another order, so that those it finds differ, until its share of work is spent; the work is
counted in steps. It is the seed that decides the orders.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from scrapstore.designs.arranging.forms import Amount, can_give, plus

__all__ = ["Blocks", "PlaceBlock", "Source", "Ways", "all_ways", "least_short"]

_STEPS: Final = 60_000  # until a search through everything is given up
_SHORT_STEPS: Final = 60_000  # the same, for what lacks something
_BEGINS: Final = 60
_STEPS_EACH: Final = 600
_WAYS_EACH: Final = 8  # found from one beginning, which differ in their last blocks alone
_MOST: Final = 5_000


@dataclass(frozen=True, slots=True)
class PlaceBlock:
    """Places that have one source: `allowed` are indices of sources.

    `carved` out of a larger block is one of which only these places are pinned.
    """

    name: str
    places: tuple[int, ...]
    takes: Amount
    allowed: tuple[int, ...]
    carved: bool = False


@dataclass(frozen=True, slots=True)
class Source:
    """One fabric, or all cloths of a colour: `members` are indices of cloths."""

    word: str
    members: tuple[int, ...]
    lab: tuple[float, float, float]
    gives: tuple[Amount, ...]


@dataclass(frozen=True)
class Blocks:
    """A problem: a source for every block, so that no source gives more than it can.

    `pairs[i, j]` (i < j) says, for sources of block i (rows) and block j, which go together.
    """

    blocks: tuple[PlaceBlock, ...]
    sources: tuple[Source, ...]
    pairs: Mapping[tuple[int, int], NDArray[np.bool_]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Ways:
    """Sources of the blocks, one tuple a way; `complete` where no other way can be cut."""

    ways: tuple[tuple[int, ...], ...]
    complete: bool


def all_ways(problem: Blocks, seed: int = 0) -> Ways:
    """Return every way that can be cut, or many different ones where there are too many."""
    walk = _Walk(problem)
    order = [list(block.allowed) for block in problem.blocks]
    found = walk.search(order, _STEPS, _MOST)
    if walk.ended:
        return Ways(tuple(sorted(found)), complete=True)
    chance = np.random.default_rng(seed)
    ways = dict.fromkeys(found[:_WAYS_EACH])
    for _ in range(_BEGINS):
        shuffled = [[each[k] for k in chance.permutation(len(each))] for each in order]
        ways |= dict.fromkeys(walk.search(shuffled, _STEPS_EACH, _WAYS_EACH))
    return Ways(tuple(ways), complete=False)


def least_short(problem: Blocks) -> tuple[tuple[int, ...], int] | None:
    """Return the way that lacks fewest pieces, and how many; None where no way is allowed.

    Only ways that lack something are looked at; of those that lack as many, the one with most
    different sources. Branch and bound: what is no better than the best so far is not followed.
    """
    best: tuple[tuple[int, ...], tuple[int, int]] | None = None
    walk = _Walk(problem, short=True)
    steps = _SHORT_STEPS

    def go(depth: int, chosen: dict[int, int], used: dict[int, Amount], short: int) -> None:
        nonlocal best, steps
        # How many pieces lack, and how many blocks have a source that another has, too.
        cost = short, depth - len(used)
        if steps < 0 or (best is not None and cost >= best[1]):
            return
        if depth == len(walk.order):
            if short:
                best = tuple(chosen[i] for i in range(len(problem.blocks))), cost
            return
        at = walk.order[depth]
        block = problem.blocks[at]
        choices = []
        for source in block.allowed:
            steps -= 1
            if walk.goes_with(at, source, chosen):
                gives = problem.sources[source].gives
                before = used.get(source)
                after = block.takes if before is None else plus(before, block.takes)
                had = 0 if before is None else _lacks(gives, before)
                choices.append((_lacks(gives, after) - had, source, after))
        for more, source, after in sorted(choices):
            go(depth + 1, {**chosen, at: source}, {**used, source: after}, short + more)

    go(0, {}, {}, 0)
    return None if best is None else (best[0], best[1][0])


def _lacks(gives: Sequence[Amount], amount: Amount) -> int:
    """Return the fewest pieces by which what can be given falls short of `amount`."""
    each = [sum(max(0, b - a) for a, b in zip(one, amount, strict=True)) for one in gives]
    return min(each, default=sum(amount))


class _Walk:
    """Depth first, the block that takes most first."""

    def __init__(self, problem: Blocks, *, short: bool = False) -> None:
        self.problem = problem
        self.ended = True
        fits = [
            sum(short or can_give(problem.sources[s].gives, block.takes) for s in block.allowed)
            for block in problem.blocks
        ]
        self.order = sorted(
            range(len(problem.blocks)), key=lambda i: (fits[i], -sum(problem.blocks[i].takes), i)
        )
        self._beside: list[list[tuple[int, NDArray[np.bool_]]]] = [[] for _ in problem.blocks]
        for (i, j), together in problem.pairs.items():
            self._beside[i].append((j, together))
            self._beside[j].append((i, together.T))

    def goes_with(self, at: int, source: int, chosen: Mapping[int, int]) -> bool:
        """Tell whether a source may lie here beside what is chosen."""
        return all(
            bool(together[source, chosen[other]])
            for other, together in self._beside[at]
            if other in chosen
        )

    def search(
        self, allowed: Sequence[Sequence[int]], steps: int, most: int
    ) -> list[tuple[int, ...]]:
        """Return the ways found, the sources of each block tried in the order of `allowed`."""
        found: list[tuple[int, ...]] = []
        chosen: dict[int, int] = {}
        used: dict[int, Amount] = {}
        self.ended = True
        left = steps

        def go(depth: int) -> None:
            nonlocal left
            if depth == len(self.order):
                found.append(tuple(chosen[i] for i in range(len(self.order))))
                return
            at = self.order[depth]
            takes = self.problem.blocks[at].takes
            for source in allowed[at]:
                if left <= 0 or len(found) >= most:
                    self.ended = False
                    return
                left -= 1
                before = used.get(source)
                after = takes if before is None else plus(before, takes)
                gives = self.problem.sources[source].gives
                if not can_give(gives, after) or not self.goes_with(at, source, chosen):
                    continue
                chosen[at], used[source] = source, after
                go(depth + 1)
                del chosen[at]
                if before is None:
                    del used[source]
                else:
                    used[source] = before

        go(0)
        return found
