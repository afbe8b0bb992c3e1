"""How a piece may lie on the cloth: an edge on the straight grain, a given direction, or freely."""

import math
from dataclasses import dataclass
from typing import Final, Literal

from scrapstore.errors import ShapeError
from scrapstore.shapes.outline import Shape, edge_directions_deg
from scrapstore.shapes.symmetry import rotation_order

__all__ = ["Grain", "GrainDirection", "GrainEdge", "GrainFree", "rotations_deg"]


@dataclass(frozen=True, slots=True)
class GrainEdge:
    """One of `edges` lies on the straight grain: along it, across it, or either.

    None takes the shape's own straight edges. Edges count from 0 along the finished outline.
    """

    edges: tuple[int, ...] | None = None
    direction: Literal["either", "lengthwise", "crosswise"] = "either"


@dataclass(frozen=True, slots=True)
class GrainDirection:
    """One-way print: the piece's own direction `deg` points the way the print runs.

    `deg` is counted on the piece as drawn: 90 for a piece whose top is up.
    """

    deg: float = 90.0


@dataclass(frozen=True, slots=True)
class GrainFree:
    """Any direction; tried every `step_deg` degrees."""

    step_deg: float = 15.0


Grain = GrainEdge | GrainDirection | GrainFree
"""The grain rule of a piece."""

_QUARTERS: Final = {
    "either": (0.0, 90.0, 180.0, 270.0),
    "lengthwise": (0.0, 180.0),
    "crosswise": (90.0, 270.0),
}


def rotations_deg(shape: Shape, rule: Grain, *, one_way_deg: float = 0.0) -> tuple[float, ...]:
    """Return the rotations of `shape` that `rule` allows, where 0° of the cloth is lengthwise.

    Degrees counter-clockwise in [0, 360), rising. Rotations that the shape's own symmetry makes
    equal appear once. `one_way_deg` is the direction in which a one-way print runs on the cloth;
    by default along the lengthwise grain.

    Raises ShapeError for edges that the shape does not have, and for a step or a direction that
    is no number or a step outside 1° to 360°.
    """
    match rule:
        case GrainEdge(edges=edges, direction=direction):
            directions = edge_directions_deg(shape.outline)
            chosen = shape.straight_edges if edges is None else edges
            if not chosen or not all(0 <= edge < len(directions) for edge in chosen):
                msg = (
                    f"{shape.label}: grain edges {chosen} are not among 0 to {len(directions) - 1}"
                )
                raise ShapeError(msg)
            turns = [quarter - directions[e] for e in chosen for quarter in _QUARTERS[direction]]
        case GrainDirection(deg=deg):
            if not (math.isfinite(deg) and math.isfinite(one_way_deg)):
                raise ShapeError(f"{shape.label}: a print direction of {deg}° is no direction")
            turns = [one_way_deg - deg]
        case GrainFree(step_deg=step):
            if not 1 <= step <= 360:
                raise ShapeError(
                    f"{shape.label}: a free grain needs a step of 1° to 360°, not {step}"
                )
            turns = [i * step for i in range(math.ceil(360 / step - 1e-9))]
    # A single allowed direction is kept as it is: a print looks different the other way up.
    period = 360.0 if isinstance(rule, GrainDirection) else 360.0 / rotation_order(shape)
    return _distinct(turns, period)


def _distinct(turns: list[float], period: float) -> tuple[float, ...]:
    """Return `turns` modulo `period`, each once, rising."""
    kept: list[float] = []
    for turn in sorted(round(t % period, 9) % period for t in turns):
        if not kept or turn - kept[-1] > 1e-6:
            kept.append(turn)
    if len(kept) > 1 and kept[0] + period - kept[-1] <= 1e-6:
        kept.pop()
    return tuple(kept)
