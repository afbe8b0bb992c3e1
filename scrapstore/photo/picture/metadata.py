"""What a camera writes beside the picture: reading the useful part, and copies without the rest."""

import math
import re
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from PIL import Image

__all__ = ["Shot", "kept_exif", "read_orientation", "read_shot", "write_exif"]

# Tag numbers: Exif 2.32 (CIPA DC-008-2019), tables 4 to 8.
_ORIENTATION: Final = 0x0112
_MAKE: Final = 0x010F
_MODEL: Final = 0x0110
_EXIF_IFD: Final = 0x8769
_TAKEN: Final = 0x9003
_FOCAL_LENGTH: Final = 0x920A
_FOCAL_LENGTH_35MM: Final = 0xA405
_LENS_MODEL: Final = 0xA434
_FRAME_WIDTH: Final = 0xA002
_FRAME_HEIGHT: Final = 0xA003
_KEPT_TEXTS: Final = 64
_SAME_ASPECT: Final = 0.01
"""Part by which rounding to whole pixels, or to blocks of sixteen, changes an aspect."""


@dataclass(frozen=True)
class Shot:
    """What the file says about camera, lens and time; every field may be unknown (None).

    `focal_length_mm`: the lens's own; `focal_length_35mm`: of the lens that shows the same
    diagonal on 36 × 24 mm film. `frame`: width and height of the picture as the camera wrote it,
    in pixels; a picture that was cropped later has others.
    """

    camera: str | None = None
    lens: str | None = None
    focal_length_mm: float | None = None
    focal_length_35mm: float | None = None
    taken: datetime | None = None
    frame: tuple[int, int] | None = None

    def cropped(self, width: int, height: int) -> bool:
        """Say whether a picture of this size, upright or not, has another aspect than the frame.

        A crop of the frame's aspect looks like a smaller copy.
        """
        if self.frame is None:
            return False
        was, now = max(self.frame) / min(self.frame), max(width, height) / min(width, height)
        return abs(was / now - 1) > _SAME_ASPECT


def read_shot(image: Image.Image) -> Shot:
    """Return what the image's EXIF says; unreadable parts are left out, never an error."""
    try:
        exif = image.getexif()
        main = dict(exif)
        details = dict(exif.get_ifd(_EXIF_IFD))
    except Exception:  # noqa: BLE001 - hostile EXIF can raise anything; the picture is still good
        return Shot()
    maker, model = _text(main.get(_MAKE)), _text(main.get(_MODEL))
    if maker and model and not model.lower().startswith(maker.lower().split()[0]):
        model = f"{maker} {model}"
    return Shot(
        camera=model or maker,
        lens=_text(details.get(_LENS_MODEL)),
        focal_length_mm=_positive(details.get(_FOCAL_LENGTH)),
        focal_length_35mm=_positive(details.get(_FOCAL_LENGTH_35MM)),
        taken=_time(details.get(_TAKEN)),
        frame=_frame(details.get(_FRAME_WIDTH), details.get(_FRAME_HEIGHT)),
    )


def read_orientation(image: Image.Image) -> int:
    """Return the EXIF orientation, 1 to 8; 1 (upright) when the file gives none or nonsense."""
    try:
        orientation = image.getexif().get(_ORIENTATION, 1)
    except Exception:  # noqa: BLE001 - as above
        return 1
    return orientation if isinstance(orientation, int) and 1 <= orientation <= 8 else 1


def kept_exif(image: Image.Image) -> bytes:
    """Return a fresh EXIF block with orientation, camera, lens, time and frame only; b"" when none.

    Built from values that were read and checked, so nothing else of the old block can ride along:
    no place, no owner, no serial numbers, no maker's notes, no thumbnail.
    """
    return write_exif(read_shot(image), read_orientation(image))


def write_exif(shot: Shot, orientation: int = 1) -> bytes:
    """Return `shot` and `orientation` as an EXIF block; b"" when there is nothing to say."""
    exif = Image.Exif()
    if orientation != 1:
        exif[_ORIENTATION] = orientation
    if shot.camera:
        exif[_MODEL] = shot.camera
    details: dict[int, object] = {}
    if shot.taken:
        details[_TAKEN] = shot.taken.strftime("%Y:%m:%d %H:%M:%S")
    if shot.focal_length_mm:
        details[_FOCAL_LENGTH] = round(shot.focal_length_mm, 3)
    if shot.focal_length_35mm:
        details[_FOCAL_LENGTH_35MM] = round(shot.focal_length_35mm)
    if shot.lens:
        details[_LENS_MODEL] = shot.lens
    if shot.frame:
        details[_FRAME_WIDTH], details[_FRAME_HEIGHT] = shot.frame
    if details:
        exif.get_ifd(_EXIF_IFD).update(details)
    return exif.tobytes() if dict(exif) or details else b""


def _text(value: object) -> str | None:
    if not isinstance(value, str):
        return None
    plain = re.sub(r"\s+", " ", "".join(c if c.isprintable() else " " for c in value)).strip()
    return plain[:_KEPT_TEXTS] or None


def _positive(value: object) -> float | None:
    try:
        number = float(value)  # type: ignore[arg-type]
    except (TypeError, ValueError, ZeroDivisionError, OverflowError):
        return None
    return number if math.isfinite(number) and 0 < number < 10_000 else None


def _frame(width: object, height: object) -> tuple[int, int] | None:
    if not (isinstance(width, int) and isinstance(height, int)):
        return None
    return (width, height) if min(width, height) > 0 and max(width, height) < 10**6 else None


def _time(value: object) -> datetime | None:
    try:
        return datetime.strptime(str(value)[:19], "%Y:%m:%d %H:%M:%S")
    except ValueError:
        return None
