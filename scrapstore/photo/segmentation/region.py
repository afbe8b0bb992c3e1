"""The pixels of a scrap in the rectified image, once its colours and the background's are known.

The first look finds what differs from the background; it loses thin corners and takes up bits of
printed lines. Here every pixel in and around the candidate is given to the side it is more like,
neighbours agreeing where they can.
"""

from dataclasses import dataclass
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from scrapstore.photo.scale import disc_kernel
from scrapstore.photo.segmentation.colour_model import (
    CAP,
    MOST_NOISE,
    ColourModel,
)
from scrapstore.photo.segmentation.split_touching import split_touching

__all__ = ["refine_region"]

Field = NDArray[np.float32]
Mask = NDArray[np.bool_]

_AGREE: Final = 0.12
"""What a pixel's neighbours weigh when all of them are of one side."""
_ROUNDS: Final = 8
"""Times over neighbours are asked; after these hardly a pixel changes sides."""


@dataclass(frozen=True, eq=False)
class Region:
    """A scrap's pixels over a window of the rectified image, all within its outer edge.

    `enclosed`: those that look like the background: holes, or a print. `off`: how far each is from
    it. `grain`: how far the background beside it is from its own colour. `background_share`: share
    of its core that looks more like the background than like the scrap; `widest_patch`: how wide
    the widest such patch within it is, inches. `others`: other scraps in the candidate;
    `may_be_several`: this may be two as well.
    """

    filled: Mask
    enclosed: Mask
    off: Field
    grain: float
    background_share: float
    widest_patch: float
    others: tuple[Mask, ...] = ()
    may_be_several: bool = False


def refine_region(
    rough: Mask,
    inner: Mask,
    seen: Field,
    backdrop: Field,
    model: ColourModel,
    scale: float,
    excluded: Mask,
) -> "Region | None":
    """Return the scrap's pixels, or None when hardly any of `inner` is left.

    `rough`: the candidate; `inner`: what of it is well inside; `seen` and `backdrop`: the rectified
    image and the background's colour there; all over one window that shows some background round
    the candidate. `scale`: pixels an inch. `excluded`: where other candidates lie.
    """
    like_scrap, like_background = model.distances(seen, backdrop)
    background_share = float(np.mean(like_background[inner] < like_scrap[inner]))
    reach = max(1, round(0.15 * scale))
    kernel = np.ones((2 * reach + 1, 2 * reach + 1), np.uint8)
    outside = cv2.dilate(rough.astype(np.uint8), kernel) == 0
    outside |= excluded
    noise_in = min(float(np.median(like_scrap[inner])), MOST_NOISE)
    noise_out = (
        min(float(np.median(like_background[outside])), MOST_NOISE) if outside.any() else 0.0
    )
    score = np.clip(like_background - noise_out, 0, CAP) - np.clip(like_scrap - noise_in, 0, CAP)
    score = cv2.GaussianBlur(score, (0, 0), 0.6)
    score[inner] += 0.1
    score[outside] -= 0.1
    score[excluded] = -1.0
    mask = score > 0
    for _ in range(_ROUNDS):
        around = cv2.GaussianBlur(mask.astype(np.float32), (0, 0), 1.5)
        mask = score + _AGREE * (2 * around - 1) > 0
    # Threads and bits of printed lines go; corners, which this rounds, mostly come back.
    thin = disc_kernel(max(1, round(0.05 * scale)))
    opened = cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_OPEN, thin)
    opened = cv2.dilate(opened, disc_kernel(1)) & mask.astype(np.uint8)
    count, parts, stats, _ = cv2.connectedComponentsWithStats(opened, connectivity=4)
    hits = np.bincount(parts[inner], minlength=count)
    hits[0] = 0
    if count < 2 or hits.sum() < 0.5 * np.count_nonzero(inner):
        return None
    # Parts that a print in the background's colour cuts off come with the rest.
    keep = hits > 0.5 * stats[:, cv2.CC_STAT_AREA]
    within = np.bincount(parts[rough], minlength=count) > 0.5 * stats[:, cv2.CC_STAT_AREA]
    keep |= within & (stats[:, cv2.CC_STAT_AREA] > (0.15 * scale) ** 2)
    keep[0] = False
    whole = keep[parts].astype(np.uint8)
    if not whole.any():
        return None
    solid = whole > 0
    gap = disc_kernel(max(1, round(0.08 * scale)))
    whole = np.asarray(cv2.morphologyEx(whole, cv2.MORPH_CLOSE, gap), np.uint8)
    similar = like_background < like_scrap
    (inside, *others), may_be_several = split_touching(whole > 0, solid, seen, similar, scale)
    patches = cv2.distanceTransform((similar & inside).astype(np.uint8), cv2.DIST_L2, 3)
    widest_patch = 2 * float(patches.max()) / scale
    return Region(
        inside,
        inside & ~mask,
        like_background,
        noise_out,
        background_share,
        widest_patch,
        tuple(others),
        may_be_several,
    )
