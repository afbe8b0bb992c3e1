"""``scraps.toml``: what was measured and noted beside a folder of photos, one table a photo.

::

    # Lengths without a unit are in inches.
    ["curtain-end.jpg"]
    size = "9 x 6"          # or strip, triangle, corners, precut
    grain = "first"         # along the measure typed first; or second, degrees, unknown
    fabric = "waiting room curtain"
    place = "shelf by the kettle"

Further keys: name, margin, from_project, note; and for a fabric that the store does not know yet:
one_way, alike. Only the size must be there, or that the photo is to be measured::

    ["by-the-window.jpg"]
    measure = true
    place = "blue tin"      # holds for all its scraps; so may fabric, from_project, note, margin
    leave_out = "3"         # numbers as in the preview

    ["by-the-window.jpg".scraps.1]
    name = "curtain end"    # any key from above; a size stands in place of the measured outline
    grain = "suggested"     # along the longest straight edge; or across, degrees, unknown
"""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from scrapstore.errors import ScrapstoreError, StoreError, UsageError
from scrapstore.near_words import did_you_mean
from scrapstore.settings import Settings
from scrapstore.stock_entry.fields import SCRAP_FIELDS
from scrapstore.stock_entry.notes import Noted, ToMeasure
from scrapstore.stock_entry.read_fields import read_fields
from scrapstore.stock_entry.sizes import SIZES, typed_margin, typed_size
from scrapstore.store import NewFabric, NewScrap, row_number
from scrapstore.toml_files import NotTomlError, UnreadableFileError, parsed_toml, toml_text
from scrapstore.units import parse_length

__all__ = ["LIST_NAME", "TypedScrap", "listed_numbers", "read_size_list"]

LIST_NAME: Final = "scraps.toml"

_LISTED: Final = tuple(field for field in SCRAP_FIELDS if field.listed)
_FLAGS: Final = ("one_way", "alike")
_NOTES: Final = ("grain", "margin", *(field.name for field in _LISTED), *_FLAGS)
_KEYS: Final = (*SIZES, *_NOTES)
_OF_ALL: Final = ("measure", "scraps", "leave_out", *(key for key in _NOTES if key != "name"))
"""Keys of a photo to be measured."""


@dataclass(frozen=True, kw_only=True)
class TypedScrap:
    """One scrap as typed; `fabric` is what its fabric is like, should the store not know it."""

    scrap: NewScrap
    fabric: NewFabric | None = None


Entry = TypedScrap | ToMeasure | ScrapstoreError
"""What a list says of one photo; the error of an entry that cannot be used."""


def read_size_list(file: Path, settings: Settings) -> dict[str, Entry]:
    """Return what `file` says of each photo, by the photo's file name.

    An entry that cannot be used stands as its error, which names the photo and the key, so that one
    slip does not keep the other photos out. Raises StoreError for a file that is no such list.
    """
    try:
        tables = parsed_toml(toml_text(file))
    except NotTomlError as error:
        msg = f"{file}, line {error.line}: {error}. Put it right, then log again"
        raise StoreError(msg) from error
    except (UnreadableFileError, FileNotFoundError) as error:
        raise StoreError(f"{file}: {error}") from error
    found: dict[str, Entry] = {}
    for photo, entry in tables.items():
        if not isinstance(entry, dict):
            msg = (
                f"{file}: {photo!r} is not a table; a photo's name stands in brackets and quotes, "
                f'for example ["{photo}.jpg"]'
            )
            raise StoreError(msg)
        try:
            measured = "measure" in entry or "scraps" in entry
            found[photo] = (_to_measure if measured else _entry)(entry, settings)
        except ScrapstoreError as error:
            found[photo] = StoreError(f"{file.name}: {error}")
    return found


def _entry(entry: Mapping[str, Any], settings: Settings) -> TypedScrap:
    _check_keys(entry, _KEYS)
    typed = typed_size({key: entry.get(key) for key in SIZES}, entry.get("grain"), settings)
    margin = typed_margin(entry.get("margin"), typed, settings)
    fields, fabric = _fields(entry)
    scrap = NewScrap(outline=typed.outline, grain_deg=typed.grain_deg, margin=margin, **fields)
    return TypedScrap(scrap=scrap, fabric=fabric)


def _check_keys(entry: Mapping[str, Any], known: tuple[str, ...]) -> None:
    for key, value in entry.items():
        if key not in known:
            raise StoreError(f"key {key!r} is not known; {did_you_mean(key, known)}")
        if key == "scraps":
            kind: type = dict
            right = 'tables of their own, such as ["photo.jpg".scraps.1]'
        elif key in (*_FLAGS, "measure"):
            kind, right = bool, "true or false"
        else:
            kind, right = str, "a text in quotes"
        if not isinstance(value, kind):
            raise StoreError(f"{key}: {value!r} will not do; write {right}")


def _fields(entry: Mapping[str, Any]) -> tuple[dict[str, Any], NewFabric | None]:
    """Return the fields of a scrap that `entry` gives, and its fabric."""
    fields = read_fields(_LISTED, entry)
    name = fields.pop("fabric", None)
    one_way, alike = (entry.get(flag, False) for flag in _FLAGS)
    fabric = None if name is None else NewFabric(name=name, one_way_print=one_way, alike=alike)
    return fields, fabric


def _to_measure(entry: Mapping[str, Any], settings: Settings) -> ToMeasure:
    _check_keys(entry, _OF_ALL)
    if entry.get("measure") is not True:
        raise StoreError("scraps by number are for a photo to be measured; add measure = true")
    scraps: dict[int, Noted] = {}
    for number, notes in entry.get("scraps", {}).items():
        if not row_number(number) or not isinstance(notes, dict):
            msg = f"scraps: {number!r} will not do; write a table for each number in the preview"
            raise StoreError(msg)
        try:
            _check_keys(notes, _KEYS)
            scraps[int(number)] = _noted(notes, settings)
        except ScrapstoreError as error:
            raise StoreError(f"scraps.{number}: {error}") from error
    return ToMeasure(
        all_scraps=_noted(entry, settings),
        scraps=scraps,
        leave_out=listed_numbers(entry.get("leave_out", ""), field="leave_out"),
    )


def _noted(entry: Mapping[str, Any], settings: Settings) -> Noted:
    fields, fabric = _fields(entry)
    sizes = {key: entry[key] for key in SIZES if key in entry}
    typed = typed_size(sizes, None, settings) if sizes else None
    if "margin" in entry:
        fields["margin"] = parse_length(entry["margin"], field="margin", zero=True)
    return Noted(fields=fields, fabric=fabric, grain=entry.get("grain"), typed=typed)


def listed_numbers(text: str, *, field: str) -> frozenset[int]:
    """Return the numbers of ``2,4``; nothing gives none. Raises UsageError."""
    parts = text.replace(",", " ").split()
    for part in parts:
        if not row_number(part):
            raise UsageError(f"{field}: cannot read {part!r}; write numbers, such as 2,4")
    return frozenset(int(part) for part in parts)
