"""Project files: write one to start from, and read one."""

from pathlib import Path

from scrapstore.colour import family_of_word
from scrapstore.errors import ProjectError
from scrapstore.projects import Project, load_project, starter_text, stock_list_text
from scrapstore.settings import Settings

__all__ = ["read_project_file", "write_starter"]


def write_starter(file: Path, *, stock_list: bool = False) -> Path:
    """Write a commented file to start from and return where it is.

    It is a project file, with `stock_list` one of the sizes that are always kept in stock.

    Raises ProjectError when something is there already or the place cannot be written.
    """
    try:
        with file.open("x", encoding="utf-8", newline="\n") as out:
            out.write(stock_list_text() if stock_list else starter_text())
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
