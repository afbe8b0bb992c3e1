"""Options and arguments that several commands share, and how their texts are read."""

import re
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Annotated, Any

import typer

from scrapstore.cli.base import Call
from scrapstore.errors import UsageError

if TYPE_CHECKING:
    from scrapstore.store import StockFilter

__all__ = [
    "ACCENTS",
    "AT_LEAST",
    "COUNT",
    "FABRIC",
    "FABRICS",
    "FAMILIES",
    "FAMILY",
    "FROM_PROJECT",
    "FROM_PROJECTS",
    "NEW_FABRICS",
    "NOTE",
    "NUMBERS",
    "PLACE",
    "PLACES",
    "SET_ASIDE_FOR",
    "STATUS",
    "STATUSES",
    "VALUE",
    "VALUES",
    "number_list",
    "sides_text",
    "status_text",
    "stock_changes",
    "stock_filter",
]


def _text(*names: str, about: str, metavar: str = "TEXT") -> Any:
    return typer.Option(*names, metavar=metavar, help=about)


NUMBERS = Annotated[
    list[str], typer.Argument(metavar="NUMBER", help="Numbers as listed; 3-7 means 3 to 7.")
]
COUNT = Annotated[int, typer.Option("--count", metavar="N", help="How many of them, all alike.")]
FABRIC = Annotated[str | None, _text("--fabric", about="The fabric's name.")]
NEW_FABRICS = Annotated[
    bool, typer.Option("--new-fabrics", help="Add a named fabric that the store does not know.")
]
PLACE = Annotated[str | None, _text("--place", about="Where it is kept, such as 'bin 2'.")]
FROM_PROJECT = Annotated[
    str | None, _text("--from-project", about="The project it was left over from.")
]
FAMILY = Annotated[
    str | None,
    _text("--family", about="Colour family, such as blue; navy and the like are understood."),
]
ACCENTS = Annotated[
    list[str] | None,
    _text("--accent", about="An accent: another colour family on it; may be repeated."),
]
VALUE = Annotated[str | None, _text("--value", about="light, medium or dark.")]
STATUS = Annotated[str | None, _text("--status", about="available, set aside or used up.")]
SET_ASIDE_FOR = Annotated[
    str | None, _text("--set-aside-for", about="Promise it to this project.", metavar="PROJECT")
]
NOTE = Annotated[str | None, _text("--note", about="Anything else.")]

FAMILIES = Annotated[
    list[str] | None,
    _text(
        "--family",
        about="Only this colour family, also as an accent; --colour is the same.",
    ),
]
FABRICS = Annotated[list[str] | None, _text("--fabric", about="Only of this fabric.")]
PLACES = Annotated[list[str] | None, _text("--place", about="Only what is kept there.")]
VALUES = Annotated[list[str] | None, _text("--value", about="Only light, medium or dark.")]
FROM_PROJECTS = Annotated[
    list[str] | None, _text("--from-project", about="Only what was left over from this project.")
]
STATUSES = Annotated[
    list[str] | None,
    _text("--status", about="available (as when not given), set aside, used up, or all."),
]
AT_LEAST = Annotated[
    str | None,
    _text(
        "--at-least",
        about="Only what is this large both ways, such as '5 x 8', by the smallest rectangle "
        "round it.",
        metavar="SIZE",
    ),
]


def number_list(texts: Iterable[str]) -> list[int]:
    """Return the numbers that ``3``, ``5-8`` or ``#12`` tell, in order; UsageError."""
    numbers: list[int] = []
    for part in (part for text in texts for part in re.split(r"[,\s]+", text) if part):
        found = re.fullmatch(r"#?(\d{1,9})(?:\s*[-–]\s*#?(\d{1,9}))?", part)
        first, last = (int(found[1]), int(found[2] or found[1])) if found else (1, 0)
        if not first <= last <= first + 100_000:
            msg = f"number: cannot read {part!r}; write numbers as listed, for example 3 5-8"
            raise UsageError(msg)
        numbers += range(first, last + 1)
    return numbers


def stock_filter(
    call: Call,
    *,
    families: Sequence[str] | None = None,
    values: Sequence[str] | None = None,
    fabrics: Sequence[str] | None = None,
    places: Sequence[str] | None = None,
    from_projects: Sequence[str] | None = None,
    statuses: Sequence[str] | None = None,
    at_least: str | None = None,
) -> "StockFilter":
    """Return the filter that these texts tell; each is checked and near words are suggested."""
    from scrapstore.store import STATUSES as ALL
    from scrapstore.store import StockFilter
    from scrapstore.store.typed_words import known_family, known_status, known_value
    from scrapstore.units import parse_size

    for word in families or ():
        family = known_family(word)
        if family != word.strip().lower():
            call.say(f"{word} counts as {family}.")
    words = statuses or ("available",)
    wanted = ALL if "all" in words else tuple(known_status(word) for word in words)
    size = None
    if at_least is not None:
        size = parse_size(at_least, field="--at-least", default_unit=call.units)
    return StockFilter(
        families=tuple(known_family(word) for word in families or ()),
        values=tuple(known_value(word) for word in values or ()),
        fabrics=tuple(name.strip() for name in fabrics or ()),
        places=tuple(place.strip() for place in places or ()),
        from_projects=tuple(name.strip() for name in from_projects or ()),
        statuses=wanted,
        at_least=size,
    )


def stock_changes(
    *,
    texts: "dict[str, str | None]",
    family: str | None = None,
    value: str | None = None,
    status: str | None = None,
) -> dict[str, Any]:
    """Return what an edit changes: the fields that were given; an empty text empties a field."""
    from scrapstore.store.typed_words import known_family, known_status, known_value, text_or_none

    changes: dict[str, Any] = {
        key: text_or_none(text) for key, text in texts.items() if text is not None
    }
    if family is not None:
        changes["family"] = known_family(family) if family.strip() else None
    if value is not None:
        changes["value"] = known_value(value) if value.strip() else None
    if status is not None:
        changes["status"] = known_status(status)
    return changes


def status_text(status: str, set_aside_for: str | None) -> str:
    """Return a status for a table: nothing for what is available, as most things are."""
    if status == "available":
        return ""
    return f"{status} for {set_aside_for}" if set_aside_for else status


def sides_text(call: Call, sides: tuple[float, float]) -> str:
    """Return ``9 × 22 in``: two sides in the order given, in the units shown."""
    from scrapstore.units import format_size

    return format_size(*sides, call.units)
