"""Opening pictures: what is read, how it is turned upright, and what is refused by name."""

import base64
import hashlib
import io
import os
import struct
import sys
import zlib
from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image, ImageCms

from scrapstore.errors import PhotoError
from scrapstore.photo import open_photo, stored_copy


def corners(width: int = 48, height: int = 32) -> Image.Image:
    """A picture whose quarters are red, green (top), blue, white (bottom)."""
    pixels = np.zeros((height, width, 3), np.uint8)
    pixels[: height // 2, : width // 2] = (255, 0, 0)
    pixels[: height // 2, width // 2 :] = (0, 255, 0)
    pixels[height // 2 :, : width // 2] = (0, 0, 255)
    pixels[height // 2 :, width // 2 :] = (255, 255, 255)
    return Image.fromarray(pixels)


def saved(folder: Path, image: Image.Image, name: str, **options: Any) -> Path:
    path = folder / name
    image.save(path, **options)
    return path


@pytest.mark.parametrize("name", ["a.jpg", "a.png", "a.webp"])
def test_reads_the_usual_kinds(tmp_path: Path, name: str) -> None:
    path = saved(tmp_path, corners(), name, **({"quality": 95} if name != "a.png" else {}))
    photo = open_photo(path)
    assert photo.pixels.shape == (32, 48, 3)
    assert photo.pixels.dtype == np.uint8
    assert np.abs(photo.pixels[4, 4].astype(int) - (255, 0, 0)).max() < 12
    assert photo.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()
    assert photo.camera is None
    assert photo.taken is None


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("mode", ["RGB", "L"])
def test_obeys_the_exif_orientation(tmp_path: Path, orientation: int, mode: str) -> None:
    """Store the picture as each of the eight orientations would, and read it back upright."""
    turned_by = {
        1: None, 2: Image.Transpose.FLIP_LEFT_RIGHT, 3: Image.Transpose.ROTATE_180,
        4: Image.Transpose.FLIP_TOP_BOTTOM, 5: Image.Transpose.TRANSPOSE,
        6: Image.Transpose.ROTATE_90, 7: Image.Transpose.TRANSVERSE,
        8: Image.Transpose.ROTATE_270,
    }[orientation]  # fmt: skip
    upright = corners().convert(mode)
    stored = upright if turned_by is None else upright.transpose(turned_by)
    exif = Image.Exif()
    exif[0x0112] = orientation
    photo = open_photo(saved(tmp_path, stored, "a.png", exif=exif))
    assert np.array_equal(photo.pixels, np.asarray(upright.convert("RGB")))


def test_reads_camera_lens_and_time(tmp_path: Path) -> None:
    exif = Image.Exif()
    exif[0x010F], exif[0x0110] = "Fernglas", "F-1"
    exif.get_ifd(0x8769).update({0x9003: "2026:03:04 05:06:07", 0x920A: 4.25, 0xA405: 26})
    photo = open_photo(saved(tmp_path, corners(), "a.jpg", exif=exif))
    assert photo.camera == "Fernglas F-1"
    assert photo.focal_length_mm == pytest.approx(4.25)
    assert photo.shot.focal_length_35mm == pytest.approx(26)
    assert photo.taken == datetime(2026, 3, 4, 5, 6, 7)


@pytest.mark.parametrize("mode", ["1", "L", "P", "LA", "RGBA", "CMYK", "I;16"])
def test_every_mode_becomes_plain_rgb(tmp_path: Path, mode: str) -> None:
    """Mid grey stays mid grey whatever way it was stored."""
    if mode == "I;16":
        image = Image.fromarray(np.full((20, 20), 128 * 257, np.uint16))
    else:
        image = Image.new("RGB", (20, 20), (128, 128, 128))
        image = image.quantize(2) if mode == "P" else image.convert(mode)
    photo = open_photo(saved(tmp_path, image, "a.jpg" if mode == "CMYK" else "a.png"))
    assert photo.pixels.shape == (20, 20, 3)
    if mode != "1":
        assert np.abs(photo.pixels.astype(int) - 128).max() <= 1


def test_transparency_is_laid_on_white(tmp_path: Path) -> None:
    image = Image.new("RGBA", (8, 8), (0, 0, 0, 0))
    assert open_photo(saved(tmp_path, image, "a.png")).pixels.min() == 255


def test_a_foreign_profile_is_converted_to_srgb(tmp_path: Path) -> None:
    """A picture in XYZ-like linear space comes out as the sRGB colour it means."""
    wide = _linear_profile()
    image = Image.new("RGB", (8, 8), (55, 55, 55))
    photo = open_photo(saved(tmp_path, image, "a.png", icc_profile=wide))
    # Linear 55/255 is 0.2157; the sRGB curve (IEC 61966-2-1) makes that 0.5018 × 255 = 128.
    assert np.abs(photo.pixels.astype(int) - 128).max() <= 2


def _linear_profile() -> bytes:
    """sRGB's profile with its tone curves replaced by straight lines."""
    profile = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    count = struct.unpack_from(">I", profile, 128)[0]
    for entry in range(count):
        name, offset, size = struct.unpack_from(">4sII", profile, 132 + 12 * entry)
        if name in (b"rTRC", b"gTRC", b"bTRC"):
            profile[offset : offset + size] = b"curv".ljust(size, b"\0")
        if name == b"desc":
            profile[offset + 8 : offset + size] = bytes(size - 8)
    return bytes(profile)


def refused(path: Path) -> str:
    with pytest.raises(PhotoError) as caught:
        open_photo(path)
    text = str(caught.value)
    assert path.name in text
    assert ";" in text, "the message ends with a remedy"
    assert "\n" not in text
    return text


def test_refuses_what_is_no_file(tmp_path: Path) -> None:
    assert "no such file" in refused(tmp_path / "gone.jpg")
    assert "folder" in refused(tmp_path)
    (tmp_path / "empty.jpg").touch()
    assert "empty" in refused(tmp_path / "empty.jpg")


@pytest.mark.skipif(sys.platform == "win32", reason="named pipes are a matter of Unix")
def test_does_not_wait_for_a_pipe(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.jpg")
    assert "no ordinary file" in refused(tmp_path / "pipe.jpg")


@pytest.mark.parametrize(
    ("data", "word"),
    [
        (b"GIF89a" + bytes(40), "GIF"),
        (b"%PDF-1.7", "PDF"),
        (b"II*\0" + bytes(40), "TIFF"),
        (b"just words", "no picture"),
        (b"\0\0\0\x1cftypmp42" + bytes(20), "film"),
        (b"\0\0\0\x1cftypavif" + bytes(20), "AVIF"),
        (b"\xff\xd8\xff\xe0", "no picture"),
    ],
)
def test_refuses_other_kinds_by_name(tmp_path: Path, data: bytes, word: str) -> None:
    (tmp_path / "a.jpg").write_bytes(data)
    assert word in refused(tmp_path / "a.jpg")


@pytest.mark.parametrize("name", ["a.jpg", "a.png", "a.webp"])
def test_refuses_a_truncated_file(tmp_path: Path, name: str) -> None:
    noise = np.random.default_rng(0).integers(0, 256, (200, 200, 3)).astype(np.uint8)
    path = saved(tmp_path, Image.fromarray(noise), name)
    data = path.read_bytes()
    path.write_bytes(data[: len(data) * 2 // 3])
    refused(path)


@pytest.mark.parametrize("name", ["a.png", "a.webp"])
def test_refuses_an_animation(tmp_path: Path, name: str) -> None:
    other = Image.new("RGB", (48, 32))
    path = saved(tmp_path, corners(), name, save_all=True, append_images=[other])
    assert "animation" in refused(path)


@pytest.mark.parametrize("side", [12_000, 60_000])
def test_refuses_a_decompression_bomb_before_unpacking_it(tmp_path: Path, side: int) -> None:
    """A few hundred bytes that claim gigabytes of pixels."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        return (
            struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
        )

    header = struct.pack(">IIBBBBB", side, side, 8, 2, 0, 0, 0)
    data = b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(bytes(99)))
    (tmp_path / "bomb.png").write_bytes(data + chunk(b"IEND", b""))
    assert "million" in refused(tmp_path / "bomb.png")


def test_heic_without_its_reader_says_how_to_get_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "pi_heif", None)
    (tmp_path / "a.heic").write_bytes(b"\0\0\0\x18ftypheic" + bytes(40))
    text = refused(tmp_path / "a.heic")
    assert "pip install pi-heif" in text
    assert "JPEG" in text


# Written once by libheif's encoder from `corners()` with a GPS block in its EXIF; 980 bytes.
HEIC = (
    "AAAAHGZ0eXBoZWljAAAAAG1pZjFoZWljbWlhZgAAAb5tZXRhAAAAAAAAACFoZGxyAAAAAAAAAABwaWN0AAAAAAAA"
    "AAAAAAAAAAAAADRpbG9jAAAAAERAAAIAAQAAAAAB4gABAAAAAAAAAYwAAgAAAAADbgABAAAAAAAAAGYAAAA4aWlu"
    "ZgAAAAAAAgAAABVpbmZlAgAAAAABAABodmMxAAAAABVpbmZlAgAAAQACAABFeGlmAAAAAA5waXRtAAAAAAABAAAA"
    "/WlwcnAAAADdaXBjbwAAAHZodmNDAQNwAAAAkAAAAAAAHvAA/P34+AAADwNgAAEAGEABDAH//wNwAAADAJAAAAMA"
    "AAMAHroCQGEAAQAqQgEBA3AAAAMAkAAAAwAAAwAeoCCBBZbq5Ka5uAhoMCAAAAMDIAAAAwAhYgABAAZEAcFzwIkA"
    "AAATY29scm5jbHgAAQANAAaAAAAAFGlzcGUAAAAAAAAAQAAAAEAAAAAoY2xhcAAAADAAAAABAAAAIAAAAAH////w"
    "AAAAAv///+AAAAACAAAAEHBpeGkAAAAAAwgICAAAABhpcG1hAAAAAAAAAAEAAQWBAgMFhAAAABppcmVmAAAAAAAA"
    "AA5jZHNjAAIAAQABAAAB+m1kYXQAAAGIKAGvBjha97bfzOB///lab6H963AIfBIm/paj//foH//kQqKOgwZ6dw0u"
    "x1Y6RCmoJCy06AICz39ILESQYHE1+LJjJwOegN8rrHYl+fDgf3MopD+UXD//vQzmki88aW3wyGcf9jL3Z8A77/ZU"
    "r9H63itTnQ1tiHOJo4ob+fUH/97O/rO/g//+C5+O5VtFj8WmOKRi8OZvR1ow1deFuDcdStpc+OD4xyjAhhfemSo0"
    "N2JRGvwNWI4i0gv3tD2/w16IMhUfXaOfifC8eVxzKpSX4Fs1dNYmuOvrfdlTaGsGT3V/J2pUCSZ9vAD92OGyN22q"
    "6b81rfU4Prv6x2ADDF1sFgjRXoBd2yzStj409qbzO3XzB080hu/Ibfx7ZU15ZKEn57vAR697DsoJf4BC5iYO8hES"
    "JhX/XnAmKfMTe165ti0JS3JbiEqVqilFTbm1N52+sDp4y9Hw6wutJl0/0R7dFzu4ZbS/FER60PrX8DD8f0+uuP24"
    "4cnHUgm1cf5/879D5HZ2f8wnoQkAAAAGRXhpZgAATU0AKgAAAAgAAgEQAAIAAAAERi0xAIglAAQAAAABAAAAJgAA"
    "AAAAAgABAAIAAAACTgAAAAACAAUAAAADAAAARAAAAAAAAAA0AAAAAQAAAB8AAAABAAAADAAAAAE="
)


def test_reads_heic_when_its_reader_is_installed(tmp_path: Path) -> None:
    pytest.importorskip("pi_heif")
    (tmp_path / "a.heic").write_bytes(base64.b64decode(HEIC))
    photo = open_photo(tmp_path / "a.heic")
    assert photo.pixels.shape == (32, 48, 3)
    assert np.abs(photo.pixels[4, 4].astype(int) - (255, 0, 0)).max() < 25
    assert photo.camera == "F-1"
    copy = stored_copy(tmp_path / "a.heic")
    assert copy.suffix == ".jpg"
    with Image.open(io.BytesIO(copy.data)) as image:
        assert image.size == (48, 32)
        assert not image.getexif().get_ifd(0x8825)


def test_mutated_files_are_read_or_refused_never_worse(tmp_path: Path) -> None:
    """A small form of the fuzz run in tests/benchmarks."""
    rng = np.random.default_rng(1)
    exif = Image.Exif()
    exif[0x0110] = "F-1"
    exif.get_ifd(0x8769).update({0x9003: "2026:03:04 05:06:07", 0x920A: 4.25})
    path = tmp_path / "a.jpg"
    for kind in ("JPEG", "PNG", "WEBP"):
        stored = io.BytesIO()
        corners().save(stored, kind, exif=exif)
        for _ in range(60):
            data = bytearray(stored.getvalue())
            for at in rng.integers(0, len(data), rng.integers(1, 12)):
                data[at] = rng.integers(256)
            path.write_bytes(data[: rng.integers(1, len(data) + 1)] if rng.random() < 0.3 else data)
            try:
                photo = open_photo(path)
            except PhotoError:
                continue
            assert photo.pixels.ndim == 3
