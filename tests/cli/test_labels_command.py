"""``labels``, ``find --label`` and labels beside scraps that are logged."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from shapely import box

from scrapstore.report.labels import label_drawing
from scrapstore.report.painting import paint_pixels
from tests.render.printed import Paper
from tests.support.labels import a_label, label_paper
from tests.support.photographed import PLACES, camera, loose, photographed, scrap
from tests.support.program import Program


def picture_of_labels(file: Path, numbers: tuple[int, ...]) -> Path:
    """A scan of labels side by side, at 144 pixels an inch."""
    each = [np.asarray(paint_pixels(label_drawing(a_label(one)), 2.0)) for one in numbers]
    Image.fromarray(np.vstack(each)).save(file)
    return file


def test_labels_are_written_for_filters_and_for_numbers(
    scrapstore: Program, tmp_path: Path
) -> None:
    for family in ("blue", "red", "blue"):
        scrapstore("scrap", "add", "--size", "9 x 6", "--family", family)
    scrapstore("scrap", "retire", "3")
    file = tmp_path / "labels.pdf"
    assert scrapstore("labels", str(file), "--json").json["numbers"] == [1, 2]
    assert file.read_bytes().startswith(b"%PDF")
    assert scrapstore("labels", str(file), "--family", "red", "--json").json["numbers"] == [2]
    # What is asked for by its number is wanted whatever became of it.
    assert scrapstore("labels", str(file), "2-3", "--json").json["numbers"] == [2, 3]
    assert "Sheets for boxes with 2 scraps" in scrapstore("labels", str(file), "--boxes").out
    assert "no scrap has the number 9" in scrapstore("labels", str(file), "9", status=1).err
    assert "no scrap matches" in scrapstore(
        "labels", str(file), "--family", "green", status=1
    ).err  # fmt: skip
    assert ".pdf" in scrapstore("labels", "labels.png", status=2).err


def test_find_says_which_scraps_the_labels_in_a_photo_name(
    scrapstore: Program, tmp_path: Path
) -> None:
    scrapstore("scrap", "add", "--size", "9 x 6", "--place", "blue tin", "--count", "2")
    scrapstore("scrap", "retire", "2")
    photo = picture_of_labels(tmp_path / "scan.png", (2, 1, 44))
    said = scrapstore("find", "--label", str(photo), "--json")
    assert [(one["id"], one["status"]) for one in said.json["scraps"]] == [
        (1, "available"), (2, "used up"),
    ]  # fmt: skip
    assert said.json["unknown"] == [44]
    told = scrapstore("find", "--label", str(photo))
    assert "blue tin" in told.out
    assert "label of scrap 44" in told.err
    Image.new("RGB", (900, 700), "white").save(tmp_path / "white.png")
    assert "No label" in scrapstore("find", "--label", str(tmp_path / "white.png")).out
    scrapstore("find", "--label", str(photo), "--family", "blue", status=2)
    scrapstore("find", "--label", str(photo), "--like", "blue", status=2)


@pytest.fixture
def table(tmp_path: Path) -> Path:
    """Two scraps, the left one with the label of scrap 1 below it and half over its edge."""
    pieces = [scrap(box(-6, -1, -1, 3)), scrap(box(3, -2, 7, 3), colour=(40, 70, 160))]
    papers: tuple[Paper, ...] = (
        *loose(PLACES), label_paper(label_drawing(a_label(1)), (-3.2, -2.6), 4),
    )  # fmt: skip
    return photographed(tmp_path, pieces, papers, view=replace(camera(wide=2400), k1=0.0),
                        colour=(120, 116, 108))  # fmt: skip


def test_a_scrap_by_its_label_is_not_logged_again_unless_it_is_told(
    scrapstore: Program, table: Path
) -> None:
    scrapstore("scrap", "add", "--size", "5 x 4")
    said = scrapstore("log", str(table), "--yes", "--no-gives", "--json")
    (logged,) = said.json["logged"]
    (new,) = logged["scraps"]
    # The other one, 4 × 5 in by construction; neither the labelled scrap nor the label's paper.
    assert new["area"] == pytest.approx(20, rel=0.05)
    assert new["family"] == "blue"
    (note,) = [one for one in logged["notes"] if "label of scrap 1, which is in the store" in one]
    assert note.startswith("number 1 in the preview lies by ")
    assert "in the preview are" not in said.err
    again = scrapstore("log", str(table), "--yes", "--no-gives", "--again", "--json")
    assert [one["family"] for one in again.json["logged"][0]["scraps"]] == ["red", "blue"]
    assert again.json["logged"][0]["numbers"] == [1, 2]
    assert "scraps 1 and 2 in the preview are scraps 3 and 4 in the store" in again.err


def test_a_scrap_with_the_label_of_another_store_is_logged_as_new(
    scrapstore: Program, table: Path
) -> None:
    said = scrapstore("log", str(table), "--yes", "--no-gives", "--json")
    (logged,) = said.json["logged"]
    assert [one["family"] for one in logged["scraps"]] == ["red", "blue"]
    assert any("label of scrap 1" in n and "new scrap" in n for n in logged["notes"])
