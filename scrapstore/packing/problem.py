"""The packing problem: oriented pieces, where each fits, which positions exclude each other."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from scrapstore.packing.convex import Points, convex_parts, hulls, inset, no_fit
from scrapstore.packing.pieces import (
    Layout,
    Orientation,
    PieceKind,
    believed,
    orientations,
)
from scrapstore.packing.regions import TOLERANCE, feasible_positions, union_of

__all__ = ["PackingProblem", "Pose"]


@dataclass(frozen=True, order=True)
class Pose:
    """An oriented piece with the lower left of its bounds at (x, y); `turn` counts orientations."""

    turn: int
    x: float
    y: float


@dataclass
class PackingProblem:
    """One region with the pieces that may be placed on it.

    `turns` are the orientations of all kinds, `feasible[turn]` the positions of each in the region.
    Orientations without any position are dropped.
    """

    region: MultiPolygon
    kinds: Sequence[PieceKind]
    turns: list[Orientation] = field(init=False)
    parts: list[list[Points]] = field(init=False)
    feasible: list[MultiPolygon] = field(init=False)
    _no_fits: dict[tuple[int, int], list[Points]] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        self.turns, self.parts, self.feasible = [], [], []
        for turn in orientations(self.kinds):
            if self.kinds[turn.kind].wanted == 0 or self.kinds[turn.kind].worth == 0:
                continue
            parts = convex_parts(turn.corners)
            positions = feasible_positions(self.region, parts)
            if not positions.is_empty:
                self.turns.append(turn)
                self.parts.append(parts)
                self.feasible.append(positions)

    def wanted(self) -> list[int]:
        """Return how many of each kind are wanted, kinds in order."""
        return [kind.wanted for kind in self.kinds]

    def no_fits(self, fixed: int, moving: int) -> list[Points]:
        """Return, as convex polygons, where `moving` meets a `fixed` that lies at the origin.

        Both turns are taken smaller by the packer's tolerance, as for the region.
        """
        key = (fixed, moving)
        if key not in self._no_fits:
            self._no_fits[key] = [
                no_fit(inset(a, TOLERANCE), inset(b, TOLERANCE))
                for a in self.parts[fixed]
                for b in self.parts[moving]
            ]
        return self._no_fits[key]

    def without(self, feasible: BaseGeometry, pose: Pose, moving: int) -> BaseGeometry:
        """Take from the positions of `moving` those that the piece at `pose` excludes."""
        at = np.array([pose.x, pose.y])
        shapes = [Polygon(corners + at) for corners in self.no_fits(pose.turn, moving)]
        blocked = shapes[0] if len(shapes) == 1 else union_of(shapes)
        return feasible.difference(blocked)

    def worth(self, turn: int) -> float:
        """Return what a piece in orientation `turn` is worth."""
        return self.kinds[self.turns[turn].kind].worth

    def value(self, poses: Sequence[Pose]) -> float:
        """Return what the pieces at `poses` are worth together."""
        return float(sum(self.worth(pose.turn) for pose in poses))

    def layout(self, poses: Sequence[Pose], bound: float) -> Layout:
        """Return the layout with a piece at each pose, from below upwards."""
        ordered = sorted(poses, key=lambda s: (round(s.y, 6), round(s.x, 6), s.turn))
        placements = [
            self.turns[p.turn].placed(p.x, p.y, self.kinds[self.turns[p.turn].kind].name)
            for p in ordered
        ]
        value = self.value(ordered)
        return Layout(tuple(placements), value, believed(bound, value))

    @cached_property
    def reachable_area(self) -> float:
        """The area of the part of the region that some placement can cover."""
        left: BaseGeometry = self.region
        for parts, positions in zip(self.parts, self.feasible, strict=True):
            swept = np.array(_swept(positions, parts), dtype=object)
            # Little is left after the first turns: what lies elsewhere needs no union.
            shapely.prepare(left)
            near = swept[shapely.intersects(left, swept)]
            if len(near):
                left = left.difference(union_of(near))
        return self.region.area - left.area


def _swept(positions: MultiPolygon, parts: list[Points]) -> list[BaseGeometry]:
    """Return polygons that cover all the points a piece at any of `positions` can cover."""
    found: list[BaseGeometry] = []
    for polygon in positions.geoms:
        for part in parts:
            at = np.asarray(polygon.exterior.coords)
            ends = np.concatenate((at[:-1, None] + part, at[1:, None] + part), axis=1)
            found.extend(hulls(ends))
            # The inside of the positions, with holes filled: at worst this covers too much.
            found.append(Polygon(at + part[0]))
    return found
