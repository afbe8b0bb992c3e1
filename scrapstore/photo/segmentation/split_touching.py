"""Separating scraps that lie so close together that they were found as one candidate.

What is left of the candidate when its rim is taken off falls into pieces at every narrow place. Two
pieces are scraps of their own where the background shows between them, or where they meet at a
corner only and are of different colours; a scrap that is merely narrow somewhere stays whole.
"""

import cv2
import numpy as np
from numpy.typing import NDArray

from scrapstore.photo.arrays import Field, Labels, Mask
from scrapstore.photo.segmentation import tuning
from scrapstore.photo.segmentation.masks import (
    closed,
    dilated,
    disc,
    eroded,
    filled,
    large_parts,
    outer_ring,
    square,
)

__all__ = ["split_touching"]

Places = tuple[NDArray[np.intp], NDArray[np.intp]]
"""Rows and columns."""


def split_touching(
    whole: Mask, solid: Mask, seen: Field, gap: Mask, scale: float
) -> tuple[list[Mask], bool]:
    """Return the scraps in `whole`, the largest first, and whether that one may be several.

    `solid`: what of it is scrap beyond doubt, narrow gaps open; `gap`: what looks more like
    background than like scrap; `seen`: colours (rows × columns × 3); `scale`: pixels an inch. Each
    scrap is in one piece, its holes filled. Bits too small for a scrap go, and so do small ones of
    the main one's colours that lie far from all the rest.
    """
    seeds = _seeds(solid, whole, scale)
    count = int(seeds.max())
    if count < 2:
        return [filled([outer_ring(whole)], whole.shape)], False
    nearest = _nearest(seeds)
    near = dilated(whole, disc(round(tuning.GAP_REACH * scale)))
    # A narrow gap is blurred: where the pixel beside shows the background, that counts as well.
    gap = dilated(gap, square(1))
    colours = [np.median(seen[seeds == number], axis=0) for number in range(1, count + 1)]
    group = np.arange(count + 1)
    beside, doubted = np.zeros(count + 1, bool), np.zeros(count + 1, bool)
    for (one, other), border_places in _borders(nearest, near).items():
        beside[[one, other]] = True
        joint = whole[border_places]
        difference = float(np.linalg.norm(colours[one - 1] - colours[other - 1]))
        # Without any, the background lies all the way between them.
        separated = not joint.any() or float(np.mean(gap[border_places][joint])) > tuning.GAP_SHARE
        halves = (seeds == one, seeds == other)
        if not _are_separate(
            border_places, separated, difference > tuning.OTHER_CLOTH, halves, scale
        ):
            group[group == group[other]] = group[one]
            doubted[[one, other]] |= separated
    which = group[nearest]
    # What counts as one goes over the line between, not less.
    joined = closed(whole, disc(round(tuning.GAP_REACH * scale)))
    scraps = []
    for name in np.unique(group[1:]):
        own = np.flatnonzero(group == name)
        room = joined if len(own) > 1 else whole
        scraps.append((filled([outer_ring(room & (which == name))], whole.shape), own))
    scraps.sort(key=lambda each: -np.count_nonzero(each[0]))
    main = colours[scraps[0][1][0] - 1]
    # What lies far from all the rest may be a motif of a print with the background's colour.
    kept = [
        mask
        for k, (mask, own) in enumerate(scraps)
        if k == 0
        or beside[own].any()
        or np.count_nonzero(mask) > tuning.NO_MOTIF * scale**2
        or np.linalg.norm(colours[own[0] - 1] - main) > tuning.OTHER_CLOTH
    ]
    return kept, bool(doubted[scraps[0][1]].any())


def _are_separate(
    border_places: Places, separated: bool, unlike: bool, halves: tuple[Mask, Mask], scale: float
) -> bool:
    """Say whether two pieces that meet are two scraps.

    `separated`: the background shows between them; `unlike`: they are of different colours.
    """
    length = len(border_places[0]) / scale
    if unlike:
        return separated or length < tuning.CORNER_CONTACT
    # A line in the background's colour that is printed on one scrap goes right across it.
    return separated and (
        length < tuning.CORNER_CONTACT or not _crosses(border_places, halves, scale)
    )


def _crosses(border_places: Places, halves: tuple[Mask, Mask], scale: float) -> bool:
    """Say whether both pieces end near where the line on which they meet does."""
    places = np.column_stack(border_places).astype(np.float64)
    middle = places.mean(axis=0)
    along = np.linalg.svd(np.cov((places - middle).T))[0][:, 0]
    across = np.array([-along[1], along[0]])
    length = np.ptp((places - middle) @ along)
    for half in halves:
        off = np.argwhere(half) - middle
        beside = off[np.abs(off @ across) < tuning.LINE_REACH * scale]
        if len(beside) == 0 or np.ptp(beside @ along) > length / tuning.LINE_ACROSS:
            return False
    return True


def _seeds(solid: Mask, whole: Mask, scale: float) -> Labels:
    """Return labels 1… of what is left of pieces large enough when their rims are taken off.

    Where that leaves nothing of a part of `whole` that is a scrap's size, the part itself counts.
    """
    reach = max(1, round(tuning.NECK * scale))
    inner = eroded(solid, disc(reach))
    seeds = large_parts(inner, tuning.SEED_AREA * scale**2, tuning.LEAST_WIDTH * scale - 2 * reach)
    parts = large_parts(whole, tuning.PART_AREA * scale**2, tuning.LEAST_WIDTH * scale)
    for number in range(1, int(parts.max()) + 1):
        part = parts == number
        if not seeds[part].any():
            seeds[part & solid] = seeds.max() + 1
    return seeds


def _nearest(seeds: Labels) -> Labels:
    """Return for each pixel the label of the seed nearest to it."""
    _, zones = cv2.distanceTransformWithLabels(
        (seeds == 0).astype(np.uint8), cv2.DIST_L2, 5, labelType=cv2.DIST_LABEL_CCOMP
    )
    names = np.zeros(int(zones.max()) + 1, np.int32)
    names[zones[seeds > 0]] = seeds[seeds > 0]
    return np.asarray(names[zones], np.int32)


def _borders(nearest: Labels, near: Mask) -> dict[tuple[int, int], Places]:
    """Return for each two labels that border on each other within `near` the places where."""
    pairs, at = [], []
    rows, columns = nearest.shape
    for down, right in ((0, 1), (1, 0)):
        first = np.s_[: rows - down, : columns - right]
        second = np.s_[down:, right:]
        border = (nearest[first] != nearest[second]) & near[first] & near[second]
        one, other = nearest[first][border], nearest[second][border]
        pairs.append(np.column_stack([np.minimum(one, other), np.maximum(one, other)]))
        at.append(np.argwhere(border))
    # A place counts once, whether its neighbour is beside or below it.
    whole = np.unique(np.hstack([np.vstack(pairs), np.vstack(at)]), axis=0)
    if len(whole) == 0:
        return {}
    names, begin = np.unique(whole[:, :2], axis=0, return_index=True)
    return {
        (int(one), int(other)): (places[:, 2], places[:, 3])
        for (one, other), places in zip(names, np.split(whole, begin[1:]), strict=True)
    }
