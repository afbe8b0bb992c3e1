"""The JSON form of a cut: what was cut of each scrap or strip, and what it left."""

from pathlib import Path
from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, Field

from scrapstore.actions.cut import CutPreview, CutResult
from scrapstore.json_output.base import FineOutline, FromForm
from scrapstore.json_output.stock_schema import ReadyCutOut, ScrapOut
from scrapstore.planning.cut_request import PlannedCut

__all__ = ["CutReportOut", "cut_out"]


def _labels(value: Any) -> Any:
    return [one if isinstance(one, str) else one.label for one in value]


class PartOut(FromForm):
    """A part of the cloth as it lies in the drawing, with holes where templates were cut out."""

    outline: FineOutline = Field(validation_alias="exterior")
    holes: list[FineOutline] = Field(validation_alias="interiors")


class OffcutOut(PartOut):
    """A part of the cloth that goes back into the store, as it lies in the drawing.

    `plan` counts the drawings of its source from 0; null is the rest beside strips. `kept`: the
    user did not leave it out.
    """

    letter: str
    plan: int | None
    kept: bool


class AfterPlanOut(FromForm):
    """What one drawing's cuts leave: labels of its pieces, outlines of the rest."""

    pieces: Annotated[list[str], BeforeValidator(_labels)]
    spoilt: dict[str, FineOutline]
    not_cut: list[str]
    waste: list[PartOut]


class SourceOut(BaseModel):
    """A scrap that is used up, or a length that gets `inches` shorter.

    `untouched`: none of its pieces was cut; it stays as it is, and is free again.
    """

    scrap: int | None
    length: int | None
    inches: float
    place: str | None
    after: list[AfterPlanOut]
    offcuts: list[OffcutOut]
    waste_area: float
    untouched: bool


class CutReportOut(BaseModel):
    """What is cut of a plan. `booked`: it is in the store, with what `ready` to `spoilt` list.

    `later` are labels of pieces of the plan that are still to be cut.
    """

    plan: str
    booked: bool
    cuts: list[SourceOut]
    later: list[str]
    picture: Path | None
    ready: list[ReadyCutOut] = Field([])
    offcuts: list[ScrapOut] = Field([])
    spoilt: dict[str, ScrapOut] = Field({})


def cut_out(preview: CutPreview, booked: CutResult | None, picture: Path | None) -> CutReportOut:
    """Return the JSON form of what will be booked, or was."""
    return CutReportOut(
        plan=preview.plan.name,
        booked=booked is not None,
        cuts=[_source_out(cut) for cut in preview.cuts],
        later=[label for source in preview.later for label in source.labels],
        picture=picture,
        ready=[ReadyCutOut.model_validate(lot) for lot in booked.lots] if booked else [],
        offcuts=[ScrapOut.model_validate(one) for one in booked.offcuts] if booked else [],
        spoilt={label: ScrapOut.model_validate(one) for label, one in booked.spoilt.items()}
        if booked
        else {},
    )


def _source_out(cut: PlannedCut) -> SourceOut:
    source = cut.source
    return SourceOut(
        scrap=source.scrap.id if source.scrap else None,
        length=source.length.id if source.length else None,
        inches=source.inches,
        place=source.cloth.place,
        after=[AfterPlanOut.model_validate(one) for one in cut.after],
        offcuts=[
            OffcutOut(
                letter=one.letter,
                plan=None if one.plan is None else source.plans.index(one.plan),
                outline=one.outline,
                holes=list(one.outline.interiors),
                kept=one.kept,
            )
            for one in cut.offcuts
        ],
        waste_area=cut.waste_area,
        untouched=cut.untouched,
    )
