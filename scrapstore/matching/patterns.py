"""Cutting patterns: layouts of single scraps, worth choosing between; each drawn by a task."""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from shapely import MultiPolygon, Polygon

from scrapstore.matching.forms import Need, ScrapStock
from scrapstore.packing import Layout, PieceKind, Placement, fill, union_of, usable_region

__all__ = [
    "PackAll",
    "Pattern",
    "Task",
    "class_kinds",
    "cut_classes",
    "fits_on",
    "kind_on",
    "pack",
    "pack_all",
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

    @cached_property
    def counts(self) -> Mapping[str, int]:
        """Pieces per class."""
        return Counter(placement.kind for placement in self.placements)


def fits_on(need: Need, scrap: ScrapStock) -> bool:
    """Tell whether one piece of `need` was found to lie on the scrap."""
    kind = kind_on(need, scrap)
    if kind is None:
        return False
    return bool(fill(scrap.region, [replace(kind, wanted=1)], rows_only=True).placements)


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


@dataclass(frozen=True)
class Task:
    """One layout to draw: these kinds on the region of one scrap, beside what is `packed` already.

    `prove` is work, in seconds of one core, that goes into a lower bound.
    """

    scrap_id: int
    region: Polygon | MultiPolygon
    kinds: tuple[PieceKind, ...]
    seconds: float
    seed: int
    rows_only: bool = False
    packed: tuple[Placement, ...] = ()
    prove: float = 0.0


PackAll = Callable[[Sequence[Task]], Iterable[Layout]]
"""Lays every task and gives the layouts in the order of the tasks, perhaps from processes."""


def pack(task: Task) -> Layout:
    """Return the layout of one task; with pieces `packed` before, those first."""
    region = task.region
    if task.packed:
        # A hair's breadth is kept clear, so that rounding in the difference makes no overlap.
        taken = union_of([p.outline for p in task.packed]).buffer(1e-5, join_style="mitre")
        region = usable_region(region, [taken])
    layout = fill(
        region, task.kinds, seconds=task.seconds, seed=task.seed, rows_only=task.rows_only
    )
    if task.prove > 0:
        # With the solver that it needs it takes most of a second to load.
        from scrapstore.packing.proof import prove

        layout = prove(region, task.kinds, layout, seconds=task.prove)
    return replace(layout, placements=task.packed + layout.placements)


def pack_all(tasks: Sequence[Task]) -> Iterator[Layout]:
    """Lay the tasks one after another, in this process."""
    return map(pack, tasks)


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
