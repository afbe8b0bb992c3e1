"""The eight-point star of 45° diamonds in its square block.

Its points are eight wedges, each a large diamond of n × n small ones of side s. The block measures
(2 + √2) n s: from a corner to the next tip n s, between the two tips of a side √2 n s.
"""

import math
from collections.abc import Iterator, Sequence
from typing import Final

from shapely import Polygon

from scrapstore.designs.forms import Design, DesignPiece, PlacedPiece, Sizing, design_piece
from scrapstore.designs.sizes import nearest_piece, refuse_both

__all__ = ["make_eight_point_star"]

_BACKGROUND: Final = "background"
_Point = tuple[int, int, int, int]
"""(a, b, c, d): the point (a + b √½, c + d √½), in sides of a diamond. Pieces that share a corner
have it at the same point to the last bit."""
_ALONG: Final[tuple[_Point, ...]] = (
    (1, 0, 0, 0), (0, 1, 0, 1), (0, 0, 1, 0), (0, -1, 0, 1),
    (-1, 0, 0, 0), (0, -1, 0, -1), (0, 0, -1, 0), (0, 1, 0, -1),
)  # fmt: skip
"""A side of a diamond in each of the eight directions."""


def make_eight_point_star(sizing: Sizing, *, a_side: int, fill: str) -> Design:
    """Return the star with `a_side` diamonds along each side of a point.

    With fill "whole" squares and quarter-square triangles are set in between the points; "split"
    halves them outwards from each inner corner, so that all seams are straight.
    """
    refuse_both(sizing)
    height = sizing.piece
    if height is None:
        height = nearest_piece(sizing, (2 + 2 * math.sqrt(2)) * a_side)
    side = height * math.sqrt(2)
    large = side * a_side
    corners = [_sum(a_side, *_around(k)) for k in (1, 3, 5, 7)]
    lines = [
        design_piece(f"round {ring} diamond", 8 * min(ring, 2 * a_side - ring), f"round {ring}",
                     "diamond-45", height=height)
        for ring in range(1, 2 * a_side)
    ]  # fmt: skip
    between = _whole(a_side, side) if fill == "whole" else _split(a_side, side)
    lines += _whole_lines(large) if fill == "whole" else _split_lines(large)
    outline = _outline(corners, side)
    return Design(
        name="eight-point-star",
        title=f"Eight-point star, {a_side} a side",
        outline=outline,
        lines=tuple(lines),
        pieces=(*_diamonds(a_side, side), *between),
        piece_size=height,
        size=outline.bounds[2] * 2,
        measured="wide",
        wanted=sizing.size,
        set_in_seams=8 if fill == "whole" else 0,
    )


def _diamonds(a_side: int, side: float) -> Iterator[PlacedPiece]:
    for wedge in range(8):
        along, other = _ALONG[wedge], _ALONG[(wedge + 1) % 8]
        for row in range(a_side):
            for place in range(a_side):
                steps = ((0, 0), (1, 0), (1, 1), (0, 1))
                corners = [
                    _sum(1, *[along] * (row + more), *[other] * (place + over))
                    for more, over in steps
                ]
                ring = row + place + 1
                yield PlacedPiece(
                    f"{wedge + 1}.{row + 1}.{place + 1}", f"round {ring} diamond", f"round {ring}",
                    ring, wedge + 1, f"wedge {wedge + 1}, row {row + 1}", _outline(corners, side),
                    45.0 * wedge % 180,
                )  # fmt: skip


def _whole_lines(large: float) -> list[DesignPiece]:
    return [
        design_piece("corner square", 4, _BACKGROUND, "square", side=large),
        design_piece("side triangle", 4, _BACKGROUND, "quarter-square-triangle",
                     long_side=large * math.sqrt(2)),
    ]  # fmt: skip


def _split_lines(large: float) -> list[DesignPiece]:
    return [
        design_piece("corner half", 8, _BACKGROUND, "half-square-triangle", short_side=large),
        design_piece("side half", 8, _BACKGROUND, "half-square-triangle",
                     short_side=large / math.sqrt(2)),
    ]  # fmt: skip


def _whole(a_side: int, side: float) -> Iterator[PlacedPiece]:
    """Yield the square or triangle at each inner corner; odd directions lead to a square."""
    for k in range(8):
        before, own, after = _around(k)
        inner = [_sum(a_side, own), _sum(a_side, before, own)]
        square = [_sum(a_side, before, own, after)] if k % 2 else []
        outline = _outline([*inner, *square, _sum(a_side, own, after)], side)
        yield PlacedPiece(
            f"{(k - 1) % 8 + 1}-{k + 1}", "corner square" if k % 2 else "side triangle",
            _BACKGROUND, None, None, "whole top", outline, 90.0 if k % 4 == 0 else 0.0,
        )  # fmt: skip


def _split(a_side: int, side: float) -> Iterator[PlacedPiece]:
    """Yield both halves at each inner corner, beside the wedge before and the one after."""
    for k in range(8):
        before, own, after = _around(k)
        if k % 2:
            middle = _sum(a_side, before, own, after)
        else:  # the middle of a side lies √½ beyond the inner corner
            middle = _sum(a_side, own, (own[1], own[0], own[3], own[2]))
        inner = _sum(a_side, own)
        name = "corner half" if k % 2 else "side half"
        for hand, wedge, corners in (
            ("right", (k - 1) % 8, (inner, _sum(a_side, before, own), middle)),
            ("left", k, (inner, middle, _sum(a_side, own, after))),
        ):
            yield PlacedPiece(
                f"{wedge + 1}.{hand}", name, _BACKGROUND, None, wedge + 1, f"wedge {wedge + 1}",
                _outline(corners, side), 0.0,
            )  # fmt: skip


def _around(k: int) -> tuple[_Point, _Point, _Point]:
    return _ALONG[(k - 1) % 8], _ALONG[k], _ALONG[(k + 1) % 8]


def _sum(times: int, *points: _Point) -> _Point:
    a, b, c, d = (times * sum(parts) for parts in zip((0, 0, 0, 0), *points, strict=True))
    return a, b, c, d


def _outline(corners: Sequence[_Point], side: float) -> Polygon:
    half = math.sqrt(0.5)
    return Polygon([(side * (a + b * half), side * (c + d * half)) for a, b, c, d in corners])
