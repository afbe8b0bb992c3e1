"""What goes into a match and what comes out, as plain frozen values.

Every region and every placement here lies in the *grain frame* of its scrap: inches, 0° along the
lengthwise grain. Whoever builds these values turns the scrap into that frame and back.
"""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field

from shapely import MultiPolygon, Polygon

from scrapstore.packing import Placement

__all__ = [
    "Answer",
    "Need",
    "ReadyStock",
    "RoleRule",
    "ScrapStock",
    "ScrapUse",
    "Supply",
    "Totals",
]


@dataclass(frozen=True)
class RoleRule:
    """The conditions that a project sets on one role; an empty condition allows everything.

    `families` and `values` are what the cloth must read as, `fabrics` the names and `fibres` the
    fibres it may have; fibres are compared without regard to capitals. With `scraps` only the
    scraps with these numbers will do, and no ready-cut pieces or lengths.
    `same_fabric_sets` = N: of each piece, every fabric gives a multiple of N (a ring of six from
    one cloth). `min_fabrics`, `max_per_fabric` hold over the whole role.

    `taken` (None: nothing) is for a role that is provided for in part elsewhere: how many pieces
    it has of each fabric (`Cloth.cloth_key`) beside those that are asked for now. Its conditions
    then hold for all of them together, and so many pieces stay short that whatever gives those can
    bring the fabrics that are lacking.
    """

    name: str
    families: frozenset[str] = frozenset()
    values: frozenset[str] = frozenset()
    fabrics: frozenset[str] = frozenset()
    fibres: frozenset[str] = frozenset()
    scraps: frozenset[int] = frozenset()
    same_fabric_sets: int | None = None
    min_fabrics: int | None = None
    max_per_fabric: int | None = None
    taken: Mapping[str, int] | None = field(default=None, hash=False)

    @property
    def fabrics_lacking(self) -> int:
        """How many further fabrics the role asks for, beside those in `taken`."""
        return max(0, (self.min_fabrics or 0) - len(self.taken or ()))

    def most_from(self, cloth_key: str) -> int | None:
        """Return how many more pieces this fabric may give; None without a limit."""
        if self.max_per_fabric is None:
            return None
        return max(0, self.max_per_fabric - (self.taken or {}).get(cloth_key, 0))

    def allows(self, cloth: "Cloth") -> bool:
        """Tell whether pieces of this role may be cut from `cloth`."""
        return (
            (not self.families or bool(self.families & cloth.families))
            and (not self.values or cloth.value in self.values)
            and (not self.fabrics or cloth.fabric in self.fabrics)
            and (not self.fibres or self._has_fibre(cloth))
            and (not self.scraps or (isinstance(cloth, ScrapStock) and cloth.id in self.scraps))
        )

    def _has_fibre(self, cloth: "Cloth") -> bool:
        fibre = (cloth.fibre or "").strip().casefold()
        return fibre in {asked.strip().casefold() for asked in self.fibres}


@dataclass(frozen=True)
class Need:
    """One line of the piece list: `wanted` pieces with one cut outline.

    `rotations_deg` are those the grain rule allows when lengthwise grain is 0°. With `one_way`
    the piece has a direction of its own: on a one-way print just these rotations will do, on
    any other cloth also the opposite ones. `weight` is what a square inch of it counts against one
    of other needs. `needs_grain` says that the rule can be kept only
    where the lengthwise grain is known. `mirror` allows the mirrored piece on any cloth; on cloth
    that is alike on both sides a piece may always be turned over. `sews_as` holds further cut
    outlines that sew as the same piece (its tips pointed, or trimmed): ready-cut pieces of any of
    them will do. So will those of `ready_as`, which one would not cut so.
    """

    name: str
    role: str
    outline: Polygon
    wanted: int
    rotations_deg: tuple[float, ...]
    mirror: bool = False
    one_way: bool = False
    needs_grain: bool = False
    sews_as: tuple[Polygon, ...] = ()
    ready_as: tuple[Polygon, ...] = ()
    weight: float = 1.0

    @property
    def worth(self) -> float:
        """What covering one piece counts: its area in square inches by its weight."""
        return self.outline.area * self.weight


@dataclass(frozen=True)
class Cloth:
    """What the conditions of a role look at. Cloth without a fabric's name is its own fabric."""

    id: int
    fabric: str | None = None
    families: frozenset[str] = frozenset()
    value: str | None = None
    fibre: str | None = None

    @property
    def cloth_key(self) -> str:
        """Name what counts as "the same fabric"."""
        return self.fabric if self.fabric is not None else f"({type(self).__name__} {self.id})"


@dataclass(frozen=True)
class ScrapStock(Cloth):
    """One scrap on offer; `region` is what may be cut, in its grain frame.

    `true_area` is of its whole outline, margin and flaws included (None: the region's), in square
    inches: what decides whether it is a large scrap or a small one.
    """

    region: Polygon | MultiPolygon = field(default_factory=Polygon)
    true_area: float | None = None
    grain_known: bool = True
    one_way: bool = False
    sides_alike: bool = False

    @property
    def area(self) -> float:
        """Square inches of the whole scrap."""
        return self.region.area if self.true_area is None else self.true_area


@dataclass(frozen=True)
class ReadyStock(Cloth):
    """`count` pieces already cut, all of the cut `outline`."""

    outline: Polygon = field(default_factory=Polygon)
    count: int = 0
    sides_alike: bool = False


@dataclass(frozen=True)
class ScrapUse:
    """The pieces cut from one scrap: `placements[i].kind` is the name of a need."""

    scrap_id: int
    placements: tuple[Placement, ...]

    @property
    def counts(self) -> Mapping[str, int]:
        """How many pieces of each need come from this scrap."""
        return Counter(placement.kind for placement in self.placements)


@dataclass(frozen=True)
class Supply:
    """Where the pieces of one need come from.

    ``wanted == ready + scraps + short``. `at_most` is proven: whatever the plan, ready-cut pieces
    and scraps together cannot give more.
    """

    need: str
    wanted: int
    ready: int
    scraps: int
    at_most: int

    @property
    def short(self) -> int:
        """Pieces that no scrap of this plan gives and that must come from yardage."""
        return self.wanted - self.ready - self.scraps


@dataclass(frozen=True)
class Totals:
    """What all needs get together: pieces, and their cut area in square inches.

    `at_most` and `area_at_most` are proven for the two counts, each by itself. They can be tighter
    than the sum over the needs, since needs that share a scrap share its area.
    """

    covered: int
    wanted: int
    at_most: int
    area: float
    area_at_most: float


@dataclass(frozen=True)
class Answer:
    """A whole plan: what each need gets, from which ready-cut pieces and from which scraps.

    `ready_uses` maps (id of the ready-cut pieces, need) to a count of pieces of the need. Where
    each of the ready-cut pieces is cut along its diagonals into several, `ready_parts` says into
    how many. `unmet` holds a sentence for
    every condition that the stock at hand cannot keep. `choice_proven` says that no other choice
    among the patterns found covers more, `stopped` that the search was interrupted.
    """

    supplies: tuple[Supply, ...]
    ready_uses: Mapping[tuple[int, str], int]
    scrap_uses: tuple[ScrapUse, ...]
    unmet: tuple[str, ...] = ()
    scraps_looked_at: int = 0
    together: Totals = Totals(0, 0, 0, 0.0, 0.0)
    choice_proven: bool = True
    stopped: bool = False
    ready_parts: Mapping[tuple[int, str], int] = field(default_factory=dict)
