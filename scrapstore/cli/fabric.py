"""``fabric``: the cloths that scraps and yardage are of."""

from typing import TYPE_CHECKING, Annotated

import typer

from scrapstore.cli import options as o
from scrapstore.cli.base import Call, command, group
from scrapstore.cli.filters import FabricFilters
from scrapstore.cli.tables import Shown, facts, stack, table
from scrapstore.cli.typed_fields import FieldOptions, adding, editing
from scrapstore.stock_entry.fields import FABRIC_FIELDS
from scrapstore.units import format_area

if TYPE_CHECKING:
    from scrapstore.store import Fabric

__all__ = ["app"]

NAMES = Annotated[list[str], typer.Argument(metavar="NAME", help="Fabrics by name.")]

app = group("fabric", "Fabrics: add, list, show, edit, retire, reinstate.")


@command(app, "add")
def add(
    call: Call,
    name: Annotated[str, typer.Argument(metavar="NAME", help="A name of your own.")],
    fields: Annotated[FieldOptions, adding(FABRIC_FIELDS, without=("name",))],
) -> None:
    """Add a fabric."""
    from scrapstore.actions.fabric import add_fabric
    from scrapstore.store import NewFabric

    new = NewFabric(name=name.strip(), **fields.read_new(call))
    _print(call, (call.in_store_or_new(add_fabric, new),))


@command(app, "list")
def list_all(
    call: Call,
    filters: FabricFilters,
    retired: Annotated[bool, typer.Option("--retired", help="The retired ones too.")] = False,
) -> None:
    """List fabrics by name."""
    from scrapstore.actions.fabric import list_fabrics

    only = filters.read(call)
    found = call.in_store(list_fabrics, retired=retired, families=only.families, values=only.values)
    _print(call, found)


@command(app, "show")
def show(
    call: Call, name: Annotated[str, typer.Argument(metavar="NAME", help="The fabric's name.")]
) -> None:
    """Show one fabric and what is available of it."""
    from scrapstore.actions.fabric import show_fabric
    from scrapstore.json_output.stock import fabric_detail_out
    from scrapstore.shapes import label_in

    detail = call.in_store(show_fabric, name)
    area = format_area(sum(scrap.area for scrap in detail.scraps), call.units)
    lengths = ", ".join(f"#{one.id} {call.shown(one.length)}" for one in detail.yardage)
    pieces = ", ".join(
        f"#{lot.id} {lot.count} × {label_in(lot, call.units)}" for lot in detail.ready_cut
    )
    strips = ", ".join(f"#{one.id} {call.shown(one.length)}" for one in detail.binding)
    numbers = ", ".join(f"#{scrap.id}" for scrap in detail.scraps)
    held = [
        ("scraps", f"{len(detail.scraps)}, {area}: {numbers}" if detail.scraps else ""),
        ("yardage", lengths),
        ("ready-cut", pieces),
        ("binding", strips),
    ]
    call.show(
        fabric_detail_out(detail),
        lambda: stack(
            _table(call, (detail.fabric,)), facts([*held, ("note", detail.fabric.note or "")])
        ),
    )


@command(app, "edit")
def edit(call: Call, names: NAMES, fields: Annotated[FieldOptions, editing(FABRIC_FIELDS)]) -> None:
    """Change fields of one or several fabrics at once. An empty text ('') empties a field."""
    from scrapstore.actions.fabric import edit_fabrics

    changes = fields.read(call)
    _print(call, call.in_store(edit_fabrics, names, changes))


@command(app, "retire")
def retire(call: Call, names: NAMES) -> None:
    """Take fabrics off the list; what there is of them stays."""
    from scrapstore.actions.fabric import retire_fabrics

    _print(call, call.in_store(retire_fabrics, names))


@command(app, "reinstate")
def reinstate(call: Call, names: NAMES) -> None:
    """Bring retired fabrics back."""
    from scrapstore.actions.fabric import retire_fabrics

    _print(call, call.in_store(retire_fabrics, names, back=True))


def _print(call: Call, fabrics: "tuple[Fabric, ...]") -> None:
    from scrapstore.json_output.stock import fabric_list_out

    call.show(fabric_list_out(fabrics), lambda: _table(call, fabrics))


def _table(call: Call, fabrics: "tuple[Fabric, ...]") -> Shown:
    rows = []
    for fabric in fabrics:
        traits = (
            "" if fabric.washed is None else "washed" if fabric.washed else "unwashed",
            "one-way" if fabric.one_way_print else "",
            "sides alike" if fabric.alike else "",
            "retired" if fabric.retired else "",
        )
        rows.append(
            (
                fabric.name,
                fabric.fibre or "",
                "" if fabric.usable_width is None else call.shown(fabric.usable_width),
                fabric.family or "",
                fabric.value or "",
                ", ".join(trait for trait in traits if trait),
            )
        )
    columns = ("name", "fibre", "width", "family", "value", "is")
    return table(
        columns, rows, right=("width",), none=o.none_there(call, "fabrics", "fabric add NAME")
    )
