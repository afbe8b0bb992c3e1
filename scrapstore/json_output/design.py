"""The JSON form of designs: their sizes, piece list and every piece in its place."""

from pathlib import Path

from pydantic import BaseModel

from scrapstore.actions.design import MadeDesign
from scrapstore.designs import DESIGNS
from scrapstore.json_output.base import FineOutline, FromForm
from scrapstore.json_output.project import PlacedPieceOut, ProjectPieceOut, project_out
from scrapstore.settings import Settings

__all__ = ["DesignOut", "DesignsOut", "design_out", "designs_out"]


class DesignKindOut(FromForm):
    """A design of the list: the options it takes, and what `piece` and `size` are of it."""

    name: str
    about: str
    takes: list[str]
    piece: str
    size: str


class DesignsOut(BaseModel):
    """All designs."""

    designs: list[DesignKindOut]


class DesignOut(BaseModel):
    """A design; inches.

    `size` is read as `measured` says, `finishes` is that after quilting has drawn in `shrinkage`
    per cent, and `wanted` what was asked for. `strip` is the width
    of a strip for `piece_size`. `rounds` counts the pieces of each ring, from the middle.
    """

    name: str
    title: str
    wanted: float | None
    size: float
    measured: str
    shrinkage: float
    finishes: float
    difference: float | None
    piece_size: float
    strip: float
    width: float
    height: float
    area: float
    set_in_seams: int
    notes: list[str]
    method: str | None
    rounds: list[int]
    roles: dict[str, int]
    pieces: list[ProjectPieceOut]
    placed: list[PlacedPieceOut]
    outline: FineOutline
    picture: Path | None
    file: Path | None


def design_out(made: MadeDesign, settings: Settings) -> DesignOut:
    """Return the JSON form of a design, with cut sizes for the user's ruler."""
    design = made.design
    roles = dict.fromkeys((line.role for line in design.lines), 0)
    for line in design.lines:
        roles[line.role] += line.count
    width, height = design.sides
    return DesignOut(
        name=design.name,
        title=design.title,
        wanted=design.wanted,
        size=design.size,
        measured=design.measured,
        shrinkage=design.shrinkage,
        finishes=design.finishes,
        difference=design.difference,
        piece_size=design.piece_size,
        strip=made.strip,
        width=width,
        height=height,
        area=design.outline.area,
        set_in_seams=design.set_in_seams,
        notes=list(design.notes),
        method=made.method,
        rounds=list(design.rounds),
        roles=roles,
        pieces=project_out(made.project, settings).pieces,
        placed=[PlacedPieceOut.model_validate(piece) for piece in design.pieces],
        outline=design.outline,
        picture=made.picture,
        file=made.file,
    )


def designs_out() -> DesignsOut:
    """Return the list of designs."""
    return DesignsOut(designs=[DesignKindOut.model_validate(kind) for kind in DESIGNS.values()])
