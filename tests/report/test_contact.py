"""Contact sheets: cut to outlines, and readable without colour."""

import io
import re
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from PIL import Image
from shapely import Polygon, affinity, box

from scrapstore.errors import ScrapstoreError
from scrapstore.report.contact import (
    ContactSection,
    ContactSheet,
    Tile,
    contact_drawing,
    contact_scale,
    scale_bar,
    tile_drawing,
    tile_lines,
    value_mark,
)
from scrapstore.report.contact_page import checked_sheet_path, render_contact, write_contact
from scrapstore.report.forms import ClothPicture
from scrapstore.report.painting import Area, Picture, TextLine, paint_pixels, paint_svg

SVG = "{http://www.w3.org/2000/svg}"
NAVY, ROSE = (24, 34, 88), (226, 140, 165)
ELL = Polygon([(0, 0), (6, 0), (6, 2), (2, 2), (2, 4), (0, 4)])


def jpeg(rgb: tuple[int, int, int], size: tuple[int, int] = (60, 40)) -> bytes:
    content = io.BytesIO()
    Image.new("RGB", size, rgb).save(content, "JPEG", quality=95)
    return content.getvalue()


def tile(**changes: object) -> Tile:
    whole = Tile(
        number=7,
        name="sleeve <left>",
        family="blue",
        value="dark",
        relative="medium",
        size="4 × 6 in",
        outline=ELL,
        swatches=((NAVY, 0.75, "blue"), (ROSE, 0.25, "pink")),
        accents=("pink",),
    )
    return replace(whole, **changes)  # type: ignore[arg-type]


def sheet(*tiles: Tile) -> ContactSheet:
    return ContactSheet("All & sundry", "How to read it.", (ContactSection("blue", "", tiles),))


def test_words_say_all_that_the_colours_do() -> None:
    """Number, family, value by itself and of these, and what else is on it."""
    assert tile_lines(tile(picture=ClothPicture(jpeg(NAVY), (0, 0, 6, 4)))) == (
        "sleeve <left>",
        "4 × 6 in",
        "dark (medium of these)",
        "with pink",
    )


def test_a_tint_is_said_after_the_value() -> None:
    lines = tile_lines(tile(tint="a little pink?"))
    assert lines[lines.index("a little pink?") - 1].startswith("dark")


def test_colours_without_a_picture_are_told_with_their_shares() -> None:
    assert "blue 75%, pink 25%" in tile_lines(tile())


def test_a_value_that_is_the_same_among_these_is_said_once() -> None:
    assert "dark" in tile_lines(tile(relative="dark"))
    assert "value not known" in tile_lines(tile(value=None, relative=None))


@pytest.mark.parametrize(("value", "filled"), [("light", 1), ("medium", 2), ("dark", 3)])
def test_a_value_is_told_by_filled_boxes(value: str, filled: int) -> None:
    mark = value_mark(value)  # type: ignore[arg-type]
    dark = [part for part in mark.parts if isinstance(part, Area) and part.fill == (26, 26, 26)]
    assert (len(mark.parts), len(dark)) == (3, filled)


def test_no_value_has_no_mark() -> None:
    assert value_mark(None).parts == ()


def test_the_picture_is_clipped_to_the_outline_and_lies_right_way_up() -> None:
    """The ell's short arm points up on the sheet as it does in inches; 20 points are an inch."""
    pictured = tile(picture=ClothPicture(jpeg(NAVY), (0, 0, 6, 4)))
    pixels = np.asarray(paint_pixels(tile_drawing(pictured, 20.0), 1.0))

    def at(x: float, y: float) -> tuple[int, ...]:
        return tuple(pixels[round(1 + (4 - y) * 20), round(1 + x * 20)].tolist())

    for inside in ((1, 1), (1, 3.5), (5.5, 1)):
        assert np.allclose(at(*inside), NAVY, atol=4)
    assert at(4, 3) == (255, 255, 255)


def test_a_scrap_without_a_picture_is_drawn_plain_with_its_word() -> None:
    """Not in stripes that it does not have, and not blank."""
    drawing = tile_drawing(tile(outline=box(0, 0, 8, 4), plain=NAVY), 20.0)
    fills = [part.fill for part in drawing.parts if isinstance(part, Area) and part.fill]
    assert fills == [NAVY, (255, 255, 255)]
    assert [part.text for part in drawing.parts if isinstance(part, TextLine)] == ["blue"]
    unknown = tile_drawing(tile(outline=box(0, 0, 8, 4), swatches=(), family=None), 20.0)
    assert "no colour yet" in [part.text for part in unknown.parts if isinstance(part, TextLine)]


def test_a_word_that_has_no_room_is_left_to_the_caption() -> None:
    drawing = tile_drawing(tile(outline=box(0, 0, 1, 1)), 20.0)
    assert not [part for part in drawing.parts if isinstance(part, TextLine)]


def test_all_scraps_of_a_sheet_have_one_scale_and_a_line_tells_it() -> None:
    """A scrap twice as wide is drawn twice as wide, and the line is so many inches of it."""
    large, small = tile(outline=box(0, 0, 12, 6)), tile(outline=box(0, 0, 6, 3), number=8)
    whole = sheet(small, large)
    scale = contact_scale(whole)
    widths = [tile_drawing(one, scale).parts[0] for one in (small, large)]
    spans = [
        part.shape.bounds[2] - part.shape.bounds[0] for part in widths if isinstance(part, Area)
    ]
    assert spans == pytest.approx([6 * scale, 12 * scale])
    bar = scale_bar(whole)
    line, *_, words = bar.parts
    assert isinstance(line, Area)
    assert isinstance(words, TextLine)
    assert words.text == "5 in: all scraps are drawn at one scale"
    assert line.shape.bounds[2] == pytest.approx(5 * scale)
    metric = scale_bar(replace(whole, units="cm")).parts[-1]
    assert isinstance(metric, TextLine)
    assert metric.text.startswith("20 cm: ")


def test_one_huge_scrap_does_not_make_the_others_tiny() -> None:
    whole = sheet(*[tile(outline=box(0, 0, 8, 6))] * 9, tile(outline=box(0, 0, 30, 20)))
    assert 48**0.5 * contact_scale(whole) == pytest.approx(100.0)


def test_small_sections_share_a_row() -> None:
    """Of one scrap each: their headings stand at one height."""
    sections = tuple(ContactSection(name, "", (tile(),)) for name in ("blue", "green", "red"))
    drawing = contact_drawing(ContactSheet("t", "", sections))
    heads = [
        p for p in drawing.parts if isinstance(p, TextLine) and p.text in ("blue", "green", "red")
    ]
    assert len({head.y for head in heads if head.size == 16}) == 1
    assert len({head.x for head in heads if head.size == 16}) == 3


@pytest.mark.parametrize("ending", [".svg", ".html"])
def test_names_with_control_characters_make_no_broken_sheet(tmp_path: Path, ending: str) -> None:
    odd = tile(name="\x00\x1b[31mred\ud800\ufffe", remark="\x0b")
    written = write_contact(sheet(odd), tmp_path / f"sheet{ending}").read_text(encoding="utf-8")
    assert not re.search("[\x00-\x08\x0b-\x1f\x7f-\x9f\ufffe]", written)
    for drawing in re.findall(r"<svg.*?</svg>", written, re.DOTALL):
        ET.fromstring(drawing)


def test_a_hole_stays_open() -> None:
    ring = Polygon(box(0, 0, 8, 8).exterior, [box(2, 2, 6, 6).exterior])
    pixels = np.asarray(paint_pixels(tile_drawing(tile(outline=ring, family=None), 3.0)))
    middle = pixels[pixels.shape[0] // 2, pixels.shape[1] // 2]
    assert middle.tolist() == [255, 255, 255]


def test_svg_and_pixels_show_the_same() -> None:
    drawing = contact_drawing(sheet(tile(), tile(number=8)))
    root = ET.fromstring(paint_svg(drawing, "s", title="a sheet"))
    written = [element.text for element in root.iter(f"{SVG}text")]
    assert {"7  blue", "8  blue", "All & sundry", *tile_lines(tile())} <= set(written)
    assert len(written) == len([part for part in drawing.parts if isinstance(part, TextLine)])
    assert paint_pixels(drawing, 1.0).size == (round(drawing.width), round(drawing.height))


def test_ids_of_clips_do_not_meet_in_one_page() -> None:
    pictured = tile(picture=ClothPicture(jpeg(NAVY), (0, 0, 6, 4)))
    page = render_contact(sheet(pictured, replace(pictured, number=8), replace(pictured, number=9)))
    ids = re.findall(r'<clipPath id="([^"]+)"', page)
    assert len(ids) == len(set(ids)) == 3
    assert all(f"url(#{name})" in page for name in ids)


def test_the_page_needs_no_other_file_and_says_names_as_they_are() -> None:
    page = render_contact(sheet(tile()))
    assert "sleeve &lt;left&gt;" in page
    assert "<left>" not in page
    assert "All &amp; sundry" in page
    assert not re.search(r'(?:src|href)="(?!data:)', page)


def test_every_tile_of_the_page_has_its_family_and_value_in_words() -> None:
    """Colour is never the only sign: without its drawings, the page still tells everything."""
    page = render_contact(sheet(tile(), tile(number=8, family="green", value="light")))
    bare = re.sub(r"<svg.*?</svg>", "", page, flags=re.DOTALL)
    captions = re.findall(r"<figcaption>(.*?)</figcaption>", bare, re.DOTALL)
    assert len(captions) == 2
    for caption, words in zip(
        captions, (("7", "blue", "dark"), ("8", "green", "light")), strict=True
    ):
        assert all(word in caption for word in words)


def test_a_sheet_in_grey_still_tells_light_from_dark() -> None:
    """The marks differ without any colour: by how much of them is ink."""
    inks = [
        255 - np.asarray(paint_pixels(value_mark(value)).convert("L")).mean()
        for value in ("light", "medium", "dark")
    ]
    assert inks[0] < inks[1] < inks[2]


def test_tiles_do_not_overlap_on_a_large_sheet() -> None:
    tiles = [
        tile(number=number, picture=ClothPicture(jpeg(NAVY), (0, 0, 6, 4))) for number in range(40)
    ]
    drawing = contact_drawing(sheet(*tiles))
    boxes = [
        affinity.affine_transform(box(0, 0, 1, 1), part.lies)
        for part in drawing.parts
        if isinstance(part, Picture)
    ]
    assert len(boxes) == 40
    page = box(0, 0, drawing.width, drawing.height)
    for at, one in enumerate(boxes):
        assert page.contains(one)
        assert not any(one.intersects(other) for other in boxes[at + 1 :])


@pytest.mark.parametrize(
    ("ending", "begins"), [(".html", b"<!doctype html>"), (".png", b"\x89PNG"), (".svg", b"<svg")]
)
def test_the_ending_says_how_it_is_written(tmp_path: Path, ending: str, begins: bytes) -> None:
    file = write_contact(sheet(tile()), tmp_path / f"sheet{ending}")
    assert file.read_bytes().startswith(begins)


def test_an_unknown_ending_is_refused() -> None:
    with pytest.raises(ScrapstoreError, match=r"'sheet\.pdf'.*\.html, \.png or \.svg"):
        checked_sheet_path(Path("sheet.pdf"))


def test_a_place_that_cannot_be_written_is_named(tmp_path: Path) -> None:
    (tmp_path / "taken.html").mkdir()
    with pytest.raises(ScrapstoreError, match="cannot be written"):
        write_contact(sheet(tile()), tmp_path / "taken.html")
    with pytest.raises(ScrapstoreError, match=r"there is no folder .*neu; make it first"):
        write_contact(sheet(tile()), tmp_path / "neu" / "sheet.html")
    assert not (tmp_path / "neu").exists()


def test_too_many_scraps_for_a_png_are_refused(tmp_path: Path) -> None:
    many = sheet(*[tile()] * 3001)
    with pytest.raises(ScrapstoreError, match=r"3001 scraps are too many for one PNG"):
        write_contact(many, tmp_path / "sheet.png")
