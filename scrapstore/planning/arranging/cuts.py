"""From an arrangement to pieces: which scrap, lot or length gives the piece of every place."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from scrapstore.designs.arranging import TopPlaces
from scrapstore.packing import Placement
from scrapstore.planning.arranging.supply import ClothSupply, SupplyPart

__all__ = ["PlacePiece", "pieces_of"]


@dataclass(frozen=True, slots=True)
class PlacePiece:
    """Where the piece of one place comes from: a placement on a scrap, a lot, or a length.

    The placement lies in the scrap's grain frame and is of the kind of its place.
    """

    place: int
    scrap: int | None = None
    placement: Placement | None = None
    lot: int | None = None
    length: int | None = None


def pieces_of(
    top: TopPlaces, supply: ClothSupply, cloth_of: Sequence[int]
) -> tuple[PlacePiece, ...]:
    """Return the piece of every place, in the order of the places.

    Ready-cut pieces are taken first, lengths of yardage last. Raises ValueError where a cloth does
    not give its pieces.
    """
    found: dict[int, PlacePiece] = {}
    for cloth in sorted(set(cloth_of)):
        places = [i for i, own in enumerate(cloth_of) if own == cloth]
        parts = supply.stocks[cloth].parts_for(top.amount(places))
        waiting: dict[int, list[int]] = defaultdict(list)
        for place in places:
            waiting[top.places[place].kind].append(place)
        for part in sorted(parts, key=_turn):
            if part.pattern is None:
                taken = waiting[part.kind][: sum(part.amount)]
                del waiting[part.kind][: len(taken)]
                found |= {
                    place: PlacePiece(place, lot=part.lot, length=part.length) for place in taken
                }
                continue
            for placement in part.pattern.placements:
                kind = supply.kinds.index(placement.kind)
                if waiting[kind]:
                    place = waiting[kind].pop(0)
                    found[place] = PlacePiece(place, part.pattern.scrap_id, placement)
        if any(waiting.values()):
            raise ValueError(f"cloth {cloth} does not give its pieces")
    return tuple(found[place] for place in range(len(top.places)))


def _turn(part: SupplyPart) -> int:
    return 0 if part.lot is not None else 1 if part.pattern is not None else 2
