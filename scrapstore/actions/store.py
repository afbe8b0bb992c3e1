"""The store itself: what is in it, whether it is whole, and copies of it."""

import os
import shutil
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from scrapstore.errors import SettingsError, StoreDamagedError, StoreError
from scrapstore.settings import load_settings
from scrapstore.store import (
    RESTORE,
    Checkup,
    Restored,
    Store,
    StoreFault,
    import_archive,
    open_store,
    restore,
    store_folder,
)

__all__ = [
    "Backup",
    "StoreCheck",
    "StoreReport",
    "back_up_store",
    "check_store",
    "export_store",
    "import_store",
    "look_over_store",
    "restore_store",
]


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


@dataclass(frozen=True, kw_only=True)
class StoreCheck:
    """A store checked: `faults` are what is wrong, `notes` tell what does no harm.

    `mended` are the faults that were put right, and `backup` the copy made before.
    """

    folder: Path
    faults: tuple[StoreFault, ...]
    notes: tuple[str, ...]
    mended: tuple[StoreFault, ...] = ()
    backup: Path | None = None


def look_over_store(store: Store) -> StoreReport:
    """Count what is in the store, let SQLite check its file, and read every photo's file.

    Raises StoreError when a folder of the store cannot be looked into.
    """
    with store.read() as reader:
        counts = reader.counts()
        remembered = reader.photo_files(past=True)
    files = {path.name: path.stat().st_size for path in _inside(store.photo_folder)}
    backups = [path.name for path in _inside(store.backup_folder) if path.suffix == ".db"]
    return StoreReport(
        folder=store.folder,
        revision=store.revision(),
        counts=counts,
        database_bytes=store.database.stat().st_size,
        photo_bytes=sum(files.values()),
        spare_photos=len(files.keys() - remembered),
        backups=tuple(sorted(backups)),
        faults=tuple(map(str, store.check().faults)),
    )


def check_store(
    folder: Path | str | None,
    notify: Callable[[str], None],
    *,
    mend: bool = False,
    look_in: Sequence[Path] = (),
) -> StoreCheck:
    """Check the store in `folder` (`store_folder`): its file, every row, the history, the pictures.

    A store that cannot even be opened is a fault too. Nothing is changed, but that a store of an
    older program is brought up to date; and that with `mend` what can be mended is, with pictures
    from the folders `look_in`. Raises NotFoundError when there is no store.
    """
    where = store_folder(folder)
    try:
        with open_store(folder, make=False, notify=notify) as store:
            found = before = store.check()
            backup = None
            if mend and _can_mend(found):
                backup, found = store.mend(look_in)
            notes = _notes(store, found)
    except StoreDamagedError as error:
        return StoreCheck(folder=where, faults=(_unopened(where, error),), notes=())
    faults = (*found.faults, *_settings_faults())
    mended = tuple(fault for fault in before.faults if fault not in found.faults)
    return StoreCheck(folder=where, faults=faults, notes=notes, mended=mended, backup=backup)


def _can_mend(found: Checkup) -> bool:
    """Return whether there is anything to mend, and a whole file to mend it in."""
    broken = [f for f in found.faults if f.code in ("database", "tables") and not f.mends]
    return not broken and any(fault.mends for fault in found.faults)


def _unopened(folder: Path, error: StoreDamagedError) -> StoreFault:
    return StoreFault(
        code="database",
        thing=f"the store in {folder}",
        wrong=f"cannot be read ({str(error).partition('. ')[0]})",
        lost="what was recorded since the last copy of it; pictures lie by themselves in photos",
        remedy=f"go back to a copy: {RESTORE}; copies of the records are in {folder / 'backups'}",
    )


def _settings_faults() -> list[StoreFault]:
    try:
        load_settings()
    except SettingsError as error:
        return [
            StoreFault(
                code="settings",
                thing="the settings file",
                wrong=f"cannot be used ({error})",
                lost="what you set there, until it is put right; no record of the store",
                remedy="put that line right or take it out, or update scrapstore where a newer one "
                "wrote it",
            )
        ]
    return []


def _notes(store: Store, found: Checkup) -> tuple[str, ...]:
    """Return what does no harm: spare files, and pictures that are known to be missing."""
    named: set[str] = set()
    with suppress(StoreDamagedError), store.read() as reader:
        named = reader.photo_files(past=True)
    inside = {path.name for path in _inside(store.photo_folder)}
    spare = sorted(inside - named) if named or not found.faults else []
    notes = [f"picture {name} is missing, as a mend noted" for name in found.noted_missing]
    if spare:
        few = ", ".join(spare[:2]) + (", ..." if len(spare) > 2 else "")
        notes.append(
            f"{len(spare)} spare file{'' if len(spare) == 1 else 's'} in {store.photo_folder} "
            f"({few}): no record needs them, they do no harm"
        )
    return tuple(notes)


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
        return Backup(path=store.back_up(), faults=())
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


def restore_store(
    folder: Path | str | None, backup: Path, notify: Callable[[str], None]
) -> Restored:
    """Go back to `backup`, what the store holds now kept; see `scrapstore.store.restore`."""
    return restore(store_folder(folder), backup, notify)


def export_store(store: Store, file: Path) -> Backup:
    """Write the whole store into the archive `file`; say which pictures are missing from it.

    Raises StoreError when `file` is there already, and when the store is not whole.
    """
    lost = store.export(file)
    return Backup(path=file, faults=tuple(f"photo file {name} is missing" for name in lost))


def import_store(
    folder: Path | str | None, file: Path, notify: Callable[[str], None]
) -> StoreCheck:
    """Put an archive into an empty store; see `scrapstore.store.import_archive`."""
    where = store_folder(folder)
    found = import_archive(where, file, notify)
    return StoreCheck(folder=where, faults=found.faults, notes=())


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
