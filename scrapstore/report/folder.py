"""A folder of sheets: only what the program wrote there itself is overwritten or removed.

It keeps a list of its own in the folder, with a hash for each file. A file that is not on it, or
that was changed since, is somebody's.
"""

import hashlib
import json
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Final

from scrapstore.errors import SheetError

__all__ = ["LIST_NAME", "check_folder", "write_folder"]

LIST_NAME: Final = ".scrapstore-sheets.json"
_OURS: Final = re.compile(r"index\.html|scrap-[0-9]+\.svg|(cutting-sheets|templates)\.pdf")
"""Names that a list may hold: nothing else is ever removed."""


def write_folder(folder: Path, files: Mapping[str, str | bytes]) -> list[Path]:
    """Write `files` (name to content) into `folder`, which is made; return them in the order given.

    Sheets of an earlier call are removed, so that the folder never holds two plans at once;
    those that were changed since, and all other files, stay. Nothing is written when one of `files`
    would overwrite such a one. Raises SheetError then, and when the folder cannot be written.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        listed = _read_list(folder)
        for name in files:
            _check_free(folder / name, listed)
        contents = {
            name: content.encode() if isinstance(content, str) else content
            for name, content in files.items()
        }
        hashes = {name: [_hash(content)] for name, content in contents.items()}
        parts = {name: folder / f".part-{name}" for name in files}
        try:
            for name, content in contents.items():
                parts[name].write_bytes(content)
            # Whatever happens from here on, old and new files are known as the program's own.
            both = {n: [*listed.get(n, []), *hashes.get(n, [])] for n in {**listed, **hashes}}
            _write_list(folder, both)
            for name, part in parts.items():
                part.replace(folder / name)
        finally:
            for part in parts.values():
                part.unlink(missing_ok=True)
        for name in listed.keys() - files.keys():
            if _is_own(folder / name, listed):
                (folder / name).unlink()
        _write_list(folder, hashes)
    except OSError as error:
        raise _unwritable(folder, error) from error
    return [folder / name for name in files]


def check_folder(folder: Path) -> None:
    """Raise SheetError where sheets could not be written to `folder`: before a long search."""
    try:
        _check_free(folder / "index.html", _read_list(folder))
    except OSError as error:
        raise _unwritable(folder, error) from error


def _unwritable(folder: Path, error: OSError) -> SheetError:
    msg = f"the sheets cannot be written to {folder} ({error.strerror}); name another --sheets"
    return SheetError(msg)


def _check_free(file: Path, listed: Mapping[str, list[str]]) -> None:
    """Raise SheetError where `file` is there and not as the program wrote it."""
    if (file.exists() or file.is_symlink()) and not _is_own(file, listed):
        listed_once = file.name in listed
        why = "was changed since it was written" if listed_once else "was not written as a sheet"
        msg = (
            f"the sheets cannot be written: {file} {why}, so it stays as it is; move it away, or "
            "name another folder with --sheets"
        )
        raise SheetError(msg)


def _is_own(file: Path, listed: Mapping[str, list[str]]) -> bool:
    """Return whether a file is there just as the program wrote it."""
    known = listed.get(file.name, [])
    return file.is_file() and not file.is_symlink() and _hash(file.read_bytes()) in known


def _hash(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def _read_list(folder: Path) -> dict[str, list[str]]:
    """Return the hashes by file name; nothing where there is no list, or none that can be read."""
    try:
        found = json.loads((folder / LIST_NAME).read_bytes())
    except (FileNotFoundError, ValueError):
        return {}
    if not isinstance(found, dict):
        return {}
    return {
        name: [one for one in hashes if isinstance(one, str)]
        for name, hashes in found.items()
        if _OURS.fullmatch(name) and isinstance(hashes, list)
    }


def _write_list(folder: Path, hashes: Mapping[str, list[str]]) -> None:
    part = folder / f".part-{LIST_NAME.removeprefix('.')}"
    part.write_text(json.dumps(hashes, indent=1), encoding="utf-8")
    part.replace(folder / LIST_NAME)
