"""Diamonds pieced of smaller parts: units that stand for plain ones of the same finished size."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from shapely import Polygon

from scrapstore.designs.forms import Design, DesignPiece, PlacedPiece, design_piece
from scrapstore.designs.sizes import SMALLEST_PIECE
from scrapstore.errors import UsageError
from scrapstore.shapes import corners_of

__all__ = ["WAYS", "with_pieced_diamonds"]

WAYS: Final = ("halves", "fours")
"""Two triangles along the shorter diagonal, of 60° diamonds alone; or four small diamonds."""


def with_pieced_diamonds(design: Design, way: str, only: int | None) -> Design:
    """Return `design` with its diamonds pieced, those of round `only` or all.

    Each keeps its ring, wedge and position, to which is added where in it a part lies: inner or
    outer, and of fours left or right as seen from the middle of the top. Tips and sides are roles
    of their own, or the two halves. Raises UsageError for a round that is not there and parts too
    small to sew.
    """
    rounds = {piece.ring for piece in design.pieces if piece.ring is not None}
    if only is not None and only not in rounds:
        msg = f"--pieced-round: there is no round {only}; give from 1 to {len(rounds)}"
        raise UsageError(msg)
    chosen = rounds if only is None else {only}
    if way == "fours" and design.piece_size / 2 < SMALLEST_PIECE:
        msg = f"--pieced fours: diamonds {design.piece_size / 2:.2f} in high are too small to sew"
        raise UsageError(f"{msg}; take larger pieces")
    pieces: list[PlacedPiece] = []
    for piece in design.pieces:
        pieces += _parts(piece, way) if piece.ring in chosen else [piece]
    whole = {piece.piece: piece.role for piece in design.pieces if piece.ring in chosen}
    counts = Counter(piece.piece for piece in pieces)
    lines: list[DesignPiece] = []
    for line in design.lines:
        lines += _lines(line, way, counts) if line.name in whole else [line]
    return replace(design, lines=tuple(lines), pieces=tuple(pieces))


def _parts(piece: PlacedPiece, way: str) -> Iterator[PlacedPiece]:
    inner, right, outer, left = corners_of(piece.outline)
    if way == "halves":
        halves = {"inner": [inner, right, left], "outer": [right, outer, left]}
        for name, corners in halves.items():
            yield _part(piece, name, f"{piece.role} {name} half", f"{piece.role} {name}", corners)
        return
    middle = _between(inner, outer)
    sides = [
        _between(a, b) for a, b in ((inner, right), (right, outer), (outer, left), (left, inner))
    ]
    quarters = {
        "inner": [inner, sides[0], middle, sides[3]],
        "right": [sides[0], right, sides[1], middle],
        "outer": [middle, sides[1], outer, sides[2]],
        "left": [sides[3], middle, sides[2], left],
    }
    for name, corners in quarters.items():
        role = f"{piece.role} {'tips' if name in ('inner', 'outer') else 'sides'}"
        yield _part(piece, name, f"{role} diamond", role, corners)


def _part(
    piece: PlacedPiece, where: str, name: str, role: str, corners: list[tuple[float, float]]
) -> PlacedPiece:
    return replace(
        piece, position=f"{piece.position}.{where}", piece=name, role=role,
        unit=f"diamond {piece.position}", outline=Polygon(corners),
    )  # fmt: skip


def _between(a: tuple[float, float], b: tuple[float, float]) -> tuple[float, float]:
    return (a[0] + b[0]) / 2, (a[1] + b[1]) / 2


def _lines(line: DesignPiece, way: str, counts: Counter[str]) -> Iterator[DesignPiece]:
    height = line.shape.measures["height"]
    for where in ("inner", "outer") if way == "halves" else ("tips", "sides"):
        role = f"{line.role} {where}"
        if way == "halves":
            name = f"{role} half"
            yield design_piece(name, counts[name], role, "equilateral-triangle", height=height)
        else:
            name = f"{role} diamond"
            yield design_piece(name, counts[name], role, line.shape.kind, height=height / 2)
