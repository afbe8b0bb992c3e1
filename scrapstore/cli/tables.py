"""Plain tables that read well at eighty columns, on paper, and without colour."""

from collections.abc import Iterable, Sequence

from rich import box
from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from scrapstore.printable import printable

__all__ = ["facts", "stack", "table"]


def table(
    columns: Sequence[str], rows: Iterable[Sequence[str]], *, right: Sequence[str] = ()
) -> Table:
    """Return a table with a line under its headings; columns named in `right` align right.

    Columns that are empty in every row are left out, so that the others have room.
    """
    rows = [tuple(row) for row in rows]
    kept = [at for at in range(len(columns)) if not rows or any(row[at] for row in rows)]
    made = Table(box=box.SIMPLE_HEAD, pad_edge=False, show_edge=False)
    for at in kept:
        made.add_column(
            columns[at], justify="right" if columns[at] in right else "left", overflow="fold"
        )
    for row in rows:
        made.add_row(*(Text(printable(row[at])) for at in kept))
    return made


def facts(pairs: Iterable[tuple[str, str]]) -> Table:
    """Return one thing's facts, a line each; those without a value are left out."""
    made = Table(box=None, pad_edge=False, show_header=False, padding=(0, 2, 0, 0))
    made.add_column(no_wrap=True)
    made.add_column(overflow="fold")
    for name, value in pairs:
        if value:
            made.add_row(Text(name), Text(printable(value)))
    return made


def stack(*parts: RenderableType) -> RenderableType:
    """Return `parts` one below the other."""
    return Group(*parts)
