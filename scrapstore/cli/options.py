"""Options and arguments that several commands share, and how their texts are read."""

import re
from collections.abc import Callable, Iterable
from math import inf
from typing import TYPE_CHECKING, Annotated, Any

import typer

from scrapstore.cli.base import Call
from scrapstore.errors import UsageError
from scrapstore.units import format_size

if TYPE_CHECKING:
    from shapely import Polygon

__all__ = [
    "COUNT",
    "FILTERS_COMBINE",
    "NEW_FABRICS",
    "NUMBER",
    "NUMBERS",
    "TEXTS",
    "no_scraps",
    "none_there",
    "number_argument",
    "number_list",
    "number_option",
    "outline_text",
    "sides_text",
    "status_text",
    "text_option",
    "times_option",
]


def text_option(name: str, about: str, *, metavar: str = "TEXT") -> Any:
    """Return the option `name`, which takes a text; `about` is its help."""
    return typer.Option(name, metavar=metavar, help=about)


def number_option(
    name: str, about: str, *, least: int = 1, most: float = inf, metavar: str = "N"
) -> Any:
    """Return the option `name`, which takes a whole number from `least` to `most`."""
    return typer.Option(name, metavar=metavar, help=about, parser=_reader(name, int, least, most))


def times_option(name: str, about: str) -> Any:
    """Return the option `name`, which takes a number from 0 to 1000, whole or not."""
    return typer.Option(name, metavar="N", help=about, parser=_reader(name, float, 0, 1000))


def number_argument(metavar: str, about: str) -> Any:
    """Return an argument that is one whole number; ``#12`` is 12."""
    return typer.Argument(metavar=metavar, help=about, parser=_reader(metavar, int, 1, inf))


def _reader(
    name: str, kind: type[int] | type[float], least: int, most: float
) -> Callable[[str | float], float]:
    """Return what reads a number for `name`; a default is handed through it too."""

    def read(text: str | float) -> float:
        try:
            number = kind(str(text).removeprefix("#"))
        except ValueError:
            number = least - 1
        if least <= number <= most:
            return number
        words = "a whole number" if kind is int else "a number"
        limits = f"from {least} to {most}" if most < inf else f"of {least} or more"
        raise UsageError(f"{name}: {text!r} will not do; give {words} {limits}")

    return read


TEXTS = list[str] | None
FILTERS_COMBINE = "Filters combine; one given twice lets either through."
NUMBER = Annotated[int, number_argument("NUMBER", "Its number as listed.")]
NUMBERS = Annotated[
    list[str], typer.Argument(metavar="NUMBER", help="Numbers as listed; 3-7 means 3 to 7.")
]
COUNT = Annotated[int, number_option("--count", "How many of them, all alike.", most=10_000)]
NEW_FABRICS = Annotated[
    bool, typer.Option("--new-fabrics", help="Add a named fabric that the store does not know.")
]


def number_list(texts: Iterable[str]) -> list[int]:
    """Return the numbers that ``3``, ``5-8`` or ``#12`` name, in order; UsageError."""
    numbers: list[int] = []
    for part in (part for text in texts for part in re.split(r"[,\s]+", text) if part):
        found = re.fullmatch(r"#?(\d{1,9})(?:\s*[-–]\s*#?(\d{1,9}))?", part)
        first, last = (int(found[1]), int(found[2] or found[1])) if found else (1, 0)
        if not first <= last <= first + 100_000:
            msg = f"number: cannot read {part!r}; write numbers as listed, for example 3 5-8"
            raise UsageError(msg)
        numbers += range(first, last + 1)
    return numbers


def none_there(call: Call, things: str, command: str) -> str:
    """Return what a list says that has none of these `things`, and what to do about it."""
    if call.filtered:
        return f"No {things} match; leave out a filter to see more."
    return f"No {things} are available. To add some: scrapstore {command}."


def no_scraps(call: Call) -> str:
    """Return what a list of scraps says that has none."""
    return none_there(call, "scraps", "log PHOTO, or scrap add")


def status_text(status: str, set_aside_for: str | None) -> str:
    """Return a status for a table: nothing for what is available, as most things are."""
    if status == "available":
        return ""
    return f"{status} for {set_aside_for}" if set_aside_for else status


def outline_text(call: Call, outline: "Polygon", sides: tuple[float, float]) -> str:
    """Return the size of a scrap, and that it is less where a tenth or more of it is missing."""
    within = ""
    if outline.area <= 0.9 * sides[0] * sides[1]:
        within = "triangle in " if len(outline.exterior.coords) == 4 else "part of "
    return within + sides_text(call, sides)


def sides_text(call: Call, sides: tuple[float, float]) -> str:
    """Return ``9 × 22 in``: two sides in the order given, in the units shown."""
    return format_size(*sides, call.units)
