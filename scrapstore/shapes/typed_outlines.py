"""Outlines typed instead of measured: rectangles, strips, triangles, corners, precuts of the trade.

Each is drawn in a frame of its own, in inches, its lower left corner at the origin.
"""

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Final

from shapely import Polygon, box

from scrapstore.errors import LengthError, ShapeError
from scrapstore.near_words import perhaps
from scrapstore.shapes.outline import checked_outline
from scrapstore.shapes.precuts import Precut, precuts
from scrapstore.units import (
    LONGEST_SCRAP,
    Units,
    format_length,
    parse_degrees,
    parse_length,
    parse_size,
)

__all__ = [
    "PRECUTS",
    "TypedOutline",
    "checked_margin",
    "checked_size",
    "grain_of",
    "is_yardage",
    "names_precut",
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

    The measure typed first lies level. `grain_deg` is the lengthwise grain where what was typed
    says it (a fat quarter does); `clean` says that the edges are as cut in the shop, so that
    nothing need be kept free along them; `note` says how the size came about where it is not what
    was typed.
    """

    outline: Polygon
    grain_deg: float | None = None
    clean: bool = False
    note: str | None = None


def typed_rectangle(text: str, *, default_unit: str = "in") -> TypedOutline:
    """Return the rectangle of ``9 x 22``: the first measure lies level, the second upright."""
    width, height = parse_size(text, field="size", default_unit=default_unit)
    return TypedOutline(outline=box(0, 0, width, height))


def typed_strip(text: str, *, default_unit: str = "in") -> TypedOutline:
    """Return the strip of ``2 1/2 x 40``, width × length: its width level, its length upright."""
    width, length = parse_size(text, field="strip", default_unit=default_unit)
    return TypedOutline(outline=box(0, 0, width, length))


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
        tuple(
            parse_length(
                part, field="corners", default_unit=unit[1] if unit else default_unit, signed=True
            )
            for part in corner
        )
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


def _no_corners(text: str) -> LengthError:
    return LengthError(
        f"corners: cannot read {text.strip()!r}; write x,y of each corner in order round the "
        "scrap, for example 0,0 5,0 5 1/2,3 0,4"
    )


_SHORT_NAMES: Final = {
    "charm": "5 in square", "charm square": "5 in square", "fq": "fat quarter",
    "f8": "fat eighth", "fe": "fat eighth",
}  # fmt: skip
PRECUTS: Final = tuple(precuts(40.0, 0.5))
"""The precuts that `typed_precut` knows."""


def names_precut(text: str) -> bool:
    """Return whether `text` is the name of a precut and no size, such as FQ."""
    plain = _plain(text)
    return _SHORT_NAMES.get(plain, plain) in PRECUTS


def is_yardage(text: str) -> bool:
    """Return whether `text` is one length in yards or metres, such as half a yard."""
    plain = text.lower()
    one = not re.search(r"[x×*]|\bby\b|,", plain)
    return one and bool(re.search(r"\b(yards?|yds?|met(er|re)s?)\b", plain))


def typed_precut(
    text: str, *, usable_width: float, straightening: float = 0.5, units: Units = "in"
) -> TypedOutline:
    """Return what can be used of a precut of the trade by its name, as `precuts` has it.

    Its note, in `units`, says so where that is less than what is bought. Raises ShapeError, listing
    the names, for another.
    """
    known = precuts(usable_width, straightening)
    plain = _plain(text)
    plain = _SHORT_NAMES.get(plain, plain)
    found = known.get(plain) or known.get(plain.removesuffix(" 9 x 22").removesuffix(" 18 x 22"))
    sized = re.fullmatch(r"(.+?)(?:\s*wide)?\s+(square|strip)s?", plain)
    if found is None and sized is not None:
        for name, precut in known.items():
            if name.endswith(sized.group(2)) and _same_length(name.split(" in ")[0], sized[1]):
                found = precut
    if found is None:
        if is_yardage(text):
            msg = f"precut: {text!r} is a length of the full width; add it as yardage: yardage add"
            raise ShapeError(f"{msg} --fabric NAME --length {text!r}")
        hint = perhaps(plain, (*known, "charm square"))
        msg = (
            f"precut: {text!r} is not known; {hint}use one of {', '.join(known)}, or type the size"
        )
        raise ShapeError(msg)
    return TypedOutline(
        outline=found.outline,
        grain_deg=found.grain_deg,
        clean=True,
        note=_counted_as(found, usable_width, straightening, units),
    )


def _plain(text: str) -> str:
    return " ".join(text.lower().replace("×", "x").replace("-", " ").split())


def _counted_as(precut: Precut, usable_width: float, off: float, units: Units) -> str | None:
    """Say what of a precut counts, where that is less than what is bought."""
    if precut.bought is None:
        return None
    left, low, right, high = precut.outline.bounds
    sides = (right - left, high - low)
    grain, across = sides if precut.grain_deg == 0 else sides[::-1]
    long, wide, usable, straight = (
        format_length(inches, units) for inches in (grain, across, usable_width, off)
    )
    return (
        f"A {precut.name} counts as {long} along the lengthwise grain by {wide} across: {straight} "
        f"goes in squaring it up (setting precut_straightening), and the fabric is {usable} wide "
        "between the selvages (setting usable_width). Type --size for another."
    )


def checked_size(typed: TypedOutline, text: str, read: Callable[..., TypedOutline]) -> TypedOutline:
    """Return `typed`, which `read` made of `text`; ShapeError when a side is longer than a scrap's.

    Longer than `LONGEST_SCRAP` is a slip of the unit, or a length of fabric.
    """
    longest = _longest(typed)
    if longest <= LONGEST_SCRAP:
        return typed
    hint = ""
    bare = re.sub(
        r"(?<=[\d\s])(mm|cm|m|in|ft|yd|yards?|inch(es)?|feet|[\"'″′])(?![a-z])", "", text.lower()
    )
    for unit in ("cm", "mm"):
        try:
            meant = _longest(read(bare, default_unit=unit))
        except (LengthError, ShapeError):
            break
        if meant <= LONGEST_SCRAP:
            hint = f"; did you mean {unit}?"
            break
    msg = (
        f"size: {text.strip()!r} is {format_length(longest)} long, and no side of a scrap is over "
        f"{format_length(LONGEST_SCRAP)}{hint or '.'} A length of the full width is added with "
        "yardage add"
    )
    raise ShapeError(msg)


def _longest(typed: TypedOutline) -> float:
    left, low, right, high = typed.outline.bounds
    return max(right - left, high - low)


def _same_length(a: str, b: str) -> bool:
    try:
        return abs(parse_length(a) - parse_length(b)) < 1e-9
    except LengthError:
        return False


def grain_of(text: str) -> float | None:
    """Return the direction of the lengthwise grain that `text` gives, 0 to 360.

    ``first`` is along the measure typed first, which lies level, ``second`` along the other,
    ``unknown`` is None, and a number is degrees counter-clockwise from level; of a one-way print it
    is where its top is. Raises ShapeError.
    """
    plain = text.strip().lower()
    if plain == "unknown":
        return None
    if plain in ("first", "second"):
        return 90.0 if plain == "second" else 0.0
    degrees = parse_degrees(plain, 360)
    if degrees is None:
        msg = (
            f"grain: cannot read {text!r}; write first or second (along the measure typed first or "
            "second), degrees such as 45, or unknown"
        )
        raise ShapeError(msg)
    return degrees % 360


def with_grain(typed: TypedOutline, text: str | None) -> TypedOutline:
    """Return `typed` with the grain that `text` gives; None leaves it as it is."""
    return typed if text is None else replace(typed, grain_deg=grain_of(text))


def checked_margin(margin: float, outline: Polygon) -> float:
    """Return `margin`; LengthError when nothing of `outline` would be left inside it."""
    if outline.buffer(-margin).is_empty:
        left, bottom, right, top = outline.bounds
        size = f"{format_length(right - left)} × {format_length(top - bottom)}"
        msg = (
            f"margin: {format_length(margin)} along every edge leaves nothing of a scrap of {size}"
        )
        raise LengthError(f"{msg}; give a smaller one")
    return margin
