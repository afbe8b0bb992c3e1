"""A drawing as a file: the ending says how, and what cannot be written says why."""

import io
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest
from PIL import Image
from pypdf import PdfReader
from shapely import box

from scrapstore.errors import SheetError, UsageError
from scrapstore.report.painting import Area, Drawing, TextLine
from scrapstore.report.picture_file import write_picture

WIDE = Drawing(300, 100, (Area(box(0, 0, 300, 100), (200, 40, 40)), TextLine("Top & <all>", 9, 20)))


def written(folder: Path, name: str) -> bytes:
    return write_picture(WIDE, folder / name, "one", title="Top & <all>").read_bytes()


@pytest.mark.parametrize(("name", "kind"), [("a.png", "PNG"), ("a.jpg", "JPEG")])
def test_pixels(tmp_path: Path, name: str, kind: str) -> None:
    image = Image.open(io.BytesIO(written(tmp_path, name)))
    assert (image.format, image.size) == (kind, (600, 200))


def test_svg_alone_and_in_a_page(tmp_path: Path) -> None:
    root = ET.fromstring(written(tmp_path, "a.svg"))
    assert root.tag.endswith("svg")
    page = written(tmp_path, "a.html").decode()
    assert "<title>Top &amp; &lt;all&gt;</title>" in page
    assert page.count("<svg") == 1


@pytest.mark.parametrize("drawing", [WIDE, Drawing(100, 3000, WIDE.parts)])
def test_a_pdf_is_one_page_with_all_of_the_drawing_on_it(tmp_path: Path, drawing: Drawing) -> None:
    """The words stand on the page, and so does the whole of a drawing taller than the page."""
    file = write_picture(drawing, tmp_path / "a.pdf", "one", title="t", paper="a4")
    (page,) = PdfReader(file).pages
    assert [round(float(side)) for side in page.mediabox[2:]] == [595, 842]
    corners: list[float] = []

    def look(operator: bytes, operands: list[float], cm: list[float], _tm: object) -> None:
        if operator in (b"m", b"l") and len(corners) < 8:
            x, y = map(float, operands)
            corners.extend((cm[0] * x + cm[2] * y + cm[4], cm[1] * x + cm[3] * y + cm[5]))

    text = page.extract_text(visitor_operand_before=look)
    assert "Top & <all>" in text
    assert 0 < min(corners[::2]) < max(corners[::2]) < 595
    assert 0 < min(corners[1::2]) < max(corners[1::2]) < 842


def test_other_endings_and_places_are_refused(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match=r"'a\.gif'.*\.png, \.jpg, \.svg, \.html or \.pdf"):
        written(tmp_path, "a.gif")
    with pytest.raises(SheetError, match="no folder"):
        written(tmp_path, "nowhere/a.png")
