"""To which side allowances are pressed, so that seams which meet oppose one another and nest.

Seen from the point where they meet, two seams nest when the allowances of both lie clockwise of
them, or both counter-clockwise. So each meeting says of two joins that they are pressed alike, or
unalike, whichever way the paths run. Joins linked by such meetings are pressed together; a meeting
that contradicts earlier ones cannot be opposed. Where many seams meet, all of them are made to turn
the same way round the point as far as that contradicts nothing.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from scrapstore.designs.sewing.subdivision import Subdivision

__all__ = ["Crossing", "Seams", "pressed"]


@dataclass(frozen=True, slots=True)
class Crossing:
    """A point on the path of a join, and edges of seams that end there on its two sides."""

    join: int
    point: int
    edges: tuple[tuple[int, ...], tuple[int, ...]]


@dataclass(frozen=True, slots=True)
class Seams:
    """For each edge the join that sews it, and from which of its points the join runs along it."""

    join: dict[int, int] = field(default_factory=dict)
    start: dict[int, int] = field(default_factory=dict)


def pressed(
    top: Subdivision, wishes: Sequence[bool | None], seams: Seams, crossings: Sequence[Crossing]
) -> tuple[list[bool], dict[tuple[int, int], bool]]:
    """Return for each join whether it is pressed to its first part.

    And for each (join, point) with seams to oppose, whether they do. `wishes` say of each join
    whether it should be, None where it does not matter; they give way to meetings.
    """
    links = [(crossing, pair) for crossing in crossings for pair in _pairs(top, crossing)]
    # Seams in one line first: there it shows most.
    links.sort(key=lambda link: top.onward.get((link[1][0], link[0].point)) != link[1][1])
    round_them = [
        (crossing, pair)
        for crossing in crossings
        for pair in pairwise([edge for side in crossing.edges for edge in side])
    ]
    sets = _ParitySets(len(wishes))
    for crossing, (one, other) in [*links, *round_them]:
        alike = _leaves(seams, one, crossing.point) == _leaves(seams, other, crossing.point)
        sets.link(seams.join[one], seams.join[other], alike=alike)
    to_first = sets.settled(wishes)
    opposed: dict[tuple[int, int], bool] = {}
    for crossing, (one, other) in links:
        turns = [
            to_first[seams.join[edge]] == _leaves(seams, edge, crossing.point)
            for edge in (one, other)
        ]
        key = crossing.join, crossing.point
        opposed[key] = opposed.get(key, True) and turns[0] == turns[1]
    return to_first, opposed


def _leaves(seams: Seams, edge: int, point: int) -> bool:
    """Return whether the path along an edge leads away from one of its points."""
    return seams.start[edge] == point


def _pairs(top: Subdivision, crossing: Crossing) -> Iterable[tuple[int, int]]:
    """Return the edges that are to oppose one another: one a side, or those in a line."""
    first, second = crossing.edges
    if len(first) == len(second) == 1:
        return [(first[0], second[0])]
    straight = ((edge, top.onward.get((edge, crossing.point))) for edge in first)
    return [(edge, onward) for edge, onward in straight if onward is not None and onward in second]


class _ParitySets:
    """Joins in sets; in a set it is known of each whether it is pressed like the set's first."""

    def __init__(self, count: int) -> None:
        self._parent = list(range(count))
        self._alike = [True] * count

    def _root(self, one: int) -> tuple[int, bool]:
        alike = True
        while self._parent[one] != one:
            alike = alike == self._alike[one]
            one = self._parent[one]
        return one, alike

    def link(self, one: int, other: int, *, alike: bool) -> None:
        """Take two to be pressed alike or not; nothing where that contradicts what is known."""
        (root, same), (other_root, other_same) = self._root(one), self._root(other)
        if root != other_root:
            low, high = sorted((root, other_root))
            self._parent[high] = low
            self._alike[high] = (same == other_same) == alike

    def settled(self, wishes: Sequence[bool | None]) -> list[bool]:
        """Return for each whether it is pressed to its first part.

        In every set, as most of its wishes have it; without wishes, most to their second part.
        """
        found = [self._root(one) for one in range(len(self._parent))]
        wished, rest = [0] * len(found), [0] * len(found)
        for (root, alike), wish in zip(found, wishes, strict=True):
            rest[root] -= 1 if alike else -1
            if wish is not None:
                wished[root] += 1 if alike == wish else -1
        return [alike == ((wished[root] or rest[root]) > 0) for root, alike in found]
