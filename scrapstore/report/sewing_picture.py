"""Pictures of a sewing order: what is sewn to what, and where on the top that happens."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

import numpy as np
import numpy.typing as npt
import shapely
from shapely import LineString, Point, Polygon, affinity
from shapely.geometry.base import BaseGeometry

from scrapstore.designs.sewing import Batch, Join, JoinedPart
from scrapstore.planning.sewing import SewingPlan
from scrapstore.report.design_picture import role_tints
from scrapstore.report.forms import Rgb
from scrapstore.report.painting import Area, Drawing, Matrix, Part, TextLine
from scrapstore.report.plan_picture import Top
from scrapstore.report.top_picture import Patch, label_marks, top_drawing

__all__ = ["places_drawing", "plain_cloth", "step_drawing"]

_ROOM: Final = (250.0, 190.0)
"""Points; the largest that both parts of a join are drawn."""
_MARGIN: Final = 12.0
_GAP: Final = 34.0
"""Points between the two parts."""
_PLACES: Final = 190.0
"""Points; the longer side of the top that shows where the joins of a batch lie."""
_SHARPEST: Final = 60.0
"""Points to the inch; a small piece is not drawn larger."""
_MOST_LABELS: Final = 60
_NUMBER, _SMALLEST, _ARROW_ROOM = 10.0, 4.5, 2.0
"""Points: the number of a join, the least that can be read, and what arrow and seam take."""
_INK: Final[Rgb] = (26, 26, 26)
_PIN: Final[Rgb] = (168, 40, 40)
_MADE: Final[Rgb] = (226, 224, 214)
_WHITE: Final[Rgb] = (255, 255, 255)


def plain_cloth(sewing: SewingPlan) -> Top:
    """Return the pieces in a plain tint for each role."""
    tints = role_tints(sewing.design)
    return Top(
        tuple(
            Patch(piece.position, piece.outline, tints[piece.role], piece.role)
            for piece in sewing.design.pieces
        ),
        {},
    )


def step_drawing(sewing: SewingPlan, batch: Batch, cloth: Top) -> Drawing:
    """Return the parts of the first join of a batch beside one another, as they are laid to sew.

    The seam is upright between them and starts at the bottom. Dots are pins, rings the points where
    a seam that is set in turns, and an arrow points to the part that the allowances are pressed to.
    """
    join = sewing.order.join(batch.joins[0])
    turn = _upright(join)
    sides = [_pieces(sewing, part) for part in (join.first, join.second)]
    outlines = [_turned(cloth.patches[piece].outline, turn) for side in sides for piece in side]
    west, south, east, north = shapely.total_bounds(outlines).tolist()
    wide, tall = _ROOM[0] - _GAP, _ROOM[1]
    scale = min(wide / (east - west), tall / (north - south), _SHARPEST)
    apart = _GAP / scale / 2
    patches = [
        _moved(
            replace(cloth.patches[piece], label=sewing.names[piece]), _shifted(turn, sign * apart)
        )
        for sign, side in zip((-1, 1), sides, strict=True)
        for piece in side
    ]
    marks = label_marks(patches) if len(patches) <= _MOST_LABELS else ()
    west, south, east, north = shapely.total_bounds([one.outline for one in patches]).tolist()
    drawn = top_drawing(
        "", patches, cloth.pictures, bare=True, side=scale * max(east - west, north - south),
        marks=[mark for mark in marks if (mark.size or 1) * scale >= 4],
    )  # fmt: skip
    path = [_turn_point(turn, point) for point in join.path]

    def on_paper(x: float, y: float) -> tuple[float, float]:
        return _MARGIN + (x - west) * scale, _MARGIN + (north - y) * scale

    parts: list[Part] = [*drawn.at(_MARGIN, _MARGIN)]
    for meet in join.meets:
        x, y = _turn_point(turn, meet.point)
        ends = [on_paper(x - apart, y), on_paper(x + apart, y)]
        parts += [Area(Point(end).buffer(2.4), _PIN) for end in ends]
        parts.append(Area(LineString(ends).buffer(0.4), _PIN))
    for bend in join.bends:
        x, y = _turn_point(turn, bend.point)
        for end in (on_paper(x - apart, y), on_paper(x + apart, y)):
            parts.append(Area(Point(end).buffer(4.5), edge=1.4))
    middle = on_paper(*_middle(path))
    parts.append(_arrow(middle, (-1.0, 0.0) if join.press_to_first else (1.0, 0.0), 9.0))
    start = on_paper(*path[0])
    parts.append(TextLine("start", start[0], start[1] + 9, 8.0, anchor="middle", halo=True))
    height = drawn.height + 2 * _MARGIN
    return Drawing(drawn.width + 2 * _MARGIN, height, tuple(parts))


def places_drawing(sewing: SewingPlan, batch: Batch) -> Drawing:
    """Return the top with what each join of a batch makes, its seam, and how it is pressed."""
    design = sewing.design
    west, south, east, north = design.outline.bounds
    scale = _PLACES / max(east - west, north - south)
    matrix = [scale, 0, 0, -scale, _MARGIN - west * scale, _MARGIN + north * scale]
    parts: list[Part] = [Area(affinity.affine_transform(design.outline, matrix), _WHITE, 0.8)]
    for number in batch.joins:
        join = sewing.order.join(number)
        outlines = [design.pieces[piece].outline for piece in sorted(join.pieces)]
        whole = shapely.union_all(outlines, grid_size=1e-6)
        parts += [
            Area(shape, _MADE, 0.5)
            for shape in shapely.get_parts(affinity.affine_transform(whole, matrix)).tolist()
        ]
        path = shapely.get_coordinates(affinity.affine_transform(LineString(join.path), matrix))
        parts.append(Area(LineString(path).buffer(0.8), _INK))
        parts.append(_press_mark(path, join, scale))
        parts += _number(affinity.affine_transform(whole, matrix), path, f"{number}")
    wide, tall = (east - west) * scale, (north - south) * scale
    return Drawing(wide + 2 * _MARGIN, tall + 2 * _MARGIN, tuple(parts))


def _number(shape: BaseGeometry, path: npt.NDArray[np.float64], text: str) -> Iterator[TextLine]:
    """Yield the number of a join in what it makes, beside its seam; none where there is no room."""
    beside = shape.difference(LineString(path).buffer(_ARROW_ROOM))
    largest = max(shapely.get_parts(beside).tolist(), key=lambda part: float(part.area))
    circle = shapely.maximum_inscribed_circle(largest, tolerance=0.5)
    x, y = circle.coords[0]
    size = min(_NUMBER, 1.5 * circle.length / max(1.0, 0.6 * len(text)))
    if size >= _SMALLEST:
        yield TextLine(text, x, y + 0.36 * size, size, anchor="middle")


def _press_mark(path: npt.NDArray[np.float64], join: Join, scale: float) -> Area:
    """Return a small arrow on the side of a seam that its allowances are pressed to."""
    points = [(x, y) for x, y in path.tolist()]
    (x, y), (to_x, to_y) = points[:2]
    long = math.dist((x, y), (to_x, to_y))
    # y runs down on paper, so that left of the path is (dy, -dx).
    left = ((to_y - y) / long, (x - to_x) / long)
    way = left if join.press_to_first else (-left[0], -left[1])
    size = min(6.0, max(2.5, 0.18 * join.length * scale))
    return _arrow((x + 0.5 * (to_x - x), y + 0.5 * (to_y - y)), way, size)


def _arrow(at: tuple[float, float], way: tuple[float, float], size: float) -> Area:
    """Return an arrow head of this size that starts at a point."""
    (x, y), (dx, dy) = at, way
    half = 0.6 * size
    corners = [
        (x - dy * half, y + dx * half),
        (x + dx * size, y + dy * size),
        (x + dy * half, y - dx * half),
    ]
    return Area(Polygon(corners), _INK)


def _pieces(sewing: SewingPlan, part: JoinedPart) -> Sequence[int]:
    if part.piece is not None:
        return (part.piece,)
    return sorted(sewing.order.join(part.join or 0).pieces)


def _upright(join: Join) -> Matrix:
    """Return the turn that takes a seam upright, its start below; the first part is then left."""
    (x, y), (to_x, to_y) = join.path[0], join.path[-1]
    long = math.dist((x, y), (to_x, to_y))
    sine, cosine = (to_x - x) / long, (to_y - y) / long
    return cosine, -sine, sine, cosine, 0.0, 0.0


def _shifted(turn: Matrix, along: float) -> Matrix:
    a, b, d, e, x, y = turn
    return a, b, d, e, x + along, y


def _turned(outline: Polygon, turn: Matrix) -> Polygon:
    return affinity.affine_transform(outline, turn)


def _turn_point(turn: Matrix, point: tuple[float, float]) -> tuple[float, float]:
    a, b, d, e, x, y = turn
    return a * point[0] + b * point[1] + x, d * point[0] + e * point[1] + y


def _moved(patch: Patch, matrix: Matrix) -> Patch:
    """Return a patch that lies elsewhere, with the same cloth in it."""
    lies = None
    if patch.to_scrap is not None:
        a, b, d, e, x, y = matrix  # a turn: its inverse is its transpose
        back = (a, d, b, e, -(a * x + d * y), -(b * x + e * y))
        lies = _composed(patch.to_scrap, back)
    return replace(patch, outline=_turned(patch.outline, matrix), to_scrap=lies)


def _composed(after: Matrix, before: Matrix) -> Matrix:
    """Return the matrix that does `before`, then `after`."""
    a, b, d, e, x, y = after
    p, q, r, s, u, v = before
    return (
        a * p + b * r, a * q + b * s, d * p + e * r, d * q + e * s,
        a * u + b * v + x, d * u + e * v + y,
    )  # fmt: skip


def _middle(path: Sequence[tuple[float, float]]) -> tuple[float, float]:
    point = LineString(path).interpolate(0.5, normalized=True)
    return point.x, point.y
