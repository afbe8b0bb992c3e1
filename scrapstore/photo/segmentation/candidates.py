"""Candidates: connected foreground regions that may be scraps, and their holes."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from scrapstore.photo.arrays import Field, Labels, Mask
from scrapstore.photo.scale import RectifiedImage
from scrapstore.photo.segmentation import tuning
from scrapstore.photo.segmentation.masks import (
    closed,
    depth,
    disc,
    eroded,
    filled,
    opened,
    outer_ring,
    rings_of,
)

__all__ = ["Candidate", "find_candidates", "find_holes"]


@dataclass(frozen=True, eq=False)
class Candidate:
    """A connected region: its window (rows, columns) in the rectified image, its mask there."""

    window: tuple[slice, slice]
    mask: Mask

    def places(self, enough: int) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """Return rows and columns of at least `enough` of its pixels, if it has as many."""
        rows, columns = (at[:: max(1, len(at) // enough)] for at in np.nonzero(self.mask))
        return rows + self.window[0].start, columns + self.window[1].start

    def leaves(self, rectified: RectifiedImage, background: Mask | None = None) -> bool:
        """Say whether it reaches beyond what the picture shows.

        `background`: pixels of the rectified image that look like background. Where only these
        reach the rim, and a printed line or two, it is taken to end before.
        """
        own = self.mask if background is None else self.mask & ~background[self.window]
        rows, columns = self.window
        seen = np.pad(
            rectified.seen, tuning.EDGE_PIXELS
        )  # nothing is seen beyond the rectified image
        seen = seen[
            rows.start : rows.stop + 2 * tuning.EDGE_PIXELS,
            columns.start : columns.stop + 2 * tuning.EDGE_PIXELS,
        ]
        inner = cv2.erode(
            seen.astype(np.uint8),
            np.ones((2 * tuning.EDGE_PIXELS + 1, 2 * tuning.EDGE_PIXELS + 1), np.uint8),
        )
        at_rim = own & (
            inner[
                tuning.EDGE_PIXELS : -tuning.EDGE_PIXELS, tuning.EDGE_PIXELS : -tuning.EDGE_PIXELS
            ]
            == 0
        )
        lines = (
            0.0
            if background is None
            else tuning.LINES_AT_RIM * rectified.scale * tuning.EDGE_PIXELS
        )
        return bool(np.count_nonzero(at_rim) > lines)

    def trimmed(self, inches: float, rectified: RectifiedImage) -> "Candidate":
        """Return the same candidate in a window no more than so much wider than itself."""
        rim = round(inches * rectified.scale)
        left, top, width, height = cv2.boundingRect(self.mask.astype(np.uint8))
        rows = slice(max(0, top - rim), top + height + rim)
        columns = slice(max(0, left - rim), left + width + rim)
        part = self.mask[rows, columns]
        first, second = self.window[0].start + rows.start, self.window[1].start + columns.start
        window = (slice(first, first + part.shape[0]), slice(second, second + part.shape[1]))
        return Candidate(window, part)

    def widened(self, inches: float, rectified: RectifiedImage) -> "Candidate":
        """Return the same candidate in a window wider by so much on every side."""
        rows, columns = self.window
        more = round(inches * rectified.scale)
        window = (
            slice(max(0, rows.start - more), min(rows.stop + more, rectified.seen.shape[0])),
            slice(max(0, columns.start - more), min(columns.stop + more, rectified.seen.shape[1])),
        )
        mask = np.zeros((window[0].stop - window[0].start, window[1].stop - window[1].start), bool)
        top, left = rows.start - window[0].start, columns.start - window[1].start
        mask[top : top + self.mask.shape[0], left : left + self.mask.shape[1]] = self.mask
        return Candidate(window, mask)


def find_candidates(labels: Labels, rectified: RectifiedImage) -> list[Candidate]:
    """Return the connected candidates that are large and broad enough for a scrap.

    `labels`: over the rectified image, 0 where the background is.
    """
    stats = cv2.connectedComponentsWithStats((labels > 0).astype(np.uint8), connectivity=4)
    count, parts, boxes, _ = stats
    candidates = []
    for number in range(1, count):
        left, top, width, height, area = (int(v) for v in boxes[number])
        if area < tuning.LEAST_AREA * rectified.scale**2:
            continue
        window = (
            slice(max(0, top - 2), top + height + 2),
            slice(max(0, left - 2), left + width + 2),
        )
        mask = np.asarray(parts)[window] == number
        if 2 * float(depth(mask).max()) >= tuning.LEAST_WIDTH * rectified.scale:
            candidates.append(Candidate(window, mask))
    return candidates


def find_holes(
    candidate: Mask, similar: Mask, off: Field, scale: float, grain: float = 0.0
) -> list[Labels]:
    """Return rings of true holes: parts within that are the background, not a print like it.

    `similar`: what may be background; `off`: how far each pixel of the window is from it; `grain`:
    how far the background itself is. The background seen through a hole matches it nearly to the
    last shade, in one compact piece; the ground of a print that happens to have its colour comes in
    many pieces, or in ragged ones.
    """
    kernel = disc(max(1, round(tuning.HOLE_MARGIN * scale)))
    within = eroded(filled([outer_ring(candidate)], candidate.shape), kernel, times=3)
    # Lines of a mat cross the hole: they are closed before small candidates are taken away.
    rings = rings_of(opened(closed(within & similar, kernel), kernel))
    large = [r for r in rings if cv2.contourArea(r) > tuning.LEAST_HOLE * scale**2]
    large.sort(key=cv2.contourArea, reverse=True)
    # Many alike pieces are a print, unless they are large and plain; one far larger than the rest
    # may still be a hole.
    many = tuning.FAR_LARGER * cv2.contourArea(large[2]) if len(large) > 2 else 0.0
    dots = _are_similar([cv2.contourArea(ring) for ring in large])
    holes = []
    for number, ring in enumerate(large):
        area = cv2.contourArea(ring)
        solidity = area / max(cv2.contourArea(cv2.convexHull(ring)), 1.0)
        plain = (
            solidity > tuning.PLAIN_SOLIDITY and area > tuning.PLAIN_HOLE * scale**2 and not dots
        )
        if solidity <= tuning.LEAST_SOLIDITY or not (plain or (number < 2 and area > many)):
            continue
        if np.median(off[filled([ring], candidate.shape)]) < tuning.HOLE_COLOUR + grain:
            holes.append(ring)
    return holes


def _are_similar(areas: list[float]) -> bool:
    """Say whether more than MOST_EQUAL_HOLES have nearly one area, as printed dots have."""
    near = np.abs(np.subtract.outer(areas, areas)) < tuning.EQUAL_AREA * np.median(areas or [0.0])
    return bool(near.sum(axis=0).max(initial=0) > tuning.MOST_EQUAL_HOLES)
