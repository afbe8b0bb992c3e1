"""``scraps.toml``: what was measured and noted beside a folder of photos, one table a photo.

::

    # Lengths without a unit are in inches.
    ["curtain-end.jpg"]
    size = "9 x 6"          # or strip, triangle, corners, precut
    grain = "first"         # along the measure typed first; or second, degrees, unknown
    fabric = "waiting room curtain"
    place = "shelf by the kettle"

Further keys: name, margin, from_project, note; and for a fabric that the store does not know yet:
one_way, alike. Only the size must be there.
"""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path
from typing import Any, Final

from scrapstore.actions.outlines import (
    TypedOutline,
    typed_corners,
    typed_precut,
    typed_rectangle,
    typed_strip,
    typed_triangle,
    with_grain,
)
from scrapstore.actions.words import text_or_none
from scrapstore.errors import ScrapstoreError, ShapeError, StoreError
from scrapstore.settings import Settings
from scrapstore.store import NewFabric, NewScrap
from scrapstore.units import parse_length

__all__ = ["LIST_NAME", "TypedScrap", "read_size_list", "typed_margin", "typed_size"]

LIST_NAME: Final = "scraps.toml"

_SIZES: Final = ("size", "strip", "triangle", "corners", "precut")
_TEXTS: Final = ("grain", "fabric", "place", "name", "margin", "from_project", "note")
_FLAGS: Final = ("one_way", "alike")
_KEYS: Final = (*_SIZES, *_TEXTS, *_FLAGS)


@dataclass(frozen=True, kw_only=True)
class TypedScrap:
    """One scrap as typed; `fabric` is what its fabric is like, should the store not know it."""

    scrap: NewScrap
    fabric: NewFabric | None = None


def read_size_list(file: Path, settings: Settings) -> dict[str, TypedScrap | ScrapstoreError]:
    """Return what `file` says of each photo, by the photo's file name.

    An entry that cannot be used stands as its error, which names the photo and the key, so that one
    slip does not keep the other photos out. Raises StoreError for a file that is no such list.
    """
    try:
        tables = tomllib.loads(file.read_text(encoding="utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        msg = f"{file} is not TOML ({error}); put it right, then log again"
        raise StoreError(msg) from error
    except OSError as error:
        raise StoreError(f"{file} cannot be read ({error.strerror}); check it") from error
    found: dict[str, TypedScrap | ScrapstoreError] = {}
    for photo, entry in tables.items():
        if not isinstance(entry, dict):
            msg = (
                f"{file}: {photo!r} is not a table; a photo's name stands in brackets and quotes, "
                f'for example ["{photo}.jpg"]'
            )
            raise StoreError(msg)
        try:
            found[photo] = _entry(entry, settings)
        except ScrapstoreError as error:
            found[photo] = StoreError(f"{file.name}: {error}")
    return found


def _entry(entry: Mapping[str, Any], settings: Settings) -> TypedScrap:
    for key, value in entry.items():
        if key not in _KEYS:
            near = get_close_matches(key, _KEYS, n=1, cutoff=0.5)
            hint = f"did you mean {near[0]}?" if near else f"known are {', '.join(_KEYS)}"
            raise StoreError(f"key {key!r} is not known; {hint}")
        if not isinstance(value, bool if key in _FLAGS else str):
            right = "true or false" if key in _FLAGS else "a text in quotes"
            raise StoreError(f"{key}: {value!r} will not do; write {right}")
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
    name = text_or_none(entry.get("fabric"))
    if name is None:
        return TypedScrap(scrap=scrap)
    fabric = NewFabric(
        name=name,
        one_way_print=entry.get("one_way", False),
        alike=entry.get("alike", False),
    )
    return TypedScrap(scrap=scrap, fabric=fabric)


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
    if kind == "precut":
        typed = typed_precut(text, usable_width=settings.usable_width)
    else:
        read = {
            "size": typed_rectangle,
            "strip": typed_strip,
            "triangle": typed_triangle,
            "corners": typed_corners,
        }[kind]
        typed = read(text, default_unit=default_unit)
    return with_grain(typed, grain)


def typed_margin(
    text: str | None, typed: TypedOutline, settings: Settings, *, default_unit: str = "in"
) -> float:
    """Return the margin that `text` tells, in inches; None is the setting's, for a precut none."""
    if text is None:
        return 0.0 if typed.clean else settings.margin
    if text.strip() in ("0", "0.0"):
        return 0.0
    return parse_length(text, field="margin", default_unit=default_unit)
