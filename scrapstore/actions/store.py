"""The store itself: what is in it, whether it is whole, and copies of it."""

import os
import shutil
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from scrapstore.errors import StoreError
from scrapstore.store import Store

__all__ = ["Backup", "StoreReport", "back_up_store", "look_over_store"]


@dataclass(frozen=True, kw_only=True)
class Backup:
    """A copy of the store; `faults` has a sentence for each picture that is not whole in it."""

    path: Path
    faults: tuple[str, ...]


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
    """Count what is in the store, let SQLite check its file, and read every photo's file.

    Raises StoreError when a folder of the store cannot be looked into.
    """
    with store.read() as reader:
        counts = reader.counts()
        named, remembered = reader.photo_files(), reader.photo_files(past=True)
    files = {path.name: path.stat().st_size for path in _inside(store.photo_folder)}
    faults = [
        f"photo file {name} {'is damaged in' if name in files else 'is missing from'} "
        f"{store.photo_folder}"
        for name in sorted(named)
        if not store.holds(name)
    ]
    backups = [path.name for path in _inside(store.backup_folder) if path.suffix == ".db"]
    return StoreReport(
        folder=store.folder,
        revision=store.revision(),
        counts=counts,
        database_bytes=store.database.stat().st_size,
        photo_bytes=sum(files.values()),
        spare_photos=len(files.keys() - remembered),
        backups=tuple(sorted(backups)),
        faults=(*store.check(), *faults),
    )


def _inside(folder: Path) -> list[Path]:
    """Return the files in `folder`, none when it is not there; StoreError when it cannot be read.

    Left out are those whose names begin with a dot: half written, or of the system.
    """
    try:
        return [
            path for path in folder.iterdir() if path.is_file() and not path.name.startswith(".")
        ]
    except FileNotFoundError:
        return []
    except OSError as error:
        msg = f"{folder} cannot be looked into ({error.strerror}); check it and its permissions"
        raise StoreError(msg) from error


def back_up_store(store: Store, to: Path | None = None) -> Backup:
    """Copy the store and say where the copy is, and which pictures in it are not whole.

    Without `to` the database alone goes into the store's own backups folder, which guards against a
    mistake but not against a lost disk. With it the whole store, photos included, is copied into
    the new folder `to`, which can be opened as a store. Others may go on writing meanwhile.
    Raises StoreError when `to` is there already.
    """
    if to is None:
        moment = datetime.now(UTC).strftime("%Y%m%dT%H%M%S%f")
        target = store.backup_folder / f"store-{store.revision()}-{moment}.db"
        store.copy_database(target)
        return Backup(path=target, faults=())
    try:
        to = to.expanduser()
    except RuntimeError:
        raise StoreError(f"{to}: there is no such user; name the folder in full") from None
    if to.exists():
        raise StoreError(f"{to} is there already; name a new folder for the copy")
    part = to.with_name(f".part-{os.getpid()}-{to.name}")
    try:
        part.mkdir(parents=True)
        store.copy_database(part / store.database.name)
        faults = _copy_photos(store, part / store.photo_folder.name)
        part.rename(to)
    except OSError as error:
        msg = f"the store cannot be copied to {to} ({error}); make room or name another folder"
        raise StoreError(msg) from error
    finally:
        shutil.rmtree(part, ignore_errors=True)
    return Backup(path=to, faults=faults)


def _copy_photos(store: Store, to: Path) -> tuple[str, ...]:
    """Copy the photos named now, which are at least those that the copied database names.

    Return a sentence for each that is missing or damaged. A damaged one is copied all the same, as
    it may be all there is of that picture.
    """
    to.mkdir()
    with store.read() as reader:
        needed, names = reader.photo_files(), reader.photo_files(past=True)
    faults = []
    for name in sorted(names):
        file = store.photo_folder / name
        there = file.is_file()
        if there:
            shutil.copyfile(file, to / name)
        if name in needed and not there:
            faults.append(f"photo file {name} is missing from the store")
        elif there and not store.holds(name):
            faults.append(f"photo file {name} is damaged")
    return tuple(faults)
