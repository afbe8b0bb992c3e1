"""From the size that is wanted to a piece that can be cut."""

from typing import Final

from scrapstore.designs.forms import Sizing
from scrapstore.errors import UsageError
from scrapstore.units import round_to_mark, round_up_to_mark

__all__ = ["SMALLEST_PIECE", "nearest_piece", "next_smaller", "refuse_both"]

SMALLEST_PIECE: Final = 0.25
"""Inches, finished; what is smaller is hardly more than its seams."""


def refuse_both(sizing: Sizing) -> None:
    """Raise UsageError where both the piece and the size of the top were given."""
    if sizing.piece is not None and sizing.size is not None:
        raise UsageError("design: the piece and the size depend on one another; give one of them")


def nearest_piece(sizing: Sizing, across: float) -> float:
    """Return the finished piece of which `across` come nearest to the size that is wanted.

    Its strip is on a mark of the ruler. Raises UsageError for a piece smaller than
    `SMALLEST_PIECE`.
    """
    assert sizing.size is not None
    exact = sizing.size / across
    if exact < SMALLEST_PIECE:
        msg = f"size: {sizing.size:g} in would make pieces of {exact:.2f} in, which is too small"
        raise UsageError(f"{msg} to sew; ask for fewer pieces, or a larger size")
    seams = 2 * sizing.seam
    # The nearest mark of a coarse ruler may lie below what can be sewn.
    strip = max(
        round_to_mark(exact + seams, sizing.mark),
        round_up_to_mark(SMALLEST_PIECE + seams, sizing.mark),
    )
    return strip - seams


def next_smaller(sizing: Sizing, piece: float) -> float:
    """Return the piece whose strip is one mark narrower; 0 where it would be too small."""
    smaller = piece - sizing.mark
    return smaller if smaller > SMALLEST_PIECE - 1e-9 else 0.0
