"""Places that lie in one cloth each: single ones, or those that mirror each other."""

from collections.abc import Sequence
from dataclasses import dataclass

from scrapstore.designs.arranging.forms import Amount, OfferedCloth, TopPlaces

__all__ = ["Groups", "fabric_numbers", "groups_of"]


@dataclass(frozen=True)
class Groups:
    """Places that lie in one cloth each, such as two that mirror each other.

    `takes[g]` is what a group takes, `allowed[g]` the cloths it may have, `beside[g]` the groups
    that it shares an edge with.
    """

    top: TopPlaces
    places: tuple[tuple[int, ...], ...]
    takes: tuple[Amount, ...]
    allowed: tuple[tuple[int, ...], ...]
    beside: tuple[frozenset[int], ...]

    def cloth_of(self, chosen: Sequence[int]) -> tuple[int, ...]:
        """Return the cloth of every place of the top from the cloths of the groups."""
        of_place = {
            place: cloth
            for group, cloth in zip(self.places, chosen, strict=True)
            for place in group
        }
        return tuple(of_place[i] for i in range(len(self.top.places)))


def groups_of(
    top: TopPlaces, places: Sequence[tuple[int, ...]], allowed: Sequence[Sequence[int]]
) -> Groups:
    """Return groups of places with the cloths that each place may have, those that all may."""
    group_of = {place: g for g, group in enumerate(places) for place in group}
    beside: list[set[int]] = [set() for _ in places]
    for place, group in group_of.items():
        beside[group] |= {group_of[n] for n in top.neighbours[place] if n in group_of} - {group}
    common = [
        tuple(c for c in allowed[group[0]] if all(c in allowed[other] for other in group[1:]))
        for group in places
    ]
    return Groups(
        top,
        tuple(places),
        tuple(top.amount(group) for group in places),
        tuple(common),
        tuple(frozenset(each) for each in beside),
    )


def fabric_numbers(cloths: Sequence[OfferedCloth]) -> list[int]:
    """Return a number for each cloth, the same for those of one fabric."""
    numbers: dict[str, int] = {}
    return [numbers.setdefault(cloth.fabric, len(numbers)) for cloth in cloths]
