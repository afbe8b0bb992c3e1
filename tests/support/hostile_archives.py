"""Archives made to do harm: each is a good one with one thing changed."""

import hashlib
import json
import random
import stat
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

__all__ = ["HOSTILE", "Files", "contents_of", "spoilt_at_random", "write"]

Files = dict[str, bytes]


def contents_of(archive: Path) -> Files:
    """The files of an archive by name."""
    with zipfile.ZipFile(archive) as opened:
        return {name: opened.read(name) for name in opened.namelist()}


def write(file: Path, files: Files) -> Path:
    """Write a zip file of these files."""
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as made:
        for name, content in files.items():
            made.writestr(name, content)
    return file


def _manifest(files: Files) -> Any:
    return json.loads(files["archive.json"])


def _with_manifest(files: Files, **changed: Any) -> Files:
    return files | {"archive.json": json.dumps(_manifest(files) | changed).encode()}


def _with_lines(files: Files, table: str, lines: list[bytes]) -> Files:
    """The archive with other lines in a table, its hash and count put right."""
    text = b"".join(lines)
    tables = _manifest(files)["tables"]
    tables[table] |= {"rows": len(lines), "sha256": hashlib.sha256(text).hexdigest()}
    return _with_manifest(files | {f"tables/{table}.jsonl": text}, tables=tables)


def _lines(files: Files, table: str) -> list[bytes]:
    return files[f"tables/{table}.jsonl"].splitlines(keepends=True)


def _with_row(files: Files, table: str, **changed: Any) -> Files:
    """The archive with other values in the first row of a table."""
    first, *rest = _lines(files, table)
    row = json.loads(first) | changed
    return _with_lines(files, table, [json.dumps(row).encode() + b"\n", *rest])


def _plus(name: str) -> Callable[[Files, Path], None]:
    return lambda files, file: _write_plus(files, file, name)


def _write_plus(files: Files, file: Path, name: str) -> None:
    write(file, files)
    with zipfile.ZipFile(file, "a") as made:
        info = zipfile.ZipInfo(name)
        info.filename = name  # as it is, whatever the library makes of it
        made.writestr(info, b"gotcha")


def _link(files: Files, file: Path) -> None:
    write(file, files)
    with zipfile.ZipFile(file, "a") as made:
        info = zipfile.ZipInfo(f"photos/{'a' * 64}.jpg")
        info.external_attr = (stat.S_IFLNK | 0o777) << 16
        made.writestr(info, "/etc/passwd")


def _twice(files: Files, file: Path) -> None:
    write(file, files)
    with zipfile.ZipFile(file, "a") as made:
        del made.NameToInfo["tables/scraps.jsonl"]  # else the library warns of it
        made.writestr(zipfile.ZipInfo("tables/scraps.jsonl"), b"")


def _cut_short(files: Files, file: Path) -> None:
    content = write(file, files).read_bytes()
    file.write_bytes(content[: len(content) // 2])


def _lying_size(files: Files, file: Path) -> None:
    """The directory says that a photo is larger than what is packed."""
    content = bytearray(write(file, files).read_bytes())
    at = content.rfind(b"PK\x01\x02")
    content[at + 24 : at + 28] = (150_000_000).to_bytes(4, "little")
    file.write_bytes(content)


def _overlapping(files: Files, file: Path) -> None:
    """Every entry of the directory but one points at the same packed bytes."""
    name = next(name for name in files if name.startswith("photos/"))
    with zipfile.ZipFile(file, "w") as made:
        for each, content in files.items():
            made.writestr(each, content)
        info = made.getinfo(name)
        for number in range(50):
            copy = zipfile.ZipInfo(f"photos/{number:064x}.jpg")
            for field in ("header_offset", "compress_size", "file_size", "CRC"):
                setattr(copy, field, getattr(info, field))
            made.filelist.append(copy)
            made.NameToInfo[copy.filename] = copy


def _plain(change: Callable[[Files], Files]) -> Callable[[Files, Path], None]:
    def made(files: Files, file: Path) -> None:
        write(file, change(files))

    return made


def _bomb(files: Files) -> Files:
    return _with_lines(files, "scraps", [b" " * 60_000_000 + b"{}\n"])


def _photo_of_another_name(files: Files) -> Files:
    name = next(name for name in files if name.startswith("photos/"))
    return files | {name: files[name] + b"x"}


def _square(at: float) -> Any:
    return {"type": "Polygon", "coordinates": [[[0, 0], [at, 0], [at, 1], [0, 0]]]}


HOSTILE: Final[dict[str, Callable[[Files, Path], None]]] = {
    "an absolute path": _plus("/tmp/gotcha"),  # noqa: S108 - nothing is written there
    "a path out of the folder": _plus("../../gotcha"),
    "a path out of a folder of its own": _plus("photos/../../gotcha.jpg"),
    "a path of Windows": _plus("C:\\gotcha.jpg"),
    "a path with backslashes": _plus("photos\\..\\..\\gotcha.jpg"),
    "a share": _plus("\\\\host\\gotcha"),
    "a name with a nul": _plus(f"photos/{'a' * 64}.jpg\0.exe"),
    "a folder": _plus("photos/"),
    "a database of its own": _plus("store.db"),
    "a photo that is not listed": _plus(f"photos/{'b' * 64}.jpg"),
    "a link": _link,
    "a file twice": _twice,
    "half a file": _cut_short,
    "a size that is not true": _lying_size,
    "files over one another": _overlapping,
    "a bomb": _plain(_bomb),
    "no manifest": _plain(lambda f: {n: c for n, c in f.items() if n != "archive.json"}),
    "a manifest of another format": _plain(lambda f: _with_manifest(f, format="zoo")),
    "a manifest of a later version": _plain(lambda f: _with_manifest(f, version=2)),
    "a manifest that is a list": _plain(lambda f: f | {"archive.json": b"[]"}),
    "a manifest too deep": _plain(lambda f: f | {"archive.json": b"[" * 200_000}),
    "a revision that is a path": _plain(lambda f: _with_manifest(f, revision="../x")),
    "a revision of a newer program": _plain(lambda f: _with_manifest(f, revision="9999")),
    "tables that are no tables": _plain(lambda f: _with_manifest(f, tables=[1])),
    "photos that are no names": _plain(lambda f: _with_manifest(f, photos=[1])),
    "a table that is not known": _plain(lambda f: f | {"tables/sqlite_master.jsonl": b""}),
    "a table that is missing": _plain(
        lambda f: {n: c for n, c in f.items() if n != "tables/scraps.jsonl"}
    ),
    "a column that is not known": _plain(lambda f: _with_row(f, "scraps", owner="me")),
    "a column name that is SQL": _plain(
        lambda f: _with_row(f, "scraps", **{"id) VALUES (1); DROP TABLE scraps; --": 1})
    ),
    "a table with another hash": _plain(
        lambda f: f | {"tables/scraps.jsonl": f["tables/scraps.jsonl"] + b"\n"}
    ),
    "a photo with another content": _plain(_photo_of_another_name),
    "a row twice": _plain(
        lambda f: _with_lines(f, "scraps", _lines(f, "scraps") + _lines(f, "scraps")[:1])
    ),
    "a row that is a list": _plain(lambda f: _with_lines(f, "lenses", [b"[1, 2]\n"])),
    "a key twice": _plain(lambda f: _with_lines(f, "lenses", [b'{"id": 1, "id": 2}\n'])),
    "a number that is none": _plain(lambda f: _with_row(f, "scraps", margin="wide")),
    "an endless number": _plain(
        lambda f: _with_lines(
            f,
            "scraps",
            [line.replace(b'"margin": 0', b'"margin": 1e999') for line in _lines(f, "scraps")],
        )
    ),
    "a number too long": _plain(lambda f: _with_row(f, "photos", width=10**30)),
    "a number of ten thousand digits": _plain(
        lambda f: _with_lines(f, "lenses", [b'{"id": 1' + b"0" * 10_000 + b"}\n"])
    ),
    "a text that is an object": _plain(lambda f: _with_row(f, "scraps", name={"a": 1})),
    "a text that is no Unicode": _plain(lambda f: _with_row(f, "scraps", name="\ud800")),
    "an outline that is a text": _plain(lambda f: _with_row(f, "scraps", outline="round")),
    "an outline that is a point": _plain(
        lambda f: _with_row(f, "scraps", outline={"type": "Point", "coordinates": [1, 2]})
    ),
    "an outline of no size": _plain(lambda f: _with_row(f, "scraps", outline=_square(0))),
    "an outline beyond all cloth": _plain(lambda f: _with_row(f, "scraps", outline=_square(1e300))),
    "a moment that is none": _plain(lambda f: _with_row(f, "scraps", created="yesterday")),
    "a photo name that is a path": _plain(
        lambda f: _with_row(f, "photos", file_name="../../etc/passwd")
    ),
    "a reference to nowhere": _plain(lambda f: _with_row(f, "yardage", fabric_id=999)),
    "a status that is none": _plain(lambda f: _with_row(f, "scraps", status="eaten")),
    "a history that does not add up": _plain(lambda f: _with_row(f, "scraps", place="attic")),
    "no zip at all": lambda _files, file: _ignored(file.write_bytes(b"Dear diary" * 99)),
    "nothing": lambda _files, file: _ignored(file.write_bytes(b"")),
}
"""What writes each of them, from the files of a good archive."""


def _ignored(_value: object) -> None:
    return


def spoilt_at_random(files: Files, file: Path, draw: random.Random) -> str:
    """Write an archive with something changed that nobody thought of; return what."""
    how = draw.choice(("bytes", "value", "line", "manifest"))
    if how == "bytes":
        content = bytearray(write(file, files).read_bytes())
        for _ in range(draw.randint(1, 20)):
            content[draw.randrange(len(content))] = draw.randrange(256)
        file.write_bytes(content)
        return how
    table = draw.choice([n[7:-6] for n in files if n.startswith("tables/") and files[n]])
    lines = _lines(files, table)
    at = draw.randrange(len(lines))
    junk: tuple[Any, ...] = (None, "", -1, 10**19, 1e308, [], {}, [[[]]], "x" * 100_000, True)
    if how == "value":
        row = json.loads(lines[at])
        name = draw.choice(list(row))
        row[name] = draw.choice(junk)
        lines[at] = json.dumps(row).encode() + b"\n"
        write(file, _with_lines(files, table, lines))
        return f"{how}: {table}.{name}"
    if how == "line":
        text = bytearray(lines[at])
        text[draw.randrange(len(text))] = draw.randrange(256)
        lines[at] = bytes(text)
        write(file, _with_lines(files, table, lines))
        return f"{how}: {table}"
    key = draw.choice(list(_manifest(files)))
    write(file, _with_manifest(files, **{key: draw.choice(junk)}))
    return f"{how}: {key}"
