"""The pixels of a scrap in the rectified image, once its colours and the background's are known.

The first look finds what differs from the background; it loses thin corners and takes up bits of
printed lines. Here every pixel in and around the candidate is given to the side it is more like,
neighbours agreeing where they can.
"""

from dataclasses import dataclass

import cv2
import numpy as np

from scrapstore.photo.arrays import Field, Mask
from scrapstore.photo.segmentation import tuning
from scrapstore.photo.segmentation.colour_model import (
    ColourModel,
    above_noise,
    noise_of,
)
from scrapstore.photo.segmentation.masks import closed, depth, dilated, disc, opened, square
from scrapstore.photo.segmentation.split_touching import split_touching

__all__ = ["refine_region"]


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
    outside = ~dilated(rough, square(max(1, round(tuning.OUTSIDE * scale)))) | excluded
    noise_in, noise_out = noise_of(like_scrap[inner]), noise_of(like_background[outside])
    score = above_noise(like_background, noise_out) - above_noise(like_scrap, noise_in)
    score = np.asarray(cv2.GaussianBlur(score, (0, 0), tuning.SCORE_BLUR), np.float32)
    score[inner] += tuning.KNOWN_BONUS
    score[outside] -= tuning.KNOWN_BONUS
    score[excluded] = -1.0
    mask = score > 0
    for _ in range(tuning.NEIGHBOUR_ROUNDS):
        around = cv2.GaussianBlur(mask.astype(np.float32), (0, 0), tuning.NEIGHBOUR_REACH)
        mask = score + tuning.NEIGHBOURS * (2 * around - 1) > 0
    # Threads and bits of printed lines go; corners, which this rounds, mostly come back.
    broad = opened(mask, disc(max(1, round(tuning.LOOSE_THREAD * scale))))
    broad = dilated(broad, disc(1)) & mask
    count, parts, stats, _ = cv2.connectedComponentsWithStats(
        broad.astype(np.uint8), connectivity=4
    )
    areas = stats[:, cv2.CC_STAT_AREA]
    hits = np.bincount(parts[inner], minlength=count)
    hits[0] = 0
    if count < 2 or hits.sum() < tuning.LEAST_KEPT * np.count_nonzero(inner):
        return None
    # Parts that a print in the background's colour cuts off come with the rest.
    keep = hits > tuning.LEAST_KEPT * areas
    within = np.bincount(parts[rough], minlength=count) > tuning.LEAST_KEPT * areas
    keep |= within & (areas > (tuning.PART_SIDE * scale) ** 2)
    keep[0] = False
    solid = keep[parts]
    if not solid.any():
        return None
    whole = closed(solid, disc(max(1, round(tuning.PRINTED_GAP * scale))))
    similar = like_background < like_scrap
    (inside, *others), may_be_several = split_touching(whole, solid, seen, similar, scale)
    return Region(
        inside,
        inside & ~mask,
        like_background,
        noise_out,
        background_share,
        2 * float(depth(similar & inside).max()) / scale,
        tuple(others),
        may_be_several,
    )
