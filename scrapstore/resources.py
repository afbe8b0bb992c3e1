"""Where the files that travel with the program lie: migrations, sample photos.

In an installed copy they are package data under ``scrapstore/_shipped``; in a source tree they are
folders beside the package.
"""

from pathlib import Path

from scrapstore.errors import StoreError

__all__ = ["resource_folder"]

_PACKAGE = Path(__file__).resolve().parent


def resource_folder(name: str) -> Path:
    """Return the folder of shipped files called `name`, such as ``migrations``.

    Raises StoreError when the installation is not whole.
    """
    shipped = _PACKAGE / "_shipped" / name
    if shipped.is_dir():
        return shipped
    # Beside an installed copy lie the folders of other packages, which may have the same names.
    beside = _PACKAGE.parent / name
    if _is_source_tree(_PACKAGE.parent) and beside.is_dir():
        return beside
    msg = (
        f"the program's own folder {name!r} is missing beside {_PACKAGE}; install scrapstore again"
    )
    raise StoreError(msg)


def _is_source_tree(folder: Path) -> bool:
    try:
        described = (folder / "pyproject.toml").read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError):
        return False
    return '\nname = "scrapstore"\n' in described
