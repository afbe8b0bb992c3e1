"""The exact outlines of what segmentation takes for scraps; some turn out to be none."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from shapely.geometry import Polygon
from shapely.geometry.polygon import orient

from scrapstore.photo.arrays import Floats, Labels
from scrapstore.photo.forms import Refusal
from scrapstore.photo.outline import tuning
from scrapstore.photo.outline.corners import ClothShares, fit_polygon
from scrapstore.photo.outline.edges import Edge, EdgeFinder
from scrapstore.photo.outline.rings import signed_area, simplify_ring
from scrapstore.photo.outline.slivers import remove_slivers
from scrapstore.photo.outline.stalks import has_stalk
from scrapstore.photo.outline.tips import with_tips
from scrapstore.photo.segmentation import LEAST_WIDTH, Segment, Segmentation, Table, outer_ring
from scrapstore.shapes import bounding_sides

__all__ = ["TracedScrap", "is_crease", "trace_scraps"]


@dataclass(frozen=True, eq=False)
class TracedScrap:
    """A scrap on the table: outline (table inches), its edge all round, its pixels.

    `edge`: n × 2 table inches, the places where the edge was seen; `contrast`: how plain, n.
    `stalked`: a part too narrow to be measured hangs on it, and is left out.
    """

    outline: Polygon
    edge: Floats
    contrast: Floats
    segment: Segment
    stalked: bool = False


_CREASE: Final = Refusal(
    "no contrast",
    "something narrow and crooked lies there, more like a crease or a seam of the surface",
    "if it is a scrap, lay it straight, on a surface of another colour, or type its size",
)


def trace_scraps(segmentation: Segmentation) -> tuple[list[TracedScrap], list[Refusal]]:
    """Return the scraps with their edges as the picture shows them, and why others are left out."""
    found: list[TracedScrap] = []
    left_out: list[Refusal] = []
    for part in segmentation.parts:
        traced = _trace(part, segmentation.table) if isinstance(part, Segment) else part
        if isinstance(traced, TracedScrap):
            found.append(traced)
        elif traced is not None:
            left_out.append(traced)
    return found, left_out


def _trace(segment: Segment, table: Table) -> TracedScrap | Refusal | None:
    """Return the scrap with its edge as the picture shows it; None when it is too narrow."""
    candidate = segment.candidate
    rough_finder = EdgeFinder(
        table.pixels, table.view, table.rectified, segment.model, table.backdrop
    )
    origin = np.array([candidate.window[1].start, candidate.window[0].start])

    def edge_of(ring: Labels, *, hole: bool) -> tuple[Polygon, Edge] | None:
        points = table.rectified.to_table(ring.reshape(-1, 2).astype(np.float64) + origin)
        points = _oriented(points, left=not hole)
        finder = rough_finder.knowing_beside(simplify_ring(points, tuning.PLAIN_TOLERANCE))
        shares = ClothShares(finder.scrap_share, finder.cloth_share)
        edge = None
        for reach in tuning.REACHES:
            # From a plainer ring with its corners sharp, the edge is seen under steady directions.
            plain = fit_polygon(points, shares, tuning.PLAIN_TOLERANCE, notches=segment.notches)
            simple = (
                simplify_ring(points, tuning.PLAIN_TOLERANCE)
                if plain is None
                else np.asarray(plain.exterior.coords)[:-1]
            )
            simple = _oriented(simple, left=not hole)
            if reach != tuning.REACHES[0]:
                simple = with_tips(simple, finder.is_scrap, finder.pixel(simple))
            edge = finder.refine(simple, reach)
            if edge is None:
                return None
            points = edge.points
        points = remove_slivers(points, finder.scrap_share)
        outline = fit_polygon(points, shares, notches=segment.notches)
        return None if outline is None or edge is None else (outline, edge)

    whole = edge_of(outer_ring(candidate.mask), hole=False)
    if whole is None or bounding_sides(whole[0])[1] < LEAST_WIDTH:
        return None
    if is_crease(whole[0], whole[1].contrast):
        return table.located(_CREASE, candidate)
    cut = [edge_of(hole, hole=True) for hole in segment.holes]
    inside = [c[0].exterior.coords for c in cut if c is not None and whole[0].contains(c[0])]
    outline = Polygon(whole[0].exterior.coords, inside)
    outline = orient(outline if outline.is_valid else whole[0])
    ring = np.asarray(outline.exterior.coords)[:-1]
    stalked = has_stalk(ring, rough_finder.knowing_beside(ring).is_own_cloth)
    return TracedScrap(outline, whole[1].points, whole[1].contrast, segment, stalked)


def is_crease(outline: Polygon, contrast: Floats) -> bool:
    """Say whether something narrow and crooked is more likely the background's than a scrap.

    Creases, seams and the grain of boards are so, with an edge (`contrast` all round) that is plain
    in places only. A strip bent to a curve or a corner counts as crooked: its edge must be plain.
    """
    mean_width = 2 * outline.area / outline.exterior.length
    straight = outline.area > tuning.CREASE_FILLS * outline.convex_hull.area
    return bool(
        mean_width < tuning.CREASE_WIDTH
        and not straight
        and np.percentile(contrast, 25) < tuning.CREASE_EDGE
    )


def _oriented(ring: Floats, *, left: bool) -> Floats:
    """Return the ring counter-clockwise (`left`) or clockwise."""
    return ring if (signed_area(ring) > 0) == left else ring[::-1]
