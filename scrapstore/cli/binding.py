"""``binding``: strips cut for binding an edge."""

from typing import TYPE_CHECKING, Annotated, Any

import typer

from scrapstore.cli import options as o
from scrapstore.cli.base import Call, command, group
from scrapstore.cli.stock import register_shared

if TYPE_CHECKING:
    from rich.console import RenderableType

    from scrapstore.store import BindingStrip

__all__ = ["app"]

START = Annotated[
    str | None,
    typer.Option(
        "--start", metavar="SLOPE", help="The left end: straight, / (leans right), \\ or degrees."
    ),
]
END = Annotated[str | None, typer.Option("--end", metavar="SLOPE", help="The right end, likewise.")]


app = group("binding", "Binding strips: add, list, show, edit, retire, reinstate.")


@command(app, "add")
def add(
    call: Call,
    size: Annotated[
        str, typer.Argument(metavar="SIZE", help="Width and length, such as '2 1/2 x 40'.")
    ],
    start: START = None,
    end: END = None,
    count: o.COUNT = 1,
    fabric: o.FABRIC = None,
    new_fabrics: o.NEW_FABRICS = False,
    family: o.FAMILY = None,
    value: o.VALUE = None,
    place: o.PLACE = None,
    note: o.NOTE = None,
) -> None:
    """Add binding strips, lying level with the right side up."""
    from scrapstore.actions.add_stock import add_binding_strips
    from scrapstore.actions.read_fields import slope_of
    from scrapstore.store import NewBindingStrip
    from scrapstore.store.typed_words import known_family, known_value, text_or_none
    from scrapstore.units import parse_size

    width, length = parse_size(size, field="size", default_unit=call.units)
    strip = NewBindingStrip(
        width=width,
        length=length,
        start_slope_deg=slope_of(start or "straight"),
        end_slope_deg=slope_of(end or "straight"),
        family=known_family(family) if family else None,
        value=known_value(value) if value else None,
        place=text_or_none(place),
        note=text_or_none(note),
    )
    with call.open_store(make=True) as store:
        added = add_binding_strips(
            store, strip, count=count, fabric=text_or_none(fabric), make_fabric=new_fabrics
        )
    _print(call, added)


@command(app, "edit")
def edit(
    call: Call,
    numbers: o.NUMBERS,
    size: Annotated[
        str | None, typer.Option("--size", metavar="'W x L'", help="Width and length now.")
    ] = None,
    start: START = None,
    end: END = None,
    fabric: o.FABRIC = None,
    new_fabrics: o.NEW_FABRICS = False,
    family: o.FAMILY = None,
    value: o.VALUE = None,
    place: o.PLACE = None,
    status: o.STATUS = None,
    set_aside_for: o.SET_ASIDE_FOR = None,
    note: o.NOTE = None,
) -> None:
    """Change fields of one or several strips at once. An empty text ('') empties a field."""
    from scrapstore.actions.read_fields import slope_of
    from scrapstore.actions.stock import BINDING, edit_stock
    from scrapstore.units import parse_size

    texts = {"fabric": fabric, "place": place, "set_aside_for": set_aside_for, "note": note}
    changes: dict[str, Any] = o.stock_changes(
        texts=texts, family=family, value=value, status=status
    )
    if size is not None:
        width, length = parse_size(size, field="size", default_unit=call.units)
        changes |= {"width": width, "length": length}
    if start is not None:
        changes["start_slope_deg"] = slope_of(start)
    if end is not None:
        changes["end_slope_deg"] = slope_of(end)
    numbered = o.number_list(numbers)
    with call.open_store() as store:
        _print(call, edit_stock(store, BINDING, numbered, changes, make_fabric=new_fabrics))


def _print(call: Call, strips: "tuple[BindingStrip, ...]") -> None:
    from scrapstore.json_output.stock import binding_list_out

    call.show(binding_list_out(strips), lambda: _table(call, strips))


def _table(call: Call, strips: "tuple[BindingStrip, ...]") -> "RenderableType":
    from scrapstore.cli.tables import table

    rows = [
        (
            str(strip.id),
            o.sides_text(call, (strip.width, strip.length)),
            f"{_slope(strip.start_slope_deg)} to {_slope(strip.end_slope_deg)}",
            strip.fabric.name if strip.fabric else "",
            " ".join(word for word in (strip.value, strip.family) if word),
            strip.place or "",
            o.status_text(strip.status, strip.set_aside_for),
        )
        for strip in strips
    ]
    columns = ("no.", "size", "ends", "fabric", "family", "place", "status")
    none = o.none_there("binding strips", "binding add --size SIZE")
    return table(columns, rows, right=("no.", "size"), none=none)


def _slope(degrees: float) -> str:
    return {0.0: "straight", 45.0: "/", -45.0: "\\"}.get(degrees, f"{degrees:g}°")


register_shared(app, "BINDING", "binding strips", _print)
