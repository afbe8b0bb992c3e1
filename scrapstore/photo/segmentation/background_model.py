"""The background model, and the foreground: what differs from it.

The background is what the squares lie on, and whatever else reaches round the picture's rim (a
floor beside the table, a mat on a desk). It is learned from the picture itself: what beside the
squares and at the rim looks like elsewhere there is table (`known_table`), patch by patch, so that
a table may be plain or patterned. What is unlike all of its patches is novel (`novelty`). What is
enclosed by background and differs from it is a candidate scrap. A print with the background's
colour inside a scrap is not reached from outside and so stays part of the scrap.
"""

from dataclasses import dataclass

import cv2
import numpy as np

from scrapstore.photo.arrays import Field, Labels, Mask
from scrapstore.photo.scale import RectifiedImage
from scrapstore.photo.segmentation import tuning
from scrapstore.photo.segmentation.enclosed import (
    enclosed_by_steps,
    step_heights,
    without_soft_edges,
)
from scrapstore.photo.segmentation.even_light import in_even_light, in_local_light
from scrapstore.photo.segmentation.known_table import know_table, likely_table
from scrapstore.photo.segmentation.masks import (
    closed,
    dilated,
    disc,
    eroded,
    opened,
    resized_mask,
)
from scrapstore.photo.segmentation.novelty import novelty_of, what_lies_there
from scrapstore.photo.segmentation.opponent import log_opponent
from scrapstore.photo.segmentation.patches import patches_of

__all__ = ["Background", "colour_features", "fit_background", "foreground_labels"]


@dataclass(frozen=True, eq=False)
class Background:
    """What the scraps lie on.

    `lying`: pixels of the rectified image that differ from all the background that is known.
    `mask`: those that do not and are connected with it. `broad`: pixels near something that does.
    `novel`: places unlike the table, by all that is round them. `enclosed`: parts that a step
    encloses, whatever their colour.
    """

    lying: Mask
    mask: Mask
    broad: Mask
    novel: Mask
    enclosed: Mask


def colour_features(rectified: RectifiedImage) -> Field:
    """Return brightness and tints (rows × columns × 3), fine lines and threads smoothed away."""
    # A median wider than twice a printed grid line takes the line out and leaves edges where they
    # are.
    reach = int(np.clip(round(tuning.SMOOTHING * rectified.scale), *tuning.SMOOTHING_PIXELS)) | 1
    return log_opponent(np.asarray(cv2.medianBlur(rectified.image, reach), np.uint8))


def fit_background(rectified: RectifiedImage, printed: Mask) -> Background:
    """Return the background. `printed`: the squares' paper, over the rectified image.

    The table is looked at in a picture of about FINE pixels an inch; masks come back at the
    rectified image's own size.
    """
    shrink = max(1, round(rectified.scale / tuning.FINE))
    rows, columns = (max(1, n // shrink) for n in rectified.seen.shape)
    size, scale = (columns, rows), rectified.scale * columns / rectified.seen.shape[1]
    image = np.asarray(cv2.resize(rectified.image, size, interpolation=cv2.INTER_AREA), np.uint8)
    seen, paper = resized_mask(rectified.seen, size), resized_mask(printed, size)
    colours = log_opponent(image)
    likely = likely_table(seen, paper, scale)
    colours = in_even_light(colours, likely.beside | likely.rim)
    patches = patches_of(colours, scale)
    known = know_table(patches, likely)
    novelty = patches.over(novelty_of(patches, known), seen.shape)
    bare = seen & ~paper
    table = _reached(
        (novelty <= 1) & bare, patches.over(known.table.astype(np.float32), seen.shape) > 0
    )
    novel = bare & ~table
    lying = what_lies_there(in_local_light(colours, table, scale), novel, table, scale)
    steps = step_heights(image)
    enclosed = enclosed_by_steps(steps, seen, paper, scale)
    lying = without_soft_edges(lying, steps, enclosed, scale)
    whole = (rectified.seen.shape[1], rectified.seen.shape[0])
    lying, enclosed = resized_mask(lying, whole), resized_mask(enclosed, whole)
    mask = _connected(
        ~lying & rectified.seen & ~printed, resized_mask(table, whole), rectified.scale
    )
    broad = dilated(lying, disc(round(tuning.NEAR_BROAD * rectified.scale)))
    return Background(
        lying, mask, broad, resized_mask(_broadly_novel(novel, scale), whole), enclosed
    )


def _broadly_novel(novel: Mask, scale: float) -> Mask:
    """Return the novel places wider than the band that is novel where two surfaces meet.

    Patches see round the edge of what lies there, so as much is taken off all round.
    """
    reach = tuning.PATCH_REACHES[-1] * scale
    return eroded(opened(novel, disc(round(tuning.SEAM * reach))), disc(round(reach)))


def _reached(plain: Mask, known: Mask) -> Mask:
    """Return the parts of `plain` that hold known table."""
    count, labels = cv2.connectedComponents(plain.astype(np.uint8), connectivity=4)
    held = np.bincount(labels[known & plain], minlength=count) > 0
    held[0] = False
    return np.asarray(held[labels])


def _connected(similar: Mask, known: Mask, scale: float) -> Mask:
    """Return the parts of `similar` that hold a fair piece of `known` background."""
    kernel = disc(max(1, round(tuning.BACKGROUND_OPENING * scale)))
    thinned = eroded(similar, kernel)
    count, labels = cv2.connectedComponents(thinned.astype(np.uint8), connectivity=4)
    hits = np.bincount(labels[known & thinned], minlength=count)
    keep = hits >= (tuning.BACKGROUND_CORE * scale) ** 2
    keep[0] = False
    return dilated(keep[labels], kernel) & similar


def foreground_labels(rectified: RectifiedImage, background: Background, printed: Mask) -> Labels:
    """Return labels 1… of what is enclosed by background and wider than a thread; 0 elsewhere.

    Parts narrower than about a quarter of an inch go: lines, numbers, loose threads.
    """
    other = rectified.seen & ~background.mask & ~printed
    reach = max(2, round(tuning.THREAD * rectified.scale))
    whole = closed(other, disc(reach // 2))
    # Opening rounds corners; part of what it took off comes back.
    solid = dilated(opened(whole, disc(reach)), disc(round(tuning.REGROWN * reach))) & whole
    _, labels = cv2.connectedComponents(solid.astype(np.uint8), connectivity=4)
    return np.asarray(labels, dtype=np.int32)
