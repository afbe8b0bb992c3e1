"""Reading TOML from a file that may be anything: a pipe, a device, far too long, nested deeply."""

import os
import re
import stat
import tomllib
from pathlib import Path
from typing import Any, Final

__all__ = ["NotTomlError", "UnreadableFileError", "parsed_toml", "shown_value", "toml_text"]

_MOST_BYTES: Final = 1_000_000
_DEEPEST: Final = 20


class UnreadableFileError(Exception):
    """The file cannot be read as text; says why and what to do, without the file's name."""


class NotTomlError(ValueError):
    """The text is not TOML, or TOML that no file of ours needs; quotes the `line` and says why."""

    def __init__(self, text: str, line: int, why: str) -> None:
        super().__init__(f"cannot read {shown_value(_written(text, line))}: {why}")
        self.line = line


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
        at = re.search(r"at line (\d+)", str(error))
        line = int(at[1]) if at else len(text.splitlines())
        raise NotTomlError(text, line, _remedy(str(error), _written(text, line))) from None
    except ValueError:  # Python reads no longer whole numbers
        raise NotTomlError(text, _longest(text), "a number has thousands of digits") from None
    except RecursionError:
        data = {}
        nested = True
    else:
        nested = _deeper_than(data, _DEEPEST)
    if nested:
        msg = f"nested more than {_DEEPEST} levels deep; two are enough"
        raise NotTomlError(text, _longest(text), msg)
    return data


def shown_value(value: Any) -> str:
    """Return a value as a message quotes it: ``true`` as TOML has it, 60 characters at most."""
    text = repr(value)
    if isinstance(value, bool):
        text = text.lower()
    return text if len(text) <= 60 else f"{text[:57]}..."


def _written(text: str, line: int) -> str:
    return text.splitlines()[line - 1].strip() if text.strip() else ""


def _longest(text: str) -> int:
    """Return the number of the longest line, where thousands of digits or levels stand."""
    lines = text.splitlines()
    return max(range(1, len(lines) + 1), key=lambda number: len(lines[number - 1]))


_REMEDIES: Final = (
    (
        r"overwrite|declare|mutate|redefine|[Dd]uplicate",
        "it is there twice; keep one of them",
    ),
    (r"Expected '='", "a key and its value need an = between them"),
    (r"Unterminated|Illegal character '.n'|Expected \"'\"", "a quote is opened and not closed"),
    (r"Unclosed|Expected '\]+'", "a bracket is opened and not closed"),
    (r"Unescaped|hex value|scalar value", "a backslash in double quotes is typed twice"),
    (r"[Cc]haracter '", "it holds a character that cannot be read; type the line anew"),
    (
        r"value|Expected newline|date",
        "after the = comes a number, true, false or text in quotes",
    ),
)
"""What to do about an error of the library, by words of its message."""


def _remedy(message: str, written: str) -> str:
    """Say what is likeliest wrong in the line `written`, and what to do."""
    if re.search(r"=[\s{,\[]*[“”„‘’«»]", written):
        return 'quotes must be straight ones, "like these"'
    # The commonest slip: a length typed without quotes.
    length = re.match(r"([\w-]+)\s*=\s*([\d½⅓⅔¼¾⅛⅜⅝⅞][^\"',\[\]]*)$", written)
    if length and not re.search(_REMEDIES[0][0], message):
        return f'lengths go in quotes: {length[1]} = "{length[2].strip()}"'
    for words, remedy in _REMEDIES:
        if re.search(words, message):
            return remedy
    return "a line is a heading in brackets, or a key, an = and its value"


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
