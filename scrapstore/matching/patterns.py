"""Cutting patterns: for one scrap, a handful of different layouts worth choosing between."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon

from scrapstore.matching.forms import Need, RoleRule, ScrapStock
from scrapstore.packing import Layout, PieceKind, Placement, fill, usable_region

__all__ = [
    "Pattern",
    "class_kinds",
    "cut_classes",
    "kind_on",
    "min_width",
    "patterns_for",
    "usable_needs",
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


def min_width(shape: Polygon | MultiPolygon) -> float:
    """Return the least distance, in inches, between parallel lines that hold `shape` between them.

    A piece can lie in a region only if the region is at least as wide as the piece: a cheap test
    that never turns away a scrap that would do. The least width of a convex polygon is found with
    one line along an edge. Zero for an empty or a flat shape.
    """
    hull = shape.convex_hull
    if not isinstance(hull, Polygon) or hull.is_empty:
        return 0.0
    corners = np.asarray(hull.exterior.coords)
    edges = np.diff(corners, axis=0)
    lengths = np.hypot(edges[:, 0], edges[:, 1])
    edges, starts = edges[lengths > 0] / lengths[lengths > 0, None], corners[:-1][lengths > 0]
    normals = np.stack([-edges[:, 1], edges[:, 0]], axis=1)
    heights = normals @ corners.T - np.sum(normals * starts, axis=1)[:, None]
    return float(np.abs(heights).max(axis=1).min())


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


def usable_needs(
    scrap: ScrapStock, needs: Sequence[Need], roles: Mapping[str, RoleRule]
) -> tuple[Need, ...]:
    """Return the needs this scrap might serve: allowed by their role, not plainly too big."""
    if scrap.region.is_empty:
        return ()
    area, width = scrap.region.area, min_width(scrap.region)
    return tuple(
        need
        for need in needs
        if roles[need.role].allows(scrap)
        and need.outline.area <= area
        and min_width(need.outline) <= width + 1e-9
        and kind_on(need, scrap) is not None
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


def patterns_for(
    scrap: ScrapStock, kinds: Sequence[PieceKind], *, seconds: float, seed: int
) -> tuple[tuple[Pattern, ...], dict[str, int]]:
    """Return the layouts worth choosing between, and how many pieces of each kind at most.

    The layouts are: all kinds together, each kind alone, and each kind first with the others in
    what is left. A layout that gives no more of anything than another is dropped. The counts in
    the second value are proven by the packer's bound for the kind alone.
    """
    layouts: list[Layout] = []
    at_most: dict[str, int] = {}
    for kind in kinds:
        alone = fill(scrap.region, [kind], seconds=seconds, seed=seed)
        layouts.append(alone)
        worth = kind.outline.area if kind.value is None else kind.value
        at_most[kind.name] = min(kind.wanted, int(alone.bound / worth + 1e-6))
        if alone.placements and len(kinds) > 1:
            layouts.append(_with_the_rest(scrap.region, alone, kind, kinds, seconds, seed))
    if len(kinds) > 1 and any(layout.placements for layout in layouts):
        layouts.append(fill(scrap.region, list(kinds), seconds=seconds, seed=seed))
    patterns = (Pattern(scrap.id, layout.placements) for layout in layouts if layout.placements)
    return _undominated(patterns), at_most


def _with_the_rest(
    region: Polygon | MultiPolygon,
    first: Layout,
    kind: PieceKind,
    kinds: Sequence[PieceKind],
    seconds: float,
    seed: int,
) -> Layout:
    """Keep `first` and place the other kinds in what it leaves."""
    # A hair's breadth is kept clear, so that rounding in the difference cannot make an overlap.
    taken = shapely.union_all([p.outline for p in first.placements]).buffer(
        1e-5, join_style="mitre"
    )
    left = usable_region(region, [taken])
    others = [other for other in kinds if other.name != kind.name]
    rest = fill(left, others, seconds=seconds, seed=seed)
    return Layout(
        placements=first.placements + rest.placements,
        value=first.value + rest.value,
        bound=float("inf"),
    )


def _undominated(patterns: Iterable[Pattern]) -> tuple[Pattern, ...]:
    kept: list[Pattern] = []
    for pattern in patterns:
        mine = pattern.counts
        if any(all(other.counts.get(n, 0) >= mine[n] for n in mine) for other in kept):
            continue
        kept = [o for o in kept if not all(mine.get(n, 0) >= o.counts[n] for n in o.counts)]
        kept.append(pattern)
    return tuple(kept)
