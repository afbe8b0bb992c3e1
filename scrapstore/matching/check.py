"""The second opinion: does a plan keep every condition? Shares no code with the solver.

Counts, conditions and stock are recomputed here from the plain values, one obvious loop each;
whether the pieces of a scrap can be cut as drawn is for :func:`scrapstore.packing.verify`.
"""

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise

from scrapstore.matching.forms import Answer, Need, ReadyStock, RoleRule, ScrapStock

__all__ = ["faults"]


def faults(
    answer: Answer,
    scraps: Sequence[ScrapStock],
    ready: Sequence[ReadyStock],
    needs: Sequence[Need],
    roles: Mapping[str, RoleRule],
) -> list[str]:
    """Return a sentence for everything that is wrong with `answer`; empty when it is sound."""
    wrong: list[str] = []
    need_named = {need.name: need for need in needs}
    # Every piece of the plan, one entry a piece: (need, where it comes from, its cloth).
    pieces: list[tuple[str, ScrapStock | ReadyStock]] = []
    scrap_with = {scrap.id: scrap for scrap in scraps}
    seen: set[int] = set()
    for use in answer.scrap_uses:
        if use.scrap_id not in scrap_with or use.scrap_id in seen:
            wrong.append(f"scrap {use.scrap_id} is not on offer, or is used twice")
            continue
        seen.add(use.scrap_id)
        pieces += [(placement.kind, scrap_with[use.scrap_id]) for placement in use.placements]
    for stock in ready:
        used = 0
        for (stock_id, name), n in answer.ready_uses.items():
            parts = answer.ready_parts.get((stock_id, name), 1)
            if stock_id == stock.id:
                used += math.ceil(n / parts)
                if parts > 1 and name in need_named:
                    wrong += _part_faults(stock, need_named[name], parts)
        if used > stock.count:
            wrong.append(f"ready-cut {stock.id} gives up {used} pieces and holds {stock.count}")
    ready_with = {stock.id: stock for stock in ready}
    for (stock_id, name), number in answer.ready_uses.items():
        if stock_id not in ready_with:
            wrong.append(f"ready-cut {stock_id} is not on offer")
            continue
        pieces += [(name, ready_with[stock_id])] * number

    for name, cloth in pieces:
        if name in need_named:
            wrong += _cloth_faults(name, cloth, roles[need_named[name].role])
        else:
            wrong.append(f"nobody asked for {name!r}")
    wrong += _count_faults(answer, pieces, needs)
    wrong += _role_faults(answer, pieces, needs, roles)
    return wrong


def _cloth_faults(name: str, cloth: ScrapStock | ReadyStock, role: RoleRule) -> list[str]:
    wrong = []
    if role.families and not any(family in role.families for family in cloth.families):
        wrong.append(f"{name}: cloth {cloth.id} is {set(cloth.families)}, not {role.families}")
    if role.values and cloth.value not in role.values:
        wrong.append(f"{name}: cloth {cloth.id} is {cloth.value}, not {role.values}")
    if role.fabrics and cloth.fabric not in role.fabrics:
        wrong.append(f"{name}: cloth {cloth.id} is not one of the named fabrics")
    asked = [fibre.strip().lower() for fibre in role.fibres]
    if asked and (cloth.fibre is None or cloth.fibre.strip().lower() not in asked):
        wrong.append(f"{name}: cloth {cloth.id} is {cloth.fibre}, not {asked}")
    if role.scraps and (isinstance(cloth, ReadyStock) or cloth.id not in role.scraps):
        wrong.append(f"{name}: cloth {cloth.id} is not one of the scraps {sorted(role.scraps)}")
    return wrong


def _part_faults(stock: ReadyStock, need: Need, parts: int) -> list[str]:
    """Say what is wrong with cutting a rectangle along its diagonals for `need`.

    Triangles are compared by their sides, sorted, and by how the longest lies to the cloth's own
    edges, which are on the straight grain; only that direction is known, not which of the two.
    """
    here = f"{need.name}: ready-cut {stock.id} in {parts}"
    (x0, y0), (x1, y1), (x2, y2), *rest = stock.outline.exterior.coords
    wide, tall = math.hypot(x1 - x0, y1 - y0), math.hypot(x2 - x1, y2 - y1)
    slant = math.hypot(wide, tall)
    if len(rest) != 2 or abs(stock.outline.area - wide * tall) > 0.1 or need.needs_grain:
        return [f"{here}: not a rectangle, or the grain must be known"]
    if parts == 4:
        sides, lies = sorted((slant / 2, slant / 2, wide)), {0.0}
        if abs(wide - tall) > 0.05:
            return [f"{here}: not a square"]
    elif parts == 2:
        sides = sorted((wide, tall, slant))
        tilt = math.degrees(math.atan2(tall, wide))
        lies = {tilt, 90 - tilt}
    else:
        return [f"{here}: diagonals give two or four"]
    for outline in (need.outline, *need.sews_as):
        ring = list(outline.exterior.coords)
        edges = sorted((math.dist(a, b), a, b) for a, b in pairwise(ring))
        if len(edges) != 3 or any(
            not -0.04 < side - edge[0] < 0.1 for side, edge in zip(sides, edges, strict=True)
        ):
            continue
        _, (ax, ay), (bx, by) = edges[-1]
        longest = math.degrees(math.atan2(by - ay, bx - ax))
        for turn in need.rotations_deg:
            off = [(sign * (longest + turn) - lie) % 90 for sign in (1, -1) for lie in lies]
            if min(min(o, 90 - o) for o in off) < 2:
                return []
    return [f"{here}: its triangles are not the piece, or lie off the grain"]


def _count_faults(
    answer: Answer, pieces: list[tuple[str, ScrapStock | ReadyStock]], needs: Sequence[Need]
) -> list[str]:
    wrong = []
    supplies = {supply.need: supply for supply in answer.supplies}
    for need in needs:
        here = [cloth for name, cloth in pieces if name == need.name]
        supply = supplies[need.name]
        from_scraps = len([cloth for cloth in here if isinstance(cloth, ScrapStock)])
        if (supply.scraps, supply.ready) != (from_scraps, len(here) - from_scraps):
            wrong.append(f"{need.name}: the plan says {supply}, its pieces say {len(here)}")
        if len(here) > need.wanted:
            wrong.append(f"{need.name}: {len(here)} pieces where {need.wanted} are wanted")
        if supply.wanted != need.wanted or not len(here) <= supply.at_most <= need.wanted:
            wrong.append(
                f"{need.name}: at most {supply.at_most} is not between {len(here)} and wanted"
            )
    return wrong


def _role_faults(
    answer: Answer,
    pieces: list[tuple[str, ScrapStock | ReadyStock]],
    needs: Sequence[Need],
    roles: Mapping[str, RoleRule],
) -> list[str]:
    wrong = []
    for role in roles.values():
        names = [need.name for need in needs if need.role == role.name]
        per_fabric: dict[object, dict[str, int]] = {}
        for name, cloth in pieces:
            if name in names:
                # Cloth without a name is the same fabric only as itself.
                key: object = cloth.fabric if cloth.fabric is not None else (type(cloth), cloth.id)
                tally = per_fabric.setdefault(key, dict.fromkeys(names, 0))
                tally[name] += 1
        for key, tally in per_fabric.items():
            for name, number in tally.items():
                if role.same_fabric_sets and number % role.same_fabric_sets:
                    wrong.append(
                        f"{name}: {number} from {key}, not in sets of {role.same_fabric_sets}"
                    )
            before = 0 if role.taken is None else role.taken.get(str(key), 0)
            if role.max_per_fabric and before + sum(tally.values()) > role.max_per_fabric:
                wrong.append(f"{role.name}: {sum(tally.values())} from {key}")
        if role.taken is not None:
            wrong += _left_faults(role, per_fabric, [n for n in needs if n.role == role.name])
            continue
        too_few = role.min_fabrics is not None and len(per_fabric) < role.min_fabrics
        if too_few and not any(text.startswith(f"{role.name}: ") for text in answer.unmet):
            wrong.append(f"{role.name}: {len(per_fabric)} fabrics, and the plan does not say so")
    return wrong


def _left_faults(
    role: RoleRule, per_fabric: Mapping[object, Mapping[str, int]], needs: Sequence[Need]
) -> list[str]:
    """Say so where a role with pieces elsewhere leaves too few for the fabrics still lacking."""
    set_of = role.same_fabric_sets or 1
    here = sum(sum(tally.values()) for tally in per_fabric.values())
    shown = {str(key) for key in per_fabric} | set(role.taken or ())
    lacking = max(0, (role.min_fabrics or 0) - len(shown))
    left = sum(need.wanted for need in needs) - here
    if here and lacking and left < set_of * lacking:
        return [f"{role.name}: {left} pieces left for {lacking} fabrics that lack"]
    return []
