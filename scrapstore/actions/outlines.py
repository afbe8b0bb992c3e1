"""Outlines typed instead of measured: rectangles, strips, triangles, corners, precuts of the trade.

Each is drawn in a frame of its own, in inches, its lower left corner at the origin.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from difflib import get_close_matches
from typing import Final

from shapely import Polygon, box

from scrapstore.errors import LengthError, ShapeError
from scrapstore.shapes import checked_outline
from scrapstore.units import parse_length, parse_size

__all__ = [
    "PRECUTS",
    "TypedOutline",
    "grain_of",
    "typed_corners",
    "typed_flaws",
    "typed_precut",
    "typed_rectangle",
    "typed_strip",
    "typed_triangle",
    "with_grain",
]


@dataclass(frozen=True, kw_only=True)
class TypedOutline:
    """An outline as typed.

    `first_deg` is the direction of the measure typed first; `grain_deg` is the lengthwise grain
    where what was typed tells it (a fat quarter does); `clean` says that the edges are as cut in
    the shop, so that nothing need be kept free along them.
    """

    outline: Polygon
    first_deg: float = 0.0
    grain_deg: float | None = None
    clean: bool = False


def typed_rectangle(text: str, *, default_unit: str = "in") -> TypedOutline:
    """Return the rectangle of ``9 x 22``: the first measure lies level, the second upright."""
    width, height = parse_size(text, field="size", default_unit=default_unit)
    return TypedOutline(outline=box(0, 0, width, height))


def typed_strip(text: str, *, default_unit: str = "in") -> TypedOutline:
    """Return the strip of ``2 1/2 x 40``, width × length, lying level."""
    width, length = parse_size(text, field="strip", default_unit=default_unit)
    return TypedOutline(outline=box(0, 0, length, width), first_deg=90.0)


def typed_triangle(text: str, *, default_unit: str = "in") -> TypedOutline:
    """Return the right triangle whose two short sides are the measures of ``5 x 8``.

    The first lies level, the second upright, the right angle at the lower left. For any other
    triangle type its corners.
    """
    width, height = parse_size(text, field="triangle", default_unit=default_unit)
    return TypedOutline(outline=Polygon([(0, 0), (width, 0), (0, height)]))


def typed_corners(text: str, *, default_unit: str = "in") -> TypedOutline:
    """Return the polygon of ``0,0 5,0 5 1/2,3 0,4``: x,y of each corner in order round it.

    A unit after the last corner holds for all. Between corners stands a space, or a semicolon.
    Raises LengthError for text that is no list of corners, ShapeError for corners that enclose
    nothing or cross.
    """
    unit = re.search(r"\s*(in|mm|cm|ft|yd|m)\s*$", text.lower())
    body = text[: unit.start()] if unit else text
    corners = [
        tuple(_coordinate(part, unit.group(1) if unit else default_unit) for part in corner)
        for corner in _corner_texts(body)
    ]
    outline = checked_outline([(x, y) for x, y in corners], what="corners")
    return TypedOutline(outline=outline)


def typed_flaws(texts: Iterable[str], *, default_unit: str = "in") -> tuple[Polygon, ...]:
    """Return flaws typed by their corners, in the scrap's own frame; empty texts are left out."""
    return tuple(
        typed_corners(text, default_unit=default_unit).outline for text in texts if text.strip()
    )


_NUMBER: Final = r"-?(?:\d+\s*[½⅓⅔¼¾⅛⅜⅝⅞]|[½⅓⅔¼¾⅛⅜⅝⅞]|\d+(?:\s+|-)\d+/\d+|\d+/\d+|\d*\.\d+|\d+)"


def _corner_texts(text: str) -> list[tuple[str, str]]:
    """Split ``0,0 5 1/2,3`` at each corner; a space also stands inside 5 1/2."""
    if ";" in text:
        pairs = [corner.split(",") for corner in text.split(";") if corner.strip()]
        if all(len(pair) == 2 for pair in pairs):
            return [(x.strip(), y.strip()) for x, y in pairs]
        raise _no_corners(text)
    first, *between = (part.strip() for part in text.split(","))
    if not between:
        raise _no_corners(text)
    numbers = [first]
    for part in between[:-1]:  # the y of one corner and the x of the next
        both = re.fullmatch(rf"({_NUMBER})\s+({_NUMBER})", part)
        if both is None:
            raise _no_corners(text)
        numbers += both.groups()
    numbers.append(between[-1])
    return list(zip(numbers[::2], numbers[1::2], strict=True))


def _coordinate(text: str, unit: str) -> float:
    """Return one coordinate in inches; unlike a length it may be nothing, or negative."""
    sign = -1.0 if text.startswith("-") else 1.0
    plain = text.removeprefix("-").strip()
    if re.fullmatch(r"0*\.?0*", plain) and plain not in ("", "."):
        return 0.0
    return sign * parse_length(plain, field="corners", default_unit=unit)


def _no_corners(text: str) -> LengthError:
    return LengthError(
        f"corners: cannot read {text.strip()!r}; write x,y of each corner in order round the "
        "scrap, for example 0,0 5,0 5 1/2,3 0,4"
    )


def _precuts(usable_width: float) -> dict[str, TypedOutline]:
    # Common practice, no source. A fat quarter is half a yard (18 in along the selvage) cut in two
    # across; a fat eighth is half of that, cut either way; a strip is cut over the full width.
    return {
        "fat quarter": TypedOutline(outline=box(0, 0, 18, 22), grain_deg=0.0, clean=True),
        "fat eighth": TypedOutline(outline=box(0, 0, 9, 22), grain_deg=0.0, clean=True),
        "fat eighth 11 x 18": TypedOutline(outline=box(0, 0, 11, 18), grain_deg=90.0, clean=True),
        "5 in square": TypedOutline(outline=box(0, 0, 5, 5), clean=True),
        "10 in square": TypedOutline(outline=box(0, 0, 10, 10), clean=True),
        "2 1/2 in strip": TypedOutline(
            outline=box(0, 0, usable_width, 2.5), first_deg=90.0, grain_deg=90.0, clean=True
        ),
    }


PRECUTS: Final = tuple(_precuts(40.0))
"""The precuts that `typed_precut` knows."""


def typed_precut(text: str, *, usable_width: float) -> TypedOutline:
    """Return a precut of the trade by its name; a strip is `usable_width` inches long.

    Raises ShapeError, listing the names, for another.
    """
    known = _precuts(usable_width)
    plain = " ".join(text.lower().replace("×", "x").replace("-", " ").split())
    plain = {"charm": "5 in square", "charm square": "5 in square"}.get(plain, plain)
    found = known.get(plain) or known.get(plain.removesuffix(" 9 x 22").removesuffix(" 18 x 22"))
    sized = re.fullmatch(r"(.+?)(?:\s*wide)?\s+(square|strip)s?", plain)
    if found is None and sized is not None:
        for name, precut in known.items():
            if name.endswith(sized.group(2)) and _same_length(name.split(" in ")[0], sized[1]):
                found = precut
    if found is None:
        near = get_close_matches(plain, (*known, "charm square"), n=1)
        hint = f"did you mean {near[0]}? Else " if near else ""
        msg = (
            f"precut: {text!r} is not known; {hint}use one of {', '.join(known)}, or type the size"
        )
        raise ShapeError(msg)
    return found


def _same_length(a: str, b: str) -> bool:
    try:
        return abs(parse_length(a) - parse_length(b)) < 1e-9
    except LengthError:
        return False


def grain_of(text: str, typed: TypedOutline) -> float | None:
    """Return the direction of the lengthwise grain that `text` tells for `typed`, 0 to 360.

    ``first`` and ``second`` are along the measure typed first or second, ``unknown`` is None, and
    a number is degrees counter-clockwise from level; of a one-way print it is where its top is.
    Raises ShapeError.
    """
    plain = text.strip().lower()
    if plain == "unknown":
        return None
    if plain in ("first", "second"):
        return (typed.first_deg + (90.0 if plain == "second" else 0.0)) % 180
    try:
        degrees = float(plain.removesuffix("°").removesuffix("deg"))
    except ValueError:
        degrees = float("nan")
    if not -360 <= degrees <= 360:
        msg = (
            f"grain: cannot read {text!r}; write first or second (along the measure typed first or "
            "second), degrees such as 45, or unknown"
        )
        raise ShapeError(msg)
    return degrees % 360


def with_grain(typed: TypedOutline, text: str | None) -> TypedOutline:
    """Return `typed` with the grain that `text` tells; None leaves it as it is."""
    return typed if text is None else replace(typed, grain_deg=grain_of(text, typed))
