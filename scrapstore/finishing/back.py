"""The back of a cover: the pieces it is cut from, and where their hems lie over one another."""

from collections.abc import Iterator
from itertools import pairwise
from typing import Final, NamedTuple

from scrapstore.errors import ShapeError
from scrapstore.finishing.outline import TopOutline
from scrapstore.finishing.wishes import BackWish

__all__ = ["BackPiece", "back_pieces", "lap_of", "lapped_hems", "zip_length"]

_ZIP_END: Final = 1.0
"""Inches of the seam beside a zip that are sewn shut at either end; common practice."""
_NEAR: Final = 1e-9


class BackPiece(NamedTuple):
    """A piece of the back as it is cut, inches; the opening runs along its height."""

    name: str
    width: float
    height: float


def back_pieces(back: BackWish, width: float, height: float) -> tuple[BackPiece, ...]:
    """Return the pieces of a back that covers a front cut `width` by `height`, seams included.

    Raises ShapeError for an overlap that no pieces of that width can have.
    """
    if back.kind == "plain":
        return (BackPiece("back", width, height),)
    if back.kind == "zip":
        half = width / 2 + back.zip_allowance
    else:
        if not 0 < back.overlap < width:
            raise ShapeError("back: the overlap must be more than nothing and less than the front")
        half = (width + back.overlap) / 2 + back.hem * back.hem_turns
    return BackPiece("back left", half, height), BackPiece("back right", half, height)


def lap_of(back: BackWish, cut_width: float, width: float) -> float:
    """Return how far two pieces cut so wide overlap once hemmed, over a front `width` wide."""
    return 2 * (cut_width - back.hem * back.hem_turns) - width


def zip_length(height: float) -> float:
    """Return the longest zip for an opening in a cover of this height between its seams.

    Of a small cover it takes up half of the side.
    """
    return max(height - 2 * _ZIP_END, height / 2)


def lapped_hems(outline: TopOutline, lap: float) -> tuple[tuple[float, float], ...]:
    """Return the stretches of the edge over which the hems of an envelope lie, from corner 0.

    The opening runs square to side 1, in the middle of the box round the outline.
    """
    return tuple(_under(outline, lap))


def _under(outline: TopOutline, lap: float) -> Iterator[tuple[float, float]]:
    corners = outline.corners()
    across = [x for x, _ in corners]
    middle = (min(across) + max(across)) / 2
    low, high = middle - lap / 2, middle + lap / 2
    before = 0.0
    closed = pairwise([*across, across[0]])
    for side, (start, end) in zip(outline.sides, closed, strict=True):
        if abs(end - start) > _NEAR:
            shares = sorted(
                min(max((edge - start) / (end - start), 0.0), 1.0) for edge in (low, high)
            )
            if shares[1] - shares[0] > _NEAR:
                yield before + shares[0] * side, before + shares[1] * side
        elif low < start < high:
            yield before, before + side
        before += side
