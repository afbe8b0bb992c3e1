"""Finding the fiducial squares: OpenCV reads the codes, straight lines give the exact corners."""

from dataclasses import dataclass

import cv2
import numpy as np

from scrapstore.photo.arrays import Bytes, Field, Floats
from scrapstore.photo.scale import tuning
from scrapstore.photo.scale.sampling import LIGHT, area_resize, sample
from scrapstore.photo.squares import SquareSet

__all__ = [
    "FoundSquare",
    "dictionary",
    "edge_spread",
    "find_squares",
    "is_cut_off",
    "refine_corners",
    "unread_codes",
]


@dataclass(frozen=True, eq=False)
class FoundSquare:
    """A square in the picture.

    `corners`: 4 × 2 pixels, clockwise as seen from the code's own top left corner. `noise`: how far
    its edges stray from straight lines, pixels. `blur`: standard deviation of the edge's spread,
    pixels.
    """

    id: int
    corners: Floats
    noise: float
    blur: float

    @property
    def side(self) -> float:
        """Mean side, pixels."""
        return float(np.linalg.norm(self.corners - np.roll(self.corners, 1, axis=0), axis=1).mean())


def find_squares(grey: Bytes, squares: SquareSet) -> tuple[FoundSquare, ...]:
    """Return the squares of the set that are whole in the picture `grey` (height × width).

    The same identity may occur more than once: loose squares differ by place.
    """
    step = max(1, round(max(grey.shape) / tuning.WORKING_SIDE))
    found = _find_at(grey, squares, step, tuning.STRONG)
    if len(found) < tuning.ENOUGH_SQUARES:
        # Faint squares need a lower step, blurred ones show better in a smaller picture.
        for smaller in (step, step + 1):
            found = _joined(found, _find_at(grey, squares, smaller, tuning.FAINT))
    if not found and step > 1:
        found = _find_at(grey, squares, 1, tuning.STRONG)
    return found


def _joined(
    first: tuple[FoundSquare, ...], more: tuple[FoundSquare, ...]
) -> tuple[FoundSquare, ...]:
    """Return both findings, what lies in the same place once."""

    def is_new(square: FoundSquare) -> bool:
        centre = square.corners.mean(axis=0)
        return all(np.linalg.norm(centre - f.corners.mean(axis=0)) > f.side / 2 for f in first)

    return (*first, *(square for square in more if is_new(square)))


def _find_at(
    grey: Bytes, squares: SquareSet, step: int, threshold: tuple[int, int]
) -> tuple[FoundSquare, ...]:
    small = _reduced(grey, step, tuning.MOST_BRIGHTENED)
    corner_sets, ids, _ = _detector(squares, threshold).detectMarkers(small)
    numbers = () if len(corner_sets) == 0 else [int(n) for n in np.asarray(ids).ravel()]
    found = []
    for corners, number in zip(corner_sets, numbers, strict=True):
        if number in squares.ids:
            rough = _enlarged(np.asarray(corners, dtype=np.float64).reshape(4, 2), grey, small)
            square = refine_corners(grey, number, rough)
            if square is not None:
                found.append(square)
    return tuple(found)


def _enlarged(corners: Floats, grey: Bytes, small: Bytes) -> Floats:
    """Return pixels of `grey` for those of its smaller copy; whole numbers are pixel centres."""
    scale = np.array([grey.shape[1] / small.shape[1], grey.shape[0] / small.shape[0]])
    return np.asarray((corners + 0.5) * scale - 0.5)


def _reduced(grey: Bytes, step: int, most_brightened: float) -> Bytes:
    """Return the picture `step` times smaller, a dark one brightened."""
    small = area_resize(grey, grey.shape[1] // step, grey.shape[0] // step)
    white = float(np.percentile(small[::8, ::8], 99))
    if white >= tuning.DARK_WHITE:
        return small
    gain = min(tuning.BRIGHT_WHITE / max(white, 1.0), most_brightened)
    return np.asarray(cv2.convertScaleAbs(small, alpha=gain), dtype=np.uint8)


def _detector(squares: SquareSet, threshold: tuple[int, int]) -> cv2.aruco.ArucoDetector:
    parameters = cv2.aruco.DetectorParameters()
    # One threshold instead of OpenCV's three, and a high one: black ink on white paper stands out,
    # while cloth and mats otherwise give thousands of quadrangles to look into.
    window, parameters.adaptiveThreshConstant = threshold
    parameters.adaptiveThreshWinSizeMin = parameters.adaptiveThreshWinSizeMax = window
    parameters.minMarkerPerimeterRate = tuning.LEAST_PERIMETER
    return cv2.aruco.ArucoDetector(dictionary(squares.family), parameters)


def dictionary(family: str) -> cv2.aruco.Dictionary:
    """Return OpenCV's dictionary of a family named as in SquareSet."""
    name = {
        "aruco_original": "ARUCO_ORIGINAL",
        "aruco_mip_36h12": "ARUCO_MIP_36h12",
    }.get(family, family.replace("apriltag", "APRILTAG") if "tag" in family else family.upper())
    return cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, f"DICT_{name}"))


def refine_corners(grey: Bytes, number: int, rough: Floats) -> FoundSquare | None:
    """Return the square with its corners to a fraction of a pixel, or None if it has no edges.

    Along each side the black-to-white step is located at some thirty places; a robust straight line
    through them is the side, and neighbouring sides meet in the corners.
    """
    low = np.maximum(np.floor(rough.min(axis=0) - _far(rough) - 4).astype(int), 0)
    high = np.ceil(rough.max(axis=0) + _far(rough) + 5).astype(int)
    # Blur happens in light, not in sRGB values: half way between black and white paper is sRGB 188,
    # and an edge sought at sRGB 128 would make every square a third of a pixel too small all round.
    light = LIGHT[grey[low[1] : high[1], low[0] : high[0]]]
    if light.size == 0:
        return None
    corners = rough - low
    noises: list[float] = []
    blurs: list[float] = []
    for reach in tuning.SIDE_REACHES:
        sides = [_fit_side(light, corners[k], corners[(k + 1) % 4], reach) for k in range(4)]
        good = [side for side in sides if side is not None]
        if len(good) < 4:
            return None
        corners = np.array([_meet(good[k - 1].line, good[k].line) for k in range(4)])
        if not np.isfinite(corners).all() or np.abs(corners - rough + low).max() > _far(rough):
            return None
        noises, blurs = [side.noise for side in good], [side.blur for side in good]
    return FoundSquare(number, corners + low, float(np.mean(noises)), float(np.median(blurs)))


def _far(rough: Floats) -> float:
    pixels, part = tuning.FAR_CORNER
    return pixels + part * float(np.linalg.norm(rough[0] - rough[2]))


@dataclass(frozen=True, eq=False)
class _Side:
    line: Floats  # a, b, c of a·x + b·y = c with a² + b² = 1
    noise: float
    blur: float


def _fit_side(light: Field, start: Floats, end: Floats, reach: float) -> _Side | None:
    length = float(np.linalg.norm(end - start))
    if length < tuning.LEAST_SIDE:
        return None
    along = (end - start) / length
    # Clockwise corners (y down): the outside is on the left of the way.
    outward = np.array([along[1], -along[0]])
    width = max(tuning.LEAST_REACH, reach * length)
    offsets = np.linspace(-width, width, 4 * int(np.ceil(width)) + 1)
    profiles = int(np.clip(length / 3, *tuning.SIDE_PROFILES))
    shares = np.linspace(*tuning.SIDE_SPAN, profiles)
    places = start + shares[:, None] * (end - start)
    grid = places[:, None, :] + offsets[None, :, None] * outward
    rise = np.diff(sample(light, grid), axis=1)
    peak = rise.max(axis=1)
    if np.median(peak) <= tuning.LEAST_RISE:
        return None
    rise = np.where(rise > tuning.RISE_SHARE * peak[:, None], rise, 0.0)
    middles = (offsets[1:] + offsets[:-1]) / 2
    total = np.maximum(rise.sum(axis=1), 1e-9)
    at = rise @ middles / total
    spread = np.sqrt(np.maximum(rise @ middles**2 / total - at**2, 0))
    points = places + at[:, None] * outward
    line = cv2.fitLine(points.astype(np.float32), cv2.DIST_HUBER, 0, 0.001, 0.001).ravel()
    normal = np.array([-line[1], line[0]], dtype=np.float64)
    normal /= np.linalg.norm(normal)
    distance = float(normal @ line[2:4].astype(np.float64))
    stray = points @ normal - distance
    noise = 1.4826 * float(np.median(np.abs(stray)))
    return _Side(np.array([*normal, distance]), noise, float(np.median(spread)))


def _meet(first: Floats, second: Floats) -> Floats:
    turn = first[0] * second[1] - first[1] * second[0]
    if abs(turn) < tuning.LEAST_CROSSING:
        return np.full(2, np.nan)
    x = first[2] * second[1] - first[1] * second[2]
    y = first[0] * second[2] - first[2] * second[0]
    return np.array([x / turn, y / turn])


def is_cut_off(grey: Bytes, squares: SquareSet) -> bool:
    """Say whether something like half a square lies at the picture's edge (to word a refusal).

    With the picture mirrored at its edges, a square that is cut off and its mirror image make one
    black frame across the edge, which the detector offers and then cannot read. One that lies much
    askew is missed, and the refusal then speaks of no scale at all.
    """
    step = max(1, round(max(grey.shape) / tuning.WORKING_SIDE))
    small = area_resize(grey, grey.shape[1] // step, grey.shape[0] // step)
    height, width = small.shape
    pad = min(height, width) // tuning.MIRROR_PART
    mirrored = np.asarray(
        cv2.copyMakeBorder(small, pad, pad, pad, pad, cv2.BORDER_REFLECT), np.uint8
    )
    _, _, rejected = _detector(squares, tuning.STRONG).detectMarkers(mirrored)
    for quad in rejected:
        points = np.asarray(quad, dtype=np.float64).reshape(4, 2)
        x, y = points.mean(axis=0) - pad + 0.5
        on_edge = min(abs(x), abs(x - width), abs(y), abs(y - height)) < tuning.ON_EDGE
        if on_edge and _looks_coded(mirrored, points):
            return True
    return False


def _looks_coded(small: Bytes, points: Floats) -> bool:
    """Black frame, black and white inside: what a square's remains look like."""
    sides = np.linalg.norm(points - np.roll(points, 1, axis=0), axis=1)
    longest, shortest = tuning.CODED_SIDES
    if sides.max() < longest or sides.min() < shortest:
        return False
    x0, y0 = np.maximum(points.min(axis=0).astype(int), 0)
    x1, y1 = points.max(axis=0).astype(int) + 1
    patch = small[y0:y1, x0:x1]
    if patch.size < tuning.CODED_AREA:
        return False
    dark, light = np.percentile(patch, tuning.CODED_PERCENTILES)
    middle = (float(dark) + float(light)) / 2
    between = np.mean(np.abs(patch - middle) < tuning.CODED_MIDDLE * (light - dark))
    black = np.mean(patch < middle)
    return bool(
        light - dark > tuning.CODED_STEP
        and between < tuning.CODED_BETWEEN
        and black > tuning.CODED_BLACK
    )


def unread_codes(grey: Bytes, squares: SquareSet) -> list[Floats]:
    """Return the corners (4 × 2 pixels) of what looks like fiducial squares that are not read.

    Of some smaller copies of the picture the one in which there are most of them; of any family
    and identity.
    """
    step = max(1, round(max(grey.shape) / tuning.WORKING_SIDE))
    most: list[Floats] = []
    for times in tuning.CODE_STEPS:
        small = _reduced(grey, step * times, tuning.MOST_BRIGHTENED_CODES)
        read, ids, rejected = _detector(squares, tuning.FAINT).detectMarkers(small)
        numbers = np.asarray(ids).ravel().tolist() if len(read) else []
        others = [quad for quad, n in zip(read, numbers, strict=True) if n not in squares.ids]
        seen = (*others, *rejected)
        quads = [np.asarray(quad, dtype=np.float64).reshape(4, 2) for quad in seen]
        codes = [_enlarged(quad, grey, small) for quad in quads if _is_code(small, quad)]
        most = max(most, codes, key=len)
    return most


def edge_spread(grey: Bytes, corners: Floats) -> float:
    """Return the standard deviation of the most blurred side of a square, in sides of it.

    `corners`: 4 × 2 pixels, roughly. Infinite where the square has no edges.
    """
    light = LIGHT[grey]
    length = float(np.linalg.norm(corners - np.roll(corners, 1, axis=0), axis=1).mean())
    ends = zip(corners, np.roll(corners, -1, axis=0), strict=True)
    sides = [_fit_side(light, *both, tuning.CODE_REACH) for both in ends]
    return max(float("inf") if side is None else side.blur / length for side in sides)


def _is_code(small: Bytes, corners: Floats) -> bool:
    """Say whether there is white paper round a black frame, and black and white within."""
    sides = np.linalg.norm(corners - np.roll(corners, 1, axis=0), axis=1)
    if sides.min() < tuning.CODE_LEAST or sides.max() > tuning.CODE_OBLONG * sides.min():
        return False
    side, low = tuning.CODE_PIXELS, tuning.CODE_AT
    high, cell = side - low, (side - 2 * low) // 8
    straight = np.array([[low, low], [high, low], [high, high], [low, high]], np.float32)
    turn = cv2.getPerspectiveTransform(corners.astype(np.float32), straight)
    seen = cv2.warpPerspective(small, turn, (side, side)).astype(np.float64)
    about = np.abs(np.arange(side) - (side - 1) / 2)
    away = side / 2 - np.maximum(about[:, None], about[None])  # px from the picture's edge
    paper = seen[away < low - cell + 2]
    black = float(np.median(seen[(away > low + 2) & (away < low + cell - 1)]))
    cells = seen[away > low + cell + 2]
    white, step = float(np.median(paper)), float(np.median(paper)) - black
    middle, (least, most) = (white + black) / 2, tuning.CODE_BLACK
    return bool(
        step > tuning.CODE_CONTRAST * white
        and np.percentile(paper, 20) > middle
        and np.percentile(cells, 90) > black + tuning.CODE_WHITE * step
        and least < np.mean(cells < middle) < most
    )
