"""A whole answer as JSON, and back: what a kept plan needs to show and draw itself again.

Working forms are written field by field and read by their type hints, so a new field of any of them
is kept without a line here, and one that an older document lacks has its default. Scraps,
ready-cut lots and lengths are kept by their numbers: a plan holds them, so they do not change.
"""

import types
from collections.abc import Callable, Collection, Mapping
from dataclasses import fields, is_dataclass
from typing import Any, Final, Literal, TypeVar, Union, get_args, get_origin, get_type_hints

import shapely
from shapely.geometry.base import BaseGeometry

from scrapstore.store import ReadyCut, Scrap, Yardage

__all__ = ["Finders", "from_plain", "to_plain"]

_Form = TypeVar("_Form")
Finders = Mapping[type[Any], Callable[[int], Any]]
"""What finds a thing of the store by its number, by the thing's form."""

_BY_NUMBER: Final = (Scrap, ReadyCut, Yardage)
_FORM: Final = "form"
"""The key that says of which form an object is, where several may stand."""


def to_plain(value: Any) -> Any:
    """Return `value`, a working form, as what JSON can hold."""
    if isinstance(value, _BY_NUMBER):
        return value.id
    if isinstance(value, BaseGeometry):
        return value.wkb_hex
    if is_dataclass(value):
        own = {field.name: to_plain(getattr(value, field.name)) for field in fields(value)}
        return own | {_FORM: type(value).__name__}
    if isinstance(value, Mapping):
        return [[to_plain(key), to_plain(entry)] for key, entry in value.items()]
    if isinstance(value, frozenset | set):
        return sorted(to_plain(entry) for entry in value)
    if isinstance(value, tuple | list):
        return [to_plain(entry) for entry in value]
    return value


def from_plain(form: type[_Form], plain: Any, finders: Finders) -> _Form:
    """Return the working form that `to_plain` made `plain` of.

    Raises ValueError, TypeError or KeyError when `plain` is nothing of that kind.
    """
    found: _Form = _read(form, plain, finders)
    return found


def _read(hint: Any, plain: Any, finders: Finders) -> Any:
    origin, inner = get_origin(hint), get_args(hint)
    if origin in (Union, types.UnionType):
        return _read_one_of(inner, plain, finders)
    if origin is Literal or hint is Any:
        return plain
    if origin is tuple:
        each = inner[:1] * len(plain) if inner[1:] == (...,) else inner
        return tuple(_read(one, entry, finders) for one, entry in zip(each, plain, strict=True))
    if isinstance(origin, type) and issubclass(origin, Mapping):
        key, entry = inner if len(inner) == 2 else (inner[0], int)  # a Counter counts
        read = ((_read(key, k, finders), _read(entry, v, finders)) for k, v in plain)
        return dict(read)
    if isinstance(origin, type) and issubclass(origin, Collection):
        made = frozenset if issubclass(origin, frozenset) else tuple
        return made(_read(inner[0], entry, finders) for entry in plain)
    if hint in finders:
        return finders[hint](int(plain))
    if isinstance(hint, type) and issubclass(hint, BaseGeometry):
        return shapely.from_wkb(plain)
    if isinstance(hint, type) and is_dataclass(hint):
        hints = get_type_hints(hint)
        own = {f.name for f in fields(hint) if f.init} & plain.keys()
        return hint(**{name: _read(hints[name], plain[name], finders) for name in own})
    return plain


def _read_one_of(hints: tuple[Any, ...], plain: Any, finders: Finders) -> Any:
    if plain is None:
        return None
    known = [hint for hint in hints if hint is not types.NoneType]
    if isinstance(plain, dict):
        known = [hint for hint in known if getattr(hint, "__name__", "") == plain[_FORM]]
    return _read(known[0], plain, finders)
