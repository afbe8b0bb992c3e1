"""What is given to a measurement, and what comes of it, without opening a picture.

Nothing here needs OpenCV, so that who only passes these on need not load it.
"""

from dataclasses import dataclass, field
from typing import Literal

from scrapstore.errors import PhotoError
from scrapstore.photo.arrays import Floats

__all__ = ["CutOutPicture", "LensProfile", "Refusal", "RefusalCode", "RefusedError"]

RefusalCode = Literal[
    "unreadable",
    "too large",
    "too small",
    "no scale",
    "scale cut off",
    "too dark",
    "too blurred",
    "too tilted",
    "residual",
    "no colour",
    "no contrast",
    "no scrap",
    "leaves the picture",
    "over the scale",
]


@dataclass(frozen=True)
class Refusal:
    """Why something was not measured, and what to do about it.

    `code`: for programs; `reason` and `remedy`: halves of a sentence for people. A refusal is
    false, so that ``if not (reading := measure(path))`` reads as meant; `str()` gives the sentence.
    `in_picture`: ring round the thing it speaks of (n × 2 pixels), None when it speaks of no one
    place. `others`: what else lies in a picture of which nothing was measured, and why.
    """

    code: RefusalCode
    reason: str
    remedy: str
    in_picture: Floats | None = field(default=None, compare=False, repr=False)
    others: tuple["Refusal", ...] = field(default=(), compare=False, repr=False)

    def __bool__(self) -> Literal[False]:
        return False

    def __str__(self) -> str:
        return f"{self.reason}; {self.remedy}"


class RefusedError(PhotoError):
    """A file that cannot be opened as a picture; carries its `refusal`."""

    def __init__(self, name: str, refusal: Refusal) -> None:
        super().__init__(f"{name}: {refusal}")
        self.refusal = refusal


@dataclass(frozen=True)
class LensProfile:
    """A lens once learned, to be kept by `key` and given to later photos of the same camera.

    `focal`: focal length in long sides of the picture; `k1`: radial distortion; `focal_sigma`
    (relative) and `k1_sigma`: their standard errors.
    """

    key: str
    focal: float
    k1: float
    focal_sigma: float
    k1_sigma: float


@dataclass(frozen=True)
class CutOutPicture:
    """A scrap from above: a JPEG in sRGB that covers `box`, to the edges of its outer pixels.

    `box`: left, bottom, right, top in inches in the frame of the scrap's own outline.
    """

    data: bytes
    box: tuple[float, float, float, float]
