"""Project files: write one to start from, and read one."""

from pathlib import Path

from scrapstore.colour import family_of_word
from scrapstore.projects import Project, load_project, starter_text, stock_list_text, write_new
from scrapstore.settings import Settings

__all__ = ["read_project_file", "write_starter"]


def write_starter(file: Path, *, stock_list: bool = False) -> Path:
    """Write a commented file to start from and return where it is.

    It is a project file, with `stock_list` one of the sizes that are always kept in stock.

    Raises ProjectError when something is there already or the place cannot be written.
    """
    return write_new(file, stock_list_text() if stock_list else starter_text())


def read_project_file(file: Path, settings: Settings) -> Project:
    """Return the project in `file`; what it leaves out comes from the settings."""
    return load_project(
        file,
        seam_allowance=settings.seam_allowance,
        usable_width=settings.usable_width,
        family_of=family_of_word,
    )
