"""Candidates: connected foreground regions that may be scraps, and their holes."""

from dataclasses import dataclass
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from scrapstore.photo.scale import RectifiedImage, disc_kernel

__all__ = ["NARROWEST", "Candidate", "find_candidates", "find_holes", "outer_ring"]

Field = NDArray[np.float32]
Mask = NDArray[np.bool_]

NARROWEST: Final = 0.4
"""Inches; a narrower candidate is a line, a thread or a label."""
_SMALLEST: Final = 0.5
"""Square inches below which nothing is taken for a scrap."""
_SMALLEST_HOLE: Final = 0.15
"""Square inches."""
_RIM: Final = 2
"""Pixels from the edge of what is seen within which a candidate counts as cut off."""
_LINES: Final = 0.25
"""Inches along the rim that printed lines may take."""
_PLAIN_HOLE: Final = 0.4
"""Square inches; a motif of the background's very colour is seldom so large without any drawing."""
_MOST_HOLES: Final = 6
"""Holes of one size; more of them are printed."""
_SAME: Final = 0.09
"""How far the middle pixel of a hole is from the background at most, in logarithms of light."""


@dataclass(frozen=True, eq=False)
class Candidate:
    """A connected region: its window (rows, columns) in the rectified image, its mask there."""

    window: tuple[slice, slice]
    mask: Mask

    def places(self) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """Return rows and columns of its pixels in the rectified image."""
        rows, columns = np.nonzero(self.mask)
        return rows + self.window[0].start, columns + self.window[1].start

    def leaves(self, rectified: RectifiedImage, background: Mask | None = None) -> bool:
        """Say whether it reaches beyond what the picture shows.

        `background`: pixels of the rectified image that look like background. Where only these
        reach the rim, and a printed line or two, it is taken to end before.
        """
        own = self.mask if background is None else self.mask & ~background[self.window]
        rows, columns = self.window
        seen = np.pad(rectified.seen, _RIM)  # nothing is seen beyond the rectified image
        seen = seen[rows.start : rows.stop + 2 * _RIM, columns.start : columns.stop + 2 * _RIM]
        inner = cv2.erode(seen.astype(np.uint8), np.ones((2 * _RIM + 1, 2 * _RIM + 1), np.uint8))
        at_rim = own & (inner[_RIM:-_RIM, _RIM:-_RIM] == 0)
        lines = 0.0 if background is None else _LINES * rectified.scale * _RIM
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


def find_candidates(labels: NDArray[np.int32], rectified: RectifiedImage) -> list[Candidate]:
    """Return the connected candidates that are large and broad enough for a scrap.

    `labels`: over the rectified image, 0 where the background is.
    """
    stats = cv2.connectedComponentsWithStats((labels > 0).astype(np.uint8), connectivity=4)
    count, parts, boxes, _ = stats
    candidates = []
    for number in range(1, count):
        left, top, width, height, area = (int(v) for v in boxes[number])
        if area < _SMALLEST * rectified.scale**2:
            continue
        window = (
            slice(max(0, top - 2), top + height + 2),
            slice(max(0, left - 2), left + width + 2),
        )
        mask = np.asarray(parts)[window] == number
        deepest = float(np.max(cv2.distanceTransform(mask.astype(np.uint8), cv2.DIST_L2, 3)))
        if 2 * deepest >= NARROWEST * rectified.scale:
            candidates.append(Candidate(window, mask))
    return candidates


def outer_ring(mask: Mask) -> NDArray[np.int32]:
    """Return the ring of pixels (n × 1 × 2: column, row) round the largest part of `mask`."""
    rings, _ = cv2.findContours(mask.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    return np.asarray(max(rings, key=cv2.contourArea), np.int32)


def find_holes(
    candidate: Mask, similar: Mask, off: Field, scale: float, grain: float = 0.0
) -> list[NDArray[np.int32]]:
    """Return rings of true holes: parts within that are the background, not a print like it.

    `similar`: what may be background; `off`: how far each pixel of the window is from it; `grain`:
    how far the background itself is. The background seen through a hole matches it nearly to the
    last shade, in one compact piece; the ground of a print that happens to have its colour comes in
    many pieces, or in ragged ones.
    """
    filled = np.zeros(candidate.shape, np.uint8)
    cv2.drawContours(filled, [outer_ring(candidate)], -1, (1.0,), -1)
    reach = max(1, round(0.05 * scale))
    kernel = disc_kernel(reach)
    filled = np.asarray(cv2.erode(filled, kernel, iterations=3), np.uint8)
    # Lines of a mat cross the hole: they are closed before small candidates are taken away.
    found = np.asarray((filled > 0) & similar, np.uint8)
    found = np.asarray(cv2.morphologyEx(found, cv2.MORPH_CLOSE, kernel), np.uint8)
    found = np.asarray(cv2.morphologyEx(found, cv2.MORPH_OPEN, kernel), np.uint8)
    rings, _ = cv2.findContours(found, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    large = [r for r in rings if cv2.contourArea(r) > _SMALLEST_HOLE * scale**2]
    large.sort(key=cv2.contourArea, reverse=True)
    # Many alike pieces are a print, unless they are large and plain; one far larger than the rest
    # may still be a hole.
    many = 3 * cv2.contourArea(large[2]) if len(large) > 2 else 0.0
    dots = _are_similar([cv2.contourArea(ring) for ring in large])
    holes = []
    for number, ring in enumerate(large):
        area = cv2.contourArea(ring)
        solidity = area / max(cv2.contourArea(cv2.convexHull(ring)), 1.0)
        plain = solidity > 0.9 and area > _PLAIN_HOLE * scale**2 and not dots
        if solidity <= 0.8 or not (plain or (number < 2 and area > many)):
            continue
        drawn = np.zeros(candidate.shape, np.uint8)
        cv2.drawContours(drawn, [ring], -1, (1.0,), -1)
        if np.median(off[drawn > 0]) < _SAME + grain:
            holes.append(np.asarray(ring, np.int32))
    return holes


def _are_similar(areas: list[float]) -> bool:
    """Say whether more than _MOST_HOLES have nearly one area, as printed dots have."""
    near = np.abs(np.subtract.outer(areas, areas)) < 0.2 * np.median(areas or [0.0])
    return bool(near.sum(axis=0).max(initial=0) > _MOST_HOLES)
