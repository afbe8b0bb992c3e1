"""The six-point star of 60° diamonds, filled to a hexagon or on to a rectangle.

It stands on a tip. Its points are six wedges, each a large diamond of n × n small ones. With the
finished height h of a small diamond its side is 2h/√3; from tip to tip the star measures 4nh, and
across 2√3·nh. Lattice points are (h / 2√3 · a, h / 2 · b).
"""

import math
from collections.abc import Iterable, Iterator
from typing import Final, NamedTuple

from shapely import Polygon, box

from scrapstore.designs.forms import (
    Corners,
    Design,
    DesignPiece,
    Lattice,
    PlacedPiece,
    Sizing,
    design_piece,
)
from scrapstore.designs.sizes import nearest_piece, next_smaller, refuse_both
from scrapstore.errors import UsageError

__all__ = ["make_star"]

_BACKGROUND: Final = "background"
_NARROWEST: Final = 0.5
"""Inches; a finished strip along the edge that is narrower is easily sewn crooked."""
_ALONG: Final = ((4, 0), (2, 2), (-2, 2), (-4, 0), (-2, -2), (2, -2))
"""A side of a small diamond in each of the six directions, in steps of the lattice."""


class _Filler(NamedTuple):
    """A piece beside the wedge of this number (None: between two); `grain_deg` of an edge."""

    piece: str
    name: str
    wedge: int | None
    corners: Corners
    grain_deg: float


def make_star(sizing: Sizing, *, a_side: int, fill: str) -> Design:
    """Return the star with `a_side` diamonds along each side of a point.

    `fill` says what lies between the points: "split", halves of the 120° pieces of a hexagon,
    "hexagon", those whole, or "rectangle", corners.

    Filled to a hexagon its size is from tip to tip, on a rectangle the side of the square that it
    is brought to by strips; without a size there it ends with the star. Raises UsageError for
    sizes of which no star can be made.
    """
    if fill != "rectangle":
        refuse_both(sizing)
    height = sizing.piece
    if height is None:
        height = nearest_piece(sizing, 4 * a_side)
        if fill == "rectangle":
            height = _room_for_strips(sizing, height, a_side)
    lattice = Lattice(height / (2 * math.sqrt(3)), height / 2)
    tip_to_tip = 4 * a_side * height
    strips: list[PlacedPiece] = []
    strip_lines: list[DesignPiece] = []
    if fill == "rectangle":
        fillers = list(_corners(a_side))
        right, top = lattice.wide * 6 * a_side, lattice.high * 4 * a_side
        outline = box(-right, -top, right, top)
        if sizing.size is not None:
            outline, strip_lines, strips = _strips(sizing.size, right, top)
    else:
        fillers = list(_halves(a_side, range(6)) if fill == "split" else _whole(a_side))
        outline = lattice.outline([_tip(a_side, wedge) for wedge in range(6)])
    square = bool(strips)
    return Design(
        name="star",
        title=f"Six-point star, {a_side} a side",
        outline=outline,
        lines=(*_lines(a_side, height, fill), *strip_lines),
        pieces=(*_diamonds(a_side, lattice), *_placed(fillers, lattice), *strips),
        piece_size=height,
        size=outline.bounds[3] * 2 if square else tip_to_tip,
        measured="square" if square else "tip to tip",
        wanted=sizing.size,
        set_in_seams=6 if fill == "hexagon" else 0,
    )


def _room_for_strips(sizing: Sizing, height: float, a_side: int) -> float:
    """Return the largest `height` that leaves strips beyond the tips wide enough, or none."""
    assert sizing.size is not None
    while height > 0:
        rest = (sizing.size - 4 * a_side * height) / 2
        if abs(rest) < 1e-9 or rest > _NARROWEST - 1e-9:
            return height
        height = next_smaller(sizing, height)
    raise UsageError(f"size: {sizing.size:g} in is too small for {a_side} a side; take fewer")


def _lines(a_side: int, height: float, fill: str) -> Iterator[DesignPiece]:
    for ring in range(1, 2 * a_side):
        count = 6 * min(ring, 2 * a_side - ring)
        role = f"round {ring}"
        yield design_piece(f"{role} diamond", count, role, "diamond-60", height=height)
    large = a_side * height
    if fill == "hexagon":
        yield design_piece("120° triangle", 6, _BACKGROUND, "triangle-120", long_side=2 * large)
        return
    if fill == "rectangle":
        yield design_piece(
            "background triangle", 8, _BACKGROUND, "equilateral-triangle", height=large
        )
    for hand in ("left", "right"):
        yield design_piece(
            f"{hand} half triangle", 4 if fill == "rectangle" else 6, _BACKGROUND,
            f"half-triangle-{hand}", height=large,
        )  # fmt: skip


def _diamonds(a_side: int, lattice: Lattice) -> Iterator[PlacedPiece]:
    for wedge in range(6):
        along, other = _ALONG[wedge], _ALONG[(wedge + 1) % 6]
        for row in range(a_side):
            for place in range(a_side):
                role = f"round {row + place + 1}"
                a, b = (row * along[k] + place * other[k] for k in (0, 1))
                corners = [
                    (a, b),
                    (a + along[0], b + along[1]),
                    (a + along[0] + other[0], b + along[1] + other[1]),
                    (a + other[0], b + other[1]),
                ]
                yield PlacedPiece(
                    f"{wedge + 1}.{row + 1}.{place + 1}", f"{role} diamond", role, row + place + 1,
                    wedge + 1, f"wedge {wedge + 1}, row {row + 1}", lattice.outline(corners),
                    60.0 * wedge % 180,
                )  # fmt: skip


def _whole(a_side: int) -> Iterator[_Filler]:
    """Yield the 120° piece of each notch; the notch after wedge k lies along direction k + 1."""
    for wedge in range(6):
        corners = (_notch(a_side, wedge), _tip(a_side, wedge), _tip(a_side, wedge + 1))
        name = f"{wedge + 1}-{(wedge + 1) % 6 + 1}"
        yield _Filler("120° triangle", name, None, corners, _outer_deg(wedge))


def _halves(a_side: int, wedges: Iterable[int]) -> Iterator[_Filler]:
    """Yield the two halves of the 120° piece in the notches after `wedges`."""
    for wedge in wedges:
        inner, (a, b) = _notch(a_side, wedge), _ALONG[(wedge + 1) % 6]
        middle = (3 * a_side * a // 2, 3 * a_side * b // 2)
        following = (wedge + 1) % 6
        for hand, own, corners in (
            ("right", wedge, (inner, _tip(a_side, wedge), middle)),
            ("left", following, (inner, middle, _tip(a_side, following))),
        ):
            yield _Filler(
                f"{hand} half triangle", f"{own + 1}.{hand}", own + 1, corners, _outer_deg(wedge)
            )


def _corners(a_side: int) -> Iterator[_Filler]:
    """Yield what brings the star to a rectangle: the notches at its sides, then the corners."""
    yield from _halves(a_side, (5, 2))
    n = a_side
    for across, up, corner in ((1, 1, "ur"), (-1, 1, "ul"), (-1, -1, "ll"), (1, -1, "lr")):
        turned = across * up < 0  # a mirrored corner: left for right, and corners the other way
        for piece, part, points in (
            ("background triangle", "tip", ((2, 2), (4, 4), (0, 4))),
            ("background triangle", "side", ((2, 2), (6, 2), (4, 4))),
            (f"{'left' if turned else 'right'} half triangle", "half", ((4, 4), (6, 2), (6, 4))),
        ):
            placed = [(across * n * a, up * n * b) for a, b in points]
            wedge = 1 if part == "tip" else 0 if across > 0 else 2
            wedge = wedge if up > 0 else 5 - wedge
            yield _Filler(
                piece, f"{corner}.{part}", wedge + 1, placed[::-1] if turned else placed, 0.0
            )


def _placed(fillers: Iterable[_Filler], lattice: Lattice) -> Iterator[PlacedPiece]:
    for one in fillers:
        unit = "whole top" if one.wedge is None else f"wedge {one.wedge}"
        yield PlacedPiece(
            one.name, one.piece, _BACKGROUND, None, one.wedge, unit, lattice.outline(one.corners),
            one.grain_deg,
        )  # fmt: skip


def _strips(
    side: float, right: float, top: float
) -> tuple[Polygon, list[DesignPiece], list[PlacedPiece]]:
    """Return a square of this side round the star's rectangle, and the strips between the two."""
    half = side / 2
    if half - top < _NARROWEST - 1e-9 and abs(half - top) > 1e-9:
        msg = f"size: a star of {2 * top:.2f} in from tip to tip leaves no strip that can be sewn"
        raise UsageError(f"{msg} to {side:g} in; take {2 * (top + _NARROWEST):.2f} in or more")
    lines = [
        design_piece("side strip", 2, _BACKGROUND, "rectangle", width=half - right, height=2 * top)
    ]
    boxes = {"right": box(right, -top, half, top), "left": box(-half, -top, -right, top)}
    if half - top > 1e-9:
        edge = design_piece(
            "upper and lower strip", 2, _BACKGROUND, "rectangle", width=side, height=half - top
        )
        lines.append(edge)
        boxes |= {"upper": box(-half, top, half, half), "lower": box(-half, -half, half, -top)}
    strips = [
        PlacedPiece(
            f"{at} strip", lines[at in ("upper", "lower")].name, _BACKGROUND, None, None,
            "whole top", outline, 0.0,
        )
        for at, outline in boxes.items()
    ]  # fmt: skip
    return box(-half, -half, half, half), lines, strips


def _notch(a_side: int, wedge: int) -> tuple[int, int]:
    """Return the inner corner between this wedge and the next."""
    a, b = _ALONG[(wedge + 1) % 6]
    return a_side * a, a_side * b


def _tip(a_side: int, wedge: int) -> tuple[int, int]:
    (a, b), (c, d) = _ALONG[wedge % 6], _ALONG[(wedge + 1) % 6]
    return a_side * (a + c), a_side * (b + d)


def _outer_deg(wedge: int) -> float:
    """Return the direction of the hexagon's side between the tips of this wedge and the next."""
    return (60.0 * wedge + 150) % 180
