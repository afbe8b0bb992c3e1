"""The size of a scrap as typed: one of five ways, or a precut of the trade by its name."""

import re
from collections.abc import Mapping
from dataclasses import replace
from typing import Final

from scrapstore.errors import LengthError, ShapeError
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
from scrapstore.units import LONGEST_YARDAGE, WIDEST_FABRIC, parse_length

__all__ = ["SIZES", "checked_yardage", "typed_margin", "typed_size"]

SIZES: Final = ("size", "strip", "triangle", "corners", "precut")
"""The ways to type a size, by the names of the options and of the keys in ``scraps.toml``."""


def typed_size(
    texts: Mapping[str, str | None],
    grain: str | None,
    settings: Settings,
    *,
    default_unit: str = "in",
    options: bool = False,
) -> TypedOutline:
    """Return the outline that exactly one of `texts` (size, strip, triangle, …) gives.

    Raises ShapeError when none or several are given; `options` writes their names as options.
    Raises LengthError or ShapeError for a text that cannot be read.
    """
    given = [(kind, text) for kind, text in texts.items() if text is not None]
    if len(given) != 1:
        what = "no size was typed" if not given else "more than one size was typed"
        names = ", ".join(f"--{kind}" if options else kind for kind in SIZES)
        raise ShapeError(f"{what}; give one of {names}")
    kind, text = given[0]
    if kind == "size" and is_yardage(text):
        msg = f"size: {text!r} is a length of the full width; add it as yardage: yardage add"
        raise ShapeError(f"{msg} --fabric NAME --length {text!r}")
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
    """Return the margin that `text` gives, in inches; None is the setting's, for a precut none.

    Raises LengthError for one that cannot be read, or that leaves nothing of the scrap.
    """
    if text is None:
        return 0.0 if typed.clean else settings.margin
    margin = parse_length(text, field="margin", default_unit=default_unit, zero=True)
    return checked_margin(margin, typed.outline)


def checked_yardage(length: float | None, usable_width: float | None) -> None:
    """Raise LengthError for a length of fabric, or a usable width, larger than cloth is made."""
    for field, inches, most in (
        ("length", length, LONGEST_YARDAGE),
        ("width", usable_width, WIDEST_FABRIC),
    ):
        if inches is not None and inches > most:
            shown, limit = (f"{round(i, 2):g} in" for i in (inches, most))
            meant = " did you mean cm?" if inches / 2.54 <= most else " check the unit"
            raise LengthError(f"{field}: {shown} is more than fabric has, {limit};{meant}")
