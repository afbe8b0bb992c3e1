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

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

from scrapstore.actions.to_measure import Noted, ToMeasure
from scrapstore.errors import ScrapstoreError, ShapeError, StoreError
from scrapstore.near_words import did_you_mean
from scrapstore.settings import Settings
from scrapstore.shapes.typed_outlines import (
    TypedOutline,
    checked_margin,
    checked_size,
    is_yardage,
    names_precut,
    typed_corners,
    typed_precut,
    typed_rectangle,
    typed_strip,
    typed_triangle,
    with_grain,
)
from scrapstore.store import NewFabric, NewScrap, row_number
from scrapstore.store.typed_words import text_or_none
from scrapstore.toml_files import NotTomlError, UnreadableFileError, parsed_toml, toml_text
from scrapstore.units import parse_length

__all__ = [
    "LIST_NAME",
    "TypedScrap",
    "listed_numbers",
    "read_size_list",
    "typed_margin",
    "typed_size",
]

LIST_NAME: Final = "scraps.toml"

_SIZES: Final = ("size", "strip", "triangle", "corners", "precut")
_TEXTS: Final = ("grain", "fabric", "place", "name", "margin", "from_project", "note")
_FLAGS: Final = ("one_way", "alike")
_KEYS: Final = (*_SIZES, *_TEXTS, *_FLAGS)
_OF_ALL: Final = (
    "measure", "scraps", "leave_out", "grain", "fabric", "place", "margin", "from_project", "note",
    *_FLAGS,
)  # fmt: skip
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
        msg = f"{file} is not TOML ({error}); put it right, then log again"
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
    typed = typed_size({key: entry.get(key) for key in _SIZES}, entry.get("grain"), settings)
    scrap = NewScrap(
        outline=typed.outline,
        grain_deg=typed.grain_deg,
        margin=typed_margin(entry.get("margin"), typed, settings),
        name=text_or_none(entry.get("name")),
        place=text_or_none(entry.get("place")),
        from_project=text_or_none(entry.get("from_project")),
        note=text_or_none(entry.get("note")),
    )
    return TypedScrap(scrap=scrap, fabric=_fabric(entry))


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


def _fabric(entry: Mapping[str, Any]) -> NewFabric | None:
    name = text_or_none(entry.get("fabric"))
    if name is None:
        return None
    return NewFabric(
        name=name,
        one_way_print=entry.get("one_way", False),
        alike=entry.get("alike", False),
    )


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
    texts = {
        key: text_or_none(entry[key])
        for key in ("name", "place", "from_project", "note")
        if key in entry
    }
    sizes = {key: entry[key] for key in _SIZES if key in entry}
    typed = typed_size(sizes, None, settings) if sizes else None
    fields: dict[str, Any] = dict(texts)
    if "margin" in entry:
        fields["margin"] = parse_length(entry["margin"], field="margin", zero=True)
    return Noted(fields=fields, fabric=_fabric(entry), grain=entry.get("grain"), typed=typed)


def listed_numbers(text: str, *, field: str) -> frozenset[int]:
    """Return the numbers of ``2,4``; nothing gives none. Raises StoreError."""
    parts = text.replace(",", " ").split()
    for part in parts:
        if not row_number(part):
            raise StoreError(f"{field}: cannot read {part!r}; write numbers, such as 2,4")
    return frozenset(int(part) for part in parts)


def typed_size(
    texts: Mapping[str, str | None],
    grain: str | None,
    settings: Settings,
    *,
    default_unit: str = "in",
    options: bool = False,
) -> TypedOutline:
    """Return the outline that exactly one of `texts` (size, strip, triangle, …) tells.

    Raises ShapeError when none or several are given; `options` writes their names as options.
    Raises LengthError or ShapeError for a text that cannot be read.
    """
    given = [(kind, text) for kind, text in texts.items() if text is not None]
    if len(given) != 1:
        what = "no size was typed" if not given else "more than one size was typed"
        names = ", ".join(f"--{kind}" if options else kind for kind in _SIZES)
        raise ShapeError(f"{what}; give one of {names}")
    kind, text = given[0]
    if kind == "size" and is_yardage(text):
        msg = f"size: {text!r} is a length of the full width; add it as yardage: yardage add"
        raise ShapeError(f"{msg} FABRIC {text!r}")
    if kind == "precut" or (kind == "size" and names_precut(text)):
        typed = typed_precut(
            text,
            usable_width=settings.usable_width,
            straightening=settings.precut_straightening,
            units=settings.units,
        )
    else:
        read = {
            "size": typed_rectangle,
            "strip": typed_strip,
            "triangle": typed_triangle,
            "corners": typed_corners,
        }[kind]
        plain, wof = _without_wof(text, settings, default_unit)
        typed = checked_size(read(plain, default_unit=default_unit), text, read)
        if wof and kind in ("size", "strip"):
            # The full width runs across the lengthwise grain.
            typed = replace(typed, grain_deg=0.0 if wof == "second" else 90.0)
    return with_grain(typed, grain)


def _without_wof(text: str, settings: Settings, default_unit: str) -> tuple[str, str | None]:
    """Return `text` with the usable width for WOF, and which of its measures that is."""
    found = re.search(r"\b(wof|width of fabric)\b", text, re.IGNORECASE)
    if found is None:
        return text, None
    per_unit = {"in": 1.0, "cm": 2.54, "mm": 25.4}[default_unit]
    number = f"{settings.usable_width * per_unit:.4f}"
    which = "first" if not text[: found.start()].strip() else "second"
    return f"{text[: found.start()]}{number}{text[found.end() :]}", which


def typed_margin(
    text: str | None, typed: TypedOutline, settings: Settings, *, default_unit: str = "in"
) -> float:
    """Return the margin that `text` tells, in inches; None is the setting's, for a precut none.

    Raises LengthError for one that cannot be read, or that leaves nothing of the scrap.
    """
    if text is None:
        return 0.0 if typed.clean else settings.margin
    margin = parse_length(text, field="margin", default_unit=default_unit, zero=True)
    return checked_margin(margin, typed.outline)
