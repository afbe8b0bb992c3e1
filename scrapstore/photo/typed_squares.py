"""The squares of a scale as people write them: ``print``, or ``4x4_50:0-9:30 mm``.

Anyone who owns a board or stickers with fiducial squares of an open family can use them instead of
our print: the family, the identities that lie on the table, and the outer side of the black square.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from scrapstore.errors import LengthError, SettingsError
from scrapstore.near_words import did_you_mean
from scrapstore.units import parse_length, says_unit

__all__ = ["EXAMPLE", "FAMILIES", "PRINT", "TypedSquares", "parse_squares"]

PRINT: Final = "print"
"""Stands for our own print."""
EXAMPLE: Final = "4x4_50:0-9:30 mm"

FAMILIES: Final[Mapping[str, int]] = MappingProxyType(
    # OpenCV's predefined dictionaries and how many codes each has; a test compares.
    {f"{n}x{n}_{count}": count for n in (4, 5, 6, 7) for count in (50, 100, 250, 1000)}
    | {"aruco_original": 1024, "aruco_mip_36h12": 250}
    | {"apriltag_16h5": 30, "apriltag_25h9": 35, "apriltag_36h10": 2320, "apriltag_36h11": 587}
)
"""Family as OpenCV names it, in small letters without ``DICT_``, → how many codes it has."""

_SIDES: Final = (0.2, 40.0)  # inches


@dataclass(frozen=True)
class TypedSquares:
    """Squares as typed: family, the identities that count, outer side of the black square (in)."""

    family: str
    ids: tuple[int, ...]
    side: float


def parse_squares(text: str) -> TypedSquares | None:
    """Return the squares of ``FAMILY:IDENTITIES:SIDE``; None for `PRINT`, our own.

    Identities are ``0-9``, ``0,3,7`` or ``all``; the side has its unit. Raises SettingsError,
    which says what of it will not do.
    """
    if text.strip().lower() == PRINT:
        return None
    parts = [part.strip() for part in text.split(":")]
    if len(parts) != 3 or not all(parts):
        raise SettingsError(
            f"squares: cannot read {text!r}; write family, identities and side with colons "
            f"between, for example {EXAMPLE!r}, or {PRINT} for our own print"
        )
    family = _family(parts[0])
    return TypedSquares(family, _identities(parts[1], family), _side(parts[2]))


def _family(text: str) -> str:
    plain = re.sub(r"[\s-]+", "_", text.lower()).removeprefix("dict_")
    if plain not in FAMILIES:
        plain = re.sub(r"^aruco_?(?=\dx\d)", "", plain)
    if re.fullmatch(r"april_?tags?_?\d+h\d+|tag_?\d+h\d+|\d+h\d+", plain):
        plain = "apriltag_" + re.sub(r"^\D*", "", plain)
    if plain in FAMILIES:
        return plain
    hint = did_you_mean(plain, FAMILIES)
    raise SettingsError(f"squares: no family {text!r}; {hint}")


def _identities(text: str, family: str) -> tuple[int, ...]:
    count = FAMILIES[family]
    if text.lower() == "all":
        return tuple(range(count))
    found: set[int] = set()
    for part in re.split(r"[,\s]+", re.sub(r"\s*-\s*", "-", text)):
        both = re.fullmatch(r"(\d{1,5})(?:-(\d{1,5}))?", part)
        first, last = (int(both[1]), int(both[2] or both[1])) if both else (1, 0)
        if first > last:
            raise SettingsError(
                f"squares: cannot read the identities {text!r}; write for example 0-9 or 0,3,7"
            )
        if last >= count:
            raise SettingsError(
                f"squares: {family} has the identities 0 to {count - 1}, not {last}; look at the "
                "family and the number printed with your squares"
            )
        found.update(range(first, last + 1))
    return tuple(sorted(found))


def _side(text: str) -> float:
    try:
        side, with_unit = parse_length(text), says_unit(text)
    except LengthError as error:
        raise SettingsError(f"squares: {error}") from error
    if not with_unit:
        raise SettingsError(
            f"squares: give the side {text!r} with its unit, such as 30 mm or 1 1/4 in; it is the "
            "outer side of the black square"
        )
    low, high = _SIDES
    if not low <= side <= high:
        raise SettingsError(
            f"squares: a side of {text} will not do ({low:g} to {high:g} in will); measure the "
            "outer side of the black square"
        )
    return side
