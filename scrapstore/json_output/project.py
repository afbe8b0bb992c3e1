"""The JSON form of a project file, and of the shapes that one may use."""

from pydantic import BaseModel, Field

from scrapstore.json_output.base import FineOutline, FromForm
from scrapstore.projects import Project
from scrapstore.settings import Settings
from scrapstore.shapes import KINDS, cut_measures, first_edge_side

__all__ = ["PlacedPieceOut", "ProjectOut", "ShapesOut", "project_out", "shapes_out"]


class CutSizeOut(FromForm):
    """One measure of a cut piece: exact, and rounded up to the ruler's mark; inches."""

    name: str
    finished: float
    exact: float
    on_ruler: float


class MakesOut(FromForm):
    """What a square is cut and sewn into: `each` finished pieces of a line of the design."""

    piece: str
    each: int


class ProjectPieceOut(BaseModel):
    """One line of the piece list."""

    name: str
    role: str
    shape: str
    tips: str
    count: int
    makes: MakesOut | None
    cut_sizes: list[CutSizeOut]


class PlacedPieceOut(FromForm):
    """A finished piece in its place; inches from the middle of the top, y up."""

    position: str
    piece: str
    role: str
    ring: int | None
    wedge: int | None
    unit: str
    grain_deg: float
    outline: FineOutline


class ProjectDesignOut(FromForm):
    """The design of a project: what it measures, and every piece in its place."""

    name: str
    title: str
    size: float
    measured: str
    placed: list[PlacedPieceOut] = Field(validation_alias="pieces")


class ProjectOut(FromForm):
    """A project file that holds no fault; `covered` is the share of the cushion top."""

    name: str
    seam_allowance: float
    usable_width: float
    cushion: tuple[float, float] | None
    covered: float | None
    pieces: list[ProjectPieceOut]
    design: ProjectDesignOut | None


class ShapeOut(BaseModel):
    """A shape: each of `ways` is a set of measures that gives it; `edge_1` is where that lies."""

    kind: str
    title: str
    ways: list[list[str]]
    edge_1: str


class ShapesOut(BaseModel):
    """All shapes."""

    shapes: list[ShapeOut]


def project_out(project: Project, settings: Settings) -> ProjectOut:
    """Return the JSON form of `project`, with cut sizes for the user's ruler."""
    return ProjectOut(
        name=project.name,
        seam_allowance=project.seam_allowance,
        usable_width=project.usable_width,
        cushion=project.cushion,
        covered=project.covered,
        pieces=[
            ProjectPieceOut(
                name=piece.name,
                role=piece.role,
                shape=piece.shape.label,
                tips=piece.tips,
                count=piece.count,
                makes=piece.makes,
                cut_sizes=cut_measures(
                    piece.shape, project.seam_allowance, settings.mark, tips=piece.tips
                ),
            )
            for piece in project.pieces
        ],
        design=project.design,
    )


def shapes_out() -> ShapesOut:
    """Return every shape with the sets of measures that give it."""
    return ShapesOut(
        shapes=[
            ShapeOut(kind=name, title=kind.title, ways=kind.takes, edge_1=first_edge_side(kind))
            for name, kind in KINDS.items()
        ]
    )
