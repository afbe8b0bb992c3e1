"""What the commands ``batting``, ``form`` and ``zip`` share: all of it but their words."""

from typing import TYPE_CHECKING, Annotated, Literal

import typer

from scrapstore.cli import options as o
from scrapstore.cli.base import Call, command, group
from scrapstore.cli.stock import register_shared
from scrapstore.cli.tables import Shown, table
from scrapstore.cli.typed_fields import FieldOptions, adding, editing
from scrapstore.stock_entry.fields import NOTION_FIELDS
from scrapstore.units import parse_size

if TYPE_CHECKING:
    from scrapstore.store import Notion, NotionKind

__all__ = ["notion_commands"]


def notion_commands(
    kind: "NotionKind", things: str, *, size: str, example: str, about: str
) -> typer.Typer:
    """Return the commands of one kind; `things` is its plural, `size` the help of its size.

    A zip has a length (--length), the others a width and a length (--size).
    """
    app = group(kind, about)
    option = "--length" if kind == "zip" else "--size"
    metavar = "LENGTH" if kind == "zip" else "'W x L'"

    def sides(call: Call, text: str) -> tuple[float | None, float]:
        if kind == "zip":
            return None, call.length(text, field=option)
        return parse_size(text, field=option, default_unit=call.units)

    def show_them(call: Call, found: "tuple[Notion, ...]") -> None:
        from scrapstore.json_output.stock import notion_list_out

        call.show(notion_list_out(found), lambda: _table(call, found, things, example))

    @command(app, "add", help=f"Add {things}.")
    def add(
        call: Call,
        size: Annotated[str, o.text_option(option, size, metavar=metavar)],
        fields: Annotated[FieldOptions, adding(NOTION_FIELDS)],
        count: o.COUNT = 1,
    ) -> None:
        from scrapstore.actions.notions import add_notion
        from scrapstore.store import NewNotion

        values = fields.read_new(call)
        fabric = values.pop("fabric", None)
        width, length = sides(call, size)
        notion = NewNotion(kind=kind, width=width, length=length, count=count, **values)
        added = call.in_store_or_new(
            add_notion, notion, fabric=fabric, make_fabric=fields.make_fabric
        )
        show_them(call, (added,))

    @command(
        app, "edit", help=f"Change fields of {things}, of several at once. '' empties a field."
    )
    def edit(
        call: Call,
        numbers: o.NUMBERS,
        fields: Annotated[FieldOptions, editing(NOTION_FIELDS)],
        size: Annotated[str | None, o.text_option(option, size, metavar=metavar)] = None,
    ) -> None:
        from scrapstore.actions import stock

        changes = fields.read(call)
        if size is not None:
            changes |= dict(zip(("width", "length"), sides(call, size), strict=True))
        which = getattr(stock, kind.upper())
        numbered = o.number_list(numbers)
        edited = call.in_store(
            stock.edit_stock, which, numbered, changes, make_fabric=fields.make_fabric
        )
        show_them(call, edited)

    words: dict[str, Literal["BATTING", "FORM", "ZIP"]] = {
        "batting": "BATTING", "form": "FORM", "zip": "ZIP",
    }  # fmt: skip
    register_shared(app, words[kind], things, show_them)
    return app


def _table(call: Call, found: "tuple[Notion, ...]", things: str, example: str) -> Shown:
    rows = [
        (
            str(one.id),
            str(one.count),
            call.shown(one.length)
            if one.width is None
            else o.sides_text(call, (one.width, one.length)),
            one.fabric.name if one.fabric else "",
            " ".join(word for word in (one.value, one.family) if word),
            one.note or "",
            one.place or "",
            o.status_text(one.status, one.set_aside_for),
        )
        for one in found
    ]
    columns = ("no.", "count", "size", "fabric", "family", "note", "place", "status")
    none = o.none_there(call, things, example)
    return table(columns, rows, right=("no.", "count", "size"), none=none)
