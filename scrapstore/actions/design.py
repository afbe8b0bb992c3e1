"""Designs: tops from parameters, drawn, and as a project file to start from."""

from dataclasses import dataclass
from pathlib import Path

from scrapstore.designs import DESIGNS, Design, DesignOptions, make_design
from scrapstore.projects import Project, design_text, read_project, write_new
from scrapstore.report.design_picture import write_design
from scrapstore.report.picture_file import checked_picture_path
from scrapstore.settings import Settings

__all__ = ["MadeDesign", "show_design", "start_design"]


@dataclass(frozen=True, slots=True)
class MadeDesign:
    """A design, the project it makes, and the files that were written.

    Where its fill is halved for straight seams, `whole_seams` are set in with whole pieces.
    """

    design: Design
    project: Project
    whole_seams: int = 0
    picture: Path | None = None
    file: Path | None = None

    @property
    def strip(self) -> float:
        """The width of the strip for a finished piece, inches."""
        return self.design.piece_size + 2 * self.project.seam_allowance


def show_design(
    name: str, wish: DesignOptions, settings: Settings, picture: Path | None = None
) -> MadeDesign:
    """Return the design `name`, drawn to `picture` where that is wanted.

    Raises UsageError for what cannot be made, SheetError for a picture that cannot be written.
    """
    if picture is not None:
        checked_picture_path(picture)
    design, project, _ = _made(name, wish, settings)
    if picture is not None:
        picture = write_design(design, picture, settings.units)
    whole = 0
    if design.parameters.get("fill") == "split":
        words = DESIGNS[name].words["fill"]
        other: DesignOptions = {**wish, "fill": next(word for word in words if word != "split")}
        whole = _made(name, other, settings)[0].set_in_seams
    return MadeDesign(design, project, whole, picture=picture)


def start_design(name: str, wish: DesignOptions, settings: Settings, file: Path) -> MadeDesign:
    """Write a project file with the piece list of the design `name`.

    Raises UsageError as above, ProjectError when something is there already or the place cannot be
    written.
    """
    design, project, text = _made(name, wish, settings)
    return MadeDesign(design, project, file=write_new(file, text))


def _made(name: str, wish: DesignOptions, settings: Settings) -> tuple[Design, Project, str]:
    """Return the design, the project that its file is read as, and the text of that file."""
    kind = DESIGNS.get(name)
    own = kind.seam if kind is not None else None
    seam = settings.seam_allowance if own is None else own
    design = make_design(name, seam=seam, mark=settings.mark, **wish)
    text = design_text(design, seam, settings.units)
    return design, read_project(text, usable_width=settings.usable_width), text
