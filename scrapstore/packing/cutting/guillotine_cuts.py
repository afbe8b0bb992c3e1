"""From a layout to the cuts: straight lines through whole parts, each on a mark of the ruler.

A part with several pieces is divided by a line between them; a part with one piece is trimmed until
it is that piece. Where no mark lies between two groups of pieces, one group moves a little. The
search goes depth first, the best ranked line first, and stops at the first way that frees every
piece.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon

from scrapstore.packing.convex import half_planes
from scrapstore.packing.cutting.cut_lines import CutLine, CutLineFinder, CutOption
from scrapstore.packing.cutting.geometry import vertices_with_directions
from scrapstore.packing.cutting.parts import Part, is_bounded_by_cuts, split, whole_part
from scrapstore.packing.cutting.protected_pieces import ProtectedPiece, pieces_within
from scrapstore.packing.pieces import following

__all__ = ["CutNode", "guillotine_cuts"]

Floats = NDArray[np.float64]

_SAME = 1e-6  # inches, and the sine of an angle
_INSIDE = 5e-7  # inches: half of what the verifier allows, which then has the last word
_LEAST_SLIDE = 0.3
_OPTIONS = 5  # lines that are tried for one part


@dataclass
class CutNode:
    """A node of the tree of cuts: a part, cut along `line` into `children`, or an end.

    An end holds the `pieces`. `by_template` is the number of pieces in the part that no ruler
    frees, `cuts` the number of cuts from here on; `key` is unique.
    """

    key: int
    part: Part
    pieces: tuple[ProtectedPiece, ...]
    line: CutLine | None = None
    children: tuple["CutNode", ...] = ()
    by_template: int = 0
    cuts: int = 0

    @property
    def cost(self) -> tuple[int, int]:
        """What a choice minimises: pieces by template, then cuts."""
        return self.by_template, self.cuts


def guillotine_cuts(
    outline: Polygon,
    region: Polygon | MultiPolygon,
    pieces: Sequence[ProtectedPiece],
    step: float,
    *,
    rest_first: bool = False,
    work: int = 40,
) -> CutNode:
    """Return the tree of cuts that frees the pieces; they may move a little within the region.

    `step` is the distance between the ruler's marks, in inches. `rest_first`: the cloth beside a
    group of pieces is cut off before the group is divided. `work` is the number of parts that may
    be examined before the best tree so far is taken.
    """
    search = _GuillotineSearch(region, step, work, rest_first=rest_first)
    return search.best_cuts(whole_part(outline), tuple(pieces))


class _GuillotineSearch:
    def __init__(
        self, region: Polygon | MultiPolygon, step: float, work: int, *, rest_first: bool
    ) -> None:
        self.region, self.step, self.work = region, step, work
        self._lines = CutLineFinder(step, rest_first=rest_first)
        self._key = 0
        shapely.prepare(region)

    def best_cuts(self, part: Part, pieces: tuple[ProtectedPiece, ...]) -> CutNode:
        """Return the best tree found that frees the pieces of a part.

        A single piece is moved into a corner of the part where that saves cuts.
        """
        best = self._cut(part, pieces)
        if len(pieces) == 1 and best.cost > (0, 1):
            for moved in self._in_corners(part, pieces[0]):
                if best.by_template or self._fewest_cuts(part, moved) < best.cuts:
                    best = min(best, self._cut(part, (moved,)), key=lambda node: node.cost)
        return best

    def _fewest_cuts(self, part: Part, piece: ProtectedPiece) -> int:
        """Return a lower bound on the cuts that free a piece that is alone in its part.

        Cloth a step beyond the middle of a side is cut off along that side and no other.
        """
        sides = (piece.corners + following(piece.corners)) / 2
        beyond = sides + half_planes(piece.corners)[:, :2] * self.step
        return int(shapely.contains_xy(part.outline, beyond).sum())

    def _in_corners(self, part: Part, piece: ProtectedPiece) -> Iterator[ProtectedPiece]:
        """Yield the piece moved into each corner of the part that one of its own corners fills."""
        own, own_into, own_out = vertices_with_directions(piece.corners)
        for room in shapely.get_parts(shapely.intersection(part.outline, self.region)):
            if room.geom_type != "Polygon":
                continue
            ring = shapely.get_coordinates(shapely.orient_polygons(room))[:-1]
            at, into, out = vertices_with_directions(ring)
            off = np.abs(into[:, None] - own_into) + np.abs(out[:, None] - own_out)
            for i, j in np.argwhere(off.max(axis=2) < _SAME):
                moved = piece.moved(at[i] - own[j])
                if self._fits(part, [moved]):
                    yield moved

    def _cut(self, part: Part, pieces: tuple[ProtectedPiece, ...]) -> CutNode:
        self._key += 1
        key = self._key
        if not pieces:
            return CutNode(key, part, ())
        self.work -= 1
        cut_out = len(pieces) == 1 and self._is_cut_out(part, pieces[0])
        if cut_out and is_bounded_by_cuts(part, pieces[0].corners):
            return CutNode(key, part, pieces)
        options = sorted(self._lines.candidates(part, pieces), key=lambda option: option.rank)
        if len(pieces) > 1 and not any(0 < o.above.sum() < len(pieces) for o in options):
            # No line along a side divides them; perhaps one along an edge of the part does.
            more = self._lines.edge_candidates(part, pieces)
            options += sorted(more, key=lambda option: option.rank)
        uncut = best = CutNode(key, part, pieces, by_template=len(pieces))
        tried = 0
        for option in options:
            found = self._apply(key, part, pieces, option)
            if found is None:
                continue
            best = min(best, found, key=lambda node: node.cost)
            tried += 1
            if not best.by_template or tried >= _OPTIONS or self.work <= 0:
                break
        if best is uncut and cut_out:
            uncut.by_template = 0
        return best

    def _apply(
        self, key: int, part: Part, pieces: tuple[ProtectedPiece, ...], option: CutOption
    ) -> CutNode | None:
        """Return the tree that begins with a line; None where it or the pieces do not fit."""
        line = option.line
        halves = split(part, line.normal, line.offset, key)
        if halves is None:
            return None
        above = option.above.tolist()
        groups = []
        for side, way, distance in ((True, 1.0, option.up), (False, -1.0, option.down)):
            group = [piece for piece, lies in zip(pieces, above, strict=True) if lies == side]
            if distance:
                group = self._shifted(part, group, way * line.normal, distance)
            groups.append(group)
        if sum(map(len, groups)) < len(pieces):
            return None
        # A single piece has its place already.
        search = self.best_cuts if len(pieces) > 1 else self._cut
        children: list[CutNode] = []
        for parts, left in zip(halves, groups, strict=True):
            for child in parts:
                here = left if len(parts) == 1 else pieces_within(child.outline, left)
                left = [piece for piece in left if piece not in here]
                children.append(search(child, tuple(here)))
            if left:
                return None
        by_template = sum(child.by_template for child in children)
        cuts = 1 + sum(child.cuts for child in children)
        return CutNode(key, part, pieces, line, tuple(children), by_template, cuts)

    def _shifted(
        self, part: Part, pieces: list[ProtectedPiece], normal: Floats, distance: float
    ) -> list[ProtectedPiece]:
        """Return the pieces moved together by `distance` along `normal`; none where no room is.

        They slide along an edge of the part, so that a row stays one, or go straight.
        """
        directions = [np.array([-y, x]) for x, y in part.normals]
        slides = [(float(normal @ direction), direction) for direction in directions]
        ways = [direction / slide for slide, direction in slides if abs(slide) > _LEAST_SLIDE]
        ways.sort(key=lambda way: round(math.hypot(*way), 6))
        for way in (*ways, normal):
            moved = [piece.moved(way * distance) for piece in pieces]
            if self._fits(part, moved):
                return moved
        return []

    def _fits(self, part: Part, pieces: Sequence[ProtectedPiece]) -> bool:
        """Tell whether pieces lie in the region and in the part."""
        inner = [
            Polygon(piece.corners).buffer(-_INSIDE, join_style="mitre", mitre_limit=10.0)
            for piece in pieces
        ]
        return all(part.outline.covers(one) and self.region.covers(one) for one in inner)

    def _is_cut_out(self, part: Part, piece: ProtectedPiece) -> bool:
        """Tell whether a part is its piece: larger by less than a step on every side."""
        planes = half_planes(piece.corners)
        beyond = (part.corners @ planes[:, :2].T).max(axis=0) - planes[:, 2]
        return bool(beyond.max() < self.step - _SAME)
