"""Which cut piece comes to which position of a design, and how its cloth lies there.

The pieces of one line of the piece list are alike, so which of them comes where is free. Cloths are
spread round the top: where each can be parted among the wedges, all wedges are alike; else they
take turns, each as often as it has pieces. A piece may be turned on the top as often as its shape
looks the same: one of a one-way print is turned so that the print is as upright as can be.
"""

import cmath
import math
from collections import Counter
from collections.abc import Callable, Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from shapely import Polygon

from scrapstore.designs import Design, PlacedPiece
from scrapstore.errors import PlanError
from scrapstore.packing import Placement
from scrapstore.planning.result import MatchResult, Place
from scrapstore.planning.strip_cuts import StripCuttings, strip_cuttings
from scrapstore.projects import PieceNeed
from scrapstore.shapes import corners_of
from scrapstore.store import PlanPiece, ReadyCut, Scrap
from scrapstore.yardage import Strip

__all__ = ["pieces_in_place", "place_pieces", "places_now"]

_UPRIGHT_DEG: Final = 90.0
_SLACK: Final = 0.01
"""Inches: a finished shape of a project file may be rounded by so much against its design's."""
_STRAIGHT: Final = 1e-6
_FINE: Final = 9  # decimals: no noise of rounding in what is kept


@dataclass(frozen=True)
class _Unit:
    """One cut piece before it has a position; units of one `cloth` look the same.

    `part` is the finished outline that it gives, in the frame of its shape: of a square that makes
    several pieces, one of these.
    """

    cloth: Hashable
    place: Place
    scrap: Scrap | None = None
    placement: Placement | None = None
    part: Polygon | None = None


def place_pieces(result: MatchResult) -> tuple[Place, ...]:
    """Return a place for every position of the project's design, in its order; () without one.

    A position for which there is no piece has no label.
    """
    project = result.project
    if project.design is None:
        return ()
    needs = {need.name: need for need in project.pieces}
    units: dict[str, list[_Unit]] = {name: [] for name in needs}
    for unit in _units(result):
        units[unit.place.piece].append(unit)
    found: dict[str, Place] = {}
    for name, need in needs.items():
        spots = [piece for piece in project.design.pieces if piece.piece == name]
        if not spots:
            continue  # a line of the back, not of the top
        lacking = _Unit(None, Place("", name))
        parts = need.makes.parts if need.makes is not None else (need.shape.outline,)
        given = [replace(unit, part=part) for unit in units[name] for part in parts][: len(spots)]
        given += [lacking] * (len(spots) - len(given))
        for spot, unit in _spread(spots, given, project.design):
            found[spot.position] = replace(
                unit.place, position=spot.position, to_scrap=_to_scrap(spot, need, unit)
            )
    return tuple(found[piece.position] for piece in project.design.pieces)


def pieces_in_place(result: MatchResult) -> tuple[tuple[PlacedPiece, Place], ...]:
    """Return each piece of the project's design with what comes there.

    Raises PlanError for a project without a design.
    """
    design = result.project.design
    if design is None:
        msg = (
            f"{result.project.name}: its project file does not say where its pieces lie on the "
            "top, so there is nothing to draw. Begin with a design (scrapstore design start), "
            "whose files say it, or add a table [design] (scrapstore guide projects), and match "
            "again"
        )
        raise PlanError(msg)
    return tuple(zip(design.pieces, result.places or place_pieces(result), strict=True))


def places_now(
    result: MatchResult, pieces: Mapping[str, PlanPiece], lot: Callable[[int], ReadyCut]
) -> tuple[Place, ...]:
    """Return the places of a kept answer as they are after cuts: `pieces` says what became of each.

    A piece keeps its position. One that was cut once more from other cloth is of its `lot`; of the
    same cloth, it is shown as it was planned. Lots have the numbers that `lot` knows them by.
    Places that the answer lacks are worked out.
    """
    found = []
    for place in result.places or place_pieces(result):
        if place.ready is not None:
            place = replace(place, ready=lot(place.ready).id)
        number = pieces[place.label].ready_cut_id if place.label in pieces else None
        if number is not None:
            cloth = lot(number).fabric
            fabric = cloth.name if cloth else None
            if fabric != place.fabric:
                place = Place(place.position, place.piece, place.label, ready=number, fabric=fabric)
        found.append(place)
    return tuple(found)


def _units(result: MatchResult) -> Iterator[_Unit]:
    """Yield every piece of the answer: ready-cut ones, those of scraps, those of yardage."""
    letters = result.project.letters
    for use in result.ready:
        fabric = use.lot.fabric.name if use.lot.fabric else None
        place = Place("", use.need, letters[use.need], ready=use.lot.id, fabric=fabric)
        yield from [_Unit(fabric or ("ready", use.lot.id), place)] * use.count
    for cut in result.cuts:
        fabric = cut.scrap.fabric.name if cut.scrap.fabric else None
        for placement, piece in cut.labelled:
            place = Place("", piece.name, piece.label, scrap=cut.scrap.id, fabric=fabric)
            yield _Unit(fabric or ("scrap", cut.scrap.id), place, cut.scrap, placement)
    for shortage, cuttings in zip(result.shortages, strip_cuttings(result), strict=True):
        for hand, plans in zip(shortage.on_hand, cuttings.on_hand, strict=True):
            fabric = hand.yardage.fabric.name
            for _, place in _of_strips(hand.plan.strips, plans):
                yield _Unit(fabric, replace(place, length=hand.yardage.id, fabric=fabric))
        for number, (one, plans) in enumerate(
            zip(shortage.purchases, cuttings.bought, strict=True)
        ):
            for which, place in _of_strips(one.plan.strips, plans):
                yield _Unit(("to buy", shortage.role, number, which), place)


def _of_strips(
    strips: Sequence[Strip], plans: Sequence[StripCuttings]
) -> Iterator[tuple[int, Place]]:
    """Yield the pieces of strips, with the number of the fabric that they are cut from."""
    for strip, alike in zip(strips, plans, strict=True):
        for number, cutting in enumerate(alike):
            for piece in cutting.pieces:
                yield number // strip.times, Place("", piece.name, piece.label)


def _spread(
    spots: Sequence[PlacedPiece], units: Sequence[_Unit], design: Design
) -> Iterator[tuple[PlacedPiece, _Unit]]:
    """Yield each spot with its unit, so that cloths are evenly mixed round the top."""
    counts = Counter(unit.cloth for unit in units)
    by_wedge: dict[int | None, list[PlacedPiece]] = {}
    for spot in spots:
        by_wedge.setdefault(spot.wedge, []).append(spot)
    wedges = len(by_wedge)
    alike = None not in by_wedge and len({len(own) for own in by_wedge.values()}) == 1
    if alike and not any(count % wedges for count in counts.values()):
        turns = _turns({cloth: count // wedges for cloth, count in counts.items()})
        order = [spot for wedge in by_wedge.values() for spot in wedge]
        cloths = turns * wedges
    else:
        order, cloths = _round_the_top(spots, design), _turns(counts)
    left: dict[Hashable, list[_Unit]] = {}
    for unit in units:
        left.setdefault(unit.cloth, []).append(unit)
    for spot, cloth in zip(order, cloths, strict=True):
        yield spot, left[cloth].pop(0)


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
        turn = round(cmath.phase(apart) % (2 * math.pi), _FINE) if abs(apart) > _SLACK else 0.0
        return turn % round(2 * math.pi, _FINE), abs(apart)

    return sorted(spots, key=at)


def _to_scrap(
    spot: PlacedPiece, need: PieceNeed, unit: _Unit
) -> tuple[float, float, float, float, float, float] | None:
    """Return how the top's inches lie in the scrap where a piece lies at its spot."""
    scrap, placement = unit.scrap, unit.placement
    if scrap is None or placement is None or unit.part is None:
        return None
    # In complex numbers: z of the shape lies at move + turn · z on the top, and in the scrap
    # (there -conj(z) for z where it is mirrored).
    turn = cmath.rect(1, math.radians(placement.rotation_deg))
    own = _centre(need.cut)
    move = _centre(placement.outline) - turn * (-own.conjugate() if placement.mirrored else own)
    one_way = bool(scrap.fabric and scrap.fabric.one_way_print)
    up = cmath.rect(1, math.radians(scrap.grain_deg or 0.0)) / turn  # in the shape
    up = -up.conjugate() if placement.mirrored else up
    wanted = cmath.rect(1, math.radians(_UPRIGHT_DEG)) if one_way else 1

    def off(way: tuple[complex, complex]) -> float:
        turned = way[0] * up if one_way else way[0]
        return round(abs(cmath.phase(turned / wanted)), _FINE)

    ways = [*_ways(unit.part, spot.outline)]
    if not ways:
        return None
    turn_top, move_top = min(ways, key=off)

    def in_scrap(top: complex) -> complex:
        z = (top - move_top) / turn_top
        return move + turn * (-z.conjugate() if placement.mirrored else z)

    origin = in_scrap(0)
    across, along = in_scrap(1) - origin, in_scrap(1j) - origin
    a, b, d, e, x, y = (
        round(value, _FINE) + 0.0
        for value in (across.real, along.real, across.imag, along.imag, origin.real, origin.imag)
    )
    return a, b, d, e, x, y


def _centre(shape: Polygon) -> complex:
    return complex(shape.centroid.x, shape.centroid.y)


def _ways(shape: Polygon, spot: Polygon) -> Iterator[tuple[complex, complex]]:
    """Yield (turn, move) for each way in which a shape lies on a spot: turn · z + move."""
    drawn, there = _corners(shape), _corners(spot)
    if len(drawn) != len(there):
        return
    middle, middle_there = (sum(one) / len(one) for one in (drawn, there))
    for first in range(len(there)):
        moved = there[first:] + there[:first]
        turn = sum(
            (to - middle_there) * (z - middle).conjugate()
            for z, to in zip(drawn, moved, strict=True)
        )
        turn /= abs(turn) or 1
        move = middle_there - turn * middle
        if all(abs(turn * z + move - to) < _SLACK for z, to in zip(drawn, moved, strict=True)):
            yield turn, move


def _corners(shape: Polygon) -> list[complex]:
    """Return the corners counter-clockwise, without those on a straight edge."""
    points = [complex(x, y) for x, y in corners_of(shape)]
    kept = []
    for before, at, after in zip(points[-1:] + points[:-1], points, points[1:] + points[:1],
                                 strict=True):  # fmt: skip
        if abs(((at - before).conjugate() * (after - at)).imag) > _STRAIGHT:
            kept.append(at)
    return kept
