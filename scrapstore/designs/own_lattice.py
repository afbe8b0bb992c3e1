r"""A top of one's own, typed cell by cell: rows of squares, plain or of two triangles.

A cell is a role, `A`, or two with the diagonal between them: `A/B` or `A\B`, drawn as it is typed,
with A at its left and B at its right.
"""

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

from scrapstore.designs.forms import Corners, Design, PlacedPiece, Sizing, design_piece
from scrapstore.designs.grids import Grid, moved
from scrapstore.designs.sizes import SMALLEST_PIECE
from scrapstore.errors import UsageError

__all__ = ["make_lattice"]

_MOST: Final = 60
_LARGEST_SIDE: Final = 36.0
_CELL: Final = re.compile(r"([^/\\]+)(?:([/\\])([^/\\]+))?")
_SQUARE: Corners = ((0, 0), (1, 0), (1, 1), (0, 1))
_PARTS: Final[Mapping[str, tuple[Corners, Corners]]] = {
    "/": (((0, 1), (0, 0), (1, 1)), ((1, 0), (1, 1), (0, 0))),
    "\\": (((0, 0), (1, 0), (0, 1)), ((1, 1), (0, 1), (1, 0))),
}
"""The corners at the left and at the right of each diagonal, from the one at the right angle."""


def make_lattice(
    rows: Sequence[str], side: float, letters: Mapping[str, str] | None = None
) -> Design:
    """Return the top whose cells are typed in `rows`, from the top down, with spaces between.

    `side` is the finished side of a cell, inches. `letters` says for which role a word stands; one
    that is not there is the role itself. Raises UsageError for cells that cannot be read and rows
    of different lengths, naming the row and the cell.

    >>> top = make_lattice(["A/B A", "A B"], 3.0)
    >>> [(line.name, line.count) for line in top.lines]
    [('A square', 2), ('A triangle', 1), ('B square', 1), ('B triangle', 1)]
    """
    if not SMALLEST_PIECE <= side <= _LARGEST_SIDE:
        msg = f"side: {side:g} in will not do; give from {SMALLEST_PIECE:g} to {_LARGEST_SIDE:g} in"
        raise UsageError(f"{msg}, finished")
    cells = [row.split() for row in rows]
    if not cells or not cells[0]:
        raise UsageError("rows: there is no cell; give rows of roles, such as 'A A/B B'")
    for number, row in enumerate(cells, 1):
        if len(row) != len(cells[0]):
            msg = f"rows: row 1 has {len(cells[0])} cells, row {number} has {len(row)}"
            raise UsageError(f"{msg}; give each as many")
    if max(len(cells), len(cells[0])) > _MOST:
        raise UsageError(f"rows: more than {_MOST} cells in a line; take larger cells")
    grid = Grid(len(cells), len(cells[0]), 1)
    lattice = grid.lattice(side)
    pieces = []
    for row_number, column, ring in grid.blocks():
        cell = cells[row_number - 1][column - 1]
        for end, word, corners in _parts(cell, row_number, column):
            role = (letters or {}).get(word, word)
            shape = "triangle" if end else "square"
            at = f"{row_number}.{column}"
            pieces.append(
                PlacedPiece(
                    f"{at}{end}", f"{role} {shape}", role, ring, None,
                    f"unit {at}" if end else f"row {row_number}",
                    lattice.outline(moved(corners, grid.square(row_number, column, 0, 0))), 0.0,
                )
            )  # fmt: skip
    counts = Counter((piece.role, piece.piece) for piece in pieces)
    lines = [
        design_piece(name, count, role, "half-square-triangle", short_side=side)
        if name.endswith(" triangle")
        else design_piece(name, count, role, "square", side=side)
        for (role, name), count in sorted(counts.items())
    ]
    made = grid.design("lattice", "Own lattice", Sizing(side, None, 0, 0), lines, pieces, lattice)
    return replace(made, title=f"Own lattice, {len(cells)} × {len(cells[0])}")


def _parts(cell: str, row: int, column: int) -> list[tuple[str, str, Corners]]:
    """Return the end of its position, the role and the corners of each piece of a cell."""
    read = _CELL.fullmatch(cell)
    if read is None:
        msg = f"rows: cell {column} of row {row}, {cell!r}, will not do"
        raise UsageError(f"{msg}; give a role, or two with a diagonal: A, A/B or A\\B")
    left, diagonal, right = read.groups()
    if diagonal is None:
        return [("", left, _SQUARE)]
    at_left, at_right = _PARTS[diagonal]
    return [("l", left, at_left), ("r", right, at_right)]
