"""How wrong a measured outline may be, in inches, stated so that it holds 95 times in 100."""

from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from shapely.geometry import Polygon

from scrapstore.photo.arrays import Floats, Mask
from scrapstore.photo.outline import tuning
from scrapstore.photo.scale import CameraPose, View, rotated

__all__ = [
    "EdgeSigns",
    "edge_signs",
    "edge_uncertainty",
    "geometry_uncertainty",
    "outline_uncertainty",
    "sign_uncertainty",
]


# Set on rendered photos so that the sum holds for 95 scraps of 100; the benchmark
# tests/benchmarks/photo_measure.py shows for how many it does.
_TWO_SIGMA: Final = 1.96


def outline_uncertainty(
    outline: Floats, pose: CameraPose, pixels_per_inch: float, by_signs: float
) -> float:
    """Return the outline's uncertainty: camera and squares, and the edge itself.

    `outline`: n × 2 table inches; `by_signs`: as `sign_uncertainty` returns it.
    """
    edge = edge_uncertainty(pixels_per_inch, by_signs)
    return float(np.hypot(geometry_uncertainty(outline, pose), edge))


def geometry_uncertainty(outline: Floats, pose: CameraPose) -> float:
    """Return by how much camera and squares may have bent or stretched the outline, inches.

    Each principal error of the solution moves the points; what is merely a shift or a turn of the
    whole scrap does not matter and is taken out first. The rest adds up in squares.
    """
    imaged = pose.view.to_image(outline)
    total = np.zeros(len(outline))
    for view in pose.perturbed_views(tuning.SMALL_PART):
        moved = _without_motion(outline, view, imaged) / tuning.SMALL_PART
        total += np.sum(moved**2, axis=1)
    return float(_TWO_SIGMA * np.sqrt(total.max()))


def _without_motion(outline: Floats, view: View, imaged: Floats) -> Floats:
    moved = view.to_table(imaged)
    moved = np.where(np.isfinite(moved), moved, outline)
    a, b = outline - outline.mean(axis=0), moved - moved.mean(axis=0)
    # The turn that brings b nearest to a (Procrustes in the plane).
    turn = np.arctan2(np.sum(b[:, 0] * a[:, 1] - b[:, 1] * a[:, 0]), np.sum(a * b))
    return np.asarray(rotated(b, turn) - a)


def edge_uncertainty(pixels_per_inch: float, by_signs: float) -> float:
    """Return how far the edge itself may be from where it was seen, inches.

    `by_signs`: as `sign_uncertainty` returns it.
    """
    return float(np.hypot(tuning.PIXELS / pixels_per_inch, by_signs))


@dataclass(frozen=True)
class EdgeSigns:
    """What an edge as seen says of how wrong it is; all of it is 0 or more, and 0 is best.

    `apart`: inches, width of the widest patch in which two looks at the scrap differ; `patch`:
    inches, width of the widest patch within that looks like the background; `odd_corners`: how
    many corners lie beside a short side, as those of bites and curves do; `strayed`: inches by
    which a stretch of the edge as seen lies off the outline; `unseen`: inches of its longest
    stretch with little contrast.
    """

    apart: float
    patch: float
    odd_corners: int
    strayed: float
    unseen: float

    def terms(self) -> Floats:
        """Return the terms whose weighted sum is the uncertainty: 1, and one for each sign."""
        corners = min(self.odd_corners, tuning.ODD_CORNERS)
        return np.array(
            [1.0, *np.sqrt([self.apart, self.patch, corners, self.strayed, self.unseen])]
        )


def edge_signs(
    outline: Polygon, edge: Floats, contrast: Floats, *, apart: float, patch: float
) -> EdgeSigns:
    """Return the signs of an outline (table inches) whose edge was seen at `edge` (n × 2).

    `contrast`: how plain it was seen there, n; `apart` and `patch`: as `Segment` has them.
    """
    ring = np.asarray(outline.exterior.coords)[:-1]
    before, after = ring - np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0) - ring
    shorter = np.minimum(np.linalg.norm(before, axis=1), np.linalg.norm(after, axis=1))
    turn = np.arctan2(
        before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0], np.sum(before * after, axis=1)
    )
    odd = (shorter < tuning.SHORT_SIDE) & (np.abs(turn) > tuning.ODD_TURN)
    off = shapely.distance(shapely.points(edge), outline.exterior)
    # A thread that was taken off is narrower than such a stretch.
    stretches = [np.roll(off, k) for k in range(tuning.STRETCH_PLACES)]
    return EdgeSigns(
        apart=apart,
        patch=patch,
        odd_corners=int(np.count_nonzero(odd)),
        strayed=float(np.min(stretches, axis=0).max(initial=0.0)),
        unseen=_longest_run(contrast < tuning.DIM) * tuning.SPACING,
    )


def sign_uncertainty(signs: EdgeSigns) -> float:
    """Return how far an edge with these signs may be off anywhere, inches."""
    return max(0.0, float(signs.terms() @ tuning.SIGN_WEIGHTS))


def _longest_run(of: Mask) -> int:
    """Return how many places in a row are true, round a ring."""
    if of.all():
        return len(of)
    ends = np.flatnonzero(~np.concatenate([of, of]))
    return int(np.diff(ends).max(initial=1)) - 1
