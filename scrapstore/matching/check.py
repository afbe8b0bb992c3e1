"""The second opinion: does a plan keep every condition? Shares no code with the solver.

Counts, conditions and stock are recomputed here from the plain values, one obvious loop each;
whether the pieces of a scrap can be cut as drawn is for :func:`scrapstore.packing.verify`.
"""

from collections.abc import Mapping, Sequence

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
        used = sum(n for (stock_id, _), n in answer.ready_uses.items() if stock_id == stock.id)
        if used > stock.count:
            wrong.append(f"ready-cut {stock.id} gives {used} pieces and holds {stock.count}")
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
    return wrong


def _count_faults(
    answer: Answer, pieces: list[tuple[str, ScrapStock | ReadyStock]], needs: Sequence[Need]
) -> list[str]:
    wrong = []
    told = {supply.need: supply for supply in answer.supplies}
    for need in needs:
        here = [cloth for name, cloth in pieces if name == need.name]
        supply = told[need.name]
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
            if role.max_per_fabric and sum(tally.values()) > role.max_per_fabric:
                wrong.append(f"{role.name}: {sum(tally.values())} from {key}")
        too_few = role.min_fabrics is not None and len(per_fabric) < role.min_fabrics
        if too_few and not any(text.startswith(f"{role.name}: ") for text in answer.unmet):
            wrong.append(f"{role.name}: {len(per_fabric)} fabrics, and the plan does not say so")
    return wrong
