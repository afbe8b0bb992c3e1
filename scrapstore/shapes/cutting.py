"""From the finished outline to the cut outline: seam allowance all round, tips pointed or trimmed.

Every raw edge lies exactly the allowance outside its finished edge; corners are the meeting points
of neighbouring raw edges (a mitred offset, worked out edge by edge and not approximated).
"""

import math
from collections.abc import Collection
from typing import Literal, get_args

from shapely import Polygon

from scrapstore.errors import ShapeError
from scrapstore.shapes.outline import Corner, Shape, checked_outline, corners_of

__all__ = ["Tips", "cut_outline", "cut_shape"]

Tips = Literal["pointed", "trimmed"]
"""What becomes of the sharp corners of a cut piece."""

_ANGLE_SLACK_DEG = 1e-6
_SIXTY_SLACK_DEG = 1.0  # a 60° corner whose sizes were typed to the nearest ruler mark


def cut_shape(shape: Shape, seam_allowance: float, tips: Tips = "pointed") -> Polygon:
    """Return the cut outline of `shape`; its straight edges decide how tips are trimmed."""
    return cut_outline(
        shape.outline, seam_allowance, tips, straight_edges=shape.straight_edges, what=shape.label
    )


def cut_outline(
    finished: Polygon,
    seam_allowance: float,
    tips: Tips = "pointed",
    *,
    straight_edges: Collection[int] | None = None,
    what: str = "piece",
) -> Polygon:
    """Return the cut outline of a `finished` outline, counter-clockwise, in the same frame.

    `seam_allowance` is in inches, zero or more. `tips="pointed"` keeps the mitred corners: corner
    *i* of the result belongs to corner *i* of a counter-clockwise `finished`.

    `tips="trimmed"` cuts every corner sharper than 90° where the raw edge of the usual neighbour
    lies, so that raw edges meet when the two are put together for sewing:

    - *As in a row* (60° corners, and corners between two edges of the same sort): the neighbour
      continues a straight row, so its corner there is 180° minus this one. A 60° tip gets one cut
      square to its middle line, one allowance beyond the finished point, as on the usual blunt
      60° ruler; other tips get one cut for either neighbour.
    - *Square* (one of the two edges is straight, the other is not): the piece is one part of a
      square-cornered block, as half-square, quarter-square and half triangles and mitred borders
      are. One cut, square to the straight edge, one allowance beyond the finished point: the raw
      edge of the finished block.

    `straight_edges` names the straight ones, counted counter-clockwise from 0; None takes the
    edges that have a right angle at their other end (so a bare 45-45-90 triangle counts as half a
    square). No cut comes nearer to the finished point than one allowance. Limits: a neighbour that
    meets the corner some other way does not line up, and is matched at the seam line instead.
    Source of both rules: the geometry above; that the trade trims so is common practice.

    Raises ShapeError for an allowance that is negative or not a number, an outline with holes,
    and one with a notch too narrow for the allowance (naming the corner).
    """
    if not (math.isfinite(seam_allowance) and 0 <= seam_allowance <= 10):
        msg = f"seam allowance: {seam_allowance} in will not do; give for example 0.25"
        raise ShapeError(msg)
    if tips not in get_args(Tips):
        raise ShapeError(f"tips: {tips!r} is not a way to cut them; use pointed or trimmed")
    if finished.interiors:
        raise ShapeError(f"{what}: a piece with a hole cannot be sewn; cut it into parts")
    corners = corners_of(checked_outline(corners_of(finished), what=what))
    if seam_allowance == 0:
        return Polygon(corners)
    ends = _raw_corners(corners, seam_allowance, tips, straight_edges)
    for i, (start, stop) in enumerate(_between(ends)):
        following = corners[(i + 1) % len(corners)]
        if _dot(_minus(stop, start), _minus(following, corners[i])) <= 0:
            raise _too_narrow(what, i + 1, seam_allowance)
    cut = Polygon([point for corner in ends for point in corner])
    if not cut.is_valid:
        raise _too_narrow(what, None, seam_allowance)
    return cut


def raw_edge_lengths(shape: Shape, seam_allowance: float, tips: Tips) -> list[float]:
    """Return the length of the raw edge outside each finished edge of `shape`, inches."""
    corners = corners_of(shape.outline)
    ends = _raw_corners(corners, seam_allowance, tips, shape.straight_edges)
    return [math.dist(start, stop) for start, stop in _between(ends)]


def _between(ends: list[list[Corner]]) -> list[tuple[Corner, Corner]]:
    """Return where each raw edge starts and stops, from the corners at either end."""
    following = ends[1:] + ends[:1]
    return [(a[-1], b[0]) for a, b in zip(ends, following, strict=True)]


def _too_narrow(what: str, edge: int | None, allowance: float) -> ShapeError:
    where = "two parts of its edge" if edge is None else f"the corners at edge {edge}"
    msg = (
        f"{what}: {where} lie too close for a seam allowance of {allowance} in on both sides; "
        "make the piece from two parts, or use a smaller allowance"
    )
    return ShapeError(msg)


def _raw_corners(
    corners: list[Corner], allowance: float, tips: Tips, straight: Collection[int] | None
) -> list[list[Corner]]:
    """Return for each corner the corners of the raw edge there: one, or more where trimmed."""
    count = len(corners)
    angles = [
        _angle_deg(corners[i - 1], corners[i], corners[(i + 1) % count]) for i in range(count)
    ]
    if straight is None:
        straight = _edges_with_right_angle(angles)
    result = []
    for i, corner in enumerate(corners):
        before = _unit(_minus(corners[i - 1], corner))
        after = _unit(_minus(corners[(i + 1) % count], corner))
        angle = angles[i]
        if tips == "pointed" or angle >= 90 - _ANGLE_SLACK_DEG:
            result.append([_mitre(corner, before, after, allowance)])
            continue
        out_straight, in_straight = i in straight, (i - 1) % count in straight
        if out_straight == in_straight or abs(angle - 60) < _SIXTY_SLACK_DEG:
            slants = _row_cuts(before, after)
        else:
            slants = [_times(-1, after if out_straight else before)]
        result.append(_trimmed(corner, before, after, allowance, slants))
    return result


def _edges_with_right_angle(angles: list[float]) -> set[int]:
    """Return the edges that have a right angle at either end."""
    count = len(angles)
    right = [abs(angle - 90) < _ANGLE_SLACK_DEG for angle in angles]
    return {i for i in range(count) if right[i] or right[(i + 1) % count]}


def _mitre(corner: Corner, before: Corner, after: Corner, allowance: float) -> Corner:
    """Return where the raw edges either side of `corner` meet."""
    # Outward normals of the edge that arrives (direction -before) and the one that leaves; the
    # interior lies to the left of both.
    n1, n2 = (-before[1], before[0]), (after[1], -after[0])
    # The meeting point is allowance · (n1 + n2) / (1 + n1·n2) from the corner.
    scale = allowance / (1 + _dot(n1, n2))
    return corner[0] + scale * (n1[0] + n2[0]), corner[1] + scale * (n1[1] + n2[1])


def _row_cuts(before: Corner, after: Corner) -> list[Corner]:
    """Return the outward normals of the neighbours' raw edges, ordered from `before` to `after`.

    The neighbour across an edge, folded onto the piece for sewing, has its other edge at 180°
    minus the corner's angle: the piece's own other edge mirrored in the square line at the corner.
    """
    across_after = _minus(before, _times(2 * _dot(before, after), after))
    across_before = _minus(after, _times(2 * _dot(after, before), before))
    # Turn each by a quarter away from its seam, so that it points out of the piece.
    for_after = (-across_after[1], across_after[0])
    for_before = (across_before[1], -across_before[0])
    return [for_before, for_after]


def _trimmed(
    corner: Corner, before: Corner, after: Corner, allowance: float, normals: list[Corner]
) -> list[Corner]:
    """Return the corners left when the tip is cut by lines one allowance out along `normals`."""
    n1, n2 = (-before[1], before[0]), (after[1], -after[0])
    if len(normals) == 2 and math.dist(*normals) < 1e-9:
        normals = normals[:1]
    tip = [_mitre(corner, before, after, allowance)]
    # A convex tip: a triangle with its base well inside, clipped by each line in turn.
    reach = allowance * 4
    base_in = (corner[0] + before[0] * reach + n1[0] * allowance,
               corner[1] + before[1] * reach + n1[1] * allowance)  # fmt: skip
    base_out = (corner[0] + after[0] * reach + n2[0] * allowance,
                corner[1] + after[1] * reach + n2[1] * allowance)  # fmt: skip
    chain = [base_in, *tip, base_out]
    for normal in normals:
        chain = _clip_chain(chain, corner, normal, allowance)
    return chain[1:-1]


def _clip_chain(chain: list[Corner], origin: Corner, normal: Corner, limit: float) -> list[Corner]:
    """Keep the part of an open chain of points within `limit` of `origin` along `normal`."""
    heights = [_dot(_minus(point, origin), normal) - limit for point in chain]
    kept: list[Corner] = []
    for i, (point, height) in enumerate(zip(chain, heights, strict=True)):
        if i and (height > 0) != (heights[i - 1] > 0):
            share = heights[i - 1] / (heights[i - 1] - height)
            last = chain[i - 1]
            kept.append((last[0] + share * (point[0] - last[0]),
                         last[1] + share * (point[1] - last[1])))  # fmt: skip
        if height <= 0:
            kept.append(point)
    return kept


def _angle_deg(previous: Corner, corner: Corner, following: Corner) -> float:
    """Return the interior angle at `corner` of a counter-clockwise outline, 0 to 360."""
    before, after = _minus(previous, corner), _minus(following, corner)
    cross = after[0] * before[1] - after[1] * before[0]
    return math.degrees(math.atan2(cross, _dot(after, before))) % 360


def _minus(a: Corner, b: Corner) -> Corner:
    return a[0] - b[0], a[1] - b[1]


def _times(k: float, a: Corner) -> Corner:
    return k * a[0], k * a[1]


def _dot(a: Corner, b: Corner) -> float:
    return a[0] * b[0] + a[1] * b[1]


def _unit(a: Corner) -> Corner:
    length = math.hypot(*a)
    return a[0] / length, a[1] / length
