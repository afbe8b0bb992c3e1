"""``crumbs``: strings and crumbs, a bag at a time."""

from typing import TYPE_CHECKING, Annotated

from scrapstore.cli import options as o
from scrapstore.cli.base import Call, command, group
from scrapstore.cli.stock import register_shared
from scrapstore.cli.tables import Shown, stack, table
from scrapstore.cli.typed_fields import FieldOptions, adding, editing
from scrapstore.stock_entry.fields import CRUMBS_FIELDS
from scrapstore.weights import format_weight

if TYPE_CHECKING:
    from scrapstore.store import Crumbs

__all__ = ["app"]

app = group(
    "crumbs", "Bags of strings and crumbs, by weight: add, list, show, edit, retire, reinstate."
)


def _show(call: Call, bags: "tuple[Crumbs, ...]") -> None:
    from scrapstore.json_output.stock import crumbs_list_out

    call.show(lambda: crumbs_list_out(bags), lambda: _table(call, bags))


@command(app, "add")
def add(call: Call, fields: Annotated[FieldOptions, adding(CRUMBS_FIELDS)]) -> None:
    """Add a bag of what is too small to be listed one by one: strings, crumbs, snippets."""
    from scrapstore.actions.crumbs import add_crumbs
    from scrapstore.store import NewCrumbs

    values = fields.read_new(call)
    fabric = values.pop("fabric", None)
    added = call.in_store_or_new(
        add_crumbs, NewCrumbs(**values), fabric=fabric, make_fabric=fields.make_fabric
    )
    _show(call, (added,))


@command(app, "edit")
def edit(
    call: Call, numbers: o.NUMBERS, fields: Annotated[FieldOptions, editing(CRUMBS_FIELDS)]
) -> None:
    """Change fields of bags, of several at once. An empty text ('') empties a field."""
    from scrapstore.actions import stock

    numbered = o.number_list(numbers)
    edited = call.in_store(
        stock.edit_stock,
        stock.CRUMBS,
        numbered,
        fields.read(call),
        make_fabric=fields.make_fabric,
    )
    _show(call, edited)


register_shared(app, "CRUMBS", "bags of crumbs", _show)


def _table(call: Call, bags: "tuple[Crumbs, ...]") -> Shown:
    if not bags:
        return o.none_there(call, "bags of crumbs", "crumbs add --weight '120 g'")
    rows = [
        (
            str(bag.id),
            "not weighed" if bag.grams is None else format_weight(bag.grams, call.units),
            " ".join(word for word in (bag.shown_value, bag.shown_family) if word),
            bag.fabric.name if bag.fabric else "",
            bag.note or "",
            bag.place or "",
            o.status_text(bag.status, bag.set_aside_for),
        )
        for bag in bags
    ]
    columns = ("no.", "weight", "family", "fabric", "note", "place", "status")
    weighed = [bag.grams for bag in bags if bag.grams is not None]
    total = f", together {format_weight(sum(weighed), call.units)}" if weighed else ""
    count = f"{len(bags)} bag{'' if len(bags) == 1 else 's'}{total}"
    return stack(table(columns, rows, right=("no.", "weight")), count)
