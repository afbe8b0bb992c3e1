"""The cuts of one scrap, from its layout."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import chain, islice

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon, affinity

from scrapstore.packing.cutting.cut_lines import CutLine, is_tip
from scrapstore.packing.cutting.guillotine_cuts import CutNode, guillotine_cuts
from scrapstore.packing.cutting.guillotine_packing import guillotine_layouts
from scrapstore.packing.cutting.lp_adjustment import adjusted_layouts
from scrapstore.packing.cutting.protected_pieces import ProtectedPiece
from scrapstore.packing.cutting.row_layout import row_layouts
from scrapstore.packing.pieces import PieceKind, Placement
from scrapstore.shapes import Cut

__all__ = ["PlannedCuts", "plan_cuts"]

_OVERSHOOT = 1 / 4  # inches by which the line of a cut is longer than the cloth at each end
_ROW_WORK = 8  # rows tried for each direction
_FEW_PIECES = 8  # up to so many pieces, two layouts in rows are cut to see which is easier
_ROW_LAYOUTS = 2
_CUT_TREES = 24  # orders of cuts for which pieces are moved a little
_ADJUSTED_LAYOUTS = 4  # layouts of pieces that were moved a little
_GUILLOTINE_WORK = 20  # parts of the cloth that are examined when pieces are packed cut by cut
_ON_SIDE = 1e-6  # inches
_PARALLEL = 1 - 1e-9  # cosine
_REMAINDER_BONUS = 4.0  # cuts that a remainder as large as the whole cloth is worth
_DECIMALS, _MAX_ROUNDING = 6, 3.5e-7  # decimals of an inch, inches: below what the verifier allows

_Ends = dict[int, tuple[int, ProtectedPiece, bool]]
"""For each piece: the part that it ends in, itself, and whether it is cut by template there."""


@dataclass(frozen=True)
class PlannedCuts:
    """The cuts, in order, and what they free.

    `placements` are in the order in which they came, moved or packed again; `parts` is the part in
    which each ends and `template` whether it is cut by template there.
    """

    cuts: tuple[Cut, ...]
    placements: tuple[Placement, ...]
    parts: tuple[int, ...]
    template: tuple[bool, ...]


def plan_cuts(
    outline: Polygon,
    region: Polygon | MultiPolygon,
    kinds: Sequence[PieceKind],
    placements: Sequence[Placement],
    step: float,
    *,
    quick: bool = False,
) -> PlannedCuts:
    """Return how the placed pieces are cut from `outline`, packed again where that is easier.

    All are in one frame, inches; pieces stay inside `region`. `step` is the distance between the
    marks of the ruler. The result has as many pieces of each kind, in the same order. With `quick`,
    a fraction of the work, no piece is packed anew and one way to cut them is tried, so that more
    of them may be cut by template.
    """
    if quick:
        as_placed = [_without_play(placement) for placement in placements]
        return _cut(outline, region, as_placed, step, rest_first=False)[1]
    counts = Counter(p.kind for p in placements)
    own = [kind for kind in kinds if counts[kind.name]]
    many = [counts[kind.name] for kind in own]
    rows = row_layouts(outline, region, own, many, step, _ROW_WORK)[:_ROW_LAYOUTS]
    least = len(rows) if len(placements) <= _FEW_PIECES else min(1, len(rows))
    ranked: list[tuple[tuple[float, float], PlannedCuts]] = []
    for layout in chain(rows, _adjusted(region, own, many, placements, step)):
        ranked.append(_easiest(outline, region, _in_order_of(placements, layout), step))
        if len(ranked) >= least and not all(rank[0] for rank, _ in ranked):
            break
    return min(ranked, key=lambda one: one[0])[1]


def _easiest(
    outline: Polygon,
    region: Polygon | MultiPolygon,
    placements: Sequence[Placement],
    step: float,
) -> tuple[tuple[float, float], PlannedCuts]:
    """Return the easiest way to cut a layout, after its rank: pieces by template, then effort.

    One way divides the pieces first, the other first cuts off the cloth beside them: for one piece
    they are the same.
    """
    ways = []
    for rest_first in (False, True)[: len(placements)]:
        tree, planned = _cut(outline, region, placements, step, rest_first=rest_first)
        effort = tree.cuts - _REMAINDER_BONUS * _largest_remainder(tree) / outline.area
        ways.append(((float(tree.by_template), effort), planned))
    return min(ways, key=lambda way: way[0])


def _adjusted(
    region: Polygon | MultiPolygon,
    kinds: Sequence[PieceKind],
    counts: Sequence[int],
    placements: Sequence[Placement],
    step: float,
) -> Iterator[Sequence[Placement]]:
    """Yield layouts for pieces that fit into no rows: as they lie, moved a little, packed again."""
    yield [_without_play(placement) for placement in placements]
    yield from islice(adjusted_layouts(region, placements, step, _CUT_TREES), _ADJUSTED_LAYOUTS)
    yield from guillotine_layouts(region, kinds, counts, step, _GUILLOTINE_WORK)


def _in_order_of(placements: Sequence[Placement], layout: Sequence[Placement]) -> list[Placement]:
    """Return a layout of as many pieces of each kind, in the order of kinds of `placements`."""
    of_kind: dict[str, list[Placement]] = {}
    for placement in reversed(layout):
        of_kind.setdefault(placement.kind, []).append(placement)
    return [of_kind[placement.kind].pop() for placement in placements]


def _without_play(placement: Placement) -> Placement:
    """Return a placement on round coordinates where only the packer's tolerance keeps it off."""
    at = np.array(placement.outline.bounds[:2])
    shift = at.round(_DECIMALS) - at
    shift[np.abs(shift) > _MAX_ROUNDING] = 0.0
    return replace(placement, outline=affinity.translate(placement.outline, *shift))


def _largest_remainder(tree: CutNode) -> float:
    if tree.line is None:
        return 0.0 if tree.pieces else tree.part.outline.area
    return max(_largest_remainder(child) for child in tree.children)


def _cut(
    outline: Polygon,
    region: Polygon | MultiPolygon,
    placements: Sequence[Placement],
    step: float,
    *,
    rest_first: bool,
) -> tuple[CutNode, PlannedCuts]:
    pieces = [
        ProtectedPiece(number, shapely.get_coordinates(shapely.orient_polygons(hull))[:-1])
        for number, hull in enumerate(p.outline.convex_hull for p in placements)
    ]
    tree = guillotine_cuts(outline, region, pieces, step, rest_first=rest_first)
    cuts, ends = _ordered_cuts(tree, step)
    moved, parts, template = [], [], []
    for placement, piece in zip(placements, pieces, strict=True):
        part, end, by_template = ends[piece.number]
        shift = end.corners[0] - piece.corners[0]
        moved.append(replace(placement, outline=affinity.translate(placement.outline, *shift)))
        parts.append(part)
        template.append(by_template or not _is_convex(placement.outline))
    return tree, PlannedCuts(cuts, tuple(moved), tuple(parts), tuple(template))


def _ordered_cuts(tree: CutNode, step: float) -> tuple[tuple[Cut, ...], _Ends]:
    """Return the cuts in the order in which they are made, and where each piece ends.

    After each cut the part with most cuts left comes next, so that strips come before sub-cuts.
    Tips of pieces are trimmed last of all, those alike one after another.
    """
    cuts: list[Cut] = []
    ends: _Ends = {}
    made: dict[int, int] = {}
    parts = 1
    waiting, last = [(0, tree)], list[tuple[int, CutNode]]()
    while waiting or last:
        if not waiting:
            waiting, last = sorted(last, key=lambda o: _ruler_positions(o[1]), reverse=True), []
        number, node = waiting.pop()
        if node.line is None:
            ends |= {p.number: (number, p, node.by_template > 0) for p in node.pieces}
            continue
        made[node.key] = len(cuts)
        gives = tuple(range(parts, parts + len(node.children)))
        parts += len(gives)
        cuts.append(_as_cut(number, node, node.line, gives, made, step))
        children = zip(gives, node.children, strict=True)
        for child in sorted(children, key=lambda c: (c[1].cuts, -c[0])):
            if child[1].pieces:
                trimmed = _trims_tips(child[1]) and not _trims_tips(node)
                (last if trimmed else waiting).append(child)
    return tuple(cuts), ends


def _ruler_positions(node: CutNode) -> list[tuple[float, ...]]:
    """Return how the ruler lies for each cut of a part with one piece, then the piece's number.

    Pieces that are cut alike differ in nothing but the number.
    """
    line = node.line
    if line is None:
        return [tuple(float(piece.number) for piece in node.pieces)]
    found = [*line.normal.round(4).tolist(), -1.0 if line.distance is None else line.distance]
    if line.reference is not None:
        own = line.reference.normal
        side = float(node.pieces[0].corners.mean(axis=0) @ own) > line.reference.offset
        level = abs(float(own @ line.normal)) > _PARALLEL
        away = abs(line.offset - line.reference.offset) if level else 0.0
        found += [*own.round(4).tolist(), float(side), round(away, 4)]
    after = [child for child in node.children if child.pieces]
    return [tuple(found), *(_ruler_positions(after[0]) if after else [])]


def _trims_tips(node: CutNode) -> bool:
    """Tell whether cuts are left for a part that holds one piece, and all of them trim its tips."""
    if node.line is None or len(node.pieces) != 1:
        return False
    ring = node.pieces[0].corners
    off = ring @ node.line.normal - node.line.offset
    near = off.min() if abs(off.min()) < abs(off.max()) else off.max()
    rest = [child for child in node.children if child.line is not None]
    return is_tip(ring, np.abs(off - near) < _ON_SIDE) and all(_trims_tips(child) for child in rest)


def _as_cut(
    part: int,
    node: CutNode,
    line: CutLine,
    gives: tuple[int, ...],
    made: dict[int, int],
    step: float,
) -> Cut:
    """Return the cut of part number `part`; `made` maps the keys of nodes to numbers of cuts."""
    along = np.array([line.normal[1], -line.normal[0]])
    foot = line.normal * line.offset
    reach = node.part.corners @ along
    ends = np.array([foot + along * (reach.min() - 1), foot + along * (reach.max() + 1)])
    section = shapely.intersection(node.part.outline, shapely.linestrings(ends))
    on = shapely.get_coordinates(section) @ along
    start, end = (foot + along * at for at in (on.min() - _OVERSHOOT, on.max() + _OVERSHOOT))
    reference, distance, angle = None, None, None
    if line.reference is not None:
        key = line.reference.key
        reference = key if key == "edge" else made[key]
        cosine = abs(float(line.normal @ line.reference.normal))
        angle = round(float(np.degrees(np.arccos(min(1.0, cosine)))), 6)
        parallel = angle < 1e-3
        marks = abs(line.offset - line.reference.offset) / step
        distance = round(marks) * step if parallel else 0.0
        angle = 0.0 if parallel else angle
    return Cut(
        part=part,
        line=((float(start[0]), float(start[1])), (float(end[0]), float(end[1]))),
        gives=gives,
        ruler_from=reference,
        distance=distance,
        angle_deg=angle,
        corners=line.corners,
        point=line.point,
        point_distance=None if line.distance is None else round(line.distance / step) * step,
    )


def _is_convex(outline: Polygon) -> bool:
    return bool(outline.convex_hull.area - outline.area < 1e-6)
