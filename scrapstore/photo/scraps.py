"""The scraps on a flattened table: which candidates are scraps, and their exact outlines."""

from dataclasses import dataclass, replace
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray
from shapely.geometry import Polygon
from shapely.geometry.polygon import orient

from scrapstore.photo.beside import (
    colours_at,
    deep_within,
    ground_everywhere,
    own_colours,
    surface_marks,
)
from scrapstore.photo.cells import log_opponent
from scrapstore.photo.edges import Border
from scrapstore.photo.flatten import FlatTable
from scrapstore.photo.lens import View
from scrapstore.photo.likeness import distance_to_shaded, main_colours
from scrapstore.photo.outline import straightened, thinned, without_slivers
from scrapstore.photo.refusal import Refusal
from scrapstore.photo.region import Sides, settled
from scrapstore.photo.sampling import LIGHT
from scrapstore.photo.segment import (
    Surface,
    candidates,
    colour_features,
    find_surface,
)
from scrapstore.photo.specks import groups_of_specks
from scrapstore.photo.things import NARROWEST, Thing, find_things, outer_ring, true_holes
from scrapstore.shapes import bounding_sides

__all__ = ["Found", "find_scraps", "is_crease", "is_faint"]

Floats = NDArray[np.float64]
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
_PLAIN: Final = 0.12
"""Contrast above which a place of the edge counts as seen."""
_NARROW: Final = 2.0
"""Inches; the width of a thing of whose edge more must be seen."""
_SEEN_NARROW: Final = 0.9
"""Share of a narrow thing's edge that must be seen."""
_SEEN_WIDE: Final = 0.5
"""The same of a wide one's."""
_MARGIN: Final = 0.12
"""Part of its paper's side by which a code lies within it at least."""
_CREASE_WIDTH: Final = 0.45
"""Inches; twice the area over the outline's length, which of a long strip is nearly its width. What
was measured on creased sheets and boards that were no scraps had 0.17 to 0.41."""
_STRAIGHT: Final = 0.94
"""Share of its convex hull that a straight strip fills; those creases filled 0.36 to 0.93."""
_CREASE_EDGE: Final = 0.6
"""Contrast that three quarters of a crooked strip's edge must have. Most creases had less; crimson
on a pale table has 0.68."""


@dataclass(frozen=True, eq=False)
class Found:
    """A scrap on the table: outline (table inches), its edge's contrast, its core.

    `core`: pixels of the flat table well inside the outline; `mixed`: the share of them that looks
    more like the surface than like the scrap; `patch`: width of the widest such patch, inches.
    `perhaps_two`: a line in the surface's colour goes right across it, or two lie there.
    """

    outline: Polygon
    contrast: Floats
    core: Thing
    mixed: float = 0.0
    patch: float = 0.0
    perhaps_two: bool = False


@dataclass(frozen=True, eq=False)
class _Table:
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


def find_scraps(
    pixels: NDArray[np.uint8], view: View, flat: FlatTable, paper: Mask, around: Mask, sheet: float
) -> tuple[list[Found], list[Refusal]]:
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
    table = _Table(pixels, view, flat, features, surface, ground, raw, barred, near_paper)
    found: list[Found] = []
    left_out: list[Refusal] = []
    things = find_things(labels, flat)
    for thing in things:
        if _is_printed_square(thing, flat, sheet):
            left_out.append(table.told(_UNREAD, thing))
            continue
        for part in _outlined(thing, table):
            if isinstance(part, Found):
                found.append(part)
            else:
                left_out.append(part)
    # What may be nothing comes after what surely lies there.
    groups = groups_of_specks(flat, surface, paper, things)
    left_out += [table.told(_SPECKS, group) for group in groups]
    left_out += [_CORNER] if surface.corner else []
    return found, left_out


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
_FAINT: Final = Refusal(
    "no contrast",
    "something lies there whose edge hardly stands out from the surface",
    "lay it on a surface of another colour, or type its size",
)
_CREASE: Final = Refusal(
    "no contrast",
    "something narrow and crooked lies there, more like a crease or a seam of the surface",
    "if it is a scrap, lay it straight, on a surface of another colour, or type its size",
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


def _outlined(thing: Thing, table: _Table, apart: int = _DEEPEST) -> list[Found | Refusal]:
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
        return _listed(table.refused(thing, table.surface.alike))
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
        return [each for part in parts for each in _outlined(part, table, apart - 1)]
    notches = True
    if region is None:
        refusal = table.refused(thing, table.surface.alike)
        holes = true_holes(thing.mask, off < _ALIKE, off, flat.scale)
    else:
        # A print with the surface's colour seems notched where its motifs meet the edge.
        notches = region.mixed < _SHOWN
        thing = Thing(wide.window, region.filled)
        refusal = table.refused(thing)
        holes = true_holes(region.filled, region.enclosed, region.off, flat.scale, region.grain)
    if refusal is not None:
        return [refusal]
    border = Border(table.pixels, table.view, flat, sides, ground)
    traced = _traced(thing, holes, flat, border, notches=notches)
    if isinstance(traced, Refusal):
        return [table.told(traced, thing)]
    if traced is not None and region is not None:
        traced = replace(
            traced, mixed=region.mixed, patch=region.patch, perhaps_two=region.perhaps_two
        )
    return _listed(traced)


def _listed(found: Found | Refusal | None) -> list[Found | Refusal]:
    return [] if found is None else [found]


def _traced(
    thing: Thing,
    holes: list[NDArray[np.int32]],
    flat: FlatTable,
    border: Border,
    *,
    notches: bool,
) -> Found | Refusal | None:
    """Return the scrap with its edge as the picture shows it; None when it is too narrow.

    `holes`: rings within the thing's window; `notches`: whether small notches are the cloth's own.
    """
    origin = np.array([thing.window[1].start, thing.window[0].start])

    def traced(ring: NDArray[np.int32], *, hole: bool) -> tuple[Polygon, Floats] | None:
        points = flat.to_table(ring.reshape(-1, 2).astype(np.float64) + origin)
        points = _turning(points, left=not hole)
        edge = None
        for reach in (0.14, 0.09):
            # From a plainer ring with its corners sharp, the edge is seen under steady directions.
            plain = straightened(points, border.share_inside, 0.04, notches=notches)
            ring_ = thinned(points, 0.04) if plain is None else _ring_of(plain)
            edge = border.refined(_turning(ring_, left=not hole), reach)
            if edge is None:
                return None
            points = edge.points
        outline = straightened(
            without_slivers(points, border.share_inside), border.share_inside, notches=notches
        )
        return None if outline is None or edge is None else (outline, edge.contrast)

    whole = traced(outer_ring(thing.mask), hole=False)
    if whole is None or (width := bounding_sides(whole[0])[1]) < NARROWEST:
        return None
    if is_faint(whole[1], width):
        return _FAINT
    if is_crease(whole[0], whole[1]):
        return _CREASE
    cut = [traced(hole, hole=True) for hole in holes]
    inside = [c[0].exterior.coords for c in cut if c is not None and whole[0].contains(c[0])]
    outline = Polygon(whole[0].exterior.coords, inside)
    outline = orient(outline if outline.is_valid else whole[0])
    return Found(outline, whole[1], _core(thing, holes, flat))


def is_faint(contrast: Floats, width: float) -> bool:
    """Say whether too little of an edge is seen, by its contrast all round.

    `width`: inches. Narrow things must be plain to see: bits of boards, seams and shadows are not.
    """
    seen = float(np.mean(contrast > _PLAIN))
    return seen < (_SEEN_NARROW if width < _NARROW else _SEEN_WIDE)


def is_crease(outline: Polygon, contrast: Floats) -> bool:
    """Say whether something narrow and crooked is more likely the surface's than a scrap.

    Creases, seams and the grain of boards are so, with an edge (`contrast` all round) that is plain
    in places only. A strip bent to a curve or a corner counts as crooked: its edge must be plain.
    """
    mean_width = 2 * outline.area / outline.exterior.length
    straight = outline.area > _STRAIGHT * outline.convex_hull.area
    return bool(
        mean_width < _CREASE_WIDTH and not straight and np.percentile(contrast, 25) < _CREASE_EDGE
    )


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


def _ring_of(outline: Polygon) -> Floats:
    return np.asarray(outline.exterior.coords, dtype=np.float64)[:-1]


def _turning(ring: Floats, *, left: bool) -> Floats:
    """Return the ring counter-clockwise (`left`) or clockwise."""
    x, y = ring[:, 0], ring[:, 1]
    area = float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)))
    return ring if (area > 0) == left else ring[::-1]
