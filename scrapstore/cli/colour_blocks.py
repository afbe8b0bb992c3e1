"""Blocks of colour beside the words for it, where the terminal can show them.

A terminal that says it has 24-bit colour (COLORTERM) gets them; a file, a pipe, a plainer terminal
and whoever sets NO_COLOR (https://no-color.org) get the words alone, which say the same.
"""

import os
import sys
from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING

from scrapstore.cli.base import Call
from scrapstore.cli.tables import Shown, table

if TYPE_CHECKING:
    from pydantic import BaseModel
    from rich.text import Text

__all__ = ["block_table", "blocks", "show_with_blocks", "shows_colour"]

Rgb = tuple[int, int, int]


def shows_colour() -> bool:
    """Return whether standard output is a terminal with 24-bit colour whose user wants colour."""
    wanted = not os.environ.get("NO_COLOR")
    able = os.environ.get("COLORTERM", "").lower() in ("truecolor", "24bit")
    return wanted and able and sys.stdout.isatty()


def show_with_blocks(call: Call, document: "BaseModel", text: Callable[[bool], Shown]) -> None:
    """Print the result as `Call.show` does; `text` is given whether blocks can be shown."""
    if call.json or not shows_colour():
        call.show(document, lambda: text(False))
        return
    from rich.console import Console

    Console(highlight=False, markup=False, emoji=False, color_system="truecolor").print(text(True))


def blocks(colours: Iterable[tuple[Rgb, float]], cells: int = 6) -> "Text":
    """Return `cells` blocks shared out among colours by their shares, the first never without."""
    from rich.text import Text

    some = list(colours)
    total = sum(share for _, share in some)
    row = Text()
    reached = 0.0
    drawn = 0
    for rgb, share in some:
        reached += share / total
        until = max(round(reached * cells), 1)
        row.append("█" * (until - drawn), style="rgb({},{},{})".format(*rgb))
        drawn = until
    return row


def block_table(
    columns: Sequence[str],
    rows: Iterable[Sequence[str]],
    colours: Iterable[Sequence[tuple[Rgb, float]]] | None,
    *,
    right: Sequence[str] = (),
) -> Shown:
    """Return a table as `scrapstore.cli.tables.table` makes it, with a column of blocks before it.

    `colours` has the colours of each row with their shares; None leaves the column out.
    """
    drawn = None if colours is None else [blocks(some) for some in colours]
    return table(columns, rows, right=right, blocks=drawn)
