"""Fill one region with pieces: rows, then what still fits beside them, then free placement."""

from collections.abc import Sequence

from shapely.geometry import MultiPolygon, Polygon

from scrapstore.packing.board import Board, Spot
from scrapstore.packing.contact import fill_up, sweep
from scrapstore.packing.pieces import Layout, PieceKind, check_kinds
from scrapstore.packing.regions import as_region
from scrapstore.packing.rows import best_rows

__all__ = ["fill"]

_DIRECTIONS = 8  # sweeps of free placement


def fill(
    region: Polygon | MultiPolygon,
    kinds: Sequence[PieceKind],
    seconds: float = 2.0,
    seed: int = 0,
) -> Layout:
    """Return a layout of the pieces on the region that is worth as much as could be found.

    The region's holes are its flaws; an empty region gives an empty layout. The same region, kinds,
    `seconds` and `seed` give the same layout, byte for byte. Raises ShapeError for a region that
    crosses itself or kinds of one name.
    """
    del seconds, seed  # nothing is left to chance yet
    check_kinds(kinds)
    board = Board(as_region(region), kinds)
    best: list[Spot] = []
    for spots in _attempts(board):
        if board.value(spots) > board.value(best) + 1e-9:
            best = spots
    return board.layout(best, _bound(board))


def _attempts(board: Board) -> list[list[Spot]]:
    found: list[list[Spot]] = []
    for kind in sorted({turn.kind for turn in board.turns}):
        for axis in (0, 1):
            rows = best_rows(board, kind, axis, board.kinds[kind].wanted)
            found.append(fill_up(board, rows))
    found += [sweep(board, 360.0 * k / _DIRECTIONS) for k in range(_DIRECTIONS)]
    return found


def _bound(board: Board) -> float:
    """Return an upper limit: the best worth for the reachable area, pieces cut as if of water."""
    area = board.reachable_area()
    total = 0.0
    kinds = sorted(
        {turn.kind for turn in board.turns},
        key=lambda k: -board.kinds[k].worth / board.kinds[k].outline.area,
    )
    for kind in kinds:
        piece = board.kinds[kind]
        count = min(float(piece.wanted), area / piece.outline.area)
        if len(kinds) == 1:
            count = float(int(count + 1e-6))
        total += count * piece.worth
        area -= count * piece.outline.area
    return total
