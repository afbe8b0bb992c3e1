"""Pieced units by cutting squares: several triangles from one, sewn before they are cut apart.

A square that is cut for units `makes` finished pieces of a line of the design. With a seam s each
finished size here grows by s / sin of half the angle at its corners, so half-square triangles two
at a time take finished + (2 + √2) s, 0.8536 for 1/4 in; in print 7/8. Sizes in print:
karencombs.com, "Formulas for Quilters" (2002), and grannymaudsgirl.wordpress.com 2018/06/11; the
rest is common practice and exact geometry.
"""

import math
from collections.abc import Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from shapely import MultiPolygon, Polygon, orient_polygons

from scrapstore.designs.forms import Design, DesignPiece, PlacedPiece, design_piece
from scrapstore.errors import UsageError
from scrapstore.units import round_up_to_mark

__all__ = [
    "METHODS",
    "Makes",
    "UnitMethod",
    "least_square",
    "square_parts",
    "squares_for",
    "squares_needed",
]

_LEG: Final = 2 + math.sqrt(2)
_BASE: Final = 2 + 2 * math.sqrt(2)
_HALF, _QUARTER = "half-square-triangle", "quarter-square-triangle"
_SMALL: Final = 1e-6


@dataclass(frozen=True, slots=True)
class Makes:
    """What a cut square is cut and sewn into: `each` finished pieces of the line `piece`.

    `parts` are their outlines where they lie in the square, in the frame of its finished outline.
    """

    piece: str
    each: int
    parts: tuple[Polygon, ...] = ()


@dataclass(frozen=True, slots=True)
class UnitMethod:
    """A way to make units from squares.

    `each` says for a triangle's kind how many a square gives, `over` what is cut beyond the least
    to be trimmed, in seams. `how` is said with the cut sizes in place of the words in braces.
    """

    name: str
    about: str
    each: Mapping[str, int]
    over: bool
    how: str


METHODS: Final[Mapping[str, UnitMethod]] = MappingProxyType(
    {
        method.name: method
        for method in (
            UnitMethod(
                "pairs", "half-square triangles two at a time", {_HALF: 2}, True,
                "Two at a time: lay a square of each cloth right sides together, draw a diagonal, "
                "sew a seam's width on either side of it, cut along it, press, and trim each unit "
                "to {trim}. Units come in twos of the same two cloths.",
            ),
            UnitMethod(
                "eights", "half-square triangles eight at a time", {_HALF: 8}, False,
                "Eight at a time: lay a square of each cloth right sides together, draw both "
                "diagonals, sew a seam's width on either side of each, cut along the diagonals and "
                "through the middle both ways, press, and trim each unit to {trim}. Units come in "
                "eights of the same two cloths.",
            ),
            UnitMethod(
                "fours", "flying geese four at a time", {_QUARTER: 4, _HALF: 2}, False,
                "Four at a time: lay two small squares on opposite corners of a large one, right "
                "sides together, draw the diagonal through both, sew a seam's width on either side "
                "of it, cut along it, press; lay a small square on the corner of each half, and do "
                "the same from that corner. Trim each unit to {trim} by {trim_wide}.",
            ),
        )
    }
)  # fmt: skip
"""The ways by name; without one, triangles are cut singly."""


def least_square(kind: str, each: int, finished: float, seam: float) -> float:
    """Return the cut side of the least square that gives `each` triangles of this size.

    `finished` is the short side of a half-square triangle, the long side of a quarter-square one.
    """
    if kind == _QUARTER:
        return finished + _BASE * seam
    return (2 if each == 8 else 1) * (finished + _LEG * seam)


def squares_for(
    design: Design, method: str, *, seam: float, mark: float, square: float | None = None
) -> tuple[tuple[tuple[DesignPiece, Makes | None], ...], str]:
    """Return the lines of the piece list where units are made by `method`, and how it is done.

    Squares are cut to the next mark; two at a time they are over-size, finished + 4 seams. `square`
    is their cut side, where another is wanted. Raises UsageError for a method that is not known or
    does not go with the design, and for squares that are too small.
    """
    way = METHODS.get(method)
    if way is None:
        known = ", ".join(METHODS)
        raise UsageError(f"--method: {method!r} is not known; choose single, {known}")
    if not _made_of_units(design, way.each.keys()):
        raise UsageError(f"--method: {design.name} has no {way.about}; leave it out")
    if square is not None and len(way.each) > 1:
        raise UsageError(f"--square: {way.about} take squares of two sizes, which are worked out")
    lines: list[tuple[DesignPiece, Makes | None]] = []
    for line in design.lines:
        kind = line.shape.kind
        if kind not in way.each:
            lines.append((line, None))
            continue
        each = way.each[kind]
        (finished,) = line.sizes.values()
        least = least_square(kind, each, finished, seam)
        cut = square
        if cut is None:
            cut = round_up_to_mark(finished + 4 * seam if way.over else least, mark)
        if cut < least - _SMALL:
            msg = f"--square: {cut:g} in is too small; {way.about} that finish at {finished:g} in"
            raise UsageError(f"{msg} take {least:.4f} in at the least")
        side = cut - 2 * seam
        name = f"{line.name.removesuffix(' triangle')} square"
        count = squares_needed(
            design, {p.position: p.piece for p in design.pieces}, line.name, each
        )
        piece = design_piece(name, count, line.role, "square", side=side)
        lines.append((piece, Makes(line.name, each)))
    return tuple(lines), way.how


def _made_of_units(design: Design, kinds: AbstractSet[str]) -> bool:
    """Return whether all triangles of a design lie in units: rectangles of just these `kinds`."""
    kind_of = {line.name: line.shape.kind for line in design.lines}
    units: dict[str, list[PlacedPiece]] = {}
    for piece in design.pieces:
        if kind_of[piece.piece] in (_HALF, _QUARTER):
            units.setdefault(piece.unit, []).append(piece)
    return bool(units) and all(
        {kind_of[piece.piece] for piece in own} == kinds and _is_rectangle(own)
        for own in units.values()
    )


def _is_rectangle(pieces: Sequence[PlacedPiece]) -> bool:
    outlines = [piece.outline for piece in pieces]
    area = math.fsum(one.area for one in outlines)
    return MultiPolygon(outlines).minimum_rotated_rectangle.area < area * (1 + _SMALL)


def squares_needed(design: Design, lines: Mapping[str, str], line: str, each: int) -> int:
    """Return how many squares of `line` its positions take, `each` triangles from one.

    `lines` has the line of every position. Squares of two cloths are sewn together, so triangles of
    one cloth that meet different ones in their units do not share squares.
    """
    units: dict[str, list[str]] = {}
    for piece in design.pieces:
        units.setdefault(piece.unit, []).append(lines[piece.position])
    partners: dict[tuple[str, ...], int] = {}
    for own in units.values():
        if line in own:
            others = tuple(sorted(name for name in own if name != line))
            partners[others] = partners.get(others, 0) + own.count(line)
    return sum(math.ceil(count / each) for count in partners.values())


def square_parts(
    kind: str, each: int, finished: float, side: float, seam: float
) -> tuple[Polygon, ...]:
    """Return where the finished triangles lie in a square whose finished side is `side`.

    Its lower left corner is the origin; `seam` is cut beyond it.
    """
    if kind == _QUARTER:
        reach = finished / 2
        lower = [(side / 2 - reach, 0.0), (side / 2 + reach, 0.0), (side / 2, reach)]
        outlines = []
        for _ in range(4):
            outlines.append(lower)
            lower = [(side - y, x) for x, y in lower]
        return tuple(map(Polygon, outlines))
    corner = [(0.0, 0.0), (finished, 0.0), (0.0, finished)]
    if each == 2:
        return Polygon(corner), Polygon([(side - x, side - y) for x, y in corner])
    # Diagonals and middle lines part it: two triangles in each quarter, their right angles at the
    # ends of the middle lines, a seam away from both cuts.
    inner = side / 2 - seam
    lower_left = [[(inner - x, y) for x, y in corner], [(x, inner - y) for x, y in corner]]
    mirrored = [
        Polygon([(side - x if right else x, side - y if up else y) for x, y in part])
        for part in lower_left for right in (False, True) for up in (False, True)
    ]  # fmt: skip
    return tuple(orient_polygons(part) for part in mirrored)
