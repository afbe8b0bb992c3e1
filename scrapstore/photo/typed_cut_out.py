"""The picture of a scrap whose size was typed, cut out of its photo.

Its outline is known in inches, but not where in the photo it lies. So the cloth is looked for by
the scrap's own colours against the table's, and its outline is fitted to what was found: the same
area, the same middle, turned until the two agree, then drawn to fit the edge as a tilted camera
sees it. Where they do not agree, there is no picture rather than one of a neighbour or the table.
"""

from dataclasses import dataclass
from typing import Final, cast

import cv2
import numpy as np
import shapely
from scipy.spatial import KDTree
from shapely import Polygon

from scrapstore.colour import Swatch, srgb_to_lab
from scrapstore.photo.arrays import Bytes, Floats, Mask
from scrapstore.photo.forms import CutOutPicture
from scrapstore.photo.segmentation import (
    closed,
    filled,
    fit_rim_background,
    opened,
    rings_of,
    square,
)

__all__ = ["find_cut_out"]


_SEARCHED_SIDE: Final = 200
_FINEST: Final = 60.0  # pixels an inch; weave blurs and print stays
_LONGEST: Final = 2000  # pixels
_LIGHTNESS_WEIGHT: Final = 0.6  # shadow moves a pixel in lightness most
_FARTHEST: Final = 32.0  # CIELAB; a pixel farther from every swatch is no cloth of this scrap
_AGREES: Final = 0.88  # of the two areas together, what they share
_WORTH_DRAWING: Final = 0.75  # before the outline is drawn to the edge
_MOST_STRETCH: Final = 1.25  # 1 / cos 37°: how far aslant a picture may be taken
_MOST_GROWTH: Final = 1.5  # of what is near the camera against what is far
_WAYS: Final = ((0, 0), (1, 0), (0, 1))
_EDGE_POINTS: Final = 100
_DRAWS: Final = 8
_SMALLEST: Final = 0.004  # of the picture
_INSET: Final = 0.012  # of the outline's size


@dataclass(frozen=True)
class _Fit:
    """How an outline lies in a picture, and how well it agrees.

    `matrix` (3 × 3) takes (inches, 1) to pixels times a third number, so that it can hold tilt.
    """

    matrix: Floats
    agreement: float

    def pixels_per_inch(self, outline: Polygon) -> float:
        """Return the root of how large the outline is in the picture against in inches."""
        ring = Polygon(_projected(self.matrix, np.asarray(outline.exterior.coords)))
        return float(np.sqrt(ring.area / Polygon(outline.exterior).area))


def find_cut_out(
    pixels: Bytes, outline: Polygon, swatches: tuple[Swatch, ...]
) -> CutOutPicture | None:
    """Return the part of a photo that shows a scrap, over the box round its outline.

    `pixels` is sRGB (height, width, 3), `outline` in inches. The picture has 60 pixels an inch, or
    what the photo shows. None when the scrap is not found.
    """
    fit = _find(pixels, outline, swatches) if swatches else None
    if fit is None:
        return None
    left, bottom, right, top = outline.bounds
    shown = fit.pixels_per_inch(outline)
    scale = min(_FINEST, shown, _LONGEST / max(right - left, top - bottom))
    wide, tall = max(1, round((right - left) * scale)), max(1, round((top - bottom) * scale))
    # From the cut-out's pixels (y down) to inches (y up), then to the photo's pixels.
    to_inches = np.array([[1 / scale, 0, left], [0, -1 / scale, top], [0, 0, 1]])
    # Made smaller first where the photo is finer, or a fine check would turn into a coarse one.
    reduced, shrunk = _shrunk(pixels, min(1.0, 1.5 * scale / shown))
    picture = cv2.warpPerspective(
        reduced,
        shrunk @ fit.matrix @ _inset(outline) @ to_inches,
        (wide, tall),
        flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
        borderMode=cv2.BORDER_REPLICATE,
    )
    done, data = cv2.imencode(
        ".jpg", cv2.cvtColor(picture, cv2.COLOR_RGB2BGR), [cv2.IMWRITE_JPEG_QUALITY, 84]
    )
    return CutOutPicture(data.tobytes(), outline.bounds) if done else None


def _shrunk(pixels: Bytes, ratio: float) -> tuple[Bytes, Floats]:
    """Return the picture made smaller, and what takes places in it as given to places there."""
    height, width = pixels.shape[:2]
    size = (max(1, round(width * ratio)), max(1, round(height * ratio)))
    small = np.asarray(cv2.resize(pixels, size, interpolation=cv2.INTER_AREA), dtype=np.uint8)
    across, down = size[0] / width, size[1] / height
    # Whole numbers are pixel centres.
    return small, np.array([[across, 0, (across - 1) / 2], [0, down, (down - 1) / 2], [0, 0, 1]])


def _find(pixels: Bytes, outline: Polygon, swatches: tuple[Swatch, ...]) -> _Fit | None:
    """Return how the outline lies in the photo, None where nothing in it agrees with it."""
    small, shrunk = _shrunk(pixels, min(1.0, _SEARCHED_SIDE / max(pixels.shape)))
    fits = [_fitted_outline(part, outline) for part in _parts(_cloth(small, swatches))]
    best = max(fits, key=lambda fit: fit.agreement, default=None)
    if best is None or best.agreement < _AGREES:
        return None
    return _Fit(np.linalg.inv(shrunk) @ best.matrix, best.agreement)


def _inset(outline: Polygon) -> Floats:
    """Return what draws an outline a little towards its middle: an edge is frayed and blurred."""
    x, y = outline.centroid.coords[0]
    keep = 1 - _INSET
    return np.array([[keep, 0, x * _INSET], [0, keep, y * _INSET], [0, 0, 1]])


def _cloth(small: Bytes, swatches: tuple[Swatch, ...]) -> Mask:
    """Return where a pixel looks more like the scrap's colours than like the table."""
    weight = np.array([_LIGHTNESS_WEIGHT, 1, 1])
    lab = srgb_to_lab(small)
    to_table = np.linalg.norm(fit_rim_background(lab).residuals * weight, axis=2)
    to_cloth = np.min(
        [np.linalg.norm((lab - swatch.lab) * weight, axis=2) for swatch in swatches], axis=0
    )
    mask = (to_cloth < to_table) & (to_cloth < _FARTHEST)
    return opened(closed(mask, square(2)), square(1))


def _parts(mask: Mask) -> list[Mask]:
    """Return the connected parts that do not reach the picture's edge, with their holes filled."""
    parts = []
    for ring in rings_of(mask):
        x, y, wide, tall = cv2.boundingRect(ring)
        inside = x > 0 and y > 0 and x + wide < mask.shape[1] and y + tall < mask.shape[0]
        part = filled([ring], mask.shape)
        if inside and part.mean() >= _SMALLEST:
            parts.append(part)
    return parts


def _fitted_outline(part: Mask, outline: Polygon) -> _Fit:
    """Return the outline over `part`: same area and centre, in the rotation that agrees best."""
    solid = Polygon(outline.exterior)
    rows, columns = np.nonzero(part)
    middle = np.array([columns.mean(), rows.mean()])
    scale = float(np.sqrt(len(rows) / solid.area))
    ring = np.asarray(solid.exterior.coords)
    centre = np.array(solid.centroid.coords[0])
    # Coarse, then fine. A scrap is more often photographed as it was typed than on its head, so
    # turns are tried from none on and a later one must be better, not as good.
    best = _Fit(np.eye(3), -1.0)
    turn_of_best = 0.0
    for turns in (sorted(range(-180, 180, 6), key=abs), (-4, -2, 2, 4), (-1, 1)):
        around = turn_of_best
        for turn in turns:
            fit = _turned(part, ring, centre, middle, scale, around + turn)
            if fit.agreement > best.agreement + 0.005:
                best, turn_of_best = fit, around + turn
    return _fitted_to_edge(part, ring, best) if best.agreement >= _WORTH_DRAWING else best


def _turned(
    part: Mask,
    ring: Floats,
    centre: Floats,
    middle: Floats,
    scale: float,
    turn_deg: float,
) -> _Fit:
    cos, sin = scale * np.cos(np.radians(turn_deg)), scale * np.sin(np.radians(turn_deg))
    # y is up on the cloth and down in the picture.
    turned = np.array([[cos, -sin], [-sin, -cos]])
    matrix = np.eye(3)
    matrix[:2, :2], matrix[:2, 2] = turned, middle - turned @ centre
    return _Fit(matrix, _agreement(part, ring, matrix))


def _fitted_to_edge(part: Mask, ring: Floats, fit: _Fit) -> _Fit:
    """Return the fit after drawing the outline to the part's edge, a few times, nearest to nearest.

    Iterative closest points (Besl and McKay, "A method for registration of 3-D shapes", 1992),
    with a homography for the motion.
    """
    edge = max(rings_of(part), key=len).reshape(-1, 2).astype(np.float64)
    along = shapely.LinearRing(ring)
    places = np.linspace(0, 1, _EDGE_POINTS, endpoint=False)
    points = shapely.get_coordinates(shapely.line_interpolate_point(along, places, normalized=True))
    tree = KDTree(edge)
    best, matrix = fit, fit.matrix
    for _ in range(_DRAWS):
        nearest = edge[tree.query(_projected(matrix, points))[1]]
        # OpenCV gives None for points in one line; its types do not say so.
        found = cast("Floats | None", cv2.findHomography(points, nearest, 0)[0])
        if found is None:
            break
        matrix = found
        agreement = _agreement(part, ring, matrix)
        if agreement > best.agreement and not _is_too_tilted(matrix, ring):
            best = _Fit(matrix, agreement)
    return best


def _is_too_tilted(matrix: Floats, ring: Floats) -> bool:
    """Tell whether a picture like this needs a camera held farther aslant than anyone would.

    Without the limit, a square could be seen as any shape of four corners.
    """
    step = 1e-3 * float(np.ptp(ring, axis=0).max())
    here, aside, up = (_projected(matrix, ring + step * np.array(way)) for way in _WAYS)
    sides = np.stack([aside - here, up - here], axis=-1) / step
    stretch = np.linalg.svd(sides, compute_uv=False)  # the most and least pixels an inch
    sizes = np.sqrt(stretch.prod(axis=1))
    return bool(
        (stretch[:, 0] > _MOST_STRETCH * stretch[:, 1]).any()
        or sizes.max() > _MOST_GROWTH * sizes.min()
    )


def _projected(matrix: Floats, points: Floats) -> Floats:
    """Return pixels (n × 2) of points (n × 2, inches)."""
    moved = np.column_stack([points, np.ones(len(points))]) @ matrix.T
    return np.asarray(moved[:, :2] / moved[:, 2:], dtype=np.float64)


def _agreement(part: Mask, ring: Floats, matrix: Floats) -> float:
    """Return intersection over union of the drawn outline and the part."""
    drawn = np.zeros(part.shape, np.uint8)
    corners = np.rint(_projected(matrix, ring).clip(-1e4, 1e4)).astype(np.int32)
    cv2.fillPoly(drawn, [corners], (1.0,))
    shared = np.count_nonzero((drawn > 0) & part)
    return int(shared) / max(1, int(np.count_nonzero((drawn > 0) | part)))
