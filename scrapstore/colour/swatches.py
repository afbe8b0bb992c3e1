"""The dominant colours of a cloth: a solid has one, a stripe its two or three, a print a few more.

k-means in CIELAB (scikit-learn) first cuts the pixels into more clusters than there are dyes. Then
neighbours are joined, weakest border first, wherever the pixels show no valley between them: a
shadow, the weave and the noise of a photo make one dye into one broad hill of pixels, while two
dyes make two hills with a valley between. So the data choose the number.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from scrapstore.colour.difference import delta_e
from scrapstore.colour.spaces import FloatArray, lab_to_srgb, srgb_to_lab

__all__ = ["Swatch", "dominant_colours", "swatch"]

MOST: Final = 8
_PIXELS: Final = 6_000  # enough for a share of 2 % to rest on 120 pixels
_CLUSTERS: Final = 14  # to begin with; more than the most swatches, so that joining decides
# Shadow and weave move a pixel in lightness far more than in a* and b*.
_LIGHTNESS_WEIGHT: Final = 0.7
_ALIKE: Final = 5.0  # CIEDE2000: closer than this is one dye, whatever the valley
_SHADOW: Final = 26.0  # weighted distance; a hill broader than this is more than a shadow
_VALLEY: Final = 0.55  # density half way, as a part of the lower hill's
_SMALL: Final = 0.08  # of the pixels; below it an in-between colour may be a blurred border
_LEAST: Final = 0.015  # of the pixels; below it a colour is dust or a thread


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
    pixels_rgb: npt.NDArray[np.uint8] | npt.ArrayLike, *, seed: int = 0, most: int = MOST
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
        pixels = pixels[np.sort(rng.choice(len(pixels), _PIXELS, replace=False))]
    lab = srgb_to_lab(pixels)
    labels = _join(_weighted(lab), lab, _first_clusters(lab, seed), most)
    found = [
        swatch(lab_to_srgb(np.median(lab[labels == label], axis=0)), np.mean(labels == label))
        for label in np.unique(labels)
    ]
    return tuple(sorted(found, key=lambda one: (-one.share, one.lab)))


def _weighted(lab: FloatArray) -> FloatArray:
    return lab * (_LIGHTNESS_WEIGHT, 1.0, 1.0)


def _first_clusters(lab: FloatArray, seed: int) -> npt.NDArray[np.intp]:
    """Label each pixel with one of many small clusters."""
    different = np.unique(lab, axis=0)
    if len(different) <= 2:
        return np.asarray((lab == different[-1]).all(axis=1), dtype=np.intp)
    from sklearn.cluster import KMeans

    means = KMeans(min(_CLUSTERS, len(different)), n_init=1, max_iter=40, random_state=seed)
    return np.asarray(means.fit_predict(_weighted(lab)), dtype=np.intp)


def _join(
    points: FloatArray, lab: FloatArray, labels: npt.NDArray[np.intp], most: int
) -> npt.NDArray[np.intp]:
    """Join clusters until every border is a valley and no more than `most` stay."""
    labels = labels.copy()
    borders: dict[tuple[int, int], float] = {}
    while True:
        names = [int(name) for name in np.unique(labels)]
        if len(names) == 1:
            return labels
        for at, one in enumerate(names):
            for other in names[at + 1 :]:
                if (one, other) not in borders:
                    borders[one, other] = _border(points, lab, labels == one, labels == other)
        weakest = min(borders, key=lambda pair: (borders[pair], pair))
        smallest = min(names, key=lambda name: (np.count_nonzero(labels == name), name))
        if borders[weakest] < 1:
            keep, drop = weakest
        elif len(names) > most or np.mean(labels == smallest) < _LEAST:
            drop = smallest
            keep = min(
                (name for name in names if name != drop),
                key=lambda name: borders[min(name, drop), max(name, drop)],
            )
        else:
            return labels
        labels[labels == drop] = keep
        borders = {
            pair: strength
            for pair, strength in borders.items()
            if keep not in pair and drop not in pair
        }


def _border(
    points: FloatArray,
    lab: FloatArray,
    one: npt.NDArray[np.bool_],
    other: npt.NDArray[np.bool_],
) -> float:
    """Return how strong the border between two clusters is; below 1 they are one dye."""
    here, there = np.median(points[one], axis=0), np.median(points[other], axis=0)
    apart = float(np.linalg.norm(there - here))
    alike = float(delta_e(np.median(lab[one], axis=0), np.median(lab[other], axis=0))) / _ALIKE
    if alike < 1:
        return 0.5 * alike
    small = min(np.count_nonzero(one), np.count_nonzero(other)) < _SMALL * len(points)
    if apart > _SHADOW and not small:
        return 1 + apart
    both = points[one | other]
    along = (both - here) @ (there - here) / apart**2
    hills = min(_density(along, 0.0), _density(along, 1.0))
    valley = _density(along, 0.5) / max(hills, 1e-9)
    return min(alike, 1 + apart) if valley < _VALLEY else 0.5 + 0.4 / (1 + valley)


def _density(along: FloatArray, at: float) -> float:
    return float(np.count_nonzero(np.abs(along - at) < 0.17))
