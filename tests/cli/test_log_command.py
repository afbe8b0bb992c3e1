"""Logging photos from the command line."""

import shutil
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from scrapstore.resources import resource_folder
from tests.support.program import Program


@pytest.fixture
def photos(tmp_path: Path) -> Path:
    """Two small photos."""
    folder = tmp_path / "photos"
    folder.mkdir()
    for name, colour in (("navy.png", (30, 50, 120)), ("red.png", (180, 30, 40))):
        pixels = np.full((48, 64, 3), 200, dtype=np.uint8)
        pixels[12:36, 16:48] = colour
        Image.fromarray(pixels).save(folder / name)
    return folder


def test_photos_with_one_typed_size(scrapstore: Program, photos: Path) -> None:
    """One table, one summary."""
    said = scrapstore("log", str(photos), "--size", "9 x 22", "--place", "bin 2")
    lines = [line.rstrip() for line in said.out.splitlines()]
    assert lines[0] == "no.   photo           size   reads as   value"
    assert lines[2:] == [
        "  1   navy.png   9 × 22 in   blue       dark",
        "  2   red.png    9 × 22 in   red        dark",
        "2 logged, 0 there already, 0 refused",
    ]
    again = scrapstore("log", str(photos), "--size", "9 x 22")
    assert again.out == "0 logged, 2 there already, 0 refused\n"
    assert "navy.png: logged already (#1); --again adds it nonetheless" in again.err


def test_a_refused_photo_ends_with_status_1(scrapstore: Program, photos: Path) -> None:
    """The rest is in; the document is whole."""
    (photos / "broken.jpg").write_bytes(b"\xff\xd8\xff\xe0 nothing more")
    said = scrapstore("log", str(photos), "--size", "9 x 22", "--json", status=1)
    assert [Path(one["file"]).name for one in said.json["logged"]] == ["navy.png", "red.png"]
    (refused,) = said.json["refused"]
    assert "broken.jpg" in refused["reason"]
    assert "1 photo was refused" in said.err
    assert len(scrapstore("scrap", "list", "--json").json["scraps"]) == 2


def test_the_samples_go_in_with_their_list(scrapstore: Program, tmp_path: Path) -> None:
    """Every sample photo has its own typed size in the list beside it."""
    samples = resource_folder("sample_photos")
    folder = tmp_path / "some"
    folder.mkdir()
    entries = (samples / "scraps.toml").read_text(encoding="utf-8").split('\n["')
    chosen = [entry for entry in entries[1:] if "_" not in entry.partition('"')[0]][:3]
    for entry in chosen:
        shutil.copy(samples / entry.partition('"')[0], folder)
    (folder / "scraps.toml").write_text("".join(f'["{entry}\n' for entry in chosen))
    said = scrapstore("log", str(folder), "--new-fabrics", "--json")
    assert len(said.json["logged"]) == 3
    for one in said.json["logged"]:
        (scrap,) = one["scraps"]
        assert scrap["fabric"]
        assert scrap["place"]
        assert scrap["grain_deg"] is not None
        assert scrap["swatches"]
