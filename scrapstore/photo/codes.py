"""Two-dimensional codes (ISO/IEC 18004) found in a photo, several at once.

OpenCV's detectors miss small codes in a large picture, as a phone shows them from above a table. So
places that may hold one are found first: in the picture at its own size, half, a quarter of it, …
the dark modules of a code run together to one nearly square spot. Each such place is cut out,
brought to the sizes that the detectors read well, and shown to both of them.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice
from typing import Any, Final

import cv2
import numpy as np

from scrapstore.photo.arrays import Bytes, Floats

__all__ = ["ReadCode", "read_codes"]

# Tuned on rendered photos of labels (tests.benchmarks.labels); pixels of the reduced picture.
_LEAST_SIDE: Final = 30
_MOST_SIDE: Final = 240
_JOINED: Final = (7, 9)  # gaps up to this wide within a code are closed, either way
_DARKER: Final = 18  # grey steps below the mean round about
_ROUND_ABOUT: Final = 81
_STRETCHED: Final = 1.7  # the sides of a code's upright box differ by this factor at most
_FILLED: Final = 0.35  # of that box; a square on its corner fills half
_INKED: Final = 0.85  # of the spot; a printed dot is dark all over, a code is not
_BLACK_TO_WHITE: Final = 30  # grey steps between the dark and the light of a place, at least
_CROSSED: Final = 7.0  # times at least; see `_crossings`
_RIMS: Final = (0.25, 0.5)  # of the place's side, cut out round it
_SHOWN_AT: Final = (400, 650, 300)  # pixels; sizes of a cut-out that the detectors are shown
_MOST_TRIED: Final = 400  # places; some fifteen seconds where a print is full of things like codes
_SMALLEST_LEVEL: Final = 200  # pixels; a picture is not made smaller than this


@dataclass(frozen=True, eq=False)
class ReadCode:
    """A code in a picture: its text, and its corners (4 × 2, pixels x, y), round the code."""

    text: str
    corners: Floats

    @property
    def centre(self) -> tuple[float, float]:
        """The middle of its corners, pixels."""
        x, y = self.corners.mean(axis=0).tolist()
        return x, y


def read_codes(pixels: Bytes) -> tuple[ReadCode, ...]:
    """Return the codes in a picture (height × width × 3, RGB), from the top down.

    A code that lies there twice is returned twice.
    """
    grey = np.asarray(cv2.cvtColor(pixels, cv2.COLOR_RGB2GRAY), dtype=np.uint8)
    detectors = (cv2.QRCodeDetector(), cv2.QRCodeDetectorAruco())
    found: list[ReadCode] = []
    likely = (place for place in _places(grey) if _crossings(grey, place) >= _CROSSED)
    for place in islice(likely, _MOST_TRIED):
        middle = (place[0] + place[2] / 2, place[1] + place[3] / 2)
        if any(_holds(code, middle) for code in found):
            continue
        code = _read_place(grey, place, detectors)
        if code is not None and not any(_holds(one, code.centre) for one in found):
            found.append(code)
    return tuple(sorted(found, key=lambda code: (code.centre[1], code.centre[0])))


def _holds(code: ReadCode, point: tuple[float, float]) -> bool:
    return bool(cv2.pointPolygonTest(code.corners.astype(np.float32), point, measureDist=False) > 0)


def _places(grey: Bytes) -> Iterator[tuple[float, float, float, float]]:
    """Yield boxes (left, top, width, height; pixels) that may hold a code, small ones first."""
    reduced, scale = cv2.GaussianBlur(grey, (0, 0), 1.0), 1.0
    while min(reduced.shape) >= _SMALLEST_LEVEL:
        dark = cv2.adaptiveThreshold(
            reduced, 255, cv2.ADAPTIVE_THRESH_MEAN_C, cv2.THRESH_BINARY_INV, _ROUND_ABOUT, _DARKER
        )
        for gap in _JOINED:
            for left, top, wide, tall in _spots(np.asarray(dark, dtype=np.uint8), gap):
                yield left * scale, top * scale, wide * scale, tall * scale
        reduced = cv2.resize(reduced, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
        scale *= 2


def _spots(dark: Bytes, gap: int) -> Iterator[tuple[int, int, int, int]]:
    """Yield the boxes of what is about square once gaps in the dark are closed."""
    joined = cv2.morphologyEx(dark, cv2.MORPH_CLOSE, np.ones((gap, gap), np.uint8))
    _, spot_of, spots, _ = cv2.connectedComponentsWithStats(joined)
    inked = np.bincount(spot_of[dark > 0], minlength=len(spots)).tolist()
    for (left, top, wide, tall, filled), ink in zip(spots.tolist(), inked, strict=True):
        short, long = sorted((wide, tall))
        if not (short >= _LEAST_SIDE and long <= _MOST_SIDE and long <= _STRETCHED * short):
            continue
        if filled >= _FILLED * wide * tall and ink <= _INKED * filled:
            yield left, top, wide, tall


def _read_place(
    grey: Bytes, place: tuple[float, float, float, float], detectors: tuple[Any, ...]
) -> ReadCode | None:
    for rim in _RIMS:
        part, corner = _cut_out(grey, place, rim)
        dark, light = np.percentile(part, (10, 90))
        if light - dark < _BLACK_TO_WHITE:
            return None
        spread = np.clip((part - dark) * (255 / (light - dark)), 0, 255).astype(np.uint8)
        for size in _SHOWN_AT:
            scale = size / max(spread.shape)
            way = cv2.INTER_CUBIC if scale > 1 else cv2.INTER_AREA
            shown = cv2.resize(spread, None, fx=scale, fy=scale, interpolation=way)
            for detector in detectors:
                text, corners = _decoded(detector, shown)
                if text and corners is not None:
                    return ReadCode(text, corners.reshape(4, 2) / scale + corner)
    return None


def _crossings(grey: Bytes, place: tuple[float, float, float, float]) -> float:
    """Return how often a line across a place and its rim goes from dark to light or back.

    On average over the middle half; a code of 21 modules has some fourteen, spots and checks of a
    print one to four. Dark and light are those of the place: what is even has none of its own.
    """
    part, _ = _cut_out(grey, place, _RIMS[0])
    dark, light = np.percentile(part, (10, 90))
    quarter = len(part) // 4
    inked = part[quarter : max(quarter + 1, 3 * quarter)] < (dark + light) / 2
    return float(np.count_nonzero(inked[:, 1:] != inked[:, :-1]) / len(inked))


def _cut_out(
    grey: Bytes, place: tuple[float, float, float, float], rim: float
) -> tuple[Bytes, tuple[int, int]]:
    """Return a place with a rim, in parts of its sides, and where its upper left corner lies."""
    left, top, wide, tall = place
    x, y = max(0, int(left - rim * wide)), max(0, int(top - rim * tall))
    part = grey[y : int(top + (1 + rim) * tall) + 1, x : int(left + (1 + rim) * wide) + 1]
    return part, (x, y)


def _decoded(detector: Any, shown: Bytes) -> tuple[str, Any]:
    try:
        text, corners, _ = detector.detectAndDecode(shown)
    except (cv2.error, UnicodeDecodeError):  # on what only looks like a code
        return "", None
    return text, corners
