"""What all stock but scraps shares: list, show, retire, reinstate.

Scraps have their own, for they show more.
"""

from collections.abc import Callable
from typing import Any, Literal

import typer

from scrapstore.cli import options as o
from scrapstore.cli.base import Call, command
from scrapstore.cli.filters import StockFilters

__all__ = ["register_shared"]


def register_shared(
    group: typer.Typer,
    kind: Literal["YARDAGE", "READY_CUT", "BINDING", "BATTING", "FORM", "ZIP", "CRUMBS"],
    things: str,
    show_them: Callable[[Call, Any], None],
) -> None:
    """Add the shared commands to `group`; `things` is their plural, `show_them` prints some."""

    @command(group, "list", help=f"List {things}. {o.FILTERS_COMBINE}")
    def list_all(call: Call, filters: StockFilters) -> None:
        from scrapstore.actions import stock

        show_them(call, call.in_store(stock.list_stock, getattr(stock, kind), filters.read(call)))

    @command(group, "show", help=f"Show one of the {things}.")
    def show(call: Call, number: o.NUMBER) -> None:
        from scrapstore.actions import stock

        show_them(call, (call.in_store(stock.show_stock, getattr(stock, kind), number),))

    def status_command(name: str, status: Literal["available", "used up"], about: str) -> None:
        @command(group, name, help=about)
        def change(call: Call, numbers: o.NUMBERS) -> None:
            from scrapstore.actions import stock

            changed = call.in_store(
                stock.set_status, getattr(stock, kind), o.number_list(numbers), status, what=name
            )
            show_them(call, changed)

    status_command("retire", "used up", f"Mark {things} as used up; reinstate brings them back.")
    status_command("reinstate", "available", f"Make {things} available again.")
