"""The proof that prices are feasible: every position of every piece is examined, in boxes.

A box is a square set of positions of one turn. The least price that a piece covers anywhere in a
box comes from `price_integrals.least_prices`. A box for which that is too little is cut in four,
or, if some position in it really covers too little, is kept until prices have risen.
"""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon

from scrapstore.packing.pieces import following, lengths
from scrapstore.packing.proof.price_integrals import least_prices
from scrapstore.packing.proof.prices import Demand, PriceProgram, Prices

__all__ = ["NEARLY_NOTHING", "Inspection"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]
Shapes = NDArray[np.object_]

NEARLY_NOTHING = 1e-9
"""Share of its worth; a piece that need not cover more, for the price of its kind, is left out."""

# Inches, more than pieces may overlap or stick out and than cutting shapes by boxes errs: a piece
# counts for the price of what is left when so much is taken off all round.
_TOLERANCE = 2e-6
_MOST_DEMANDS = 400
_HOMES = 1_000_000  # more than any turn has first boxes


@dataclass(frozen=True)
class _Boxes:
    """Boxes of one turn, all of one size.

    `corner` (n, 2) lower left, in the region's frame; `shape` (n,) the feasible part of each, None
    where all of it is; `home` (n,) the number of the first box that each was cut from.
    """

    turn: int
    size: float
    corner: Floats
    shape: Shapes
    home: Ints

    def __len__(self) -> int:
        return len(self.corner)

    def ends(self) -> tuple[Floats, Ints]:
        """Return the corners of the hulls of the feasible parts, and where each one's begin."""
        whole = _is_none(self.shape)
        square = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]]) * self.size
        own = (self.corner[whole, None] + square).reshape(-1, 2)
        hull = shapely.convex_hull(self.shape[~whole])
        rest, of = shapely.get_coordinates(hull, return_index=True)
        owner = np.concatenate((np.repeat(np.flatnonzero(whole), 4), np.flatnonzero(~whole)[of]))
        order = np.argsort(owner, kind="stable")
        first = np.searchsorted(owner[order], np.arange(len(self) + 1))
        return np.concatenate((own, rest))[order], first

    def only(self, kept: Flags) -> "_Boxes":
        return _Boxes(self.turn, self.size, self.corner[kept], self.shape[kept], self.home[kept])

    def quarters(self) -> "_Boxes":
        half = self.size / 2
        quarter = np.array([[0.0, 0.0], [half, 0.0], [0.0, half], [half, half]])
        corner = (self.corner[:, None] + quarter).reshape(-1, 2)
        shape, home = np.repeat(self.shape, 4), np.repeat(self.home, 4)
        return _Boxes(self.turn, half, corner, shape, home).clipped()

    def clipped(self) -> "_Boxes":
        """Return the boxes with only what of `shape` is in each; without those that have none."""
        part = np.flatnonzero(~_is_none(self.shape))
        # A little larger, so that rounding cannot lose a position on the line between two boxes.
        low, high = self.corner[part] - 1e-9, self.corner[part] + self.size + 1e-9
        inside = shapely.intersection(self.shape[part], shapely.box(*low.T, *high.T))
        full = shapely.area(inside) >= self.size**2
        shape = self.shape.copy()
        shape[part] = inside
        shape[part[full]] = None
        kept = np.ones(len(self), dtype=bool)
        kept[part] = full | ~shapely.is_empty(inside)
        return _Boxes(self.turn, self.size, self.corner, shape, self.home).only(kept)


class Inspection:
    """The positions that are not yet proven to cover their worth, while prices rise.

    Prices may only rise from one `inspect` to the next: what was proven stays so. A piece is to
    cover all but the share `slack` of its worth, less the price of its kind. `least` is the share
    that every position has been proven to cover.
    """

    def __init__(self, program: PriceProgram, slack: float) -> None:
        self.program = program
        self.slack = slack
        self.least = 0.0
        self.open = [
            _first_boxes(turn, feasible, program.step)
            for turn, feasible in enumerate(program.problem.feasible)
        ]

    def inspect(self, prices: Prices, boxes: int, smallest: float = 0.0) -> list[Demand]:
        """Examine the open boxes, cut into at most about `boxes`, none smaller than `smallest`.

        Return positions that cover too little, with what they lack: the worst ones, at most one for
        each first box.
        """
        cloth, step = prices.cloth, self.program.step
        below = np.zeros_like(cloth)
        np.cumsum(cloth[:-1] * step, axis=0, out=below[1:])
        highest = float(cloth.max())
        goal = 1.0 - self.slack
        work, self.open, self.least = self.open, [], goal
        lacking: list[Floats] = []  # rows: share, turn · _HOMES + home, x, y, what is lacking
        while work:
            own = work.pop(0)
            due = self._due(own.turn, prices)
            if due <= NEARLY_NOTHING * self.program.problem.worth(own.turn) or not len(own):
                continue
            outline = np.ascontiguousarray(self.program.problem.turns[own.turn].corners)
            ends, first = own.ends()
            least, seen, worst = np.empty(len(own)), np.empty(len(own)), np.empty((len(own), 2))
            least_prices(
                outline, step, cloth, below, ends - self.program.low, first, least, seen, worst
            )
            around = float(lengths(following(outline) - outline).sum())
            least = (least - _TOLERANCE * around * highest) / due
            seen = (seen - _TOLERANCE * around * highest) / due
            boxes -= len(own)
            short = (seen < 1.0 - self.slack / 4) & (least < goal)
            home = own.turn * _HOMES + own.home
            lack = (1.0 + self.slack / 4 - seen) * due
            rows = np.column_stack((seen, home, worst + self.program.low, lack))
            lacking.append(rows[short])
            split = (least < goal) & ~short
            if own.size / 2 < smallest or boxes < 4 * split.sum():
                short, split = short | split, np.zeros_like(split)
            if short.any():
                self.least = min(self.least, float(least[short].min()))
                self.open.append(own.only(short))
            if split.any():
                work.append(own.only(split).quarters())
        return self._demands(np.concatenate(lacking)) if lacking else []

    def _due(self, turn: int, prices: Prices) -> float:
        problem = self.program.problem
        return problem.worth(turn) - float(prices.kind[problem.turns[turn].kind])

    def _demands(self, rows: Floats) -> list[Demand]:
        rows = rows[np.lexsort((rows[:, 1], rows[:, 0]))]
        _, worst = np.unique(rows[:, 1], return_index=True)
        rows = rows[np.sort(worst)[:_MOST_DEMANDS]]
        turn = rows[:, 1].astype(np.int64) // _HOMES
        return [Demand(int(t), rows[turn == t, 2:4], rows[turn == t, 4]) for t in np.unique(turn)]


def _first_boxes(turn: int, feasible: MultiPolygon, size: float) -> _Boxes:
    bounds = np.array(feasible.bounds).reshape(2, 2)
    x, y = np.meshgrid(*(np.arange(low - 1e-6, high, size) for low, high in bounds.T))
    corner = np.column_stack((x.ravel(), y.ravel()))
    shape = np.empty(len(corner), dtype=object)
    shape[:] = feasible
    return _Boxes(turn, size, corner, shape, np.arange(len(corner))).clipped()


def _is_none(shape: Shapes) -> Flags:
    return ~shapely.is_geometry(shape)
