"""The store itself: what is in it, whether it is whole, and copies of it."""

import os
import shutil
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from scrapstore.errors import StoreError
from scrapstore.store import Store

__all__ = ["StoreReport", "back_up_store", "look_over_store"]


@dataclass(frozen=True, kw_only=True)
class StoreReport:
    """A store looked over; `faults` has a sentence for each thing that is not as it should be.

    `database_bytes` and `photo_bytes` are what lies on the disk; `spare_photos` are files in the
    photo folder that neither a row nor the history names, which a call that was killed may leave;
    they do no harm.
    """

    folder: Path
    revision: str
    counts: dict[str, int]
    database_bytes: int
    photo_bytes: int
    spare_photos: int
    backups: tuple[str, ...]
    faults: tuple[str, ...]


def look_over_store(store: Store) -> StoreReport:
    """Count what is in the store, let SQLite check its file, and look for every photo's file."""
    with store.read() as reader:
        counts = reader.counts()
        named, remembered = reader.photo_files(), reader.photo_files(past=True)
    files = {
        path.name: path.stat().st_size
        for path in store.photo_folder.iterdir()
        if path.is_file() and not path.name.startswith(".")
    }
    missing = sorted(named - files.keys())
    faults = [f"photo file {name} is missing from {store.photo_folder}" for name in missing]
    return StoreReport(
        folder=store.folder,
        revision=store.revision(),
        counts=counts,
        database_bytes=store.database.stat().st_size,
        photo_bytes=sum(files.values()),
        spare_photos=len(files.keys() - remembered),
        backups=tuple(sorted(path.name for path in store.backup_folder.glob("*.db"))),
        faults=(*store.check(), *faults),
    )


def back_up_store(store: Store, to: Path | None = None) -> Path:
    """Copy the store and return where the copy is.

    Without `to` the database alone goes into the store's own backups folder, which guards against a
    mistake but not against a lost disk. With it the whole store, photos included, is copied into
    the new folder `to`, which can be opened as a store. Others may go on writing meanwhile.
    Raises StoreError when `to` is there already.
    """
    if to is None:
        moment = datetime.now(UTC).strftime("%Y%m%dT%H%M%S%f")
        target = store.backup_folder / f"store-{store.revision()}-{moment}.db"
        store.copy_database(target)
        return target
    to = to.expanduser()
    if to.exists():
        raise StoreError(f"{to} is there already; name a new folder for the copy")
    part = to.with_name(f".part-{os.getpid()}-{to.name}")
    try:
        part.mkdir(parents=True)
        store.copy_database(part / store.database.name)
        _copy_photos(store, part / store.photo_folder.name)
        part.rename(to)
    except OSError as error:
        msg = f"the store cannot be copied to {to} ({error}); make room or name another folder"
        raise StoreError(msg) from error
    finally:
        shutil.rmtree(part, ignore_errors=True)
    return to


def _copy_photos(store: Store, to: Path) -> None:
    """Copy the photos named now, which are at least those that the copied database names."""
    to.mkdir()
    with store.read() as reader:
        names = reader.photo_files(past=True)
    for name in names:
        if (store.photo_folder / name).is_file():
            shutil.copyfile(store.photo_folder / name, to / name)
