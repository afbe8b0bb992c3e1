"""From what is joined with what to an order for the machine: batches, pins, pressing, measures."""

import re
from collections import defaultdict
from collections.abc import Hashable, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate
from typing import Final

from scrapstore.designs.forms import Design, PlacedPiece
from scrapstore.designs.sewing.congruence import Congruence
from scrapstore.designs.sewing.cuts import SeamCut, seam_between
from scrapstore.designs.sewing.forms import Batch, Bend, Join, JoinedPart, Meet, SewingOrder
from scrapstore.designs.sewing.groups import piece_groups, ready_units
from scrapstore.designs.sewing.measures import sides_to_measure
from scrapstore.designs.sewing.pressing import Crossing, Seams, pressed
from scrapstore.designs.sewing.search import JOINED, FoundOrder, OrderSearch, Tree
from scrapstore.designs.sewing.subdivision import Assembly, Subdivision
from scrapstore.errors import ShapeError
from scrapstore.shapes import corners_of

__all__ = ["order_of_pieces", "sewing_order"]

_TOP: Final = "the whole top"
_LIGHT: Final = "background"


def sewing_order(design: Design, darkness: Sequence[float] | None = None) -> SewingOrder:
    """Return the order in which a design is sewn; see `order_of_pieces`.

    Where nothing is known of its cloth, the role background is the lighter one.
    """
    if darkness is None:
        darkness = [float(piece.role != _LIGHT) for piece in design.pieces]
    return order_of_pieces(design.pieces, darkness)


def order_of_pieces(
    pieces: Sequence[PlacedPiece], darkness: Sequence[float] | None = None
) -> SewingOrder:
    """Return the order in which finished pieces that lie beside one another are sewn.

    It has as few bends as can be, found as `search` says. Two pieces are pressed to the darker one
    where nesting leaves the choice: `darkness` has a number for each, larger for darker. Units of
    triangles are never parted (`ready_units`). Raises ShapeError where the pieces overlap, are not
    connected, or leave a hole.

    >>> from scrapstore.designs import make_design
    >>> order = sewing_order(make_design("star", piece=1.5, seam=0.25, mark=0.125))
    >>> order.seams, order.set_in, [len(batch.joins) for batch in order.batches]
    (65, 0, [18, 18, 6, 6, 6, 6, 2, 2, 1])
    """
    top = Subdivision([one.outline for one in pieces])
    whole = frozenset(range(top.count))
    if not top.connected(whole):
        raise ShapeError("sewing: the pieces do not all touch, so that they make no single top")
    if len(top.points) - len(top.edges) + top.count != 1:
        raise ShapeError("sewing: the pieces leave a hole between them; put a piece there")
    congruence = Congruence([corners_of(one.outline) for one in pieces])
    groups = piece_groups(pieces, top)
    units = ready_units(pieces, top)
    found = _found(top, congruence, groups, units)
    planned = _planned(found.tree, top, congruence)
    order = _Order(pieces, top, planned, darkness, units)
    joins = order.joins()
    batches = order.batches(joins)
    due = sum(len(join.bends) for join in joins) - found.extra
    return SewingOrder(joins, batches, due + found.least, units=tuple(units))


def _found(
    top: Subdivision,
    congruence: Congruence,
    groups: Sequence[Sequence[Hashable]],
    units: Sequence[Assembly],
) -> FoundOrder:
    """Return the order for all pieces that makes `units` first, as if each were one piece."""
    search = OrderSearch(top, congruence, groups)
    whole = frozenset(range(top.count))
    if not units:
        return search.solve(whole)
    single = whole.difference(*units)
    parts = sorted([*units, *(frozenset((piece,)) for piece in single)], key=min)
    outlines = [top.outline(part) for part in parts]
    coarse = OrderSearch(
        Subdivision(outlines),
        Congruence([corners_of(outline) for outline in outlines]),
        [groups[min(part)] for part in parts],
    )
    found = coarse.solve(frozenset(range(len(parts))))
    tree = [
        one
        for part in found.tree
        for one in ((JOINED,) if part == JOINED else search.solve(parts[part]).tree)
    ]
    return replace(found, tree=tuple(tree))


@dataclass(frozen=True, slots=True)
class _Planned:
    """A join before it is worked out; what congruent ones have in common is `kind`."""

    first: Assembly
    second: Assembly
    cut: SeamCut
    level: int
    kind: Hashable

    @property
    def whole(self) -> Assembly:
        return self.first | self.second


def _planned(tree: Tree, top: Subdivision, congruence: Congruence) -> list[_Planned]:
    """Return the joins of a tree, level by level; equal ones together."""
    found: list[_Planned] = []
    made: list[tuple[Assembly, int]] = []
    for part in tree:
        if part != JOINED:
            made.append((frozenset((part,)), 0))
            continue
        (other, high), (one, low) = made.pop(), made.pop()
        level = 1 + max(low, high)
        first, second = one, other
        kind: Hashable = one | other  # of most of the top there is but one
        if 2 * len(one | other) <= top.count:
            sides = dict.fromkeys(one, (0,)) | dict.fromkeys(other, (1,))
            same = congruence.canonical(one | other, sides)
            # Congruent joins have the corresponding part first, and so the same start.
            first, second = (one, other) if same.order[0] in one else (other, one)
            kind = same.key
        cut = seam_between(top, first, second)
        assert cut is not None
        found.append(_Planned(first, second, cut, level, (level, kind)))
        made.append((one | other, level))
    earliest: dict[Hashable, int] = {}
    for join in found:
        earliest[join.kind] = min(min(join.whole), earliest.get(join.kind, top.count))
    found.sort(key=lambda join: (join.level, earliest[join.kind], min(join.whole)))
    # What comes first in the design is the first part of the first join of its kind, and of all.
    turned: dict[Hashable, bool] = {}
    for join in found:
        turned.setdefault(join.kind, min(join.second) < min(join.first))
    return [
        replace(join, first=join.second, second=join.first) if turned[join.kind] else join
        for join in found
    ]


class _Order:
    """Works out the joins of one top."""

    def __init__(
        self,
        pieces: Sequence[PlacedPiece],
        top: Subdivision,
        planned: Sequence[_Planned],
        darkness: Sequence[float] | None,
        units: Sequence[Assembly],
    ) -> None:
        self._units = units
        self._darkness = darkness or [0.0] * len(pieces)
        self._pieces, self._top, self._planned = pieces, top, planned
        self._number = {join.whole: number for number, join in enumerate(planned, 1)}
        kinds = list(dict.fromkeys(join.kind for join in planned))
        self._batch = {kind: number for number, kind in enumerate(kinds, 1)}
        self._paths = [self._path(join) for join in planned]
        self._seams = Seams()
        for number, (edges, points) in enumerate(self._paths):
            for edge, start in zip(edges, points, strict=False):
                self._seams.join[edge], self._seams.start[edge] = number, start

    def _path(self, join: _Planned) -> tuple[tuple[int, ...], tuple[int, ...]]:
        """Return edges and points of a seam, with the first part on the left."""
        cut = join.cut
        if cut.left == join.first:
            return cut.edges, cut.points
        return cut.edges[::-1], cut.points[::-1]

    def joins(self) -> tuple[Join, ...]:
        """Return them with all that is known of each."""
        crossings = [
            crossing
            for number, (_, points) in enumerate(self._paths)
            for point in points[1:-1]
            if all((crossing := self._crossing(number, point)).edges)
        ]
        to_first, opposed = pressed(
            self._top, [self._wish(join) for join in self._planned], self._seams, crossings
        )
        meets: dict[int, list[Crossing]] = defaultdict(list)
        for crossing in crossings:
            meets[crossing.join].append(crossing)
        made = []
        for at, join in enumerate(self._planned):
            edges, points = self._paths[at]
            marks = dict(
                zip(points, accumulate((self._top.length([e]) for e in edges), initial=0.0),
                    strict=True)
            )  # fmt: skip
            made.append(
                Join(
                    number=at + 1,
                    batch=self._batch[join.kind],
                    first=self._part(join.first),
                    second=self._part(join.second),
                    pieces=join.whole,
                    path=self._corners(at),
                    length=marks[points[-1]],
                    meets=tuple(
                        Meet(
                            self._top.points[one.point], marks[one.point],
                            (len(one.edges[0]), len(one.edges[1])), opposed.get((at, one.point)),
                        )
                        for one in meets[at]
                    ),
                    bends=tuple(
                        self._bend(at, point, marks[point]) for point in join.cut.bends(self._top)
                    ),
                    press_to_first=to_first[at],
                )
            )  # fmt: skip
        return tuple(
            replace(one, bends=tuple(sorted(one.bends, key=lambda b: b.at))) for one in made
        )

    def _wish(self, join: _Planned) -> bool | None:
        """Return whether the first of two pieces is the darker; None for larger parts."""
        if len(join.whole) > 2:
            return None
        first, second = (self._darkness[min(part)] for part in (join.first, join.second))
        return None if first == second else first > second

    def _part(self, assembly: Assembly) -> JoinedPart:
        if len(assembly) == 1:
            return JoinedPart(min(assembly), None)
        return JoinedPart(None, self._number[assembly])

    def _corners(self, at: int) -> tuple[tuple[float, float], ...]:
        _, points = self._paths[at]
        bends = {*self._planned[at].cut.bends(self._top), points[0], points[-1]}
        return tuple(self._top.points[point] for point in points if point in bends)

    def _crossing(self, at: int, point: int) -> Crossing:
        """Return the seams that end at a point of a path, on its two sides."""
        join = self._planned[at]
        first, second = list[int](), list[int]()
        for edge in self._top.edges_at[point]:
            beside = {self._top.edges[edge].left, self._top.edges[edge].right}
            if beside <= join.first:
                first.append(edge)
            elif beside <= join.second:
                second.append(edge)
        return Crossing(at, point, (tuple(first), tuple(second)))

    def _bend(self, at: int, point: int, mark: float) -> Bend:
        edges, _ = self._paths[at]
        here = [edge for edge in edges if edge in self._top.edges_at[point]]
        ahead = (self._top.onward.get((edge, point)) for edge in here)
        partly = [self._seams.join[edge] for edge in ahead if edge is not None]
        # A unit cut from squares has no seam that could be left open.
        partly = [k for k in partly if not any(self._planned[k].whole <= u for u in self._units)]
        around = {
            piece
            for edge in self._top.edges_at[point]
            for piece in (self._top.edges[edge].left, self._top.edges[edge].right)
            if piece is not None
        }
        number = max(partly) + 1 if partly else None
        return Bend(self._top.points[point], mark, tuple(sorted(around)), number)

    def batches(self, joins: Sequence[Join]) -> tuple[Batch, ...]:
        """Return equal joins together, in order."""
        numbers: dict[int, list[int]] = defaultdict(list)
        for join in joins:
            numbers[join.batch].append(join.number)
        names = _names(self._pieces)
        made = []
        for batch, own in numbers.items():
            pieces = joins[own[0] - 1].pieces
            sides = sides_to_measure(self._top.outline(pieces))
            made.append(Batch(batch, tuple(own), names.get(pieces) or self._name(pieces), sides))
        return tuple(made)

    def _name(self, pieces: Assembly) -> str:
        if 2 * len(pieces) == len(self._pieces):
            return "half"
        return "pair" if len(pieces) == 2 else f"part of {len(pieces)} pieces"


def _names(pieces: Sequence[PlacedPiece]) -> dict[Assembly, str]:
    """Return a word for each group of pieces that has one."""
    members: dict[tuple[str, str], set[int]] = defaultdict(set)
    for at, piece in enumerate(pieces):
        if piece.wedge is None:
            for depth, word in ((2, "block"), (1, "row")):  # a row of one block is the block
                name = piece.position.split(".")
                if len(name) > depth:
                    members[word, ".".join(name[:depth])].add(at)
        else:
            members["wedge", str(piece.wedge)].add(at)
        # "wedge 1, row 2" is a row.
        word = re.sub(r"[\d.\s-]+$", "", piece.unit.rpartition(", ")[2])
        members[word, piece.unit].add(at)
    named = {frozenset(own): word for (word, _), own in reversed(members.items())}
    return named | {frozenset(range(len(pieces))): _TOP}
