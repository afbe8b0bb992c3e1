"""Where exactly a scrap ends, in the full picture.

Along the rough outline, profiles are read across the edge. Each sample is compared with the colours
inside the scrap and with the background beside it, in full light or in shadow; the edge is the
closed path across the profiles that leaves as much as possible of the one on its inner and of the
other on its outer side, without jumping.
"""

from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import uniform_filter1d

from scrapstore.photo.arrays import Bytes, Field, Floats, Mask
from scrapstore.photo.outline import tuning
from scrapstore.photo.scale import LIGHT, RectifiedImage, View, sample
from scrapstore.photo.segmentation import (
    MOST_DISTANCE,
    ColourModel,
    Palette,
    above_noise,
    ambiguity_penalties,
    distance_to_background,
    distances_to_palette,
    light_of,
    log_opponent,
    noise_of,
    weighted,
)

__all__ = ["Edge", "EdgeFinder", "profiles"]


@dataclass(frozen=True, eq=False)
class Edge:
    """A ring of points on the table (n × 2, inches), and how plain its edge is.

    `contrast`: for each point, how much better the edge found explains its profile than no edge at
    all, 0 to 1.
    """

    points: Floats
    contrast: Floats


@dataclass(frozen=True, eq=False)
class EdgeFinder:
    """What lies on either side of one scrap's edge, and where to look for it.

    `pixels`: the full picture, RGB. `backdrop`: the background's colour over the rectified image.
    `spread`: how far the background beside this scrap is from its own colour, grain and shadow
    included; 95 % of it are nearer.
    """

    pixels: Bytes
    view: View
    rectified: RectifiedImage
    model: ColourModel
    backdrop: Field
    spread: float = np.inf

    def knowing_beside(self, ring: Floats) -> "EdgeFinder":
        """Return this with the `spread` of the background close round a ring (as for `refine`)."""
        points, normals, _ = profiles(ring, tuning.BESIDE_SPACING)
        if len(points) == 0:
            return self
        offsets = np.linspace(*tuning.BESIDE)
        places = (points[:, None] + offsets[:, None] * normals[:, None]).reshape(-1, 2)
        return replace(self, spread=float(np.percentile(self._off_background(places), 95)))

    def refine(self, ring: Floats, reach: float) -> Edge | None:
        """Return the ring moved onto the edge that the full picture shows.

        `ring`: corners, n × 2 table inches, counter-clockwise round the scrap (clockwise round a
        hole), within `reach` inches of the edge.
        """
        points, normals, turns = profiles(ring, tuning.SPACING)
        if len(points) < tuning.LEAST_PROFILES:
            return None
        step = self.pixel(points)
        half = max(4, int(np.ceil(reach / step)))
        offsets = np.arange(-half, half + 1) * step
        places = points[:, None] + offsets[None, :, None] * normals[:, None]
        seen, like_scrap, like_background = self._likeness(places, points + normals * reach)
        # What weave and noise make of distance well inside and well outside is no distance.
        ends = max(1, len(offsets) // tuning.END_SHARE)
        cost_in = above_noise(like_scrap, noise_of(like_scrap[:, :ends]))
        cost_out = above_noise(like_background, noise_of(like_background[:, -ends:]))
        steps = _steps(seen)
        astray = _beyond_the_middle(ring, places, offsets)
        cost_in[astray] = np.where(offsets > 0, tuning.ASTRAY, 0.0)[None].repeat(len(points), 0)[
            astray
        ]
        cost_out[astray] = np.where(offsets < 0, tuning.ASTRAY, 0.0)[None].repeat(len(points), 0)[
            astray
        ]
        steps[:, :-1][astray] = 0
        steps[:, 1:][astray] = 0
        path = _best_path(
            cost_in, cost_out, steps, np.where(turns, tuning.STIFFNESS_AT_CORNER, tuning.STIFFNESS)
        )
        shift = _between_samples(seen, path) * step + offsets[0]
        shift = _without_threads(shift)
        return Edge(points + shift[:, None] * normals, _contrast(cost_in, cost_out, path))

    def pixel(self, places: Floats) -> float:
        """Return the side of a pixel at `places` (n × 2 table inches), inches."""
        return 1 / float(np.median(self.view.pixels_per_inch(places[::20])))

    def scrap_share(self, places: Floats) -> float:
        """Return the share of `places` (n × 2 table inches) that is mostly scrap, 0 to 1."""
        return float(np.mean(self.is_scrap(places)))

    def is_scrap(self, places: Floats) -> Mask:
        """Say which of `places` (n × 2 table inches) are mostly scrap.

        In a narrow tip the lens blends scrap and background. Light is additive, so each sample is
        projected onto the line from a background colour to a scrap colour; past half way is scrap.
        """
        imaged = self.view.to_image(places)
        seen = LIGHT[sample(self.pixels, imaged[None])[0]]
        backdrop = sample(self.backdrop, self.rectified.to_pixels(places)[None])[0]
        # Axes: the background's marks, the scrap's colours, places, light.
        outer = light_of(backdrop + self.model.texture.colours[:, None])[:, None]
        way = light_of(self.model.scrap.colours)[:, None] - outer
        off = seen - outer
        size = np.maximum(np.einsum("mcnk,mcnk->mcn", way, way), 1e-6)
        share = np.clip(
            np.einsum("mcnk,mcnk->mcn", np.broadcast_to(off, way.shape), way) / size, 0, 1
        )
        stray = off - share[..., None] * way
        away = np.einsum("mcnk,mcnk->mcn", stray, stray).reshape(-1, len(places))
        part = share.reshape(away.shape)[away.argmin(axis=0), np.arange(len(places))]
        return np.asarray(part > 0.5)

    def cloth_share(self, places: Floats) -> float:
        """Return the share of `places` (n × 2 table inches) that is cloth, 0 to 1."""
        return float(np.mean(self.is_cloth(places)))

    def is_cloth(self, places: Floats) -> Mask:
        """Say whether `places` are mostly scrap, or at least not what lies beside the scrap.

        A rare motif has none of the scrap's main colours; but where the outline leaves no doubt
        what else it could be, it need not.
        """
        return self.is_scrap(places) | self._is_no_background(places)

    def is_own_cloth(self, places: Floats) -> Mask:
        """Say whether `places` are mostly scrap and cannot be what lies beside it."""
        own = self._is_no_background(places)
        if own.any():
            own[own] = self.is_scrap(places[own])
        return own

    def _is_no_background(self, places: Floats) -> Mask:
        return np.asarray(self._off_background(places) > self.spread + tuning.OFF)

    def _off_background(self, places: Floats) -> Field:
        """Return how far places (n × 2 table inches) are from the background's colour there."""
        seen = log_opponent(sample(self.pixels, self.view.to_image(places)[:, None]))
        backdrop = sample(self.backdrop, self.rectified.to_pixels(places)[:, None])
        return np.asarray(
            np.minimum(
                distance_to_background(seen - backdrop, self.model.texture),
                distance_to_background(seen, self.model.backgrounds),
            )[:, 0]
        )

    def _likeness(self, places: Floats, beside: Floats) -> tuple[Field, Field, Field]:
        """Return samples at `places`, and their distances to scrap and to background."""
        imaged = self.view.to_image(places.reshape(-1, 2)).reshape(places.shape)
        seen = log_opponent(sample(self.pixels, imaged))
        backdrop = sample(self.backdrop, self.rectified.to_pixels(beside)[:, None])[:, 0]
        near = np.asarray(
            _smoothed(np.asarray(backdrop, dtype=np.float64), tuning.BACKGROUND_REACH),
            dtype=np.float32,
        )
        model = self.model
        like_scrap = _distance_to_any(seen, model.scrap, near, model.texture)
        like_background = np.minimum(
            distance_to_background(seen - near[:, None], model.texture),
            distance_to_background(seen, model.backgrounds),
        )
        return seen, like_scrap, like_background


def _without_threads(shift: Floats) -> Floats:
    """Put single profiles that stand out from their neighbours back in line: loose threads."""
    reach = tuning.THREAD_REACH
    around = np.median([np.roll(shift, k) for k in range(-reach, reach + 1)], axis=0)
    return np.where(np.abs(shift - around) > tuning.THREAD, around, shift)


def profiles(ring: Floats, spacing: float) -> tuple[Floats, Floats, Mask]:
    """Return points along the ring's sides, outward normals, and where a corner comes before one.

    At corners the direction changes at once; along curves, whose sides are short, it is evened out.
    """
    sides = np.roll(ring, -1, axis=0) - ring
    lengths = np.linalg.norm(sides, axis=1)
    ring, sides, lengths = ring[lengths > 1e-6], sides[lengths > 1e-6], lengths[lengths > 1e-6]
    if len(ring) < 3 or lengths.sum() < tuning.LEAST_PROFILES * spacing:
        return np.empty((0, 2)), np.empty((0, 2)), np.empty(0, dtype=bool)
    counts = np.maximum(1, np.rint(lengths / spacing).astype(int))
    at = np.repeat(np.arange(len(ring)), counts)
    share = (np.arange(len(at)) - np.repeat(np.cumsum(counts) - counts, counts) + 0.5) / counts[at]
    points = ring[at] + share[:, None] * sides[at]
    way = sides / lengths[:, None]
    normals = np.column_stack([way[:, 1], -way[:, 0]])[at]
    turns = np.sum(normals * np.roll(normals, 1, axis=0), axis=1) < tuning.SMOOTHED_CORNER
    total = normals.copy()
    for k in (-2, -1, 1, 2):
        other = np.roll(normals, k, axis=0)
        total += np.where(
            np.sum(other * normals, axis=1, keepdims=True) > tuning.SMOOTHED_CORNER, other, 0
        )
    return points, total / np.linalg.norm(total, axis=1, keepdims=True), turns


def _beyond_the_middle(ring: Floats, places: Floats, offsets: NDArray[np.floating]) -> Mask:
    """Return which samples lie nearer to another side of the ring: at tips, across the point."""
    low = ring.min(axis=0) - np.abs(offsets).max() - 0.1
    size = np.ceil(
        (ring.max(axis=0) + np.abs(offsets).max() + 0.1 - low) * tuning.ASTRAY_SCALE
    ).astype(int)
    drawn = np.full((size[1], size[0]), 255, np.uint8)
    at = np.rint((ring - low) * tuning.ASTRAY_SCALE).astype(np.int32)
    cv2.polylines(drawn, [at], isClosed=True, color=(0.0,))
    away = np.asarray(cv2.distanceTransform(drawn, cv2.DIST_L2, 5), np.float32) / np.float32(
        tuning.ASTRAY_SCALE
    )
    near = sample(away, (places - low) * tuning.ASTRAY_SCALE)
    return np.asarray(near < tuning.ASTRAY_SHARE * np.abs(offsets)[None] - tuning.ASTRAY_SLACK)


def _smoothed(values: Floats, reach: int) -> Floats:
    """Mean over `reach` neighbours to either side round the ring, the first axis."""
    return np.asarray(uniform_filter1d(values, 2 * reach + 1, axis=0, mode="wrap"))


def _distance_to_any(seen: Field, palette: Palette, beside: Field, texture: Palette) -> Field:
    """How far each sample of profiles (inside first) is from the nearest of the scrap's colours.

    A colour that the scrap does not show on this stretch of its edge does not count: a print's grey
    does not explain a grey shadow elsewhere.
    """
    away = distances_to_palette(seen, palette) + ambiguity_penalties(
        palette, beside[:, None], texture
    )
    part, whole = tuning.STRETCH_INNER
    inner = max(1, seen.shape[1] * part // whole)
    if seen.shape[1] > 1:
        nearest = away[:, :, :inner].argmin(axis=0)
        shown = np.mean(nearest[..., None] == np.arange(len(away)), axis=1)
        absent = _smoothed(shown, tuning.STRETCH) < tuning.STRETCH_SHARE
        away += np.where(absent.T, tuning.ABSENT, 0.0)[..., None].astype(np.float32)
    return np.asarray(away.min(axis=0))


def _steps(seen: Field) -> Field:
    """Return how sharp a step there is before each sample, and after the last; rows × columns + 1.

    A cloth's edge is sharper than that of its shadow.
    """
    padded = np.pad(weighted(seen), ((0, 0), (2, 2), (0, 0)), mode="edge")
    outer = (padded[:, 2:-1] + padded[:, 3:]) / 2
    inner = (padded[:, :-3] + padded[:, 1:-2]) / 2
    between = outer - inner
    return np.asarray(
        np.minimum(np.sqrt(np.einsum("ijk,ijk->ij", between, between)), tuning.SHARPEST)
    )


def _best_path(
    cost_in: Field, cost_out: Field, steps: Field, stiffness: Floats
) -> NDArray[np.intp]:
    """Return, for each profile, how many of its samples lie inside: the cheapest closed path."""
    inside = np.cumsum(cost_in, axis=1)
    outside = np.cumsum(cost_out[:, ::-1], axis=1)[:, ::-1]
    total = np.zeros((len(cost_in), cost_in.shape[1] + 1))
    total[:, 1:] += inside
    total[:, :-1] += outside
    total -= tuning.SHARP_GAIN * steps
    count = len(total)
    # Round and a good bit further; the beginning is thrown away: so the path closes without
    # trying every start.
    more = min(count, tuning.OVERLAP)
    doubled = np.concatenate([total[-more:], total, total[:more]])
    reach = tuning.MOST_JUMP
    price = np.abs(np.arange(-reach, reach + 1)) ** tuning.JUMP_POWER
    stiff = np.concatenate([stiffness[-more:], stiffness, stiffness[:more]])
    prices = stiff[:, None] * price
    # The cheapest way to each sample of each profile, with room for jumps past the ends.
    cheapest = np.full((len(doubled), total.shape[1] + 2 * reach), np.inf)
    cheapest[0, reach:-reach] = doubled[0]
    ways = np.lib.stride_tricks.sliding_window_view(cheapest, total.shape[1], axis=1)
    options = np.empty((len(doubled), *ways.shape[1:]))
    for k in range(1, len(doubled)):
        np.add(ways[k - 1], prices[k, :, None], out=options[k])
        best = np.minimum.reduce(options[k], axis=0, out=cheapest[k, reach:-reach])
        best += doubled[k]
    back = (options[1:].argmin(axis=1) - reach).tolist()
    path = [int(cheapest[-1].argmin()) - reach]
    for jumps in reversed(back):
        path.append(path[-1] + jumps[path[-1]])
    return np.array(path[::-1][more : more + count], dtype=np.intp)


def _between_samples(seen: Field, path: NDArray[np.intp]) -> Floats:
    """Return the edge's place, in samples: where half of the light is the inside's.

    The path's boundary lies between samples `path - 1` and `path`. Lenses blur light, so half way
    is sought in light; in logarithms or sRGB values the brighter side would seem to reach too far.
    """
    last = seen.shape[1] - 1
    window = path[:, None] + np.arange(-tuning.HALFWAY_REACH - 2, tuning.HALFWAY_REACH + 2)
    light = light_of(seen[np.arange(len(path))[:, None], np.clip(window, 0, last)])
    inside, outside = light[:, :2].mean(axis=1), light[:, -2:].mean(axis=1)
    way = inside - outside
    size = np.maximum(np.sum(way * way, axis=1), 1e-9)
    middle = light[:, 2:-2] - outside[:, None]
    share = np.clip(np.einsum("nmk,nk->nm", middle, way) / size[:, None], 0, 1)
    moved = share.sum(axis=1) - tuning.HALFWAY_REACH
    plain = size > tuning.HALFWAY_STEP**2
    return np.asarray(
        path - 0.5 + np.where(plain, np.clip(moved, -tuning.HALFWAY_MOST, tuning.HALFWAY_MOST), 0),
        dtype=np.float64,
    )


def _contrast(cost_in: Field, cost_out: Field, path: NDArray[np.intp]) -> Floats:
    inner = np.arange(cost_in.shape[1])[None] < path[:, None]
    gain_in, gain_out = (
        np.where(side, gain, 0).sum(axis=1) / np.maximum(side.sum(axis=1), 1)
        for side, gain in ((inner, cost_out - cost_in), (~inner, cost_in - cost_out))
    )
    return np.asarray(np.clip((gain_in + gain_out) / 2 / MOST_DISTANCE, 0, 1), dtype=np.float64)
