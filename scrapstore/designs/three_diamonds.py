"""Blocks of three 60° diamonds, each a hexagon, on a lattice to a rectangle or a hexagon.

The diamonds of a block meet in its middle: one above, one at the left, one at the right. Where the
edge of the top cuts one, the half or quarter inside is a piece of its own. With the finished height
h of a diamond a block is 2h wide; rows of blocks are √3 h apart. Lattice points are
(h / 2 · a, h / 2√3 · b).
"""

import math
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final, NamedTuple

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

__all__ = ["make_three_diamonds", "make_three_diamonds_hexagon"]

_Point = tuple[int, int]


class _Diamond(NamedTuple):
    """One of the three, from the middle of its block.

    `ends` are those of its long diagonal, `sides` those of its short one, where it is wide.
    """

    middle: _Point
    ends: tuple[_Point, _Point]
    sides: tuple[_Point, _Point]
    edge_deg: float
    short_deg: float


_BLOCK: Final = {
    "upper": _Diamond((0, 2), ((2, 2), (-2, 2)), ((0, 4), (0, 0)), 30, 90),
    "left": _Diamond((-1, -1), ((0, -4), (-2, 2)), ((0, 0), (-2, -2)), 90, 30),
    "right": _Diamond((1, -1), ((2, 2), (0, -4)), ((0, 0), (2, -2)), 90, 150),
}


@dataclass(frozen=True, slots=True)
class _Field:
    """The blocks of a top, and how far inside of its edge three times a point lies (below 0: not).

    `blocks` are row, column and middle of each; `split` halves every upper diamond.
    """

    blocks: tuple[tuple[int, int, _Point], ...]
    corners: Corners
    inside: Callable[[int, int], int]
    split: bool


def make_three_diamonds(sizing: Sizing, *, rows: int, columns: int, fill: str) -> Design:
    """Return rows of blocks in a rectangle, those of every other row half a block aside.

    With fill "split" upper diamonds are two triangles, so that all seams run in columns.
    """
    wide, high = 4 * columns, 6 * rows
    blocks = []
    for row in range(1, rows + 2):  # of the last only the tips of the upper diamonds are inside
        aside = row % 2 == 0
        for column in range(columns + aside):
            middle = (
                4 * column + (0 if aside else 2) - 2 * columns,
                6 * (rows - row) + 4 - 3 * rows,
            )
            blocks.append((row, column + 1, middle))
    field = _Field(
        tuple(blocks),
        [(-wide // 2, -high // 2), (wide // 2, -high // 2), (wide // 2, high // 2),
         (-wide // 2, high // 2)],
        lambda a, b: min(3 * wide // 2 - abs(a), 3 * high // 2 - abs(b)),
        fill == "split",
    )  # fmt: skip
    title = f"Three-diamond blocks, {rows} × {columns}"
    return _design("three-diamonds", title, sizing, field, 2 * columns)


def make_three_diamonds_hexagon(sizing: Sizing, *, a_side: int, fill: str) -> Design:
    """Return a hexagon, upright on a tip, of `a_side` diamonds along each side."""
    n = a_side
    reach = n // 2 + 2
    blocks = [
        (row + reach + 1, column + reach + 1, (4 * column + 2 * (row % 2), -6 * row))
        for row in range(-reach, reach + 1)
        for column in range(-reach, reach + 1)
    ]
    field = _Field(
        tuple(blocks),
        [(2 * n, -2 * n), (2 * n, 2 * n), (0, 4 * n), (-2 * n, 2 * n), (-2 * n, -2 * n),
         (0, -4 * n)],
        lambda a, b: min(6 * n - abs(a), 12 * n - abs(a + b), 12 * n - abs(a - b)),
        fill == "split",
    )  # fmt: skip
    title = f"Three-diamond blocks in a hexagon, {n} a side"
    return _design("three-diamonds-hexagon", title, sizing, field, 2 * n)


def _design(name: str, title: str, sizing: Sizing, field: _Field, across: int) -> Design:
    refuse_both(sizing)
    height = sizing.piece if sizing.piece is not None else nearest_piece(sizing, across)
    lattice = Lattice(height / 2, height / (2 * math.sqrt(3)))
    pieces = tuple(
        piece for row, column, at in field.blocks
        for which in _BLOCK for piece in _placed(f"{row}.{column}", at, which, field, lattice)
    )  # fmt: skip
    outline = lattice.outline(field.corners)
    # Three seams meet, none of them straight on, in the middle of a block and at its upper tip.
    middles = [(a, b + up) for *_, (a, b) in field.blocks for up in (0, 4)]
    return Design(
        name, title, outline, tuple(_lines(pieces, height)), pieces, piece_size=height,
        size=outline.bounds[2] * 2, measured="wide", wanted=sizing.size,
        set_in_seams=0 if field.split
        else sum(field.inside(3 * a, 3 * b) > 0 for a, b in middles),
    )  # fmt: skip


def _placed(
    block: str, at: _Point, which: str, field: _Field, lattice: Lattice
) -> Iterator[PlacedPiece]:
    """Yield what lies inside of one diamond of the block with its middle at `at`."""
    one = _BLOCK[which]
    quarters = [
        (i, j) for i, end in enumerate(one.ends) for j, side in enumerate(one.sides)
        if field.inside(*(3 * at[k] + one.middle[k] + end[k] + side[k] for k in (0, 1))) > 0
    ]  # fmt: skip
    ends, sides = {i for i, _ in quarters}, {j for _, j in quarters}
    cut = field.split and which == "upper"
    parts = [[each] for each in sorted(ends)] if cut else [sorted(ends)] if ends else []
    for part in parts:
        corners: Corners
        if len(part) == len(sides) == 2:
            corners = [one.ends[0], one.sides[0], one.ends[1], one.sides[1]]
            name, grain = "diamond", one.edge_deg
        elif len(sides) == 2:
            (end,) = part
            corners = [one.ends[end], one.sides[end], one.sides[1 - end]]
            name, grain = "half", one.short_deg
        elif len(part) == 2:
            (side,) = sides
            corners = [one.sides[side], one.ends[1 - side], one.ends[side]]
            name, grain = "long half", 0.0
        else:
            (end,), (side,) = part, sides
            left = end == side  # from the right angle along the longer side first
            two = [one.ends[end], one.sides[side]]
            corners = [one.middle, *(two if left else two[::-1])]
            name, grain = f"corner, {'left' if left else 'right'}", 0.0
        placed = [(at[0] + a, at[1] + b) for a, b in corners]
        outer = _outer_deg(placed, field)
        more = f"{'-right' if part == [0] else '-left'}" if len(parts) > 1 else ""
        yield PlacedPiece(
            f"{block}.{which}{more}", f"{which} {name}", f"{which} diamonds", None, None,
            f"block {block}", lattice.outline(placed), grain if outer is None else outer,
        )  # fmt: skip


def _outer_deg(corners: Corners, field: _Field) -> float | None:
    """Return the direction of an edge that lies along the edge of the top, None where none does."""
    for (a, b), (c, d) in zip(corners, [*corners[1:], corners[0]], strict=True):
        halfway = 3 * (a + c) // 2, 3 * (b + d) // 2
        if all(field.inside(*point) == 0 for point in ((3 * a, 3 * b), halfway, (3 * c, 3 * d))):
            return math.degrees(math.atan2((d - b) / math.sqrt(3), c - a)) % 180
    return None


def _lines(pieces: tuple[PlacedPiece, ...], height: float) -> Iterator[DesignPiece]:
    side = height * 2 / math.sqrt(3)
    shapes: dict[str, tuple[str, dict[str, float]]] = {
        "diamond": ("diamond-60", {"height": height}),
        "half": ("equilateral-triangle", {"height": height}),
        "long half": ("triangle-120", {"side": side}),
        "corner, left": ("half-triangle-left", {"height": height}),
        "corner, right": ("half-triangle-right", {"height": height}),
    }
    counts = Counter(piece.piece for piece in pieces)
    for which in _BLOCK:
        for name, (kind, sizes) in shapes.items():
            if count := counts[f"{which} {name}"]:
                role = f"{which} diamonds"
                yield design_piece(f"{which} {name}", count, role, kind, **sizes)
