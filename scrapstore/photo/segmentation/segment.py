"""The background model, and the foreground: what differs from it.

The background is what the squares lie on, and whatever else reaches round the picture's rim (a
floor beside the table, a mat on a desk). It is learned from the picture itself: starting beside the
squares and at the rim, a smooth field of brightness and tint is fitted to all that looks alike and
is connected. What is enclosed by background and differs from it is a candidate scrap. A print with
the background's colour inside a scrap is not reached from outside and so stays part of the scrap.
"""

from dataclasses import dataclass
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from scrapstore.photo.scale import RectifiedImage, disc_kernel
from scrapstore.photo.segmentation.cells import (
    LIMIT,
    Cells,
    connected_to,
    log_opponent,
    normalised_distance,
)
from scrapstore.photo.segmentation.reflections import include_reflections

__all__ = ["Background", "colour_features", "fit_background", "foreground_labels"]

Mask = NDArray[np.bool_]
Field = NDArray[np.float32]

_LEAST_DEVIATION: Final = np.array([0.035, 0.014, 0.019], dtype=np.float32)
"""Floor of a background's standard deviation: about 2 % in brightness and in tint."""
_MOST_DEVIATION: Final = np.array([0.30, 0.07, 0.09], dtype=np.float32)
_BESIDE: Final = 0.35
_MOST_TINT: Final = 0.2
"""How far the tint of one background changes across the table at most."""
_FEW_BESIDE: Final = 0.15
"""Of what lies beside the squares; if no more is left over, it is no background of its own."""
_ROUND: Final = 0.85
"""Of what lies beside one square; if so much is of one background, the square lies on it."""
_LONG_RUN: Final = 0.45
"""Of the picture's short side; no scrap is said to reach so far along the picture's edge."""
_LEAST_STEPS: Final = 3
_MOST_STEPS: Final = 24
_ENOUGH: Final = 4000
"""Cells looked at when a field is fitted."""


@dataclass(frozen=True, eq=False)
class Background:
    """What the scraps lie on.

    `distance`: for each pixel of the rectified image its distance to the nearest background, in
    standard deviations of that background. `mask`: pixels that are background and are connected
    with it. `broad`: pixels near something that is not, grid lines and other fine candidates apart.
    `corner`: something at the picture's edge, too long for most scraps, was taken for background,
    though no square lies on it and it fills one corner only.
    """

    distance: Field
    mask: Mask
    broad: Mask
    corner: bool = False

    @property
    def similar(self) -> Mask:
        """Pixels that look like background, whether or not they are connected with it."""
        return self.distance < LIMIT


def colour_features(rectified: RectifiedImage) -> Field:
    """Return brightness and tints (rows × columns × 3), fine lines and threads smoothed away."""
    # A median wider than twice a printed grid line takes the line out and leaves edges where they
    # are.
    reach = int(np.clip(round(0.14 * rectified.scale), 4, 8)) | 1
    return log_opponent(np.asarray(cv2.medianBlur(rectified.image, reach), np.uint8))


def fit_background(
    rectified: RectifiedImage, features: Field, around: Mask, printed: Mask
) -> Background:
    """Return the background.

    `around`: pixels just outside the printed squares' paper; `printed`: that paper itself.
    """
    cells = Cells(rectified, printed)
    rim = cells.rim()
    distance = np.full(features.shape[:2], np.inf, dtype=np.float32)
    size = (int(cells.wide.shape[1]), int(cells.wide.shape[0]))
    coarse = np.full((size[1], size[0]), np.inf, dtype=np.float32)
    taken = np.zeros(cells.shape, dtype=bool)
    beside = (cells.share(around) > 0.5) & cells.usable
    corner = False
    for where in ("beside", "beside", "rim", "rim"):
        # Squares may lie on two backgrounds: some on a mat, some on the desk under it.
        rest = beside & ~taken
        start = _longest_rim(rim, taken, cells) if where == "rim" else rest
        if start is None or (where == "beside" and rest.sum() <= _FEW_BESIDE * beside.sum()):
            continue
        field, deviation, inside = _grow(
            cells, _commonest_tint(cells.features, start & cells.usable)
        )
        if not inside.any():
            continue
        if where == "beside" and taken.any() and not _carries(inside, start, beside, rim, cells):
            continue  # a scrap that lies close to the paper
        if where == "rim":
            corner = corner or _corners_in(start, rim) == 1
        taken |= inside
        full = cells.enlarge(field)
        some = cells.enlarge_mask(inside)[::3, ::3]
        deviation = _deviation_of((features[::3, ::3] - full[::3, ::3])[some])
        here = normalised_distance(features, full, deviation)
        # Each background holds only where it was found and a little around: a white sheet on a
        # carpet says nothing about white scraps elsewhere.
        near = cells.enlarge_mask(
            cv2.dilate(inside.astype(np.uint8), np.ones((5, 5), np.uint8)) > 0
        )
        distance = np.where(near, np.minimum(distance, here), distance)
        wide = normalised_distance(
            cells.wide, np.asarray(cv2.resize(field, size), np.float32), deviation
        )
        near = cv2.resize(near.astype(np.uint8), size, interpolation=cv2.INTER_NEAREST) > 0
        coarse = np.where(near, np.minimum(coarse, wide), coarse)
    distance[~np.isfinite(distance)] = 99.0
    known = cells.enlarge_mask(taken)
    mask = _connected((distance < LIMIT) & rectified.seen, known, rectified.scale)
    halved = cv2.resize(known.astype(np.uint8), size, interpolation=cv2.INTER_NEAREST) > 0
    plain = _connected(coarse < LIMIT, halved, rectified.scale / 2)
    broad = cv2.dilate((~plain).astype(np.uint8), disc_kernel(round(0.06 * rectified.scale)))
    return Background(distance, mask, cells.enlarge_mask(broad > 0), corner)


def _longest_rim(rim: Mask, taken: Mask, cells: Cells) -> Mask | None:
    """Return the longest run of rim that is no background yet, if it is too long for one scrap."""
    rest = (rim & ~taken & cells.usable).astype(np.uint8)
    count, labels, stats, _ = cv2.connectedComponentsWithStats(rest, connectivity=8)
    if count < 2:
        return None
    longest = 1 + int(np.argmax(stats[1:, cv2.CC_STAT_AREA]))
    run = stats[longest, cv2.CC_STAT_WIDTH] + stats[longest, cv2.CC_STAT_HEIGHT]
    long_enough = _LONG_RUN * min(cells.shape)
    return np.asarray(labels == longest) if run > long_enough else None


def _corners_in(run: Mask, rim: Mask) -> int:
    """Return how many corners of the picture a run of its rim takes in."""
    rows, columns = np.nonzero(rim)
    wide = cv2.dilate(run.astype(np.uint8), np.ones((5, 5), np.uint8)) > 0
    farthest = [
        int(np.argmax(down * rows / rim.shape[0] + right * columns / rim.shape[1]))
        for down in (-1, 1)
        for right in (-1, 1)
    ]
    return int(np.count_nonzero(wide[rows[farthest], columns[farthest]]))


def _carries(inside: Mask, start: Mask, beside: Mask, rim: Mask, cells: Cells) -> bool:
    """Say whether a second background carries squares: it reaches the rim, or lies all round one.

    `start`: where it was looked for, out of all that is `beside` the squares.
    """
    at_rim = np.nonzero(inside & rim)
    if len(at_rim[0]) and sum(np.ptp(places) + 1 for places in at_rim) > _LONG_RUN * min(
        cells.shape
    ):
        return True
    count, squares = cv2.connectedComponents(beside.astype(np.uint8), connectivity=8)
    all_round = np.bincount(squares[beside], minlength=count)
    here = np.bincount(squares[inside & start], minlength=count)
    return bool(np.any(here[1:] > _ROUND * np.maximum(all_round[1:], 1)))


def _commonest_tint(colours: Field, seeds: Mask) -> Mask:
    """Return those of the seeds whose tint is near the one that most of them have."""
    tints = colours[seeds][:, 1:]
    some = tints[:: max(1, len(tints) // 300)]
    near = np.linalg.norm(some[:, None] - some[None], axis=2) < _MOST_TINT / 2
    commonest = np.median(some[near[near.sum(axis=1).argmax()]], axis=0)
    similar = seeds.copy()
    similar[seeds] = np.linalg.norm(tints - commonest, axis=1) < _MOST_TINT
    return similar


def _grow(cells: Cells, seeds: Mask) -> tuple[Field, Field, Mask]:
    """Fit a smooth field to the seeds and all cells like them; return field, spread and cells.

    The field follows what the background does nearby, and soft reflections on it.
    """
    rows, columns = np.indices(cells.shape, dtype=np.float32)
    x = 2 * columns / max(1, cells.shape[1] - 1) - 1
    y = 2 * rows / max(1, cells.shape[0] - 1) - 1
    colours = cells.features
    middle = np.median(colours[seeds], axis=0)
    deviation = _deviation_of(colours[seeds] - middle)
    field = np.broadcast_to(middle, colours.shape).astype(np.float32)
    inside = seeds
    for order in (0, 1, 1, 2, 2, 3):
        near = normalised_distance(colours, field, deviation) < LIMIT
        inside = connected_to(near & cells.usable, seeds)
        if np.count_nonzero(inside) < 30:
            inside = seeds
        powers = [(i, j) for i in range(order + 1) for j in range(order + 1 - i)]
        terms = np.stack([x**i * y**j for i, j in powers], axis=-1)
        field = _fit(terms, colours, inside)
        # Light changes the brightness of a background across the table, its tint but little: what
        # is of another tint is another background, however smoothly a field could run from one into
        # the other.
        for tint in (1, 2):
            middle_tint = float(middle[tint])
            field[..., tint].clip(
                middle_tint - _MOST_TINT, middle_tint + _MOST_TINT, out=field[..., tint]
            )
        deviation = _deviation_within(inside, colours, field)
    for step in range(_MOST_STEPS):
        field = _follow_locally(field, colours, inside, cells.inches)
        nearby = connected_to(
            (normalised_distance(colours, field, deviation) < LIMIT) & cells.usable, seeds
        )
        # Each step reaches a little farther into what the smooth field had given up: a corner of
        # the table that is much darker than the rest.
        grown = np.count_nonzero(nearby) > 1.002 * np.count_nonzero(inside)
        inside = nearby if nearby.any() else inside
        deviation = _deviation_within(inside, colours, field)
        if step >= _LEAST_STEPS and not grown:
            break
    field, inside = include_reflections(cells, field, deviation, inside)
    return field, deviation, inside


def _fit(terms: Field, colours: Field, inside: Mask) -> Field:
    some = _some(inside)
    a, b = terms[some].astype(np.float64), colours[some].astype(np.float64)
    weight = np.ones(len(a))
    for _ in range(3):
        # A little pull towards flatness keeps high orders quiet where nothing is known.
        normal = (a * weight[:, None]).T @ a + np.diag([0.0] + [1e-3 * len(a)] * (a.shape[1] - 1))
        solved = np.linalg.solve(normal, (a * weight[:, None]).T @ b)
        residuals = np.abs(b - a @ solved)
        scale = 1.5 * np.median(residuals, axis=0) + 1e-3
        weight = 1 / (1 + np.max(residuals / scale, axis=1) ** 2)
    return np.asarray(terms @ solved.astype(np.float32), dtype=np.float32)


def _follow_locally(field: Field, colours: Field, inside: Mask, inches: float) -> Field:
    """Let the field follow what the background does nearby: edges of wide shadows, worn places."""
    weight = inside.astype(np.float32)
    reach = 0.7 / inches
    known = cv2.GaussianBlur(weight, (0, 0), reach)
    local = cv2.GaussianBlur((colours - field) * weight[..., None], (0, 0), reach)
    return np.asarray(field + local / (known + 0.15)[..., None], dtype=np.float32)


def _some(inside: Mask) -> tuple[NDArray[np.intp], ...]:
    """Return the places of enough of the cells."""
    places = np.flatnonzero(inside)
    return np.unravel_index(places[:: max(1, len(places) // _ENOUGH)], inside.shape)


def _deviation_within(inside: Mask, colours: Field, field: Field) -> Field:
    some = _some(inside)
    return _deviation_of(colours[some] - field[some])


def _deviation_of(residuals: Field) -> Field:
    some = np.abs(residuals[:: max(1, len(residuals) // _ENOUGH)])
    return np.clip(1.4826 * np.median(some, axis=0), _LEAST_DEVIATION, _MOST_DEVIATION).astype(
        np.float32
    )


def _connected(similar: Mask, known: Mask, scale: float) -> Mask:
    """Return the parts of `similar` that hold a fair piece of what the coarse look found.

    Printed lines cut a mat into little squares; one that lies beside held ones along a good part of
    its rim, with only a line between, is held as well.
    """
    kernel = disc_kernel(max(1, round(0.03 * scale)))
    thinned = cv2.erode(similar.astype(np.uint8), kernel)
    count, labels = cv2.connectedComponents(thinned, connectivity=4)
    hits = np.bincount(labels[known & (thinned > 0)], minlength=count)
    keep = hits >= (0.3 * scale) ** 2
    keep[0] = False
    rim = (thinned > 0) & (cv2.erode(thinned, disc_kernel(1)) == 0)
    at_rim = labels[rim]
    around = np.bincount(at_rim, minlength=count)
    gap = disc_kernel(round(0.12 * scale))
    held = keep.astype(np.uint8)[labels]
    for _ in range(2):
        beside = cv2.dilate(held, gap)[rim] > 0
        touching = np.bincount(at_rim[beside], minlength=count)
        more = keep | (touching > _BESIDE * np.maximum(around, 8))
        more[0] = False
        if np.array_equal(more, keep):
            break
        keep = more
        held = keep.astype(np.uint8)[labels]
    return np.asarray((cv2.dilate(held, kernel) > 0) & similar)


def foreground_labels(
    rectified: RectifiedImage, background: Background, printed: Mask
) -> NDArray[np.int32]:
    """Return labels 1… of what is enclosed by background and wider than a thread; 0 elsewhere.

    Parts narrower than about a fifth of an inch go: lines, numbers, loose threads.
    """
    other = (rectified.seen & ~background.mask & ~printed).astype(np.uint8)
    reach = max(2, round(0.13 * rectified.scale))
    # Fine candidates count only near coarse ones: grid lines go, the thin edge of a print stays.
    coarse = (cv2.morphologyEx(other, cv2.MORPH_OPEN, disc_kernel(reach)) > 0) | background.broad
    different = other * coarse.astype(np.uint8)
    closed = cv2.morphologyEx(different, cv2.MORPH_CLOSE, disc_kernel(reach // 2))
    solid = cv2.morphologyEx(closed, cv2.MORPH_OPEN, disc_kernel(reach))
    # Opening rounds corners; part of what it took off comes back.
    solid = cv2.bitwise_and(cv2.dilate(solid, disc_kernel(round(0.7 * reach))), closed)
    _, labels = cv2.connectedComponents(solid, connectivity=4)
    return np.asarray(labels, dtype=np.int32)
