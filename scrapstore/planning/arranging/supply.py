"""What the store can give of each kind of piece, fabric by fabric, on layouts that can be cut.

Where several kinds compete for a scrap, what it can give is a set of layouts, never a sum of what
it could give of each alone.
"""

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np

from scrapstore.colour import colour_words
from scrapstore.designs.arranging import Amount, OfferedCloth, can_give, plus, undominated_amounts
from scrapstore.matching import Need, PackAll, ReadyStock, RoleRule, ScrapStock, Task
from scrapstore.matching.patterns import Pattern, class_kinds, cut_classes, undominated
from scrapstore.matching.ready import pieces_each
from scrapstore.matching.screen import screen
from scrapstore.packing import PieceKind, usable_region

__all__ = [
    "ClothColour",
    "ClothSupply",
    "LengthOffer",
    "Stock",
    "Supplied",
    "SupplyPart",
    "supply_of",
]

_MOST_SCRAPS: Final = 1200
"""Scraps that are packed, those that may give most first."""
_FEW: Final = 40  # scraps; so few are also packed freely, which takes longer
_FREELY: Final = 0.05  # seconds of work for each of those
_MOST_AMOUNTS: Final = 120  # kept of what one fabric can give
_UNKNOWN: Final = (60.0, 0.0, 0.0)  # CIELAB of cloth whose colour nobody knows


@dataclass(frozen=True, slots=True)
class ClothColour:
    """The colour of one scrap or lot: CIELAB, None where nobody knows it."""

    lab: tuple[float, float, float] | None
    family: str | None
    value: str | None


@dataclass(frozen=True, slots=True)
class LengthOffer:
    """A length of yardage at hand: how many pieces of each kind it gives, of each alone."""

    id: int
    cloth: ReadyStock
    counts: Amount


@dataclass(frozen=True, slots=True)
class SupplyPart:
    """One layout of a scrap, or pieces of one kind out of a ready-cut lot or a length."""

    amount: Amount
    pattern: Pattern | None = None
    lot: int | None = None
    length: int | None = None
    kind: int = 0


@dataclass(frozen=True, slots=True)
class Stock:
    """What there is of one cloth; the parts `ways[i]` give `cloth.gives[i]`."""

    cloth: OfferedCloth
    scraps: tuple[ScrapStock, ...]
    lots: tuple[ReadyStock, ...]
    lengths: tuple[LengthOffer, ...]
    ways: tuple[tuple[SupplyPart, ...], ...]

    def parts_for(self, amount: Amount) -> tuple[SupplyPart, ...]:
        """Return parts that give `amount`, lengths and large scraps left out where they can be.

        Raises ValueError for an amount that the cloth does not give.
        """
        way = next(
            parts
            for gives, parts in zip(self.cloth.gives, self.ways, strict=True)
            if can_give([gives], amount)
        )
        area = {scrap.id: scrap.area for scrap in self.scraps}
        kept = list(way)
        for part in sorted(
            way,
            key=lambda p: (
                p.length is None, -area[p.pattern.scrap_id] if p.pattern is not None else 0.0
            ),
        ):  # fmt: skip
            without = [other for other in kept if other is not part]
            if can_give([_sum(without, len(amount))], amount):
                kept = without
        return tuple(kept)


def _sum(parts: Sequence[SupplyPart], kinds: int) -> Amount:
    total: Amount = (0,) * kinds
    for part in parts:
        total = plus(total, part.amount)
    return total


@dataclass(frozen=True)
class ClothSupply:
    """What all cloths give; `kinds` are the names of the kinds, `kind_of` that of each need.

    `packed` of the `scraps` that might serve were packed; `unnamed_lots` are ready-cut lots that
    are left out, since a project file cannot ask for cloth without a name.
    """

    stocks: tuple[Stock, ...]
    kinds: tuple[str, ...]
    kind_of: Mapping[str, str]
    scraps: int
    packed: int
    unnamed_lots: int

    @property
    def cloths(self) -> tuple[OfferedCloth, ...]:
        """The cloths, in the order of the stocks."""
        return tuple(stock.cloth for stock in self.stocks)


def supply_of(
    scraps: Sequence[ScrapStock],
    ready: Sequence[ReadyStock],
    needs: Sequence[Need],
    roles: Mapping[str, RoleRule],
    pack_all: PackAll,
    seed: int = 0,
) -> "Supplied":
    """Return what scraps and ready-cut pieces can give of `needs`; its cloths have no colour yet.

    Each scrap is packed for each kind alone, then with half of one kind and as many of another as
    the rest of it gives.
    """
    classes = cut_classes(needs)
    kinds = tuple(dict.fromkeys(classes.values()))
    screened = screen(scraps, needs, roles)
    rows = sorted(range(len(screened.scraps)), key=lambda r: (-int(screened.most[r].max()), r))
    rows = sorted(rows[:_MOST_SCRAPS])
    offers = {
        r: class_kinds(
            screened.scraps[r],
            [need for j, need in enumerate(needs) if screened.may[r, j]],
            classes,
        )
        for r in rows
    }
    found: dict[int, tuple[Pattern, ...]] = dict.fromkeys(rows, ())
    tasks = [_task(screened.scraps[r], (kind,), seed) for r in rows for kind in offers[r]]
    of_row = [r for r in rows for _ in offers[r]]
    if len(rows) <= _FEW:
        free = [replace(task, rows_only=False, seconds=_FREELY) for task in tasks]
        tasks, of_row = tasks + free, of_row + of_row
    _learn(found, tasks, of_row, [None] * len(tasks), pack_all)
    mixed = [
        (r, half, kind)
        for r in rows
        for half in _halves(found[r])
        for kind in offers[r]
        if kind.name != half.placements[0].kind
    ]
    tasks = [_task(screened.scraps[r], (kind,), seed, half) for r, half, kind in mixed]
    _learn(found, tasks, [r for r, *_ in mixed], [half for _, half, _ in mixed], pack_all)
    patterns = {screened.scraps[r].id: found[r] for r in rows if found[r]}
    return Supplied(
        tuple(scrap for scrap in screened.scraps if scrap.id in patterns), patterns, ready, needs,
        roles, kinds, classes, len(screened.scraps), len(rows),
    )  # fmt: skip


def _task(
    scrap: ScrapStock, kinds: tuple[PieceKind, ...], seed: int, beside: Pattern | None = None
) -> Task:
    """Return the task of packing these kinds in rows, on what `beside` leaves of the scrap."""
    region = scrap.region
    if beside is not None:
        region = usable_region(region, [p.outline for p in beside.placements])
    return Task(scrap.id, region, kinds, 0.0, seed, rows_only=True)


def _learn(
    found: dict[int, tuple[Pattern, ...]],
    tasks: Sequence[Task],
    of_row: Sequence[int],
    beside: Sequence[Pattern | None],
    pack_all: PackAll,
) -> None:
    """Add the layouts of the tasks, each with the pieces that it was packed beside."""
    for r, task, half, layout in zip(of_row, tasks, beside, pack_all(tasks), strict=True):
        if layout.placements:
            packed = half.placements if half is not None else ()
            pattern = Pattern(task.scrap_id, packed + layout.placements)
            found[r] = undominated((*found[r], pattern))


def _halves(patterns: Sequence[Pattern]) -> list[Pattern]:
    """Return half of each pattern of a single kind: the pieces nearest to one end of the scrap."""
    halves = []
    for pattern in patterns:
        if len(pattern.counts) > 1 or len(pattern.placements) < 2:
            continue
        corners = np.concatenate(
            [np.asarray(p.outline.exterior.coords) for p in pattern.placements]
        )
        along = int(np.argmax(np.ptp(corners, axis=0)))
        ordered = sorted(
            pattern.placements, key=lambda p: (p.outline.bounds[along + 2], p.outline.bounds)
        )
        halves.append(Pattern(pattern.scrap_id, tuple(ordered[: math.ceil(len(ordered) / 2)])))
    return halves


@dataclass(frozen=True)
class Supplied:
    """Layouts of the scraps that give anything, before their colours are known.

    Colours of thousands of scraps are read only for those in `scraps`.
    """

    scraps: tuple[ScrapStock, ...]
    patterns: Mapping[int, tuple[Pattern, ...]]
    ready: Sequence[ReadyStock]
    needs: Sequence[Need]
    roles: Mapping[str, RoleRule]
    kinds: tuple[str, ...]
    classes: Mapping[str, str]
    screened: int
    packed: int

    def coloured(
        self,
        scraps: Mapping[int, ClothColour],
        lots: Mapping[int, ClothColour],
        lengths: Sequence[tuple[LengthOffer, ClothColour]] = (),
    ) -> ClothSupply:
        """Return the supply by fabric, with the colours of scraps and lots by their numbers.

        `lengths` are those at hand. Their colour counts where no scrap of the fabric is seen.
        """
        wanted = [0] * len(self.kinds)
        for need in self.needs:
            wanted[self.kinds.index(self.classes[need.name])] += need.wanted
        cap = tuple(wanted)
        groups: dict[tuple[str, frozenset[str]], _Own] = defaultdict(_Own)
        asked = {need.role for need in self.needs}
        for scrap in self.scraps:
            groups[scrap.cloth_key, self._roles_of(scrap, asked)].scraps.append(scrap)
        unnamed = 0
        for lot in self.ready:
            if not self._lot_parts(lot):
                continue
            if lot.fabric is None:
                unnamed += 1
                continue
            groups[lot.cloth_key, self._roles_of(lot, asked)].lots.append(lot)
        of_length = {length.id: colour for length, colour in lengths}
        for length, _ in lengths:
            roles = self._roles_of(length.cloth, asked)
            if roles and any(length.counts):
                groups[length.cloth.cloth_key, roles].lengths.append(length)
        stocks = []
        for (key, roles), own in groups.items():
            gives, ways = self._ways(own, cap)
            colours = [(scraps[s.id], self._most(s.id)) for s in own.scraps]
            colours += [(lots[lot.id], lot.count) for lot in own.lots]
            if not any(colour.lab for colour, _ in colours):
                colours += [(of_length[one.id], max(one.counts)) for one in own.lengths]
            cloth = _cloth(key, own.scraps, roles, colours, gives)
            own_parts = tuple(own.scraps), tuple(own.lots), tuple(own.lengths)
            stocks.append(Stock(cloth, *own_parts, ways))
        stocks.sort(key=lambda stock: (stock.cloth.fabric, sorted(stock.cloth.roles)))
        return ClothSupply(
            tuple(stocks), self.kinds, self.classes, self.screened, self.packed, unnamed
        )

    def _roles_of(self, cloth: ScrapStock | ReadyStock, asked: set[str]) -> frozenset[str]:
        return frozenset(role for role in asked if self.roles[role].allows(cloth))

    def _most(self, scrap: int) -> int:
        return max(sum(pattern.counts.values()) for pattern in self.patterns[scrap])

    def _parts(self, scrap: ScrapStock) -> list[SupplyPart]:
        return [
            SupplyPart(tuple(pattern.counts.get(kind, 0) for kind in self.kinds), pattern)
            for pattern in self.patterns[scrap.id]
        ]

    def _lot_parts(self, lot: ReadyStock) -> list[SupplyPart]:
        """Return the parts of a lot, each with all its pieces for one kind."""
        parts = []
        for k, kind in enumerate(self.kinds):
            each = max(
                (
                    pieces_each(lot, need)
                    for need in self.needs
                    if self.classes[need.name] == kind and self.roles[need.role].allows(lot)
                ),
                default=0,
            )
            if each and lot.count:
                amount = tuple(each * lot.count if n == k else 0 for n in range(len(self.kinds)))
                parts.append(SupplyPart(amount, lot=lot.id, kind=k))
        return parts

    def _length_parts(self, length: LengthOffer) -> list[SupplyPart]:
        """Return the parts of a length, each with all its pieces of one kind."""
        return [
            SupplyPart(
                tuple(count if n == k else 0 for n in range(len(self.kinds))),
                length=length.id, kind=k,
            )
            for k, count in enumerate(length.counts)
            if count
        ]  # fmt: skip

    def _ways(
        self, own: "_Own", cap: Amount
    ) -> tuple[tuple[Amount, ...], tuple[tuple[SupplyPart, ...], ...]]:
        """Return the undominated amounts that these give together, and the parts of each."""
        total: dict[Amount, tuple[SupplyPart, ...]] = {(0,) * len(cap): ()}
        for parts in (
            *map(self._parts, own.scraps),
            *map(self._lot_parts, own.lots),
            *map(self._length_parts, own.lengths),
        ):
            sums: dict[Amount, tuple[SupplyPart, ...]] = {}
            for before, chosen in total.items():
                for part in parts:
                    both = plus(before, part.amount)
                    # What is beyond all that is wanted counts as nothing.
                    both = tuple(min(a, b) for a, b in zip(both, cap, strict=True))
                    sums.setdefault(both, (*chosen, part))
            kept = undominated_amounts(sums)
            if len(kept) > _MOST_AMOUNTS:
                step = (len(kept) - 1) / (_MOST_AMOUNTS - 1)
                kept = tuple(kept[round(k * step)] for k in range(_MOST_AMOUNTS))
            total = {amount: sums[amount] for amount in kept}
        return tuple(total), tuple(total.values())


@dataclass(frozen=True)
class _Own:
    """What there is of one cloth, while it is gathered."""

    scraps: list[ScrapStock] = field(default_factory=list)
    lots: list[ReadyStock] = field(default_factory=list)
    lengths: list[LengthOffer] = field(default_factory=list)


def _cloth(
    key: str,
    scraps: Sequence[ScrapStock],
    roles: frozenset[str],
    colours: Sequence[tuple[ClothColour, int]],
    gives: tuple[Amount, ...],
) -> OfferedCloth:
    """Return the cloth, with the mean of the colours that are known and the family most have."""
    known = [(colour.lab, weight) for colour, weight in colours if colour.lab is not None]
    lab = _UNKNOWN
    if known:
        mean = np.average([each for each, _ in known], axis=0, weights=[w for _, w in known])
        lab = (float(mean[0]), float(mean[1]), float(mean[2]))
    family = _commonest([(colour.family, weight) for colour, weight in colours])
    value = _commonest([(colour.value, weight) for colour, weight in colours])
    word = key
    if scraps and scraps[0].fabric is None:
        looks = colour_words(family, value, unknown="colour not known")
        word = f"scrap {scraps[0].id} ({looks})"
    return OfferedCloth(key, word, family, value, lab, roles, gives)


def _commonest(words: Sequence[tuple[str | None, int]]) -> str | None:
    counts: dict[str, int] = defaultdict(int)
    for word, weight in words:
        if word is not None:
            counts[word] += weight
    return min(counts, key=lambda word: (-counts[word], word), default=None)
