"""Designs: tops from parameters, drawn, and as a project file to start from."""

from dataclasses import dataclass, replace
from pathlib import Path

from scrapstore.designs import DESIGNS, Design, DesignOptions, make_design, squares_for
from scrapstore.errors import UsageError
from scrapstore.projects import Project, design_text, read_project, write_new
from scrapstore.report.design_picture import write_design
from scrapstore.report.picture_file import checked_picture_path
from scrapstore.settings import Settings
from scrapstore.units import format_cut

__all__ = ["MadeDesign", "UnitWish", "show_design", "start_design"]


@dataclass(frozen=True, slots=True)
class MadeDesign:
    """A design, the project it makes, and the files that were written.

    `method` says how units are sewn from squares, where they are. Where its fill is halved for
    straight seams, `whole_seams` are set in with whole pieces.
    """

    design: Design
    project: Project
    method: str | None = None
    whole_seams: int = 0
    picture: Path | None = None
    file: Path | None = None

    @property
    def strip(self) -> float:
        """The width of the strip for a finished piece, inches."""
        return self.design.piece_size + 2 * self.project.seam_allowance


@dataclass(frozen=True, slots=True)
class UnitWish:
    """How units are made: a method of `METHODS`, and the cut side of its squares where it is given.

    None, and "single", cut triangles one by one.
    """

    method: str | None = None
    square: float | None = None


def show_design(
    name: str,
    wish: DesignOptions,
    settings: Settings,
    picture: Path | None = None,
    made_by: UnitWish | None = None,
) -> MadeDesign:
    """Return the design `name`, drawn to `picture` where that is wanted.

    Raises UsageError for what cannot be made, SheetError for a picture that cannot be written.
    """
    if picture is not None:
        checked_picture_path(picture)
    made, _ = _made(name, wish, settings, made_by)
    if picture is not None:
        picture = write_design(made.design, picture, settings.units, settings.page)
    whole = 0
    if made.design.parameters.get("fill") == "split":
        words = DESIGNS[name].words["fill"]
        other: DesignOptions = {**wish, "fill": next(word for word in words if word != "split")}
        whole = _made(name, other, settings)[0].design.set_in_seams
    return replace(made, whole_seams=whole, picture=picture)


def start_design(
    name: str,
    wish: DesignOptions,
    settings: Settings,
    file: Path,
    made_by: UnitWish | None = None,
) -> MadeDesign:
    """Write a project file with the piece list of the design `name`.

    Raises UsageError as above, ProjectError when something is there already or the place cannot be
    written.
    """
    made, text = _made(name, wish, settings, made_by)
    return replace(made, file=write_new(file, text))


def _made(
    name: str, wish: DesignOptions, settings: Settings, made_by: UnitWish | None = None
) -> tuple[MadeDesign, str]:
    """Return the design with the project that its file is read as, and the text of that file."""
    kind = DESIGNS.get(name)
    own = kind.seam if kind is not None else None
    seam = settings.seam_allowance if own is None else own
    design = make_design(name, seam=seam, mark=settings.mark, **wish)
    lines, how = None, None
    made_by = made_by or UnitWish()
    if made_by.method not in (None, "single"):
        lines, how = squares_for(
            design, made_by.method, seam=seam, mark=settings.mark, square=made_by.square
        )
        high, wide = (
            format_cut(side + 2 * seam, settings.units, settings.ruler_step)
            for side in (design.piece_size, 2 * design.piece_size)
        )
        how = how.format(trim=high, trim_wide=wide)
    elif made_by.square is not None:
        raise UsageError("--square: say how units are made of them, such as --method pairs")
    text = design_text(design, seam, settings.units, lines)
    project = read_project(text, usable_width=settings.usable_width)
    return MadeDesign(design, project, how), text
