"""Designs in rows and columns: squares, nine-patch, triangles, geese, strips.

Rows count from the top, columns from the left, rings from the middle of the top outwards.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Final

from scrapstore.designs.forms import (
    Corners,
    Design,
    DesignPiece,
    Lattice,
    PlacedPiece,
    Sizing,
    design_piece,
)
from scrapstore.designs.sizes import nearest_piece, refuse_both
from scrapstore.errors import UsageError

__all__ = [
    "LAYOUTS",
    "Grid",
    "make_geese",
    "make_half_squares",
    "make_nine_patch",
    "make_pinwheels",
    "make_squares",
    "make_strips",
    "moved",
]

LAYOUTS: Final = ("sawtooth", "peaks", "zigzag", "broken-dishes", "concentric")
"""How half-square triangles are turned: all alike; in pairs that make peaks; in bands; in fours
whose triangles meet; round the middle of the top."""

# The corners of a square and of its two halves, from its lower left corner.
_SQUARE: Corners = ((0, 0), (1, 0), (1, 1), (0, 1))
_BELOW: Corners = ((1, 0), (1, 1), (0, 0))
_ABOVE: Corners = ((0, 1), (0, 0), (1, 1))


@dataclass(frozen=True, slots=True)
class Grid:
    """Blocks in rows and columns, each of `cells` × `cells` squares."""

    rows: int
    columns: int
    cells: int

    def blocks(self) -> Iterator[tuple[int, int, int]]:
        """Yield row and column, from 1, and ring of every block."""
        across = (min(self.rows, self.columns) + 1) // 2
        for row in range(1, self.rows + 1):
            for column in range(1, self.columns + 1):
                depth = min(row, column, self.rows + 1 - row, self.columns + 1 - column)
                yield row, column, across + 1 - depth

    def square(self, row: int, column: int, across: int, up: int) -> tuple[int, int]:
        """Return a square's lower left corner, in half squares from the middle of the top.

        `across` and `up` count the squares of the block at this row and column, from 0.
        """
        return (
            2 * ((column - 1) * self.cells + across) - self.columns * self.cells,
            2 * ((self.rows - row) * self.cells + up) - self.rows * self.cells,
        )

    def design(
        self, name: str, title: str, sizing: Sizing, lines: Iterable[DesignPiece],
        pieces: Iterable[PlacedPiece], lattice: Lattice,
    ) -> Design:  # fmt: skip
        """Return the design with these pieces."""
        wide, high = self.columns * self.cells, self.rows * self.cells
        outline = lattice.outline([(-wide, -high), (wide, -high), (wide, high), (-wide, high)])
        return Design(
            name, f"{title}, {self.rows} × {self.columns}", outline, tuple(lines), tuple(pieces),
            piece_size=lattice.wide * 2, size=wide * 2 * lattice.wide, measured="wide",
            wanted=sizing.size, set_in_seams=0,
        )  # fmt: skip

    def sized(self, sizing: Sizing) -> tuple[float, Lattice]:
        """Return the finished side of a square, and the lattice of half squares."""
        refuse_both(sizing)
        side = sizing.piece
        if side is None:
            side = nearest_piece(sizing, self.columns * self.cells)
        return side, self.lattice(side)

    @staticmethod
    def lattice(side: float) -> Lattice:
        """Return the lattice of half squares of this finished side."""
        return Lattice(side / 2, side / 2)


def moved(corners: Corners, at: tuple[int, int]) -> Corners:
    """Return corners in squares as half squares, from the lower left corner `at`."""
    return [(at[0] + 2 * a, at[1] + 2 * b) for a, b in corners]


def make_squares(sizing: Sizing, *, rows: int, columns: int) -> Design:
    """Return plain squares in rows and columns."""
    grid = Grid(rows, columns, 1)
    side, lattice = grid.sized(sizing)
    pieces = [
        PlacedPiece(
            f"{row}.{column}", "square", "squares", ring, None, f"row {row}",
            lattice.outline(moved(_SQUARE, grid.square(row, column, 0, 0))), 0.0,
        )
        for row, column, ring in grid.blocks()
    ]  # fmt: skip
    lines = [design_piece("square", len(pieces), "squares", "square", side=side)]
    return grid.design("squares", "Plain squares", sizing, lines, pieces, lattice)


def make_nine_patch(sizing: Sizing, *, rows: int, columns: int) -> Design:
    """Return blocks of nine squares: five patches, in the corners and the middle, and four others.

    A place in a block is counted like print, 1 at the upper left and 9 at the lower right.
    """
    grid = Grid(rows, columns, 3)
    side, lattice = grid.sized(sizing)
    pieces = []
    for row, column, ring in grid.blocks():
        for place in range(9):
            across, up = place % 3, 2 - place // 3
            name, role = ("background square", "background") if place % 2 else ("patch", "patches")
            corners = moved(_SQUARE, grid.square(row, column, across, up))
            pieces.append(
                PlacedPiece(
                    f"{row}.{column}.{place + 1}", name, role, ring, None, f"block {row}.{column}",
                    lattice.outline(corners), 0.0,
                )
            )  # fmt: skip
    blocks = rows * columns
    lines = [
        design_piece("patch", 5 * blocks, "patches", "square", side=side),
        design_piece("background square", 4 * blocks, "background", "square", side=side),
    ]
    return grid.design("nine-patch", "Nine-patch", sizing, lines, pieces, lattice)


def make_pinwheels(sizing: Sizing, *, rows: int, columns: int) -> Design:
    """Return blocks of four half-square triangle units, turned so that the sails chase one another.

    Units of a block count counter-clockwise from the lower left one; each has a sail (s) and a
    background triangle (b).
    """
    grid = Grid(rows, columns, 2)
    side, lattice = grid.sized(sizing)
    pieces = []
    for row, column, ring in grid.blocks():
        for quarter, (across, up) in enumerate(((0, 0), (1, 0), (1, 1), (0, 1))):
            for end, name, role, half in (
                ("s", "sail", "sails", _BELOW),
                ("b", "background triangle", "background", _ABOVE),
            ):
                corners = moved(
                    [_turned(corner, quarter) for corner in half],
                    grid.square(row, column, across, up),
                )
                unit = f"{row}.{column}.{quarter + 1}"
                pieces.append(
                    PlacedPiece(
                        f"{unit}{end}", name, role, ring, None, f"unit {unit}",
                        lattice.outline(corners), 0.0,
                    )
                )  # fmt: skip
    count = 4 * rows * columns
    lines = [
        design_piece(name, count, role, "half-square-triangle", short_side=side)
        for name, role in (("sail", "sails"), ("background triangle", "background"))
    ]
    return grid.design("pinwheels", "Pinwheels", sizing, lines, pieces, lattice)


def _turned(corner: tuple[int, int], quarter: int) -> tuple[int, int]:
    """Return a corner of the unit square after so many quarter turns about the square's middle."""
    a, b = corner
    for _ in range(quarter):
        a, b = 1 - b, a
    return a, b


def make_half_squares(sizing: Sizing, *, rows: int, columns: int, layout: str) -> Design:
    """Return units of two half-square triangles, one dark (d) and one light (l), in a `layout`.

    Raises UsageError for an odd number of rows or columns where the layout goes by pairs.
    """
    grid = Grid(rows, columns, 1)
    pairs = {"sawtooth": (1, 1), "peaks": (1, 2)}.get(layout, (2, 2))
    if rows % pairs[0] or columns % pairs[1]:
        even = "rows and columns" if pairs[0] == 2 else "columns"
        raise UsageError(f"layout: {layout} goes by pairs; give an even number of {even}")
    side, lattice = grid.sized(sizing)
    pieces = []
    for row, column, ring in grid.blocks():
        right, below = column > columns // 2, row > rows // 2
        out = abs(2 * column - columns - 1) // 2 + abs(2 * row - rows - 1) // 2
        odd_row, odd_column = row % 2 == 1, column % 2 == 1
        # Quarter turns: the dark triangle lies 0 lower right, 1 upper right, 2 upper left, 3 lower
        # left.
        turn = {
            "sawtooth": 0,
            "peaks": 0 if odd_column else 3,
            "zigzag": (0 if odd_column else 3) if odd_row else (2 if odd_column else 1),
            "broken-dishes": (3 if odd_column else 0) if odd_row else (2 if odd_column else 1),
            # Towards the middle, and away from it in every other band.
            "concentric": ((2 if right else 1) if below else (3 if right else 0)) + 2 * (out % 2),
        }[layout]
        for end, name, half in (("d", "dark", _BELOW), ("l", "light", _ABOVE)):
            corners = moved(
                [_turned(corner, turn) for corner in half], grid.square(row, column, 0, 0)
            )
            pieces.append(
                PlacedPiece(
                    f"{row}.{column}{end}", f"{name} triangle", name, ring, None,
                    f"unit {row}.{column}", lattice.outline(corners), 0.0,
                )
            )  # fmt: skip
    lines = [
        design_piece(f"{role} triangle", rows * columns, role, "half-square-triangle",
                     short_side=side)
        for role in ("dark", "light")
    ]  # fmt: skip
    title = f"Half-square triangles, {layout}"
    return grid.design("half-squares", title, sizing, lines, pieces, lattice)


def make_strips(
    sizing: Sizing, *, rows: int, columns: int, direction: str, length: float | None = None
) -> Design:
    """Return rows of rectangles that stand upright or lie across, `length` long.

    The size is measured across the strips. Without a length the top is a square.
    """
    refuse_both(sizing)
    grid = Grid(rows, columns, 1)
    upright = direction == "upright"
    beside, along = (columns, rows) if upright else (rows, columns)
    width = sizing.piece if sizing.piece is not None else nearest_piece(sizing, beside)
    long = beside * width / along if length is None else length
    wide, high = (width, long) if upright else (long, width)
    lattice = Lattice(wide / 2, high / 2)
    pieces = [
        PlacedPiece(
            f"{row}.{column}", "strip", "strips", ring, None,
            f"row {row}" if upright else f"column {column}",
            lattice.outline(moved(_SQUARE, grid.square(row, column, 0, 0))), 0.0,
        )
        for row, column, ring in grid.blocks()
    ]  # fmt: skip
    lines = [design_piece("strip", len(pieces), "strips", "rectangle", width=wide, height=high)]
    made = grid.design("strips", f"Strips, {direction}", sizing, lines, pieces, lattice)
    size = beside * width
    return replace(made, piece_size=width, size=size, measured="wide" if upright else "high")


def make_geese(sizing: Sizing, *, rows: int, columns: int) -> Design:
    """Return flying geese in rows, all pointing up: each a triangle twice as wide as high.

    A unit has a goose (g), the sky at its left (l) and at its right (r). Its height is the piece.
    """
    grid = Grid(rows, columns, 1)
    refuse_both(sizing)
    height = sizing.piece if sizing.piece is not None else nearest_piece(sizing, 2 * columns)
    lattice = Lattice(height, height / 2)
    parts = (
        ("g", "goose", "geese", ((0, 0), (2, 0), (1, 2))),
        ("l", "sky triangle", "sky", ((0, 0), (1, 2), (0, 2))),
        ("r", "sky triangle", "sky", ((2, 0), (2, 2), (1, 2))),
    )
    pieces = []
    for row, column, ring in grid.blocks():
        across, up = grid.square(row, column, 0, 0)
        for end, name, role, corners in parts:
            pieces.append(
                PlacedPiece(
                    f"{row}.{column}{end}", name, role, ring, None, f"unit {row}.{column}",
                    lattice.outline([(across + a, up + b) for a, b in corners]), 0.0,
                )
            )  # fmt: skip
    count = rows * columns
    lines = [
        design_piece("goose", count, "geese", "quarter-square-triangle", long_side=2 * height),
        design_piece("sky triangle", 2 * count, "sky", "half-square-triangle", short_side=height),
    ]
    made = grid.design("geese", "Flying geese", sizing, lines, pieces, lattice)
    return replace(made, piece_size=height)
