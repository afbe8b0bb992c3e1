"""A new project file in its place; never over one that is there."""

from pathlib import Path

from scrapstore.errors import ProjectError

__all__ = ["write_new"]


def write_new(file: Path, text: str) -> Path:
    """Write `text` to `file` and return where it is.

    Raises ProjectError when something is there already or the place cannot be written.
    """
    try:
        with file.open("x", encoding="utf-8", newline="\n") as out:
            out.write(text)
    except FileExistsError:
        msg = f"{file} is there already and stays as it is; choose another name"
        raise ProjectError(msg) from None
    except OSError as error:
        msg = f"{file} cannot be written ({error.strerror}); choose another place"
        raise ProjectError(msg) from error
    return file.resolve()
