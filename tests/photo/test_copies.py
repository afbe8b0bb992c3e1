"""Copies to keep: the same pixels, no place, no owner, no text."""

import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, PngImagePlugin

from scrapstore.errors import PhotoError
from scrapstore.photo import open_photo, stored_copy

SECRETS = (b"52.5200", b"Nobody Inparticular", b"SN-0815", b"Harbour Lane", b"maker's note")


def telling_exif() -> Image.Exif:
    exif = Image.Exif()
    exif[0x010F], exif[0x0110], exif[0x0112] = "Fernglas", "F-1", 6
    exif[0x013B] = "Nobody Inparticular"
    exif[0x010E] = "Harbour Lane"
    exif.get_ifd(0x8769).update(
        {0x9003: "2026:03:04 05:06:07", 0x920A: 4.25, 0xA431: "SN-0815", 0x927C: b"maker's note"}
    )
    exif.get_ifd(0x8825).update({1: "N", 2: (52.0, 31.0, 12.0), 3: "E", 4: (13.0, 24.0, 18.0)})
    return exif


def telling_picture(kind: str) -> bytes:
    pixels = np.random.default_rng(2).integers(0, 256, (40, 64, 3)).astype(np.uint8)
    image = Image.fromarray(pixels)
    xmp = b"<x:xmpmeta><exif:GPSLatitude>52.5200</exif:GPSLatitude></x:xmpmeta>"
    stored = io.BytesIO()
    if kind == "PNG":
        texts = PngImagePlugin.PngInfo()
        texts.add_text("Author", "Nobody Inparticular")
        texts.add_itxt("XML:com.adobe.xmp", xmp.decode())
        image.save(stored, kind, exif=telling_exif(), pnginfo=texts)
    elif kind == "WEBP":
        image.save(stored, kind, exif=telling_exif().tobytes(), xmp=xmp, quality=90)
    else:
        options = {"progressive": kind == "progressive", "comment": b"Harbour Lane"}
        image.save(stored, "JPEG", exif=telling_exif(), xmp=xmp, **options)
        stored.write(b"film behind the picture, taken at 52.5200")
    return stored.getvalue()


@pytest.mark.parametrize("kind", ["JPEG", "progressive", "PNG", "WEBP"])
def test_the_copy_tells_nothing_and_keeps_every_pixel(tmp_path: Path, kind: str) -> None:
    path = tmp_path / "told"
    path.write_bytes(telling_picture(kind))
    original = open_photo(path)
    assert any(secret in path.read_bytes() for secret in SECRETS), "the test would prove nothing"

    copy = stored_copy(path)
    kept = tmp_path / f"kept{copy.suffix}"
    kept.write_bytes(copy.data)
    again = open_photo(kept)

    assert np.array_equal(again.pixels, original.pixels)
    assert again.shot == original.shot
    for secret in SECRETS:
        assert secret not in copy.data
    with Image.open(kept) as image:
        exif = image.getexif()
        assert not exif.get_ifd(0x8825), "no GPS block"
        assert not {"xmp", "comment", "XML:com.adobe.xmp", "Author"} & image.info.keys()
    assert 0x8825 not in exif


def test_a_copy_of_a_copy_is_the_same_file(tmp_path: Path) -> None:
    (tmp_path / "a.jpg").write_bytes(telling_picture("JPEG"))
    once = stored_copy(tmp_path / "a.jpg")
    (tmp_path / "b.jpg").write_bytes(once.data)
    assert stored_copy(tmp_path / "b.jpg") == once


def test_a_plain_picture_gets_no_exif_at_all(tmp_path: Path) -> None:
    Image.new("RGB", (9, 9)).save(tmp_path / "a.jpg")
    assert b"Exif" not in stored_copy(tmp_path / "a.jpg").data


def test_colour_profile_stays(tmp_path: Path) -> None:
    from PIL import ImageCms

    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    for name in ("a.jpg", "a.png", "a.webp"):
        Image.new("RGB", (9, 9)).save(tmp_path / name, icc_profile=profile)
        copy = stored_copy(tmp_path / name)
        with Image.open(io.BytesIO(copy.data)) as image:
            assert image.info["icc_profile"] == profile


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_broken_file_is_refused_by_name(tmp_path: Path, kind: str) -> None:
    data = telling_picture(kind)
    rng = np.random.default_rng(3)
    (tmp_path / "a.jpg").write_bytes(data[: len(data) // 2])
    with pytest.raises(PhotoError, match=r"a\.jpg"):
        stored_copy(tmp_path / "a.jpg")
    for _ in range(60):
        mutated = bytearray(data)
        mutated[rng.integers(len(data))] = rng.integers(256)
        (tmp_path / "a.jpg").write_bytes(mutated)
        try:
            copy = stored_copy(tmp_path / "a.jpg")
        except PhotoError:
            continue
        assert all(secret not in copy.data for secret in SECRETS)
