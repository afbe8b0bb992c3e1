"""Logging photos from the command line."""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from shapely import Polygon, affinity

from scrapstore.resources import resource_folder
from tests.render.samples import SAMPLES
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
    assert lines[0] == "no.   photo           size   family   value"
    assert lines[2:] == [
        "  1   navy.png   9 × 22 in   blue     dark",
        "  2   red.png    9 × 22 in   red      dark",
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


@pytest.mark.slow
def test_the_samples_go_in_with_their_list(scrapstore: Program) -> None:
    """Measured or typed, every scrap is the one that the list names, with its true size and grain.

    The truth is what the sample photos were drawn from.
    """
    folder = resource_folder("sample_photos")
    said = scrapstore("log", str(folder), "--yes", "--new-fabrics", "--json")
    assert said.json["refused"] == []
    found = {scrap["name"]: scrap for one in said.json["logged"] for scrap in one["scraps"]}
    assert found.keys() == {sample.name for sample in SAMPLES}
    for sample in SAMPLES:
        scrap, true = found[sample.name], Polygon(sample.corners)
        assert scrap["area"] == pytest.approx(true.area, rel=0.03), sample.name
        assert (scrap["fabric"], scrap["place"]) == (sample.fabric, sample.place)
        assert scrap["family"] or scrap["accents"]
        # The scrap lies turned in the photo; its grain must be turned with it.
        outline = Polygon(scrap["outline"])
        best = max((_shared(affinity.rotate(true, turn), outline), turn) for turn in range(-45, 46))
        period = 360 if sample.one_way else 180
        off = (scrap["grain_deg"] - sample.grain_deg - best[1]) % period
        assert min(off, period - off) < 4, sample.name


def _shared(a: Polygon, b: Polygon) -> float:
    """Area in common when both lie on one middle."""
    x, y = (b.centroid.x - a.centroid.x), (b.centroid.y - a.centroid.y)
    return affinity.translate(a, x, y).intersection(b).area
