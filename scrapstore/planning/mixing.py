"""Cloths mixed over the positions of a top: which of several cut pieces comes where.

The pieces of one line of the piece list are alike, so any could go to any of its positions. Cloths
are spread round the top: where each can be parted among the wedges, all wedges are alike; else they
take turns, each as often as it has pieces. Where there are no wedges, a one-way print goes to
positions where it stands upright, as far as there are any. Squares that are sewn together and cut
into units give all of these units the same cloths.
"""

import cmath
import math
from collections import Counter
from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import chain, repeat
from typing import Final

import numpy as np
from shapely import Polygon

from scrapstore.designs import Design, Makes, PlacedPiece
from scrapstore.packing import Placement
from scrapstore.planning.cloth_on_top import ClothLie, has_way_up, lie_of_cloth
from scrapstore.planning.result import Place
from scrapstore.projects import PieceNeed
from scrapstore.store import Scrap

__all__ = ["CutUnit", "mixed"]

_NEAR: Final = 0.01  # inches; so near the middle, a piece has no direction from it
_FINE: Final = 9  # decimals


@dataclass(frozen=True)
class CutUnit:
    """One cut piece before it has a position; units of one `cloth` look the same.

    `part` is the finished outline that it gives, in the frame of its shape: of a square that makes
    several pieces, one of these.
    """

    need: PieceNeed
    cloth: Hashable
    place: Place
    scrap: Scrap | None = None
    placement: Placement | None = None
    part: Polygon | None = None

    @property
    def way_up(self) -> Hashable:
        """What how its print stands at a position hangs on; None for cloth without a way up."""
        if self.scrap is None or self.placement is None or not has_way_up(self.scrap):
            return None
        return self.scrap.id, self.placement.rotation_deg, self.placement.mirrored

    def lie_at(self, spot: PlacedPiece) -> ClothLie | None:
        """Return how its cloth lies at a position; None where that is not known."""
        if self.scrap is None or self.placement is None or self.part is None:
            return None
        return lie_of_cloth(spot.outline, self.part, self.need.cut, self.scrap, self.placement)


def mixed(
    design: Design, needs: Sequence[PieceNeed], units: Mapping[str, Sequence[CutUnit]]
) -> Iterator[tuple[PlacedPiece, CutUnit]]:
    """Yield every position of the design with the unit that comes there.

    `units` are those of each line of `needs`, by its name. What they do not give is of no cloth.
    """
    for need in needs:
        spots = [piece for piece in design.pieces if piece.piece == need.name]
        if spots and need.makes is None:
            given = [replace(unit, part=need.shape.outline) for unit in units[need.name]]
            given += [_lacking(need)] * (len(spots) - len(given))
            yield from _spread(spots, given, design)
    makes = {need.name: need.makes for need in needs if need.makes is not None}
    squares = {
        need.name: chain(_in_turns(units[need.name]), repeat(_lacking(need)))
        for need in needs
        if need.name in makes
    }
    yield from _from_squares(design, makes, squares)


def _lacking(need: PieceNeed) -> CutUnit:
    return CutUnit(need, None, Place("", need.name))


def _spread(
    spots: Sequence[PlacedPiece], units: Sequence[CutUnit], design: Design
) -> Iterator[tuple[PlacedPiece, CutUnit]]:
    """Yield each spot of one line with its unit."""
    counts = Counter(unit.cloth for unit in units)
    by_wedge: dict[int | None, list[PlacedPiece]] = {}
    for spot in spots:
        by_wedge.setdefault(spot.wedge, []).append(spot)
    wedges = len(by_wedge)
    alike = None not in by_wedge and len({len(own) for own in by_wedge.values()}) == 1
    if alike and not any(count % wedges for count in counts.values()):
        order = [spot for wedge in by_wedge.values() for spot in wedge]
        turns = _turns({cloth: count // wedges for cloth, count in counts.items()}) * wedges
    else:
        order, turns = _round_the_top(spots, design), _turns(counts)
    found = [*_in_turns(units, turns)]
    if None in by_wedge:
        _stand_up(order, found)
    yield from zip(order, found, strict=True)


def _from_squares(
    design: Design, makes: Mapping[str, Makes], squares: Mapping[str, Iterator[CutUnit]]
) -> Iterator[tuple[PlacedPiece, CutUnit]]:
    """Yield the positions of what is sewn from squares: several units together from the same ones.

    Such units lie as far from one another round the top as they can.
    """
    sewn: dict[str, list[PlacedPiece]] = {}
    for piece in design.pieces:
        sewn.setdefault(piece.unit, []).append(piece)
    kinds: dict[tuple[str, ...], list[PlacedPiece]] = {}
    for own in sewn.values():
        kinds.setdefault(tuple(sorted(piece.piece for piece in own)), []).append(own[0])
    for names, firsts in kinds.items():
        lines = [name for name in makes if name in names]
        together = max((makes[name].each // names.count(name) for name in lines), default=1)
        order = [spot.unit for spot in _round_the_top(firsts, design)]
        groups = math.ceil(len(order) / together)
        apart = [unit for start in range(groups) for unit in order[start::groups]]
        for start in range(0, len(apart), together):
            for name in lines:
                columns = [
                    [piece for piece in sewn[unit] if piece.piece == name]
                    for unit in apart[start : start + together]
                ]
                spots = [own[at] for at in range(names.count(name)) for own in columns]
                yield from _parted(spots, makes[name], squares[name])


def _parted(
    spots: Sequence[PlacedPiece], makes: Makes, squares: Iterator[CutUnit]
) -> Iterator[tuple[PlacedPiece, CutUnit]]:
    """Yield each spot with its part of a square; what is left of the last square is not used."""
    for start in range(0, len(spots), makes.each):
        square = next(squares)
        own = spots[start : start + makes.each]
        for spot, part in zip(own, makes.parts or repeat(None), strict=False):
            yield spot, replace(square, part=part)


def _in_turns(
    units: Sequence[CutUnit], cloths: Iterable[Hashable] | None = None
) -> Iterator[CutUnit]:
    """Yield the units in the order that their cloths take; without one, they take turns."""
    left: dict[Hashable, list[CutUnit]] = {}
    for unit in units:
        left.setdefault(unit.cloth, []).append(unit)
    counts = {cloth: len(own) for cloth, own in left.items()}
    for cloth in _turns(counts) if cloths is None else cloths:
        yield left[cloth].pop(0)


def _stand_up(spots: Sequence[PlacedPiece], units: list[CutUnit]) -> None:
    """Let prints with a way up change places where they then stand better, with the nearest spot.

    They do with cloth that has none, and with one another where the other stands no worse.
    """
    kinds: dict[Hashable, int] = {None: 0}
    off_deg = [np.zeros(len(spots))]
    kind_of = np.zeros(len(units), dtype=int)
    for at, unit in enumerate(units):
        key = unit.way_up
        if key not in kinds:
            kinds[key] = len(off_deg)
            lies = [unit.lie_at(spot) for spot in spots]
            off_deg.append(np.array([0.0 if lie is None else lie.off_deg for lie in lies]))
        kind_of[at] = kinds[key]
    table, here = np.stack(off_deg), np.arange(len(units))
    centres = np.array([complex(*spot.outline.centroid.coords[0]) for spot in spots])
    for at in here[table[kind_of, here] > 0]:
        # How far off both are once they have changed places, against the other as it is.
        after = table[kind_of[at]] + table[kind_of, at] - table[kind_of, here]
        best = np.lexsort((np.abs(centres - centres[at]), after.round(6)))[0]
        units[at], units[best] = units[best], units[at]
        kind_of[[at, best]] = kind_of[[best, at]]


def _turns(counts: Mapping[Hashable, int]) -> list[Hashable]:
    """Return each cloth as often as it counts, the one next that is furthest behind its share.

    >>> _turns({"a": 2, "b": 1}), _turns({"a": 4, "b": 2})
    (['a', 'b', 'a'], ['a', 'b', 'a', 'a', 'b', 'a'])
    """
    total = sum(counts.values())
    had: Counter[Hashable] = Counter()
    order = []
    for number in range(1, total + 1):
        # Whole numbers, so that no rounding decides between cloths that are equally behind.
        open_ = [cloth for cloth, count in counts.items() if had[cloth] < count]
        cloth = max(open_, key=lambda one: counts[one] * number - had[one] * total)
        had[cloth] += 1
        order.append(cloth)
    return order


def _round_the_top(spots: Sequence[PlacedPiece], design: Design) -> list[PlacedPiece]:
    """Return the spots counter-clockwise from the right, and outwards where they lie in line."""
    west, south, east, north = design.outline.bounds
    middle = complex((west + east) / 2, (south + north) / 2)

    def at(spot: PlacedPiece) -> tuple[float, float]:
        centre = spot.outline.centroid
        apart = complex(centre.x, centre.y) - middle
        turn = round(cmath.phase(apart) % (2 * math.pi), _FINE) if abs(apart) > _NEAR else 0.0
        return turn % round(2 * math.pi, _FINE), abs(apart)

    return sorted(spots, key=at)
