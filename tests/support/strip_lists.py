"""Random piece lists for yardage: every shape that strips are cut for, trimmed tips among them."""

import random
from collections.abc import Sequence

from scrapstore.errors import ShapeError
from scrapstore.shapes import GrainEdge, Shape, Tips, cut_shape, make_shape, rotations_deg
from scrapstore.yardage import StripPiece

__all__ = ["BY_RULER", "as_strip_piece", "random_list"]

BY_RULER = (
    "square", "rectangle", "diamond-60", "diamond-45", "equilateral-triangle",
    "half-triangle-left", "half-triangle-right", "half-square-triangle",
    "quarter-square-triangle", "hexagon", "half-hexagon",
)  # fmt: skip
"""Kinds whose every side is at an angle that a ruler has."""


def random_list(seed: int, kinds: Sequence[str] = (*BY_RULER, "trapezoid")) -> list[StripPiece]:
    """Two to five kinds of piece, finished sizes in quarter inches, 4 to 40 of each."""
    rng = random.Random(seed)
    return [_random_piece(rng, f"p{i}", rng.choice(kinds)) for i in range(rng.randint(2, 5))]


def _random_piece(rng: random.Random, name: str, kind: str) -> StripPiece:
    while True:
        size = rng.randint(4, 24) / 4
        sizes = {
            "square": {"side": size},
            "rectangle": {"width": size, "height": rng.randint(4, 32) / 4},
            "half-square-triangle": {"short_side": size},
            "quarter-square-triangle": {"long_side": size},
            "trapezoid": {
                "long_side": size, "short_side": rng.randint(4, 24) / 4,
                "height": rng.randint(4, 24) / 4,
            },
        }.get(kind, {"side": size} if rng.random() < 0.5 else {"height": size})  # fmt: skip
        tips: Tips = rng.choice(("pointed", "pointed", "trimmed"))
        try:
            return as_strip_piece(name, make_shape(kind, **sizes), rng.randint(4, 40), tips)
        except ShapeError:  # no such trapezoid
            continue


def as_strip_piece(name: str, shape: Shape, count: int, tips: Tips = "pointed") -> StripPiece:
    """Return pieces of `shape` with a seam allowance of 1/4 in."""
    turns = rotations_deg(shape, GrainEdge())
    blank = cut_shape(shape, 0.25) if tips == "trimmed" else None
    return StripPiece(name, cut_shape(shape, 0.25, tips), count, turns, blank=blank)
