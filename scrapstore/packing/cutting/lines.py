"""The lines along which a part of the cloth could be cut next, each on a mark of the ruler.

A line is measured from an edge of the part that a ruler can lie against: from a parallel one by
whole marks, from another one by its angle; or it runs from corner to corner.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scrapstore.packing.cutting.cloth import (
    Part,
    Reference,
    angled,
    bare_corners,
    fresh_corners,
    is_slanted,
    nearly_along,
    normal_of,
    parallel,
)
from scrapstore.packing.cutting.guards import Guard, normals_of_sides
from scrapstore.packing.pieces import following

__all__ = ["Line", "Lines", "Option", "is_tip"]

Floats = NDArray[np.float64]

_SAME = 1e-6  # inches, and the sine of an angle
_VISIBLE = 1 / 16  # inches of play in which a line can be laid by eye
_SIDES = 1.5  # more than one side
_TIP = 0.5  # of a side, in the order of cuts
_SHORT = 0.5  # of the longest side of a piece: a trimmed tip
_LARGE = 0.1  # of a part: a rest worth to be cut off whole


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
class Option:
    """A line, with how far the guards on its two sides move for it; smaller `rank` is better."""

    rank: tuple[float, ...]
    line: Line
    above: NDArray[np.bool_]
    up: float = 0.0
    down: float = 0.0


class Lines:
    """Finds the lines for a ruler with marks `step` apart; they are not yet in order.

    `rest_first`: what lies beside a group of guards is cut off before the group is parted.
    """

    def __init__(self, step: float, *, rest_first: bool) -> None:
        self.step, self.rest_first = step, rest_first

    def beside_and_between(self, part: Part, guards: tuple[Guard, ...]) -> Iterator[Option]:
        """Give the lines that could be cut next."""
        for normal in normals_of_sides(guards):
            yield from self._square_to(part, guards, normal)
        if len(guards) <= 2:
            yield from self._across(part, guards)

    def along_edges(self, part: Part, guards: tuple[Guard, ...]) -> Iterator[Option]:
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

    def _square_to(self, part: Part, guards: tuple[Guard, ...], normal: Floats) -> Iterator[Option]:
        along = np.concatenate([g.corners for g in guards]) @ normal
        first = np.cumsum([0, *(len(g.corners) for g in guards[:-1])])
        low = np.minimum.reduceat(along, first)
        high = np.maximum.reduceat(along, first)
        of = np.repeat(np.arange(len(guards)), [len(g.corners) for g in guards])
        level = [np.abs(along - at[of]) < _SAME for at in (low, high)]
        sides = [np.where(np.add.reduceat(on, first) > 1, 1.0, 0.1) for on in level]
        if len(guards) == 1:
            # The long sides of a piece come before its tips, so that pieces of a row are cut alike.
            for side, on in zip(sides, level, strict=True):
                if is_tip(guards[0].corners, on):
                    side[:] = _TIP
        yield from self._level(part, normal, (low, high), (sides[0], sides[1]))

    def _level(
        self, part: Part, normal: Floats, span: tuple[Floats, Floats], sides: tuple[Floats, Floats]
    ) -> Iterator[Option]:
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
        wide = float(np.ptp(part.corners @ np.array([normal[1], -normal[0]])))
        large = _LARGE * part.outline.area
        slanted = is_slanted(part, normal)
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
            seeable = seen[1] - seen[0] >= min(self.step / 2, _VISIBLE)
            for offset, reference, point in self._offsets(
                part, normal, (below, above), references, other, wide=seeable
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
                rest = abs(outer - (above if count == 0 else below)) * wide
                if beside and (
                    # A fresh cut is not trimmed again by less than a step.
                    (abs(outer - (above if count == 0 else below)) < self.step - _SAME
                     and nearly_along(part, normal, outer, self.step))
                    # Beside a group a line helps as its end, or for others to be measured from.
                    or (len(order) > 2 and not lines and flush < _SIDES
                        and not (self.rest_first and rest > large))
                ):  # fmt: skip
                    continue
                if len(order) == 1:
                    order_of = 0.0
                elif (
                    self.rest_first and beside and not slanted
                    and (flush >= _SIDES or (rest > large and flush >= 1))
                ):  # fmt: skip
                    order_of = -1.0 - rest
                elif beside and slanted and lines == len(order) - 1 and flush >= 1:
                    order_of = 0.9  # the end of a row: then all of it is measured onwards
                elif beside:
                    order_of = 0.0 if flush >= _SIDES else 2.0
                else:
                    order_of = 1.0 if up + down > 0 else 0.0
                    if slanted:
                        order_of += 1.0 if len(order) > 2 and reference is not None else 3.0
                away = abs(offset - reference.offset) if reference and not free else 0.0
                yield Option(
                    (order_of, -flush, free, -exact, up + down, -lines, round(away, 6), offset),
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
        ) -> tuple[bool, float, float]:
            # Across the pieces, so that what is measured is what they need; then the nearest, and
            # of two as near the later cut, so that cuts make rows.
            zero, reference, _ = source
            outside = zero < middle if math.isinf(below) else zero > middle
            made = reference is not None and reference.key != "edge" and reference.key
            return one_sided and outside, round(abs(zero - middle), 6), -int(made)

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

    def _across(self, part: Part, guards: tuple[Guard, ...]) -> Iterator[Option]:
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
                # Where the line is askew to a side of a piece, that side is cut once more.
                askew = max(_beyond(g.corners, corners[[i, j]]) for g in guards)
                if askew > self.step - _SAME and len(guards) == 1:
                    continue
                yield Option(
                    (
                        0.5 if askew < self.step / 2 else 2.5,
                        -1.0 * len(guards), 0.0, rise + sink, offset,
                    ),
                    Line(normal, offset, None, corners=True),
                    above,
                    rise if rise > _SAME else 0.0,
                    sink if sink > _SAME else 0.0,
                )  # fmt: skip


def is_tip(ring: Floats, on: NDArray[np.bool_]) -> bool:
    """Tell whether corners of a piece are the ends of a side that is short for it."""
    long = np.hypot(*(following(ring) - ring).T).max()
    return bool(on.sum() == 2 and math.dist(*ring[on]) < _SHORT * long)


def _beyond(ring: Floats, line: Floats) -> float:
    """Return how far the ends of a line (2, 2) lie beyond the side that it runs along."""
    sides = following(ring) - ring
    out = np.column_stack((sides[:, 1], -sides[:, 0])) / np.hypot(*sides.T)[:, None]
    beyond = line @ out.T - np.sum(out * ring, axis=1)
    along = np.abs(out @ (line[1] - line[0])) < 0.5 * math.dist(*line)
    beyond[:, ~along] = math.inf
    return float(beyond.max(axis=0).min())
