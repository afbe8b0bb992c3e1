"""The cuts of one scrap, from its layout."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon

from scrapstore.packing.cutting.carve import Carved, carve
from scrapstore.packing.cutting.guards import Guard
from scrapstore.packing.cutting.lines import Line, is_tip
from scrapstore.packing.cutting.peel import peeled
from scrapstore.packing.cutting.relay import relaid
from scrapstore.packing.cutting.shake import shaken
from scrapstore.packing.pieces import PieceKind, Placement, signed_area
from scrapstore.shapes import Cut

__all__ = ["Planned", "plan_cuts"]

_OVERSHOOT = 1 / 4  # inches
_WORK = 8
_SHAKEN = 24  # orders of cuts for which pieces are moved a little
_FEW = 8  # pieces: of so many, two layouts are cut to see which is easier
_ENOUGH = 2  # layouts to choose from
_PEELED = 20  # parts of the cloth that are looked at when pieces are laid anew cut by cut
_MOST = 4  # layouts of pieces that were moved a little
_ON_SIDE = 1e-6  # inches
_PARALLEL = 1 - 1e-9  # cosine
_REST = 4.0  # cuts that a rest of the whole cloth is worth
_COARSE, _PLAY = 6, 3.5e-7  # decimals of an inch, inches: below what the verifier allows


@dataclass(frozen=True)
class Planned:
    """The cuts, in order, and what they free.

    `placements` as they came but moved, the part in which each ends, and which are cut by
    `template`.
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
) -> Planned:
    """Return how the placed pieces are cut from `outline`, laid anew where that is easier.

    All lie in one frame, inches; `step` is the distance between the marks of the ruler. The result
    has as many pieces of each kind, in the same order.
    """
    best: tuple[tuple[float, float], Planned] | None = None
    counts = Counter(p.kind for p in placements)
    own = [kind for kind in kinds if counts[kind.name]]
    many = [counts[kind.name] for kind in own]
    rows = relaid(outline, region, own, many, step, _WORK)[:_ENOUGH]
    for layouts in (rows, _moved(region, own, many, placements, step)):
        for looked, layout in enumerate(layouts, 1):
            found = _easier(outline, region, _as_came(layout, placements), step)
            best = found if best is None else min(best, found, key=lambda one: one[0])
            if not best[0][0] and (looked > 1 or len(placements) > _FEW or layouts is not rows):
                break
        if best is not None and not best[0][0]:
            break
    assert best is not None
    return best[1]


def _easier(
    outline: Polygon,
    region: Polygon | MultiPolygon,
    placements: Sequence[Placement],
    step: float,
) -> tuple[tuple[float, float], Planned]:
    """Return the easier way to cut a layout, after its rank: pieces by template, then toil.

    One way parts the pieces first, the other first cuts off what lies beside them.
    """
    ways = []
    for rest_first in (False, True):
        tree, planned = _carved(outline, region, placements, step, rest_first=rest_first)
        toil = tree.cuts - _REST * _largest_rest(tree) / outline.area
        ways.append(((float(tree.locked), toil), planned))
    return min(ways, key=lambda way: way[0])


def _moved(
    region: Polygon | MultiPolygon,
    kinds: Sequence[PieceKind],
    counts: Sequence[int],
    placements: Sequence[Placement],
    step: float,
) -> Iterator[Sequence[Placement]]:
    """Give layouts of pieces that fit into no rows: as they lie, moved a little, laid anew."""
    yield [_settled(placement) for placement in placements]
    yield from islice(shaken(region, placements, step, _SHAKEN), _MOST)
    yield from peeled(region, kinds, counts, step, _PEELED)


def _as_came(layout: Sequence[Placement], placements: Sequence[Placement]) -> list[Placement]:
    """Return a layout of as many of each kind, in the order in which the kinds came."""
    of_kind: dict[str, list[Placement]] = {}
    for placement in reversed(layout):
        of_kind.setdefault(placement.kind, []).append(placement)
    return [of_kind[placement.kind].pop() for placement in placements]


def _settled(placement: Placement) -> Placement:
    """Return a placement without the play with which the packer lets an exact fit have a place."""
    x, y, _, _ = placement.outline.bounds
    shift = np.array([round(at, _COARSE) - at for at in (x, y)])
    shift[np.abs(shift) > _PLAY] = 0.0
    return replace(placement, outline=shapely.transform(placement.outline, lambda at: at + shift))


def _largest_rest(tree: Carved) -> float:
    if tree.line is None:
        return 0.0 if tree.guards else tree.part.outline.area
    return max(_largest_rest(child) for child in tree.gives)


def _carved(
    outline: Polygon,
    region: Polygon | MultiPolygon,
    placements: Sequence[Placement],
    step: float,
    *,
    rest_first: bool,
) -> tuple[Carved, Planned]:
    rings = [shapely.get_coordinates(p.outline.exterior)[:-1] for p in placements]
    guards = [
        Guard(number, shapely.get_coordinates(p.outline.convex_hull)[:-1])
        for number, p in enumerate(placements)
    ]
    guards = [
        Guard(g.number, g.corners if signed_area(g.corners) > 0 else g.corners[::-1])
        for g in guards
    ]
    tree = carve(outline, region, guards, step, rest_first=rest_first)
    cuts, ends = _in_order(tree, step)
    moved, parts, template = [], [], []
    for number, placement in enumerate(placements):
        part, guard, locked = ends[number]
        shift = guard.corners[0] - guards[number].corners[0]
        new = Polygon(rings[number] + shift) if shift.any() else placement.outline
        moved.append(Placement(placement.kind, new, placement.rotation_deg, placement.mirrored))
        parts.append(part)
        template.append(locked or not _is_convex(placement.outline))
    return tree, Planned(cuts, tuple(moved), tuple(parts), tuple(template))


def _in_order(
    tree: Carved, step: float
) -> tuple[tuple[Cut, ...], dict[int, tuple[int, Guard, bool]]]:
    """Return the cuts, and for each guard its part, itself and whether it is locked there.

    After each cut the part that holds most goes on, so that strips come before sub-cuts. Tips of
    pieces are trimmed last of all, those alike one after another.
    """
    cuts: list[Cut] = []
    ends: dict[int, tuple[int, Guard, bool]] = {}
    made: dict[int, int] = {}
    parts = 1
    waiting, last = [(0, tree)], list[tuple[int, Carved]]()
    while waiting or last:
        if not waiting:
            waiting, last = sorted(last, key=lambda trim: _ways(trim[1]), reverse=True), []
        number, carved = waiting.pop()
        if carved.line is None:
            for guard in carved.guards:
                ends[guard.number] = number, guard, carved.locked > 0
            continue
        made[carved.key] = len(cuts)
        gives = tuple(range(parts, parts + len(carved.gives)))
        parts += len(gives)
        cuts.append(_cut(number, carved, carved.line, gives, made, step))
        children = sorted(zip(gives, carved.gives, strict=True), key=lambda c: (c[1].cuts, -c[0]))
        for child in children:
            if child[1].guards:
                trimmed = _is_trim(child[1]) and not _is_trim(carved)
                (last if trimmed else waiting).append(child)
    return tuple(cuts), ends


def _ways(carved: Carved) -> list[tuple[float, ...]]:
    """Return how the ruler lies for each cut of a part with one piece, then the piece's number.

    Pieces that are cut alike differ in nothing but the number.
    """
    line = carved.line
    if line is None:
        return [tuple(float(guard.number) for guard in carved.guards)]
    found = [*line.normal.round(4).tolist(), -1.0 if line.distance is None else line.distance]
    if line.reference is not None:
        own = np.array(line.reference.normal)
        side = float(carved.guards[0].corners.mean(axis=0) @ own) > line.reference.offset
        level = abs(float(own @ line.normal)) > _PARALLEL
        away = abs(line.offset - line.reference.offset) if level else 0.0
        found += [*own.round(4).tolist(), float(side), round(away, 4)]
    after = next((child for child in carved.gives if child.guards), None)
    return [tuple(found), *(_ways(after) if after else [])]


def _is_trim(carved: Carved) -> bool:
    """Tell whether cuts are left for a part that holds one piece, and all of them trim its tips."""
    if carved.line is None or len(carved.guards) != 1:
        return False
    ring = carved.guards[0].corners
    off = ring @ carved.line.normal - carved.line.offset
    near = off.min() if abs(off.min()) < abs(off.max()) else off.max()
    rest = [child for child in carved.gives if child.line is not None]
    return is_tip(ring, np.abs(off - near) < _ON_SIDE) and all(_is_trim(child) for child in rest)


def _cut(
    part: int,
    carved: Carved,
    line: Line,
    gives: tuple[int, ...],
    made: dict[int, int],
    step: float,
) -> Cut:
    along = np.array([line.normal[1], -line.normal[0]])
    foot = line.normal * line.offset
    reach = carved.part.corners @ along
    ends = np.array([foot + along * (reach.min() - 1), foot + along * (reach.max() + 1)])
    section = shapely.intersection(carved.part.outline, shapely.linestrings(ends))
    on = shapely.get_coordinates(section) @ along
    start, end = (foot + along * at for at in (on.min() - _OVERSHOOT, on.max() + _OVERSHOOT))
    reference, distance, angle = None, None, None
    if line.reference is not None:
        key = line.reference.key
        reference = key if key == "edge" else made[key]
        cosine = abs(float(line.normal @ np.array(line.reference.normal)))
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
