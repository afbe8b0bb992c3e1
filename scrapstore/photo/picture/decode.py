"""Opening a picture file safely: what is broken, hostile or unusual is refused by name."""

import hashlib
import io
import stat
import warnings
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Final

import numpy as np
from PIL import Image, ImageCms, UnidentifiedImageError

from scrapstore.errors import PhotoError
from scrapstore.photo.arrays import Bytes
from scrapstore.photo.forms import Refusal, RefusalCode, RefusedError
from scrapstore.photo.picture.metadata import Shot, read_orientation, read_shot

__all__ = [
    "MOST_BYTES",
    "MOST_PIXELS",
    "Photo",
    "decode_photo",
    "open_image",
    "open_photo",
    "read_bytes",
    "to_srgb",
]

MOST_BYTES: Final = 150_000_000
"""Largest file that is read at all."""
MOST_PIXELS: Final = 120_000_000
"""Most pixels a picture may have; more is taken for a decompression bomb (a phone's largest
pictures, 108 megapixels, still pass)."""
_PIXELS_KEPT: Final = 30_000_000
"""Larger JPEGs are decoded at a half or a quarter: no lens resolves more of a table."""

_FORMATS: Final = ("JPEG", "PNG", "WEBP")  # JPEG's reader finds MPO as well
_HEIF_BRANDS: Final = (b"heic", b"heix", b"hevc", b"hevx", b"heim", b"heis", b"mif1", b"msf1")
_TURNS: Final = {
    # EXIF orientation → what brings the picture upright (Exif 2.32, table 4, tag 0x0112).
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}
_OTHER_KINDS: Final = (
    (b"GIF8", "a GIF picture"),
    (b"BM", "a BMP picture"),
    (b"II*\0", "a TIFF or camera raw picture"),
    (b"MM\0*", "a TIFF or camera raw picture"),
    (b"%PDF", "a PDF document"),
    (b"<svg", "an SVG drawing"),
    (b"<?xml", "an XML document"),
    (b"PK\3\4", "a zip archive"),
)


@dataclass(frozen=True, eq=False)
class Photo:
    """A decoded picture.

    `pixels`: uint8, height × width × 3, RGB, upright, row 0 at the top. sRGB, except from
    `decode_photo`, which leaves them in the space of `icc_profile` (None: sRGB).
    `sha256`: of the file's bytes, hexadecimal; the same photo is the same whatever its name.
    `shot`: what the camera wrote beside the picture.
    """

    path: Path
    pixels: Bytes
    sha256: str
    shot: Shot
    icc_profile: bytes | None = None

    @property
    def camera(self) -> str | None:
        """Maker and model, or None when the file does not say."""
        return self.shot.camera

    @property
    def focal_length_mm(self) -> float | None:
        """The lens's true focal length, millimetres, or None."""
        return self.shot.focal_length_mm

    @property
    def taken(self) -> datetime | None:
        """When the picture was taken, by the camera's clock (no time zone), or None."""
        return self.shot.taken


def open_photo(path: Path | str) -> Photo:
    """Return the picture in the file `path`, upright, in sRGB.

    Reads JPEG, PNG, WebP and, with the extra ``heic`` installed, HEIC. Greyscale, palette, CMYK,
    16-bit and transparent pictures (laid on white) become plain RGB.

    Raises PhotoError, naming the file, the reason and the remedy, for anything that is not one
    whole still picture of at most `MOST_PIXELS`.
    """
    photo = decode_photo(path)
    if photo.icc_profile is None:
        return photo
    pixels = to_srgb(photo.pixels, photo.icc_profile)
    return Photo(photo.path, pixels, photo.sha256, photo.shot)


def decode_photo(path: Path | str) -> Photo:
    """Return the picture like `open_photo`, with pixels left in the file's own colour space.

    Converting twelve million pixels takes longer than decoding them; a caller who needs a few
    colours only converts those with `to_srgb`.
    """
    path = Path(path)
    data = read_bytes(path)
    with warnings.catch_warnings():
        # What Pillow warns about (odd EXIF, large pictures) is checked here by our own rules.
        warnings.simplefilter("ignore")
        try:
            image = open_image(path, data)
            _load(image)
            shot = read_shot(image)
            profile = _foreign_profile(image)
            upright = _turn(_to_rgb(image), read_orientation(image))
            pixels = np.asarray(upright, dtype=np.uint8)
        except PhotoError:
            raise
        except MemoryError:
            raise _refuse(path, "it does not fit into memory", "save a smaller copy") from None
        except Exception as error:  # noqa: BLE001 - a broken file can raise anything in a decoder
            reason = f"it is damaged or cut short ({_one_line(error)})"
            raise _refuse(path, reason, "copy it again from the camera") from None
    return Photo(path, pixels, hashlib.sha256(data).hexdigest(), shot, profile)


def to_srgb(pixels: Bytes, icc_profile: bytes | None) -> Bytes:
    """Return `pixels` (height × width × 3, in the space of `icc_profile`) in sRGB.

    A profile that cannot be used leaves the pixels as they are.
    """
    if icc_profile is None:
        return pixels
    try:
        source = ImageCms.ImageCmsProfile(io.BytesIO(icc_profile))
        image = ImageCms.profileToProfile(
            Image.fromarray(pixels), source, ImageCms.createProfile("sRGB"), outputMode="RGB"
        )
    except (ImageCms.PyCMSError, OSError, ValueError, TypeError):
        return pixels
    return pixels if image is None else np.asarray(image, dtype=np.uint8)


def read_bytes(path: Path) -> bytes:
    """Return the bytes of the file, refusing what is no ordinary file of reasonable length."""
    try:
        status = path.stat()
        if stat.S_ISDIR(status.st_mode):
            raise _refuse(path, "it is a folder", "name the pictures in it")
        if not stat.S_ISREG(status.st_mode):
            raise _refuse(path, "it is no ordinary file", "copy the picture to a file first")
        if status.st_size == 0:
            raise _refuse(path, "it is empty", "copy it again from the camera")
        if status.st_size > MOST_BYTES:
            reason = f"it has {status.st_size / 1e6:.0f} MB, more than {MOST_BYTES / 1e6:.0f}"
            raise _refuse(path, reason, "save a smaller copy as JPEG", "too large")
        return path.read_bytes()
    except FileNotFoundError:
        raise _refuse(path, "there is no such file", "check the name") from None
    except (OSError, ValueError) as error:
        reason = f"it cannot be read ({_one_line(error)})"
        raise _refuse(path, reason, "check the name and its permissions") from None


def open_image(path: Path, data: bytes) -> Image.Image:
    """Return Pillow's image for `data`: kind, size and stillness checked, nothing decoded yet."""
    image = _open_any(path, data)
    width, height = image.size
    if width * height > MOST_PIXELS:
        raise _too_large(path, f"{width * height / 1e6:.0f} million")
    # MPO is a JPEG followed by a preview or a second lens's view, and HEIC may hold several
    # pictures too: there the first one counts.
    if image.format in ("PNG", "WEBP") and getattr(image, "n_frames", 1) > 1:
        raise _refuse(path, "it is an animation", "save one still picture of it")
    return image


def _open_any(path: Path, data: bytes) -> Image.Image:
    if data[4:8] == b"ftyp":
        return _open_heif(path, data)
    try:
        return Image.open(io.BytesIO(data), formats=_FORMATS)
    except Image.DecompressionBombError:
        raise _too_large(path, "far more") from None
    except UnidentifiedImageError:
        for magic, kind in _OTHER_KINDS:
            if data[:64].lstrip().startswith(magic):
                raise _refuse(path, f"it is {kind}", "save it as JPEG or PNG") from None
        reason = "it is no picture that can be read, or its beginning is damaged"
        raise _refuse(path, reason, "use a JPEG, PNG, WebP or HEIC file") from None


def _load(image: Image.Image) -> None:
    """Decode; a very large JPEG at a half or a quarter of its size, which is quick."""
    width, height = image.size
    if image.format in ("JPEG", "MPO") and width * height > _PIXELS_KEPT:
        scale = 2 if width * height <= 4 * _PIXELS_KEPT else 4
        image.draft(None, (width // scale, height // scale))
    image.load()


def _open_heif(path: Path, data: bytes) -> Image.Image:
    brand = data[8:12]
    if brand in (b"avif", b"avis"):
        raise _refuse(path, "it is an AVIF picture", "save it as JPEG")
    if brand not in _HEIF_BRANDS:
        raise _refuse(path, "it is a film, not a picture", "save one still picture of it")
    try:
        import pi_heif
    except ImportError:
        remedy = "install its reader beside scrapstore (pip install pi-heif), or convert it to JPEG"
        raise _refuse(path, "it is a HEIC picture, and no reader for it is here", remedy) from None
    pi_heif.register_heif_opener(thumbnails=False)
    return Image.open(io.BytesIO(data), formats=["HEIF"])


def _to_rgb(image: Image.Image) -> Image.Image:
    """Return the image in 8-bit RGB; transparency is laid on white."""
    if image.mode == "RGB" and "transparency" not in image.info:
        return image
    if image.mode.startswith("I"):
        values = np.asarray(image).astype(np.int64)
        most = 65535 if image.mode != "I" or values.max(initial=0) > 255 else 255
        return Image.fromarray((np.clip(values, 0, most) * 255 // most).astype(np.uint8)).convert(
            "RGB"
        )
    if image.mode in ("RGBA", "LA", "PA", "La", "RGBa") or "transparency" in image.info:
        layers = image.convert("RGBA")
        plain = Image.new("RGB", layers.size, (255, 255, 255))
        plain.paste(layers, mask=layers.getchannel("A"))
        return plain
    return image.convert("RGB")


def _turn(image: Image.Image, orientation: int) -> Image.Image:
    turn = _TURNS.get(orientation)
    return image if turn is None else image.transpose(turn)


def _foreign_profile(image: Image.Image) -> bytes | None:
    """Return the image's RGB profile unless it is sRGB's (or of another mode, such as CMYK)."""
    profile = image.info.get("icc_profile")
    if not isinstance(profile, bytes) or len(profile) < 128 or profile[16:20] != b"RGB ":
        return None
    description = profile[:4096].replace(b"\0", b"")
    return None if b"sRGB" in description else profile


def _too_large(path: Path, size: str) -> RefusedError:
    reason = f"it unpacks to {size} pixels; {MOST_PIXELS / 1e6:.0f} million is the most"
    return _refuse(path, reason, "save a smaller copy", "too large")


def _refuse(path: Path, reason: str, remedy: str, code: RefusalCode = "unreadable") -> RefusedError:
    return RefusedError(path.name or str(path), Refusal(code, reason, remedy))


def _one_line(error: BaseException) -> str:
    text = " ".join(str(error).split()) or type(error).__name__
    return text[:120]
