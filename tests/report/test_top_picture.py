"""A top in its own cloth: every point of the photo at the right place of the picture, and its key.

Places are worked out here with complex numbers: z of the top lies at ``shift + turn · z`` in the
scrap, or at ``shift + turn · conj(z)`` where the piece is mirrored. They are found again in the
picture as the centres of coloured dots.
"""

import cmath
import io
import math
import re
from collections.abc import Sequence
from typing import Any

import numpy as np
import pytest
import shapely
from PIL import Image
from pypdf import PageObject, PdfReader
from reportlab.pdfgen.canvas import Canvas
from shapely import Polygon, box

from scrapstore.report.forms import ClothPicture, Rgb
from scrapstore.report.painting import Drawing, TextLine, paint_pixels, paint_svg, svg_drawing
from scrapstore.report.pdf.painting import paint_drawing
from scrapstore.report.top_picture import Mark, Patch, label_marks, top_drawing

PLAIN: Rgb = (240, 230, 90)
CLOTH: Rgb = (235, 232, 226)
DOTS: dict[complex, Rgb] = {1 + 1j: (200, 20, 20), 3 + 1j: (20, 140, 20), 1.5 + 2j: (20, 20, 200)}
"""Points of the top, and the colour of the dot that is there on the cloth."""
OUTLINE = Polygon([(0.3, 0.4), (4, 0.2), (4.4, 2.2), (1, 2.8)])
BOX = (-1.0, -0.5, 11.0, 8.5)
"""Inches of the scrap that its photo covers, 50 pixels an inch."""
MOVES = [(0.0, False), (30.0, False), (215.0, False), (0.0, True), (75.0, True)]


def in_scrap(point: complex, turn_deg: float, *, mirrored: bool) -> complex:
    own = point.conjugate() if mirrored else point
    return 5 + 4j + cmath.rect(1, math.radians(turn_deg)) * own


def matrix(turn_deg: float, *, mirrored: bool) -> tuple[float, ...]:
    """The same as the library wants it: columns are where 1 and i go, then where 0 goes."""
    origin, one, i = (in_scrap(z, turn_deg, mirrored=mirrored) for z in (0j, 1 + 0j, 1j))
    across, up = one - origin, i - origin
    return across.real, up.real, across.imag, up.imag, origin.real, origin.imag


def photo(dots: dict[complex, Rgb]) -> bytes:
    """Cloth with dots 0.2 in wide at points of the scrap."""
    y, x = (np.indices((450, 600)) + 0.5) / 50
    pixels = np.full((450, 600, 3), CLOTH, float)
    for at, colour in dots.items():
        apart = np.hypot(x - (at.real - BOX[0]), y - (BOX[3] - at.imag))
        inside = np.clip((0.1 - apart) * 50 + 0.5, 0, 1)[..., None]
        pixels += inside * (np.array(colour) - pixels)
    content = io.BytesIO()
    Image.fromarray(pixels.round().astype(np.uint8)).save(content, "JPEG", quality=95)
    return content.getvalue()


def pictured(turn_deg: float = 0.0, *, mirrored: bool = False) -> tuple[Patch, ClothPicture]:
    dots = {in_scrap(at, turn_deg, mirrored=mirrored): rgb for at, rgb in DOTS.items()}
    lies: Any = matrix(turn_deg, mirrored=mirrored)
    patch = Patch("1", OUTLINE, PLAIN, "dotted lawn", "A1", 7, lies)
    return patch, ClothPicture(photo(dots), BOX)


def dot_centre(pixels: np.ndarray, colour: Rgb) -> tuple[float, float]:
    """The centre of the dot of one colour, in pixels; the middle of the first pixel is 0.5."""
    channel = int(np.argmax(colour))
    others = [c for c in range(3) if c != channel]
    one = pixels.astype(int)
    like = (one[..., channel] - one[..., others].max(axis=-1)).clip(0) > 60
    y, x = np.nonzero(like)
    assert len(x), f"no dot of {colour}"
    return float(x.mean() + 0.5), float(y.mean() + 0.5)


@pytest.mark.parametrize(("turn_deg", "mirrored"), MOVES)
def test_cloth_comes_out_at_the_right_place_and_turn_in_pixels(
    turn_deg: float, mirrored: bool
) -> None:
    patch, picture = pictured(turn_deg, mirrored=mirrored)
    west, south, east, north = OUTLINE.bounds
    drawing = top_drawing("", [patch], {7: picture}, bare=True, side=300)
    pixels = np.asarray(paint_pixels(drawing, 2.0))
    scale = 2 * 300 / max(east - west, north - south)
    for at, colour in DOTS.items():
        expected = (at.real - west) * scale, (north - at.imag) * scale
        assert np.allclose(dot_centre(pixels, colour), expected, atol=1.5)


@pytest.mark.parametrize(("turn_deg", "mirrored"), MOVES)
def test_cloth_comes_out_at_the_right_place_and_turn_in_pdf(
    turn_deg: float, mirrored: bool
) -> None:
    """Dots of the stored picture, taken to the page by its matrix there; half a point is one."""
    patch, picture = pictured(turn_deg, mirrored=mirrored)
    west, south, east, north = OUTLINE.bounds
    drawing = top_drawing("", [patch], {7: picture}, bare=True, side=300)
    page = PdfReader(io.BytesIO(pdf(drawing))).pages[0]
    placed: list[Sequence[float]] = []

    def look(operator: bytes, _operands: Any, cm: Sequence[float], _tm: Any) -> None:
        if operator == b"Do":
            placed.append(list(cm))

    page.extract_text(visitor_operand_before=look)
    ((a, b, c, d, e, f),) = placed
    pixels = np.asarray(stored_image(page).convert("RGB"))
    tall, wide = pixels.shape[:2]
    scale = 300 / max(east - west, north - south)
    for at, colour in DOTS.items():
        x, y = dot_centre(pixels, colour)
        u, v = x / wide, 1 - y / tall  # an image of a PDF fills the unit square, y up
        expected = (at.real - west) * scale, drawing.height - (north - at.imag) * scale
        assert np.allclose((a * u + c * v + e, b * u + d * v + f), expected, atol=0.75)


def stored_image(page: PageObject) -> Image.Image:
    """The one picture that a page has."""
    (found,) = page.images
    assert found.image is not None
    return found.image


def pdf(drawing: Drawing) -> bytes:
    content = io.BytesIO()
    canvas = Canvas(content, (drawing.width, drawing.height))
    paint_drawing(canvas, svg_drawing(drawing, "top"), 0, drawing.height)
    canvas.save()
    return content.getvalue()


def test_nothing_shows_outside_the_finished_outline() -> None:
    patch, picture = pictured(30.0)
    pixels = np.asarray(
        paint_pixels(top_drawing("", [patch], {7: picture}, bare=True, side=300), 1)
    )
    west, _, east, north = OUTLINE.bounds
    scale = 300 / (east - west)
    y, x = np.indices(pixels.shape[:2]) + 0.5
    inside = shapely.contains_xy(OUTLINE.buffer(2 / scale), west + x / scale, north - y / scale)
    assert (pixels[~inside] == 255).all()


def test_where_the_photo_ends_the_plain_colour_shows() -> None:
    _, picture = pictured()
    beyond = Patch("1", box(0, 0, 2, 1), PLAIN, "lawn", "", 7, (1, 0, 0, 1, BOX[2] - 1, 2))
    pixels = np.asarray(
        paint_pixels(top_drawing("", [beyond], {7: picture}, bare=True, side=200), 1)
    )
    assert np.allclose(pixels[50, 50], CLOTH, atol=4)
    assert tuple(pixels[50, 150]) == PLAIN


@pytest.mark.parametrize(
    ("rgb", "grey"), [((255, 0, 0), 127), ((0, 255, 0), 220), ((0, 0, 255), 76)]
)
def test_grey_is_as_light_as_the_colour(rgb: Rgb, grey: int) -> None:
    """L* of the primaries of sRGB is 53.2, 87.7 and 32.3: published with CIELAB. Their mean is 85.

    Worked out from IEC 61966-2-1: the grey whose light is 0.2126, 0.7152 or 0.0722 of white.
    """
    content = io.BytesIO()
    Image.new("RGB", (40, 40), rgb).save(content, "JPEG", quality=95)
    patches = [
        Patch("1", box(0, 0, 1, 1), rgb, "plain"),
        Patch("2", box(1, 0, 2, 1), (0, 0, 0), "photo", "", 7, (1, 0, 0, 1, -1, 0)),
    ]
    drawing = top_drawing(
        "", patches, {7: ClothPicture(content.getvalue(), (0, 0, 1, 1))}, grey=True, bare=True
    )
    pixels = np.asarray(paint_pixels(drawing, 1.0))
    for x in (120, 360):
        assert np.allclose(pixels[120, x], grey, atol=3)


def test_the_key_says_every_cloth_in_words_with_its_pieces() -> None:
    squares = [box(n, 0, n + 1, 1) for n in range(4)]
    patches = [
        Patch("1", squares[0], (200, 30, 30), "red bunting", "A1"),
        Patch("2", squares[1], (200, 30, 30), "red bunting", "B1"),
        Patch("3", squares[2], (200, 30, 30), "red bunting", "A"),
        Patch("4", squares[3], (30, 30, 90), "dark blue, scrap 4"),
    ]
    drawing = top_drawing("Bench cushion", patches, {})
    texts = [part.text for part in drawing.parts if isinstance(part, TextLine)]
    assert texts == ["Bench cushion", "2 A and 1 B: red bunting", "1 piece: dark blue, scrap 4"]


def test_a_name_that_is_very_long_does_not_make_the_page_wide() -> None:
    patches = [Patch("1", box(0, 0, 1, 1), PLAIN, "sea " * 200, "A1")]
    drawing = top_drawing("", patches, {})
    assert drawing.width < 600
    assert any(p.text.endswith("…") for p in drawing.parts if isinstance(p, TextLine))


def test_the_key_has_columns_where_there_is_room() -> None:
    """Nine short names beside one another take three lines; they do not touch."""
    patches = [Patch(str(n), box(n, 0, n + 1, 9), PLAIN, f"cloth {n}") for n in range(9)]
    parts = top_drawing("", patches, {}).parts
    at = {(round(p.x), round(p.y)) for p in parts if isinstance(p, TextLine)}
    assert (len(at), len({x for x, _ in at}), len({y for _, y in at})) == (9, 3, 3)
    assert np.diff(sorted({x for x, _ in at})).min() > 100


def test_marks_lie_at_their_points_and_labels_in_the_middle_of_their_patches() -> None:
    patches = [
        Patch("1", box(0, 0, 4, 1), PLAIN, "w", "A1"),
        Patch("2", box(0, 1, 4, 4), PLAIN, "w"),
    ]
    marks = [*label_marks(patches), Mark("step 1", 1, 3)]
    drawing = top_drawing("", patches, {}, marks=marks, bare=True, side=400)
    found = [(p.text, round(p.x), round(p.y - 0.36 * p.size)) for p in drawing.parts
             if isinstance(p, TextLine)]  # fmt: skip
    assert found == [("A1", 200, 350), ("step 1", 100, 100)]


def test_what_is_not_highlighted_is_pale() -> None:
    patches = [
        Patch("1", box(0, 0, 1, 1), (0, 0, 0), "w"),
        Patch("2", box(1, 0, 2, 1), (0, 0, 0), "w"),
    ]
    drawing = top_drawing("", patches, {}, highlight={"2"}, bare=True, side=200)
    pixels = np.asarray(paint_pixels(drawing, 1.0))
    assert pixels[50, 50].min() > 170
    assert tuple(pixels[50, 150]) == (0, 0, 0)
    assert 'fill-opacity="0.75"' in paint_svg(drawing, "top")


def test_a_photo_is_stored_once_and_no_larger_than_it_is_shown() -> None:
    """Two patches of a photo of 3000 × 2250 pixels, of which 2 in a side are shown."""
    rng = np.random.default_rng(1)
    content = io.BytesIO()
    noise = rng.integers(0, 256, (2250, 3000, 3), dtype=np.uint8)
    Image.fromarray(noise).save(content, "JPEG", quality=90)
    picture = ClothPicture(content.getvalue(), (0, 0, 12, 9))
    patches = [
        Patch("1", box(0, 0, 1, 1), PLAIN, "w", "", 7, (1, 0, 0, 1, 4, 4)),
        Patch("2", box(1, 0, 2, 1), PLAIN, "w", "", 7, (1, 0, 0, 1, 3, 5)),
    ]
    drawing = top_drawing("", patches, {7: picture}, side=240)
    svg = paint_svg(drawing, "top")
    assert len(re.findall("data:image/jpeg", svg)) == 1
    page = PdfReader(io.BytesIO(pdf(drawing))).pages[0]
    assert max(stored_image(page).size) <= 2 * 2 * 120 + 10
    assert len(svg) < len(content.getvalue()) / 10
