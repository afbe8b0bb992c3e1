"""The scraps on a rectified table, as pixels: which candidates are scraps, in how many pieces."""

from dataclasses import dataclass, replace
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from scrapstore.photo.forms import Refusal
from scrapstore.photo.scale import LIGHT, FlatTable, View
from scrapstore.photo.segmentation.background import (
    colours_at,
    deep_within,
    ground_everywhere,
    own_colours,
    surface_marks,
)
from scrapstore.photo.segmentation.candidates import Thing, find_things, outer_ring, true_holes
from scrapstore.photo.segmentation.cells import log_opponent
from scrapstore.photo.segmentation.likeness import distance_to_shaded, main_colours
from scrapstore.photo.segmentation.region import Sides, settled
from scrapstore.photo.segmentation.segment import (
    Surface,
    candidates,
    colour_features,
    find_surface,
)
from scrapstore.photo.segmentation.specks import groups_of_specks

__all__ = ["Segment", "Segmentation", "find_segments"]

Field = NDArray[np.float32]
Mask = NDArray[np.bool_]

_SHADED: Final = 0.09
"""A thing nearer than this to the surface in some shade is no scrap; small ones need twice this."""
_SMALL: Final = 1.5
"""Square inches."""
_ALIKE: Final = 0.16
"""How far what may be surface is from it at most."""
_LINE: Final = 0.25
"""Inches; no line printed on a surface is so wide."""
_SHOWN: Final = 0.004
"""Share of a scrap that looks like the surface from which on its print is said to have it."""
_DEEPEST: Final = 3
"""How many times over a thing is taken apart at most."""
_AROUND: Final = 0.4
"""Inches round a thing in which its border is looked for."""
_BESIDE: Final = 1.0
"""Inches round a scrap taken out of a heap: enough of the surface, not all the others."""
_MARGIN: Final = 0.12
"""Part of its paper's side by which a code lies within it at least."""


@dataclass(frozen=True, eq=False)
class Segment:
    """The pixels of one scrap, as far as colours tell, and what lies on either side of its edge.

    `thing`: its pixels, holes filled; `holes`: rings within the thing's window; `core`: pixels well
    inside. `notches`: whether small notches are the cloth's own. `mixed`: the share of the core
    that looks more like the surface than like the scrap; `patch`: width of the widest such patch,
    inches. `perhaps_two`: a line in the surface's colour goes right across it, or two lie there.
    """

    thing: Thing
    holes: list[NDArray[np.int32]]
    core: Thing
    sides: Sides
    notches: bool = True
    mixed: float = 0.0
    patch: float = 0.0
    perhaps_two: bool = False


@dataclass(frozen=True, eq=False)
class Table:
    """All that is known of the table before one thing on it is looked at.

    `features`: the flat table's colours, fine lines smoothed away; `raw`: unsmoothed; `ground`: the
    surface's colour everywhere, also under things; `barred`: where things lie, or nothing is seen;
    `near_paper`: the printed paper and what touches it.
    """

    pixels: NDArray[np.uint8]
    view: View
    flat: FlatTable
    features: Field
    surface: Surface
    ground: Field
    raw: Field
    barred: Mask
    near_paper: Mask

    def told(self, refusal: Refusal, thing: Thing) -> Refusal:
        """Return the refusal with the place of the thing that it speaks of."""
        ring = outer_ring(thing.mask).reshape(-1, 2)[::4].astype(np.float64)
        ring += (thing.window[1].start, thing.window[0].start)
        return replace(refusal, in_picture=self.view.to_image(self.flat.to_table(ring)))

    def refused(self, thing: Thing, surface: Mask | None = None) -> Refusal | None:
        """Return why a thing is not measured that reaches the picture's edge or the paper.

        `surface`: as `Thing.leaves` takes it.
        """
        if thing.leaves(self.flat, surface):
            return self.told(_LEAVES, thing)
        touching = np.count_nonzero(self.near_paper[thing.window] & thing.mask)
        return self.told(_COVERS, thing) if touching > 1.5 * self.flat.scale else None


@dataclass(frozen=True, eq=False)
class Segmentation:
    """A table and, thing by thing, the scraps on it or why a thing is left out."""

    table: Table
    parts: tuple[Segment | Refusal, ...]


def find_segments(
    pixels: NDArray[np.uint8], view: View, flat: FlatTable, paper: Mask, around: Mask, sheet: float
) -> Segmentation:
    """Return the scraps on the table and why other things there were left out.

    `paper`: where the scale lies; `around`: beside it; `sheet`: area of one square's paper.
    """
    features = colour_features(flat)
    surface = find_surface(flat, features, around, paper)
    labels = candidates(flat, surface, paper)
    ground = ground_everywhere(features, surface)
    raw = log_opponent(flat.image)
    barred = (labels > 0) | paper | ~flat.seen
    near_paper = cv2.dilate(paper.astype(np.uint8), np.ones((5, 5), np.uint8)) > 0
    table = Table(pixels, view, flat, features, surface, ground, raw, barred, near_paper)
    things = find_things(labels, flat)
    parts: list[Segment | Refusal] = []
    for thing in things:
        if _is_printed_square(thing, flat, sheet):
            parts.append(table.told(_UNREAD, thing))
        else:
            parts += _segments(thing, table)
    # What may be nothing comes after what surely lies there.
    groups = groups_of_specks(flat, surface, paper, things)
    parts += [table.told(_SPECKS, group) for group in groups]
    parts += [_CORNER] if surface.corner else []
    return Segmentation(table, tuple(parts))


_LEAVES: Final = Refusal(
    "leaves the picture",
    "a scrap reaches beyond the edge of the picture",
    "move it, or the camera, until all of it is in view",
)
_CORNER: Final = Refusal(
    "leaves the picture",
    "something that fills a corner of the picture was taken for floor or desk",
    "if it is a scrap, move it, or the camera, until all of it is in view",
)
_SPECKS: Final = Refusal(
    "no contrast",
    "small motifs lie close together there, as of a print in the surface's own colour",
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


def _is_printed_square(thing: Thing, flat: FlatTable, sheet: float) -> bool:
    """Say whether a thing is paper with a code on it: small, without colour, black on white.

    `sheet`: area of a square's own paper, square inches.
    """
    area = np.count_nonzero(thing.mask) / flat.scale**2
    width, height = cv2.minAreaRect(outer_ring(thing.mask))[1]
    # Folded along its diagonal, paper is half as high as wide.
    stout = min(width, height) > 0.45 * max(width, height)
    if not (stout and 0.3 * sheet < area < 1.4 * sheet):
        return False
    # The first look at a pale scrap takes in bits of a dark table round it; a code lies within.
    within = cv2.distanceTransform(np.pad(thing.mask, 1).astype(np.uint8), cv2.DIST_L2, 3)
    within = within[1:-1, 1:-1] > _MARGIN * np.sqrt(sheet) * flat.scale
    if not within.any():
        return False
    light = LIGHT[flat.image[thing.window][within]]
    grey = light.mean(axis=1)
    dark, bright = np.percentile(grey, [12, 88])
    middle = (dark + bright) / 2
    tint = (light / np.maximum(grey[:, None], 1e-3))[grey > middle]
    between = np.mean(np.abs(grey - middle) < 0.25 * (bright - dark))
    # One white, whatever the lamp's colour, and little between it and the black.
    return bool(bright > 4 * dark and between < 0.3 and np.max(np.std(tint, axis=0)) < 0.08)


def _segments(thing: Thing, table: Table, apart: int = _DEEPEST) -> list[Segment | Refusal]:
    """Return the scraps that a thing is, or why they are left out; nothing when it is none.

    `apart`: how many times over what lies close together, or a printed line or a shadow joins, may
    be taken apart: of fewer scraps the colours are better known. Whether a scrap reaches the
    picture's edge is asked after that, as a line often does.
    """
    flat, raw, ground = table.flat, table.raw, table.ground
    marks, grounds = surface_marks(thing, flat, raw, table.surface, ground)
    off = distance_to_shaded(table.features[thing.window] - ground[thing.window], marks)
    plain = distance_to_shaded(raw[thing.window][::2, ::2], grounds)
    small = np.count_nonzero(thing.mask) < _SMALL * flat.scale**2
    if (
        float(np.median(np.minimum(off[::2, ::2], plain)[thing.mask[::2, ::2]]))
        < (2 if small else 1) * _SHADED
    ):
        return []  # the surface itself, in shadow or bent up
    core = _core(thing, true_holes(thing.mask, off < _ALIKE, off, flat.scale), flat)
    colours = main_colours(colours_at(core, table.pixels, table.view, flat, raw), most=8)
    if len(colours.shares) == 0:
        refusal = table.refused(thing, table.surface.alike)
        return [] if refusal is None else [refusal]
    beneath = np.median(ground[core.window][core.mask], axis=0)
    deep = raw[core.window][deep_within(core.mask, flat.scale)]
    sides = Sides(own_colours(colours, beneath, marks, grounds, deep), marks, grounds)
    wide = thing.widened(_AROUND, flat)
    region = settled(
        wide.mask,
        core.widened(_AROUND, flat).mask,
        raw[wide.window],
        ground[wide.window],
        sides,
        flat.scale,
        table.barred[wide.window] & ~wide.mask,
    )
    if small and (
        region is None or not _is_solid(region.filled & (region.off > _ALIKE), flat.scale)
    ):
        return []  # printed lines that cross, and the bits of surface between them
    if region is not None and apart and region.others:
        parts = [
            Thing(wide.window, part).trimmed(_BESIDE, flat)
            for part in (region.filled, *region.others)
        ]
        return [each for part in parts for each in _segments(part, table, apart - 1)]
    if region is None:
        holes = true_holes(thing.mask, off < _ALIKE, off, flat.scale)
        refusal = table.refused(thing, table.surface.alike)
        segment = Segment(thing, holes, _core(thing, holes, flat), sides)
    else:
        thing = Thing(wide.window, region.filled)
        holes = true_holes(region.filled, region.enclosed, region.off, flat.scale, region.grain)
        refusal = table.refused(thing)
        # A print with the surface's colour seems notched where its motifs meet the edge.
        notches = region.mixed < _SHOWN
        segment = Segment(
            thing, holes, _core(thing, holes, flat), sides, notches,
            region.mixed, region.patch, region.perhaps_two,
        )  # fmt: skip
    return [segment if refusal is None else refusal]


def _is_solid(mask: Mask, scale: float) -> bool:
    """Say whether a disc wider than any printed line fits into the mask."""
    deepest = cv2.distanceTransform(mask.astype(np.uint8), cv2.DIST_L2, 3).max(initial=0.0)
    return bool(2 * deepest >= _LINE * scale)


def _core(thing: Thing, holes: list[NDArray[np.int32]], flat: FlatTable) -> Thing:
    """Return the flat table's pixels well inside the thing and outside its holes."""
    solid = thing.mask.astype(np.uint8)
    reach = max(1, round(0.1 * flat.scale))
    for hole in holes:
        cv2.drawContours(solid, [hole], -1, (0.0,), -1)
    core = cv2.erode(solid, np.ones((3, 3), np.uint8), iterations=reach)
    return Thing(thing.window, np.asarray(core > 0))
