"""Moving placed pieces so that the cuts along the grain lie on the marks of a ruler.

A packer sets a piece wherever it fits, to the last bit of a number; a person cuts along the marks.
Most layouts have a little room left, and it is spent here: rows of pieces that share their two cuts
move together, across to the next mark and then along to the next one, as far as the region and the
neighbours allow. Nothing is turned, added or taken away. What has no room stays where it is.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import product

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon, affinity

from scrapstore.packing.pieces import Placement

__all__ = ["on_marks", "row_of"]

_Floats = NDArray[np.float64]

_SAME = 1e-6  # inches: two cuts this close are one
_ON_MARK = 1e-6  # in marks
_INSIDE = 5e-7  # inches: half of what the verifier allows, which then has the last word


def on_marks(
    region: Polygon | MultiPolygon,
    placements: Sequence[Placement],
    *,
    zero: tuple[float, float] = (0.0, 0.0),
    step: float = 1 / 8,
) -> tuple[Placement, ...]:
    """Return the placements, in their order, moved to ruler marks where there is room for it.

    Marks are `step` inches apart in x and in y, counted from `zero`. The layout must be sound in
    `region`; the result is then sound as well and has at least as many cuts on marks.
    """
    best = list(placements)
    fewest = _off_marks(best, zero, step)
    # Rows pressed together move only if the one in front has gone ahead.
    for toward in (-1, 1):
        if not fewest:
            break
        moved = _Board(region, placements, zero, step).settled(toward)
        off = _off_marks(moved, zero, step)
        if off < fewest:
            best, fewest = moved, off
    return tuple(best)


def row_of(outline: Polygon, axis: int) -> tuple[float, float] | None:
    """Return the two levels between which a piece lies, if a side of it runs along one of them.

    `axis` 0: level rows, between two values of y; 1: upright ones, between two values of x. A
    triangle has one such side; its tip touches the other cut of the row.
    """
    levels = np.asarray(outline.exterior.coords)[:, 1 - axis]
    low, high = float(levels.min()), float(levels.max())
    sides = levels[:-1][np.abs(np.diff(levels)) < _SAME]
    touches = np.any(np.abs(sides - low) < _SAME) or np.any(np.abs(sides - high) < _SAME)
    return (low, high) if touches else None


def _rows(outlines: Sequence[Polygon]) -> list[tuple[int, list[int]]]:
    """Return the rows as (axis, members); a piece without level or upright side is in none."""
    rows: dict[tuple[int, int, int], list[int]] = {}
    for index, outline in enumerate(outlines):
        for axis in (0, 1):
            band = row_of(outline, axis)
            if band is not None:
                key = (axis, round(band[0] / (10 * _SAME)), round(band[1] / (10 * _SAME)))
                rows.setdefault(key, []).append(index)
                break
    return [(key[0], members) for key, members in sorted(rows.items())]


def _off_marks(placements: Iterable[Placement], zero: tuple[float, float], step: float) -> float:
    """Return how many rows lie off the marks; one that only begins off them counts a tenth."""
    outlines = [placement.outline for placement in placements]
    off = 0.0
    for axis, members in _rows(outlines):
        boxes = np.array([outlines[i].bounds for i in members])
        off += not _marked(float(boxes[:, 1 - axis].min()) - zero[1 - axis], step)
        off += 0.1 * (not _marked(float(boxes[:, axis].min()) - zero[axis], step))
    return off


def _marked(inches: float, step: float) -> bool:
    marks = inches / step
    return abs(marks - round(marks)) < _ON_MARK


class _Board:
    """The pieces while they move."""

    def __init__(
        self,
        region: Polygon | MultiPolygon,
        placements: Sequence[Placement],
        zero: tuple[float, float],
        step: float,
    ) -> None:
        self._region = region
        self._placements = list(placements)
        self._outlines = [placement.outline for placement in placements]
        self._zero = zero
        self._step = step
        shapely.prepare(region)

    def settled(self, toward: int) -> list[Placement]:
        """Return the placements after all rows moved, those nearest to `toward` (-1, 1) first."""
        for axis, members in self._in_order(toward):
            self._move(members, axis, toward)
        return [
            replace(placement, outline=outline)
            for placement, outline in zip(self._placements, self._outlines, strict=True)
        ]

    def _in_order(self, toward: int) -> list[tuple[int, list[int]]]:
        def place(row: tuple[int, list[int]]) -> float:
            axis, members = row
            return -toward * self._outlines[members[0]].bounds[1 - axis]

        return sorted(_rows(self._outlines), key=place)

    def _move(self, members: list[int], axis: int, toward: int) -> None:
        """Move a row to marks next to it, across and along, as far as that is free.

        A row pressed against a slanting edge is free only to go both ways at once.
        """
        boxes = np.array([self._outlines[i].bounds for i in members])
        across = self._ways(float(boxes[:, 1 - axis].min()), 1 - axis, toward)
        along = self._ways(float(boxes[:, axis].min()), axis, toward)
        # Both on marks is best, then the cuts of the row, then where it begins.
        for way in sorted(product(across, along), key=lambda way: (not way[0][1], not way[1][1])):
            (aside, _), (ahead, _) = way
            shift = (ahead, aside) if axis == 0 else (aside, ahead)
            if shift == (0.0, 0.0):
                return
            moved = [affinity.translate(self._outlines[i], *shift) for i in members]
            if self._free(members, moved):
                for i, outline in zip(members, moved, strict=True):
                    self._outlines[i] = outline
                return

    def _ways(self, at: float, axis: int, toward: int) -> list[tuple[float, bool]]:
        """Return how far to go along `axis` to the marks beside `at`, and whether it ends on one.

        The mark on the side of `toward` comes first, staying off the marks last.
        """
        marks = (at - self._zero[axis]) / self._step
        if _marked(at - self._zero[axis], self._step):
            return [(0.0, True)]
        beside = [(float(mark) - marks) * self._step for mark in (np.floor(marks), np.ceil(marks))]
        return [*((by, True) for by in beside[::-toward]), (0.0, False)]

    def _free(self, members: list[int], moved: list[Polygon]) -> bool:
        inner = [one.buffer(-_INSIDE, join_style="mitre", mitre_limit=10.0) for one in moved]
        if not all(self._region.covers(one) for one in inner):
            return False
        others = [one for i, one in enumerate(self._outlines) if i not in members]
        return not shapely.intersects(np.array(inner)[:, None], np.array(others)[None]).any()
