"""Where exactly a scrap ends, in the full picture.

Along the rough outline, profiles are read across the edge. Each sample is compared with the colours
inside the scrap and with the surface beside it, in full light or in shadow; the edge is the closed
path across the profiles that leaves as much as possible of the one on its inner and of the other on
its outer side, without jumping.
"""

from dataclasses import dataclass
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from scrapstore.photo.flatten import FlatTable
from scrapstore.photo.lens import View
from scrapstore.photo.sampling import sample
from scrapstore.photo.segment import light_of, log_opponent

__all__ = ["Border", "Edge", "Palette", "distance_to_shaded", "main_colours"]

Floats = NDArray[np.float64]
Field = NDArray[np.float32]
Bytes = NDArray[np.uint8]

_SPACING: Final = 0.05
"""Distance between profiles, inches."""
_WEIGHTS: Final = np.array([0.6, 1.6, 1.2], dtype=np.float32)
"""What a difference in brightness and the two tints counts."""
_DEEPEST: Final = 0.9
"""Darkest shadow, as a difference of brightness (logarithm times √3)."""
_SHADE_COST: Final = 0.2
_CAP: Final = 0.35
_RARE: Final = 0.2
_DEAR: Final = 0.12
_NEAR: Final = 2
"""Samples to either side of the path among which the exact edge is sought."""
_LEAST_STEP: Final = 0.02
_STRETCH: Final = 6
_ABSENT: Final = 0.2
_MOST_NOISE: Final = 0.25
_DOUBT: Final = 0.07
_SHARPEST: Final = 0.6
_SHARP_GAIN: Final = 2.0


@dataclass(frozen=True, eq=False)
class Edge:
    """A ring of points on the table (n × 2, inches), and how plain its edge is.

    `contrast`: for each point, how much better the edge found explains its profile than no edge at
    all, 0 to 1. `moved`: the farthest that a point was moved from where it was sought, inches.
    """

    points: Floats
    contrast: Floats
    moved: float


@dataclass(frozen=True, eq=False)
class Palette:
    """Colours of a thing: `colours` (k × 3, as `log_opponent` gives them), `shares` of its area."""

    colours: Field
    shares: Floats

    @property
    def dues(self) -> Field:
        """What it costs to explain a sample by each colour: rare ones, such as lines, are dear."""
        return np.where(self.shares < _RARE, _DEAR, 0.0).astype(np.float32)


def main_colours(some: Field, most: int = 5, seed: int = 0) -> Palette:
    """Return up to `most` colours that make up n × 3 samples; those under 3 % are left out."""
    some = np.ascontiguousarray(some[:: max(1, len(some) // 1500)])
    if len(some) < 10:
        return Palette(some, np.full(len(some), 1 / max(1, len(some))))
    cv2.setRNGSeed(seed)
    criteria = (cv2.TERM_CRITERIA_MAX_ITER, 8, 0.0)
    count = min(most, len(some))
    _, labels, centres = cv2.kmeans(some, count, np.empty(0), criteria, 1, cv2.KMEANS_PP_CENTERS)
    shares = np.bincount(np.asarray(labels).ravel(), minlength=count) / len(some)
    kept = shares > 0.03
    return Palette(np.asarray(centres, dtype=np.float32)[kept], shares[kept])


@dataclass(frozen=True, eq=False)
class Border:
    """What lies on either side of one scrap's edge, and where to look for it.

    `pixels`: the full picture, RGB. `colours`: the scrap's, from `main_colours`. `ground`: the
    surface's colour over the flat table; `marks`: how its grain and lines differ from that;
    `grounds`: the surfaces' colours as they are, for an edge where two surfaces meet.
    """

    pixels: Bytes
    view: View
    flat: FlatTable
    colours: Palette
    ground: Field
    marks: Palette
    grounds: Palette

    def refined(self, ring: Floats, reach: float, *, rough: bool = False) -> Edge | None:
        """Return the ring moved onto the edge that the full picture shows.

        `ring`: n × 2 table inches, counter-clockwise round the scrap (clockwise round a hole),
        within `reach` inches of the edge. `rough`: every second pixel will do, and the ring is not
        to be trusted; otherwise the edge may hardly jump across it.
        """
        points, normals = _spaced(ring, (2 if rough else 1) * _SPACING)
        if len(points) < 12:
            return None
        step = (2 if rough else 1) / float(np.median(self.view.pixels_per_inch(points[::20])))
        half = max(4, int(np.ceil(reach / step)))
        offsets = np.arange(-half, half + 1) * step
        places = points[:, None] + offsets[None, :, None] * normals[:, None]
        seen, like_scrap, like_ground = self._likeness(places, points + normals * reach)
        # What weave and noise make of distance well inside and well outside is no distance.
        share = max(1, len(offsets) // 4)
        noise_in = min(float(np.median(like_scrap[:, :share])), _MOST_NOISE)
        noise_out = min(float(np.median(like_ground[:, -share:])), _MOST_NOISE)
        cost_in = np.clip(like_scrap - noise_in, 0, _CAP)
        cost_out = np.clip(like_ground - noise_out, 0, _CAP)
        path = _best_path(cost_in, cost_out, _steps(seen), 0.06 if rough else 0.08)
        shift = _between_samples(seen, path) * step + offsets[0]
        shift = _without_threads(shift)
        moved = float(np.abs(shift).max())
        return Edge(points + shift[:, None] * normals, _contrast(cost_in, cost_out, path), moved)

    def share_inside(self, places: Floats) -> float:
        """Return which share of `places` (n × 2 table inches) looks like the scrap, 0 to 1."""
        _, like_scrap, like_ground = self._likeness(places[:, None], places)
        return float(np.mean(like_scrap < like_ground))

    def _likeness(self, places: Floats, beside: Floats) -> tuple[Field, Field, Field]:
        """Return the samples at `places`; how far each is from the scrap, and from the surface."""
        imaged = self.view.to_image(places.reshape(-1, 2)).reshape(places.shape)
        seen = log_opponent(sample(self.pixels, imaged))
        ground = sample(self.ground, self.flat.to_pixels(beside)[:, None])[:, 0]
        near = np.asarray(_smoothed(np.asarray(ground, dtype=np.float64), 3), dtype=np.float32)
        like_scrap = _distance_to_any(seen, self.colours, near, self.marks)
        like_ground = np.minimum(
            distance_to_shaded(seen - near[:, None], self.marks),
            distance_to_shaded(seen, self.grounds),
        )
        return seen, like_scrap, like_ground


def _without_threads(shift: Floats) -> Floats:
    """Put single profiles that stand out from their neighbours back in line: loose threads."""
    reach = 4
    around = np.median([np.roll(shift, k) for k in range(-reach, reach + 1)], axis=0)
    return np.where(np.abs(shift - around) > 0.03, around, shift)


def _spaced(ring: Floats, spacing: float) -> tuple[Floats, Floats]:
    """Return evenly spaced points of the closed ring and their outward normals."""
    closed = np.vstack([ring, ring[:1]])
    lengths = np.concatenate([[0], np.cumsum(np.linalg.norm(np.diff(closed, axis=0), axis=1))])
    count = int(lengths[-1] / spacing)
    if count < 12:
        return np.empty((0, 2)), np.empty((0, 2))
    at = np.arange(count) * lengths[-1] / count
    points = np.column_stack([np.interp(at, lengths, closed[:, k]) for k in (0, 1)])
    points = _smoothed(points, 1)
    way = _smoothed(np.roll(points, -2, axis=0) - np.roll(points, 2, axis=0), 1)
    way /= np.maximum(np.linalg.norm(way, axis=1, keepdims=True), 1e-9)
    return points, np.column_stack([way[:, 1], -way[:, 0]])


def _smoothed(values: Floats, reach: int) -> Floats:
    """Mean over `reach` neighbours to either side round the ring."""
    return np.asarray(
        sum(np.roll(values, k, axis=0) for k in range(-reach, reach + 1)) / (2 * reach + 1)
    )


def _distance_to_any(seen: Field, palette: Palette, beside: Field, marks: Palette) -> Field:
    """How far each sample is from the nearest of the scrap's colours.

    A colour that the surface beside has as well says little for the scrap: it counts as if it were
    some way off, so that in doubt the surface wins. So does a colour that the scrap does not show
    on this stretch of its edge: a print's grey does not explain a grey shadow elsewhere.
    """
    colours = palette.colours
    away = np.empty((len(colours), *seen.shape[:2]), dtype=np.float32)
    weighed = seen * _WEIGHTS
    for k, colour in enumerate(colours):
        stray = weighed - colour * _WEIGHTS
        away[k] = np.sqrt(np.einsum("ijk,ijk->ij", stray, stray))
        doubt = distance_to_shaded(colour - beside[:, None], marks)[:, 0]
        away[k] += np.maximum(_DOUBT - doubt, 0)[:, None]
    inner = max(1, seen.shape[1] * 2 // 5)
    if seen.shape[1] > 1:
        nearest = away[:, :, :inner].argmin(axis=0)
        for k in range(len(colours)):
            shown = _smoothed(np.mean(nearest == k, axis=1), _STRETCH)
            away[k] += np.where(shown < 0.04, _ABSENT, 0.0)[:, None].astype(np.float32)
    return np.asarray(away.min(axis=0))


def distance_to_shaded(stray: Field, marks: Palette) -> Field:
    """How far samples are from the surface beside them, the surface in shadow included.

    `stray`: samples less the surface's own colour. `marks` (k × 3) are the surface's grain and
    lines, in the same terms.
    """
    best = np.full(stray.shape[:2], np.inf, dtype=np.float32)
    weighed = stray * _WEIGHTS
    bright, first, second = (np.ascontiguousarray(weighed[..., k]) for k in range(3))
    for mark, due in zip(marks.colours * _WEIGHTS, marks.dues, strict=True):
        up = bright - mark[0]
        shade = np.clip(-up, 0, _DEEPEST * _WEIGHTS[0])
        up += shade
        far = up * up
        far += (first - mark[1]) ** 2
        far += (second - mark[2]) ** 2
        np.sqrt(far, out=far)
        far += _SHADE_COST / _WEIGHTS[0] * shade
        far += due
        np.minimum(best, far, out=best)
    return best


def _steps(seen: Field) -> Field:
    """Return how sharp a step there is before each sample, and after the last; rows × columns + 1.

    A cloth's edge is sharper than that of its shadow.
    """
    weighed = seen * _WEIGHTS
    padded = np.pad(weighed, ((0, 0), (2, 2), (0, 0)), mode="edge")
    outer = (padded[:, 2:-1] + padded[:, 3:]) / 2
    inner = (padded[:, :-3] + padded[:, 1:-2]) / 2
    between = outer - inner
    return np.asarray(np.minimum(np.sqrt(np.einsum("ijk,ijk->ij", between, between)), _SHARPEST))


def _best_path(cost_in: Field, cost_out: Field, steps: Field, stiffness: float) -> NDArray[np.intp]:
    """Return, for each profile, how many of its samples lie inside: the cheapest closed path."""
    inside = np.cumsum(cost_in, axis=1)
    outside = np.cumsum(cost_out[:, ::-1], axis=1)[:, ::-1]
    total = np.zeros((len(cost_in), cost_in.shape[1] + 1))
    total[:, 1:] += inside
    total[:, :-1] += outside
    total -= _SHARP_GAIN * steps
    count = len(total)
    # Round and a good bit further; the beginning is thrown away: so the path closes without
    # trying every start.
    more = min(count, 60)
    doubled = np.concatenate([total[-more:], total, total[:more]])
    reach = 3
    jumps = np.arange(-reach, reach + 1)
    price = stiffness * np.abs(jumps) ** 1.5
    best = doubled[0].copy()
    back = np.zeros(doubled.shape, dtype=np.int8)
    padded = np.full(total.shape[1] + 2 * reach, np.inf)
    windows = np.lib.stride_tricks.sliding_window_view(padded, 2 * reach + 1)
    rows = np.arange(total.shape[1])
    for k in range(1, len(doubled)):
        padded[reach:-reach] = best
        options = windows + price
        pick = options.argmin(axis=1)
        back[k] = pick - reach
        best = options[rows, pick] + doubled[k]
    path = np.empty(len(doubled), dtype=np.intp)
    path[-1] = int(best.argmin())
    for k in range(len(doubled) - 1, 0, -1):
        path[k - 1] = path[k] + back[k, path[k]]
    return path[more : more + count]


def _between_samples(seen: Field, path: NDArray[np.intp]) -> Floats:
    """Return the edge's place, in samples: where half of the light is the inside's.

    The path's boundary lies between samples `path - 1` and `path`. Lenses blur light, so half way
    is sought in light; in logarithms or sRGB values the brighter side would seem to reach too far.
    """
    last = seen.shape[1] - 1
    window = path[:, None] + np.arange(-_NEAR - 2, _NEAR + 2)
    light = light_of(seen[np.arange(len(path))[:, None], np.clip(window, 0, last)])
    inside, outside = light[:, :2].mean(axis=1), light[:, -2:].mean(axis=1)
    way = inside - outside
    size = np.maximum(np.sum(way * way, axis=1), 1e-9)
    middle = light[:, 2:-2] - outside[:, None]
    share = np.clip(np.einsum("nmk,nk->nm", middle, way) / size[:, None], 0, 1)
    moved = share.sum(axis=1) - _NEAR
    plain = size > _LEAST_STEP**2
    return np.asarray(path - 0.5 + np.where(plain, np.clip(moved, -1.5, 1.5), 0), dtype=np.float64)


def _contrast(cost_in: Field, cost_out: Field, path: NDArray[np.intp]) -> Floats:
    inner = np.arange(cost_in.shape[1])[None] < path[:, None]
    gain_in = np.where(inner, cost_out - cost_in, 0).sum(axis=1) / np.maximum(inner.sum(axis=1), 1)
    gain_out = np.where(~inner, cost_in - cost_out, 0).sum(axis=1) / np.maximum(
        (~inner).sum(axis=1), 1
    )
    return np.asarray(np.clip(np.minimum(gain_in, gain_out) / _CAP, 0, 1), dtype=np.float64)
