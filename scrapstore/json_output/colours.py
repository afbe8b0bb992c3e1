"""What ``families``, ``find`` and ``piles`` print with ``--json``. Areas in square inches."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence

from pydantic import BaseModel

from scrapstore.actions.families import Family, Grouped, Learned
from scrapstore.actions.find import Found, GoesWith, Wanted, in_words
from scrapstore.actions.piles import Piled
from scrapstore.colour import Relation, Swatch, Value, Warmth
from scrapstore.json_output.stock_schema import SwatchOut
from scrapstore.store.scrap_colours import Coloured, Source

__all__ = [
    "ColourOut",
    "FamiliesOut",
    "FamilyOut",
    "FoundListOut",
    "FoundOut",
    "GoesWithOut",
    "LearnedListOut",
    "LearnedOut",
    "PileOut",
    "PilesOut",
    "TogetherOut",
    "ValueCounts",
    "WarmthCounts",
    "families_out",
    "found_out",
    "goes_with_out",
    "learned_out",
    "piles_out",
]


class ColourOut(BaseModel):
    """A scrap's colour as it holds.

    `family_from` tells who says the family; `corrected` names what the user said against the
    photo. `relative_value` is among the scraps listed with it. Each confidence (0 to 1) is of what
    stands above it; null where it is no reading of a photo. `colour` is its largest swatch, sRGB.
    """

    id: int
    name: str | None
    fabric: str | None
    place: str | None
    area: float
    family: str | None
    family_confidence: float | None
    family_from: Source | None
    accents: list[str]
    value: Value | None
    value_confidence: float | None
    relative_value: Value | None
    relative_value_confidence: float | None
    warmth: Warmth | None
    warmth_confidence: float | None
    corrected: list[str]
    colour: tuple[int, int, int] | None


class ValueCounts(BaseModel):
    """How many scraps are light, medium and dark, and of how many it is not known."""

    light: int
    medium: int
    dark: int
    unknown: int


class WarmthCounts(BaseModel):
    """How many scraps are warm, cool and neutral, and of how many it is not known."""

    warm: int
    cool: int
    neutral: int
    unknown: int


class FamilyOut(BaseModel):
    """One family in the order of a contact sheet; `family` is None where no colour is known.

    `holding` are the numbers of scraps of other families that have it as an accent.
    """

    family: str | None
    count: int
    area: float
    values: ValueCounts
    relative_values: ValueCounts
    warmth: WarmthCounts
    colour: tuple[int, int, int] | None
    scraps: list[ColourOut]
    holding: list[int]


class FamiliesOut(BaseModel):
    """The scraps by family."""

    count: int
    area: float
    families: list[FamilyOut]


class LearnedOut(BaseModel):
    """A scrap whose family would change (or changed); `like` are corrected scraps like it."""

    id: int
    was: str | None
    now: str
    confidence: float
    like: list[int]


class LearnedListOut(BaseModel):
    """What was learned or forgotten; `kept` are the numbers of the scraps changed in the store."""

    changes: list[LearnedOut]
    kept: list[int]


class FoundOut(BaseModel):
    """A scrap and its distance (CIEDE2000)."""

    distance: float
    in_words: str
    scrap: ColourOut


class FoundListOut(BaseModel):
    """What was looked for, and what was found, the nearest first."""

    like: str
    swatches: list[SwatchOut]
    found: list[FoundOut]


class TogetherOut(BaseModel):
    """Scraps that go with one for the same reason, the best first."""

    relation: Relation
    reason: str
    scraps: list[ColourOut]


class GoesWithOut(BaseModel):
    """A scrap, and what goes with it."""

    scrap: ColourOut
    suggestions: list[TogetherOut]


class PileOut(BaseModel):
    """One pile, the most typical scrap first; `reads_as` is what most of it reads as, in words."""

    pile: int
    reads_as: str
    count: int
    area: float
    scraps: list[ColourOut]


class PilesOut(BaseModel):
    """The piles along the hue circle.

    `by_family` are numbers of scraps without a photo that count with the typical colour of their
    family, `unseen` of those whose family is not known either.
    """

    piles: list[PileOut]
    by_family: list[int]
    unseen: list[int]


def families_out(grouped: Grouped) -> FamiliesOut:
    """Return the external form of `grouped`."""
    return FamiliesOut(
        count=len(grouped.members),
        area=sum(one.scrap.area for one in grouped.members),
        families=[_family_out(family) for family in grouped.families],
    )


def learned_out(learned: Iterable[Learned], kept: Sequence[int]) -> LearnedListOut:
    """Return the external form of `learned`, and which of it was kept."""
    changes = [
        LearnedOut(
            id=one.scrap.id,
            was=one.was,
            now=one.now,
            confidence=one.confidence,
            like=list(one.like),
        )
        for one in learned
    ]
    return LearnedListOut(changes=changes, kept=list(kept))


def found_out(wanted: Wanted, found: Iterable[Found]) -> FoundListOut:
    """Return the external form of what was looked for and found."""
    return FoundListOut(
        like=wanted.said,
        swatches=[_swatch_out(one) for one in wanted.swatches],
        found=[
            FoundOut(
                distance=one.distance, in_words=in_words(one.distance), scrap=_colour_out(one.one)
            )
            for one in found
        ],
    )


def goes_with_out(answer: GoesWith) -> GoesWithOut:
    """Return the external form of `answer`."""
    return GoesWithOut(
        scrap=_colour_out(answer.start),
        suggestions=[
            TogetherOut(
                relation=one.relation,
                reason=one.reason,
                scraps=[_colour_out(member) for member in one.members],
            )
            for one in answer.together
        ],
    )


def piles_out(piled: Piled) -> PilesOut:
    """Return the external form of `piled`."""
    return PilesOut(
        piles=[
            PileOut(
                pile=pile.number,
                reads_as=pile.words,
                count=len(pile.members),
                area=pile.area,
                scraps=[_colour_out(one) for one in pile.members],
            )
            for pile in piled.piles
        ],
        by_family=[one.scrap.id for one in piled.by_family],
        unseen=[one.scrap.id for one in piled.unseen],
    )


def _colour_out(one: Coloured) -> ColourOut:
    scrap = one.scrap
    return ColourOut(
        id=scrap.id,
        name=scrap.name,
        fabric=scrap.fabric,
        place=scrap.place,
        area=scrap.area,
        family=one.family,
        family_confidence=one.confidence,
        family_from=one.source,
        accents=list(scrap.accents),
        value=one.value,
        value_confidence=one.value_confidence,
        relative_value=one.relative,
        relative_value_confidence=one.relative_confidence,
        warmth=one.warmth,
        warmth_confidence=None if one.reading is None else one.reading.warmth_confidence,
        corrected=list(scrap.corrected),
        colour=scrap.swatches[0].rgb if scrap.swatches else None,
    )


def _family_out(family: Family) -> FamilyOut:
    warmths = family.warmths
    return FamilyOut(
        family=family.word,
        count=len(family.members),
        area=family.area,
        values=_value_counts(family.values),
        relative_values=_value_counts(family.relative_values),
        warmth=WarmthCounts(
            warm=warmths["warm"],
            cool=warmths["cool"],
            neutral=warmths["neutral"],
            unknown=warmths[None],
        ),
        colour=family.typical_rgb,
        scraps=[_colour_out(one) for one in family.members],
        holding=[one.scrap.id for one in family.holding],
    )


def _value_counts(values: Mapping[Value | None, int]) -> ValueCounts:
    counts = Counter(values)
    return ValueCounts(
        light=counts["light"], medium=counts["medium"], dark=counts["dark"], unknown=counts[None]
    )


def _swatch_out(one: Swatch) -> SwatchOut:
    return SwatchOut(rgb=one.rgb, lab=one.lab, share=one.share)
