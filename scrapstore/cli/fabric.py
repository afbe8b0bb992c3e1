"""``fabric``: the cloths that scraps and yardage are of."""

from typing import TYPE_CHECKING, Annotated, Any

import typer

from scrapstore.cli import options as o
from scrapstore.cli.base import Call, command, group
from scrapstore.cli.filters import FabricFilters

if TYPE_CHECKING:
    from rich.console import RenderableType

    from scrapstore.store import Fabric

__all__ = ["app"]

NAMES = Annotated[list[str], typer.Argument(metavar="NAME", help="Fabrics by name.")]
FIBRE = Annotated[
    str | None, typer.Option("--fibre", metavar="TEXT", help="Such as cotton or linen.")
]
WIDTH = Annotated[
    str | None,
    typer.Option("--width", metavar="LENGTH", help="Usable width, between the selvages."),
]
WASHED = Annotated[
    bool | None, typer.Option("--washed/--unwashed", help="Washed before cutting, or not.")
]
ONE_WAY = Annotated[
    bool | None,
    typer.Option("--one-way/--any-way", help="The print has an up and a down, or not."),
]
ALIKE = Annotated[
    bool | None,
    typer.Option("--alike/--right-side", help="Both sides look alike, or one is the right side."),
]


app = group("fabric", "Fabrics: add, list, show, edit, retire, reinstate.")


@command(app, "add")
def add(
    call: Call,
    name: Annotated[str, typer.Argument(metavar="NAME", help="A name of your own.")],
    fibre: FIBRE = None,
    width: WIDTH = None,
    washed: WASHED = None,
    one_way: ONE_WAY = None,
    alike: ALIKE = None,
    family: o.FAMILY = None,
    value: o.VALUE = None,
    note: o.NOTE = None,
) -> None:
    """Add a fabric."""
    from scrapstore.actions.fabrics import add_fabric
    from scrapstore.store import NewFabric
    from scrapstore.store.typed_words import known_family, known_value, text_or_none

    new = NewFabric(
        name=name.strip(),
        fibre=text_or_none(fibre),
        usable_width=call.length(width, field="width") if width else None,
        washed=washed,
        one_way_print=bool(one_way),
        alike=bool(alike),
        family=known_family(family) if family else None,
        value=known_value(value) if value else None,
        note=text_or_none(note),
    )
    with call.open_store(make=True) as store:
        _print(call, (add_fabric(store, new),))


@command(app, "list")
def list_all(
    call: Call,
    filters: FabricFilters,
    retired: Annotated[bool, typer.Option("--retired", help="The retired ones too.")] = False,
) -> None:
    """List fabrics by name."""
    from scrapstore.actions.fabrics import list_fabrics

    only = filters.read(call)
    with call.open_store() as store:
        found = list_fabrics(store, retired=retired, families=only.families, values=only.values)
    _print(call, found)


@command(app, "show")
def show(call: Call, name: Annotated[str, typer.Argument(metavar="NAME")]) -> None:
    """Show one fabric and what is available of it."""
    from scrapstore.actions.fabrics import show_fabric
    from scrapstore.cli.tables import facts, stack
    from scrapstore.json_output.stock import fabric_detail_out
    from scrapstore.shapes import label_in
    from scrapstore.units import format_area

    with call.open_store() as store:
        detail = show_fabric(store, name)
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
def edit(
    call: Call,
    names: NAMES,
    new_name: Annotated[
        str | None, typer.Option("--name", metavar="TEXT", help="A new name, for one fabric.")
    ] = None,
    fibre: FIBRE = None,
    width: WIDTH = None,
    washed: WASHED = None,
    one_way: ONE_WAY = None,
    alike: ALIKE = None,
    family: o.FAMILY = None,
    value: o.VALUE = None,
    note: o.NOTE = None,
) -> None:
    """Change fields of one or several fabrics at once. An empty text ('') empties a field."""
    from scrapstore.actions.fabrics import edit_fabrics

    changes: dict[str, Any] = o.stock_changes(
        texts={"fibre": fibre, "note": note}, family=family, value=value
    )
    if new_name is not None:
        changes["name"] = new_name.strip()
    if width is not None:
        changes["usable_width"] = call.length(width, field="width") if width.strip() else None
    flags = {"washed": washed, "one_way_print": one_way, "alike": alike}
    changes |= {field: flag for field, flag in flags.items() if flag is not None}
    with call.open_store() as store:
        _print(call, edit_fabrics(store, names, changes))


@command(app, "retire")
def retire(call: Call, names: NAMES) -> None:
    """Take fabrics off the list; what there is of them stays."""
    from scrapstore.actions.fabrics import retire_fabrics

    with call.open_store() as store:
        _print(call, retire_fabrics(store, names))


@command(app, "reinstate")
def reinstate(call: Call, names: NAMES) -> None:
    """Bring retired fabrics back."""
    from scrapstore.actions.fabrics import retire_fabrics

    with call.open_store() as store:
        _print(call, retire_fabrics(store, names, back=True))


def _print(call: Call, fabrics: "tuple[Fabric, ...]") -> None:
    from scrapstore.json_output.stock import fabric_list_out

    call.show(fabric_list_out(fabrics), lambda: _table(call, fabrics))


def _table(call: Call, fabrics: "tuple[Fabric, ...]") -> "RenderableType":
    from scrapstore.cli.tables import table

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
    return table(columns, rows, right=("width",), none=o.none_there("fabrics", "fabric add NAME"))
