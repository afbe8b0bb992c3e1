"""Reading TOML from a file that may be anything: a pipe, a device, far too long, nested deeply."""

import os
import stat
import tomllib
from pathlib import Path
from typing import Any, Final

__all__ = ["NotTomlError", "UnreadableFileError", "parsed_toml", "toml_text"]

_MOST_BYTES: Final = 1_000_000
_DEEPEST: Final = 20


class UnreadableFileError(Exception):
    """The file cannot be read as text; says why and what to do, without the file's name."""


class NotTomlError(ValueError):
    """The text is not TOML, or TOML that no file of ours needs; says why and, if known, where."""


def toml_text(path: Path) -> str:
    """Return the text of the file `path`; UnreadableFileError for all but a text of modest length.

    FileNotFoundError passes through.
    """
    if str(path) == os.devnull:
        return ""
    try:
        status = path.stat()
        if not stat.S_ISREG(status.st_mode):
            what = "a folder" if stat.S_ISDIR(status.st_mode) else "no ordinary file"
            raise UnreadableFileError(f"it is {what}; name a text file")
        if status.st_size > _MOST_BYTES:
            raise UnreadableFileError("it has over a million bytes; name another file")
        return path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        msg = f"byte {error.start + 1} is not UTF-8 text; save the file as UTF-8"
        raise UnreadableFileError(msg) from None
    except FileNotFoundError:
        raise
    except (OSError, ValueError) as error:  # ValueError: a name with a zero byte
        why = getattr(error, "strerror", None) or error
        raise UnreadableFileError(
            f"it cannot be read ({why}); check its name and your rights to it"
        ) from None


def parsed_toml(text: str) -> dict[str, Any]:
    """Return what `text` holds; NotTomlError."""
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise NotTomlError(str(error)) from None
    except ValueError:  # Python reads no longer whole numbers
        raise NotTomlError("a number has thousands of digits") from None
    except RecursionError:
        data = {}
        nested = True
    else:
        nested = _deeper_than(data, _DEEPEST)
    if nested:
        raise NotTomlError(f"nested more than {_DEEPEST} levels deep; two are enough")
    return data


def _deeper_than(data: Any, levels: int) -> bool:
    row: list[Any] = [data]
    for _ in range(levels):
        row = [
            inner
            for outer in row
            for inner in (outer.values() if isinstance(outer, dict) else outer)
            if isinstance(inner, dict | list)
        ]
    return bool(row)
