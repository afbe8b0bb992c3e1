"""Labels as they are drawn: the code is read back by OpenCV from the drawing's own pixels."""

import cv2
import numpy as np
import pytest
from shapely import box

from scrapstore.report.contact import Tile
from scrapstore.report.labels import CODE_SIDE, LABEL_SIZE, Label, label_drawing, tile_label_drawing
from scrapstore.report.painting import Area, TextLine, paint_pixels
from scrapstore.report.pdf.labels import boxes_pdf, labels_pdf
from scrapstore.units import Paper
from tests.support.labels import a_label
from tests.support.pdf_reading import page_words


def decoded(drawing: object) -> str:
    """What OpenCV's own reader says, which shares no code with what draws."""
    pixels = np.asarray(paint_pixels(drawing, 3.0))  # type: ignore[arg-type]
    return cv2.QRCodeDetector().detectAndDecode(pixels)[0]


@pytest.mark.parametrize("number", [1, 12, 480, 99_999, 999_999_999])
def test_the_code_of_a_label_says_its_number(number: int) -> None:
    assert decoded(label_drawing(a_label(number))) == f"SCRAP {number}"


def test_four_modules_round_the_code_are_white() -> None:
    """ISO/IEC 18004 asks for a quiet zone of four modules; a code of version 1 has 21."""
    module = CODE_SIDE / 21
    pixels = np.asarray(paint_pixels(label_drawing(a_label(12)), 4.0).convert("L"))
    inner = pixels[round(4 * (1 + module * 0.1)) :, round(4 * (1 + module * 0.1)) :]
    rim = round(4 * (4 * module - 2))
    assert inner[:rim, : round(4 * (CODE_SIDE + 4 * module))].min() > 200
    assert inner[:, :rim][: round(4 * (CODE_SIDE + 4 * module))].min() > 200


def test_words_stay_on_their_label_however_long_they_are() -> None:
    long = Label(3, "9 × 6 in", "multicolour, medium", "a curtain " * 9, "the third basket " * 5)
    drawing = label_drawing(long)
    wide, tall = LABEL_SIZE
    pixels = np.asarray(paint_pixels(drawing, 2.0).convert("L"))
    assert pixels[8:-8, round(2 * (wide - 6)) : round(2 * (wide - 2))].min() == 255
    assert any(isinstance(p, TextLine) and p.text.endswith("…") for p in drawing.parts)
    for part in drawing.parts:
        if isinstance(part, Area):
            assert box(0, 0, wide, tall).buffer(0.01).contains(part.shape)


@pytest.mark.parametrize(("paper", "on_each"), [("letter", [10, 10, 1]), ("a4", [10, 11])])
def test_ten_labels_go_on_a_page_and_where_no_words_stand_above_twelve_on_a4(
    paper: Paper, on_each: list[int]
) -> None:
    """By geometry: 10.0 in of Letter and 10.6 in of A4 between the margins, 1.75 in a row."""
    words = page_words(labels_pdf([a_label(number) for number in range(1, 22)], paper))
    assert [page.count("9 × 6 1/2 in") for page in words] == on_each
    assert "count them out and back in" in words[0]


def test_a_sheet_for_a_box_has_the_cloth_and_the_code_of_each_scrap() -> None:
    tile = Tile(5, "bunting", "red", "dark", "dark", "6 1/2 × 8 in", box(0, 0, 6.5, 8))
    assert decoded(tile_label_drawing(tile, 136, 150, 9)) == "SCRAP 5"
    content = boxes_pdf((("blue tin", (tile,)), ("", (tile,))), "letter")
    words = page_words(content)
    assert [page.partition(" Fasten")[0] for page in words] == [
        "blue tin: 1 scrap", "No place noted: 1 scrap",
    ]  # fmt: skip
