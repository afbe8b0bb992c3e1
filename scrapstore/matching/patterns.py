"""Cutting patterns: for one scrap, a handful of different layouts worth choosing between."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import shapely

from scrapstore.matching.forms import Need, ScrapStock
from scrapstore.packing import Layout, PieceKind, Placement, fill, usable_region

__all__ = [
    "Pattern",
    "class_kinds",
    "cut_classes",
    "first_patterns",
    "further_patterns",
    "kind_on",
    "undominated",
]


def cut_classes(needs: Sequence[Need]) -> dict[str, str]:
    """Return, for each need, the name of the first need that is cut exactly alike.

    The diamonds of three rings are one and the same piece to the cutter; only the choice tells
    them apart. Layouts are therefore drawn for classes.
    """
    first: dict[object, str] = {}
    return {
        need.name: first.setdefault(
            (need.outline.wkb, need.rotations_deg, need.mirror, need.one_way, need.needs_grain),
            need.name,
        )
        for need in needs
    }


@dataclass(frozen=True)
class Pattern:
    """One layout of a scrap, and how many pieces of each class it gives (see `cut_classes`)."""

    scrap_id: int
    placements: tuple[Placement, ...]

    @property
    def counts(self) -> Mapping[str, int]:
        """Pieces per class."""
        return Counter(placement.kind for placement in self.placements)


def kind_on(need: Need, scrap: ScrapStock) -> PieceKind | None:
    """Return `need` as the packer may place it on this very cloth, or None if it may not.

    Without a known lengthwise grain, a rule that asks for it cannot be kept. Cloth that has no
    one-way print looks the same turned half round; cloth alike on both sides may be turned over.
    """
    if need.needs_grain and not scrap.grain_known:
        return None
    rotations = need.rotations_deg
    if need.one_way and not scrap.one_way:
        rotations = tuple(
            sorted(
                {angle % 360 for angle in rotations} | {(angle + 180) % 360 for angle in rotations}
            )
        )
    return PieceKind(
        name=need.name,
        outline=need.outline,
        wanted=need.wanted,
        rotations_deg=rotations,
        mirror=need.mirror or scrap.sides_alike,
        # Mirroring (x → −x) sends an edge at angle a to 180° − a; to lie where the grain rule wants
        # it, the mirrored piece turns the other way.
        mirrored_rotations_deg=tuple(sorted({(180 - angle) % 360 for angle in rotations})),
    )


def class_kinds(
    scrap: ScrapStock, needs: Sequence[Need], classes: Mapping[str, str]
) -> tuple[PieceKind, ...]:
    """Return one kind for each class among `needs`, wanting what all of them want together."""
    kinds: dict[str, PieceKind] = {}
    for need in needs:
        kind = kind_on(need, scrap)
        if kind is None:
            continue
        name = classes[need.name]
        wanted = need.wanted + (kinds[name].wanted if name in kinds else 0)
        kinds[name] = replace(kind, name=name, wanted=wanted)
    return tuple(kinds.values())


def first_patterns(
    scrap: ScrapStock,
    kinds: Sequence[PieceKind],
    *,
    seconds: float,
    seed: int,
    rows_only: bool = False,
) -> tuple[tuple[Pattern, ...], dict[str, int]]:
    """Return a few layouts of a scrap, and how many pieces of each kind it gives at most.

    The layouts are each kind alone, and, unless `rows_only`, all kinds together. A layout that
    gives no more of anything than another is dropped. The counts in the second value are proven by
    the packer's bound for the kind alone.
    """
    layouts: list[Layout] = []
    at_most: dict[str, int] = {}
    for kind in kinds:
        alone = fill(scrap.region, [kind], seconds=seconds, seed=seed, rows_only=rows_only)
        layouts.append(alone)
        worth = kind.outline.area if kind.value is None else kind.value
        at_most[kind.name] = min(kind.wanted, int(alone.bound / worth + 1e-6))
    if not rows_only and sum(bool(layout.placements) for layout in layouts) > 1:
        layouts.append(fill(scrap.region, list(kinds), seconds=seconds, seed=seed))
    patterns = (Pattern(scrap.id, layout.placements) for layout in layouts if layout.placements)
    return undominated(patterns), at_most


def further_patterns(
    scrap: ScrapStock,
    patterns: Sequence[Pattern],
    kinds: Sequence[PieceKind],
    *,
    seconds: float,
    seed: int,
) -> tuple[Pattern, ...]:
    """Return `patterns` of a scrap and, for each of one kind only, that with other kinds beside.

    `kinds` are all that may be cut from the scrap. Nothing that was there is given up.
    """
    found = list(patterns)
    for pattern in patterns:
        mine = {placement.kind for placement in pattern.placements}
        others = [kind for kind in kinds if kind.name not in mine]
        if len(mine) > 1 or not others:
            continue
        # A hair's breadth is kept clear, so that rounding in the difference makes no overlap.
        taken = shapely.union_all([p.outline for p in pattern.placements]).buffer(
            1e-5, join_style="mitre"
        )
        left = usable_region(scrap.region, [taken])
        rest = fill(left, others, seconds=seconds, seed=seed)
        if rest.placements:
            found.append(Pattern(scrap.id, pattern.placements + rest.placements))
    return undominated(found)


def undominated(patterns: Iterable[Pattern]) -> tuple[Pattern, ...]:
    """Return the patterns without those that give no more of anything than another."""
    kept: list[Pattern] = []
    for pattern in patterns:
        mine = pattern.counts
        if any(all(other.counts.get(n, 0) >= mine[n] for n in mine) for other in kept):
            continue
        kept = [o for o in kept if not all(mine.get(n, 0) >= o.counts[n] for n in o.counts)]
        kept.append(pattern)
    return tuple(kept)
