"""``yardage``: lengths of fabric over their full width."""

from typing import TYPE_CHECKING, Annotated

from scrapstore.cli import options as o
from scrapstore.cli.base import Call, command, group
from scrapstore.cli.stock import register_shared
from scrapstore.cli.tables import Shown, table
from scrapstore.cli.typed_fields import FieldOptions, adding, editing
from scrapstore.errors import LengthError
from scrapstore.stock_entry.fields import YARDAGE_FIELDS
from scrapstore.units import format_cut

if TYPE_CHECKING:
    from scrapstore.store import Yardage

__all__ = ["app"]

app = group("yardage", "Lengths of fabric: add, list, show, edit, retire, reinstate.")


@command(app, "add")
def add(
    call: Call,
    fields: Annotated[FieldOptions, adding(YARDAGE_FIELDS, needs=("fabric", "length"))],
) -> None:
    """Add a length of a fabric."""
    from scrapstore.actions.yardage import add_yardage
    from scrapstore.shapes.typed_outlines import names_precut

    text = fields.text("length")
    if names_precut(text):
        msg = f"{text!r} is no length of the full width; add it as a scrap: scrap add --precut"
        raise LengthError(f"{msg} {text!r}")
    values = fields.read_new(call)
    added = call.in_store_or_new(add_yardage, **values, make_fabric=fields.make_fabric)
    _print(call, (added,))


@command(app, "edit")
def edit(
    call: Call, numbers: o.NUMBERS, fields: Annotated[FieldOptions, editing(YARDAGE_FIELDS)]
) -> None:
    """Change fields of one or several lengths at once. An empty text ('') empties a field."""
    from scrapstore.actions.yardage import edit_yardage

    changes = fields.read(call)
    numbered = o.number_list(numbers)
    edited = call.in_store(edit_yardage, numbered, changes, make_fabric=fields.make_fabric)
    _print(call, edited)


def _print(call: Call, lengths: "tuple[Yardage, ...]") -> None:
    from scrapstore.json_output.stock import yardage_list_out

    call.show(yardage_list_out(lengths), lambda: _table(call, lengths))


def _table(call: Call, lengths: "tuple[Yardage, ...]") -> Shown:
    rows = []
    promised = any(one.promised for one in lengths)
    for one in lengths:
        width = one.width
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
    none = o.none_there(call, "lengths", "yardage add")
    return table(columns, rows, right=("no.", "length", "width", "left"), none=none)


def _promises(call: Call, length: "Yardage") -> str:
    """Say what kept plans hold of a length; each rounded up, so that no inch counts twice."""
    return ", ".join(
        f"{format_cut(promise.inches, call.units, 1 / 16)} to {promise.plan}"
        for promise in length.promised
    )


register_shared(app, "YARDAGE", "lengths of fabric", _print)
