"""Which cut piece comes to which position of a design."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace

from scrapstore.designs import Design, PlacedPiece
from scrapstore.errors import PlanError
from scrapstore.planning.mixing import CutUnit, mixed
from scrapstore.planning.result import MatchResult, Place
from scrapstore.planning.strip_cuts import StripCuttings, strip_cuttings
from scrapstore.projects import Project
from scrapstore.store import PlanPiece, ReadyCut
from scrapstore.yardage import Strip

__all__ = ["pieces_in_place", "place_pieces", "placed_design", "places_now"]


def place_pieces(result: MatchResult) -> tuple[Place, ...]:
    """Return a place for every position of the project's design, in its order; () without one.

    A position for which there is no piece has no label.
    """
    project = result.project
    if project.design is None:
        return ()
    units: dict[str, list[CutUnit]] = {need.name: [] for need in project.pieces}
    for unit in _units(result):
        units[unit.need.name].append(unit)
    found = {}
    for spot, unit in mixed(project.design, project.pieces, units):
        lie = unit.lie_at(spot)
        found[spot.position] = replace(
            unit.place, position=spot.position, to_scrap=lie and lie.to_scrap
        )
    return tuple(found[piece.position] for piece in project.design.pieces)


def pieces_in_place(result: MatchResult) -> tuple[tuple[PlacedPiece, Place], ...]:
    """Return each piece of the project's design with what comes there.

    Raises PlanError for a project without a design.
    """
    design = placed_design(result.project)
    return tuple(zip(design.pieces, result.places or place_pieces(result), strict=True))


def placed_design(project: Project) -> Design:
    """Return the design of a project. Raises PlanError where it has none."""
    design = project.design
    if design is None:
        msg = (
            f"{project.name}: its project file does not say where its pieces lie on the "
            "top, so there is nothing to draw. Begin with a design (scrapstore design start), "
            "whose files say it, or add a table [design] (scrapstore guide projects), and match "
            "again"
        )
        raise PlanError(msg)
    return design


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


def _units(result: MatchResult) -> Iterator[CutUnit]:
    """Yield every piece of the answer: ready-cut ones, those of scraps, those of yardage."""
    letters = result.project.letters
    needs = {need.name: need for need in result.project.pieces}
    for use in result.ready:
        fabric = use.lot.fabric.name if use.lot.fabric else None
        place = Place("", use.need, letters[use.need], ready=use.lot.id, fabric=fabric)
        yield from [CutUnit(needs[use.need], fabric or ("ready", use.lot.id), place)] * use.count
    for cut in result.cuts:
        scrap = cut.scrap
        fabric = scrap.fabric.name if scrap.fabric else None
        for placed, piece in cut.labelled:
            place = Place("", piece.name, piece.label, scrap=scrap.id, fabric=fabric)
            cloth = fabric or ("scrap", scrap.id)
            yield CutUnit(needs[piece.name], cloth, place, scrap, placed)
    for shortage, cuttings in zip(result.shortages, strip_cuttings(result), strict=True):
        for hand, plans in zip(shortage.on_hand, cuttings.on_hand, strict=True):
            fabric = hand.yardage.fabric.name
            for _, one in _of_strips(hand.plan.strips, plans):
                place = replace(one, length=hand.yardage.id, fabric=fabric)
                yield CutUnit(needs[place.piece], fabric, place)
        for number, (bought, plans) in enumerate(
            zip(shortage.purchases, cuttings.bought, strict=True)
        ):
            for which, place in _of_strips(bought.plan.strips, plans):
                to_buy = ("to buy", shortage.role, number, which)
                yield CutUnit(needs[place.piece], to_buy, place)


def _of_strips(
    strips: Sequence[Strip], plans: Sequence[StripCuttings]
) -> Iterator[tuple[int, Place]]:
    """Yield the pieces of strips, with the number of the fabric that they are cut from."""
    for strip, alike in zip(strips, plans, strict=True):
        for number, cutting in enumerate(alike):
            for piece in cutting.pieces:
                yield number // strip.times, Place("", piece.name, piece.label)
