"""Which pixels of the flat table are the scrap's, once its colours and the surface's are known.

The first look finds what differs from the surface; it loses thin corners and takes up bits of
printed lines. Here every pixel in and around the candidate is given to the side it is more like,
neighbours agreeing where they can.
"""

from dataclasses import dataclass
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from scrapstore.photo.scale import disc
from scrapstore.photo.segmentation.likeness import (
    CAP,
    MOST_NOISE,
    Palette,
    distance_to_colours,
    distance_to_shaded,
    doubts,
)
from scrapstore.photo.segmentation.split_touching import taken_apart

__all__ = ["Sides", "settled"]

Field = NDArray[np.float32]
Mask = NDArray[np.bool_]

_AGREE: Final = 0.12
"""What a pixel's neighbours weigh when all of them are of one side."""
_ROUNDS: Final = 8
"""Times over neighbours are asked; after these hardly a pixel changes sides."""
_COARSE: Final = 8
"""Pixels of the window for one in which doubts are reckoned: the surface changes slowly."""


@dataclass(frozen=True, eq=False)
class Sides:
    """What lies on either side of a scrap's edge.

    `colours`: the scrap's own. `marks`: how the surface's grain and lines differ from its colour
    there; `grounds`: the surfaces' colours as they are, where two surfaces meet.
    """

    colours: Palette
    marks: Palette
    grounds: Palette

    def likeness(self, seen: Field, ground: Field) -> tuple[Field, Field]:
        """Return how far pixels (rows × columns × 3) are from the scrap and from the surface.

        `ground`: the surface's colour at these pixels.
        """
        rows, columns = seen.shape[:2]
        few = doubts(self.colours, ground[::_COARSE, ::_COARSE], self.marks)
        away = distance_to_colours(seen, self.colours)
        for k, doubt in enumerate(few):
            away[k] += cv2.resize(doubt, (columns, rows))
        surface = np.minimum(
            distance_to_shaded(seen - ground, self.marks), distance_to_shaded(seen, self.grounds)
        )
        return np.asarray(away.min(axis=0)), surface


@dataclass(frozen=True, eq=False)
class Region:
    """A scrap's pixels over a window of the flat table, all within its outer edge.

    `enclosed`: those that look like the surface: holes, or a print. `off`: how far each is from it.
    `grain`: how far the surface beside it is from its own colour. `mixed`: share of its core that
    looks more like the surface than like the scrap; `patch`: how wide the widest such patch within
    it is, inches. `others`: other scraps in the candidate; `perhaps_two`: this may be two as well.
    """

    filled: Mask
    enclosed: Mask
    off: Field
    grain: float
    mixed: float
    patch: float
    others: tuple[Mask, ...] = ()
    perhaps_two: bool = False


def settled(
    rough: Mask, inner: Mask, seen: Field, ground: Field, sides: Sides, scale: float, barred: Mask
) -> "Region | None":
    """Return the scrap's pixels, or None when hardly any of `inner` is left.

    `rough`: the candidate; `inner`: what of it is well inside; `seen` and `ground`: the flat table
    and the surface's colour there; all over one window that shows some surface round the candidate.
    `scale`: pixels an inch. `barred`: where other things lie.
    """
    like_scrap, like_ground = sides.likeness(seen, ground)
    mixed = float(np.mean(like_ground[inner] < like_scrap[inner]))
    reach = max(1, round(0.15 * scale))
    kernel = np.ones((2 * reach + 1, 2 * reach + 1), np.uint8)
    outside = cv2.dilate(rough.astype(np.uint8), kernel) == 0
    outside |= barred
    noise_in = min(float(np.median(like_scrap[inner])), MOST_NOISE)
    noise_out = min(float(np.median(like_ground[outside])), MOST_NOISE) if outside.any() else 0.0
    score = np.clip(like_ground - noise_out, 0, CAP) - np.clip(like_scrap - noise_in, 0, CAP)
    score = cv2.GaussianBlur(score, (0, 0), 0.6)
    score[inner] += 0.1
    score[outside] -= 0.1
    score[barred] = -1.0
    mask = score > 0
    for _ in range(_ROUNDS):
        around = cv2.GaussianBlur(mask.astype(np.float32), (0, 0), 1.5)
        mask = score + _AGREE * (2 * around - 1) > 0
    # Threads and bits of printed lines go; corners, which this rounds, mostly come back.
    thin = disc(max(1, round(0.05 * scale)))
    opened = cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_OPEN, thin)
    opened = cv2.dilate(opened, disc(1)) & mask.astype(np.uint8)
    count, parts, stats, _ = cv2.connectedComponentsWithStats(opened, connectivity=4)
    hits = np.bincount(parts[inner], minlength=count)
    hits[0] = 0
    if count < 2 or hits.sum() < 0.5 * np.count_nonzero(inner):
        return None
    # Parts that a print in the surface's colour cuts off come with the rest.
    keep = hits > 0.5 * stats[:, cv2.CC_STAT_AREA]
    within = np.bincount(parts[rough], minlength=count) > 0.5 * stats[:, cv2.CC_STAT_AREA]
    keep |= within & (stats[:, cv2.CC_STAT_AREA] > (0.15 * scale) ** 2)
    keep[0] = False
    whole = keep[parts].astype(np.uint8)
    if not whole.any():
        return None
    solid = whole > 0
    gap = disc(max(1, round(0.08 * scale)))
    whole = np.asarray(cv2.morphologyEx(whole, cv2.MORPH_CLOSE, gap), np.uint8)
    alike = like_ground < like_scrap
    (inside, *others), perhaps_two = taken_apart(whole > 0, solid, seen, alike, scale)
    patches = cv2.distanceTransform((alike & inside).astype(np.uint8), cv2.DIST_L2, 3)
    patch = 2 * float(patches.max()) / scale
    return Region(
        inside, inside & ~mask, like_ground, noise_out, mixed, patch, tuple(others), perhaps_two
    )
