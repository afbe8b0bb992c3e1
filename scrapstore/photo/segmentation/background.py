"""What colours a thing on the table has, and what the surface looks like beside and under it."""

from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from scrapstore.photo.scale import FlatTable, View, sample
from scrapstore.photo.segmentation.candidates import Thing
from scrapstore.photo.segmentation.cells import log_opponent
from scrapstore.photo.segmentation.likeness import (
    FEW,
    Palette,
    distance_to_colours,
    distance_to_shaded,
    main_colours,
)
from scrapstore.photo.segmentation.segment import Surface

__all__ = ["colours_at", "deep_within", "ground_everywhere", "own_colours", "surface_marks"]

Field = NDArray[np.float32]
Mask = NDArray[np.bool_]

_GRAIN: Final = 0.5
"""A surface's own unevenness, as against lines printed on it, in logarithms of light."""
_BORROWED: Final = 0.1
"""A colour nearer than this to the surface is not the scrap's; one with a share below FEW must be
twice as far."""
_DEEP: Final = 0.2
"""Inches from the inner part's rim, which lies another tenth from the thing's own."""
_ENOUGH: Final = 400
"""Samples."""


def ground_everywhere(features: Field, surface: Surface) -> Field:
    """Return the surface's colour everywhere: beside and under scraps, from what lies around."""
    step = 4
    size = (max(1, features.shape[1] // step), max(1, features.shape[0] // step))
    weight = surface.mask.astype(np.float32)
    # Zero where it is no surface.
    held = cv2.bitwise_and(features, features, mask=surface.mask.astype(np.uint8))
    small = cv2.resize(held, size, interpolation=cv2.INTER_AREA)
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


def colours_at(
    core: Thing, pixels: NDArray[np.uint8], view: View, flat: FlatTable, raw: Field
) -> Field:
    """Return colours from all over the scrap (n × 3), as the picture and the flat table show them.

    The flat table blends the colours of a fine print; its own pixels are to be compared too.
    """
    rows, columns = core.places()
    some = slice(None, None, max(1, len(rows) // 1000))
    places = flat.to_table(np.column_stack([columns[some], rows[some]]).astype(np.float64))
    seen = log_opponent(sample(pixels, view.to_image(places)[None]))[0]
    return np.concatenate([seen, raw[rows[some], columns[some]]])


def own_colours(
    colours: Palette, ground: Field, marks: Palette, grounds: Palette, deep: Field
) -> Palette:
    """Return the scrap's colours without bits of surface that the first rough look took in.

    `deep`: samples (n × 3) from deep within it; a seldom colour that is as common there is its own.
    """
    off = np.minimum(
        distance_to_shaded((colours.colours - ground)[None], marks)[0],
        distance_to_shaded(colours.colours[None], grounds)[0],
    )
    least = np.where(colours.shares < FEW, 2 * _BORROWED, _BORROWED)
    own = (off > least) | (colours.shares > 0.4)
    if len(deep) > _ENOUGH:
        away = distance_to_colours(deep[None, :: len(deep) // _ENOUGH], colours)[:, 0]
        there = np.bincount(away.argmin(axis=0), minlength=len(colours.shares)) / away.shape[1]
        own |= (off > _BORROWED) & (there > 0.5 * colours.shares)
    if not own.any():
        return colours
    return Palette(colours.colours[own], colours.shares[own])


def surface_marks(
    thing: Thing, flat: FlatTable, raw: Field, surface: Surface, ground: Field
) -> tuple[Palette, Palette]:  # fmt: skip
    """Return the surface's grain and printed lines near the thing, as differences and as such."""
    around = thing.widened(0.75, flat)
    wide, clear = around.window, round(0.22 * flat.scale)
    beside = cv2.erode((~surface.broad[wide]).astype(np.uint8), np.ones((3, 3), np.uint8)) > 0
    beside &= flat.seen[wide]
    # Not too near: what looks like surface right beside the thing may be its own fringe.
    own = around.mask.astype(np.uint8)
    near = cv2.dilate(own, np.ones((2 * clear + 1, 2 * clear + 1), np.uint8)) > 0
    if np.count_nonzero(beside & ~near) > 200:
        beside &= ~near
    marks = main_colours((raw[wide] - ground[wide])[beside], most=4)
    near_zero = np.linalg.norm(marks.colours, axis=1) < _GRAIN
    shares = np.append(1.0, np.where(near_zero, 1.0, marks.shares))
    plain = np.vstack([np.zeros((1, 3), np.float32), marks.colours])
    return Palette(plain, shares), main_colours(raw[wide][beside], most=4)


def deep_within(inner: Mask, scale: float) -> Mask:
    """Return what lies so far within the thing that no bit of surface beside it was taken in."""
    far = cv2.distanceTransform(np.pad(inner, 1).astype(np.uint8), cv2.DIST_L2, 3)[1:-1, 1:-1]
    return np.asarray(far > _DEEP * scale)
