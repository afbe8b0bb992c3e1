"""The dominant colours of a cloth: a solid has one, a stripe its two or three, a print a few more.

k-means in CIELAB (scikit-learn) first cuts the pixels into more clusters than there are dyes. Then

1. neighbours are joined, weakest border first, wherever the pixels show no valley between them: a
   shadow, the weave and the noise of a photo make one dye into one broad hill of pixels, while two
   dyes make two hills with a valley between. Where one dye runs into another, as in hand-dyed
   cloth, there is no valley, and a hill is kept from reaching over both;
2. a small cluster that is only the blur between two larger ones (a lens and JPEG blur colour, and
   colour more than lightness) is given back to them;
3. where hills were kept apart though no valley lies between them, one dye runs into another, and
   they are cut finer, so that each step of a gradient is a swatch;
4. a cluster too small to matter, dust or a thread, goes to the nearest.

So the data choose the number.
"""

from dataclasses import dataclass
from itertools import combinations
from typing import Final

import numpy as np
import numpy.typing as npt

from scrapstore.colour.difference import delta_e
from scrapstore.colour.spaces import (
    FloatArray,
    lab_to_linear,
    lab_to_srgb,
    linear_to_lab,
    srgb_to_lab,
)

__all__ = ["Swatch", "dominant_colours", "swatch"]

Labels = npt.NDArray[np.intp]

MOST: Final = 8
_PIXELS: Final = 5_000  # enough for a share of 2 % to rest on 100 pixels
_CLUSTERS: Final = 14  # to begin with; more than the most swatches, so that joining decides
# Shadow and weave move a pixel in lightness far more than in a* and b*.
_LIGHTNESS_WEIGHT: Final = 0.7
_ALIKE: Final = 5.0  # CIEDE2000; closer than this is one dye, valley or not
# A border is a valley where the pixels half way are fewer than this part of those at the lower
# hill, or where its ends lie too far apart (weighted CIELAB) for one hill. A shadow may have an
# edge, so more is let pass where one colour may be the other in shade.
_BREADTH: Final = 15.0
_DYE_VALLEY: Final = 0.75
_SHADE_VALLEY: Final = 0.35
_SHADE_ROOM: Final = 6.0  # a*, b*; how far from a mere shadow a colour may lie and count as one
_ONE_DYE: Final = 14.0  # a*, b*; how far one dye reaches at most, shadow left out
_DEEPEST_REACH: Final = 24.0  # L*; how far shade spreads one dye at most
_STEP: Final = 10.0  # weighted CIELAB; a gradient is divided into steps of this
_MOST_STEPS: Final = 4  # that one hill is cut into
_BLUR_SHARE: Final = 0.25  # of the pixels; more than this is no mere blur
_RUN_SHARE: Final = 0.12  # of the pixels; a step of a run has so many, a blur seldom
_HILL_SHARE: Final = 0.04  # of the pixels; with fewer, no hill can be distinguished from chance
_BLUR_VALLEY: Final = 0.5  # shallower than this towards a neighbour, it is blur
_BLUR_ROOM: Final = 11.0  # CIELAB; how far off every blend of its neighbours a blur may lie
_LEAST: Final = 0.015  # of the pixels


@dataclass(frozen=True, slots=True)
class Swatch:
    """One dominant colour of a cloth."""

    rgb: tuple[int, int, int]
    """sRGB, 0 to 255."""
    lab: tuple[float, float, float]
    """CIELAB, D65."""
    share: float
    """Of the cloth, 0 to 1; the shares of one cloth sum to 1."""


def swatch(rgb: npt.ArrayLike, share: float = 1.0) -> Swatch:
    """Return the swatch of a colour given in sRGB 0 to 255, rounded to whole steps."""
    red, green, blue = (int(v) for v in np.clip(np.rint(np.asarray(rgb, float)), 0, 255))
    lightness, a, b = (float(v) for v in srgb_to_lab((red, green, blue)))
    return Swatch((red, green, blue), (lightness, a, b), float(share))


def dominant_colours(
    pixels_rgb: npt.ArrayLike, *, seed: int = 0, most: int = MOST
) -> tuple[Swatch, ...]:
    """Return the dominant colours of a cloth's pixels, the largest share first.

    `pixels_rgb` has shape (..., 3), sRGB 0 to 255, in any order; only the cloth, no table. No
    pixels give no swatches; there are at most `most`. The same pixels and seed give the same
    swatches.
    """
    pixels = np.asarray(pixels_rgb).reshape(-1, 3)
    if len(pixels) == 0 or most < 1:
        return ()
    rng = np.random.default_rng(seed)
    if len(pixels) > _PIXELS:
        pixels = pixels[rng.choice(len(pixels), _PIXELS, replace=False)]
    lab = srgb_to_lab(pixels)
    clusters = _Clusters(lab, _first_labels(pixels, lab, seed))
    clusters.join_hills()
    clusters.give_back_blur()
    clusters.cut_runs(seed)
    clusters.drop_small(most)
    found = [
        swatch(lab_to_srgb(centre), clusters.share(name))
        for name, centre in clusters.centres.items()
    ]
    return tuple(sorted(found, key=lambda one: (-one.share, one.lab)))


def _first_labels(pixels: npt.NDArray[np.generic], lab: FloatArray, seed: int) -> Labels:
    """Label each pixel with one of many small clusters."""
    codes = np.rint(pixels).astype(np.int64) @ (65536, 256, 1)
    different = np.unique(codes)
    if len(different) <= 2:
        return np.asarray(codes == different[-1], dtype=np.intp)
    return _parted(_weighted(lab), min(_CLUSTERS, len(different)), seed)


def _parted(points: FloatArray, count: int, seed: int) -> Labels:
    """Return labels 0 to `count` - 1 of points (n, 3) by k-means."""
    from sklearn.cluster import KMeans

    means = KMeans(count, n_init=1, max_iter=30, random_state=seed)
    return np.asarray(means.fit_predict(points), dtype=np.intp)


def _weighted(lab: FloatArray) -> FloatArray:
    return lab * (_LIGHTNESS_WEIGHT, 1.0, 1.0)


class _Clusters:
    """Pixels with labels that get fewer; the centre of a cluster is its median, CIELAB."""

    def __init__(self, lab: FloatArray, labels: Labels) -> None:
        self.lab = lab
        self.weighted = _weighted(lab)
        self.labels = labels
        self.centres: dict[int, FloatArray] = {}
        self._settle({int(name) for name in np.unique(labels)})
        large = [name for name in self.centres if self.share(name) >= _HILL_SHARE]
        places = np.array([self.centres[name] for name in large]).reshape(-1, 3)
        self._hues_apart = _hues_apart(places[:, None], places[None]).tolist()
        self._lights = places[:, 0].tolist()
        # What each has grown from, as rows of the table above; from mere specks, from nothing.
        self._grown = {name: [large.index(name)] if name in large else [] for name in self.centres}

    def _settle(self, names: set[int]) -> None:
        """Take the centres of these clusters anew; one without pixels is gone."""
        for name in sorted(names):
            members = self.labels == name
            if members.any():
                self.centres[name] = np.median(self.lab[members], axis=0)
            else:
                self.centres.pop(name, None)

    def share(self, name: int) -> float:
        return float(np.mean(self.labels == name))

    def join_hills(self) -> None:
        """Join clusters until every border between two is a valley."""
        borders: dict[tuple[int, int], float] = {}
        while len(self.centres) > 1:
            new = [pair for pair in combinations(sorted(self.centres), 2) if pair not in borders]
            borders.update(dict.fromkeys(new, float("inf")))
            new = [pair for pair in new if self._may_be_one_dye(*pair)]
            if new:
                here, there = (np.array([self.centres[pair[k]] for pair in new]) for k in (0, 1))
                apart = (delta_e(here, there) / _ALIKE).tolist()
                shades = (_hues_apart(here, there) < _SHADE_ROOM).tolist()
                for pair, far, shade in zip(new, apart, shades, strict=True):
                    borders[pair] = self._border(*pair, far, shade=shade)
            keep, drop = weakest = min(borders, key=lambda pair: (borders[pair], pair))
            if borders[weakest] >= 1:
                return
            self.labels[self.labels == drop] = keep
            self._grown[keep] += self._grown.pop(drop)
            self._settle({keep, drop})
            borders = {pair: held for pair, held in borders.items() if not {*pair} & {*weakest}}

    def _may_be_one_dye(self, one: int, other: int) -> bool:
        """Say whether what two clusters have grown from reaches no farther than one dye does."""
        mine, its = self._grown[one], self._grown[other]
        lights = [self._lights[row] for row in (*mine, *its)]
        return not lights or (
            max(lights) - min(lights) <= _DEEPEST_REACH
            and all(self._hues_apart[row][column] <= _ONE_DYE for row in mine for column in its)
        )

    def _border(self, one: int, other: int, alike: float, *, shade: bool) -> float:
        """Return how strong the border between two clusters is; below 1 they are one dye.

        `alike` is their difference in units of _ALIKE; `shade`, whether one may be a shadow on the
        other.
        """
        here, there = self.centres[one], self.centres[other]
        if alike < 1:
            return 0.5 * alike
        if np.linalg.norm(_weighted(there - here)) > _BREADTH:
            return float("inf")
        valley = self._valley(here, there, (self.labels == one) | (self.labels == other))
        if valley < (_SHADE_VALLEY if shade else _DYE_VALLEY):
            return 2.0
        return 0.5 + 0.4 / (1 + valley)

    def _valley(self, here: FloatArray, there: FloatArray, among: npt.NDArray[np.bool_]) -> float:
        """Return how many pixels lie half way, for each at the less crowded of the two ends."""
        way = _weighted(there - here)
        along = (self.weighted[among] - _weighted(here)) @ (way / (way @ way))
        first, half_way, last = ((np.abs(along - at) < 0.17).sum() for at in (0.0, 0.5, 1.0))
        return float(half_way / max(1, min(first, last)))

    def give_back_blur(self) -> None:
        """Give each small cluster that is only blur to the nearer of the two it lies between."""
        for name in sorted(self.centres, key=lambda name: (self.share(name), name)):
            share = self.share(name)
            larger = [other for other in self.centres if self.share(other) > share]
            if share > _BLUR_SHARE:
                return
            for one, other in combinations(sorted(larger), 2):
                if self._is_blur(name, one, other):
                    here, there = self.centres[one], self.centres[other]
                    mine = self.labels == name
                    to_here = np.linalg.norm(self.lab[mine] - here, axis=1)
                    to_there = np.linalg.norm(self.lab[mine] - there, axis=1)
                    self.labels[mine] = np.where(to_here <= to_there, one, other)
                    # The centres of the larger two stay: blur says nothing about a dye.
                    del self.centres[name]
                    break

    def _is_blur(self, name: int, one: int, other: int) -> bool:
        here, there, centre = self.centres[one], self.centres[other], self.centres[name]
        off = np.linalg.norm(_blends(here, there) - centre, axis=1).min()
        if off > _BLUR_ROOM:
            return False
        if self.share(name) < _HILL_SHARE:
            return True
        # A dye that happens to lie between two others is a hill of its own.
        return any(
            self._valley(centre, end, (self.labels == name) | (self.labels == to)) >= _BLUR_VALLEY
            for to, end in ((one, here), (other, there))
        )

    def cut_runs(self, seed: int) -> None:
        """Cut each large hill that no valley parts from another into steps, at most four."""
        hills = sorted(name for name in self.centres if self.share(name) >= _RUN_SHARE)
        running = {
            name
            for one, other in combinations(hills, 2)
            if self._valley(
                self.centres[one],
                self.centres[other],
                (self.labels == one) | (self.labels == other),
            )
            >= _DYE_VALLEY
            for name in (one, other)
        }
        for name in sorted(running):
            mine = self.labels == name
            points = self.weighted[mine]
            ways = np.linalg.svd(np.cov(points.T))[0]
            first, last = np.percentile(points @ ways[:, 0], [5, 95])
            count = min(int(np.ceil((last - first) / _STEP)), _MOST_STEPS)
            if count < 2:
                continue
            fresh = max(self.centres) + 1
            parts = _parted(points, count, seed)
            self.labels[mine] = np.where(parts == 0, name, fresh + parts - 1)
            self._settle({name, *range(fresh, fresh + count - 1)})

    def drop_small(self, most: int) -> None:
        """Give the smallest cluster to its nearest while it is dust, or there are too many."""
        while len(self.centres) > 1:
            drop = min(self.centres, key=lambda name: (self.share(name), name))
            if len(self.centres) <= most and self.share(drop) >= _LEAST:
                return
            centre = self.centres.pop(drop)
            keep = min(
                self.centres, key=lambda name: (float(delta_e(self.centres[name], centre)), name)
            )
            self.labels[self.labels == drop] = keep


def _hues_apart(one: FloatArray, other: FloatArray) -> FloatArray:
    """Return how far CIELAB colours (..., 3) are apart in a*, b*, the lighter dimmed to the darker.

    What is left is no shadow: a shadow dims all light alike.
    """
    first = one[..., :1] <= other[..., :1]
    dark, light = np.where(first, one, other), np.where(first, other, one)
    bright = lab_to_linear(light)
    part = lab_to_linear(dark).sum(axis=-1) / np.maximum(bright.sum(axis=-1), 1e-9)
    dimmed = linear_to_lab(part[..., None] * bright)
    return np.asarray(np.linalg.norm((dimmed - dark)[..., 1:], axis=-1))


def _blends(here: FloatArray, there: FloatArray) -> FloatArray:
    """Return CIELAB colours (n, 3) that a border between two dyes may show in a JPEG.

    JPEG blurs brightness (luma) and colour (the two chroma channels, usually at half resolution)
    each for itself, so every mix of the one goes with every mix of the other. Luma as in ITU-R
    BT.601, which JFIF uses.
    """
    ends = lab_to_srgb(np.stack([here, there]))
    luma = ends @ (0.299, 0.587, 0.114)
    colour = ends - luma[:, None]
    mix = np.linspace(0, 1, 9)
    lumas = luma[0] + mix * (luma[1] - luma[0])
    colours = colour[0] + mix[:, None] * (colour[1] - colour[0])
    return srgb_to_lab((lumas[:, None, None] + colours).clip(0, 255)).reshape(-1, 3)
