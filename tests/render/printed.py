"""The printed scale as it lies on the table: paper, black squares, neutral patches.

Drawn from the layout that `scrapstore.photo.squares` declares and from OpenCV's bit patterns.
Nothing here measures.
"""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from scrapstore.photo.squares import (
    CARD_HEIGHT,
    CARD_WIDTH,
    CELL,
    OUR_PRINT,
    SQUARE_LOWER_LEFT,
    SquareSet,
)
from tests.render.colours import Rgb

Points = NDArray[np.float64]

_INK: Rgb = (52, 52, 52)
_PAPER: Rgb = (238, 238, 238)


@dataclass(frozen=True)
class TrueSquare:
    """Where one square lies: outer black corners in table inches, in the order the code's own
    top left, top right, bottom right, bottom left (as OpenCV's detector gives them)."""

    id: int
    corners: Points


@dataclass(frozen=True)
class Paper:
    """One piece of paper: its border and what is printed, all as rings of table inches.

    `inked` holds (colour, rings): the first ring of each is outer, the others are cut out of it.
    """

    border: Points
    inked: tuple[tuple[Rgb, tuple[Points, ...]], ...]
    squares: tuple[TrueSquare, ...]
    white: Rgb = _PAPER


def _rectangle(left: float, bottom: float, right: float, top: float) -> Points:
    return np.array([[left, bottom], [right, bottom], [right, top], [left, top]], dtype=float)


def _place(points: Points, at: tuple[float, float], turn_deg: float) -> Points:
    a = np.radians(turn_deg)
    turn = np.array([[np.cos(a), np.sin(a)], [-np.sin(a), np.cos(a)]])
    return np.asarray(points @ turn + np.array(at))


def _bits(family: str, number: int) -> NDArray[np.bool_]:
    """White cells of a code, black frame of one cell included, row 0 at its top."""
    wanted = f"dict_{family}"
    name = next(name for name in dir(cv2.aruco) if name.lower() == wanted)
    dictionary = cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, name))
    cells = dictionary.markerSize + 2
    picture = cv2.aruco.generateImageMarker(dictionary, number, cells * 8)
    return np.asarray(picture[4::8, 4::8] > 127)


def _code(family: str, number: int, side: float) -> tuple[Points, ...]:
    """Rings of a square centred on (0, 0): its black outline, then each white cell turned about."""
    white = _bits(family, number)
    cells = len(white)
    step, half = side / cells, side / 2
    rings = [_rectangle(-half, -half, half, half)]
    for row, column in np.argwhere(white):
        left, top = column * step - half, half - row * step
        rings.append(_rectangle(left, top - step, left + step, top)[::-1])
    return tuple(rings)


def _cell(number: int, dx: float, dy: float) -> list[tuple[Rgb, tuple[Points, ...]]]:
    """What is printed in one cell of our card whose lower left corner is at (dx, dy)."""
    side = OUR_PRINT.side
    centre = np.array([dx + SQUARE_LOWER_LEFT[0] + side / 2, dy + SQUARE_LOWER_LEFT[1] + side / 2])
    inked = [(_INK, tuple(ring + centre for ring in _code(OUR_PRINT.family, number, side)))]
    for patch in OUR_PRINT.patches:
        box = _rectangle(patch.left, patch.bottom, patch.right, patch.top) * side + centre
        if patch.name == "white":
            hair = 0.01
            inner = box + np.array([[hair, hair], [-hair, hair], [-hair, -hair], [hair, -hair]])
            inked.append((_INK, (box, inner[::-1])))
        else:
            inked.append(((patch.grey,) * 3, (box,)))
    return inked


def _assemble(
    border: Points,
    inked: list[tuple[Rgb, tuple[Points, ...]]],
    centres: dict[int, tuple[float, float]],
    side: float,
    at: tuple[float, float],
    turn_deg: float,
) -> Paper:
    h = side / 2
    order = np.array([[-h, h], [h, h], [h, -h], [-h, -h]])
    return Paper(
        _place(border, at, turn_deg),
        tuple((c, tuple(_place(ring, at, turn_deg) for ring in rings)) for c, rings in inked),
        tuple(
            TrueSquare(number, _place(order + np.array(centre), at, turn_deg))
            for number, centre in centres.items()
        ),
    )


def loose_cell(number: int, at: tuple[float, float], turn_deg: float) -> Paper:
    """One cell of our print cut loose, its middle at `at`."""
    half = CELL / 2
    low = SQUARE_LOWER_LEFT
    centre = (low[0] + OUR_PRINT.side / 2 - half, low[1] + OUR_PRINT.side / 2 - half)
    border = _rectangle(-half, -half, half, half)
    return _assemble(
        border, _cell(number, -half, -half), {number: centre}, OUR_PRINT.side, at, turn_deg
    )


def card(at: tuple[float, float], turn_deg: float) -> Paper:
    """Our print left whole, its middle at `at`, with its thin grey cutting lines."""
    w, h = CARD_WIDTH / 2, CARD_HEIGHT / 2
    shift = np.array([w, h])
    inked: list[tuple[Rgb, tuple[Points, ...]]] = []
    centres: dict[int, tuple[float, float]] = {}
    for number, (x, y) in OUR_PRINT.layout.items():
        centres[number] = (x - w, y - h)
        left = x - SQUARE_LOWER_LEFT[0] - OUR_PRINT.side / 2 - shift[0]
        bottom = y - SQUARE_LOWER_LEFT[1] - OUR_PRINT.side / 2 - shift[1]
        inked += _cell(number, float(left), float(bottom))
    thin = 0.006
    for k in (1, 2):
        inked.append(((200,) * 3, (_rectangle(k * CELL - w - thin, -h, k * CELL - w + thin, h),)))
    inked.append(((200,) * 3, (_rectangle(-w, CELL - h - thin, w, CELL - h + thin),)))
    return _assemble(_rectangle(-w, -h, w, h), inked, centres, OUR_PRINT.side, at, turn_deg)


def plain_square(
    squares: SquareSet, number: int, at: tuple[float, float], turn_deg: float, rim: float = 0.3
) -> Paper:
    """A square of any family alone on paper that reaches `rim` sides beyond it."""
    half = squares.side * (0.5 + rim)
    rings = _code(squares.family, number, squares.side)
    border = _rectangle(-half, -half, half, half)
    return _assemble(border, [(_INK, rings)], {number: (0.0, 0.0)}, squares.side, at, turn_deg)
