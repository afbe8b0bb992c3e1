"""The second opinion on an arrangement: whether its pieces can be cut as they say.

Everything is counted anew, and the layouts of the scraps go through the independent verifier. No
use is made of the counts that the schemes work with.
"""

import math
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import replace

from scrapstore.designs.arranging import Job
from scrapstore.matching import Need, ReadyStock, RoleRule, ScrapStock, kind_on
from scrapstore.matching.ready import pieces_each
from scrapstore.packing import Layout, Placement, verify
from scrapstore.planning.arranging.cuts import PlacePiece
from scrapstore.planning.arranging.supply import ClothSupply, LengthOffer

__all__ = ["faults"]


def faults(
    job: Job,
    supply: ClothSupply,
    needs: Sequence[Need],
    roles: Mapping[str, RoleRule],
    cloth_of: Sequence[int],
    pieces: Sequence[PlacePiece],
) -> list[str]:
    """Return what is wrong with an arrangement and its pieces; empty when it can be cut."""
    wrong: list[str] = []
    need_named = {need.name: need for need in needs}
    scraps = {scrap.id: scrap for one in supply.stocks for scrap in one.scraps}
    lots = {lot.id: lot for one in supply.stocks for lot in one.lots}
    lengths = {length.id: length for one in supply.stocks for length in one.lengths}
    if [piece.place for piece in pieces] != list(range(len(job.top.places))):
        wrong.append("not every place has one piece")
    on_scrap: dict[int, list[tuple[Need, Placement]]] = defaultdict(list)
    from_lot: Counter[tuple[int, str]] = Counter()
    from_length: Counter[tuple[int, str]] = Counter()
    for piece in pieces:
        place = job.top.places[piece.place]
        source: ScrapStock | ReadyStock
        if piece.scrap is not None and piece.placement is not None:
            source = scraps[piece.scrap]
            on_scrap[piece.scrap].append((need_named[place.line], piece.placement))
        elif piece.lot is not None:
            source = lots[piece.lot]
            from_lot[piece.lot, place.line] += 1
        elif piece.length is not None:
            source = lengths[piece.length].cloth
            from_length[piece.length, supply.kind_of[place.line]] += 1
        else:
            wrong.append(f"{place.position}: nothing gives its piece")
            continue
        word = job.cloths[cloth_of[piece.place]].fabric
        if source.cloth_key != word:
            wrong.append(f"{place.position}: cut from {source.cloth_key}, not {word}")
        if not roles[place.role].allows(source):
            wrong.append(f"{place.position}: its role does not allow cloth {source.id}")
    for number, placed in on_scrap.items():
        wrong += _scrap_faults(scraps[number], placed)
    wrong += _lot_faults(lots, from_lot, need_named)
    wrong += _length_faults(lengths, from_length, supply.kinds)
    broken = job.broken(cloth_of)
    return [*wrong, broken] if broken else wrong


def _lot_faults(
    lots: Mapping[int, ReadyStock],
    from_lot: Mapping[tuple[int, str], int],
    need_named: Mapping[str, Need],
) -> list[str]:
    """Count the ready-cut pieces that are taken, those cut up whole."""
    wrong = []
    for number, lot in lots.items():
        taken = 0
        for (own, line), count in from_lot.items():
            if own == number:
                taken += math.ceil(count / max(1, pieces_each(lot, need_named[line])))
        if taken > lot.count:
            wrong.append(f"ready-cut {number} gives up {taken} pieces and holds {lot.count}")
    return wrong


def _length_faults(
    lengths: Mapping[int, LengthOffer],
    from_length: Mapping[tuple[int, str], int],
    kinds: Sequence[str],
) -> list[str]:
    """Say so where a length gives several kinds, or more of one than was planned."""
    wrong = []
    for number, length in lengths.items():
        asked = {kind: n for (own, kind), n in from_length.items() if own == number}
        gives = dict(zip(kinds, length.counts, strict=True))
        if len(asked) > 1 or any(n > gives[kind] for kind, n in asked.items()):
            wrong.append(f"length {number} does not give {asked}")
    return wrong


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
