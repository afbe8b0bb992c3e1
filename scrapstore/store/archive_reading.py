"""Reading an archive that may come from anyone: into a folder made ready, checked, or refused.

Nothing is taken on trust: which files are in it, how large they say they are and are, their hashes,
each key and value of each row, and at last the store that they make, as ``store check`` sees it.
"""

import hashlib
import json
import re
import shutil
import stat
import struct
import zipfile
import zlib
from collections.abc import Iterator, Mapping
from itertools import islice
from pathlib import Path
from typing import Any, Final, cast

from shapely.errors import ShapelyError
from sqlalchemy import Connection, exc, insert
from sqlalchemy import column as sql_column
from sqlalchemy import table as sql_table

from scrapstore.errors import NotFoundError, ScrapstoreError, StoreError, StoreNewerError
from scrapstore.store.archive import FORMAT, MANIFEST, VERSION, table_file
from scrapstore.store.column_types import Checked, Document, Json
from scrapstore.store.engine import APPLICATION_ID, engine_on, writing
from scrapstore.store.files import PHOTO_NAME, write_whole
from scrapstore.store.migrate import HEAD, knows, upgrade, without_foreign_keys
from scrapstore.store.models import METADATA
from scrapstore.store.opening import open_store
from scrapstore.store.store import DATABASE, PHOTOS

__all__ = ["read_archive"]

_MOST_FILES: Final = 200_000
_LARGEST_MANIFEST: Final = 32_000_000
_LARGEST_TABLE: Final = 4_000_000_000
_LARGEST_PHOTO: Final = 200_000_000
_LONGEST_LINE: Final = 64_000_000  # a plan of many hundred pieces takes some ten
_MOST_EXPANDED: Final = 200.0
"""Times; JSON lines of a store shrink to a tenth or a thirtieth."""
_SMALL: Final = 1_000_000
"""Bytes that may be the content of however few."""
_AT_ONCE: Final = 500
_AS_IT_STANDS: Final = Json()
"""Of a column that holds a document: 4 is not to become 4.0."""
_UNREADABLE: Final = (
    zipfile.BadZipFile, zlib.error, struct.error, EOFError, NotImplementedError, OSError,
    RuntimeError, ValueError,
)  # fmt: skip
_NO_VALUE: Final = (
    ArithmeticError, AttributeError, LookupError, RecursionError, ShapelyError, TypeError,
    ValueError, exc.SQLAlchemyError, ScrapstoreError,
)  # fmt: skip


class _RefusedError(Exception):
    """Says why an archive is refused."""


def read_archive(file: Path, ready: Path) -> None:
    """Make the store that `file` holds in the empty folder `ready`, brought up to date.

    Raises NotFoundError without such a file, StoreNewerError for one of a newer program, StoreError
    saying why for one that is refused. Writes nowhere but in `ready`.
    """
    if not file.is_file():
        raise NotFoundError(f"there is no archive {file}; name a file that store export wrote")
    try:
        with zipfile.ZipFile(file) as archive:
            _read(archive, file.stat().st_size, ready)
    except _RefusedError as error:
        why = str(error)
    except _UNREADABLE as error:
        why = f"it is no whole zip file ({error})"
    else:
        return
    msg = f"{file} cannot be imported: {why}; nothing was changed. Export it anew"
    raise StoreError(msg)


def _read(archive: zipfile.ZipFile, size: int, ready: Path) -> None:
    entries = _entries(archive, size)
    _refuse_without_room(entries, ready)
    manifest = _manifest(archive, entries)
    photos = {name.partition("/")[2] for name in entries if name.startswith("photos/")}
    if photos != set(manifest["photos"]):
        raise _RefusedError("it does not hold the photos that it lists")
    for name in sorted(photos):
        _copy_photo(archive, entries[f"photos/{name}"], name, ready / PHOTOS)
    _make_database(archive, entries, manifest, ready)
    _check(ready, set(manifest["missing"]))


def _entries(archive: zipfile.ZipFile, size: int) -> dict[str, zipfile.ZipInfo]:
    """Return the files of the archive by name; refuse what no archive of ours has."""
    found: dict[str, zipfile.ZipInfo] = {}
    infos = archive.infolist()
    if len(infos) > _MOST_FILES:
        raise _RefusedError(f"it holds {len(infos):,} files")
    for info in infos:
        name, shown = info.filename, f"{info.filename[:80]!r}"
        if info.orig_filename != name or _largest(name) == 0:
            raise _RefusedError(f"it holds a file {shown}, which is none of an archive")
        if name in found:
            raise _RefusedError(f"it holds {shown} twice")
        kind = stat.S_IFMT(info.external_attr >> 16)
        if info.is_dir() or kind not in (0, stat.S_IFREG):
            raise _RefusedError(f"{shown} is no ordinary file")
        if info.flag_bits & 1 or info.compress_type not in (
            zipfile.ZIP_STORED,
            zipfile.ZIP_DEFLATED,
        ):
            raise _RefusedError(f"{shown} is encrypted or packed in a way that is not read")
        wide = max(_SMALL, _MOST_EXPANDED * info.compress_size)
        if info.file_size > min(_largest(name), wide):
            raise _RefusedError(f"{shown} would unpack to {info.file_size:,} bytes")
        found[name] = info
    if sum(info.compress_size for info in infos) > size:
        raise _RefusedError("its files lie over one another")
    if MANIFEST not in found:
        raise _RefusedError(f"it has no {MANIFEST}, so it is no archive of a store")
    return found


def _largest(name: str) -> int:
    """Return how large a file of this name may be; 0 for one that does not belong there."""
    if name == MANIFEST:
        return _LARGEST_MANIFEST
    folder, _, rest = name.partition("/")
    if folder == "photos" and PHOTO_NAME.fullmatch(rest):
        return _LARGEST_PHOTO
    suffix = {"tables": ".jsonl", "csv": ".csv"}.get(folder)
    plain = suffix is not None and re.fullmatch(rf"[a-z_]+{re.escape(suffix)}", rest)
    return _LARGEST_TABLE if plain else 0


def _refuse_without_room(entries: Mapping[str, zipfile.ZipInfo], ready: Path) -> None:
    needed = sum(info.file_size for info in entries.values())
    free = shutil.disk_usage(ready).free
    if needed > free / 2:
        msg = (
            f"unpacked it is {needed / 1e6:,.0f} MB, and {free / 1e6:,.0f} MB are free on the disk"
        )
        raise _RefusedError(msg)


def _manifest(archive: zipfile.ZipFile, entries: Mapping[str, zipfile.ZipInfo]) -> dict[str, Any]:
    with archive.open(entries[MANIFEST]) as stream:
        found = _json(stream.read(_LARGEST_MANIFEST), MANIFEST)
    if not isinstance(found, dict) or found.get("format") != FORMAT:
        raise _RefusedError(f"its {MANIFEST} is not of an archive of a store")
    if found.get("version") != VERSION:
        raise _RefusedError(f"it is of version {str(found.get('version'))[:20]} of the format")
    revision = found.get("revision")
    if not (isinstance(revision, str) and re.fullmatch("[0-9]{4}", revision)):
        raise _RefusedError("it does not say of which revision its tables are")
    if not knows(revision):
        raise StoreNewerError(
            f"the archive was written by a newer scrapstore (its tables are at {revision}, this "
            f"program knows them up to {HEAD}); update scrapstore"
        )
    tables = found.get("tables")
    if not isinstance(tables, dict) or not all(isinstance(one, dict) for one in tables.values()):
        raise _RefusedError("it does not list its tables")
    for key in ("photos", "missing"):
        names = found.get(key)
        if not isinstance(names, list) or not all(isinstance(name, str) for name in names):
            raise _RefusedError(f"its list of {key} is none")
    return found


def _json(text: bytes, where: str) -> Any:
    def refused(_value: str) -> Any:
        raise ValueError("no number")

    def once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        made = dict(pairs)
        if len(made) < len(pairs):
            raise ValueError("a key twice")
        return made

    try:
        return json.loads(text, parse_constant=refused, object_pairs_hook=once)
    except (ValueError, RecursionError) as error:
        raise _RefusedError(f"{where} is no JSON ({error})") from None


def _copy_photo(archive: zipfile.ZipFile, info: zipfile.ZipInfo, name: str, folder: Path) -> None:
    with archive.open(info) as stream:
        content = stream.read(info.file_size + 1)
    if hashlib.sha256(content).hexdigest() != name.partition(".")[0]:
        raise _RefusedError(f"the photo {name} is not the one of that name")
    write_whole(folder / name, content)


def _make_database(
    archive: zipfile.ZipFile,
    entries: Mapping[str, zipfile.ZipInfo],
    manifest: Mapping[str, Any],
    ready: Path,
) -> None:
    """Make tables of the archive's revision, fill them, and bring them up to date."""
    engine = writing(engine_on(ready / DATABASE))
    try:
        with (
            engine.connect() as connection,
            without_foreign_keys(connection),
            connection.begin(),
        ):
            connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")
            upgrade(connection, manifest["revision"])
            there = _columns(connection)
            named = {name: one.get("columns") for name, one in manifest["tables"].items()}
            if not all(isinstance(columns, list) for columns in named.values()):
                raise _RefusedError("it does not list the columns of its tables")
            listed = {name: sorted(map(str, columns)) for name, columns in named.items()}
            files = {name for name in entries if name.startswith("tables/")}
            wanted = {name: sorted(columns) for name, columns in there.items()}
            if listed != wanted or files != {table_file(name) for name in there}:
                other = sorted(n for n in wanted.keys() | listed if wanted.get(n) != listed.get(n))
                what = f" ({', '.join(other)[:80]})" if other else ""
                raise _RefusedError(f"its tables are not those of its revision{what}")
            for name, columns in there.items():
                info = entries[table_file(name)]
                _fill(connection, archive, info, name, columns, manifest["tables"][name])
            upgrade(connection)
    finally:
        engine.dispose()


def _columns(connection: Connection) -> dict[str, list[str]]:
    """Return the tables there are with their columns, those of this program alone."""
    names = connection.exec_driver_sql("SELECT name FROM sqlite_master WHERE type = 'table'")
    found = {
        name: list(
            connection.exec_driver_sql("SELECT name FROM pragma_table_info(?)", (name,)).scalars()
        )
        for name in names.scalars().all()
        if name != "alembic_version"
    }
    for name, columns in found.items():
        table = METADATA.tables.get(name)
        if table is None or not set(columns) <= set(table.c.keys()):
            raise _RefusedError(f"its table {name} is of an older scrapstore and no longer read")
    return found


def _fill(
    connection: Connection,
    archive: zipfile.ZipFile,
    info: zipfile.ZipInfo,
    name: str,
    columns: list[str],
    listed: Mapping[str, Any],
) -> None:
    kinds: dict[str, Checked] = {}
    for column in columns:
        kind = cast("Checked", METADATA.tables[name].c[column].type)
        kinds[column] = _AS_IT_STANDS if isinstance(kind, Document) else kind
    into = insert(sql_table(name, *(sql_column(column, kind) for column, kind in kinds.items())))
    rows = _rows(archive, info, kinds, listed)
    while chunk := list(islice(rows, _AT_ONCE)):
        try:
            connection.execute(into, [row for _, row in chunk])
        except _NO_VALUE as error:
            why = str(getattr(error, "orig", error))[:100]
            where = f"one of lines {chunk[0][0]} to {chunk[-1][0]} of {info.filename}"
            raise _RefusedError(f"{where} makes no row ({why})") from None


def _rows(
    archive: zipfile.ZipFile,
    info: zipfile.ZipInfo,
    kinds: Mapping[str, Checked],
    listed: Mapping[str, Any],
) -> Iterator[tuple[int, dict[str, Any]]]:
    """Give the rows of a table with the number of their line; refuse what was not exported so."""
    digest = hashlib.sha256()
    line = 0
    with archive.open(info) as stream:
        while text := stream.readline(_LONGEST_LINE + 1):
            line += 1
            where = f"line {line} of {info.filename}"
            if len(text) > _LONGEST_LINE:
                raise _RefusedError(f"{where} is too long")
            digest.update(text)
            found = _json(text, where)
            if not isinstance(found, dict) or found.keys() != kinds.keys():
                raise _RefusedError(f"{where} has not the columns of its table")
            if type(found["id"]) is not int:
                raise _RefusedError(f"{where} has no number")
            yield line, _values(found, kinds, where)
    if (line, digest.hexdigest()) != (listed.get("rows"), listed.get("sha256")):
        raise _RefusedError(f"{info.filename} is not the one that was exported")


def _values(found: Mapping[str, Any], kinds: Mapping[str, Checked], where: str) -> dict[str, Any]:
    values = {}
    for name, value in found.items():
        try:
            own = value is None or kinds[name] is _AS_IT_STANDS
            values[name] = value if own else kinds[name].from_json(value)
        except _NO_VALUE as error:
            raise _RefusedError(f"{where}: {name} makes no sense ({str(error)[:80]})") from None
    return values


def _check(ready: Path, missing: set[str]) -> None:
    """Refuse an archive that makes no whole store; photos that it lists as missing may be so."""
    try:
        with open_store(ready, make=False) as store:
            found = store.check()
    except StoreError as error:
        raise _RefusedError(str(error).partition(";")[0]) from None
    faults = [fault for fault in found.faults if fault.code != "photo"]
    if faults:
        raise _RefusedError(f"{faults[0].thing} {faults[0].wrong}")
    if not set(found.missing) <= missing:
        raise _RefusedError(f"it lacks photos that its records name ({found.missing[0]})")
