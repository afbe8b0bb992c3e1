"""An open store: reading, changing, photos, backups."""

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Final, Self

from sqlalchemy import Connection, Engine

from scrapstore.errors import StoreDamagedError, StoreError
from scrapstore.store.archive import write_archive
from scrapstore.store.checking import Checkup, check_up
from scrapstore.store.engine import sqlite_errors_as_ours, writing
from scrapstore.store.files import (
    copy_database,
    found_by_content,
    read_by_content,
    write_by_content,
)
from scrapstore.store.forms import Box, CutOut, CutOutImage, NewScrap
from scrapstore.store.mending import mend
from scrapstore.store.migrate import revision_of, without_foreign_keys
from scrapstore.store.reader import Reader
from scrapstore.store.replacing import NOT_EMPTY, attached, holds_nothing, replace_rows
from scrapstore.store.stored_rows import stored_tables
from scrapstore.store.undo import take_back
from scrapstore.store.writer import Writer

__all__ = ["BACKUPS", "DATABASE", "PHOTOS", "Store"]

DATABASE: Final = "store.db"
PHOTOS: Final = "photos"
BACKUPS: Final = "backups"


class Store:
    """A store that `open_store` opened; one folder with the database, the photos and backups.

    Read in one consistent view with `read`, change in one transaction with `change`. Both may be
    used from several threads and processes at once; changes wait for one another.
    """

    def __init__(
        self,
        folder: Path,
        engine: Engine,
        *,
        read_only: bool = False,
        notify: Callable[[str], None] = lambda _sentence: None,
    ) -> None:
        self.folder = folder
        self._engine = engine
        self._read_only = read_only
        self._notify = notify
        self._damaged_reported: set[str] = set()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    @property
    def database(self) -> Path:
        """The SQLite file."""
        return self.folder / DATABASE

    @property
    def photo_folder(self) -> Path:
        """The folder of the stored photos."""
        return self.folder / PHOTOS

    @property
    def backup_folder(self) -> Path:
        """The folder of the copies made before migrations, or when asked for."""
        return self.folder / BACKUPS

    def revision(self) -> str:
        """Return the revision of the store's tables."""
        with sqlite_errors_as_ours(self.database), self._engine.connect() as connection:
            return revision_of(connection) or ""

    def check(self, holds: Callable[[str], bool] | None = None) -> Checkup:
        """Look over the file, every row, the history and every picture; nothing is changed.

        `holds` says whether a picture is there and whole, where they are not in the photo folder.
        """
        with sqlite_errors_as_ours(self.database), self._engine.connect() as connection:
            return check_up(connection, holds or self.holds)

    def is_empty(self) -> bool:
        """Return whether nothing was ever recorded."""
        with sqlite_errors_as_ours(self.database), self._engine.connect() as connection:
            return holds_nothing(connection)

    def refuse_not_empty(self) -> None:
        """Raise StoreError when anything was ever recorded."""
        if not self.is_empty():
            raise StoreError(NOT_EMPTY)

    def take_over(self, database: Path, *, only_into_empty: bool = False) -> None:
        """Replace all rows by those of `database`, a store's file of this revision, or none.

        The photos that they name must be there already. StoreError when `only_into_empty` and this
        store holds anything.
        """
        self.refuse_read_only()
        with (
            sqlite_errors_as_ours(self.database),
            writing(self._engine).connect() as connection,
            attached(connection, database),
            without_foreign_keys(connection),
            connection.begin(),
        ):
            replace_rows(connection, only_into_empty=only_into_empty)

    def export(self, file: Path) -> tuple[str, ...]:
        """Write all of the store into the new archive `file`; return the names of lost pictures.

        Raises StoreDamagedError when the store is not whole: it could not be imported again.
        """
        with (
            sqlite_errors_as_ours(self.database),
            self._engine.connect() as connection,
            connection.begin(),
        ):
            faults = [f for f in check_up(connection, self.holds).faults if f.code != "photo"]
            if faults:
                first = f"{faults[0].thing} {faults[0].wrong}"
                msg = f"nothing was exported, as the store is not whole: {first}; run store check"
                raise StoreDamagedError(f"{msg} --mend first")
            tables = stored_tables(connection)
            reader = Reader(connection)
            needed, names = reader.photo_files(), reader.photo_files(past=True)
        there = {name for name in names if self.holds(name)}
        kept = sorted(needed | there)
        write_archive(file, tables, self.revision(), kept, self.whole_picture)
        return tuple(sorted(needed - there))

    def whole_picture(self, file_name: str) -> bytes | None:
        """Return the content of a file in the photo folder; None when it is not there and whole."""
        return read_by_content(self.photo_folder / file_name)

    def mend(self, look_in: Sequence[Path] = ()) -> tuple[Path, Checkup]:
        """Mend what is damaged, after a copy of the records; return the copy and a new checkup.

        Pictures that are missing are looked for in the photo folder under other names, and in
        `look_in`: whole copies of a store, or folders of photos.
        """
        self.refuse_read_only()
        copy = self.back_up()
        for name in self.check().missing:
            content = found_by_content(name, [self.photo_folder, *look_in])
            if content is not None:
                self.keep_photo(content, Path(name).suffix)
        with (
            sqlite_errors_as_ours(self.database),
            writing(self._engine).connect() as connection,
            without_foreign_keys(connection),
            connection.begin(),
        ):
            mend(connection, self.holds)
        return copy, self.check()

    def back_up(self) -> Path:
        """Copy the database into the backups folder under a new name; return where it is."""
        moment = datetime.now(UTC).strftime("%Y%m%dT%H%M%S%f")
        target = self.backup_folder / f"store-{self.revision()}-{moment}.db"
        self.copy_database(target)
        return target

    def copy_database(self, target: Path) -> None:
        """Copy the database to the new file `target`; photos are not in it."""
        with sqlite_errors_as_ours(self.database):
            copy_database(self.database, target, frozen=self._read_only)

    def close(self) -> None:
        """Let go of the file; SQLite then folds its log back into it."""
        self._engine.dispose()

    @contextmanager
    def read(self) -> Iterator[Reader]:
        """Give a view of the store as it is now; it does not move while others write."""
        with sqlite_errors_as_ours(self.database), self._engine.connect() as connection:
            yield Reader(connection)

    @contextmanager
    def change(self, what: str) -> Iterator[Writer]:
        """Give a writer whose changes are all kept, with their history, or none of them.

        `what` names the change in the history, such as ``scrap edit``. When the block raises,
        nothing is kept. The right to write is taken at once, so what the writer reads stays true.
        """
        with self._transaction() as connection:
            yield Writer(connection, what)

    def undo(self, numbers: Sequence[int]) -> dict[int, int]:
        """Take back the changes with these numbers, newest first, in one transaction.

        Return the number of each undo by that of what it took back. See `scrapstore.store.undo`.
        """
        with self._transaction() as connection:
            return take_back(connection, numbers)

    @contextmanager
    def _transaction(self) -> Iterator[Connection]:
        self.refuse_read_only()
        with (
            sqlite_errors_as_ours(self.database),
            writing(self._engine).connect() as connection,
            connection.begin(),
        ):
            yield connection

    def keep_photo(self, content: bytes, suffix: str) -> str:
        """Write a photo's stored copy under its content hash; return its name for `NewPhoto`.

        To be called before the change that adds its row: a row then never lacks its file.
        """
        self.refuse_read_only()
        return write_by_content(self.photo_folder, content, suffix)

    def keep_cut_out(self, content: bytes, box: Box) -> CutOut:
        """Write the picture of a scrap alone, a JPEG over `box`; return it for `NewScrap`.

        To be called before the change that adds the scrap, as `keep_photo`.
        """
        return CutOut(self.keep_photo(content, ".jpg"), box)

    def cut_out(self, scrap: NewScrap) -> CutOutImage | None:
        """Return the picture of `scrap` alone; None without one, or when its file is gone."""
        if scrap.cut_out is None:
            return None
        data = self.picture(scrap.cut_out.file_name)
        return None if data is None else CutOutImage(data, scrap.cut_out.box)

    def picture(self, file_name: str) -> bytes | None:
        """Return the content of a file in the photo folder; None when it is gone or damaged.

        A damaged one is reported to the user, once: its name is the hash of what it held.
        """
        file = self.photo_folder / file_name
        data = read_by_content(file)
        if data is None and file.exists() and file_name not in self._damaged_reported:
            self._damaged_reported.add(file_name)
            self._notify(
                f"the stored picture {file} is damaged and was left out; log its photo again to "
                "repair it"
            )
        return data

    def holds(self, file_name: str) -> bool:
        """Return whether this file of the photo folder is there and whole."""
        return self.whole_picture(file_name) is not None

    def refuse_read_only(self) -> None:
        """Raise StoreError for a store that can be looked at, not changed."""
        if self._read_only:
            msg = (
                f"{self.folder} is read-only: it can be looked at, not changed. Copy it to where "
                "you can write (store backup FOLDER) and name the copy with --store"
            )
            raise StoreError(msg)
