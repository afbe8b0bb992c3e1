"""From a layout to the cuts: lines that part the pieces, each on a mark of the ruler.

A part with several pieces is parted by a straight line between them; a part with one piece is
trimmed until it is that piece. Where no mark lies between two groups of pieces, one group moves a
little. The search goes depth first, the line with the most sides of pieces along it first, and
stops at the first way that frees every piece.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon

from scrapstore.packing.cutting.cloth import Part, first_part, is_fresh, split, turns
from scrapstore.packing.cutting.guards import Guard, guards_within
from scrapstore.packing.cutting.lines import Line, Lines, Option
from scrapstore.packing.pieces import following

__all__ = ["Carved", "carve"]

Floats = NDArray[np.float64]

_SAME = 1e-6  # inches, and the sine of an angle
_INSIDE = 5e-7  # inches: half of what the verifier allows, which then has the last word
_LEAST_SLIDE = 0.3
_OPTIONS = 5  # lines that are tried for one part


@dataclass
class Carved:
    """What becomes of a part: cut along `line` into `gives`, or it ends with `guards` in it.

    `locked`: so many of its guards cannot be freed with a ruler.
    """

    key: int
    part: Part
    guards: tuple[Guard, ...]
    line: Line | None = None
    gives: tuple["Carved", ...] = ()
    locked: int = 0
    cuts: int = 0

    @property
    def cost(self) -> tuple[int, int]:
        """What counts in a choice: pieces by template, then cuts."""
        return self.locked, self.cuts


def carve(
    outline: Polygon,
    region: Polygon | MultiPolygon,
    guards: Sequence[Guard],
    step: float,
    *,
    rest_first: bool = False,
    work: int = 40,
) -> Carved:
    """Return how the guards are cut from the outline; they may move a little within the region.

    `rest_first`: what lies beside a group of guards is cut off before the group is parted. `work`
    is how many parts may be looked at before the best way so far is taken.
    """
    carver = _Carver(region, step, work, rest_first=rest_first)
    return carver.free(first_part(outline), tuple(guards))


class _Carver:
    def __init__(
        self, region: Polygon | MultiPolygon, step: float, work: int, *, rest_first: bool
    ) -> None:
        self.region, self.step, self.work = region, step, work
        self._lines = Lines(step, rest_first=rest_first)
        self._key = 0
        shapely.prepare(region)

    def free(self, part: Part, guards: tuple[Guard, ...]) -> Carved:
        """Return the best way found to free the guards of a part.

        One guard alone is moved into a corner where that saves cuts.
        """
        best = self._freed(part, guards)
        if len(guards) == 1 and best.cost > (0, 1):
            for moved in self._in_corners(part, guards[0]):
                found = self._freed(part, (moved,))
                if found.cost < best.cost:
                    best = found
        return best

    def _in_corners(self, part: Part, guard: Guard) -> Iterator[Guard]:
        """Give a guard moved into each corner of a part that one of its own corners fills."""
        for room in shapely.get_parts(shapely.intersection(part.outline, self.region)):
            if room.geom_type != "Polygon":
                continue
            at, into, out = turns(shapely.get_coordinates(shapely.orient_polygons(room)))
            own, own_into, own_out = turns(np.vstack((guard.corners, guard.corners[:1])))
            off = np.abs(into[:, None] - own_into) + np.abs(out[:, None] - own_out)
            for i, j in np.argwhere(off.max(axis=2) < _SAME):
                moved = guard.moved(at[i] - own[j])
                if self._room(part, [moved]):
                    yield moved

    def _freed(self, part: Part, guards: tuple[Guard, ...]) -> Carved:
        self._key += 1
        own = self._key
        if not guards:
            return Carved(own, part, ())
        self.work -= 1
        if (
            len(guards) == 1
            and is_fresh(part, guards[0].corners)
            and self._is_the_piece(part, guards[0])
        ):
            return Carved(own, part, guards)
        options = sorted(
            self._lines.beside_and_between(part, guards), key=lambda option: option.rank
        )
        if len(guards) > 1 and not any(0 < o.above.sum() < len(guards) for o in options):
            # No line along a side parts them; perhaps one along an edge of the part does.
            options += sorted(self._lines.along_edges(part, guards), key=lambda option: option.rank)
        alone = best = Carved(own, part, guards, locked=len(guards))
        tried = 0
        for option in options:
            found = self._follow(own, part, guards, option)
            if found is None:
                continue
            if found.cost < best.cost:
                best = found
            tried += 1
            if not best.locked or tried >= _OPTIONS or self.work <= 0:
                break
        if best is alone and len(guards) == 1 and self._is_the_piece(part, guards[0]):
            alone.locked = 0
        return best

    def _follow(
        self, own: int, part: Part, guards: tuple[Guard, ...], option: Option
    ) -> Carved | None:
        line = option.line
        halves = split(part, line.normal, line.offset, own)
        if halves is None:
            return None
        higher = [g for g, above in zip(guards, option.above.tolist(), strict=True) if above]
        lower = [g for g, above in zip(guards, option.above.tolist(), strict=True) if not above]
        if option.up:
            higher = self._pushed(part, higher, line.normal, option.up)
        if option.down:
            lower = self._pushed(part, lower, -line.normal, option.down)
        if len(higher) + len(lower) < len(guards):
            return None
        gives, locked, cuts = [], 0, 1
        for side, left in zip(halves, (higher, lower), strict=True):
            for child in side:
                here = left if len(side) == 1 else guards_within(child.outline, left)
                left = [guard for guard in left if guard not in here]
                # A guard that was alone before has its place.
                free = self.free if len(guards) > 1 else self._freed
                found = free(child, tuple(here))
                gives.append(found)
                locked += found.locked
                cuts += found.cuts
            if left:
                return None
        return Carved(own, part, guards, line, tuple(gives), locked, cuts)

    def _pushed(self, part: Part, guards: list[Guard], normal: Floats, far: float) -> list[Guard]:
        """Return the guards moved together so that they are `far` along `normal`; none: no room.

        They slide along an edge of the part, so that a row stays one, or go straight.
        """
        ways = []
        for reference in part.references:
            x, y = reference.normal
            slide = float(normal @ np.array([-y, x]))
            if abs(slide) > _LEAST_SLIDE:
                ways.append(np.array([-y, x]) / slide)
        ways.sort(key=lambda way: round(math.hypot(*way), 6))
        ways.append(normal)
        for way in ways:
            moved = [guard.moved(way * far) for guard in guards]
            if self._room(part, moved):
                return moved
        return []

    def _room(self, part: Part, guards: Sequence[Guard]) -> bool:
        """Tell whether guards lie in the region and in the part."""
        inner = [
            Polygon(guard.corners).buffer(-_INSIDE, join_style="mitre", mitre_limit=10.0)
            for guard in guards
        ]
        return all(part.outline.covers(one) and self.region.covers(one) for one in inner)

    def _is_the_piece(self, part: Part, guard: Guard) -> bool:
        """Tell whether a part is its piece: larger by less than a step on every side."""
        sides = following(guard.corners) - guard.corners
        out = np.column_stack((sides[:, 1], -sides[:, 0])) / np.hypot(*sides.T)[:, None]
        beyond = (part.corners @ out.T).max(axis=0) - np.sum(out * guard.corners, axis=1)
        return bool(beyond.max() < self.step - _SAME)
