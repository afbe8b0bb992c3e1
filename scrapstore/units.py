"""Lengths as quilters write them: reading, converting, rounding to a ruler mark, printing.

Inside the program a length is a float in inches; the trade's fractions (halves to sixty-fourths)
are exact in binary. Everything else is converted here, at the edge. An inch is 25.4 mm exactly and
a yard 36 in (international yard and pound agreement, 1959).
"""

import math
import re
from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Final, Literal, get_args

from scrapstore.errors import LengthError

if TYPE_CHECKING:
    from pydantic import GetCoreSchemaHandler, ValidationInfo
    from pydantic_core import CoreSchema

__all__ = [
    "INCHES_PER_CM",
    "INCHES_PER_YARD",
    "LONGEST_SCRAP",
    "LONGEST_YARDAGE",
    "PAPER_NAMES",
    "PAPER_SIZES",
    "WIDEST_FABRIC",
    "LengthField",
    "Paper",
    "Units",
    "format_about",
    "format_area",
    "format_cut",
    "format_length",
    "format_size",
    "format_typed",
    "format_yards",
    "parse_degrees",
    "parse_length",
    "parse_size",
    "read_length",
    "round_to_mark",
    "round_up_to_mark",
    "says_unit",
]

INCHES_PER_YARD: Final = 36.0
INCHES_PER_CM: Final = 1 / 2.54

LONGEST_SCRAP: Final = 4 * INCHES_PER_YARD
"""No side of a scrap, or of a ready-cut piece, is longer: what is, is a slip or yardage. Inches."""
LONGEST_YARDAGE: Final = 100 * INCHES_PER_YARD
"""No length of fabric is longer: a whole bolt. Inches."""
WIDEST_FABRIC: Final = 200.0
"""No fabric is wider between its selvages. Inches."""

Paper = Literal["a4", "letter"]
PAPER_NAMES: Final[dict[Paper, str]] = {"a4": "A4", "letter": "Letter"}
PAPER_SIZES: Final[dict[str, tuple[float, float]]] = {
    "a4": (210 / 25.4, 297 / 25.4),
    "letter": (8.5, 11.0),
}
"""Width and height of the paper that can be printed on, inches."""

Units = Literal["in", "cm"]
"""What lengths are shown in."""

# One unit of each kind, in inches, as exact fractions so that 2.54 cm is 1 in to the last bit.
_UNIT_INCHES: Final[dict[str, Fraction]] = {
    "in": Fraction(1),
    "ft": Fraction(12),
    "yd": Fraction(36),
    "mm": Fraction(5, 127),
    "cm": Fraction(50, 127),
    "m": Fraction(5000, 127),
}
_UNIT_NAMES: Final[dict[str, str]] = {
    **dict.fromkeys(("in", "inch", "inches", '"', "″", "''"), "in"),
    **dict.fromkeys(("ft", "foot", "feet", "'", "′"), "ft"),
    **dict.fromkeys(("yd", "yds", "yard", "yards"), "yd"),
    **dict.fromkeys(("mm", "millimetre", "millimetres", "millimeter", "millimeters"), "mm"),
    **dict.fromkeys(("cm", "centimetre", "centimetres", "centimeter", "centimeters"), "cm"),
    **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), "m"),
}
_VULGAR: Final[dict[str, str]] = {
    "½": "1/2", "⅓": "1/3", "⅔": "2/3", "¼": "1/4", "¾": "3/4", "⅕": "1/5", "⅖": "2/5",
    "⅗": "3/5", "⅘": "4/5", "⅙": "1/6", "⅚": "5/6", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8",
    "⅞": "7/8", "⅒": "1/10",
}  # fmt: skip
_PARTS: Final = {"half": "1/2", "third": "1/3", "quarter": "1/4", "fourth": "1/4", "eighth": "1/8"}
# "half a yard", "quarter of a yard", "three quarter yard"; the unit follows.
_WORDS = re.compile(
    r"\b(?:(?P<times>an?|one|two|three)\s+)?(?P<part>half|third|quarter|fourth|eighth)s?"
    r"(?:\s+of)?(?:\s+an?)?\s+(?=[a-z])"
)
_LONGEST_INCHES: Final = 100_000.0
_EXAMPLES: Final = '3 1/2, 3½", 3.5, 9 cm, 90 mm, 1/4 yd'

_NUMBER = r"(?:\d+(?:[.,]\d+)?|[.,]\d+)"
_FRACTION = r"\d+\s*/\s*\d+"
# A whole number and a fraction, with a space, a dash or "and" between; a fraction; a decimal.
_QUANTITY = (
    rf"(?P<whole>\d+)(?:\s*-\s*|\s+and\s+|\s+)(?P<part>{_FRACTION})"
    rf"|(?P<alone>{_FRACTION})|(?P<decimal>{_NUMBER})"
)
_TERM = re.compile(rf"\s*(?:{_QUANTITY})\s*(?P<unit>[a-z]+\.?|''|[\"'″′])?\s*(?:-(?=\s*\d))?")


def parse_length(
    text: str,
    *,
    field: str = "length",
    default_unit: str = "in",
    zero: bool = False,
    signed: bool = False,
) -> float:
    """Return the length that `text` gives, in inches.

    Reads whole numbers, decimals (point or comma), fractions typed or as one character, joined by
    a space, a dash or "and", with any of: inches (in, inch, ", ″), feet (ft, ', ′), yards (yd),
    millimetres, centimetres, metres. Several units may follow one another, largest first
    (``1 yd 4 in``, ``1' 6"``), and parts in words (``half a yard``). A number without a unit is in
    `default_unit`.

    A coordinate is `signed`: it may have a minus before it, and be zero.

    Raises LengthError, naming `field`, for anything else and for lengths that are negative, beyond
    100,000 in, or zero where `zero` does not allow it.

    >>> parse_length("3-1/2"), parse_length("3½″"), parse_length("1/4 yd"), parse_length("9 cm")
    (3.5, 3.5, 9.0, 3.543307086614173)
    """
    try:
        return read_length(text, default_unit=default_unit, zero=zero, signed=signed)
    except LengthError as error:
        raise LengthError(f"{field}: {error}") from None


def read_length(
    value: object, *, default_unit: str = "in", zero: bool = False, signed: bool = False
) -> float:
    """Return inches as `parse_length` does, also from a number, which is in `default_unit`.

    Raises LengthError without a field's name in front.
    """
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise LengthError(f'{value!r} is not a length; write for example "3 1/2" or "9 cm"')
    text = str(value)
    below = signed and text.strip().startswith("-")
    try:
        inches = float(_read_terms(text.strip()[1:] if below else text, default_unit))
    except ValueError as error:
        msg = f"cannot read {text!r} as a length ({error}); write for example {_EXAMPLES}"
        raise LengthError(msg) from None
    if not (0 < inches <= _LONGEST_INCHES or ((zero or signed) and inches == 0)):
        why = "a length must be more than nothing" if inches <= 0 else "that is longer than a mile"
        raise LengthError(f"{text!r} will not do ({why}); write for example {_EXAMPLES}")
    return -inches if below and inches else inches


def parse_degrees(text: str, limit: float) -> float | None:
    """Return the degrees of ``30``, ``-45°`` or ``45 deg``; None beyond ±`limit` or for others.

    >>> parse_degrees("-45°", 360), parse_degrees("100", 85)
    (-45.0, None)
    """
    try:
        degrees = float(text.strip().lower().removesuffix("°").removesuffix("deg"))
    except ValueError:
        return None
    return degrees if -limit <= degrees <= limit else None


def says_unit(text: str) -> bool:
    """Return whether a length is the same whatever the default unit, as 0 is; LengthError."""
    read = {parse_length(text, default_unit=unit, zero=True) for unit in ("in", "cm")}
    return len(read) == 1


class LengthField:
    """Makes a number of a pydantic schema a length: ``Annotated[float, LengthField()]``.

    It is read by `read_length`; what is without a unit is in the validation context's ``unit``,
    else in inches. What cannot be read is an error of the type "length", which gives the reason.
    """

    def __init__(self, *, zero: bool = False) -> None:
        self._zero = zero

    def __get_pydantic_core_schema__(
        self, source: Any, handler: "GetCoreSchemaHandler"
    ) -> "CoreSchema":
        from pydantic_core.core_schema import with_info_before_validator_function

        return with_info_before_validator_function(self._read, handler(source))

    def _read(self, value: object, info: "ValidationInfo") -> float:
        from pydantic_core import PydanticCustomError

        unit = (info.context or {}).get("unit", "in")
        try:
            return read_length(value, default_unit=unit, zero=self._zero)
        except LengthError as error:
            raise PydanticCustomError("length", "{reason}", {"reason": str(error)}) from None


def parse_size(text: str, *, field: str = "size", default_unit: str = "in") -> tuple[float, float]:
    """Return the two lengths of ``4 1/2 x 9`` or ``10 by 42 cm``, in inches.

    Inches, centimetres or millimetres after the second length alone hold for both. Feet, yards and
    metres do not: ``2 1/2 x 2 yd`` is a strip two yards long, its width in `default_unit`. Raises
    LengthError.
    """
    parts = re.split(r"\s*(?:[x×X*]|\bby\b)\s*", text.strip())
    if len(parts) != 2 or not all(parts):
        msg = f"{field}: {text!r} is not two lengths; write for example 4 1/2 x 9, or 10 x 25 cm"
        if text.count(",") > 1:
            msg += "; corners of an outline go to --corners"
        raise LengthError(msg)
    unit = re.search(r"([a-z]+|''|[\"″”])\.?\s*$", parts[1].lower())
    name = _UNIT_NAMES.get(unit.group(1).replace("”", '"')) if unit else None
    for_first = name if name in ("in", "cm", "mm") else default_unit
    first = parse_length(parts[0], field=field, default_unit=for_first)
    return first, parse_length(parts[1], field=field, default_unit=default_unit)


def _read_terms(text: str, default_unit: str) -> Fraction:
    """Add up the terms of `text`, in inches; ValueError says what is wrong."""
    rest = text.strip().lower()
    for sign, plain in _VULGAR.items():
        rest = re.sub(rf"\s*-?\s*{sign}", f" {plain}", rest)
    rest = re.sub(r"^an?\s+(?=[a-z]+$)", "1 ", _WORDS.sub(_part_in_figures, rest).strip())
    rest = rest.replace("⁄", "/").replace("–", "-").replace("—", "-").replace("−", "-").strip()
    rest = rest.replace("”", '"').replace("“", '"').replace("’", "'").replace("‘", "'")
    if not rest:
        raise ValueError("nothing there")
    if rest.startswith("-"):
        raise ValueError("it is negative")
    total, smallest = Fraction(0), None
    while rest:
        term = _TERM.match(rest)
        if term is None or term.end() == 0:
            raise ValueError(f"{rest!r} is not a number with a unit")
        unit = _unit_of(term["unit"], default_unit)
        size = _UNIT_INCHES[unit]
        if smallest is not None and (size >= smallest or term["unit"] is None):
            raise ValueError("after one number comes a fraction, or a smaller unit with its number")
        total += _quantity(term) * size
        smallest, rest = size, rest[term.end() :]
    return total


def _part_in_figures(words: re.Match[str]) -> str:
    over, under = _PARTS[words["part"]].split("/")
    times = {"two": 2, "three": 3}.get(words["times"] or "", 1)
    return f"{int(over) * times}/{under} "


def _unit_of(written: str | None, default_unit: str) -> str:
    if written is None:
        return default_unit
    try:
        return _UNIT_NAMES[written.rstrip(".")]
    except KeyError:
        raise ValueError(f"{written!r} is no unit of length") from None


def _quantity(term: re.Match[str]) -> Fraction:
    if (decimal := term["decimal"]) is not None:
        if re.fullmatch(r"[1-9]\d{0,2},\d{3}", decimal):
            point = decimal.replace(",", ".")
            raise ValueError(f"{decimal} is a thousand to some and {point} to others")
        return Fraction(decimal.replace(",", "."))
    over, under = (int(n) for n in (term["part"] or term["alone"]).split("/"))
    if under == 0:
        raise ValueError("a fraction over zero")
    if term["whole"] is not None and over >= under:
        raise ValueError(f"{over}/{under} after a whole number is not less than one")
    return Fraction(over, under) + int(term["whole"] or 0)


def round_up_to_mark(inches: float, step: float = 1 / 8) -> float:
    """Return the first ruler mark at or above `inches`; marks are `step` inches apart.

    A length within a millionth of a mark counts as on it, so that 3.5 stays 3.5.
    """
    return math.ceil(inches / step - 1e-6) * step


def round_to_mark(inches: float, step: float = 1 / 8) -> float:
    """Return the ruler mark nearest to `inches`; half way goes up."""
    # 2.5 in is 6.35 cm, half way between two marks, and 63.4999... of them in binary.
    return math.floor(inches / step + 0.5 + 1e-6) * step


def format_length(inches: float, units: Units = "in", step: float = 1 / 16) -> str:
    """Return `inches` as a ruler reads: the nearest mark, with its unit.

    In inches the marks are `step` apart and print as a fraction; in centimetres they are the
    millimetre marks. A length that is not on a mark carries ``~`` before it.

    >>> format_length(3.5), format_length(0.8536), format_length(2.54, "cm")
    ('3 1/2 in', '~7/8 in', '~6.5 cm')
    """
    if units not in get_args(Units):
        msg = f"units: cannot show lengths in {units!r}; use in or cm"
        raise LengthError(msg)
    if units == "cm":
        shown = round_to_mark(inches * 2.54, 0.1)
        near = "" if abs(shown - inches * 2.54) < 1e-6 else "~"
        return f"{near}{shown:.1f} cm"
    shown = round_to_mark(inches, step)
    near = "" if abs(shown - inches) < 1e-6 else "~"
    return f"{near}{_on_mark(shown)} in"


def format_about(inches: float, units: Units = "in", step: float = 1 / 16) -> str:
    """Return a length as `format_length` does, for a sentence: one that is on no mark is "about".

    >>> format_about(3.5), format_about(0.8536)
    ('3 1/2 in', 'about 7/8 in')
    """
    return format_length(inches, units, step).replace("~", "about ")


def format_typed(inches: float, units: Units = "in") -> str:
    """Return a length that somebody typed, exactly: in `units`, or in the other where it is odd.

    >>> format_typed(0.25), format_typed(0.75 / 2.54), format_typed(0.75 / 2.54, "cm")
    ('1/4 in', '0.75 cm', '0.75 cm')
    """
    cm = round(inches * 2.54, 2)
    in_cm = f"{cm:g} cm" if abs(cm - inches * 2.54) < 1e-6 else None
    on_mark = format_length(inches, "in", 1 / 64)
    in_inches = None if on_mark.startswith("~") else on_mark
    in_thousandths = f"{inches:.3g} in" if abs(inches - float(f"{inches:.3g}")) < 1e-6 else None
    exact = (in_cm, in_inches) if units == "cm" else (in_inches, in_cm)
    return next(filter(None, (*exact, in_thousandths)), format_length(inches, units))


@lru_cache(maxsize=4096)  # thousands of sizes in a list stand on some hundred marks
def _on_mark(inches: float) -> str:
    fraction = Fraction(inches).limit_denominator(64)
    # Marks in millimetres are no fractions of an inch that anyone reads.
    return _mixed(fraction) if abs(fraction - inches) < 1e-6 else f"{inches:.3f}"


def format_size(first: float, second: float, units: Units = "in") -> str:
    """Return two sides on the nearest ruler marks, in the order given and the unit once.

    >>> format_size(9, 6.02), format_size(2.5, 40, "cm")
    ('9 × 6 in', '6.4 × 101.6 cm')
    """
    one, other = (format_length(side, units).removeprefix("~") for side in (first, second))
    return f"{one.rpartition(' ')[0]} × {other}"


def format_cut(inches: float, units: Units = "in", step: float = 1 / 8) -> str:
    """Return the first ruler mark at or above `inches`: a cut size is never shown too small.

    In inches the marks are `step` apart, in centimetres they are millimetres.

    >>> format_cut(3.8536), format_cut(2.5, "cm"), format_cut(3.5)
    ('3 7/8 in', '6.4 cm', '3 1/2 in')
    """
    if units == "cm":
        return format_length(round_up_to_mark(inches * 2.54, 0.1) / 2.54, units)
    return format_length(round_up_to_mark(inches, step), units, step)


def format_yards(inches: float) -> str:
    """Return a length of fabric in yards, rounded up to the eighth that shops cut.

    >>> format_yards(9.0), format_yards(40.0)
    ('1/4 yd', '1 1/8 yd')
    """
    return f"{_mixed(Fraction(round_up_to_mark(inches / INCHES_PER_YARD, 1 / 8)))} yd"


def format_area(square_inches: float, units: Units = "in") -> str:
    """Return an area in square inches or square centimetres, without needless digits."""
    if units == "cm":
        return f"{square_inches * 2.54**2:.0f} cm²"
    return f"{square_inches:.1f} sq in" if square_inches < 10 else f"{square_inches:.0f} sq in"


def _mixed(value: Fraction) -> str:
    sign, value = ("-", -value) if value < 0 else ("", value)
    whole, part = divmod(value, 1)
    if not part:
        return f"{sign}{whole}"
    return f"{sign}{whole} {part}" if whole else f"{sign}{part}"
