"""Why no printed square could be read in a picture: what of light and sharpness there is in it."""

from dataclasses import dataclass
from typing import Final

import cv2
import numpy as np

from scrapstore.photo.arrays import Bytes, Floats
from scrapstore.photo.forms import Refusal
from scrapstore.photo.scale import tuning
from scrapstore.photo.scale.detect import FoundSquare, edge_spread, is_cut_off, unread_codes
from scrapstore.photo.squares import SquareSet

__all__ = ["EdgeSharpness", "edge_sharpness", "is_dark", "refuse_few", "refuse_no_scale"]


def refuse_no_scale(grey: Bytes, squares: SquareSet, found: tuple[FoundSquare, ...]) -> Refusal:
    """Return why no scale was found, as far as the picture shows; the first cause comes first.

    `found`: squares that were read, too few to be trusted.
    """
    if is_cut_off(grey, squares):
        return _CUT_OFF
    codes = [*(square.corners for square in found), *unread_codes(grey, squares)]
    refusal = _refuse_dark_or_blurred(grey, codes)
    if refusal is not None:
        return refusal
    edges = edge_sharpness(grey)
    if edges.sharpest < tuning.SOFT and edges.contrast > tuning.FAINT_EDGES:
        return _BLURRED
    if edges.softest < tuning.SOFT_ONE_WAY and edges.contrast > tuning.PLAIN_EDGES:
        return _SHAKEN
    if found:
        return _ALONE
    return _UNREAD if len(codes) > 1 else _NONE


def refuse_few(grey: Bytes, squares: SquareSet, found: tuple[FoundSquare, ...]) -> Refusal | None:
    """Return why most of the squares in view could not be read, if dark or blur is the cause.

    What can be read of such a picture is not to be measured by: unread squares pass for scraps.
    """
    if len(found) >= tuning.ENOUGH_SQUARES:
        return None
    middles = np.array([square.corners.mean(axis=0) for square in found])
    others = [
        code
        for code in unread_codes(grey, squares)
        if np.linalg.norm(middles - code.mean(axis=0), axis=1).min() > found[0].side / 2
    ]
    if len(others) < len(found):
        return None
    return _refuse_dark_or_blurred(grey, [*(square.corners for square in found), *others])


def _refuse_dark_or_blurred(grey: Bytes, codes: list[Floats]) -> Refusal | None:
    """Return the refusal of a picture too dark, or too blurred by what is seen of its squares.

    `codes`: their corners, 4 × 2 pixels each.
    """
    if is_dark(grey):
        return _DARK
    if len(codes) < 2:  # a single one may be a print
        return None
    side = float(np.median([np.linalg.norm(code[0] - code[1]) for code in codes]))
    spread = float(np.median([edge_spread(grey, code) for code in codes]))
    if spread < tuning.CODE_SPREAD:
        return None
    return _SHAKEN if spread * side > tuning.CODE_SHARP else _SMALL


def is_dark(grey: Bytes) -> bool:
    """Say whether the picture's white is so dark that what can be read of it is less certain."""
    return bool(np.percentile(grey[::8, ::8], 99) < tuning.TOO_DARK)


_CUT_OFF: Final = Refusal(
    "scale cut off",
    "the printed squares reach beyond the edge of the picture",
    "move them, or the camera, until they are whole in view",
)
_DARK: Final = Refusal(
    "too dark",
    "the picture is so dark that the printed squares cannot be read",
    "take it by a window, or switch more lamps on",
)
_SMALL: Final = Refusal(
    "too small",
    "the printed squares are too small in the picture to be read",
    "go nearer, or send the original",
)
_BLURRED: Final = Refusal(
    "too blurred",
    "the picture is so blurred that the printed squares cannot be read",
    "hold the camera still, let it focus, and give it more light",
)
_SHAKEN: Final = Refusal(
    "too blurred",
    "the picture is shaken or out of focus, and the printed squares cannot be read",
    "hold the camera still or lean it on something, let it focus, and give it more light",
)
_ALONE: Final = Refusal(
    "no scale",
    "only one of the squares was read, and printed cloth can imitate one of this family",
    "lay two or more of them in view",
)
_UNREAD: Final = Refusal(
    "no scale",
    "printed squares lie in the picture, but none that is looked for and can be read",
    "lay them flat, without glare or folds; squares of your own are named with --squares",
)
_NONE: Final = Refusal(
    "no scale",
    "no printed square can be read in the picture",
    "lay the printed squares beside the scraps, or type the sizes",
)


@dataclass(frozen=True)
class EdgeSharpness:
    """How sharp a picture's plainest edges are, apart by the direction across them.

    `softest` and `sharpest`: of the directions in which there are such edges, the share of an
    edge's rise from one pixel to the next, where it is steepest (0.5: perfectly sharp; 0.2 and
    less: drawn out beyond the window); infinite where the picture has no edges. `contrast`: rise of
    the plainest edges over the picture's white.
    """

    softest: float
    sharpest: float
    contrast: float


def edge_sharpness(grey: Bytes) -> EdgeSharpness:
    """Return how sharp the edges in `grey` are, in a copy of `tuning.BLUR_SIDE` pixels.

    A camera that moved draws out the edges across its way and leaves those along it sharp, so each
    direction is looked at by itself.
    """
    step = max(1.0, max(grey.shape) / tuning.BLUR_SIDE)
    size = (round(grey.shape[1] / step), round(grey.shape[0] / step))
    small = cv2.resize(grey, size, interpolation=cv2.INTER_AREA).astype(np.float32)
    window = np.ones((2 * tuning.BLUR_WINDOW + 1,) * 2, np.uint8)
    rise = np.asarray(cv2.dilate(small, window) - cv2.erode(small, window))
    across, down = (cv2.Sobel(small, cv2.CV_32F, *way) / 8 for way in ((1, 0), (0, 1)))
    slope = np.hypot(across, down)
    plainest = float(np.percentile(rise, 99))
    least, part = tuning.STRONG_EDGE
    # Beside an edge, where it rises too, the slope has any direction.
    on_edge = slope >= tuning.ON_SLOPE * cv2.dilate(slope, window)
    strong = (rise > max(least, part * plainest)) & on_edge
    share = slope[strong] / rise[strong]
    way_deg = np.degrees(np.arctan2(down[strong], across[strong]))
    values = _by_direction(share.astype(np.float64), way_deg.astype(np.float64))
    contrast = plainest / max(1.0, float(np.percentile(small, 99)))
    none = [float("inf")]
    return EdgeSharpness(min(values or none), max(values or none), contrast)


def _by_direction(share: Floats, way_deg: Floats) -> list[float]:
    """Return the sharpness of the edges of each direction that has enough of them."""
    apart, reach = tuning.EDGE_WAYS
    values = []
    for middle in np.arange(0.0, 180.0, apart):
        near = np.abs((way_deg - middle + 90) % 180 - 90) < reach
        if np.count_nonzero(near) > tuning.EDGE_PIXELS:
            values.append(float(np.percentile(share[near], tuning.STEEPEST)))
    return values
