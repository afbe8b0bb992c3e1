"""Colour models of a scrap and of the background, in full light or in shadow; distances to them.

Colours are brightness and two tints, as `cells.log_opponent` gives them.
"""

from dataclasses import dataclass
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

__all__ = [
    "CAP",
    "FEW",
    "MOST_NOISE",
    "WEIGHTS",
    "ColourModel",
    "Palette",
    "ambiguity_penalties",
    "cluster_colours",
    "distance_to_background",
    "distances_to_palette",
]

Floats = NDArray[np.float64]
Field = NDArray[np.float32]

WEIGHTS: Final = np.array([0.6, 1.6, 1.2], dtype=np.float32)
"""What a difference in brightness and the two tints counts."""
CAP: Final = 0.35
"""Farther than this is simply another colour: a stray one is not to outvote its neighbours."""
MOST_NOISE: Final = 0.25
"""What weave, grain and noise account for at most of a colour's distance from its own side."""
_DEEPEST: Final = 0.9
"""Darkest shadow, as a difference of brightness (logarithm times √3)."""
_SHADE_COST: Final = 0.2
"""What a shade of that depth costs: the background in full light is likelier than in shadow."""
_RARE: Final = 0.2
"""Share of a candidate below which one of its colours is rare."""
_DEAR: Final = 0.12
"""What it costs to explain a sample by a rare colour."""
_DOUBT: Final = 0.07
"""How far off the background a colour of the scrap must be to speak for the scrap."""
FEW: Final = 0.12
"""Share below which a colour is that of a motif, hardly of the whole edge."""
_FEW_DOUBT: Final = 0.26
"""The same for the colour of a motif, which often is a bit of background taken in."""
_COARSE: Final = 8
"""Pixels of the window for one in which doubts are reckoned: the background changes slowly."""


@dataclass(frozen=True, eq=False)
class Palette:
    """Colours (k × 3, as `log_opponent` gives them) and their `shares` of an area."""

    colours: Field
    shares: Floats

    @property
    def penalties(self) -> Field:
        """What it costs to explain a sample by each colour: rare ones, such as lines, are dear."""
        return np.where(self.shares < _RARE, _DEAR, 0.0).astype(np.float32)


def cluster_colours(some: Field, most: int = 5, seed: int = 0) -> Palette:
    """Return up to `most` colours that make up n × 3 samples; those under 3 % are left out."""
    some = np.ascontiguousarray(some[:: max(1, len(some) // 2000)])
    if len(some) < 10:
        return Palette(some, np.full(len(some), 1 / max(1, len(some))))
    cv2.setRNGSeed(seed)
    criteria = (cv2.TERM_CRITERIA_MAX_ITER, 8, 0.0)
    count = min(most, len(some))
    _, labels, centres = cv2.kmeans(some, count, np.empty(0), criteria, 1, cv2.KMEANS_PP_CENTERS)
    shares = np.bincount(np.asarray(labels).ravel(), minlength=count) / len(some)
    kept = shares > 0.03
    return Palette(np.asarray(centres, dtype=np.float32)[kept], shares[kept])


def distances_to_palette(seen: Field, palette: Palette) -> Field:
    """How far samples (rows × columns × 3) are from each of k colours; k × rows × columns."""
    away = np.empty((len(palette.colours), *seen.shape[:2]), dtype=np.float32)
    weighed = seen * WEIGHTS
    for k, colour in enumerate(palette.colours):
        residuals = weighed - colour * WEIGHTS
        away[k] = np.sqrt(np.einsum("ijk,ijk->ij", residuals, residuals))
    return away


def ambiguity_penalties(palette: Palette, beside: Field, texture: Palette) -> Field:
    """How much farther than it looks each of k colours counts; k × rows × columns.

    A colour that the background beside (rows × columns × 3) has as well says little for the scrap:
    it counts as if it were some way off, so that in doubt the background wins.
    """
    limits = np.where(palette.shares < FEW, _FEW_DOUBT, _DOUBT).astype(np.float32)
    residuals = palette.colours[:, None, None] - beside
    away = distance_to_background(residuals.reshape(-1, *beside.shape[1:]), texture)
    return np.asarray(np.maximum(limits[:, None, None] - away.reshape(residuals.shape[:3]), 0))


def distance_to_background(residuals: Field, texture: Palette) -> Field:
    """How far samples are from the background beside them, the background in shadow included.

    `residuals`: samples less the background's own colour. `texture` (k × 3) are the background's
    grain and lines, in the same terms.
    """
    best = np.full(residuals.shape[:2], np.inf, dtype=np.float32)
    weighed = residuals * WEIGHTS
    bright, first, second = (np.ascontiguousarray(weighed[..., k]) for k in range(3))
    for mark, penalty in zip(texture.colours * WEIGHTS, texture.penalties, strict=True):
        up = bright - mark[0]
        shade = np.clip(-up, 0, _DEEPEST * WEIGHTS[0])
        up += shade
        far = up * up
        far += (first - mark[1]) ** 2
        far += (second - mark[2]) ** 2
        np.sqrt(far, out=far)
        far += _SHADE_COST / WEIGHTS[0] * shade
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
        few = ambiguity_penalties(self.scrap, backdrop[::_COARSE, ::_COARSE], self.texture)
        away = distances_to_palette(seen, self.scrap)
        for k, penalty in enumerate(few):
            away[k] += cv2.resize(penalty, (columns, rows))
        background = np.minimum(
            distance_to_background(seen - backdrop, self.texture),
            distance_to_background(seen, self.backgrounds),
        )
        return np.asarray(away.min(axis=0)), background
