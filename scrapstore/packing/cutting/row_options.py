"""The directions in which rows may run across the cloth, and the blocks for rows of a direction."""

from collections.abc import Sequence
from functools import cached_property

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon

from scrapstore.packing.cutting.blocks import Block, build_blocks, side_directions_deg, stack
from scrapstore.packing.pieces import PieceKind

__all__ = ["RowOptions", "row_directions_deg"]

_SAME = 1e-6
_STRIDE = 1 / 8  # inches between the heights at which rows are tried, rounded to marks
_MOST_DIRECTIONS = 5


def row_directions_deg(region: Polygon | MultiPolygon, kinds: Sequence[PieceKind]) -> list[float]:
    """Return the angles of rows, those along long edges of the cloth and along the grain first.

    Every angle is followed by its opposite, for rows that begin at the other side.
    """
    sides = np.diff(shapely.get_coordinates(region.convex_hull), axis=0)
    length = np.hypot(sides[:, 0], sides[:, 1])
    angles = np.degrees(np.arctan2(sides[:, 1], sides[:, 0])) % 180

    def length_along(angle: float) -> float:
        off = np.abs((angles - angle + 90) % 180 - 90)
        return float(np.sum(length * np.maximum(0.0, 1 - off / 10)))

    order = sorted(
        side_directions_deg(kinds),
        key=lambda angle: -round(length_along(angle) + (angle % 90 == 0) * 0.1, 3),
    )
    return [angle + half for angle in order[:_MOST_DIRECTIONS] for half in (0.0, 180.0)]


class RowOptions:
    """The blocks that may stand in rows along one direction (`along_deg`)."""

    def __init__(self, kinds: Sequence[PieceKind], along_deg: float, step: float) -> None:
        self.kinds, self.along_deg, self.step = kinds, along_deg, step
        self.area = [kind.outline.area for kind in kinds]
        self.stride = max(1, round(_STRIDE / step)) * step
        self._by_height: dict[float, list[Block]] = {}

    @cached_property
    def blocks(self) -> list[Block]:
        """All blocks of single height."""
        return build_blocks(self.kinds, self.along_deg, self.step)

    @cached_property
    def heights(self) -> list[float]:
        """The different heights of blocks, the tallest first."""
        return sorted({round(b.height, 9) for b in self.blocks}, reverse=True)

    def of_height(self, height: float) -> list[Block]:
        """Return the blocks for a row: those as high as it first, then stacks, then lower ones."""
        if height not in self._by_height:
            own = [b for b in self.blocks if abs(b.height - height) < _SAME]
            lower = [b for b in self.blocks if b.height < height - _SAME]
            stacks = [s for b in lower if (s := stack(b, height)) is not None]

            def order(block: Block) -> float:
                return -block.count * self.area[block.kind] / max(block.width, 0.1) / height

            self._by_height[height] = [
                block for group in (own, stacks, lower) for block in sorted(group, key=order)
            ]
        return self._by_height[height]
