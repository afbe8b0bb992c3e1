"""``arrange``: how the colours of a top can lie with what the store can supply."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Final

from scrapstore.actions.match import as_stored
from scrapstore.actions.project import read_project_file
from scrapstore.colour import MULTICOLOUR, srgb_to_lab, typical_rgb
from scrapstore.designs.arranging import (
    SCHEMES,
    Arrangement,
    By,
    Job,
    RoleConditions,
    arrange,
    top_of,
    with_pins,
    with_swap,
)
from scrapstore.errors import PlanError, ProjectError, UsageError
from scrapstore.matching import Need, PackAll, RoleRule, pack_all
from scrapstore.near_words import did_you_mean
from scrapstore.planning.arranging.check import faults
from scrapstore.planning.arranging.cuts import pieces_of
from scrapstore.planning.arranging.lengths import length_offers
from scrapstore.planning.arranging.result import Arranged, ArrangeWish, CuttableWay
from scrapstore.planning.arranging.supply import ClothColour, ClothSupply, supply_of
from scrapstore.planning.cuttable_regions import scrap_stock
from scrapstore.planning.matching_inputs import piece_need, ready_stock, role_rule
from scrapstore.projects import ArrangedCloth, Project, arranged_text, write_new
from scrapstore.sentences import several
from scrapstore.settings import Settings
from scrapstore.store import Scrap, StockFilter, Store
from scrapstore.store.scrap_colours import read_colours, with_typed
from scrapstore.toml_files import toml_text

__all__ = ["arrange_project", "chosen_way", "keep_way"]

_PLAIN_ROLES: Final = ("background", "border")
_BY: Final[tuple[By, ...]] = ("fabric", "colour", "value")
_ARRANGED_ALREADY: Final = (
    "This project is arranged already, and its roles name their cloth. For other ways, arrange the "
    "file that it came from."
)
_NO_DESIGN: Final = (
    "the project does not say where its pieces lie; start it from a design: "
    "scrapstore design start star my-star.toml"
)
_SEVERAL_AT_A_TIME: Final = (
    "its units are sewn from squares, several at a time, so no triangle has a cloth of its own; "
    "arrange the same design with --method single"
)


def arrange_project(
    store: Store,
    project_file: Path,
    wish: ArrangeWish,
    settings: Settings,
    pack_all: PackAll = pack_all,
) -> Arranged:
    """Return how the top of a project can be arranged with what is available in the store.

    Every way is checked by a second opinion before it is shown.

    Raises ProjectError for a file that cannot be used or has no design, UsageError for schemes,
    roles and pins that are not there, PlanError when the second opinion finds a fault.
    """
    schemes = _checked("scheme", wish.schemes, list(SCHEMES)) or tuple(SCHEMES)
    by = _checked("by", () if wish.by is None else (wish.by,), _BY)
    project = read_project_file(project_file, settings)
    if project.design is None:
        raise ProjectError(f"{project_file}: {_NO_DESIGN}")
    if any(piece.makes for piece in project.pieces):
        raise ProjectError(f"{project_file}: {_SEVERAL_AT_A_TIME}")
    design = project.design
    with store.read() as reader:
        project, unknown = as_stored(reader, project)
        scraps = reader.cuttable_scraps()
        lots = reader.ready_cut()
        lengths = reader.yardage()
        held = reader.scraps(StockFilter(statuses=("set aside",)))
    lines = {piece.piece for piece in design.pieces}
    placed = list(dict.fromkeys(piece.role for piece in design.pieces))
    roles = _checked("role", wish.roles, placed)
    roles = roles or tuple(role for role in placed if role not in _PLAIN_ROLES) or tuple(placed)
    needs = [
        piece_need(piece, project.seam_allowance)
        for piece in project.pieces
        if piece.role in roles and piece.name in lines
    ]
    rules = {role: role_rule(project, role) for role in roles}
    supplied = supply_of(
        scrap_stock(scraps), [ready_stock(lot) for lot in lots], needs, rules, pack_all, wish.seed
    )
    colours = _colours(store, [scrap.id for scrap in supplied.scraps])
    offers = length_offers(lengths, project, needs, supplied, rules, settings)
    supply = supplied.coloured(
        colours,
        {lot.id: _typed_colour(lot.shown_family, lot.shown_value) for lot in lots},
        [
            (offer, _typed_colour(one.fabric.family, one.fabric.value))
            for offer, one in zip(offers, lengths, strict=True)
        ],
    )
    _refuse_promised(wish.pins, supply, held)
    job = with_pins(_job(project, supply, roles, by, wish.seed), wish.pins)
    schemed = arrange(job, schemes, wish.count)
    ways = tuple(_way(job, supply, needs, rules, one) for one in schemed.arrangements)
    notes = (*unknown, *_notes(supply), *_any_cloth(project, placed, roles), *_promised(held))
    if project.arranged:
        notes = (_ARRANGED_ALREADY, *notes)
    grain_deg = {scrap.id: scrap.grain_deg or 0.0 for scrap in scraps}
    return Arranged(project, job, supply, schemed, ways, tuple(needs), rules, grain_deg, notes)


def chosen_way(arranged: Arranged, number: int, swaps: Sequence[str] = ()) -> CuttableWay:
    """Return the way with this number, with these swaps made one after the other.

    Raises UsageError for a number or a swap that is not there, PlanError for one that cannot be
    cut.
    """
    if not 1 <= number <= len(arranged.ways):
        count = len(arranged.ways)
        there = "none can be cut" if not count else f"there are {count}, numbered from 1"
        raise UsageError(f"no arrangement has the number {number}: {there}")
    way = arranged.ways[number - 1]
    for swap in swaps:
        swapped = with_swap(arranged.job, way.arrangement, swap)
        way = _way(arranged.job, arranged.supply, arranged.needs, arranged.rules, swapped)
    return way


def keep_way(arranged: Arranged, way: CuttableWay, project_file: Path, file: Path) -> Path:
    """Write the project of `project_file`, so arranged, to `file`; return where it is.

    Raises ProjectError when something is there already or the place cannot be written.
    """
    job = arranged.job
    positions: dict[str, list[str]] = {}
    for place, cloth in zip(job.top.places, way.arrangement.cloth_of, strict=True):
        positions.setdefault(job.cloths[cloth].fabric, []).append(place.position)
    stocks = {stock.cloth.fabric: stock for stock in arranged.supply.stocks}
    cloths = []
    for fabric, places in positions.items():
        scraps = stocks[fabric].scraps
        named = not scraps or scraps[0].fabric is not None
        numbers = () if named else tuple(scrap.id for scrap in scraps)
        name = fabric if named else f"scrap {numbers[0]}"
        cloths.append(ArrangedCloth(name, fabric if named else None, numbers, tuple(places)))
    title = f"{arranged.project.name}, {way.arrangement.schemes[0]}"[:200]
    text = arranged_text(toml_text(project_file), arranged.project, cloths, title)
    return write_new(file, text)


def _checked(what: str, words: Sequence[str], known: Sequence[str]) -> tuple[str, ...]:
    """Return the words as they are known; UsageError for one that is not."""
    found = []
    for word in words:
        plain = " ".join(word.lower().replace("-", " ").split())
        match = next((one for one in known if one.lower() == plain or one == word), None)
        if match is None:
            raise UsageError(f"{what}: there is no {word!r}; {did_you_mean(word, known)}")
        found.append(match)
    return tuple(dict.fromkeys(found))


def _colours(store: Store, numbers: Sequence[int]) -> Mapping[int, ClothColour]:
    """Return the colours of scraps, those without a photo as the typical one of their family."""
    if not numbers:
        return {}
    read = with_typed(read_colours(store, StockFilter(ids=tuple(numbers))))
    return {
        one.scrap.id: ClothColour(
            None if one.reading is None else one.reading.lab, one.family, one.value
        )
        for one in read
    }


def _typed_colour(family: str | None, value: str | None) -> ClothColour:
    """Return the usual colour of a family, for what has no photo of its own."""
    if family is None or family == MULTICOLOUR:
        return ClothColour(None, family, value)
    light, a, b = srgb_to_lab(typical_rgb(family, value)).tolist()
    return ClothColour((light, a, b), family, value)


def _job(
    project: Project, supply: ClothSupply, roles: Sequence[str], by: Sequence[str], seed: int
) -> Job:
    assert project.design is not None
    top = top_of(project.design, supply.kind_of, roles, supply.kinds)
    cloths = supply.cloths
    allowed = tuple(
        tuple(
            c
            for c, cloth in enumerate(cloths)
            if place.role in cloth.roles and cloth.most(place.kind)
        )
        for place in top.places
    )
    conditions = {}
    for name in roles:
        role = project.roles[name]
        if role.same_fabric_sets or role.min_fabrics or role.max_per_fabric:
            conditions[name] = RoleConditions(
                role.same_fabric_sets, role.min_fabrics, role.max_per_fabric
            )
    levels = tuple(one for one in _BY if one in by) or _BY
    return Job(top, cloths, allowed, conditions, by=levels, seed=seed)


def _way(
    job: Job,
    supply: ClothSupply,
    needs: Sequence[Need],
    rules: Mapping[str, RoleRule],
    arrangement: Arrangement,
) -> CuttableWay:
    pieces = pieces_of(job.top, supply, arrangement.cloth_of)
    wrong = faults(job, supply, needs, rules, arrangement.cloth_of, pieces)
    if wrong:
        msg = "an arrangement did not stand up to its check and is not shown"
        raise PlanError(f"{msg} ({'; '.join(wrong[:3])}); please report this with the project file")
    return CuttableWay(arrangement, pieces)


def _any_cloth(project: Project, placed: Sequence[str], arranged: Collection[str]) -> Iterator[str]:
    """Yield which of the top's other roles may be cut from the very cloth that is arranged."""
    for name in placed:
        role = project.roles[name]
        asks = role.families or role.values or role.fabrics or role.fibres or role.scraps
        if name not in arranged and not asks:
            yield (
                f"{name}: any cloth will do as it stands, also that of the pieces beside it; say "
                f"in [roles.{name}] what it must be"
            )


def _promised(held: Sequence[Scrap]) -> Iterator[str]:
    """Yield what does not count, since kept plans hold it."""
    if held:
        scraps = "1 scrap is" if len(held) == 1 else f"{len(held)} scraps are"
        plans = sorted({repr(one.set_aside_for) for one in held if one.set_aside_for})
        yield f"{scraps} set aside for {several(plans)}, and not counted here."


def _refuse_promised(pins: Sequence[str], supply: ClothSupply, held: Sequence[Scrap]) -> None:
    """Raise UsageError for a pinned fabric of which a kept plan holds all there is."""
    there = {(one.fabric or "").casefold() for one in supply.cloths}
    for pin in pins:
        name = pin.partition("=")[2].strip().casefold()
        own = [one for one in held if one.fabric and one.fabric.name.casefold() == name]
        if own and own[0].fabric and name not in there:
            what, plan = own[0].fabric.name, own[0].set_aside_for
            msg = f"pin {pin!r}: all {what} is set aside for {plan!r}"
            raise UsageError(f"{msg}; pin another cloth, or free it with plan release {plan!r}")


def _notes(supply: ClothSupply) -> tuple[str, ...]:
    notes = []
    if supply.packed < supply.scraps:
        notes.append(
            f"Looked at {supply.packed} of {supply.scraps} scraps that might serve, the largest."
        )
    if supply.unnamed_lots:
        notes.append(
            f"{supply.unnamed_lots} of the ready-cut lots have no fabric's name and are left out: "
            "ready edit NUMBER --fabric NAME"
        )
    return tuple(notes)
