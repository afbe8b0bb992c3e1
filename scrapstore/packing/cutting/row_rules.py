"""Which way rows may run across the cloth, and what may stand in rows of one direction."""

from collections.abc import Sequence

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon

from scrapstore.packing.cutting.blocks import Block, blocks_of, stacked
from scrapstore.packing.cutting.shapes import directions_deg, turned_kinds
from scrapstore.packing.pieces import PieceKind

__all__ = ["RowRules", "row_ways"]

_SAME = 1e-6
_STRIDE = 1 / 8  # inches: rows are tried at marks about so far apart
_MOST_WAYS = 5


def row_ways(region: Polygon | MultiPolygon, kinds: Sequence[PieceKind]) -> list[float]:
    """Return the directions for rows: along the long edges of the cloth, and as the grain lies."""
    hull = shapely.get_coordinates(region.convex_hull)
    sides = np.diff(hull, axis=0)
    long = np.hypot(sides[:, 0], sides[:, 1])
    lies = np.degrees(np.arctan2(sides[:, 1], sides[:, 0])) % 180

    def beside(angle: float) -> float:
        off = np.abs((lies - angle + 90) % 180 - 90)
        return float(np.sum(long * np.maximum(0.0, 1 - off / 10)))

    every = directions_deg(kinds)
    order = sorted(
        every, key=lambda a: (-round(beside(a) + (a % 90 == 0) * 0.1, 3), every.index(a))
    )
    chosen = order[:_MOST_WAYS]
    return [angle + half for angle in chosen for half in (0.0, 180.0)]


class RowRules:
    """What may stand in rows along one direction."""

    def __init__(self, kinds: Sequence[PieceKind], along: float, step: float) -> None:
        self.kinds, self.along, self.step = kinds, along, step
        self.area = [kind.outline.area for kind in kinds]
        self.blocks = blocks_of(turned_kinds(kinds, along), step)
        self.heights = sorted({round(b.height, 9) for b in self.blocks}, reverse=True)
        self.stride = max(1, round(_STRIDE / step)) * step
        self._columns: dict[float, list[Block]] = {}

    def of_height(self, height: float) -> list[Block]:
        """Return the blocks for a row, those that fill its height first."""
        if height not in self._columns:
            own = [b for b in self.blocks if abs(b.height - height) < _SAME]
            lower = [b for b in self.blocks if b.height < height - _SAME]
            piled = [s for b in lower if (s := stacked(b, height)) is not None]

            def order(block: Block) -> float:
                return -block.count * self.area[block.kind] / max(block.width, 0.1) / height

            self._columns[height] = [
                *sorted(own, key=order), *sorted(piled, key=order), *sorted(lower, key=order),
            ]  # fmt: skip
        return self._columns[height]
