"""What one plan of cuts leaves on the table: pieces, offcuts, and what is too small to be of use.

All outlines lie in the plan's frame, in inches. Pieces, spoilt pieces, offcuts and waste are parts
of the outline that together make it up and overlap nowhere.
"""

import math
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from scrapstore.errors import UsageError
from scrapstore.shapes import CutPiece, CuttingPlan, cut_parts
from scrapstore.units import Units, format_length

__all__ = ["SIDES", "AfterCutting", "Side", "Spoilt", "after_cutting", "is_useful", "pieces_of"]

Side = Literal[
    "right", "top right", "top", "top left", "left", "bottom left", "bottom", "bottom right"
]
SIDES: Final[dict[Side, float]] = {
    "right": 0, "top right": 45, "top": 90, "top left": 135,
    "left": 180, "bottom left": 225, "bottom": 270, "bottom right": 315,
}  # fmt: skip
"""Where an edge lies in the drawing, and the direction to it in degrees."""

_NOTHING: Final = 1e-9  # square inches: rounding, no cloth
_CLOSE: Final = 1e-6  # inches
_GRID: Final = 1e-9
"""Inches. In full precision GEOS finds that shapes share nothing which all but coincide."""
_AS_NEAR_DEG: Final = 1.0
"""Two edges whose directions differ by less from the one asked for are told apart by no word."""


@dataclass(frozen=True)
class Spoilt:
    """A piece that came out wrong: `short` by so many inches at the edge on this `side`.

    `side` is where that edge lies in the drawing. Where `short` is None nobody knows by how much.
    """

    short: float | None = None
    side: Side | None = None


@dataclass(frozen=True)
class AfterCutting:
    """What there is after the cuts.

    `spoilt` maps labels to what came out in their place. `waste` are parts too small to be of use,
    slivers of less than a ruler mark beside pieces among them.
    """

    pieces: tuple[CutPiece, ...]
    spoilt: Mapping[str, Polygon]
    not_cut: tuple[str, ...]
    offcuts: tuple[Polygon, ...]
    waste: tuple[Polygon, ...]

    @property
    def waste_area(self) -> float:
        """Square inches."""
        return math.fsum(part.area for part in self.waste)


def after_cutting(
    plan: CuttingPlan,
    *,
    smallest: float,
    spoilt: Mapping[str, Spoilt] | None = None,
    not_cut: Collection[str] = (),
    flaws: Iterable[Polygon] = (),
    units: Units = "in",
) -> AfterCutting:
    """Return what `plan` leaves when it is carried out but for the pieces in `not_cut`.

    Cuts that would only free such pieces are not made. A part of the cloth becomes an offcut where
    it is somewhere `smallest` inches wide beside its `flaws`. Raises PlanError for cuts that cannot
    be carried out, UsageError, which names lengths in `units`, for a spoilt piece that cannot be
    short by so much there.
    """
    spoilt = spoilt or {}
    made = [piece for piece in plan.pieces if piece.label not in not_cut]
    free: dict[int, BaseGeometry] = dict(_parts_left(plan, {one.part for one in made}))
    pieces: list[CutPiece] = []
    wrong: dict[str, Polygon] = {}
    for piece in made:
        # A piece may lie over the edge of its part by what cuts are rounded to.
        out = _largest(_shared(piece.outline, free[piece.part]))
        if piece.label in spoilt:
            out = _largest(_shared(_came_out(piece, spoilt[piece.label], units), out))
            wrong[piece.label] = out
        else:
            pieces.append(replace(piece, outline=out))
        free[piece.part] = shapely.difference(free[piece.part], out, grid_size=_GRID)
    rests = [rest for part in free.values() for rest in _polygons(part)]
    flawed = shapely.union_all(list(flaws))
    useful = [is_useful(rest.difference(flawed), smallest) for rest in rests]
    return AfterCutting(
        pieces=tuple(pieces),
        spoilt=wrong,
        not_cut=tuple(piece.label for piece in plan.pieces if piece.label in not_cut),
        offcuts=tuple(rest for rest, keep in zip(rests, useful, strict=True) if keep),
        waste=tuple(rest for rest, keep in zip(rests, useful, strict=True) if not keep),
    )


def is_useful(part: BaseGeometry, smallest: float) -> bool:
    """Return whether `part` is somewhere `smallest` inches wide: a circle of that width fits in."""
    return not part.buffer(-(smallest / 2 - _CLOSE), join_style="mitre").is_empty


def pieces_of(plans: Iterable[CuttingPlan], labels: Iterable[str]) -> dict[str, CutPiece]:
    """Return the pieces with these labels; UsageError names a label that no piece has."""
    known = {piece.label.casefold(): piece for plan in plans for piece in plan.pieces}
    found = {}
    for label in labels:
        piece = known.get(label.strip().casefold())
        if piece is None:
            shown = ", ".join(p.label for p in list(known.values())[:12])
            more = ", …" if len(known) > 12 else ""
            msg = f"no piece that is still to be cut is called {label!r}; there are {shown}{more}"
            raise UsageError(msg)
        found[piece.label] = piece
    return found


def _parts_left(plan: CuttingPlan, wanted: Collection[int]) -> dict[int, Polygon]:
    """Return the parts there are once every part in `wanted` is free, by number."""
    parts = cut_parts(plan)
    holds = set(wanted)
    cuts = []
    # From the last cut back: a cut is made where something wanted comes of it.
    for cut in reversed(plan.cuts):
        if holds & set(cut.gives):
            holds.add(cut.part)
            cuts.append(cut)
    given = {0} | {number for cut in cuts for number in cut.gives}
    return {number: parts[number] for number in sorted(given - {cut.part for cut in cuts})}


def _came_out(piece: CutPiece, spoilt: Spoilt, units: Units) -> Polygon:
    """Return the outline that a spoilt piece has: its own, without what is short at one edge."""
    if spoilt.short is None:
        return piece.outline
    corners = np.asarray(piece.outline.exterior.coords)[:, :2]
    edge = _edge_on(piece, corners, spoilt.side)
    start, end = corners[edge], corners[edge + 1]
    inward = np.array([start[1] - end[1], end[0] - start[0]]) / math.dist(start, end)
    inward *= 1 if piece.outline.exterior.is_ccw else -1
    depth = ((corners - start) @ inward).max()
    if spoilt.short >= depth - _CLOSE:
        msg = (
            f"{piece.label}: nothing of it is left when {format_length(spoilt.short, units)} is "
            f"missing there; it is {format_length(depth, units)} deep. For a piece that was not "
            "cut say so instead"
        )
        raise UsageError(msg)
    far = 4 * (depth + math.dist(start, end))
    along = (end - start) / math.dist(start, end)
    low = start + inward * spoilt.short
    ring = [low - along * far, low + along * far, low + (along + inward) * far]
    kept = piece.outline.intersection(Polygon([*ring, low + (inward - along) * far]))
    return _largest(kept)


def _edge_on(piece: CutPiece, corners: NDArray[np.float64], side: Side | None) -> int:
    """Return the edge that looks most to `side`: its index among those of the ring."""
    step = np.diff(corners, axis=0)
    outward = np.degrees(np.arctan2(step[:, 1], step[:, 0])) - 90
    if not piece.outline.exterior.is_ccw:
        outward += 180
    if side is None:
        msg = f"{piece.label}: say at which edge, as it lies in the drawing, such as 'right'"
        raise UsageError(msg)
    off = np.abs((outward - SIDES[side] + 180) % 360 - 180)
    order = np.argsort(off)
    if off[order[1]] - off[order[0]] < _AS_NEAR_DEG:
        near = {_nearest_side(float(outward[at])) for at in order[:2]}
        msg = (
            f"{piece.label}: two edges lie towards the {side} in the drawing; say "
            f"{' or '.join(sorted(repr(one) for one in near))}"
        )
        raise UsageError(msg)
    return int(order[0])


def _nearest_side(direction_deg: float) -> Side:
    return min(SIDES, key=lambda side: abs((direction_deg - SIDES[side] + 180) % 360 - 180))


def _shared(one: BaseGeometry, other: BaseGeometry) -> BaseGeometry:
    return shapely.intersection(one, other, grid_size=_GRID)


def _largest(shape: BaseGeometry) -> Polygon:
    return max(_polygons(shape), key=lambda one: one.area)


def _polygons(shape: BaseGeometry) -> list[Polygon]:
    return [
        one
        for one in shapely.get_parts(shape).tolist()
        if isinstance(one, Polygon) and one.area > _NOTHING
    ]
