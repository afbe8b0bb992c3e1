"""What ``families``, ``find`` and ``piles`` print with ``--json``. Areas in square inches."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Annotated

from pydantic import AliasPath, BaseModel, BeforeValidator, Field

from scrapstore.actions.families import Grouped, Learned
from scrapstore.actions.find import Found, GoesWith, Wanted, in_words
from scrapstore.actions.piles import Piled
from scrapstore.colour import Relation, Value, Warmth
from scrapstore.json_output.base import FromForm
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
    "SuggestionOut",
    "ValueCounts",
    "WarmthCounts",
    "families_out",
    "found_out",
    "goes_with_out",
    "learned_out",
    "piles_out",
]


def _numbers(scraps: Iterable[Coloured]) -> list[int]:
    return [one.scrap.id for one in scraps]


def _counts(counts: Mapping[str | None, int]) -> dict[str, int]:
    return {word or "unknown": count for word, count in counts.items()}


_Numbers = Annotated[list[int], BeforeValidator(_numbers)]
_Length = Annotated[int, BeforeValidator(len)]
_HowNear = Annotated[str, BeforeValidator(in_words)]


class ColourOut(FromForm):
    """A scrap's colour as it holds.

    `family_from` is the source of the family; `tints` are hues of a grey, white or black, the
    likeliest first, one alone where it is sure; `corrected` names what the user said against the
    photo. `relative_value` is among the scraps listed with it. Each confidence (0 to 1) is of what
    stands above it; null where it is no reading of a photo. `colour` is its largest swatch, sRGB.
    """

    id: int = Field(validation_alias=AliasPath("scrap", "id"))
    name: str | None = Field(validation_alias=AliasPath("scrap", "name"))
    fabric: str | None = Field(validation_alias=AliasPath("scrap", "fabric"))
    place: str | None = Field(validation_alias=AliasPath("scrap", "place"))
    area: float = Field(validation_alias=AliasPath("scrap", "area"))
    family: str | None
    family_confidence: float | None = Field(validation_alias="confidence")
    family_from: Source | None = Field(validation_alias="source")
    tints: list[str]
    accents: list[str] = Field(validation_alias=AliasPath("scrap", "accents"))
    value: Value | None
    value_confidence: float | None
    relative_value: Value | None = Field(validation_alias="relative")
    relative_value_confidence: float | None = Field(validation_alias="relative_confidence")
    warmth: Warmth | None
    warmth_confidence: float | None = Field(
        None, validation_alias=AliasPath("reading", "warmth_confidence")
    )
    corrected: list[str] = Field(validation_alias=AliasPath("scrap", "corrected"))
    colour: tuple[int, int, int] | None = Field(
        None, validation_alias=AliasPath("scrap", "swatches", 0, "rgb")
    )


class ValueCounts(BaseModel):
    """How many scraps are light, medium and dark, and of how many it is not known."""

    light: int = 0
    medium: int = 0
    dark: int = 0
    unknown: int = 0


class WarmthCounts(BaseModel):
    """How many scraps are warm, cool and neutral, and of how many it is not known."""

    warm: int = 0
    cool: int = 0
    neutral: int = 0
    unknown: int = 0


class FamilyOut(FromForm):
    """One family in the order of a contact sheet; `family` is None where no colour is known.

    `holding` are the numbers of scraps of other families that have it as an accent, `tinted` of
    greys, whites and blacks that have a tint of it, the surest first.
    """

    family: str | None = Field(validation_alias="word")
    count: _Length = Field(validation_alias="members")
    area: float
    values: Annotated[ValueCounts, BeforeValidator(_counts)]
    relative_values: Annotated[ValueCounts, BeforeValidator(_counts)]
    warmth: Annotated[WarmthCounts, BeforeValidator(_counts)] = Field(validation_alias="warmths")
    colour: tuple[int, int, int] | None = Field(validation_alias="typical_rgb")
    scraps: list[ColourOut] = Field(validation_alias="members")
    holding: _Numbers
    tinted: _Numbers


class FamiliesOut(FromForm):
    """The scraps by family."""

    count: _Length = Field(validation_alias="members")
    area: float
    families: list[FamilyOut]


class LearnedOut(FromForm):
    """A scrap whose family would change (or changed); `like` are corrected scraps like it."""

    id: int = Field(validation_alias=AliasPath("scrap", "id"))
    was: str | None
    now: str
    confidence: float
    like: list[int]


class LearnedListOut(BaseModel):
    """What was learned or forgotten; `kept` are the numbers of the scraps changed in the store."""

    changes: list[LearnedOut]
    kept: list[int]


class FoundOut(FromForm):
    """A scrap and its distance (CIEDE2000)."""

    distance: float
    in_words: _HowNear = Field(validation_alias="distance")
    scrap: ColourOut = Field(validation_alias="one")


class FoundListOut(BaseModel):
    """What was looked for, and what was found, the nearest first."""

    like: str
    swatches: list[SwatchOut]
    found: list[FoundOut]


class SuggestionOut(FromForm):
    """Scraps that go with one for the same reason, the best first."""

    relation: Relation
    reason: str
    scraps: list[ColourOut] = Field(validation_alias="members")


class GoesWithOut(FromForm):
    """A scrap, and what goes with it."""

    scrap: ColourOut = Field(validation_alias="start")
    suggestions: list[SuggestionOut] = Field(validation_alias="together")


class PileOut(FromForm):
    """One pile, the most typical scrap first; `reads_as` is what most of it reads as, in words."""

    pile: int = Field(validation_alias="number")
    reads_as: str = Field(validation_alias="words")
    count: _Length = Field(validation_alias="members")
    area: float
    scraps: list[ColourOut] = Field(validation_alias="members")


class PilesOut(FromForm):
    """The piles along the hue circle.

    `by_family` are numbers of scraps without a photo that count with the typical colour of their
    family, `unseen` of those whose family is not known either.
    """

    piles: list[PileOut]
    by_family: _Numbers
    unseen: _Numbers


def families_out(grouped: Grouped) -> FamiliesOut:
    """Return the JSON form of `grouped`."""
    return FamiliesOut.model_validate(grouped)


def learned_out(learned: Iterable[Learned], kept: Sequence[int]) -> LearnedListOut:
    """Return the JSON form of `learned`, and which of it was kept."""
    return LearnedListOut(
        changes=[LearnedOut.model_validate(one) for one in learned], kept=list(kept)
    )


def found_out(wanted: Wanted, found: Iterable[Found]) -> FoundListOut:
    """Return the JSON form of what was looked for and found."""
    return FoundListOut(
        like=wanted.said,
        swatches=[SwatchOut(rgb=one.rgb, lab=one.lab, share=one.share) for one in wanted.swatches],
        found=[FoundOut.model_validate(one) for one in found],
    )


def goes_with_out(answer: GoesWith) -> GoesWithOut:
    """Return the JSON form of `answer`."""
    return GoesWithOut.model_validate(answer)


def piles_out(piled: Piled) -> PilesOut:
    """Return the JSON form of `piled`."""
    return PilesOut.model_validate(piled)
