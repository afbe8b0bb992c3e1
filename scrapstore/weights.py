"""Weights of cloth: reading what was typed, printing it.

One unit inside, the gram. An ounce is 28.349523125 g, a pound 16 of them (the avoirdupois pound of
0.45359237 kg, exactly, international since 1959).
"""

import re
from fractions import Fraction
from typing import Final

from scrapstore.errors import UsageError
from scrapstore.units import Units

__all__ = ["format_weight", "parse_weight"]

_OUNCE: Final = 28.349523125
_GRAMS: Final[dict[str, float]] = {
    "g": 1.0, "gram": 1.0, "grams": 1.0, "kg": 1000.0, "oz": _OUNCE, "ounce": _OUNCE,
    "ounces": _OUNCE, "lb": 16 * _OUNCE, "lbs": 16 * _OUNCE, "pound": 16 * _OUNCE,
    "pounds": 16 * _OUNCE,
}  # fmt: skip
_PART: Final = re.compile(r"(?:(\d+)\s+)?(\d+(?:[.,]\d+)?)(?:/(\d+))?\s*([a-z]+)\s*")
_MOST: Final = 1e6
"""Grams; no bag is as heavy."""


def parse_weight(text: str, *, field: str) -> float:
    """Return a weight in grams; UsageError, naming `field`, for what cannot be read.

    >>> parse_weight("120 g", field="weight"), round(parse_weight("1 lb 2 oz", field="weight"))
    (120.0, 510)
    """
    rest, grams = text.strip().lower(), 0.0
    while rest:
        found = _PART.match(rest)
        if found is None or found[4] not in _GRAMS or found[3] == "0":
            grams = 0.0
            break
        number = float(Fraction(found[2].replace(",", ".")) / int(found[3] or 1))
        grams += (number + int(found[1] or 0)) * _GRAMS[found[4]]
        rest = rest[found.end() :]
    if not 0 < grams <= _MOST:
        msg = f"{field}: cannot read {text!r}; write a weight such as 120 g, 4 oz or 1/2 lb"
        raise UsageError(msg)
    return grams


def format_weight(grams: float, units: Units) -> str:
    """Return a weight in grams where lengths are in centimetres, else in pounds and ounces.

    >>> format_weight(120, "cm"), format_weight(120, "in"), format_weight(510.3, "in")
    ('120 g', '4.2 oz', '1 lb 2 oz')
    """
    if units == "cm":
        return f"{grams / 1000:.2f} kg" if grams >= 1000 else f"{grams:.0f} g"
    ounces = max(round(grams / _OUNCE, 1), 0.1)
    pounds, ounces = divmod(ounces, 16)
    parts = ([f"{pounds:.0f} lb"] if pounds else []) + (
        [f"{ounces:.3g} oz"] if ounces >= 0.05 else []
    )
    return " ".join(parts)
