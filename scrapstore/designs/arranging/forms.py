"""What is arranged, from what, and what comes of it; plain values.

An amount is a tuple with the number of pieces of each kind, in the order of `TopPlaces.kinds`.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Final, Literal

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from scrapstore.colour import delta_e
from scrapstore.designs.forms import Design

__all__ = [
    "Amount",
    "Arrangement",
    "By",
    "Job",
    "NearMiss",
    "OfferedCloth",
    "RoleConditions",
    "SchemeFound",
    "TopPlace",
    "TopPlaces",
    "can_give",
    "plus",
    "top_of",
    "undominated_amounts",
]

Amount = tuple[int, ...]
"""Pieces of each kind."""

By = Literal["fabric", "colour", "value", "piece"]
"""What is one and the same all over a block of places: a fabric, a colour family, a value; or
nothing is, and each piece is chosen by itself."""

_TOUCH: Final = 1e-6  # inches of common edge, below which two places meet in a corner alone


@dataclass(frozen=True, slots=True)
class TopPlace:
    """One position of the top that is arranged; `kind` is an index of `TopPlaces.kinds`."""

    position: str
    kind: int
    line: str
    role: str
    ring: int | None
    wedge: int | None
    outline: Polygon


@dataclass(frozen=True, slots=True)
class TopPlaces:
    """The places that are arranged, and for each the indices of those it shares an edge with.

    `kinds` names the kinds of cut piece: what is cut alike is one kind.
    """

    places: tuple[TopPlace, ...]
    neighbours: tuple[frozenset[int], ...]
    kinds: tuple[str, ...]

    def amount(self, places: Collection[int]) -> Amount:
        """Return how many pieces of each kind these places take."""
        counts = [0] * len(self.kinds)
        for at in places:
            counts[self.places[at].kind] += 1
        return tuple(counts)


@dataclass(frozen=True, slots=True)
class OfferedCloth:
    """Cloth of one kind that the store has: all scraps of a fabric, or one scrap without a name.

    `fabric` says what counts as one fabric, `word` what a quilter calls it. `roles` are those that
    may be cut of it. `gives` are the amounts that it can give, each by itself and none of them
    less than another in everything; that of `lab` is CIELAB.
    """

    fabric: str
    word: str
    family: str | None
    value: str | None
    lab: tuple[float, float, float]
    roles: frozenset[str]
    gives: tuple[Amount, ...]

    def most(self, kind: int) -> int:
        """Return the most pieces of one kind."""
        return max((amount[kind] for amount in self.gives), default=0)


@dataclass(frozen=True, slots=True)
class RoleConditions:
    """Conditions of a role on all its pieces together; see `projects.Role`."""

    same_fabric_sets: int | None = None
    min_fabrics: int | None = None
    max_per_fabric: int | None = None

    def broken(
        self, top: TopPlaces, cloths: Sequence[OfferedCloth], cloth_of: Sequence[int], role: str
    ) -> str:
        """Say which condition an arrangement does not keep; empty where it keeps them all."""
        per_line: dict[tuple[str, str], int] = {}
        per_fabric: dict[str, int] = {}
        for place, cloth in zip(top.places, cloth_of, strict=True):
            if place.role == role:
                fabric = cloths[cloth].fabric
                per_line[place.line, fabric] = per_line.get((place.line, fabric), 0) + 1
                per_fabric[fabric] = per_fabric.get(fabric, 0) + 1
        if self.min_fabrics and len(per_fabric) < self.min_fabrics:
            return f"{role}: {len(per_fabric)} of at least {self.min_fabrics} fabrics"
        for fabric, count in per_fabric.items():
            if self.max_per_fabric and count > self.max_per_fabric:
                return f"{role}: {count} pieces of {fabric}, at most {self.max_per_fabric} allowed"
        for (_, fabric), count in per_line.items():
            if self.same_fabric_sets and count % self.same_fabric_sets:
                return f"{role}: {count} pieces of {fabric}, not sets of {self.same_fabric_sets}"
        return ""


@dataclass(frozen=True, slots=True)
class Arrangement:
    """A cloth for every place: `cloth_of[i]`, an index, is that of `TopPlaces.places[i]`.

    `blocks` says in words what lies where; `figure` is what the scheme's aim measures, higher is
    better, and `said` the same in words. `schemes` are all those under which it was found.
    """

    schemes: tuple[str, ...]
    by: By
    cloth_of: tuple[int, ...]
    blocks: tuple[tuple[str, str], ...]
    figure: tuple[float, ...]
    said: str


@dataclass(frozen=True, slots=True)
class NearMiss:
    """The best that cannot be cut: `cloth` for `where` gives `has` of `needs` pieces.

    `instead` is the whole of it, block by block.
    """

    cloth: str
    where: str
    has: int
    needs: int
    instead: tuple[tuple[str, str], ...] = ()

    @property
    def words(self) -> str:
        """The reason in counts."""
        return f"{self.cloth} for {self.where}: {self.has} of {self.needs}"


@dataclass(frozen=True, slots=True)
class SchemeFound:
    """What came of one scheme: its arrangements, the best by its aim first.

    `count` is how many there are in all where `complete`, else how many were looked at. `misses`
    say what the nearest one that cannot be cut lacks, `reason` why there is none at all.
    """

    scheme: str
    by: By = "fabric"
    arrangements: tuple[Arrangement, ...] = ()
    count: int = 0
    complete: bool = False
    misses: tuple[NearMiss, ...] = ()
    reason: str = ""


@dataclass(frozen=True)
class Job:
    """All that the schemes need to know.

    `allowed[i]` are the cloths (by index) that place i may have by the conditions of its role and
    by what is pinned there; `pinned` are the places where something is. `by` are the ways in which
    a block of places may be of one kind, the first that leads anywhere is taken. `unlike[c, d]` is
    CIEDE2000 between two cloths; `want` how many arrangements of each scheme are asked for.
    """

    top: TopPlaces
    cloths: tuple[OfferedCloth, ...]
    allowed: tuple[tuple[int, ...], ...]
    conditions: Mapping[str, RoleConditions] = field(default_factory=dict)
    pinned: Mapping[int, str] = field(default_factory=dict)
    by: tuple[By, ...] = ("fabric", "colour", "value")
    seed: int = 0
    want: int = 6

    @cached_property
    def unlike(self) -> NDArray[np.float64]:
        """CIEDE2000 between the cloths."""
        labs = np.array([cloth.lab for cloth in self.cloths]).reshape(-1, 3)
        return delta_e(labs[:, None], labs[None, :])

    def broken(self, cloth_of: Sequence[int]) -> str:
        """Say which condition of a role an arrangement does not keep; empty where it keeps all."""
        found = (
            rule.broken(self.top, self.cloths, cloth_of, role)
            for role, rule in self.conditions.items()
        )
        return next((said for said in found if said), "")


def can_give(gives: Sequence[Amount], amount: Sequence[int]) -> bool:
    """Tell whether one of these amounts is enough."""
    return any(all(a >= b for a, b in zip(one, amount, strict=True)) for one in gives)


def plus(one: Sequence[int], other: Sequence[int]) -> Amount:
    """Return both together."""
    return tuple(a + b for a, b in zip(one, other, strict=True))


def undominated_amounts(amounts: Collection[Amount]) -> tuple[Amount, ...]:
    """Return the amounts without those that another one covers; the largest first."""
    kept: list[Amount] = []
    for amount in sorted(set(amounts), reverse=True):
        if not can_give(kept, amount):
            kept.append(amount)
    return tuple(kept)


def top_of(
    design: Design, kind_of: Mapping[str, str], roles: Collection[str], kinds: Sequence[str]
) -> TopPlaces:
    """Return the places of these roles; `kind_of` names, for each line, its kind out of `kinds`."""
    pieces = [piece for piece in design.pieces if piece.role in roles]
    number = {kind: k for k, kind in enumerate(kinds)}
    places = tuple(
        TopPlace(
            piece.position, number[kind_of[piece.piece]], piece.piece, piece.role, piece.ring,
            piece.wedge, piece.outline,
        )
        for piece in pieces
    )  # fmt: skip
    return TopPlaces(places, _neighbours([place.outline for place in places]), tuple(kinds))


def _neighbours(outlines: Sequence[Polygon]) -> tuple[frozenset[int], ...]:
    """Return for each outline those that it shares an edge, or part of one, with."""
    shapes = np.array(outlines, dtype=object)
    beside: list[set[int]] = [set() for _ in outlines]
    if len(shapes):
        near = shapely.buffer(shapes, _TOUCH)
        one, other = shapely.STRtree(shapes).query(near, predicate="intersects")
        one, other = one[one < other], other[one < other]
        edges = shapely.length(
            shapely.intersection(
                shapely.buffer(shapes[one], _TOUCH), shapely.boundary(shapes[other])
            )
        )
        for i, j in zip(one[edges > 0.05].tolist(), other[edges > 0.05].tolist(), strict=True):
            beside[i].add(j)
            beside[j].add(i)
    return tuple(frozenset(each) for each in beside)
