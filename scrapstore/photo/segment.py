"""Telling scraps from what they lie on.

The surface is what the squares lie on, and whatever else reaches round the picture's rim (a floor
beside the table, a mat on a desk). It is learned from the picture itself: starting beside the
squares and at the rim, a smooth field of brightness and tint is fitted to all that looks alike and
hangs together. What is enclosed by surface and differs from it is a candidate scrap. A print with
the surface's colour inside a scrap is not reached from outside and so stays part of the scrap.

Colours are compared as logarithms of light, split into brightness and two tints: a shadow changes
the first and hardly the others, so brightness counts for less, the more so downwards.
"""

from dataclasses import dataclass
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from scrapstore.photo.flatten import FlatTable
from scrapstore.photo.sampling import LIGHT, disc

__all__ = ["Surface", "candidates", "colour_features", "find_surface", "light_of", "log_opponent"]

Mask = NDArray[np.bool_]
Field = NDArray[np.float32]

_DARKEST: Final = 0.012
_LOG_LIGHT: Final = np.log(LIGHT + _DARKEST).astype(np.float32)
# Brightness; red against green; both against blue. Rows are of length 1, 1, 1.
_OPPONENT: Final = np.array(
    [[1, 1, 1], [1, -1, 0], [1, 1, -2]], dtype=np.float32
) / np.sqrt(np.array([[3], [2], [6]], dtype=np.float32))  # fmt: skip

_CELL: Final = 0.14
"""Side of the cells in which the surface is learned, inches."""
_LEAST_SPREAD: Final = np.array([0.035, 0.014, 0.019], dtype=np.float32)
"""Below this nothing is told apart: about 2 % in brightness and in tint."""
_MOST_SPREAD: Final = np.array([0.30, 0.07, 0.09], dtype=np.float32)
_LIMIT: Final = 4.0
"""Standard deviations beyond which a pixel is not the surface."""
_RIM: Final = 0.3
_BESIDE: Final = 0.35
_MOST_TINT: Final = 0.2
"""How far the tint of one surface changes across the table at most."""
_FEW_BESIDE: Final = 0.15
"""Of what lies beside the squares; if no more is left over, it is no surface of its own."""
_ROUND: Final = 0.85
"""Of what lies beside one square; if so much is of one surface, the square lies on it."""
_LONG_RUN: Final = 0.45
"""Of the picture's short side; no scrap is said to reach so far along the picture's edge."""
_LEAST_STEPS: Final = 3
_MOST_STEPS: Final = 24
_SOFT: Final = 0.2
"""Inches over which a soft change is looked at: several times the width of an edge."""
_MOST_CREEPS: Final = 150
"""Cells, one after the other, over which a reflection may go on: no table is so wide."""
_STEP: Final = 2.0
"""Spreads by which a place differs from what lies round it at most, if no edge goes through it."""
_FAR: Final = 8.0
"""Spreads; what differs less is near enough to the surface to be looked at as a scrap."""
_SEAM: Final = 1.6
"""Spreads by which nine in ten places differ from those round them where a reflection begins. Lamps
on plain tables and mats gave 0.6 to 1.7, shaded cloth 1.9 to 2.8."""
_ROUGHER: Final = 2.25
"""Or so many times what they do on the surface itself: on boards and carpet 1.4 to 2.1 times."""
_ROUGHER_ALL_ROUND: Final = 1.7
"""The same for three in four places all round; lamps and boards 0.5 to 1.6 times."""
_ENOUGH: Final = 4000
"""Cells looked at when a field is fitted."""


@dataclass(frozen=True, eq=False)
class Surface:
    """What the scraps lie on.

    `distance`: for each pixel of the flat table how far it is from the nearest surface, in spreads
    of that surface. `mask`: pixels that are surface and hang together with it. `broad`: pixels near
    something that is not, grid lines and other fine things apart. `corner`: something at the
    picture's edge, too long for most scraps, was taken for surface, though no square lies on it
    and it fills one corner only.
    """

    distance: Field
    mask: Mask
    broad: Mask
    corner: bool = False

    @property
    def alike(self) -> Mask:
        """Pixels that look like surface, whether or not they hang together with it."""
        return self.distance < _LIMIT


def colour_features(flat: FlatTable) -> Field:
    """Return brightness and tints (rows × columns × 3), fine lines and threads smoothed away."""
    # A median wider than twice a printed grid line takes the line out and leaves edges where they
    # are.
    reach = int(np.clip(round(0.14 * flat.scale), 4, 8)) | 1
    return log_opponent(np.asarray(cv2.medianBlur(flat.image, reach), np.uint8))


def log_opponent(pixels: NDArray[np.uint8]) -> Field:
    """Return brightness and two tints, as logarithms of light, of RGB pixels (rows × columns)."""
    logs = cv2.LUT(pixels, _LOG_LIGHT)
    return np.asarray(cv2.transform(logs, _OPPONENT), dtype=np.float32)


def light_of(features: Field) -> Field:
    """Return the light (… × 3, RGB, 0 to 1) from which `log_opponent` made `features`."""
    return np.asarray(np.exp(features @ _OPPONENT) - _DARKEST, dtype=np.float32)


def find_surface(flat: FlatTable, features: Field, around: Mask, printed: Mask) -> Surface:
    """Return the surface.

    `around`: pixels just outside the printed squares' paper; `printed`: that paper itself.
    """
    cells = _Cells(flat, printed)
    rim = cells.rim()
    distance = np.full(features.shape[:2], np.inf, dtype=np.float32)
    size = (int(cells.wide.shape[1]), int(cells.wide.shape[0]))
    coarse = np.full((size[1], size[0]), np.inf, dtype=np.float32)
    taken = np.zeros(cells.shape, dtype=bool)
    beside = (cells.share(around) > 0.5) & cells.usable
    corner = False
    for where in ("beside", "beside", "rim", "rim"):
        # Squares may lie on two surfaces: some on a mat, some on the desk under it.
        rest = beside & ~taken
        start = _longest_rim(rim, taken, cells) if where == "rim" else rest
        if start is None or (where == "beside" and rest.sum() <= _FEW_BESIDE * beside.sum()):
            continue
        field, spread, inside = _grow(cells, _of_one_tint(cells.features, start & cells.usable))
        if not inside.any():
            continue
        if where == "beside" and taken.any() and not _carries(inside, start, beside, rim, cells):
            continue  # a scrap that lies close to the paper
        if where == "rim":
            corner = corner or _corners_in(start, rim) == 1
        taken |= inside
        full = cells.enlarge(field)
        some = cells.enlarge_mask(inside)[::3, ::3]
        spread = _spread_of((features[::3, ::3] - full[::3, ::3])[some])
        here = _distance(features, full, spread)
        # Each surface holds only where it was found and a little around: a white sheet on a carpet
        # says nothing about white scraps elsewhere.
        near = cells.enlarge_mask(
            cv2.dilate(inside.astype(np.uint8), np.ones((5, 5), np.uint8)) > 0
        )
        distance = np.where(near, np.minimum(distance, here), distance)
        wide = _distance(cells.wide, np.asarray(cv2.resize(field, size), np.float32), spread)
        near = cv2.resize(near.astype(np.uint8), size, interpolation=cv2.INTER_NEAREST) > 0
        coarse = np.where(near, np.minimum(coarse, wide), coarse)
    distance[~np.isfinite(distance)] = 99.0
    known = cells.enlarge_mask(taken)
    mask = _hang_together((distance < _LIMIT) & flat.seen, known, flat.scale)
    halved = cv2.resize(known.astype(np.uint8), size, interpolation=cv2.INTER_NEAREST) > 0
    plain = _hang_together(coarse < _LIMIT, halved, flat.scale / 2)
    broad = cv2.dilate((~plain).astype(np.uint8), disc(round(0.06 * flat.scale)))
    return Surface(distance, mask, cells.enlarge_mask(broad > 0), corner)


class _Cells:
    """The flat table in coarse cells: mean features, and which cells may be looked at."""

    def __init__(self, flat: FlatTable, printed: Mask) -> None:
        rows, columns = flat.seen.shape
        step = max(1, round(_CELL * flat.scale))
        self.size = (columns, rows)
        self.shape = (max(1, rows // step), max(1, columns // step))
        # A second, wider median: grid lines must not cut the surface into little squares.
        coarse = cv2.resize(flat.image, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
        self.wide = log_opponent(np.asarray(cv2.medianBlur(coarse, 7), np.uint8))
        self.features = self._reduce(self.wide)
        blank = (~flat.seen | printed).astype(np.float32)
        self.usable: Mask = self._reduce(blank) < 0.01
        self.seen: Mask = self._reduce(flat.seen.astype(np.float32)) > 0.99
        self.inches = step / flat.scale

    def _reduce(self, values: Field) -> Field:
        size = (self.shape[1], self.shape[0])
        return np.asarray(cv2.resize(values, size, interpolation=cv2.INTER_AREA), np.float32)

    def share(self, mask: Mask) -> Field:
        return self._reduce(mask.astype(np.float32))

    def enlarge(self, values: Field) -> Field:
        return np.asarray(cv2.resize(values, self.size, interpolation=cv2.INTER_LINEAR), np.float32)

    def enlarge_mask(self, mask: Mask) -> Mask:
        return np.asarray(
            cv2.resize(mask.astype(np.uint8), self.size, interpolation=cv2.INTER_NEAREST) > 0
        )

    def rim(self) -> Mask:
        """Cells along the border of what the photo shows."""
        reach = max(1, round(_RIM / self.inches))
        framed = cv2.copyMakeBorder(self.seen.astype(np.uint8), 1, 1, 1, 1, cv2.BORDER_CONSTANT)
        inner = cv2.erode(framed, np.ones((2 * reach + 1, 2 * reach + 1), np.uint8))[1:-1, 1:-1]
        return np.asarray(self.seen & (inner == 0))


def _longest_rim(rim: Mask, taken: Mask, cells: _Cells) -> Mask | None:
    """Return the longest run of rim that is no surface yet, if it is too long for one scrap."""
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


def _carries(inside: Mask, start: Mask, beside: Mask, rim: Mask, cells: _Cells) -> bool:
    """Say whether a second surface carries squares: it reaches the rim, or lies all round one.

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


def _of_one_tint(colours: Field, seeds: Mask) -> Mask:
    """Return those of the seeds whose tint is near the one that most of them have."""
    tints = colours[seeds][:, 1:]
    some = tints[:: max(1, len(tints) // 300)]
    near = np.linalg.norm(some[:, None] - some[None], axis=2) < _MOST_TINT / 2
    commonest = np.median(some[near[near.sum(axis=1).argmax()]], axis=0)
    alike = seeds.copy()
    alike[seeds] = np.linalg.norm(tints - commonest, axis=1) < _MOST_TINT
    return alike


def _grow(cells: _Cells, seeds: Mask) -> tuple[Field, Field, Mask]:
    """Fit a smooth field to the seeds and all cells like them; return field, spread and cells.

    The field follows what the surface does nearby, and soft reflections on it.
    """
    rows, columns = np.indices(cells.shape, dtype=np.float32)
    x = 2 * columns / max(1, cells.shape[1] - 1) - 1
    y = 2 * rows / max(1, cells.shape[0] - 1) - 1
    colours = cells.features
    middle = np.median(colours[seeds], axis=0)
    spread = _spread_of(colours[seeds] - middle)
    field = np.broadcast_to(middle, colours.shape).astype(np.float32)
    inside = seeds
    for order in (0, 1, 1, 2, 2, 3):
        near = _distance(colours, field, spread) < _LIMIT
        inside = _touching(near & cells.usable, seeds)
        if np.count_nonzero(inside) < 30:
            inside = seeds
        powers = [(i, j) for i in range(order + 1) for j in range(order + 1 - i)]
        terms = np.stack([x**i * y**j for i, j in powers], axis=-1)
        field = _fit(terms, colours, inside)
        # Light changes the brightness of a surface across the table, its tint but little: what is
        # of another tint is another surface, however smoothly a field could run from one into the
        # other.
        for tint in (1, 2):
            middle_tint = float(middle[tint])
            field[..., tint].clip(
                middle_tint - _MOST_TINT, middle_tint + _MOST_TINT, out=field[..., tint]
            )
        spread = _spread_within(inside, colours, field)
    for step in range(_MOST_STEPS):
        field = _follow(field, colours, inside, cells.inches)
        nearby = _touching((_distance(colours, field, spread) < _LIMIT) & cells.usable, seeds)
        # Each step reaches a little farther into what the smooth field had given up: a corner of
        # the table that is much darker than the rest.
        grown = np.count_nonzero(nearby) > 1.002 * np.count_nonzero(inside)
        inside = nearby if nearby.any() else inside
        spread = _spread_within(inside, colours, field)
        if step >= _LEAST_STEPS and not grown:
            break
    field, inside = _creep(cells, field, spread, inside)
    return field, spread, inside


def _creep(cells: _Cells, field: Field, spread: Field, inside: Mask) -> tuple[Field, Mask]:
    """Take up what differs much from the surface but passes into it softly: a lamp's reflection.

    A scrap's edge is a step: its cells differ from the mean of what lies on both sides of it, which
    those on a slope do not. Only what is reached over slopes alone is taken up, and only where it
    differs in the end by more than the surface itself may.
    """
    colours = cells.features
    reach = _SOFT / cells.inches
    wider, square = inside, np.ones((3, 3), np.uint8)
    for _ in range(_MOST_CREEPS):
        local = _local_mean(colours, wider, reach)
        border = cv2.dilate(wider.astype(np.uint8), square) > 0
        grown = wider | (border & cells.usable & (_distance(colours, local, spread) < _LIMIT))
        if np.count_nonzero(grown) == np.count_nonzero(wider):
            break
        wider = grown
    rough = _distance(colours, _local_mean(colours, wider, reach), spread)
    stepped = rough > _STEP
    # Wider by a cell, so that a line of them has no gaps.
    barred = cv2.dilate(stepped.astype(np.uint8), square) > 0
    sloping = _touching(wider & ~barred, inside) & ~inside
    gained = sloping & _without_seam(
        sloping, inside, wider, rough, _distance(colours, field, spread)
    )
    if not gained.any():
        return field, inside
    gained = (cv2.dilate(gained.astype(np.uint8), square) > 0) & wider & ~inside & ~stepped
    inside = inside | gained
    # As far as the surface counts beyond its own cells, so does its colour there.
    near = cv2.dilate(gained.astype(np.uint8), np.ones((5, 5), np.uint8)) > 0
    local = _local_mean(colours, inside, reach)
    return np.where((near & ~inside | gained)[..., None], local, field).astype(np.float32), inside


def _without_seam(gained: Mask, inside: Mask, wider: Mask, rough: Field, far: Field) -> Mask:
    """Return the parts of `gained` that end far from the surface and pass into it as into itself.

    `inside`: the surface; `wider`: what may be looked at; `rough`: how far each place is from those
    round it; `far`: from the surface. Cloth may be shaded and go on changing inside its edge; along
    it, places are rougher than the surface is: where it meets the surface, and all round.
    """
    two = np.ones((5, 5), np.uint8)
    deep = cv2.erode(inside.astype(np.uint8), np.ones((7, 7), np.uint8)) > 0
    own = float(np.percentile(rough[deep], 90)) if deep.any() else 0.0
    beside = wider & (cv2.dilate(inside.astype(np.uint8), two) > 0)
    count, labels = cv2.connectedComponents(gained.astype(np.uint8), connectivity=8)
    farthest = np.zeros(count, np.float32)
    np.maximum.at(farthest, np.asarray(labels[gained], np.intp), far[gained])
    soft = np.zeros(count, bool)
    for number in np.flatnonzero(farthest > _FAR):
        part = labels == number
        around = wider & (cv2.dilate(part.astype(np.uint8), two) > 0)
        soft[number] = np.percentile(rough[around & beside], 90) < max(
            _SEAM, _ROUGHER * own
        ) and np.percentile(rough[around & ~part], 75) < max(_SEAM, _ROUGHER_ALL_ROUND * own)
    return np.asarray(soft[labels])


def _local_mean(colours: Field, inside: Mask, reach: float) -> Field:
    """Return the mean colour (rows × columns × 3) of what is `inside` and `reach` cells near."""
    weight = inside.astype(np.float32)
    known = cv2.GaussianBlur(weight, (0, 0), reach)
    mean = cv2.GaussianBlur(colours * weight[..., None], (0, 0), reach)
    return np.asarray(mean / np.maximum(known, 1e-4)[..., None], dtype=np.float32)


def _fit(terms: Field, colours: Field, inside: Mask) -> Field:
    some = _some(inside)
    a, b = terms[some].astype(np.float64), colours[some].astype(np.float64)
    weight = np.ones(len(a))
    for _ in range(3):
        # A little pull towards flatness keeps high orders quiet where nothing is known.
        normal = (a * weight[:, None]).T @ a + np.diag([0.0] + [1e-3 * len(a)] * (a.shape[1] - 1))
        solved = np.linalg.solve(normal, (a * weight[:, None]).T @ b)
        stray = np.abs(b - a @ solved)
        scale = 1.5 * np.median(stray, axis=0) + 1e-3
        weight = 1 / (1 + np.max(stray / scale, axis=1) ** 2)
    return np.asarray(terms @ solved.astype(np.float32), dtype=np.float32)


def _follow(field: Field, colours: Field, inside: Mask, inches: float) -> Field:
    """Let the field follow what the surface does nearby: edges of wide shadows, worn places."""
    weight = inside.astype(np.float32)
    reach = 0.7 / inches
    known = cv2.GaussianBlur(weight, (0, 0), reach)
    local = cv2.GaussianBlur((colours - field) * weight[..., None], (0, 0), reach)
    return np.asarray(field + local / (known + 0.15)[..., None], dtype=np.float32)


def _some(inside: Mask) -> tuple[NDArray[np.intp], ...]:
    """Return the places of enough of the cells."""
    places = np.flatnonzero(inside)
    return np.unravel_index(places[:: max(1, len(places) // _ENOUGH)], inside.shape)


def _spread_within(inside: Mask, colours: Field, field: Field) -> Field:
    some = _some(inside)
    return _spread_of(colours[some] - field[some])


def _spread_of(stray: Field) -> Field:
    some = np.abs(stray[:: max(1, len(stray) // _ENOUGH)])
    return np.clip(1.4826 * np.median(some, axis=0), _LEAST_SPREAD, _MOST_SPREAD).astype(np.float32)


def _distance(colours: Field, field: Field, spread: Field) -> Field:
    """How far colours are from the field, in spreads; darker counts for less (shadow)."""
    # One plane after the other: arithmetic over a last axis of three is slow.
    first, second, third = ((colours[..., k] - field[..., k]) / spread[k] for k in range(3))
    far = np.maximum(first, -0.6 * first)
    far *= far
    second *= second
    far += second
    third *= third
    far += third
    return np.asarray(np.sqrt(far, out=far), dtype=np.float32)


def _touching(mask: Mask, seeds: Mask) -> Mask:
    """Return the connected parts of `mask` that contain a fair number of seeds."""
    count, labels = cv2.connectedComponents(mask.astype(np.uint8), connectivity=8)
    hits = np.bincount(labels[seeds & mask], minlength=count)
    keep = hits >= 3
    keep[0] = False
    return np.asarray(keep[labels])


def _hang_together(alike: Mask, known: Mask, scale: float) -> Mask:
    """Return the parts of `alike` that hold a fair piece of what the coarse look found.

    Printed lines cut a mat into little squares; one that lies beside held ones along a good part of
    its rim, with only a line between, is held as well.
    """
    kernel = disc(max(1, round(0.03 * scale)))
    thinned = cv2.erode(alike.astype(np.uint8), kernel)
    count, labels = cv2.connectedComponents(thinned, connectivity=4)
    hits = np.bincount(labels[known & (thinned > 0)], minlength=count)
    keep = hits >= (0.3 * scale) ** 2
    keep[0] = False
    rim = (thinned > 0) & (cv2.erode(thinned, disc(1)) == 0)
    at_rim = labels[rim]
    around = np.bincount(at_rim, minlength=count)
    gap = disc(round(0.12 * scale))
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
    return np.asarray((cv2.dilate(held, kernel) > 0) & alike)


def candidates(flat: FlatTable, surface: Surface, printed: Mask) -> NDArray[np.int32]:
    """Return labels 1… of what is enclosed by surface and wider than a thread; 0 elsewhere.

    Parts narrower than about a fifth of an inch go: lines, numbers, loose threads.
    """
    other = (flat.seen & ~surface.mask & ~printed).astype(np.uint8)
    reach = max(2, round(0.13 * flat.scale))
    # Fine things count only near coarse ones: grid lines go, the thin edge of a print stays.
    coarse = (cv2.morphologyEx(other, cv2.MORPH_OPEN, disc(reach)) > 0) | surface.broad
    different = other * coarse.astype(np.uint8)
    closed = cv2.morphologyEx(different, cv2.MORPH_CLOSE, disc(reach // 2))
    solid = cv2.morphologyEx(closed, cv2.MORPH_OPEN, disc(reach))
    # Opening rounds corners; part of what it took off comes back.
    solid = cv2.bitwise_and(cv2.dilate(solid, disc(round(0.7 * reach))), closed)
    _, labels = cv2.connectedComponents(solid, connectivity=4)
    return np.asarray(labels, dtype=np.int32)
