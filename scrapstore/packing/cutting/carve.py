"""From a layout to the cuts: lines that part the pieces, each on a mark of the ruler.

A part with several pieces is parted by a straight line between them; a part with one piece is
trimmed until it is that piece. A line is measured from an edge of the part that a ruler can lie
against: from a parallel one by whole marks, from another one by its angle. Where no mark lies
between two groups of pieces, one group moves a little. The search goes depth first, the line with
the most sides of pieces along it first, and stops at the first way that frees every piece.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon

from scrapstore.packing.cutting.cloth import (
    Part,
    Reference,
    angled,
    bare_corners,
    first_part,
    fresh_corners,
    is_fresh,
    is_slanted,
    normal_of,
    parallel,
    split,
)
from scrapstore.packing.cutting.guards import Guard, guards_within, normals_of_sides
from scrapstore.packing.pieces import following

__all__ = ["Carved", "Line", "carve"]

Floats = NDArray[np.float64]

_SAME = 1e-6  # inches, and the sine of an angle
_INSIDE = 5e-7  # inches: half of what the verifier allows, which then has the last word
_VISIBLE = 1 / 16  # inches of play in which a line can be laid by eye
_SIDES = 1.5  # more than one side
_LEAST_SLIDE = 0.3
_OPTIONS = 5  # lines that are tried for one part


@dataclass(frozen=True)
class Line:
    """A cut to be made: normal · point = offset, and how the ruler lies; `reference` None: free.

    A line at an angle lies `distance` from `point`, a corner of the part, unless it has room.
    """

    normal: Floats
    offset: float
    reference: Reference | None
    corners: bool = False
    point: tuple[float, float] | None = None
    distance: float | None = None


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


@dataclass
class _Option:
    """A line, with how far the guards on its two sides move for it; smaller `rank` is better."""

    rank: tuple[float, ...]
    line: Line
    above: NDArray[np.bool_]
    up: float = 0.0
    down: float = 0.0


def carve(
    outline: Polygon,
    region: Polygon | MultiPolygon,
    guards: Sequence[Guard],
    step: float,
    *,
    work: int = 40,
) -> Carved:
    """Return how the guards are cut from the outline; they may move a little within the region.

    `work` is how many parts may be looked at before the best way so far is taken.
    """
    return _Carver(region, step, work).free(first_part(outline), tuple(guards))


class _Carver:
    def __init__(self, region: Polygon | MultiPolygon, step: float, work: int) -> None:
        self.region, self.step, self.work = region, step, work
        self._key = 0
        shapely.prepare(region)

    def free(self, part: Part, guards: tuple[Guard, ...]) -> Carved:
        """Return the best way found to free the guards of a part."""
        self._key += 1
        own = self._key
        if not guards:
            return Carved(own, part, ())
        self.work -= 1
        if len(guards) == 1 and is_fresh(part) and self._is_the_piece(part, guards[0]):
            return Carved(own, part, guards)
        options = sorted(self._options(part, guards), key=lambda option: option.rank)
        if len(guards) > 1 and not any(0 < o.above.sum() < len(guards) for o in options):
            # No line along a side parts them; perhaps one along an edge of the part does.
            options += sorted(self._between(part, guards), key=lambda option: option.rank)
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
        self, own: int, part: Part, guards: tuple[Guard, ...], option: _Option
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
                found = self.free(child, tuple(here))
                gives.append(found)
                locked += found.locked
                cuts += found.cuts
            if left:
                return None
        return Carved(own, part, guards, line, tuple(gives), locked, cuts)

    def _pushed(self, part: Part, guards: list[Guard], normal: Floats, far: float) -> list[Guard]:
        """Return the guards moved together so that they are `far` along `normal`; none: no room.

        They go straight, or slide along an edge of the part.
        """
        ways = [normal]
        for reference in part.references:
            x, y = reference.normal
            slide = float(normal @ np.array([-y, x]))
            if abs(slide) > _LEAST_SLIDE:
                ways.append(np.array([-y, x]) / slide)
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

    def _options(self, part: Part, guards: tuple[Guard, ...]) -> Iterator[_Option]:
        """Give the lines that could be cut next."""
        for normal in normals_of_sides(guards):
            yield from self._square_to(part, guards, normal)
        if len(guards) <= 2:
            yield from self._across(part, guards)

    def _between(self, part: Part, guards: tuple[Guard, ...]) -> Iterator[_Option]:
        """Give the lines between groups of guards along, or square to, what bounds the part."""
        found: dict[tuple[float, float], Floats] = {}
        for reference in part.references:
            x, y = reference.normal
            for way in ((-y, x), (x, y)):
                normal = normal_of(np.array(way))
                found.setdefault((round(float(normal[0]), 5), round(float(normal[1]), 5)), normal)
        for normal in found.values():
            for option in self._square_to(part, guards, normal):
                if 0 < option.above.sum() < len(guards):
                    yield option

    def _square_to(
        self, part: Part, guards: tuple[Guard, ...], normal: Floats
    ) -> Iterator[_Option]:
        along = np.concatenate([g.corners for g in guards]) @ normal
        first = np.cumsum([0, *(len(g.corners) for g in guards[:-1])])
        low = np.minimum.reduceat(along, first)
        high = np.maximum.reduceat(along, first)
        of = np.repeat(np.arange(len(guards)), [len(g.corners) for g in guards])
        sides = [
            np.where(np.add.reduceat(np.abs(along - at[of]) < _SAME, first) > 1, 1.0, 0.1)
            for at in (low, high)
        ]
        yield from self._level(part, normal, (low, high), (sides[0], sides[1]))

    def _level(
        self, part: Part, normal: Floats, span: tuple[Floats, Floats], sides: tuple[Floats, Floats]
    ) -> Iterator[_Option]:
        """Give the lines square to `normal`: between groups of guards, and beside all of them.

        `span` are the lowest and highest levels of the guards, `sides` is 1 where a side lies
        there and less where only a corner does.
        """
        low, high = span
        reach = part.corners @ normal
        bottom, top = float(reach.min()), float(reach.max())
        references = parallel(part, normal)
        own = {r.key for r in references}
        other = angled(part, normal)
        if not references and other is None:
            return
        order = np.argsort(low, kind="stable")
        highest = np.maximum.accumulate(high[order])
        gaps = [
            (float(highest[k]), float(low[order[k + 1]]), k + 1)
            for k in range(len(order) - 1)
            if low[order[k + 1]] > highest[k] - _SAME
        ]
        lines = len(gaps)
        gaps += [(-math.inf, float(low.min()), 0), (float(high.max()), math.inf, len(order))]
        for below, above, count in gaps:
            is_above = np.ones(len(order), dtype=np.bool_)
            is_above[order[:count]] = False
            # What a free line leaves must be wide enough to be seen.
            seen = (max(below, bottom), min(above, top))
            wide = seen[1] - seen[0] >= min(self.step / 2, _VISIBLE)
            for offset, reference, point in self._offsets(
                part, normal, (below, above), references, other, wide=wide
            ):
                if not bottom + _SAME < offset < top - _SAME:
                    continue
                free = bool(references) and (reference is None or reference.key not in own)
                up = max(0.0, offset - above) if count < len(order) else 0.0
                down = max(0.0, below - offset) if count else 0.0
                up, down = (0.0 if by < _SAME else by for by in (up, down))
                if (up and not count) or (down and count == len(order)):
                    continue
                over = np.abs(low[is_above] + up - offset)
                under = np.abs(high[~is_above] - down - offset)
                flush, exact = (
                    float(
                        sides[0][is_above][over < within].sum()
                        + sides[1][~is_above][under < within].sum()
                    )
                    for within in (self.step - _SAME, _SAME)
                )
                outer = bottom if count == 0 else top
                beside = count in (0, len(order))
                if beside and (
                    # A fresh cut is not trimmed again by less than a step.
                    (any(abs(r.offset - outer) < _SAME and r.key != "edge" for r in references)
                     and abs(outer - (above if count == 0 else below)) < self.step - _SAME)
                    # Beside a group a line helps as its end, or for others to be measured from.
                    or (len(order) > 2 and not lines and flush < _SIDES)
                ):  # fmt: skip
                    continue
                if len(order) == 1:
                    order_of = 0.0
                elif beside:
                    order_of = 0.0 if flush >= _SIDES else 2.0
                else:
                    order_of = 1.0 if up + down > 0 else 0.0
                    if is_slanted(part, normal):
                        order_of += 1.0 if len(order) > 2 and reference is not None else 3.0
                yield _Option(
                    (order_of, -flush, free, -exact, up + down, -lines, offset),
                    Line(
                        normal,
                        offset,
                        reference,
                        point=point,
                        distance=point and abs(offset - float(normal @ np.array(point))),
                    ),
                    is_above,
                    up,
                    down,
                )

    def _offsets(
        self,
        part: Part,
        normal: Floats,
        levels: tuple[float, float],
        references: Sequence[Reference],
        other: tuple[Reference | None] | None,
        *,
        wide: bool,
    ) -> Iterator[tuple[float, Reference | None, tuple[float, float] | None]]:
        """Give the places for a line between two levels, and what they are measured from."""
        sources: list[tuple[float, Reference | None, tuple[float, float] | None]] = [
            (reference.offset, reference, None) for reference in references
        ]
        seen: set[float] = set()
        if not references and other is not None and other[0] is not None:
            sources = [
                (float(normal @ point), other[0], (float(point[0]), float(point[1])))
                for point in fresh_corners(part)
            ]
        below, above = levels
        middle = above if math.isinf(below) else below if math.isinf(above) else (below + above) / 2

        one_sided = math.isinf(below) != math.isinf(above)

        def far(
            source: tuple[float, Reference | None, tuple[float, float] | None],
        ) -> tuple[bool, float]:
            # Across the pieces, so that what is measured is what they need; then the nearest.
            outside = source[0] < middle if math.isinf(below) else source[0] > middle
            return one_sided and outside, abs(source[0] - middle)

        for zero, reference, point in sorted(sources, key=far):
            marks = set()
            for level in levels:
                if not math.isinf(level):
                    mark = (level - zero) / self.step
                    marks |= {math.floor(mark + _SAME), math.ceil(mark - _SAME)}
            for mark_at in sorted(marks):
                offset = zero + mark_at * self.step
                if (mark_at or point) and round(offset, 7) not in seen:
                    seen.add(round(offset, 7))
                    yield offset, reference, point
        if other is None or not wide:
            return
        # Where there is room, a line may lie anywhere, and need not be measured.
        for level in levels[::-1]:
            if not math.isinf(level) and round(level, 7) not in seen:
                yield level, other[0], None

    def _across(self, part: Part, guards: tuple[Guard, ...]) -> Iterator[_Option]:
        """Give the lines from corner to corner of a part that part its guards, or trim its one."""
        corners = bare_corners(part.corners)
        if len(part.outline.interiors) or not 4 <= len(corners) <= 6:
            return
        for i in range(len(corners)):
            for j in range(i + 2, len(corners) - (i == 0)):
                normal = normal_of(corners[j] - corners[i])
                offset = float(normal @ corners[i])
                low = np.array([(g.corners @ normal).min() for g in guards]) - offset
                high = np.array([(g.corners @ normal).max() for g in guards]) - offset
                above = low + high > 0
                if len(guards) == 2 and above[0] == above[1]:
                    continue
                rise = max(0.0, float(-low[above].min(initial=0.0)))
                sink = max(0.0, float(high[~above].max(initial=0.0)))
                if max(rise, sink) > 2 * self.step:
                    continue
                away = float(np.concatenate((low[above], -high[~above])).max())
                if len(guards) == 1 and away > self.step - _SAME:
                    continue
                yield _Option(
                    (0.5, -1.0 * len(guards), 0.0, rise + sink, offset),
                    Line(normal, offset, None, corners=True),
                    above,
                    rise if rise > _SAME else 0.0,
                    sink if sink > _SAME else 0.0,
                )
