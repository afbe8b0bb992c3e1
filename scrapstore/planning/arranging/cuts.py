"""From an arrangement to pieces: which scrap or lot gives the piece of every place, verified."""

import math
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from scrapstore.designs.arranging import Job, TopPlaces
from scrapstore.matching import Need, RoleRule, ScrapStock, kind_on
from scrapstore.matching.ready import pieces_each
from scrapstore.packing import Layout, Placement, verify
from scrapstore.planning.arranging.supply import ClothSupply

__all__ = ["PlacePiece", "faults", "pieces_of"]


@dataclass(frozen=True, slots=True)
class PlacePiece:
    """Where the piece of one place comes from: a placement on a scrap, or a ready-cut lot.

    The placement lies in the scrap's grain frame and is of the kind of its place.
    """

    place: int
    scrap: int | None = None
    placement: Placement | None = None
    lot: int | None = None


def pieces_of(
    top: TopPlaces, supply: ClothSupply, cloth_of: Sequence[int]
) -> tuple[PlacePiece, ...]:
    """Return the piece of every place, in the order of the places.

    Ready-cut pieces are taken first. Raises ValueError where a cloth does not give its pieces.
    """
    found: dict[int, PlacePiece] = {}
    for cloth in sorted(set(cloth_of)):
        places = [i for i, own in enumerate(cloth_of) if own == cloth]
        parts = supply.stocks[cloth].parts_for(top.amount(places))
        waiting: dict[int, list[int]] = defaultdict(list)
        for place in places:
            waiting[top.places[place].kind].append(place)
        for part in sorted(parts, key=lambda part: part.pattern is not None):
            if part.pattern is None:
                taken = waiting[part.kind][: sum(part.amount)]
                del waiting[part.kind][: len(taken)]
                found |= {place: PlacePiece(place, lot=part.lot) for place in taken}
                continue
            for placement in part.pattern.placements:
                kind = supply.kinds.index(placement.kind)
                if waiting[kind]:
                    place = waiting[kind].pop(0)
                    found[place] = PlacePiece(place, part.pattern.scrap_id, placement)
        if any(waiting.values()):
            raise ValueError(f"cloth {cloth} does not give its pieces")
    return tuple(found[place] for place in range(len(top.places)))


def faults(
    job: Job,
    supply: ClothSupply,
    needs: Sequence[Need],
    roles: Mapping[str, RoleRule],
    cloth_of: Sequence[int],
    pieces: Sequence[PlacePiece],
) -> list[str]:
    """Return what is wrong with an arrangement and its pieces; empty when it can be cut.

    The second opinion: everything is counted anew, piece by piece, and the layouts of the scraps
    go through the independent verifier. No use is made of the counts that the schemes work with.
    """
    wrong: list[str] = []
    need_named = {need.name: need for need in needs}
    scraps: dict[int, ScrapStock] = {s.id: s for one in supply.stocks for s in one.scraps}
    lots = {lot.id: lot for one in supply.stocks for lot in one.lots}
    on_scrap: dict[int, list[tuple[Need, Placement]]] = defaultdict(list)
    from_lot: Counter[tuple[int, str]] = Counter()
    if [piece.place for piece in pieces] != list(range(len(job.top.places))):
        wrong.append("not every place has one piece")
    for piece in pieces:
        place = job.top.places[piece.place]
        need, word = need_named[place.line], job.cloths[cloth_of[piece.place]].fabric
        source = scraps[piece.scrap] if piece.scrap is not None else lots[piece.lot or 0]
        if not roles[place.role].allows(source):
            wrong.append(f"{place.position}: its role does not allow cloth {source.id}")
        if source.cloth_key != word:
            wrong.append(f"{place.position}: cut from {source.cloth_key}, not {word}")
        if piece.placement is not None and piece.scrap is not None:
            on_scrap[piece.scrap].append((need, piece.placement))
        elif piece.lot is not None:
            from_lot[piece.lot, place.line] += 1
    for number, placed in on_scrap.items():
        wrong += _scrap_faults(scraps[number], placed)
    for number, lot in lots.items():
        taken = 0
        for (own, line), count in from_lot.items():
            if own == number:
                taken += math.ceil(count / max(1, pieces_each(lot, need_named[line])))
        if taken > lot.count:
            wrong.append(f"ready-cut {number} gives up {taken} pieces and holds {lot.count}")
    broken = job.broken(cloth_of)
    return [*wrong, broken] if broken else wrong


def _scrap_faults(scrap: ScrapStock, placed: Sequence[tuple[Need, Placement]]) -> list[str]:
    """Ask the verifier of packing about the pieces of one scrap, each named after its need."""
    kinds = [
        replace(kind, wanted=len(placed), value=None)
        for need in {need.name: need for need, _ in placed}.values()
        if (kind := kind_on(need, scrap)) is not None
    ]
    placements = tuple(replace(placement, kind=need.name) for need, placement in placed)
    value = sum(kind.worth * sum(p.kind == kind.name for p in placements) for kind in kinds)
    layout = Layout(placements, value, float("inf"))
    return [f"scrap {scrap.id}: {fault}" for fault in verify(scrap.region, kinds, layout)]
