"""Taking an archive into an empty store: all of it, or nothing."""

from collections.abc import Callable
from pathlib import Path

from scrapstore.errors import StoreError
from scrapstore.store.archive_reading import read_archive
from scrapstore.store.checking import Checkup
from scrapstore.store.opening import open_store
from scrapstore.store.replacing import bring_photos, staging
from scrapstore.store.store import DATABASE, PHOTOS

__all__ = ["import_archive"]


def import_archive(folder: Path, file: Path, notify: Callable[[str], None]) -> Checkup:
    """Put the content of the archive `file` into the store in `folder`, which must be empty.

    It is made if it is not there. Return a checkup of it. Raises StoreError when the store is not
    empty or the archive is refused; nothing is changed then, and nothing is left in a new folder.
    """
    new = not folder.exists()
    try:
        if (folder / DATABASE).exists():
            with open_store(folder, notify=notify) as store:
                store.refuse_not_empty()
        with staging(folder) as ready:
            read_archive(file, ready)
            with open_store(folder, notify=notify) as store:
                # Once more when the rows are written: another process may have added something.
                names = {path.name for path in (ready / PHOTOS).glob("*")}
                bring_photos(names, ready / PHOTOS, store.photo_folder)
                store.take_over(ready / DATABASE, only_into_empty=True)
                return store.check()
    except StoreError:
        if new and folder.is_dir() and not any(folder.iterdir()):
            folder.rmdir()
        raise
