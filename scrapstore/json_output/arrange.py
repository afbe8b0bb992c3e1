"""The JSON form of what can be arranged: what ``arrange --json`` prints. Inches and degrees."""

from pathlib import Path

from pydantic import BaseModel

from scrapstore.colour import lab_to_srgb
from scrapstore.designs.arranging import SCHEMES, By, NearMiss, OfferedCloth, SchemeFound, TopPlace
from scrapstore.json_output.base import FineOutline
from scrapstore.planning.arranging.cuts import PlacePiece
from scrapstore.planning.arranging.result import Arranged, CuttableWay

__all__ = ["ArrangeOut", "arrange_out"]


class OfferedClothOut(BaseModel):
    """A cloth that gives pieces of the top; `word` is what it is called everywhere here.

    `gives` are the amounts that it can give, each by itself: pieces of each of the `kinds`.
    """

    word: str
    family: str | None
    value: str | None
    rgb: tuple[int, int, int]
    gives: list[tuple[int, ...]]


class NearMissOut(BaseModel):
    """`cloth` for `where` gives `has` of `needs` pieces."""

    cloth: str
    where: str
    has: int
    needs: int
    reason: str


class SchemeOut(BaseModel):
    """What came of one scheme.

    `ways` is how many ways can be cut, all there are where `all_of_them`, else at least so many.
    `nearest` says what the nearest way lacks that cannot be cut, `not_possible` why there is none.
    """

    scheme: str
    about: str
    aim: str
    by: By
    ways: int
    all_of_them: bool
    nearest: list[NearMissOut]
    not_possible: str | None


class BlockOut(BaseModel):
    """What lies in one part of the top."""

    where: str
    cloth: str


class ArrangedPositionOut(BaseModel):
    """One piece of the top: its cloth, and the scrap, lot or length of yardage that gives it.

    `outline` is the cut piece in the scrap's own inches.
    """

    position: str
    piece: str
    cloth: str
    scrap: int | None
    ready_cut: int | None
    yardage: int | None
    outline: FineOutline | None


class ArrangementOut(BaseModel):
    """One way that can be cut; `measures` is its aim in numbers, higher is better."""

    number: int
    schemes: list[str]
    by: By
    measures: list[float]
    said: str
    lies: list[BlockOut]
    positions: list[ArrangedPositionOut]


class ArrangeOut(BaseModel):
    """What can be arranged; `kept` is the project file that was written for a chosen way."""

    project: str
    pieces: int
    roles: list[str]
    kinds: list[str]
    cloths: list[OfferedClothOut]
    schemes: list[SchemeOut]
    arrangements: list[ArrangementOut]
    notes: list[str]
    picture: str | None = None
    kept: str | None = None
    plan: str | None = None


def arrange_out(
    arranged: Arranged,
    chosen: tuple[int, CuttableWay] | None = None,
    *,
    picture: Path | None = None,
    kept: Path | None = None,
    plan: str | None = None,
) -> ArrangeOut:
    """Return the whole answer; with a `chosen` way, by its number, that one alone."""
    ways = enumerate(arranged.ways, 1) if chosen is None else [chosen]
    return ArrangeOut(
        project=arranged.project.name,
        pieces=len(arranged.job.top.places),
        roles=list(arranged.roles),
        kinds=list(arranged.supply.kinds),
        cloths=[_cloth(cloth) for cloth in arranged.supply.cloths],
        schemes=[_scheme(found) for found in arranged.schemed.schemes],
        arrangements=[_arrangement(arranged, number, way) for number, way in ways],
        notes=list(arranged.notes),
        picture=None if picture is None else str(picture),
        kept=None if kept is None else str(kept),
        plan=plan,
    )


def _cloth(cloth: OfferedCloth) -> OfferedClothOut:
    red, green, blue = (min(255, max(0, round(c))) for c in lab_to_srgb(cloth.lab).tolist())
    return OfferedClothOut(
        word=cloth.word, family=cloth.family, value=cloth.value, rgb=(red, green, blue),
        gives=list(cloth.gives),
    )  # fmt: skip


def _scheme(found: SchemeFound) -> SchemeOut:
    scheme = SCHEMES[found.scheme]
    reason = found.reason or "; ".join(miss.words for miss in found.misses)
    return SchemeOut(
        scheme=found.scheme, about=scheme.about, aim=scheme.aim, by=found.by, ways=found.count,
        all_of_them=found.complete, nearest=[_miss(miss) for miss in found.misses],
        not_possible=None if found.arrangements else reason,
    )  # fmt: skip


def _miss(miss: NearMiss) -> NearMissOut:
    return NearMissOut(
        cloth=miss.cloth, where=miss.where, has=miss.has, needs=miss.needs, reason=miss.words
    )


def _arrangement(arranged: Arranged, number: int, way: CuttableWay) -> ArrangementOut:
    arrangement, job = way.arrangement, arranged.job
    return ArrangementOut(
        number=number,
        schemes=list(arrangement.schemes),
        by=arrangement.by,
        measures=list(arrangement.figure),
        said=arrangement.said,
        lies=[BlockOut(where=where, cloth=cloth) for where, cloth in arrangement.blocks],
        positions=[
            _position(arranged, place, job.cloths[cloth].word, piece)
            for place, cloth, piece in zip(
                job.top.places, arrangement.cloth_of, way.pieces, strict=True
            )
        ],
    )


def _position(
    arranged: Arranged, place: TopPlace, cloth: str, piece: PlacePiece
) -> ArrangedPositionOut:
    lies = arranged.own_placement(piece)
    return ArrangedPositionOut(
        position=place.position, piece=place.line, cloth=cloth, scrap=piece.scrap,
        ready_cut=piece.lot, yardage=piece.length, outline=None if lies is None else lies.outline,
    )  # fmt: skip
