"""The scraps on a flattened table: which candidates are scraps, and their exact outlines."""

from dataclasses import dataclass
from typing import Final

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon
from shapely.geometry.polygon import orient

from scrapstore.photo.edges import Border, Palette, distance_to_shaded, main_colours
from scrapstore.photo.flatten import FlatTable
from scrapstore.photo.lens import View
from scrapstore.photo.outline import straightened, thinned
from scrapstore.photo.refusal import Refusal
from scrapstore.photo.sampling import LIGHT
from scrapstore.photo.segment import (
    Surface,
    candidates,
    colour_features,
    find_surface,
    log_opponent,
)

__all__ = ["Found", "find_scraps"]

Floats = NDArray[np.float64]
Field = NDArray[np.float32]
Mask = NDArray[np.bool_]

_SMALLEST: Final = 0.5
"""Square inches below which nothing is taken for a scrap."""
_NARROWEST: Final = 0.4
"""Inches; a narrower thing is a line, a thread or a label."""
_SMALLEST_HOLE: Final = 0.15
_SHADED: Final = 0.09
"""A thing nearer than this to the surface in some shade is no scrap; small ones need twice this."""
_SMALL: Final = 1.5
_GRAIN: Final = 0.5
"""A surface's own unevenness, as against lines printed on it, in logarithms of light."""
_BORROWED: Final = 0.1
_PLAIN: Final = 0.12
"""Contrast above which a place of the edge counts as seen."""


@dataclass(frozen=True, eq=False)
class Found:
    """A scrap on the table: outline (table inches), its edge's contrast, its inner pixels.

    `inner`: mask over the flat table, well inside the outline.
    """

    outline: Polygon
    contrast: Floats
    inner: Mask


def find_scraps(
    pixels: NDArray[np.uint8], view: View, flat: FlatTable, paper: Mask, around: Mask, sheet: float
) -> tuple[list[Found], list[Refusal]]:
    """Return the scraps on the table and why other things there were left out.

    `paper`: where the scale lies; `around`: beside it; `sheet`: area of one square's paper.
    """
    features = colour_features(flat)
    surface = find_surface(flat, features, around, paper)
    labels = candidates(flat, surface, paper)
    ground = _ground(features, surface)
    raw = log_opponent(flat.image)
    found: list[Found] = []
    left_out: list[Refusal] = []
    near_paper = cv2.dilate(paper.astype(np.uint8), np.ones((5, 5), np.uint8)) > 0
    for thing in _things(labels, flat):
        if thing.leaves(flat):
            left_out.append(_LEAVES)
        elif _is_printed_square(thing, flat, sheet):
            left_out.append(_UNREAD)
        elif np.count_nonzero(near_paper[thing.window] & thing.mask) > 1.5 * flat.scale:
            left_out.append(_COVERS)
        else:
            scrap = _outlined(thing, pixels, view, flat, features, surface, ground, raw)
            if isinstance(scrap, Found):
                found.append(scrap)
            elif scrap is not None:
                left_out.append(scrap)
    return found, left_out


_LEAVES: Final = Refusal(
    "leaves the picture",
    "a scrap reaches beyond the edge of the picture",
    "move it, or the camera, until all of it is in view",
)
_FAINT: Final = Refusal(
    "no contrast",
    "something lies there whose edge hardly stands out from the surface",
    "lay it on a surface of another colour, or type its size",
)
_UNREAD: Final = Refusal(
    "over the scale",
    "a printed square lies there that cannot be read",
    "lay it flat, with nothing over it, or take it away",
)
_COVERS: Final = Refusal(
    "over the scale",
    "something lies over the printed scale or touches it",
    "leave a finger's breadth between scraps and scale",
)


def _is_printed_square(thing: "_Thing", flat: FlatTable, sheet: float) -> bool:
    """Say whether a thing is paper with a code on it: small, without colour, black on white.

    `sheet`: area of a square's own paper, square inches.
    """
    area = np.count_nonzero(thing.mask) / flat.scale**2
    if not 0.3 * sheet < area < 1.4 * sheet:
        return False
    light = LIGHT[flat.image[thing.window][thing.mask]]
    grey = light.mean(axis=1)
    dark, bright = np.percentile(grey, [12, 88])
    middle = (dark + bright) / 2
    tint = (light / np.maximum(grey[:, None], 1e-3))[grey > middle]
    between = np.mean(np.abs(grey - middle) < 0.25 * (bright - dark))
    # One white, whatever the lamp's colour, and little between it and the black.
    return bool(bright > 4 * dark and between < 0.3 and np.max(np.std(tint, axis=0)) < 0.08)


@dataclass(frozen=True, eq=False)
class _Thing:
    """A connected candidate: its window in the flat table and its mask there."""

    window: tuple[slice, slice]
    mask: Mask

    def leaves(self, flat: FlatTable) -> bool:
        rows, columns = self.window
        height, width = flat.seen.shape
        at_rim = (
            rows.start <= 1
            or columns.start <= 1
            or rows.stop >= height - 1
            or columns.stop >= width - 1
        )
        touching = cv2.dilate(self.mask.astype(np.uint8), np.ones((5, 5), np.uint8)) > 0
        return bool(at_rim or np.any(touching & ~flat.seen[self.window]))


def _things(labels: NDArray[np.int32], flat: FlatTable) -> list[_Thing]:
    stats = cv2.connectedComponentsWithStats((labels > 0).astype(np.uint8), connectivity=4)
    count, parts, boxes, _ = stats
    things = []
    for number in range(1, count):
        left, top, width, height, area = (int(v) for v in boxes[number])
        if area < _SMALLEST * flat.scale**2:
            continue
        window = (
            slice(max(0, top - 2), top + height + 2),
            slice(max(0, left - 2), left + width + 2),
        )
        mask = np.asarray(parts)[window] == number
        deepest = float(np.max(cv2.distanceTransform(mask.astype(np.uint8), cv2.DIST_L2, 3)))
        if 2 * deepest >= _NARROWEST * flat.scale:
            things.append(_Thing(window, mask))
    return things


def _ground(features: Field, surface: Surface) -> Field:
    """Return the surface's colour everywhere: beside and under scraps, from what lies around."""
    step = 4
    size = (max(1, features.shape[1] // step), max(1, features.shape[0] // step))
    weight = surface.mask.astype(np.float32)
    small = cv2.resize(features * weight[..., None], size, interpolation=cv2.INTER_AREA)
    known = cv2.resize(weight, size, interpolation=cv2.INTER_AREA)
    total = np.zeros((size[1], size[0], 3), np.float32)
    share = np.full(known.shape, 1e-6, np.float32)
    for shrink, part in ((1, 1.0), (4, 1e-2), (16, 1e-4)):
        # Ever wider means, each in a picture small enough to be quick.
        less = (max(1, size[0] // shrink), max(1, size[1] // shrink))
        for values, into in ((small, total), (known, share)):
            fewer = cv2.GaussianBlur(
                cv2.resize(values, less, interpolation=cv2.INTER_AREA), (0, 0), 2.0
            )
            into += part * np.asarray(cv2.resize(fewer, size), np.float32)
    return np.asarray(
        cv2.resize(total / share[..., None], (features.shape[1], features.shape[0])), np.float32
    )


def _outlined(
    thing: _Thing, pixels: NDArray[np.uint8], view: View, flat: FlatTable, features: Field,
    surface: Surface, ground: Field, raw: Field,
) -> Found | Refusal | None:  # fmt: skip
    marks, grounds = _marks(thing, flat, raw, surface, ground)
    off = distance_to_shaded((features - ground)[thing.window], marks)
    holes = _holes(thing, off, flat.scale)
    plain = distance_to_shaded(raw[thing.window][::2, ::2], grounds)
    small = np.count_nonzero(thing.mask) < _SMALL * flat.scale**2
    if (
        float(np.median(np.minimum(off[::2, ::2], plain)[thing.mask[::2, ::2]]))
        < (2 if small else 1) * _SHADED
    ):
        return None  # the surface itself, in shadow or bent up
    solid = thing.mask.astype(np.uint8)
    rings, _ = cv2.findContours(solid, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    outer = max(rings, key=cv2.contourArea)
    shrunk = cv2.erode(solid, np.ones((3, 3), np.uint8), iterations=max(1, round(0.1 * flat.scale)))
    for hole in holes:
        cv2.drawContours(shrunk, [hole], -1, (0.0,), -1)
    inner = np.zeros(flat.seen.shape, dtype=bool)
    inner[thing.window] = shrunk > 0
    colours = main_colours(features[inner])
    if len(colours.shares) == 0:
        return None
    colours = _own_colours(colours, np.median(ground[inner], axis=0), marks)
    border = Border(pixels, view, flat, colours, ground, marks, grounds)
    origin = np.array([thing.window[1].start, thing.window[0].start])

    def traced(ring: NDArray[np.int32], *, hole: bool) -> tuple[Polygon, Floats] | None:
        points = flat.to_table(ring.reshape(-1, 2).astype(np.float64) + origin)
        edge = border.refined(_turning(thinned(points, 0.06), left=not hole), 0.24, rough=True)
        if edge is not None and edge.moved > 0.18:  # the edge may lie farther still
            again = _turning(thinned(edge.points, 0.06), left=not hole)
            edge = border.refined(again, 0.24, rough=True)
        if edge is None:
            return None
        # From a plainer ring with its corners sharp, the second look sees the same edge under
        # steadier directions.
        belongs = border.share_inside
        first = straightened(edge.points, belongs, 0.04)
        plain = thinned(edge.points, 0.04) if first is None else _ring_of(first)
        edge = border.refined(_turning(plain, left=not hole), 0.1) or edge
        outline = straightened(edge.points, belongs)
        return None if outline is None else (outline, edge.contrast)

    whole = traced(np.asarray(outer, np.int32), hole=False)
    if whole is None:
        return None
    if np.mean(whole[1] > _PLAIN) < 0.5:
        return _FAINT
    cut = [traced(hole, hole=True) for hole in holes]
    if _width(whole[0]) < _NARROWEST:
        return None
    inside = [c[0].exterior.coords for c in cut if c is not None and whole[0].contains(c[0])]
    outline = Polygon(whole[0].exterior.coords, inside)
    return Found(orient(outline if outline.is_valid else whole[0]), whole[1], inner)


def _own_colours(colours: Palette, ground: Field, marks: Palette) -> Palette:
    """Return the scrap's colours without bits of surface that the first rough look took in."""
    off = distance_to_shaded((colours.colours - ground)[None], marks)[0]
    own = (off > _BORROWED) | (colours.shares > 0.4)
    if not own.any():
        return colours
    return Palette(colours.colours[own], colours.shares[own])


def _width(outline: Polygon) -> float:
    """Return the narrow side of the smallest rectangle round the outline, inches."""
    box = shapely.get_coordinates(outline.minimum_rotated_rectangle)
    return float(np.linalg.norm(np.diff(box[:3], axis=0), axis=1).min())


def _ring_of(outline: Polygon) -> Floats:
    return np.asarray(outline.exterior.coords, dtype=np.float64)[:-1]


def _turning(ring: Floats, *, left: bool) -> Floats:
    """Return the ring counter-clockwise (`left`) or clockwise."""
    x, y = ring[:, 0], ring[:, 1]
    area = float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)))
    return ring if (area > 0) == left else ring[::-1]


def _marks(
    thing: _Thing, flat: FlatTable, raw: Field, surface: Surface, ground: Field
) -> tuple[Palette, Palette]:  # fmt: skip
    """Return the surface's grain and printed lines near the thing, as differences and as such."""
    rows, columns = thing.window
    more, clear = round(0.75 * flat.scale), round(0.22 * flat.scale)
    wide = (
        slice(max(0, rows.start - more), rows.stop + more),
        slice(max(0, columns.start - more), columns.stop + more),
    )
    beside = cv2.erode((~surface.broad[wide]).astype(np.uint8), np.ones((3, 3), np.uint8)) > 0
    beside &= flat.seen[wide]
    # Not too near: what looks like surface right beside the thing may be its own fringe.
    own = np.zeros(flat.seen.shape, np.uint8)
    own[thing.window] = thing.mask
    near = cv2.dilate(own[wide], np.ones((2 * clear + 1, 2 * clear + 1), np.uint8)) > 0
    if np.count_nonzero(beside & ~near) > 200:
        beside &= ~near
    marks = main_colours((raw[wide] - ground[wide])[beside], most=4)
    near_zero = np.linalg.norm(marks.colours, axis=1) < _GRAIN
    shares = np.append(1.0, np.where(near_zero, 1.0, marks.shares))
    plain = np.vstack([np.zeros((1, 3), np.float32), marks.colours])
    return Palette(plain, shares), main_colours(raw[wide][beside], most=4)


def _holes(thing: _Thing, off: Field, scale: float) -> list[NDArray[np.int32]]:
    """Return rings of true holes: parts within that are the surface, not a print like it.

    `off`: how far each pixel of the window is from the surface. The surface seen through a hole
    matches it nearly to the last shade, in one compact piece; the ground of a print that happens to
    have its colour comes in many pieces, or in ragged ones.
    """
    filled: NDArray[np.uint8] = np.zeros(thing.mask.shape, np.uint8)
    outer, _ = cv2.findContours(
        thing.mask.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE
    )
    cv2.drawContours(filled, outer, -1, (1.0,), -1)
    reach = max(1, round(0.05 * scale))
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * reach + 1, 2 * reach + 1))
    filled = np.asarray(cv2.erode(filled, kernel, iterations=3), np.uint8)
    alike = np.asarray((filled > 0) & (off < 0.16), np.uint8)
    # Lines of a mat cross the hole: they are closed before small things are taken away.
    whole = cv2.morphologyEx(alike, cv2.MORPH_CLOSE, kernel)
    alike = np.asarray(cv2.morphologyEx(whole, cv2.MORPH_OPEN, kernel), np.uint8)
    rings, _ = cv2.findContours(alike, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    large = [r for r in rings if cv2.contourArea(r) > _SMALLEST_HOLE * scale**2]
    large.sort(key=cv2.contourArea, reverse=True)
    if len(large) > 2:
        # Many alike pieces are a print; one far larger than the rest may still be a hole.
        plain = 3 * cv2.contourArea(large[2])
        large = [r for r in large[:2] if cv2.contourArea(r) > plain]
    holes = []
    for ring in large:
        drawn = np.zeros(alike.shape, np.uint8)
        cv2.drawContours(drawn, [ring], -1, (1.0,), -1)
        solidity = cv2.contourArea(ring) / max(cv2.contourArea(cv2.convexHull(ring)), 1.0)
        if np.median(off[drawn > 0]) < 0.09 and solidity > 0.8:
            holes.append(np.asarray(ring, np.int32))
    return holes
