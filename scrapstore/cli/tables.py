"""Plain tables that read well at eighty columns, on paper, and without colour."""

import shutil
from collections.abc import Iterable, Sequence
from itertools import zip_longest
from typing import Final

from rich import box
from rich.cells import cell_len
from rich.console import Console, ConsoleOptions, Group, RenderableType, RenderResult
from rich.segment import Segment
from rich.table import Table
from rich.text import Text

from scrapstore.printable import printable

__all__ = ["add_column", "empty_table", "facts", "stack", "table"]

_WIDE: Final = 72
"""Columns of a terminal that is not narrow."""
_SHORT: Final = 8
_WORD: Final = 12
"""Letters of a text, or of a word, that is not broken into lines."""

_LONG: Final = 200  # rows
_GAP: Final = "   "  # as the library has it between columns


def table(
    columns: Sequence[str],
    rows: Iterable[Sequence[str]],
    *,
    right: Sequence[str] = (),
    none: str = "",
) -> RenderableType:
    """Return a table with a line under its headings; columns named in `right` align right.

    Columns that are empty in every row are left out, so that the others have room. Without any row
    there is no table: `none` says so.
    """
    rows = [tuple(map(printable, row)) for row in rows]
    if not rows:
        return Text(none)
    kept = [at for at in range(len(columns)) if any(row[at] for row in rows)]
    if len(rows) > _LONG:
        return _LongTable(
            [columns[at] for at in kept],
            [[row[at] for at in kept] for row in rows],
            [columns[at] in right for at in kept],
        )
    made = empty_table()
    for at in kept:
        add_column(made, columns[at], [row[at] for row in rows], right=columns[at] in right)
    _fit(made, [max(map(cell_len, (columns[at], *(row[at] for row in rows)))) for at in kept])
    for row in rows:
        made.add_row(*(Text(row[at]) for at in kept))
    return made


def _unbroken(cell: str) -> int:
    """Return how wide `cell` must be shown so that no word of up to `_WORD` letters is broken."""
    return max((n for n in map(cell_len, cell.split()) if n <= _WORD), default=1)


class _LongTable:
    """A table that looks like the others and is written a hundred times as fast.

    The library measures and pads every cell of its tables many times over.
    """

    def __init__(
        self, columns: Sequence[str], rows: Sequence[Sequence[str]], right: Sequence[bool]
    ) -> None:
        self._columns = columns
        self._rows = rows
        self._right = right

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        widths = [
            max(map(cell_len, cells)) for cells in zip(self._columns, *self._rows, strict=True)
        ]
        room = options.max_width - len(_GAP) * (len(widths) - 1)
        least = [1] * len(widths)
        if sum(widths) > room:
            columns = zip(self._columns, *self._rows, strict=True)
            least = [max(map(_unbroken, cells)) for cells in columns]
        while sum(widths) > room and max(widths) > 1:
            # A column whose words must not be broken gives way only when all others have.
            ready = [at for at, width in enumerate(widths) if width > least[at]]
            widths[max(ready or range(len(widths)), key=widths.__getitem__)] -= 1
        line = "─" * (sum(widths) + len(_GAP) * (len(widths) - 1))
        for row in (self._columns, None, *self._rows):
            for text in [line] if row is None else self._lines(row, widths, console):
                yield Segment(text)
                yield Segment.line()

    def _lines(self, row: Sequence[str], widths: Sequence[int], console: Console) -> Iterable[str]:
        parts = [
            [cell]
            if cell_len(cell) <= width and "\n" not in cell
            else [line.plain for line in Text(cell).wrap(console, width, overflow="fold")]
            for cell, width in zip(row, widths, strict=True)
        ]
        for line in zip_longest(*parts, fillvalue=""):
            padded = [
                " " * (width - cell_len(text)) + text
                if right
                else text + " " * (width - cell_len(text))
                for text, width, right in zip(line, widths, self._right, strict=True)
            ]
            yield _GAP.join(padded)


def empty_table() -> Table:
    """Return a table without columns; on a narrow terminal its columns stand closer together."""
    beside = 1 if _wide() else 0
    return Table(box=box.SIMPLE_HEAD, pad_edge=False, show_edge=False, padding=(0, beside))


def add_column(made: Table, name: str, cells: Sequence[str], *, right: bool = False) -> None:
    """Add a column whose short texts and sizes stay whole, and whose words are broken last."""
    longest = max(map(len, (name, *cells)))
    words = [len(word) for text in (name, *cells) for word in text.split()]
    made.add_column(
        name,
        justify="right" if right else "left",
        overflow="fold",
        no_wrap=longest <= _SHORT or (name.startswith("size") and _wide()),
        min_width=min(max(words, default=1), _WORD if _wide() else _SHORT),
    )


def _fit(made: Table, widths: list[int]) -> None:
    """Give a table that is too wide the widths it must have.

    The library narrows columns below the least width they ask for, and then crops the last ones.
    """
    least = [
        width if column.no_wrap else min(width, column.min_width or 1)
        for column, width in zip(made.columns, widths, strict=True)
    ]
    room = shutil.get_terminal_size().columns - len(_GAP) * (len(widths) - 1)
    if not _wide() or sum(widths) <= room or sum(least) > room:
        return
    while sum(widths) > room:
        at = max(range(len(widths)), key=lambda at: (widths[at] > least[at], widths[at]))
        widths[at] -= 1
    for column, width in zip(made.columns, widths, strict=True):
        column.width = width


def _wide() -> bool:
    return shutil.get_terminal_size().columns >= _WIDE


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
