"""Project files: write one to start from, read one, and say what is in it."""

from pathlib import Path
from typing import Final

from pydantic import BaseModel

from scrapstore.colour import family_of_word
from scrapstore.errors import ProjectError
from scrapstore.projects import PieceNeed, Project, load_project, starter_text
from scrapstore.settings import Settings
from scrapstore.shapes import (
    KINDS,
    ShapeKind,
    corners_of,
    cut_measures,
    cut_shape,
    label_in,
    make_shape,
)
from scrapstore.units import Units

__all__ = [
    "ProjectOut",
    "ShapesOut",
    "cut_sizes",
    "finishes_as",
    "project_out",
    "read_project_file",
    "shapes_out",
    "write_starter",
]

_LEVEL: Final = 1e-6


class CutSizeOut(BaseModel):
    """One measure of a cut piece: exact, and rounded up to the ruler's mark; inches."""

    name: str
    finished: float
    exact: float
    on_ruler: float


class ProjectPieceOut(BaseModel):
    """One line of the piece list."""

    name: str
    role: str
    shape: str
    tips: str
    count: int
    cut_sizes: list[CutSizeOut]


class ProjectOut(BaseModel):
    """A project file that holds no fault; `covered` is the share of the cushion top."""

    name: str
    seam_allowance: float
    usable_width: float
    cushion: tuple[float, float] | None
    covered: float | None
    pieces: list[ProjectPieceOut]


class ShapeOut(BaseModel):
    """A shape: each of `ways` is a set of measures that gives it; `edge_1` is where that lies."""

    kind: str
    title: str
    ways: list[list[str]]
    edge_1: str


class ShapesOut(BaseModel):
    """All shapes."""

    shapes: list[ShapeOut]


def write_starter(file: Path) -> Path:
    """Write the commented starter file to `file` and return where it is.

    Raises ProjectError when something is there already or the place cannot be written.
    """
    try:
        with file.open("x", encoding="utf-8", newline="\n") as out:
            out.write(starter_text())
    except FileExistsError:
        msg = f"{file} is there already and stays as it is; choose another name"
        raise ProjectError(msg) from None
    except OSError as error:
        msg = f"{file} cannot be written ({error.strerror}); choose another place"
        raise ProjectError(msg) from error
    return file.resolve()


def read_project_file(file: Path, settings: Settings) -> Project:
    """Return the project in `file`; what it leaves out comes from the settings."""
    return load_project(
        file,
        seam_allowance=settings.seam_allowance,
        usable_width=settings.usable_width,
        family_of=family_of_word,
    )


def project_out(project: Project, settings: Settings) -> ProjectOut:
    """Return the external form of `project`, with cut sizes for the user's ruler."""
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
                cut_sizes=[
                    CutSizeOut(
                        name=measure.name,
                        finished=measure.finished,
                        exact=measure.exact,
                        on_ruler=measure.on_ruler,
                    )
                    for measure in cut_measures(
                        piece.shape, project.seam_allowance, settings.mark, tips=piece.tips
                    )
                ],
            )
            for piece in project.pieces
        ],
    )


def finishes_as(piece: PieceNeed, seam_allowance: float, units: Units) -> str:
    """Return the label of the finished piece in `units`.

    Where tips are cut off, that is said: the cut sizes are then those of the trimmed piece. A piece
    without sharp corners has none to trim, whatever the project asks.
    """
    pointed = cut_shape(piece.shape, seam_allowance, "pointed")
    trimmed = ", tips trimmed" if pointed.area - piece.cut.area > 1e-9 else ""
    return label_in(piece.shape, units) + trimmed


def cut_sizes(piece: PieceNeed, seam_allowance: float) -> tuple[tuple[str, float], ...]:
    """Return the cut sizes as a quilter calls them, with their inches, the one to cut by first.

    A side that trimming the tips has made shorter is called so, or one would cut the piece by it.
    """
    pointed = cut_measures(piece.shape, seam_allowance)
    named = []
    for whole, cut in zip(
        pointed, cut_measures(piece.shape, seam_allowance, tips=piece.tips), strict=True
    ):
        name = cut.name.replace("_", " ")
        shorter = "side" in name and cut.exact < whole.exact - 1e-9
        named.append((f"trimmed {name}" if shorter else name, cut.exact))
    return tuple(named)


def shapes_out() -> ShapesOut:
    """Return every shape with the sets of measures that give it."""
    return ShapesOut(
        shapes=[
            ShapeOut(
                kind=name,
                title=kind.title,
                ways=[list(way) for way in kind.takes],
                edge_1=_edge_1(kind),
            )
            for name, kind in KINDS.items()
        ]
    )


def _edge_1(kind: ShapeKind) -> str:
    """Return on which side of a shape, as it is drawn, its first edge lies."""
    if kind.by_corners:
        return "first corner to second"
    (x0, y0), (x1, y1) = corners_of(make_shape(kind.name, **kind.example).outline)[:2]
    # Corners run counter-clockwise, so the outside is at the right of an edge.
    out_x, out_y = y1 - y0, x0 - x1
    upper = "" if abs(out_y) < _LEVEL * abs(out_x) else "upper " if out_y > 0 else "lower "
    right = "" if abs(out_x) < _LEVEL * abs(out_y) else "right " if out_x > 0 else "left "
    return f"{upper}{right}side"
