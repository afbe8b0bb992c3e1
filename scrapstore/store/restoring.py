"""Going back to a backup: a whole copy of a store, or a copy of its records alone.

The backup is copied, brought up to date and checked before anything is touched. What the store
holds now goes into its backups folder; its photos stay where they are, so that copy is whole too.
"""

import os
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from scrapstore.errors import NotFoundError, StoreDamagedError, StoreError
from scrapstore.store.checking import Checkup
from scrapstore.store.engine import sqlite_errors_as_ours
from scrapstore.store.files import copy_database, read_by_content
from scrapstore.store.opening import open_store
from scrapstore.store.replacing import bring_photos, replace_file, staging
from scrapstore.store.store import BACKUPS, DATABASE, PHOTOS

__all__ = ["Restored", "restore"]

_OF_THE_FILE: Final = ("database", "tables")


@dataclass(frozen=True, kw_only=True)
class Restored:
    """A store gone back to the backup `source`; `kept` is what it held before, None if nothing.

    `checkup` is of the store as it is now.
    """

    folder: Path
    source: Path
    kept: Path | None
    checkup: Checkup


def restore(folder: Path, backup: Path, notify: Callable[[str], None]) -> Restored:
    """Put the content of `backup` into the store in `folder`, which is made if it is not there.

    `backup` is a folder that ``store backup`` made, or a file of a store's backups folder (its name
    suffices). Raises NotFoundError when there is none, and StoreError when it is not whole or is
    the store itself; nothing is changed then.
    """
    source = _found(folder, backup)
    database = source / DATABASE if source.is_dir() else source
    here = folder / DATABASE
    if here.exists() and database.exists() and here.samefile(database):
        raise StoreError(f"{backup} is the store itself; name a copy of it")
    photos = source / PHOTOS if source.is_dir() else folder / PHOTOS
    with staging(folder) as ready:
        names = _make_ready(backup, database, ready, (photos, folder / PHOTOS))
        bring_photos(names, photos, folder / PHOTOS)
        kept = _put_in_place(folder, ready / DATABASE, notify)
    with open_store(folder, notify=notify) as store:
        return Restored(folder=folder, source=source, kept=kept, checkup=store.check())


def _found(folder: Path, backup: Path) -> Path:
    for path in (backup, folder / BACKUPS / backup):
        if path.is_file() or (path / DATABASE).is_file():
            return path
    msg = (
        f"there is no backup {backup}; name a folder that store backup made, or a file of "
        f"{folder / BACKUPS}"
    )
    raise NotFoundError(msg)


def _make_ready(backup: Path, database: Path, ready: Path, photos: tuple[Path, ...]) -> set[str]:
    """Copy the records of a backup to `ready`, of this revision; return the photos they name."""
    try:
        with sqlite_errors_as_ours(database):
            copy_database(database, ready / DATABASE, frozen=not os.access(database, os.W_OK))
        with open_store(ready, make=False) as copy:
            found = copy.check(
                lambda name: any(read_by_content(place / name) is not None for place in photos)
            )
            faults = [fault for fault in found.faults if fault.code != "photo"]
            if not faults:
                with copy.read() as reader:
                    return reader.photo_files(past=True)
    except (StoreDamagedError, NotFoundError) as error:
        msg = f"{backup} is no whole backup ({str(error).partition('; ')[0]})"
        raise StoreError(f"{msg}; nothing was changed. Name another one") from error
    many = f" ({len(faults)} faults)" if len(faults) > 1 else ""
    msg = f"{backup} is not whole: {faults[0].thing} {faults[0].wrong}{many}"
    raise StoreError(
        f"{msg}; nothing was changed. Name another one, or mend this one first: scrapstore store "
        f"check --mend --store {backup}"
    )


def _put_in_place(folder: Path, database: Path, notify: Callable[[str], None]) -> Path | None:
    """Replace what is in the store by what is in `database`; return where the old is kept."""
    try:
        with open_store(folder, notify=notify) as store:
            # Of a file with damaged pages not even the old rows can be taken out.
            if not any(fault.code in _OF_THE_FILE for fault in store.check().faults):
                kept = None if store.is_empty() else store.back_up()
                store.take_over(database)
                return kept
    except StoreDamagedError:
        pass  # so its file is of no more use
    return replace_file(folder / DATABASE, database, folder / BACKUPS)
