"""Corner placement: one piece after another at a corner of the positions where it still fits.

A corner of the feasible positions, less what the placed pieces exclude, is a position where the
piece touches the edge or its neighbours on two sides. Each pass prefers the corners furthest in one
direction.
"""

import math
from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from scrapstore.packing.convex import Points
from scrapstore.packing.pieces import products
from scrapstore.packing.problem import PackingProblem, Pose

__all__ = ["place_in_corners", "place_more"]


def place_in_corners(
    problem: PackingProblem, direction_deg: float, placed: Sequence[Pose] = ()
) -> list[Pose]:
    """Return `placed` and as many further pieces as fit, furthest against the direction first.

    Kinds that are worth more come first; at most the wanted number of each is placed.
    """
    poses = list(placed)
    left = problem.wanted()
    free: list[BaseGeometry] = list(problem.feasible)
    for pose in poses:
        left[problem.turns[pose.turn].kind] -= 1
        free = [problem.without(at, pose, turn) for turn, at in enumerate(free)]
    angle = math.radians(direction_deg)
    towards = np.round([math.cos(angle), math.sin(angle)], 12)
    # A little across as well, so that equal corners have one order.
    towards += 1e-3 * np.array([-towards[1], towards[0]])
    order = sorted({t.kind for t in problem.turns}, key=lambda k: (-problem.kinds[k].worth, k))
    for kind in order:
        turns = [n for n, turn in enumerate(problem.turns) if turn.kind == kind]
        while left[kind] > 0:
            found = _furthest_corner(problem, free, turns, towards)
            if found is None:
                break
            poses.append(found)
            left[kind] -= 1
            free = [problem.without(at, found, turn) for turn, at in enumerate(free)]
    return poses


def place_more(problem: PackingProblem, placed: Sequence[Pose], directions: int = 4) -> list[Pose]:
    """Return `placed` with what else fits beside it: the best of several directions."""
    ways = [place_in_corners(problem, 360.0 * k / directions, placed) for k in range(directions)]
    return max(list(placed), *ways, key=lambda poses: round(problem.value(poses), 9))


def _furthest_corner(
    problem: PackingProblem, free: list[BaseGeometry], turns: list[int], towards: Points
) -> Pose | None:
    """Return the pose whose piece's middle lies furthest against `towards`; None if all is full."""
    best: tuple[float, Pose] | None = None
    for turn in turns:
        if free[turn].is_empty:
            continue
        at = shapely.get_coordinates(free[turn])
        size = np.asarray(problem.turns[turn].size)
        # Compare the middles of the pieces' bounds: corners of different turns are then alike.
        key = products(at + size / 2, towards[None])[:, 0]
        k = int(np.argmin(np.round(key, 9)))
        if best is None or key[k] < best[0] - 1e-9:
            best = (float(key[k]), Pose(turn, float(at[k, 0]), float(at[k, 1])))
    return best[1] if best else None
