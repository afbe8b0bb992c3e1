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
    for folder in (_PACKAGE / "_shipped" / name, _PACKAGE.parent / name):
        if folder.is_dir():
            return folder
    msg = (
        f"the program's own folder {name!r} is missing beside {_PACKAGE}; install scrapstore again"
    )
    raise StoreError(msg)
