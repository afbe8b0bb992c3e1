"""``yardage``: lengths of fabric over their full width."""

from typing import TYPE_CHECKING, Annotated, Any

import typer

from scrapstore.cli import options as o
from scrapstore.cli.base import Call, command, group
from scrapstore.cli.stock import register_shared

if TYPE_CHECKING:
    from rich.console import RenderableType

    from scrapstore.store import Yardage

__all__ = ["app"]

WIDTH = Annotated[
    str | None,
    typer.Option(
        "--width", metavar="LENGTH", help="Usable width of this length, if not the fabric's."
    ),
]


app = group("yardage", "Lengths of fabric: add, list, show, edit, retire, reinstate.")


@command(app, "add")
def add(
    call: Call,
    fabric: Annotated[str, typer.Argument(metavar="FABRIC", help="The fabric's name.")],
    length: Annotated[
        list[str],
        typer.Argument(metavar="LENGTH", help="Along the selvage, such as 3/4 yd or half a yard."),
    ],
    new_fabrics: o.NEW_FABRICS = False,
    width: WIDTH = None,
    place: o.PLACE = None,
    note: o.NOTE = None,
) -> None:
    """Add a length of a fabric."""
    from scrapstore.actions.add_stock import add_yardage
    from scrapstore.errors import LengthError
    from scrapstore.shapes.typed_outlines import names_precut
    from scrapstore.store.typed_words import text_or_none

    text = " ".join(length)
    if names_precut(text):
        msg = f"{text!r} is no length of the full width; add it as a scrap: scrap add --precut"
        raise LengthError(f"{msg} {text!r}")
    inches = call.length(text, field="length")
    usable = call.length(width, field="width") if width else None
    with call.open_store(make=True) as store:
        added = add_yardage(
            store,
            fabric=fabric,
            length=inches,
            usable_width=usable,
            place=text_or_none(place),
            note=text_or_none(note),
            make_fabric=new_fabrics,
        )
    _print(call, (added,))


@command(app, "edit")
def edit(
    call: Call,
    numbers: o.NUMBERS,
    fabric: o.FABRIC = None,
    new_fabrics: o.NEW_FABRICS = False,
    length: Annotated[
        str | None, typer.Option("--length", metavar="LENGTH", help="What is left of it.")
    ] = None,
    width: WIDTH = None,
    place: o.PLACE = None,
    status: o.STATUS = None,
    set_aside_for: o.SET_ASIDE_FOR = None,
    note: o.NOTE = None,
) -> None:
    """Change fields of one or several lengths at once. An empty text ('') empties a field."""
    from scrapstore.actions.add_stock import edit_yardage

    texts = {"fabric": fabric, "place": place, "set_aside_for": set_aside_for, "note": note}
    changes: dict[str, Any] = o.stock_changes(texts=texts, status=status)
    if length is not None:
        changes["length"] = call.length(length, field="length")
    if width is not None:
        changes["usable_width"] = call.length(width, field="width") if width.strip() else None
    numbered = o.number_list(numbers)
    with call.open_store() as store:
        _print(call, edit_yardage(store, numbered, changes, make_fabric=new_fabrics))


def _print(call: Call, lengths: "tuple[Yardage, ...]") -> None:
    from scrapstore.json_output.stock import yardage_list_out

    call.show(yardage_list_out(lengths), lambda: _table(call, lengths))


def _table(call: Call, lengths: "tuple[Yardage, ...]") -> "RenderableType":
    from scrapstore.cli.tables import table

    rows = []
    promised = any(one.promised for one in lengths)
    for one in lengths:
        width = one.usable_width or one.fabric.usable_width
        rows.append(
            (
                str(one.id),
                one.fabric.name,
                call.shown(one.length),
                "" if width is None else call.shown(width),
                *((_promises(call, one), call.shown(one.left)) if promised else ()),
                one.place or "",
                o.status_text(one.status, one.set_aside_for),
                one.note or "",
            )
        )
    held = ("promised", "left") if promised else ()
    columns = ("no.", "fabric", "length", "width", *held, "place", "status", "note")
    none = o.none_there("lengths", "yardage add FABRIC LENGTH")
    return table(columns, rows, right=("no.", "length", "width", "left"), none=none)


def _promises(call: Call, length: "Yardage") -> str:
    """Say what kept plans hold of a length; each rounded up, so that no inch counts twice."""
    from scrapstore.units import format_cut

    return ", ".join(
        f"{format_cut(promise.inches, call.units, 1 / 16)} to {promise.plan}"
        for promise in length.promised
    )


register_shared(app, "YARDAGE", "lengths of fabric", _print)
