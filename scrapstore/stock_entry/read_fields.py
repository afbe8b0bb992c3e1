"""Reads what was typed for the fields of a fabric or of stock, as the table of `fields` says."""

from collections.abc import Callable, Iterable, Mapping
from typing import Any, Final

from scrapstore.errors import ShapeError
from scrapstore.stock_entry.fields import Reads, TypedField
from scrapstore.stock_entry.words import known_family, known_status, known_value
from scrapstore.units import parse_degrees, parse_length
from scrapstore.weights import parse_weight

__all__ = ["read_fields", "slope_of"]


def read_fields(
    fields: Iterable[TypedField], typed: Mapping[str, Any], *, units: str = "in"
) -> dict[str, Any]:
    """Return the values of `fields`, by name, that `typed` gives; None for one typed as empty.

    `typed` maps the name of a field to its text (or texts, flag, count); one that is missing or
    None is not given. `units` is the unit of lengths without one. A fabric stays a name.

    Raises UsageError, LengthError or ShapeError for what cannot be read.
    """
    return {
        field.name: _read(field, typed[field.name], units)
        for field in fields
        if typed.get(field.name) is not None
    }


def _read(field: TypedField, typed: Any, units: str) -> Any:
    if isinstance(typed, str) and field.may_be_empty and not typed.strip():
        return None
    if field.reads == "length":
        return parse_length(typed, field=field.word, default_unit=units)
    if field.reads == "slope":
        return slope_of(typed, field=field.word)
    if field.reads == "weight":
        return parse_weight(typed, field=field.word)
    return _READERS[field.reads](typed)


def _families(words: Iterable[str]) -> tuple[str, ...] | None:
    return tuple(known_family(word) for word in words if word.strip()) or None


def _count(count: int) -> int:
    if count < 0:
        raise ShapeError(f"count: {count} pieces will not do; give 0 or more")
    return count


def slope_of(text: str, *, field: str = "slope") -> float:
    r"""Return the slope of a strip's end in degrees: 0 straight, 45 for ``/``, −45 for ``\``.

    The strip lies level, right side up. Raises ShapeError, naming `field`.
    """
    words = {"straight": 0.0, "|": 0.0, "/": 45.0, "\\": -45.0, "right": 45.0, "left": -45.0}
    plain = text.strip().lower()
    if plain in words:
        return words[plain]
    degrees = parse_degrees(plain, 85)
    if degrees is None:
        msg = (
            f"{field}: cannot read {text!r}; write straight, / or right (leans right going up), "
            "\\ or left, or degrees from -85 to 85"
        )
        raise ShapeError(msg)
    return degrees


_READERS: Final[dict[Reads, Callable[[Any], Any]]] = {
    "text": str.strip,
    "family": known_family,
    "families": _families,
    "value": known_value,
    "status": known_status,
    "flag": bool,
    "count": _count,
}
