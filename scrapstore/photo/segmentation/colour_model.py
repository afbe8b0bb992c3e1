"""Colour models of a scrap and of the background, in full light or in shadow; distances to them.

Colours are brightness and two tints, as `opponent.log_opponent` gives them.
"""

from dataclasses import dataclass

import cv2
import numpy as np

from scrapstore.photo.arrays import Field, Floats, Labels
from scrapstore.photo.segmentation import tuning

__all__ = [
    "ColourModel",
    "Palette",
    "above_noise",
    "ambiguity_penalties",
    "cluster",
    "cluster_colours",
    "distance_to_background",
    "distances_to_palette",
    "noise_of",
    "weighted",
]


@dataclass(frozen=True, eq=False)
class Palette:
    """Colours (k × 3, as `log_opponent` gives them) and their `shares` of an area."""

    colours: Field
    shares: Floats

    @property
    def penalties(self) -> Field:
        """What it costs to explain a sample by each colour: rare ones, such as lines, are dear."""
        return np.where(self.shares < tuning.RARE_SHARE, tuning.RARE_COST, 0.0).astype(np.float32)


def cluster_colours(some: Field, most: int = 5, seed: int = 0) -> Palette:
    """Return up to `most` colours that make up n × 3 samples; rare ones are left out."""
    some = np.ascontiguousarray(some[:: max(1, len(some) // tuning.PALETTE_SAMPLES)])
    if len(some) < tuning.PALETTE_FEWEST:
        return Palette(some, np.full(len(some), 1 / max(1, len(some))))
    labels, centres = cluster(some, most, seed)
    shares = np.bincount(labels, minlength=len(centres)) / len(some)
    kept = shares > tuning.PALETTE_LEAST
    return Palette(centres[kept], shares[kept])


def cluster(some: Field, most: int, seed: int = 0) -> tuple[Labels, Field]:
    """Return which of `most` groups each of n × 3 samples is of (n), and the groups' middles."""
    cv2.setRNGSeed(seed)
    criteria = (cv2.TERM_CRITERIA_MAX_ITER, 8, 0.0)
    count = min(most, len(some))
    _, labels, centres = cv2.kmeans(some, count, np.empty(0), criteria, 1, cv2.KMEANS_PP_CENTERS)
    return np.asarray(labels, np.int32).ravel(), np.asarray(centres, dtype=np.float32)


def distances_to_palette(seen: Field, palette: Palette) -> Field:
    """How far samples (rows × columns × 3) are from each of k colours; k × rows × columns."""
    away = np.empty((len(palette.colours), *seen.shape[:2]), dtype=np.float32)
    weighed = weighted(seen)
    for k, colour in enumerate(palette.colours):
        residuals = weighed - weighted(colour)
        away[k] = np.sqrt(np.einsum("ijk,ijk->ij", residuals, residuals))
    return away


def ambiguity_penalties(palette: Palette, beside: Field, texture: Palette) -> Field:
    """How much farther than it looks each of k colours counts; k × rows × columns.

    A colour that the background beside (rows × columns × 3) has as well says little for the scrap:
    it counts as if it were some way off, so that in doubt the background wins.
    """
    limits = np.where(
        palette.shares < tuning.MOTIF_SHARE, tuning.CLEAR_MOTIF, tuning.CLEAR_COLOUR
    ).astype(np.float32)
    residuals = palette.colours[:, None, None] - beside
    away = distance_to_background(residuals.reshape(-1, *beside.shape[1:]), texture)
    return np.asarray(np.maximum(limits[:, None, None] - away.reshape(residuals.shape[:3]), 0))


def distance_to_background(residuals: Field, texture: Palette) -> Field:
    """How far samples are from the background beside them, the background in shadow included.

    `residuals`: samples less the background's own colour. `texture` (k × 3) are the background's
    grain and lines, in the same terms.
    """
    best = np.full(residuals.shape[:2], np.inf, dtype=np.float32)
    weighed = weighted(residuals)
    bright, first, second = (np.ascontiguousarray(weighed[..., k]) for k in range(3))
    for mark, penalty in zip(weighted(texture.colours), texture.penalties, strict=True):
        up = bright - mark[0]
        shade = np.clip(-up, 0, tuning.DEEPEST_SHADOW * tuning.CHANNEL_WEIGHTS[0])
        up += shade
        far = up * up
        far += (first - mark[1]) ** 2
        far += (second - mark[2]) ** 2
        np.sqrt(far, out=far)
        far += tuning.SHADOW_COST / tuning.CHANNEL_WEIGHTS[0] * shade
        far += penalty
        np.minimum(best, far, out=best)
    return best


@dataclass(frozen=True, eq=False)
class ColourModel:
    """The colours on either side of a scrap's edge.

    `scrap`: the scrap's own. `texture`: the background's grain and lines, as differences from its
    colour there; `backgrounds`: the colours themselves, for where two backgrounds meet.
    """

    scrap: Palette
    texture: Palette
    backgrounds: Palette

    def distances(self, seen: Field, backdrop: Field) -> tuple[Field, Field]:
        """Return how far pixels (rows × columns × 3) are from the scrap and from the background.

        `backdrop`: the background's colour at these pixels.
        """
        rows, columns = seen.shape[:2]
        few = ambiguity_penalties(
            self.scrap, backdrop[:: tuning.PENALTY_STEP, :: tuning.PENALTY_STEP], self.texture
        )
        away = distances_to_palette(seen, self.scrap)
        for k, penalty in enumerate(few):
            away[k] += cv2.resize(penalty, (columns, rows))
        background = np.minimum(
            distance_to_background(seen - backdrop, self.texture),
            distance_to_background(seen, self.backgrounds),
        )
        return np.asarray(away.min(axis=0)), background


def noise_of(distances: Field) -> float:
    """Return what weave, grain and noise make of the distance from a colour model to its own side.

    `distances`: of samples that surely lie on that side; without any, 0.
    """
    return min(float(np.median(distances)), tuning.MOST_NOISE) if distances.size else 0.0


def above_noise(distances: Field, noise: float) -> Field:
    """Return distances less noise, cut off where farther is simply another colour."""
    return np.asarray(np.clip(distances - noise, 0, tuning.MOST_DISTANCE))


def weighted(features: Field) -> Field:
    """Return features (… × 3) with brightness and tints weighted as distances weigh them."""
    return np.asarray(features * tuning.CHANNEL_WEIGHTS)
