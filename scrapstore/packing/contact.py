"""Free placement: one piece after another at a corner of where it still fits.

A corner of the feasible positions, less what the pieces already laid exclude, is a position where
the piece touches the edge or its neighbours on two sides. Each sweep prefers the corners furthest
in one direction; the best of several sweeps is kept.
"""

import math
from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from scrapstore.packing.board import Board, Spot
from scrapstore.packing.convex import Points
from scrapstore.packing.pieces import products

__all__ = ["fill_up", "sweep"]


def sweep(board: Board, direction_deg: float, laid: Sequence[Spot] = ()) -> list[Spot]:
    """Return `laid` and as many further pieces as fit, furthest against the direction first.

    Kinds that are worth more come first; a kind is taken up to its wanted number.
    """
    spots = list(laid)
    left = board.wanted()
    for spot in spots:
        left[board.turns[spot.turn].kind] -= 1
    free: list[BaseGeometry] = list(board.feasible)
    for spot in spots:
        free = [board.without(at, spot, turn) for turn, at in enumerate(free)]
    angle = math.radians(direction_deg)
    towards = np.round([math.cos(angle), math.sin(angle)], 12)
    # A little across as well, so that equal corners have one order.
    towards += 1e-3 * np.array([-towards[1], towards[0]])
    order = sorted({t.kind for t in board.turns}, key=lambda k: (-board.kinds[k].worth, k))
    for kind in order:
        turns = [n for n, turn in enumerate(board.turns) if turn.kind == kind]
        while left[kind] > 0:
            found = _furthest(board, free, turns, towards)
            if found is None:
                break
            spots.append(found)
            left[kind] -= 1
            free = [board.without(at, found, turn) for turn, at in enumerate(free)]
    return spots


def fill_up(board: Board, laid: Sequence[Spot], directions: int = 4) -> list[Spot]:
    """Return `laid` with what else fits beside it: the best of sweeps in several directions."""
    best = list(laid)
    for k in range(directions):
        spots = sweep(board, 360.0 * k / directions, laid)
        if board.value(spots) > board.value(best) + 1e-9:
            best = spots
    return best


def _furthest(
    board: Board, free: list[BaseGeometry], turns: list[int], towards: Points
) -> Spot | None:
    """Return the spot whose piece's middle lies furthest against `towards`; None if all is full."""
    best: tuple[float, Spot] | None = None
    for turn in turns:
        if free[turn].is_empty:
            continue
        at = shapely.get_coordinates(free[turn])
        size = np.asarray(board.turns[turn].size)
        # Compare the middles of the pieces' bounds: corners of different turns are then alike.
        key = products(at + size / 2, towards[None])[:, 0]
        k = int(np.argmin(np.round(key, 9)))
        if best is None or key[k] < best[0] - 1e-9:
            best = (float(key[k]), Spot(turn, float(at[k, 0]), float(at[k, 1])))
    return best[1] if best else None
