"""The background model, and the foreground: what differs from it.

The background is what the squares lie on, and whatever else reaches round the picture's rim (a
floor beside the table, a mat on a desk). It is learned from the picture itself: starting beside the
squares and at the rim, a smooth field of brightness and tint is fitted to all that looks alike and
is connected. What is enclosed by background and differs from it is a candidate scrap. A print with
the background's colour inside a scrap is not reached from outside and so stays part of the scrap.
"""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from scrapstore.photo.arrays import Field, Labels, Mask
from scrapstore.photo.scale import RectifiedImage
from scrapstore.photo.segmentation import tuning
from scrapstore.photo.segmentation.cells import (
    Cells,
    connected_to,
    log_opponent,
    normalised_distance,
)
from scrapstore.photo.segmentation.enclosed import enclosed_by_steps
from scrapstore.photo.segmentation.masks import (
    closed,
    dilated,
    disc,
    eroded,
    opened,
    resized_mask,
    square,
)
from scrapstore.photo.segmentation.reflections import include_reflections

__all__ = ["Background", "colour_features", "fit_background", "foreground_labels"]


@dataclass(frozen=True, eq=False)
class Background:
    """What the scraps lie on.

    `distance`: for each pixel of the rectified image its distance to the nearest background, in
    standard deviations of that background. `mask`: pixels that are background and are connected
    with it. `broad`: pixels near something that is not, grid lines and other fine candidates apart.
    `corner`: something at the picture's edge, too long for most scraps, was taken for background,
    though no square lies on it and it fills one corner only. `enclosed`: parts that a step encloses
    or that have another grain, whatever their colour.
    """

    distance: Field
    mask: Mask
    broad: Mask
    enclosed: Mask
    corner: bool = False

    @property
    def similar(self) -> Mask:
        """Pixels that look like background, whether or not they are connected with it."""
        return self.distance < tuning.BACKGROUND_LIMIT


def colour_features(rectified: RectifiedImage) -> Field:
    """Return brightness and tints (rows × columns × 3), fine lines and threads smoothed away."""
    # A median wider than twice a printed grid line takes the line out and leaves edges where they
    # are.
    reach = int(np.clip(round(tuning.SMOOTHING * rectified.scale), *tuning.SMOOTHING_PIXELS)) | 1
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
        if start is None or (
            where == "beside" and rest.sum() <= tuning.LEAST_BESIDE * beside.sum()
        ):
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
        near = cells.enlarge_mask(dilated(inside, square(2)))
        distance = np.where(near, np.minimum(distance, here), distance)
        wide = normalised_distance(
            cells.wide, np.asarray(cv2.resize(field, size), np.float32), deviation
        )
        coarse = np.where(resized_mask(near, size), np.minimum(coarse, wide), coarse)
    distance[~np.isfinite(distance)] = 99.0
    known = cells.enlarge_mask(taken)
    mask = _connected((distance < tuning.BACKGROUND_LIMIT) & rectified.seen, known, rectified.scale)
    enclosed = enclosed_by_steps(cells, rectified, printed)
    halved = resized_mask(known, size)
    plain = _connected(coarse < tuning.BACKGROUND_LIMIT, halved, rectified.scale / 2)
    broad = dilated(~plain, disc(round(tuning.NEAR_BROAD * rectified.scale)))
    return Background(distance, mask, cells.enlarge_mask(broad), enclosed, corner)


def _longest_rim(rim: Mask, taken: Mask, cells: Cells) -> Mask | None:
    """Return the longest run of rim that is no background yet, if it is too long for one scrap."""
    rest = (rim & ~taken & cells.usable).astype(np.uint8)
    count, labels, stats, _ = cv2.connectedComponentsWithStats(rest, connectivity=8)
    if count < 2:
        return None
    longest = 1 + int(np.argmax(stats[1:, cv2.CC_STAT_AREA]))
    run = stats[longest, cv2.CC_STAT_WIDTH] + stats[longest, cv2.CC_STAT_HEIGHT]
    long_enough = tuning.LONG_RUN * min(cells.shape)
    return np.asarray(labels == longest) if run > long_enough else None


def _corners_in(run: Mask, rim: Mask) -> int:
    """Return how many corners of the picture a run of its rim takes in."""
    rows, columns = np.nonzero(rim)
    wide = dilated(run, square(2))
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
    if len(at_rim[0]) and sum(np.ptp(places) + 1 for places in at_rim) > tuning.LONG_RUN * min(
        cells.shape
    ):
        return True
    count, squares = cv2.connectedComponents(beside.astype(np.uint8), connectivity=8)
    all_round = np.bincount(squares[beside], minlength=count)
    here = np.bincount(squares[inside & start], minlength=count)
    return bool(np.any(here[1:] > tuning.ALL_ROUND * np.maximum(all_round[1:], 1)))


def _commonest_tint(colours: Field, seeds: Mask) -> Mask:
    """Return those of the seeds whose tint is near the one that most of them have."""
    tints = colours[seeds][:, 1:]
    some = tints[:: max(1, len(tints) // tuning.TINT_CELLS)]
    near = np.linalg.norm(some[:, None] - some[None], axis=2) < tuning.MOST_TINT / 2
    commonest = np.median(some[near[near.sum(axis=1).argmax()]], axis=0)
    similar = seeds.copy()
    similar[seeds] = np.linalg.norm(tints - commonest, axis=1) < tuning.MOST_TINT
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
    for order in tuning.TREND_ORDERS:
        near = normalised_distance(colours, field, deviation) < tuning.BACKGROUND_LIMIT
        inside = connected_to(near & cells.usable, seeds)
        if np.count_nonzero(inside) < tuning.LEAST_CELLS:
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
                middle_tint - tuning.MOST_TINT, middle_tint + tuning.MOST_TINT, out=field[..., tint]
            )
        deviation = _deviation_within(inside, colours, field)
    least_steps, most_steps = tuning.FOLLOW_STEPS
    for step in range(most_steps):
        field = _follow_locally(field, colours, inside, cells.inches)
        nearby = connected_to(
            (normalised_distance(colours, field, deviation) < tuning.BACKGROUND_LIMIT)
            & cells.usable,
            seeds,
        )
        # Each step reaches a little farther into what the smooth field had given up: a corner of
        # the table that is much darker than the rest.
        grown = np.count_nonzero(nearby) > tuning.STILL_GROWING * np.count_nonzero(inside)
        inside = nearby if nearby.any() else inside
        deviation = _deviation_within(inside, colours, field)
        if step >= least_steps and not grown:
            break
    field, inside = include_reflections(cells, field, deviation, inside)
    return field, deviation, inside


def _fit(terms: Field, colours: Field, inside: Mask) -> Field:
    some = _some(inside)
    a, b = terms[some].astype(np.float64), colours[some].astype(np.float64)
    weight = np.ones(len(a))
    for _ in range(3):
        # A little pull towards flatness keeps high orders quiet where nothing is known.
        normal = (a * weight[:, None]).T @ a + np.diag(
            [0.0] + [tuning.FLATNESS * len(a)] * (a.shape[1] - 1)
        )
        solved = np.linalg.solve(normal, (a * weight[:, None]).T @ b)
        residuals = np.abs(b - a @ solved)
        scale = 1.5 * np.median(residuals, axis=0) + 1e-3
        weight = 1 / (1 + np.max(residuals / scale, axis=1) ** 2)
    return np.asarray(terms @ solved.astype(np.float32), dtype=np.float32)


def _follow_locally(field: Field, colours: Field, inside: Mask, inches: float) -> Field:
    """Let the field follow what the background does nearby: edges of wide shadows, worn places."""
    weight = inside.astype(np.float32)
    reach = tuning.FOLLOW_REACH / inches
    known = cv2.GaussianBlur(weight, (0, 0), reach)
    local = cv2.GaussianBlur((colours - field) * weight[..., None], (0, 0), reach)
    return np.asarray(field + local / (known + tuning.FOLLOW_PRIOR)[..., None], dtype=np.float32)


def _some(inside: Mask) -> tuple[NDArray[np.intp], ...]:
    """Return the places of enough of the cells."""
    places = np.flatnonzero(inside)
    return np.unravel_index(places[:: max(1, len(places) // tuning.FIT_CELLS)], inside.shape)


def _deviation_within(inside: Mask, colours: Field, field: Field) -> Field:
    some = _some(inside)
    return _deviation_of(colours[some] - field[some])


def _deviation_of(residuals: Field) -> Field:
    some = np.abs(residuals[:: max(1, len(residuals) // tuning.FIT_CELLS)])
    return np.clip(
        1.4826 * np.median(some, axis=0), tuning.LEAST_DEVIATION, tuning.MOST_DEVIATION
    ).astype(np.float32)


def _connected(similar: Mask, known: Mask, scale: float) -> Mask:
    """Return the parts of `similar` that hold a fair piece of what the coarse look found.

    Printed lines cut a mat into little squares; one that lies beside held ones along a good part of
    its rim, with only a line between, is held as well.
    """
    kernel = disc(max(1, round(tuning.BACKGROUND_OPENING * scale)))
    thinned = eroded(similar, kernel)
    count, labels = cv2.connectedComponents(thinned.astype(np.uint8), connectivity=4)
    hits = np.bincount(labels[known & thinned], minlength=count)
    keep = hits >= (tuning.BACKGROUND_CORE * scale) ** 2
    keep[0] = False
    rim = thinned & ~eroded(thinned, disc(1))
    at_rim = labels[rim]
    around = np.bincount(at_rim, minlength=count)
    gap = disc(round(tuning.GRID_LINE * scale))
    for _ in range(2):
        beside = dilated(keep[labels], gap)[rim]
        touching = np.bincount(at_rim[beside], minlength=count)
        more = keep | (touching > tuning.GRID_RIM * np.maximum(around, 8))
        more[0] = False
        if np.array_equal(more, keep):
            break
        keep = more
    return dilated(keep[labels], kernel) & similar


def foreground_labels(rectified: RectifiedImage, background: Background, printed: Mask) -> Labels:
    """Return labels 1… of what is enclosed by background and wider than a thread; 0 elsewhere.

    Parts narrower than about a fifth of an inch go: lines, numbers, loose threads.
    """
    other = rectified.seen & ~background.mask & ~printed
    reach = max(2, round(tuning.THREAD * rectified.scale))
    # Fine structures count only near coarse ones: grid lines go, the thin edge of a print stays.
    different = other & (opened(other, disc(reach)) | background.broad)
    whole = closed(different, disc(reach // 2))
    # Opening rounds corners; part of what it took off comes back.
    solid = dilated(opened(whole, disc(reach)), disc(round(tuning.REGROWN * reach))) & whole
    _, labels = cv2.connectedComponents(solid.astype(np.uint8), connectivity=4)
    return np.asarray(labels, dtype=np.int32)
