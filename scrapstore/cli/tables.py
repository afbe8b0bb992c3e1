"""Plain tables that read well at eighty columns, on paper, and without colour.

They are drawn here: the library measures and pads every cell of its own tables many times over, and
crops columns where there is little room. It is loaded when something is drawn.
"""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import zip_longest
from typing import TYPE_CHECKING, Any, Final

from scrapstore.printable import printable

if TYPE_CHECKING:
    from rich.console import Console, ConsoleOptions, RenderableType, RenderResult
    from rich.text import Text

    Shown = RenderableType
else:
    Shown = Any

__all__ = ["Shown", "facts", "stack", "table"]

_WIDE: Final = 72
"""Columns of a terminal that is not narrow."""
_CLOSE: Final = " "
"""Between columns of a narrow one."""
_SHORT: Final = 8
_WORD: Final = 12
"""Letters of a text, or of a word, that is broken into lines last; on a narrow terminal `_SHORT`
of a word."""


def table(
    columns: Sequence[str],
    rows: Iterable[Sequence[str]],
    *,
    right: Sequence[str] = (),
    none: str = "",
    blocks: "Sequence[Text] | None" = None,
) -> Shown:
    """Return a table with a line under its headings; columns named in `right` align right.

    Columns that are empty in every row are left out, so that the others have room. Without any row
    there is no table: `none` says so. `blocks` stand before the rows.
    """
    cells = [tuple(map(printable, row)) for row in rows]
    if not cells:
        return none
    kept = [at for at in range(len(columns)) if any(row[at] for row in cells)]
    return _Table(
        heads=[columns[at] for at in kept],
        rows=[[row[at] for at in kept] for row in cells],
        right=[columns[at] in right for at in kept],
        blocks=blocks,
    )


def facts(pairs: Iterable[tuple[str, str]]) -> Shown:
    """Return one thing's facts, a line each; those without a value are left out."""
    rows = [(name, printable(value)) for name, value in pairs if value]
    return _Table(heads=("", ""), rows=rows, right=(False, False))


def stack(*parts: Shown) -> Shown:
    """Return `parts` one below the other."""
    from rich.console import Group

    return Group(*parts)


@dataclass(kw_only=True, eq=False, repr=False)
class _Table:
    heads: Sequence[str]
    """Without any text in them, no line of headings is drawn."""
    rows: Sequence[Sequence[str]]
    right: Sequence[bool]
    blocks: "Sequence[Text] | None" = None

    def __rich_console__(self, console: "Console", options: "ConsoleOptions") -> "RenderResult":
        from rich.segment import Segment

        headed = any(self.heads)
        gap = "  " if not headed else "   " if options.max_width >= _WIDE else _CLOSE
        beside = max(map(len, self.blocks or ()), default=0)
        before = " " * beside + gap if beside else ""
        widths = self._widths(options.max_width - len(before), gap)
        if headed:
            lines = self._lines(self.heads, widths, gap, console)
            rule = "─" * (len(before) + sum(widths) + len(gap) * (len(widths) - 1))
            for line in (*(before + line for line in lines), rule):
                yield Segment(f"{line}\n")
        for at, row in enumerate(self.rows):
            for number, line in enumerate(self._lines(row, widths, gap, console)):
                if self.blocks and number == 0:
                    yield from self.blocks[at].render(console)
                    yield Segment(" " * (len(before) - len(self.blocks[at])))
                else:
                    yield Segment(before)
                yield Segment(f"{line}\n")

    def _widths(self, room: int, gap: str) -> list[int]:
        """Return how wide the columns are drawn, so that they fit into `room` with their gaps."""
        from rich.cells import cell_len

        columns = list(zip(self.heads, *self.rows, strict=True))
        widths = [max(map(cell_len, cells)) for cells in columns]
        over = sum(widths) + len(gap) * (len(widths) - 1) - room
        if over <= 0:
            return widths
        narrow = gap == _CLOSE
        least = [
            width
            if width <= _SHORT or (cells[0].startswith("size") and not narrow)
            else min(max(map(len, " ".join(cells).split())), _SHORT if narrow else _WORD)
            for cells, width in zip(columns, widths, strict=True)
        ]
        for _ in range(over):
            # A column whose words must not be broken gives way only when all others have.
            widest = max(range(len(widths)), key=lambda at: (widths[at] > least[at], widths[at]))
            widths[widest] = max(widths[widest] - 1, 1)
        return widths

    def _lines(
        self, row: Sequence[str], widths: Sequence[int], gap: str, console: "Console"
    ) -> Iterator[str]:
        from rich.cells import cell_len
        from rich.text import Text

        parts = [
            [cell]
            if cell_len(cell) <= width and "\n" not in cell
            else [
                line.plain
                for line in Text(_at_hyphens(cell, width)).wrap(console, width, overflow="fold")
            ]
            for cell, width in zip(row, widths, strict=True)
        ]
        if row is self.heads:  # they stand on the line below them
            most = max(map(len, parts))
            parts = [[""] * (most - len(part)) + part for part in parts]
        for line in zip_longest(*parts, fillvalue=""):
            padded = [
                " " * (width - cell_len(text)) + text
                if right
                else text + " " * (width - cell_len(text))
                for text, width, right in zip(line, widths, self.right, strict=True)
            ]
            yield gap.join(padded).rstrip()


def _at_hyphens(text: str, width: int) -> str:
    """Return `text` with words wider than `width` broken into lines behind their hyphens."""
    from rich.cells import cell_len

    def broken(word: re.Match[str]) -> str:
        lines = [""]
        for part in re.findall(r"[^-]*-+|[^-]+", word[0]):
            if lines[-1] and cell_len(lines[-1] + part) > width:
                lines.append("")
            lines[-1] += part
        return "\n".join(lines)

    return re.sub(r"\S+", lambda word: broken(word) if cell_len(word[0]) > width else word[0], text)
