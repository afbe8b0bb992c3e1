"""The scraps on a rectified table, as pixels: which candidates are scraps, in how many pieces."""

from dataclasses import dataclass, replace
from typing import Final

import cv2
import numpy as np

from scrapstore.photo.arrays import Bytes, Field, Labels, Mask
from scrapstore.photo.forms import Refusal
from scrapstore.photo.scale import LIGHT, RectifiedImage, TableScale, View
from scrapstore.photo.segmentation import tuning
from scrapstore.photo.segmentation.background_model import (
    Background,
    colour_features,
    fit_background,
    foreground_labels,
)
from scrapstore.photo.segmentation.candidates import (
    Candidate,
    find_candidates,
    find_holes,
)
from scrapstore.photo.segmentation.colour_model import (
    ColourModel,
    cluster_colours,
    distance_to_background,
)
from scrapstore.photo.segmentation.enclosed import parts_not_found
from scrapstore.photo.segmentation.local_colours import (
    background_texture,
    deep_interior,
    interpolate_backdrop,
    sample_candidate,
    scrap_palette,
)
from scrapstore.photo.segmentation.masks import (
    depth,
    dilated,
    eroded,
    filled,
    outer_ring,
    rings_of,
    square,
)
from scrapstore.photo.segmentation.opponent import log_opponent
from scrapstore.photo.segmentation.region import refine_region

__all__ = ["Segment", "Segmentation", "segment_scraps"]


@dataclass(frozen=True, eq=False)
class Segment:
    """The pixels of one scrap, as far as colours tell, and what lies on either side of its edge.

    `candidate`: its pixels, holes filled; `holes`: rings within the candidate's window; `core`:
    pixels well inside. `notches`: whether small notches are the cloth's own. `background_share`:
    the share of the core that looks more like the background than like the scrap; `widest_patch`:
    width of the widest such patch, inches; `apart`: width of the widest patch in which the first
    look at it and the second differ, inches. `may_be_several`: a line in the background's colour
    goes right across it, or two lie there.
    """

    candidate: Candidate
    holes: list[Labels]
    core: Candidate
    model: ColourModel
    notches: bool = True
    background_share: float = 0.0
    widest_patch: float = 0.0
    apart: float = 0.0
    may_be_several: bool = False


@dataclass(frozen=True, eq=False)
class Table:
    """All that is known of the table before one candidate on it is looked at.

    `features`: the rectified image's colours, fine lines smoothed away; `raw`: unsmoothed;
    `backdrop`: the background's colour everywhere, also under candidates; `excluded`: where
    candidates lie, or nothing is seen; `near_paper`: the printed paper and what touches it.
    """

    pixels: Bytes
    view: View
    rectified: RectifiedImage
    features: Field
    background: Background
    backdrop: Field
    raw: Field
    excluded: Mask
    near_paper: Mask

    def located(self, refusal: Refusal, candidate: Candidate) -> Refusal:
        """Return the refusal with the place of the candidate that it speaks of."""
        ring = outer_ring(candidate.mask).reshape(-1, 2)[::4].astype(np.float64)
        ring += (candidate.window[1].start, candidate.window[0].start)
        return replace(refusal, in_picture=self.view.to_image(self.rectified.to_table(ring)))

    def refused(self, candidate: Candidate, background: Mask | None = None) -> Refusal | None:
        """Return why a candidate is not measured that reaches the picture's edge or the paper.

        `background`: as `Candidate.leaves` takes it.
        """
        if candidate.leaves(self.rectified, background):
            return self.located(_LEAVES, candidate)
        touching = np.count_nonzero(self.near_paper[candidate.window] & candidate.mask)
        return (
            self.located(_COVERS, candidate)
            if touching > tuning.TOUCHING_PAPER * self.rectified.scale
            else None
        )


@dataclass(frozen=True, eq=False)
class Segmentation:
    """A table and, candidate by candidate, the scraps on it or why a candidate is left out."""

    table: Table
    parts: tuple[Segment | Refusal, ...]


def segment_scraps(pixels: Bytes, scale: TableScale) -> Segmentation:
    """Return the scraps on the table of a photo (`pixels`), and why other things are left out."""
    rectified, paper = scale.rectified, scale.paper
    features = colour_features(rectified)
    background = fit_background(rectified, paper)
    labels = foreground_labels(rectified, background, paper)
    backdrop = interpolate_backdrop(features, background)
    raw = log_opponent(rectified.image)
    excluded = (labels > 0) | paper | ~rectified.seen
    near_paper = dilated(paper, square(2))
    table = Table(
        pixels,
        scale.pose.view,
        rectified,
        features,
        background,
        backdrop,
        raw,
        excluded,
        near_paper,
    )
    candidates = find_candidates(labels, rectified)
    codes = _unread_squares(candidates, scale)
    parts: list[Segment | Refusal] = []
    for candidate in candidates:
        if candidate in codes:
            parts.append(table.located(_UNREAD, candidate))
        else:
            parts += _segments(candidate, table)
    # What may be nothing comes after what surely lies there.
    unlike = background.novel | background.enclosed & ~_holes_of(candidates, paper.shape)
    parts += [
        table.located(_ALIKE, part)
        for part in parts_not_found(unlike & ~paper, candidates, rectified.scale)
    ]
    return Segmentation(table, tuple(parts))


_LEAVES: Final = Refusal(
    "leaves the picture",
    "a scrap reaches beyond the edge of the picture",
    "move it, or the camera, until all of it is in view",
)
_ALIKE: Final = Refusal(
    "no contrast",
    "either part of the surface, or something that differs from it little or by small motifs only",
    "if it is a scrap, lay it on a surface of another colour, or type its size",
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


def _holes_of(candidates: list[Candidate], shape: tuple[int, ...]) -> Mask:
    """Return what the candidates enclose."""
    mask = np.zeros(shape, bool)
    for candidate in candidates:
        mask[candidate.window] |= filled(rings_of(candidate.mask), candidate.mask.shape)
    return mask


def _unread_squares(candidates: list[Candidate], scale: TableScale) -> list[Candidate]:
    """Return the candidates that are printed squares which were not read.

    Where all squares of our print are accounted for, there are none: what looks like one is cloth.
    Where more candidates look like one than squares are wanting, nobody can say which is one.
    """
    wanting = scale.unread
    if scale.squares.layout and (scale.pose.card or not wanting):
        return []
    alike = [c for c in candidates if _is_printed_square(c, scale.rectified, scale.sheet_area)]
    return alike if not scale.squares.layout or len(alike) <= wanting else []


def _is_printed_square(candidate: Candidate, rectified: RectifiedImage, sheet: float) -> bool:
    """Say whether a candidate is paper with a code on it: small, without colour, black on white.

    `sheet`: area of a square's own paper, square inches.
    """
    area = np.count_nonzero(candidate.mask) / rectified.scale**2
    width, height = cv2.minAreaRect(outer_ring(candidate.mask))[1]
    # Folded along its diagonal, paper is half as high as wide.
    stout = min(width, height) > tuning.CODE_STOUT * max(width, height)
    least, most = tuning.CODE_AREA
    if not (stout and least * sheet < area < most * sheet):
        return False
    # The first look at a pale scrap takes in bits of a dark table round it; a code lies within.
    margin = tuning.CODE_MARGIN * np.sqrt(sheet) * rectified.scale
    within = depth(candidate.mask, framed=True) > margin
    if not within.any():
        return False
    light = LIGHT[rectified.image[candidate.window][within]]
    grey = light.mean(axis=1)
    dark, bright = np.percentile(grey, tuning.CODE_PERCENTILES)
    middle = (dark + bright) / 2
    tint = (light / np.maximum(grey[:, None], 1e-3))[grey > middle]
    between = np.mean(np.abs(grey - middle) < tuning.CODE_MIDDLE * (bright - dark))
    if bright <= tuning.CODE_RATIO * dark or between >= tuning.CODE_BETWEEN:
        return False
    # One white, whatever the lamp's colour.
    return bool(np.max(np.std(tint, axis=0)) < tuning.CODE_TINT)


def _segments(
    candidate: Candidate, table: Table, splits: int = tuning.MOST_SPLITS
) -> list[Segment | Refusal]:
    """Return the scraps that a candidate is, or why they are left out; nothing when it is none.

    `splits`: how many times what lies close together, or a printed line or a shadow joins, may
    be separated: of fewer scraps the colours are better known. Whether a scrap reaches the
    picture's edge is asked after that, as a line often does.
    """
    rectified, raw, backdrop = table.rectified, table.raw, table.backdrop
    texture, backgrounds = background_texture(candidate, rectified, raw, table.background, backdrop)
    off = distance_to_background(
        table.features[candidate.window] - backdrop[candidate.window], texture
    )
    plain = distance_to_background(raw[candidate.window][::2, ::2], backgrounds)
    small = np.count_nonzero(candidate.mask) < tuning.SMALL_AREA * rectified.scale**2
    if (
        float(np.median(np.minimum(off[::2, ::2], plain)[candidate.mask[::2, ::2]]))
        < (2 if small else 1) * tuning.SHADED
    ):
        return [table.located(_ALIKE, candidate)]
    core = _core(
        candidate,
        find_holes(candidate.mask, off < tuning.MAYBE_BACKGROUND, off, rectified.scale),
        rectified,
    )
    colours = cluster_colours(
        sample_candidate(core, table.pixels, table.view, rectified, raw), most=tuning.SCRAP_COLOURS
    )
    if len(colours.shares) == 0:
        refusal = table.refused(candidate, ~table.background.lying)
        return [] if refusal is None else [refusal]
    beneath = np.median(backdrop[core.window][core.mask], axis=0)
    deep = raw[core.window][deep_interior(core.mask, rectified.scale)]
    model = ColourModel(
        scrap_palette(colours, beneath, texture, backgrounds, deep), texture, backgrounds
    )
    wide = candidate.widened(tuning.AROUND, rectified)
    region = refine_region(
        wide.mask,
        core.widened(tuning.AROUND, rectified).mask,
        raw[wide.window],
        backdrop[wide.window],
        model,
        rectified.scale,
        table.excluded[wide.window] & ~wide.mask,
    )
    if small and region is None:
        return []  # bits of background
    if region is not None and splits and region.others:
        parts = [
            Candidate(wide.window, part).trimmed(tuning.AROUND_SPLIT, rectified)
            for part in (region.filled, *region.others)
        ]
        return [each for part in parts for each in _segments(part, table, splits - 1)]
    if region is None:
        holes = find_holes(candidate.mask, off < tuning.MAYBE_BACKGROUND, off, rectified.scale)
        refusal = table.refused(candidate, ~table.background.lying)
        segment = Segment(candidate, holes, _core(candidate, holes, rectified), model)
    else:
        more, less = (
            2 * float(depth(one & ~other).max()) / rectified.scale
            for one, other in ((region.filled, wide.mask), (wide.mask, region.filled))
        )
        apart = max(more, less)
        taken = region.off[region.filled & ~wide.mask]
        if more > tuning.APART and np.median(taken) < tuning.MAYBE_BACKGROUND:
            # What it takes in besides is much like the table: the few colours of a palette tell
            # less than how common each colour is on either side.
            whole = filled(rings_of(wide.mask), wide.mask.shape)
            region = replace(region, filled=whole, enclosed=region.enclosed & whole)
        candidate = Candidate(wide.window, region.filled)
        holes = find_holes(
            region.filled, region.enclosed, region.off, rectified.scale, region.grain
        )
        refusal = table.refused(candidate)
        # A print with the background's colour seems notched where its motifs meet the edge.
        notches = region.background_share < tuning.NOTCH_SHARE
        segment = Segment(
            candidate, holes, _core(candidate, holes, rectified), model, notches,
            region.background_share, region.widest_patch, apart, region.may_be_several,
        )  # fmt: skip
    return [segment if refusal is None else refusal]


def _core(candidate: Candidate, holes: list[Labels], rectified: RectifiedImage) -> Candidate:
    """Return the rectified image's pixels well inside the candidate and outside its holes."""
    solid = candidate.mask & ~filled(holes, candidate.mask.shape)
    reach = max(1, round(tuning.CORE_MARGIN * rectified.scale))
    return Candidate(candidate.window, eroded(solid, square(1), times=reach))
