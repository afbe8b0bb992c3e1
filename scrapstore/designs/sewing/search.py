"""In which order assemblies are joined, so that as few seams as can be are set in.

The search goes from the whole top to its pieces: it takes a cut, then each side by itself. Three
rules make it exact. Restrict any order of sewing to one side of a cut, and it is an order for that
side, with no bend at the points of the cut.

1. A straight cut can be taken without regret: both sides need no more bends than the whole. So a
   top can be sewn with straight seams alone just if taking any straight cut, again and again,
   leaves single pieces; what has none left is the proof that it cannot.
2. At a point inside through which no straight line goes, every order has a bend. So a cut all of
   whose bends are at such points can be taken without regret as well.
3. What has no cut of either kind needs one bend more than it has such points. There all cuts with
   one such bend are tried, then all with two, until no further one could be better.

Among cuts without regret, the one is taken that keeps wedges, blocks, rows and units together, and
halves so that equal assemblies come in pairs. What is congruent is sewn in the same way.
"""

from collections import Counter
from collections.abc import Callable, Generator, Hashable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from scrapstore.designs.sewing.congruence import Congruence
from scrapstore.designs.sewing.cuts import SeamCut, bent_cuts, straight_cuts
from scrapstore.designs.sewing.subdivision import Assembly, Subdivision

__all__ = ["JOINED", "FoundOrder", "OrderSearch", "Tree"]

Tree = tuple[int, ...]
"""Pieces, and `JOINED` after two assemblies that are joined: 0 1 JOINED 2 JOINED."""
JOINED: Final = -1

_CHOICE: Final = 1500
"""Steps along paths with bends, among which one is chosen."""
_ALL: Final = 60_000
"""Steps along paths with bends before the search gives up to see them all."""
_SMALL: Final = 64
"""Pieces; assemblies up to that are remembered even where they are most of the top."""
_TRIALS: Final = 400
"""Assemblies for which cuts are tried in turn, before the best known is taken."""


@dataclass(frozen=True, slots=True)
class FoundOrder:
    """An order; `extra` bends beyond those that are due, of which `least` are proven needful."""

    tree: Tree
    extra: int = 0
    least: int = 0


_Steps = Generator[Assembly, FoundOrder, FoundOrder]


class OrderSearch:
    """Finds orders for assemblies of the pieces of `top`.

    `groups` holds for each piece what it belongs to, the largest first (wedge, block, row, unit),
    None where it belongs to nothing; as many for each.
    """

    def __init__(
        self, top: Subdivision, congruence: Congruence, groups: Sequence[Sequence[Hashable]]
    ) -> None:
        self._top, self._congruence = top, congruence
        self._groups = {
            piece: tuple((piece,) if one is None else one for one in own)
            for piece, own in enumerate(groups)
        }
        self._depths = len(groups[0])
        self._grouped = [{own[depth] for own in groups} - {None} for depth in range(self._depths)]
        self._known: dict[Hashable, FoundOrder] = {}
        self._trials = 0

    def solve(self, assembly: Assembly) -> FoundOrder:
        """Return the order for an assembly; for what is congruent to a known one, the same."""
        # Thousands of pieces may come off one by one, so the search keeps a stack of its own.
        stack = [self._steps(assembly)]
        answer: FoundOrder | None = None
        while stack:
            try:
                part = next(stack[-1]) if answer is None else stack[-1].send(answer)
            except StopIteration as done:
                answer = done.value
                stack.pop()
            else:
                answer = None
                stack.append(self._steps(part))
        assert answer is not None
        return answer

    def _steps(self, assembly: Assembly) -> _Steps:
        """Yield the assemblies whose orders are wanted, are sent them, and return the whole's."""
        if len(assembly) == 1:
            return FoundOrder(tuple(assembly))
        if len(assembly) > _SMALL and 2 * len(assembly) > self._top.count:
            return (yield from self._found(assembly))  # no other can be congruent to it
        same = self._congruence.canonical(assembly, self._groups)
        if same.key not in self._known:
            found = yield from self._found(assembly)
            place = {piece: at for at, piece in enumerate(same.order)}
            self._known[same.key] = replace(found, tree=_renamed(found.tree, place))
            return found
        known = self._known[same.key]
        return replace(known, tree=_renamed(known.tree, dict(enumerate(same.order))))

    def _found(self, assembly: Assembly) -> _Steps:
        if straight := straight_cuts(self._top, assembly):
            return (yield from self._taken(self._best(assembly, straight), 0))
        cuts, every = bent_cuts(self._top, assembly, 0, _CHOICE)
        if not cuts and not every:
            cuts, every = bent_cuts(self._top, assembly, 0, _ALL)
        if cuts:
            return (yield from self._taken(self._best(assembly, cuts), 0))
        return (yield from self._tried(assembly, 1 if every else 0))

    def _taken(self, cut: SeamCut, extra: int) -> _Steps:
        one = yield cut.left
        other = yield cut.right
        return FoundOrder(
            (*one.tree, *other.tree, JOINED),
            one.extra + other.extra + extra,
            one.least + other.least + extra,
        )

    def _tried(self, assembly: Assembly, least: int) -> _Steps:
        """Try the cuts with more and more bends that are not due, until none could be better."""
        best: FoundOrder | None = None
        extra, exact = 1, least == 1
        while best is None or (best.extra > extra and self._trials < _TRIALS):
            cuts, every = bent_cuts(self._top, assembly, extra, _ALL)
            exact &= every
            for cut in sorted(cuts, key=self._ranking(assembly)):
                self._trials += 1
                found = yield from self._taken(cut, extra)
                exact &= found.least == found.extra
                if best is None or found.extra < best.extra:
                    best = found
                if best.extra == extra or self._trials >= _TRIALS:
                    break
            extra += 1
        exact = best.extra == least or (exact and self._trials < _TRIALS)
        return FoundOrder(best.tree, best.extra, best.extra if exact else least)

    def _best(self, assembly: Assembly, cuts: Sequence[SeamCut]) -> SeamCut:
        return min(cuts, key=self._ranking(assembly))

    def _ranking(self, assembly: Assembly) -> Callable[[SeamCut], tuple[object, ...]]:
        """Return what says how undesirable a cut of this assembly is.

        By what it parts, by its bends, by uneven sides, by the order of the design.
        """
        groups = range(self._depths + 1)
        sizes = [Counter(self._name(one, depth) for one in assembly) for depth in groups]
        # The first depth at which it consists of several groups; at the last, of its pieces.
        level = next(
            depth
            for depth in groups
            if depth == self._depths
            or (len(sizes[depth]) > 1 and sizes[depth].keys() & self._grouped[depth])
        )
        several = len(sizes[level])
        # The largest power of two below: pairs, then pairs of pairs.
        even = 1 << (several - 1).bit_length() - 1
        first = min(assembly)

        def rank(cut: SeamCut) -> tuple[object, ...]:
            small, other = sorted((cut.left, cut.right), key=len)
            parted: list[int] = []
            uneven = 0
            for depth in groups:
                own = Counter(self._name(one, depth) for one in small)
                parted.append(sum(count < sizes[depth][name] for name, count in own.items()))
                if depth == level:
                    uneven = abs(max(len(own), several - len(own) + parted[-1]) - even)
            # In the order of the design: what comes last in it is joined on last.
            late = min(other if first in small else small)
            return (*parted, len(cut.bends(self._top)), uneven, -late, cut.points)

        return rank

    def _name(self, piece: int, depth: int) -> Hashable:
        return self._groups[piece][depth] if depth < self._depths else piece


def _renamed(tree: Tree, names: Mapping[int, int]) -> Tree:
    return tuple(part if part == JOINED else names[part] for part in tree)
