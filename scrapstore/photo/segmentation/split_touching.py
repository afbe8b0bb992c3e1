"""Separating scraps that lie so close together that they were found as one candidate.

What is left of the candidate when its rim is taken off falls into pieces at every narrow place. Two
pieces are scraps of their own where the background shows between them, or where they meet at a
corner only and are of different colours; a scrap that is merely narrow somewhere stays whole.
"""

from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from scrapstore.photo.scale import disc_kernel, large_parts
from scrapstore.photo.segmentation.candidates import outer_ring

__all__ = ["split_touching"]

Field = NDArray[np.float32]
Mask = NDArray[np.bool_]
Places = tuple[NDArray[np.intp], NDArray[np.intp]]
"""Rows and columns."""

_NECK: Final = 0.12
"""Half the width of the widest place at which a candidate is separated, inches."""
_SMALLEST: Final = 0.6
"""Square inches, its rim taken off; what is smaller stays with what it lies beside."""
_SMALLEST_PART: Final = 0.5
"""Square inches of what lies by itself."""
_NO_MOTIF: Final = 4.0
"""Square inches; no motif is so large."""
_LEAST_WIDTH: Final = 0.4
"""Inches; what is nowhere so wide is no scrap of its own."""
_GAP: Final = 0.6
"""Share of the place where two pieces meet that must look like the background between them."""
_NEAR: Final = 0.15
"""Inches; pieces no farther apart than twice this are looked at together."""
_BESIDE: Final = 0.5
"""Inches from the line where two pieces meet in which it is seen how wide they are."""
_ACROSS: Final = 0.75
"""Share of a piece's width there from which on a line is said to go right across it."""
_TOUCH: Final = 0.6
"""Inches; pieces that meet along less meet at a corner."""
_OTHER_CLOTH: Final = 0.3
"""Distance between the median colours of two scraps, in logarithms of light."""


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
        return [_filled(whole)], False
    nearest = _nearest(seeds)
    near = cv2.dilate(whole.astype(np.uint8), disc_kernel(round(_NEAR * scale))) > 0
    # A narrow gap is blurred: where the pixel beside shows the background, that counts as well.
    gap = cv2.dilate(gap.astype(np.uint8), np.ones((3, 3), np.uint8)) > 0
    colours = [np.median(seen[seeds == number], axis=0) for number in range(1, count + 1)]
    group = np.arange(count + 1)
    beside, doubted = np.zeros(count + 1, bool), np.zeros(count + 1, bool)
    for (one, other), border_places in _borders(nearest, near).items():
        beside[[one, other]] = True
        joint = whole[border_places]
        difference = float(np.linalg.norm(colours[one - 1] - colours[other - 1]))
        # Without any, the background lies all the way between them.
        separated = not joint.any() or float(np.mean(gap[border_places][joint])) > _GAP
        halves = (seeds == one, seeds == other)
        if not _are_separate(border_places, separated, difference > _OTHER_CLOTH, halves, scale):
            group[group == group[other]] = group[one]
            doubted[[one, other]] |= separated
    which = group[nearest]
    # What counts as one goes over the line between, not less.
    bridge = disc_kernel(round(_NEAR * scale))
    joined = cv2.morphologyEx(whole.astype(np.uint8), cv2.MORPH_CLOSE, bridge) > 0
    scraps = []
    for name in np.unique(group[1:]):
        own = np.flatnonzero(group == name)
        room = joined if len(own) > 1 else whole
        scraps.append((_filled(room & (which == name)), own))
    scraps.sort(key=lambda each: -np.count_nonzero(each[0]))
    main = colours[scraps[0][1][0] - 1]
    # What lies far from all the rest may be a motif of a print with the background's colour.
    kept = [
        mask
        for k, (mask, own) in enumerate(scraps)
        if k == 0
        or beside[own].any()
        or np.count_nonzero(mask) > _NO_MOTIF * scale**2
        or np.linalg.norm(colours[own[0] - 1] - main) > _OTHER_CLOTH
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
        return separated or length < _TOUCH
    # A line in the background's colour that is printed on one scrap goes right across it.
    return separated and (length < _TOUCH or not _crosses(border_places, halves, scale))


def _crosses(border_places: Places, halves: tuple[Mask, Mask], scale: float) -> bool:
    """Say whether both pieces end near where the line on which they meet does."""
    places = np.column_stack(border_places).astype(np.float64)
    middle = places.mean(axis=0)
    along = np.linalg.svd(np.cov((places - middle).T))[0][:, 0]
    across = np.array([-along[1], along[0]])
    length = np.ptp((places - middle) @ along)
    for half in halves:
        off = np.argwhere(half) - middle
        beside = off[np.abs(off @ across) < _BESIDE * scale]
        if len(beside) == 0 or np.ptp(beside @ along) > length / _ACROSS:
            return False
    return True


def _filled(mask: Mask) -> Mask:
    """Return the largest piece of the mask, its holes filled."""
    drawn = np.zeros(mask.shape, np.uint8)
    cv2.drawContours(drawn, [outer_ring(mask)], -1, (1.0,), -1)
    return np.asarray(drawn > 0)


def _seeds(solid: Mask, whole: Mask, scale: float) -> NDArray[np.int32]:
    """Return labels 1… of what is left of pieces large enough when their rims are taken off.

    Where that leaves nothing of a part of `whole` that is a scrap's size, the part itself counts.
    """
    reach = max(1, round(_NECK * scale))
    inner = cv2.erode(solid.astype(np.uint8), disc_kernel(reach)) > 0
    seeds = large_parts(inner, _SMALLEST * scale**2, _LEAST_WIDTH * scale - 2 * reach)
    parts = large_parts(whole, _SMALLEST_PART * scale**2, _LEAST_WIDTH * scale)
    for number in range(1, int(parts.max()) + 1):
        part = parts == number
        if not seeds[part].any():
            seeds[part & solid] = seeds.max() + 1
    return seeds


def _nearest(seeds: NDArray[np.int32]) -> NDArray[np.int32]:
    """Return for each pixel the label of the seed nearest to it."""
    _, zones = cv2.distanceTransformWithLabels(
        (seeds == 0).astype(np.uint8), cv2.DIST_L2, 5, labelType=cv2.DIST_LABEL_CCOMP
    )
    names = np.zeros(int(zones.max()) + 1, np.int32)
    names[zones[seeds > 0]] = seeds[seeds > 0]
    return np.asarray(names[zones], np.int32)


def _borders(nearest: NDArray[np.int32], near: Mask) -> dict[tuple[int, int], Places]:
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
