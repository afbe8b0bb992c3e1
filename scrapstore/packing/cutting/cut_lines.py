"""The candidate lines along which a part of the cloth is cut next, each on a mark of the ruler.

A line is measured from an edge of the part that a ruler can lie against: from a parallel one by
whole marks, from another one by its angle; or it runs from corner to corner.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scrapstore.packing.cutting.geometry import (
    distinct_normals,
    overhang,
    upward_normal,
    vertices,
)
from scrapstore.packing.cutting.parts import (
    Part,
    Reference,
    angled_reference,
    has_cut_at,
    is_slanted,
    parallel_references,
    reference_corners,
)
from scrapstore.packing.cutting.protected_pieces import ProtectedPiece, side_normals
from scrapstore.packing.pieces import following

__all__ = ["CutLine", "CutLineFinder", "CutOption", "is_tip"]

Floats = NDArray[np.float64]
_Source = tuple[float, Reference | None, tuple[float, float] | None]
"""A level that a line is measured from, its reference, and a corner where that is at an angle."""

_SAME = 1e-6  # inches, and the sine of an angle
_VISIBLE = 1 / 16  # inches of play in which a line can be laid by eye
_SIDES = 1.5  # more than one side
_TIP = 0.5  # of a side, in the order of cuts
_SHORT = 0.5  # of the longest side of a piece: a trimmed tip
_LARGE = 0.1  # of a part: a rest worth to be cut off whole


@dataclass(frozen=True)
class CutLine:
    """A cut to be made, normal · point = offset, and how the ruler lies for it.

    `reference` is the edge that it is measured from, None where the ruler lies freely or, with
    `corners`, from corner to corner. A line at an angle lies `distance` from `point`, a corner of
    the part, unless it has room to be laid by eye.
    """

    normal: Floats
    offset: float
    reference: Reference | None
    corners: bool = False
    point: tuple[float, float] | None = None
    distance: float | None = None


@dataclass
class CutOption:
    """A line, and which pieces lie on the side of its normal; the least `rank` is the best.

    For it those pieces move `up`, the others `down`, inches along the normal.
    """

    rank: tuple[float, ...]
    line: CutLine
    above: NDArray[np.bool_]
    up: float = 0.0
    down: float = 0.0


class CutLineFinder:
    """Finds candidate lines for a ruler with marks `step` inches apart, in no order.

    `rest_first`: the cloth beside a group of pieces is cut off before the group is divided.
    """

    def __init__(self, step: float, *, rest_first: bool) -> None:
        self.step, self.rest_first = step, rest_first

    def candidates(self, part: Part, pieces: tuple[ProtectedPiece, ...]) -> Iterator[CutOption]:
        """Yield the lines along the sides of pieces, and from corner to corner."""
        for normal in side_normals(pieces):
            yield from self._lines_across(part, pieces, normal)
        if len(pieces) <= 2:
            yield from self._diagonals(part, pieces)

    def edge_candidates(
        self, part: Part, pieces: tuple[ProtectedPiece, ...]
    ) -> Iterator[CutOption]:
        """Yield the lines between groups of pieces along, or square to, an edge of the part."""
        ways = [np.array(way) for x, y in part.normals for way in ((-y, x), (x, y))]
        for normal in distinct_normals(ways):
            for option in self._lines_across(part, pieces, normal):
                if 0 < option.above.sum() < len(pieces):
                    yield option

    def _lines_across(
        self, part: Part, pieces: tuple[ProtectedPiece, ...], normal: Floats
    ) -> Iterator[CutOption]:
        """Yield the lines square to `normal`."""
        counts = [len(piece.corners) for piece in pieces]
        along = np.concatenate([piece.corners for piece in pieces]) @ normal
        first = np.cumsum([0, *counts[:-1]])
        low = np.minimum.reduceat(along, first)
        high = np.maximum.reduceat(along, first)
        of = np.repeat(np.arange(len(pieces)), counts)
        level = [np.abs(along - at[of]) < _SAME for at in (low, high)]
        sides = [np.where(np.add.reduceat(on, first) > 1, 1.0, 0.1) for on in level]
        if len(pieces) == 1:
            # The long sides of a piece come before its tips, so that pieces of a row are cut alike.
            for side, on in zip(sides, level, strict=True):
                if is_tip(pieces[0].corners, on):
                    side[:] = _TIP
        yield from self._lines_at_levels(part, normal, (low, high), (sides[0], sides[1]))

    def _lines_at_levels(
        self, part: Part, normal: Floats, span: tuple[Floats, Floats], sides: tuple[Floats, Floats]
    ) -> Iterator[CutOption]:
        """Yield the lines square to `normal`: between groups of pieces, and beside all of them.

        `span` are the lowest and highest levels of the pieces, (n,) each; `sides` is 1 where a side
        of the piece lies there and less where it is a tip or only a corner.
        """
        low, high = span
        reach = part.corners @ normal
        bottom, top = float(reach.min()), float(reach.max())
        references = parallel_references(part, normal)
        own = {r.key for r in references}
        other = angled_reference(part, normal)
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
            visible = seen[1] - seen[0] >= min(self.step / 2, _VISIBLE)
            for offset, reference, point in self._offsets(
                part, normal, (below, above), references, other, wide=visible
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
                is_outer = count in (0, len(order))
                strip = abs(outer - (above if count == 0 else below))
                rest = strip * wide
                if is_outer and (
                    # A cut edge is not trimmed again by less than a step.
                    (strip < self.step - _SAME and has_cut_at(part, normal, outer, self.step))
                    # Beside a group a line helps as its end, or for others to be measured from.
                    or (len(order) > 2 and not lines and flush < _SIDES
                        and not (self.rest_first and rest > large))
                ):  # fmt: skip
                    continue
                if len(order) == 1:
                    stage = 0.0
                elif (
                    self.rest_first and is_outer and not slanted
                    and (flush >= _SIDES or (rest > large and flush >= 1))
                ):  # fmt: skip
                    stage = -1.0 - rest
                elif is_outer and slanted and lines == len(order) - 1 and flush >= 1:
                    stage = 0.9  # the end of a row: from there all of it is measured
                elif is_outer:
                    stage = 0.0 if flush >= _SIDES else 2.0
                else:
                    stage = 1.0 if up + down > 0 else 0.0
                    if slanted:
                        stage += 1.0 if len(order) > 2 and reference is not None else 3.0
                away = abs(offset - reference.offset) if reference and not free else 0.0
                yield CutOption(
                    (stage, -flush, free, -exact, up + down, -lines, round(away, 6), offset),
                    CutLine(
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
    ) -> Iterator[_Source]:
        """Yield the offsets of lines between two levels, with the reference and its corner.

        `other` is the reference at an angle; `wide` says whether a line may be laid by eye.
        """
        sources: list[_Source] = [(reference.offset, reference, None) for reference in references]
        seen: set[float] = set()
        if not references and other is not None and other[0] is not None:
            sources = [
                (float(normal @ point), other[0], (float(point[0]), float(point[1])))
                for point in reference_corners(part)
            ]
        below, above = levels
        middle = above if math.isinf(below) else below if math.isinf(above) else (below + above) / 2
        one_sided = math.isinf(below) != math.isinf(above)

        def preference(source: _Source) -> tuple[bool, float, float]:
            # Sources across the pieces come first, so that what is measured is what they need; then
            # the nearest, and of two as near the later cut, so that cuts make rows.
            zero, reference, _ = source
            outside = zero < middle if math.isinf(below) else zero > middle
            made = reference is not None and reference.key != "edge" and reference.key
            return one_sided and outside, round(abs(zero - middle), 6), -int(made)

        for zero, reference, point in sorted(sources, key=preference):
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
        # Where there is room, a line may lie anywhere and is not measured.
        for level in levels[::-1]:
            if not math.isinf(level) and round(level, 7) not in seen:
                yield level, other[0], None

    def _diagonals(self, part: Part, pieces: tuple[ProtectedPiece, ...]) -> Iterator[CutOption]:
        """Yield the lines from corner to corner of a part that divide its pieces or trim one."""
        corners = vertices(part.corners[:-1])
        if len(part.outline.interiors) or not 4 <= len(corners) <= 6:
            return
        for i in range(len(corners)):
            for j in range(i + 2, len(corners) - (i == 0)):
                normal = upward_normal(corners[j] - corners[i])
                offset = float(normal @ corners[i])
                low = np.array([(piece.corners @ normal).min() for piece in pieces]) - offset
                high = np.array([(piece.corners @ normal).max() for piece in pieces]) - offset
                above = low + high > 0
                if len(pieces) == 2 and above[0] == above[1]:
                    continue
                rise = max(0.0, float(-low[above].min(initial=0.0)))
                sink = max(0.0, float(high[~above].max(initial=0.0)))
                if max(rise, sink) > 2 * self.step:
                    continue
                # Where the line is askew to a side of a piece, that side is cut once more.
                askew = max(overhang(piece.corners, corners[[i, j]]) for piece in pieces)
                if askew > self.step - _SAME and len(pieces) == 1:
                    continue
                yield CutOption(
                    (
                        0.5 if askew < self.step / 2 else 2.5,
                        -1.0 * len(pieces), 0.0, rise + sink, offset,
                    ),
                    CutLine(normal, offset, None, corners=True),
                    above,
                    rise if rise > _SAME else 0.0,
                    sink if sink > _SAME else 0.0,
                )  # fmt: skip


def is_tip(ring: Floats, on: NDArray[np.bool_]) -> bool:
    """Tell whether the corners `on` (n,) of a piece are the ends of a side that is short for it.

    `ring` (n, 2) are all its corners.
    """
    longest = np.hypot(*(following(ring) - ring).T).max()
    return bool(on.sum() == 2 and math.dist(*ring[on]) < _SHORT * longest)
