"""What yardage, ready-cut pieces and binding strips share: list, show, retire, reinstate.

Scraps have their own, for they tell more.
"""

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, Literal

import typer

from scrapstore.cli import options as o
from scrapstore.cli.base import Call, command
from scrapstore.cli.filters import StockFilters

if TYPE_CHECKING:
    from scrapstore.actions.stock import StockKind

__all__ = ["register_shared"]

KindName = Literal["YARDAGE", "READY_CUT", "BINDING"]


def register_shared(
    group: typer.Typer, kind: KindName, things: str, show_them: Callable[[Call, Any], None]
) -> None:
    """Add the shared commands to `group`; `things` is their plural, `show_them` prints some."""

    def list_all(call: Call, filters: StockFilters) -> None:
        from scrapstore.actions.stock import list_stock

        only = filters.read(call)
        with call.open_store() as store:
            found = list_stock(store, _kind(kind), only)
        show_them(call, found)

    def show(call: Call, number: o.NUMBER) -> None:
        from scrapstore.actions.stock import show_stock

        with call.open_store() as store:
            found = show_stock(store, _kind(kind), number)
        show_them(call, (found,))

    def retire(call: Call, numbers: o.NUMBERS) -> None:
        from scrapstore.actions.stock import set_status

        numbered = o.number_list(numbers)
        with call.open_store() as store:
            changed = set_status(store, _kind(kind), numbered, "used up", what="retire")
        show_them(call, changed)

    def reinstate(call: Call, numbers: o.NUMBERS) -> None:
        from scrapstore.actions.stock import set_status

        numbered = o.number_list(numbers)
        with call.open_store() as store:
            changed = set_status(store, _kind(kind), numbered, "available", what="reinstate")
        show_them(call, changed)

    about = f"List {things}. Filters combine; one given twice lets either through."
    command(group, "list", help=about)(list_all)
    command(group, "show", help=f"Show one of the {things}.")(show)
    command(group, "retire", help=f"Mark {things} as used up; reinstate brings them back.")(retire)
    command(group, "reinstate", help=f"Make {things} available again.")(reinstate)


def _kind(name: KindName) -> "StockKind[Any]":
    from scrapstore.actions import stock

    kinds: dict[KindName, StockKind[Any]] = {
        "YARDAGE": stock.YARDAGE,
        "READY_CUT": stock.READY_CUT,
        "BINDING": stock.BINDING,
    }
    return kinds[name]
