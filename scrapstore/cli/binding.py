"""``binding``: strips cut for binding an edge."""

from typing import TYPE_CHECKING, Annotated

from scrapstore.cli import options as o
from scrapstore.cli.base import Call, command, group
from scrapstore.cli.stock import register_shared
from scrapstore.cli.tables import Shown, table
from scrapstore.cli.typed_fields import FieldOptions, adding, editing
from scrapstore.stock_entry.fields import BINDING_FIELDS
from scrapstore.units import parse_size

if TYPE_CHECKING:
    from scrapstore.store import BindingStrip

__all__ = ["app"]

app = group("binding", "Binding strips: add, list, show, edit, retire, reinstate.")


def _size(about: str) -> object:
    return o.text_option("--size", about, metavar="'W x L'")


@command(app, "add")
def add(
    call: Call,
    size: Annotated[str, _size("Width and length, such as '2 1/2 x 40'.")],
    fields: Annotated[FieldOptions, adding(BINDING_FIELDS)],
    count: o.COUNT = 1,
) -> None:
    """Add binding strips, lying level with the right side up."""
    from scrapstore.actions.binding import add_binding_strips
    from scrapstore.store import NewBindingStrip

    values = fields.read_new(call)
    fabric = values.pop("fabric", None)
    width, length = parse_size(size, field="size", default_unit=call.units)
    strip = NewBindingStrip(width=width, length=length, **values)
    added = call.in_store_or_new(
        add_binding_strips, strip, count=count, fabric=fabric, make_fabric=fields.make_fabric
    )
    _print(call, added)


@command(app, "edit")
def edit(
    call: Call,
    numbers: o.NUMBERS,
    fields: Annotated[FieldOptions, editing(BINDING_FIELDS)],
    size: Annotated[str | None, _size("Width and length now.")] = None,
) -> None:
    """Change fields of one or several strips at once. An empty text ('') empties a field."""
    from scrapstore.actions.stock import BINDING, edit_stock

    changes = fields.read(call)
    if size is not None:
        sides = parse_size(size, field="size", default_unit=call.units)
        changes |= dict(zip(("width", "length"), sides, strict=True))
    numbered = o.number_list(numbers)
    edited = call.in_store(edit_stock, BINDING, numbered, changes, make_fabric=fields.make_fabric)
    _print(call, edited)


def _print(call: Call, strips: "tuple[BindingStrip, ...]") -> None:
    from scrapstore.json_output.stock import binding_list_out

    call.show(binding_list_out(strips), lambda: _table(call, strips))


def _table(call: Call, strips: "tuple[BindingStrip, ...]") -> Shown:
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
    none = o.none_there(call, "binding strips", "binding add --size SIZE")
    return table(columns, rows, right=("no.", "size"), none=none)


def _slope(degrees: float) -> str:
    return {0.0: "straight", 45.0: "/", -45.0: "\\"}.get(degrees, f"{degrees:g}°")


register_shared(app, "BINDING", "binding strips", _print)
