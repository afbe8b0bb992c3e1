"""The colours of a candidate, and of the background round and under it."""

import cv2
import numpy as np

from scrapstore.photo.arrays import Bytes, Field, Mask
from scrapstore.photo.scale import RectifiedImage, View, sample
from scrapstore.photo.segmentation import tuning
from scrapstore.photo.segmentation.background_model import Background
from scrapstore.photo.segmentation.candidates import Candidate
from scrapstore.photo.segmentation.colour_model import (
    Palette,
    cluster_colours,
    distance_to_background,
    distances_to_palette,
)
from scrapstore.photo.segmentation.masks import depth, dilated, eroded, square
from scrapstore.photo.segmentation.opponent import log_opponent

__all__ = [
    "background_texture",
    "deep_interior",
    "interpolate_backdrop",
    "sample_candidate",
    "scrap_palette",
]


def interpolate_backdrop(features: Field, background: Background) -> Field:
    """Return the background's colour everywhere: beside and under scraps, from what lies around."""
    step = 4
    size = (max(1, features.shape[1] // step), max(1, features.shape[0] // step))
    weight = background.mask.astype(np.float32)
    # Zero where it is no background.
    held = cv2.bitwise_and(features, features, mask=background.mask.astype(np.uint8))
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


def sample_candidate(
    core: Candidate, pixels: Bytes, view: View, rectified: RectifiedImage, raw: Field
) -> Field:
    """Return colour samples (n × 3) from all over the candidate.

    Half come from the photo, half from the rectified image, which blends the colours of a fine
    print and whose pixels are compared later.
    """
    rows, columns = core.places(tuning.SCRAP_SAMPLES)
    places = rectified.to_table(np.column_stack([columns, rows]).astype(np.float64))
    seen = log_opponent(sample(pixels, view.to_image(places)[None]))[0]
    return np.concatenate([seen, raw[rows, columns]])


def scrap_palette(
    colours: Palette, backdrop: Field, texture: Palette, backgrounds: Palette, deep: Field
) -> Palette:
    """Return the scrap's colours without bits of background that the first rough look took in.

    `deep`: samples (n × 3) from deep within it; a seldom colour that is as common there is its own.
    """
    off = np.minimum(
        distance_to_background((colours.colours - backdrop)[None], texture)[0],
        distance_to_background(colours.colours[None], backgrounds)[0],
    )
    least = np.where(colours.shares < tuning.MOTIF_SHARE, 2 * tuning.BORROWED, tuning.BORROWED)
    own = (off > least) | (colours.shares > tuning.OWN_SHARE)
    if len(deep) > tuning.DEEP_SAMPLES:
        away = distances_to_palette(deep[None, :: len(deep) // tuning.DEEP_SAMPLES], colours)[:, 0]
        there = np.bincount(away.argmin(axis=0), minlength=len(colours.shares)) / away.shape[1]
        own |= (off > tuning.BORROWED) & (there > tuning.DEEP_SHARE * colours.shares)
    if not own.any():
        return colours
    return Palette(colours.colours[own], colours.shares[own])


def background_texture(
    candidate: Candidate,
    rectified: RectifiedImage,
    raw: Field,
    background: Background,
    backdrop: Field,
) -> tuple[Palette, Palette]:
    """Return the background's grain and printed lines near the candidate.

    The first palette holds differences from `backdrop`, the second the colours themselves.
    """
    around = candidate.widened(tuning.TEXTURE_AROUND, rectified)
    wide = around.window
    beside = eroded(~background.broad[wide], square(1)) & rectified.seen[wide]
    # Not too near: what looks like background right beside the candidate may be its own fringe.
    near = dilated(around.mask, square(round(tuning.TEXTURE_CLEAR * rectified.scale)))
    if np.count_nonzero(beside & ~near) > tuning.TEXTURE_PIXELS:
        beside &= ~near
    texture = cluster_colours((raw[wide] - backdrop[wide])[beside], most=tuning.BACKGROUND_COLOURS)
    near_zero = np.linalg.norm(texture.colours, axis=1) < tuning.GRAIN
    shares = np.append(1.0, np.where(near_zero, 1.0, texture.shares))
    plain = np.vstack([np.zeros((1, 3), np.float32), texture.colours])
    return Palette(plain, shares), cluster_colours(
        raw[wide][beside], most=tuning.BACKGROUND_COLOURS
    )


def deep_interior(inner: Mask, scale: float) -> Mask:
    """Return the pixels so far inside the candidate that they cannot be background."""
    return np.asarray(depth(inner, framed=True) > tuning.DEEP * scale)
