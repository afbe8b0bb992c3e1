"""Which turns and mirrorings leave an outline as it was."""

import math

from shapely import Polygon

from scrapstore.shapes.outline import Shape, corners_of

__all__ = ["is_mirror_symmetric", "rotation_order", "same_outline"]

_SLACK = 1e-6  # inches and radians: far below what can be cut, far above rounding


def rotation_order(outline: Shape | Polygon) -> int:
    """Return how often an outline looks the same in one full turn: 1, or 6 for a hexagon.

    Two sides count as equal within a millionth of an inch.
    """
    steps = _edges_and_turns(outline)
    return sum(_same(steps, steps[k:] + steps[:k]) for k in range(len(steps)))


def is_mirror_symmetric(outline: Shape | Polygon) -> bool:
    """Return whether the mirrored outline can be turned to lie on the outline itself.

    Such a piece has no left and right version.
    """
    steps = _edges_and_turns(outline)
    # Walked backwards, each edge is followed by the turn that came before it.
    count = len(steps)
    back = [(steps[-i][0], steps[-i - 1][1]) for i in range(count)]
    return any(_same(steps, back[k:] + back[:k]) for k in range(count))


def same_outline(one: Shape | Polygon, other: Shape | Polygon, *, slack: float) -> bool:
    """Return whether `one` can be turned, not mirrored, to lie on `other`.

    Sides may differ by `slack` inches, turns at the corners by `slack` radians.
    """
    a, b = _edges_and_turns(one), _edges_and_turns(other)
    return len(a) == len(b) and any(_same(a, b[k:] + b[:k], slack) for k in range(len(b)))


def _edges_and_turns(outline: Shape | Polygon) -> list[tuple[float, float]]:
    """Return length and following turn (radians) of each edge; corners on a straight edge go."""
    corners = corners_of(outline.outline if isinstance(outline, Shape) else outline)
    turns = [
        _turn(corners[i - 1], c, corners[(i + 1) % len(corners)]) for i, c in enumerate(corners)
    ]
    kept = [(c, t) for c, t in zip(corners, turns, strict=True) if abs(t) > _SLACK]
    following = kept[1:] + kept[:1]
    return [(math.dist(a, b), turn) for (a, _), (b, turn) in zip(kept, following, strict=True)]


def _turn(
    previous: tuple[float, float], corner: tuple[float, float], after: tuple[float, float]
) -> float:
    ux, uy = corner[0] - previous[0], corner[1] - previous[1]
    vx, vy = after[0] - corner[0], after[1] - corner[1]
    return math.atan2(ux * vy - uy * vx, ux * vx + uy * vy)


def _same(
    a: list[tuple[float, float]], b: list[tuple[float, float]], slack: float = _SLACK
) -> bool:
    return all(
        abs(la - lb) <= slack and abs(ta - tb) <= slack
        for (la, ta), (lb, tb) in zip(a, b, strict=True)
    )
