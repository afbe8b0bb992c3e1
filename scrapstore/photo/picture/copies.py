"""Copies to keep: the same picture, bit for bit, without what the camera wrote about its owner.

JPEG, PNG and WebP are rewritten part by part and only the parts on a short list of harmless ones
pass; the compressed picture itself is never decoded, so nothing is lost. HEIC has no such simple
parts and is saved anew as JPEG.
"""

import io
import struct
import warnings
import zlib
from pathlib import Path
from typing import Final, NamedTuple

from PIL import Image

from scrapstore.errors import PhotoError
from scrapstore.photo.picture.decode import open_image, open_photo, read_bytes
from scrapstore.photo.picture.metadata import kept_exif, write_exif

__all__ = ["StoredCopy", "stored_copy"]

_HEIC_QUALITY: Final = 95


class StoredCopy(NamedTuple):
    """A picture file to keep: its bytes, and the suffix of its name, such as ``.jpg``."""

    data: bytes
    suffix: str


def stored_copy(path: Path | str) -> StoredCopy:
    """Return the picture at `path` without place, owner, serial numbers or any text.

    Orientation, camera, lens, focal length, time and colour profile stay. The pixels of JPEG, PNG
    and WebP are those of the original; what follows the picture in the file (a film, a second
    view) goes too.

    Raises PhotoError like `open_photo`.
    """
    path = Path(path)
    data = read_bytes(path)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            image = open_image(path, data)
            exif = kept_exif(image)
            if image.format in ("JPEG", "MPO"):
                return StoredCopy(_clean_jpeg(data, exif), ".jpg")
            if image.format == "PNG":
                return StoredCopy(_clean_png(data, exif), ".png")
            if image.format == "WEBP":
                return StoredCopy(_clean_webp(data, exif, image), ".webp")
        except PhotoError:
            raise
        except Exception as error:  # noqa: BLE001 - a broken file can raise anything
            msg = f"{path.name}: it is damaged or cut short ({error}); copy it again"
            raise PhotoError(msg) from None
    return StoredCopy(_as_jpeg(path), ".jpg")


def _as_jpeg(path: Path) -> bytes:
    photo = open_photo(path)
    stored = io.BytesIO()
    # open_photo has turned the picture upright, so the orientation does not go along.
    Image.fromarray(photo.pixels).save(
        stored, "JPEG", quality=_HEIC_QUALITY, subsampling=0, exif=write_exif(photo.shot)
    )
    return stored.getvalue()


def _clean_jpeg(data: bytes, exif: bytes) -> bytes:
    """Return the first JPEG picture in `data` with harmless segments and `exif` only.

    Markers: ITU-T T.81, table B.1. Kept application segments: JFIF, ICC profile, Adobe (which says
    how the colours are coded).
    """
    parts = [b"\xff\xd8"]
    if exif:
        parts.append(_jpeg_segment(0xE1, b"Exif\0\0" + exif.removeprefix(b"Exif\0\0")))
    at = 2
    while True:
        marker, at = _next_marker(data, at)
        if marker == 0xD9:
            return b"".join([*parts, b"\xff\xd9"])
        length = struct.unpack_from(">H", data, at)[0]
        body = data[at + 2 : at + length]
        if length < 2 or len(body) != length - 2:
            raise ValueError("a segment runs past the end")
        at += length
        if _jpeg_keeps(marker, body):
            parts.append(_jpeg_segment(marker, body))
        if marker == 0xDA:
            end = _scan_end(data, at)
            parts.append(data[at:end])
            at = end


def _jpeg_segment(marker: int, body: bytes) -> bytes:
    return struct.pack(">BBH", 0xFF, marker, len(body) + 2) + body


def _jpeg_keeps(marker: int, body: bytes) -> bool:
    if marker == 0xE0:
        return body.startswith(b"JFIF\0")
    if marker == 0xE2:
        return body.startswith(b"ICC_PROFILE\0")
    if marker == 0xEE:
        return body.startswith(b"Adobe")
    return not (0xE0 <= marker <= 0xEF or marker == 0xFE)


def _next_marker(data: bytes, at: int) -> tuple[int, int]:
    at = data.find(b"\xff", at)
    while 0 <= at < len(data) - 1 and data[at + 1] == 0xFF:
        at += 1
    if at < 0 or at >= len(data) - 1:
        raise ValueError("no end of the picture")
    return data[at + 1], at + 2


def _scan_end(data: bytes, at: int) -> int:
    """Return where the compressed data that begins at `at` gives way to the next marker."""
    while True:
        at = data.find(b"\xff", at)
        if at < 0 or at + 1 >= len(data):
            raise ValueError("no end of the picture")
        if data[at + 1] != 0 and not 0xD0 <= data[at + 1] <= 0xD7:
            return at
        at += 2


_PNG_KEPT: Final = frozenset(
    # PNG third edition (W3C 2025), sections 11.2 and 11.3: what the pixels and colours need.
    b"IHDR PLTE IDAT IEND tRNS cHRM gAMA iCCP sBIT sRGB cICP pHYs".split()
)


def _clean_png(data: bytes, exif: bytes) -> bytes:
    parts, at = [data[:8]], 8
    while True:
        length, kind = struct.unpack_from(">I4s", data, at)
        whole = data[at : at + 12 + length]
        if len(whole) != 12 + length:
            raise ValueError("a chunk runs past the end")
        at += len(whole)
        if kind == b"IDAT" and exif:
            body = b"eXIf" + exif.removeprefix(b"Exif\0\0")
            parts += struct.pack(">I", len(body) - 4), body, struct.pack(">I", zlib.crc32(body))
            exif = b""
        if kind in _PNG_KEPT:
            parts.append(whole)
        if kind == b"IEND":
            return b"".join(parts)


def _clean_webp(data: bytes, exif: bytes, image: Image.Image) -> bytes:
    """Return the WebP with picture, alpha and colour profile, and `exif`.

    Chunks: RFC 9649, section 2.7; flags of VP8X: 0x20 profile, 0x10 alpha, 0x08 EXIF.
    """
    chunks: dict[bytes, bytes] = {}
    at = 12
    while at + 8 <= min(len(data), 8 + struct.unpack_from("<I", data, 4)[0]):
        kind, length = struct.unpack_from("<4sI", data, at)
        chunks.setdefault(kind, data[at + 8 : at + 8 + length])
        if at + 8 + length > len(data):
            raise ValueError("a chunk runs past the end")
        at += 8 + length + length % 2
    if not chunks.keys() & {b"VP8 ", b"VP8L"}:
        raise ValueError("no picture in it")
    kept: dict[bytes, bytes] = {
        kind: chunks[kind] for kind in (b"ICCP", b"ALPH", b"VP8 ", b"VP8L") if kind in chunks
    }
    if exif:
        kept[b"EXIF"] = exif.removeprefix(b"Exif\0\0")
    if kept.keys() - {b"VP8 ", b"VP8L"}:
        old = chunks.get(b"VP8X", b"\0")
        flags = (0x20 if b"ICCP" in kept else 0) | (old[0] & 0x10) | (0x08 if exif else 0)
        width, height = image.size
        header = struct.pack("<I", flags)
        header += (width - 1).to_bytes(3, "little") + (height - 1).to_bytes(3, "little")
        kept = {b"VP8X": header, **kept}
    body = b"WEBP" + b"".join(
        kind + struct.pack("<I", len(part)) + part + b"\0" * (len(part) % 2)
        for kind, part in kept.items()
    )
    return b"RIFF" + struct.pack("<I", len(body)) + body
