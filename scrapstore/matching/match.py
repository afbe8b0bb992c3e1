"""The whole answer: screen the stock, draw patterns, choose, and say what stays short."""

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from scrapstore.matching.choose import Choice, choose
from scrapstore.matching.forms import (
    Answer,
    Need,
    ReadyStock,
    RoleRule,
    ScrapStock,
    ScrapUse,
    Supply,
)
from scrapstore.matching.patterns import (
    Pattern,
    class_kinds,
    cut_classes,
    patterns_for,
    usable_needs,
)
from scrapstore.matching.ready import serves

__all__ = ["match"]

Progress = Callable[[int, int], None]
"""Called with (scraps looked at, scraps that might serve)."""


def match(
    scraps: Sequence[ScrapStock],
    ready: Sequence[ReadyStock],
    needs: Sequence[Need],
    roles: Mapping[str, RoleRule],
    *,
    seconds_per_scrap: float = 0.1,
    oversupply: float = 3.0,
    seed: int = 0,
    progress: Progress | None = None,
) -> Answer:
    """Return the best plan found for covering `needs` from `ready` and `scraps`.

    Scraps are looked at until what they could give comes to `oversupply` times what is wanted of
    every need, or all have been looked at; a scrap that could only give what is plentiful already
    is passed over. The same input and seed give the same plan.
    """
    classes = cut_classes(needs)
    candidates = [(s, some) for s in scraps if (some := usable_needs(s, needs, roles))]
    patterns: list[Pattern] = []
    at_most: dict[int, dict[str, int]] = {}
    looked = 0
    for index in _spread([scrap.region.area for scrap, _ in candidates]):
        wanting = _wanting(patterns, scraps, needs, roles, classes, oversupply)
        if not wanting:
            break
        if all(need.name not in wanting for need in candidates[index][1]):
            continue
        scrap, some = candidates[index]
        kinds = class_kinds(scrap, some, classes)
        found, at_most[scrap.id] = patterns_for(scrap, kinds, seconds=seconds_per_scrap, seed=seed)
        patterns.extend(found)
        looked += 1
        if progress is not None:
            progress(looked, len(candidates))
    choice = choose(scraps, patterns, ready, needs, roles)
    return Answer(
        supplies=_supplies(choice, candidates, at_most, ready, needs, roles, classes),
        ready_uses=dict(sorted(choice.ready.items())),
        scrap_uses=_uses(choice, needs, classes),
        unmet=_unmet(choice, scraps, ready, needs, roles),
        scraps_looked_at=looked,
    )


def _spread(areas: Sequence[float]) -> list[int]:
    """Order indices so that every beginning of the list holds small, middling and large scraps.

    Steps by the golden section through the ranks, which leaves no gap large for long.
    """
    by_area = sorted(range(len(areas)), key=lambda i: (areas[i], i))
    steps = np.argsort([(k * 0.6180339887498949) % 1 for k in range(len(areas))], kind="stable")
    ranks = np.argsort(steps, kind="stable")
    return [by_area[int(rank)] for rank in ranks]


def _wanting(
    patterns: Sequence[Pattern],
    scraps: Sequence[ScrapStock],
    needs: Sequence[Need],
    roles: Mapping[str, RoleRule],
    classes: Mapping[str, str],
    oversupply: float,
) -> set[str]:
    """Return the needs that the patterns so far could not give several times over."""
    cloth = {scrap.id: scrap for scrap in scraps}
    best: Counter[tuple[str, int]] = Counter()
    for pattern in patterns:
        for name, count in pattern.counts.items():
            best[name, pattern.scrap_id] = max(best[name, pattern.scrap_id], count)
    wanting: set[str] = set()
    for need in needs:
        role = roles[need.role]
        supply: Counter[str] = Counter()
        for (name, scrap_id), count in best.items():
            if name == classes[need.name] and role.allows(cloth[scrap_id]):
                supply[cloth[scrap_id].cloth_key] += count
        # Needs that are cut alike take from the same scraps.
        wanted = sum(n.wanted for n in needs if classes[n.name] == classes[need.name])
        size = role.same_fabric_sets or 1
        most = role.max_per_fabric or wanted
        total = sum(min(count // size * size, most) for count in supply.values())
        if total < oversupply * wanted or len(supply) < 2 * (role.min_fabrics or 0):
            wanting.add(need.name)
    return wanting


def _supplies(
    choice: Choice,
    candidates: Sequence[tuple[ScrapStock, tuple[Need, ...]]],
    at_most: Mapping[int, Mapping[str, int]],
    ready: Sequence[ReadyStock],
    needs: Sequence[Need],
    roles: Mapping[str, RoleRule],
    classes: Mapping[str, str],
) -> tuple[Supply, ...]:
    supplies = []
    for need in needs:
        bound = sum(
            stock.count for stock in ready if roles[need.role].allows(stock) and serves(stock, need)
        )
        for scrap, usable in candidates:
            if need not in usable:
                continue
            # A scrap that was not looked at is bounded by its area alone.
            by_area = int(scrap.region.area / need.outline.area + 1e-6)
            bound += at_most.get(scrap.id, {}).get(classes[need.name], by_area)
        supplies.append(
            Supply(
                need=need.name,
                wanted=need.wanted,
                ready=sum(count for (_, name), count in choice.ready.items() if name == need.name),
                scraps=sum(count for (_, name), count in choice.cut.items() if name == need.name),
                at_most=min(need.wanted, bound),
            )
        )
    return tuple(supplies)


def _uses(
    choice: Choice, needs: Sequence[Need], classes: Mapping[str, str]
) -> tuple[ScrapUse, ...]:
    """Name each piece of the chosen patterns after its need; drop those the plan does not count on.

    Pieces are taken from one end of the scrap, so that what is spared stays in one length.
    """
    uses = []
    for scrap_id, pattern in sorted(choice.patterns.items()):
        corners = np.concatenate(
            [np.asarray(p.outline.exterior.coords) for p in pattern.placements]
        )
        along = int(np.argmax(np.ptp(corners, axis=0)))
        order = sorted(
            pattern.placements, key=lambda p: (p.outline.bounds[along + 2], p.outline.bounds)
        )
        queues: dict[str, list[str]] = {}
        for need in needs:
            count = choice.cut.get((scrap_id, need.name), 0)
            queues.setdefault(classes[need.name], []).extend([need.name] * count)
        kept = [
            replace(placement, kind=queues[placement.kind].pop(0))
            for placement in order
            if queues.get(placement.kind)
        ]
        if kept:
            uses.append(ScrapUse(scrap_id, tuple(kept)))
    return tuple(uses)


def _unmet(
    choice: Choice,
    scraps: Sequence[ScrapStock],
    ready: Sequence[ReadyStock],
    needs: Sequence[Need],
    roles: Mapping[str, RoleRule],
) -> tuple[str, ...]:
    fabric = {("scrap", s.id): s.cloth_key for s in scraps}
    fabric |= {("ready", r.id): r.cloth_key for r in ready}
    role_of = {need.name: need.role for need in needs}
    sentences = []
    for role in roles.values():
        if not role.min_fabrics:
            continue
        shown = {fabric["scrap", s] for (s, n) in choice.cut if role_of[n] == role.name}
        shown |= {fabric["ready", r] for (r, n) in choice.ready if role_of[n] == role.name}
        if len(shown) < role.min_fabrics:
            sentences.append(
                f"{role.name}: asks for at least {role.min_fabrics} different fabrics; "
                f"the stock at hand gives {len(shown)}, so the rest must be among what you buy"
            )
    return tuple(sentences)
