"""The archive of a store: one zip file that needs no program of ours to be read.

::

    archive.json           what it is: format, version, revision of the tables, program, moment,
                           rows and SHA-256 of each table, names of the photos, those missing
    tables/NAME.jsonl      a table: one JSON object a line, a key for each column
    photos/SHA256.jpg      the stored photos, byte for byte, named by their content
    csv/NAME.csv           the same tables for a spreadsheet; not read back

Outlines are GeoJSON geometries in inches, moments ISO 8601, numbers to the last bit: the form that
the history has, which `Checked.from_json` reads back exactly. Tables and columns are those of
`scrapstore.store.models`, so a new one is in the archive without being listed.
"""

import csv
import hashlib
import io
import json
import os
import zipfile
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

import shapely
from sqlalchemy import Table

from scrapstore.errors import StoreDamagedError, StoreError
from scrapstore.store.files import sync_folder
from scrapstore.store.stored_rows import StoredRow, StoredTables

__all__ = ["FORMAT", "MANIFEST", "VERSION", "table_file", "write_archive"]

FORMAT: Final = "scrapstore archive"
VERSION: Final = 1
MANIFEST: Final = "archive.json"
_LONGEST_CELL: Final = 32_000
"""Characters; spreadsheets take no more in a cell."""
_FORMULA: Final = ("=", "+", "-", "@", "\t", "\r")
"""What a text begins with that a spreadsheet would work out instead of showing it."""


def table_file(name: str) -> str:
    """Return where the table of this name lies in an archive."""
    return f"tables/{name}.jsonl"


def write_archive(
    file: Path,
    tables: StoredTables,
    revision: str,
    photos: Sequence[str],
    picture: Callable[[str], bytes | None],
) -> None:
    """Write the archive `file`: whole, or not at all.

    `picture` gives the content of each of `photos` by name, None for one that is missing. Raises
    StoreError when `file` is there already or cannot be written, and StoreDamagedError when a value
    cannot be read.
    """
    if file.exists():
        raise StoreError(f"{file} is there already; name a new file for the archive")
    lines = {table: _lines(table, rows.values()) for table, rows in tables.rows.items()}
    part = file.with_name(f".part-{os.getpid()}-{file.name}")
    missing = []
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        with zipfile.ZipFile(part, "w", zipfile.ZIP_DEFLATED) as archive:
            for table, text in lines.items():
                archive.writestr(table_file(table.name), text)
                archive.writestr(f"csv/{table.name}.csv", _csv(table, tables.rows[table].values()))
            for name in photos:
                content = picture(name)
                if content is None:
                    missing.append(name)
                else:
                    archive.writestr(f"photos/{name}", content, zipfile.ZIP_STORED)
            kept = [name for name in photos if name not in missing]
            manifest = _manifest(lines, revision, kept, missing)
            archive.writestr(MANIFEST, json.dumps(manifest, indent=1))
        with part.open("rb+") as stream:
            os.fsync(stream.fileno())
        part.rename(file)
        sync_folder(file.parent)
    except OSError as error:
        msg = f"{file} cannot be written ({error.strerror}); make room or name another file"
        raise StoreError(msg) from error
    finally:
        part.unlink(missing_ok=True)


def _manifest(
    lines: Mapping[Table, bytes], revision: str, photos: list[str], missing: list[str]
) -> dict[str, Any]:
    from scrapstore import __version__

    return {
        "format": FORMAT,
        "version": VERSION,
        "revision": revision,
        "program": __version__,
        "made": datetime.now(UTC).isoformat(),
        "tables": {
            table.name: {
                "rows": text.count(b"\n"),
                "columns": list(table.c.keys()),
                "sha256": hashlib.sha256(text).hexdigest(),
            }
            for table, text in lines.items()
        },
        "photos": photos,
        "missing": missing,
    }


def _lines(table: Table, rows: Iterable[StoredRow]) -> bytes:
    found = []
    for row in rows:
        if row.unreadable:
            column, why = next(iter(row.unreadable.items()))
            msg = f"{table.name} {row.number} has an unreadable {column} ({why}), so nothing was "
            raise StoreDamagedError(f"{msg}exported; run store check --mend first")
        found.append(json.dumps(dict(row.plain), allow_nan=False) + "\n")
    return "".join(found).encode()


def _csv(table: Table, rows: Iterable[StoredRow]) -> str:
    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerow(table.c.keys())
    for row in rows:
        writer.writerow([_cell(row.plain[name]) for name in table.c.keys()])  # noqa: SIM118 - no dict
    return "\ufeff" + text.getvalue()  # spreadsheets know UTF-8 by that


def _cell(value: Any) -> Any:
    if value is None or isinstance(value, bool | int | float):
        return value
    if isinstance(value, dict) and set(value) == {"type", "coordinates"}:
        value = shapely.to_wkt(shapely.geometry.shape(value), rounding_precision=4)
    elif not isinstance(value, str):
        value = json.dumps(value, ensure_ascii=False)
    if len(value) > _LONGEST_CELL:
        return "(too long for a spreadsheet: see tables)"
    return f"'{value}" if value.startswith(_FORMULA) else value
