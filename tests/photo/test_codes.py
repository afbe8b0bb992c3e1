"""Codes read from rendered photos of labels, and what they say."""

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scrapstore.photo import open_photo
from scrapstore.photo.codes import read_codes
from scrapstore.photo.label_texts import label_number, label_text
from scrapstore.report.labels import label_drawing
from scrapstore.report.painting import paint_pixels
from tests.render.arrange import Options
from tests.support.labels import a_label, labels_photo

TABLE = Options(scale="none", scraps=2, width=2016, height=1512, camera_height=12, tilt_deg=12)
"""Half as many pixels as a phone has, from about half as high: near 100 pixels an inch."""


def test_four_labels_in_a_photo_of_a_table_are_read_where_they_lie(tmp_path: Path) -> None:
    photo, numbers, scales = labels_photo(3, (7, 12, 480, 99_999), TABLE)
    assert numbers == (7, 12, 480, 99_999)
    assert 70 < min(scales) < 140
    photo.save_jpeg(tmp_path / "table.jpg")
    codes = read_codes(open_photo(tmp_path / "table.jpg").pixels)
    assert sorted(label_number(code.text) or 0 for code in codes) == sorted(numbers)
    for code in codes:
        # The code is 1.1 in a side (the label's own measure); a photo tilted by 12° shows less.
        sides = np.linalg.norm(code.corners - np.roll(code.corners, 1, axis=0), axis=1)
        assert 0.8 * 1.1 * min(scales) < sides.mean() < 1.2 * 1.1 * max(scales)


@pytest.mark.parametrize("cell", [30, 60, 110])
def test_checks_and_dots_of_a_print_are_no_codes(cell: int) -> None:
    y, x = np.mgrid[:900, :1200]
    checks = (x // cell + y // cell) % 2
    dots = ((x % (2 * cell) - cell) ** 2 + (y % (2 * cell) - cell) ** 2) < (0.6 * cell) ** 2
    for dark in (checks, dots):
        grey = np.where(dark, 70, 200).astype(np.uint8)
        assert read_codes(np.repeat(grey[..., None], 3, axis=2)) == ()


def test_a_label_is_read_on_a_cloth_with_a_thousand_rings() -> None:
    """However many things are about as large as a code, the code is still looked at."""
    y, x = np.mgrid[:1500, :2000] % 50 - 25
    rings = (np.hypot(x, y) > 9) & (np.hypot(x, y) < 17)
    grey = np.where(rings, 90, 210).astype(np.uint8)
    label = np.asarray(paint_pixels(label_drawing(a_label(12)), 2.0).convert("L"))
    grey[600 : 600 + label.shape[0], 800 : 800 + label.shape[1]] = label
    (code,) = read_codes(np.repeat(grey[..., None], 3, axis=2))
    assert code.text == "SCRAP 12"


@given(st.integers(1, 999_999_999))
def test_a_label_names_its_number(number: int) -> None:
    assert label_number(label_text(number)) == number
    # ISO/IEC 18004, version 1, level Q: 16 signs of the alphanumeric set.
    assert len(label_text(number)) <= 16


@pytest.mark.parametrize("text", ["12", "SCRAP", "SCRAP 0", "SCRAP -3", "SCRAP 1234567890", "x"])
def test_other_codes_are_no_labels(text: str) -> None:
    assert label_number(text) is None
