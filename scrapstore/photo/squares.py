"""The printed scale: which fiducial squares lie in the picture, and where they are on our print.

Our print uses AprilTag 36h11, ids 0 to 5, one inch a side. The family is open (BSD-2-Clause, Edwin
Olson, "AprilTag: a robust and flexible visual fiducial system", ICRA 2011), OpenCV reads it without
any addition, and any two of its codes differ in at least 11 of 36 bits: a printed cloth does not
imitate one by chance, which the smaller families (4 × 4 bits, distance 4) cannot promise.

The card is 6 × 4 in, a postcard, in six cells of 2 × 2 in: three columns, two rows, ids row by row
from the top left. Left whole it is one rigid scale; cut along the cell lines it becomes six loose
squares, each with neutral patches of its own. Cell frame, inches, origin at the cell's lower left
corner, y up:

- the square: x 0.5 to 1.5, y 0.75 to 1.75 (its outer black edge; the code's own top is up),
- three patches, each 0.4 in: black x 0.3 to 0.7, grey 0.8 to 1.2, white 1.3 to 1.7; y 0.15 to 0.55
  (white is bare paper inside a hair line of 0.01 in),
- everything else is white paper; the cell edge is a thin light-grey cutting line.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Final

from scrapstore.errors import PhotoError
from scrapstore.photo.typed_squares import FAMILIES

__all__ = [
    "CARD_HEIGHT",
    "CARD_WIDTH",
    "CELL",
    "OUR_PRINT",
    "PATCHES",
    "SQUARE_LOWER_LEFT",
    "GreyPatch",
    "SquareSet",
]

CARD_WIDTH: Final = 6.0
CARD_HEIGHT: Final = 4.0
CELL: Final = 2.0
"""Side of one cell of the card, inches."""
SQUARE_LOWER_LEFT: Final = (0.5, 0.75)
"""Where the square sits in its cell, inches."""


@dataclass(frozen=True)
class GreyPatch:
    """A neutral patch beside a square, in the square's own frame.

    `left`, `bottom`, `right`, `top`: in sides of the square, origin at the square's centre, y up.
    `grey`: what the patch should be in sRGB, 0..255, the same in all three channels.
    """

    name: str
    left: float
    bottom: float
    right: float
    top: float
    grey: int


def _cell_patch(name: str, left: float, grey: int) -> GreyPatch:
    centre_x, centre_y = SQUARE_LOWER_LEFT[0] + 0.5, SQUARE_LOWER_LEFT[1] + 0.5
    return GreyPatch(
        name, left - centre_x, 0.15 - centre_y, left + 0.4 - centre_x, 0.55 - centre_y, grey
    )


PATCHES: Final = (
    # Printer black on plain paper reflects about 4 %, plain paper about 85 %; grey is printed so
    # that it reads as 128.
    _cell_patch("black", 0.3, 52),
    _cell_patch("grey", 0.8, 128),
    _cell_patch("white", 1.3, 238),
)


def _our_layout() -> Mapping[int, tuple[float, float]]:
    centre_x, centre_y = SQUARE_LOWER_LEFT[0] + 0.5, SQUARE_LOWER_LEFT[1] + 0.5
    return MappingProxyType(
        {
            3 * row + column: (column * CELL + centre_x, (1 - row) * CELL + centre_y)
            for row in range(2)
            for column in range(3)
        }
    )


@dataclass(frozen=True)
class SquareSet:
    """The fiducial squares that may lie in a picture.

    `family`: the dictionary as OpenCV names it, in small letters without ``DICT_``.
    `ids`: the identities that count; any other code in the picture is ignored.
    `side`: outer edge of the black square, inches.
    `layout`: centre of each square, inches, y up, all upright, when they are printed on one rigid
    card; empty for squares that are always loose.
    `patches`: neutral patches beside every square; empty: the paper around a square is taken as
    white.
    `quiet`: how far the white paper reaches beyond the square, in sides of the square.

    Raises PhotoError for an unknown family, no identities or a side that is no length.
    """

    family: str = "apriltag_36h11"
    ids: tuple[int, ...] = (0, 1, 2, 3, 4, 5)
    side: float = 1.0
    layout: Mapping[int, tuple[float, float]] = field(default_factory=dict)
    patches: tuple[GreyPatch, ...] = ()
    quiet: float = 0.15

    def __post_init__(self) -> None:
        if self.family not in FAMILIES:
            msg = f"squares: no family {self.family!r}; use one of {', '.join(FAMILIES)}"
            raise PhotoError(msg)
        if not self.ids or min(self.ids) < 0:
            msg = f"squares: the identities {self.ids!r} will not do; give for example 0,1,2,3"
            raise PhotoError(msg)
        if not 0.05 <= self.side <= 100:
            msg = f"squares: a side of {self.side!r} in will not do; measure the black square"
            raise PhotoError(msg)


OUR_PRINT: Final = SquareSet(layout=_our_layout(), patches=PATCHES, quiet=0.25)
"""What `scrapstore.photo.scale.print_scale` prints: AprilTag 36h11, ids 0–5, 1 in, on 6 × 4 in."""
