"""What people do with scraps, squares and pictures, and what they are told then."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon, box

from scrapstore.colour import srgb_to_lab
from scrapstore.photo import SquareSet
from tests.render.light import Light
from tests.render.printed import card, plain_square
from tests.render.prints import dots
from tests.support.photographed import (
    PLACES,
    camera,
    loose,
    photographed,
    reading,
    refusal,
    scrap,
    shape_error,
)

RECTANGLE = box(-3, -2, 3, 2)
RING = Polygon(box(-3, -2.5, 3, 2.5).exterior.coords, [box(-0.8, -0.6, 0.9, 0.8).exterior.coords])
FAR = affinity.translate(box(0, 0, 4, 3), 3, 4)


@pytest.mark.parametrize("gap", [0.15, 0.3])
def test_a_scrap_close_to_the_card_is_measured(tmp_path: Path, gap: float) -> None:
    """It is no second surface on which the card lies, though it fills much of its border."""
    pieces = [scrap(box(-5, gap, 1, 3 + gap)), scrap(FAR, colour=(40, 90, 150))]
    found = reading(photographed(tmp_path, pieces, (card((-3, -2.0), 0.0),)))
    assert sorted(s.outline.area for s in found.scraps) == pytest.approx([12, 18], rel=0.02)


def test_a_scrap_over_the_card_is_told(tmp_path: Path) -> None:
    path = photographed(tmp_path, [scrap(box(-1, -1, 5, 3))], (card((5.5, -2.0), 0.0),))
    assert refusal(path).code == "over the scale"


def test_what_fills_a_corner_of_the_picture_is_told(tmp_path: Path) -> None:
    pieces = [scrap(box(-20, 2, -9, 20)), scrap(FAR, colour=(40, 90, 150))]
    found = reading(photographed(tmp_path, pieces, loose([*PLACES[:2], *PLACES[3:]])))
    assert [s.outline.area for s in found.scraps] == pytest.approx([12], rel=0.02)
    assert [r.code for r in found.left_out] == ["leaves the picture"]


@pytest.mark.parametrize(("squares", "measured"), [(6, [4, 12]), (5, [12])])
def test_a_print_is_taken_for_a_square_only_where_one_is_wanting(
    tmp_path: Path, squares: int, measured: list[int]
) -> None:
    """White dots on black, as large as a square's paper; our print has six squares."""
    cloth = dots([(20, 20, 22), (240, 240, 238)], np.random.default_rng(1))
    dotted = replace(scrap(box(-1, -1, 1, 1)), cloth=cloth)
    path = photographed(tmp_path, [dotted, scrap(FAR)], loose([*PLACES, (0.3, 7.0)][:squares]))
    found = reading(path)
    assert sorted(round(one.outline.area) for one in found.scraps) == measured
    assert len(found.left_out) == 2 - len(measured)


@pytest.mark.parametrize(("table", "colour", "cloth"), [
    ("plain", (226, 226, 222), (205, 205, 202)),  # L* 90 and 82
    ("plain", (160, 160, 158), (146, 146, 144)),  # L* 66 and 60
    ("carpet", (110, 100, 92), (112, 102, 94)),  # alike, but smooth on a rug
])  # fmt: skip
def test_a_scrap_of_nearly_the_surfaces_colour_is_not_lost_without_a_word(
    tmp_path: Path, table: str, colour: tuple[int, int, int], cloth: tuple[int, int, int]
) -> None:
    pieces = [scrap(box(-5, -4, 3, 4), colour=cloth), scrap(affinity.translate(FAR, 2, -4))]
    found = reading(photographed(tmp_path, pieces, loose(), table=table, colour=colour))
    places = [*(s.in_picture[0] for s in found.scraps), *(r.in_picture for r in found.left_out)]
    areas = [Polygon(place).buffer(0).area for place in places if place is not None]
    assert max(areas) == pytest.approx(64 * found.pixels_per_inch**2, rel=0.25)
    assert len(areas) == 2


@pytest.mark.parametrize("count", [1, 3, 5])
def test_every_round_hole_is_a_hole(tmp_path: Path, count: int) -> None:
    places = [(-2.5, 1.5), (0, -1.2), (2.5, 1.4), (-2.6, -1.6), (2.6, -1.5)][:count]
    holes = [Point(place).buffer(0.5).exterior.coords for place in places]
    whole = Polygon(box(-4, -3, 4, 3).exterior.coords, holes)
    found = reading(photographed(tmp_path, [scrap(whole)], loose()))
    assert len(found.scraps[0].outline.interiors) == count
    assert found.scraps[0].outline.area == pytest.approx(whole.area, rel=0.01)


def test_a_print_in_the_tables_colour_has_no_holes(tmp_path: Path) -> None:
    table = (240, 235, 220)
    found = reading(
        photographed(tmp_path, [scrap(box(-4, -3, 4, 3), "dots")], loose(), colour=table)
    )
    assert not found.scraps[0].outline.interiors


def test_large_dots_in_the_tables_colour_are_no_holes(tmp_path: Path) -> None:
    """Fourteen dots an inch wide; a person cuts few holes of one size."""
    inks = ((150, 40, 50), (240, 235, 220))
    cloth = dots(inks, np.random.default_rng(1), apart=2.0)
    piece = replace(scrap(box(-5, -4, 5, 4)), cloth=cloth)
    found = reading(photographed(tmp_path, [piece], loose(), colour=inks[1]))
    assert not found.scraps[0].outline.interiors


def test_a_hole_over_a_carpet_is_a_hole(tmp_path: Path) -> None:
    """Through it the surface is seen with all its grain."""
    found = reading(photographed(tmp_path, [scrap(RING)], loose(), table="carpet", colour=None))
    assert len(found.scraps[0].outline.interiors) == 1


def test_a_hole_over_a_dark_table_in_dim_light_is_a_hole(tmp_path: Path) -> None:
    """The camera's noise in the dark moves the table from its own colour; the hole shows that too.

    The noise is the renderer's, its spread 8 % of white where the light is full.
    """
    path = photographed(
        tmp_path, [scrap(RING, colour=(200, 190, 150))], loose(), colour=(40, 40, 44),
        light=Light(noise=0.08),
    )  # fmt: skip
    (found,) = reading(path).scraps
    assert len(found.outline.interiors) == 1
    assert found.outline.area == pytest.approx(RING.area, rel=0.02)


def test_a_desk_along_one_side_is_no_scrap(tmp_path: Path) -> None:
    pieces = [scrap(box(-30, -30, -11.5, 30)), scrap(FAR, colour=(40, 90, 150))]
    found = reading(photographed(tmp_path, pieces, loose([(x + 3, y) for x, y in PLACES[:4]])))
    assert [s.outline.area for s in found.scraps] == pytest.approx([12], rel=0.02)
    assert not found.left_out


def test_scraps_of_two_colours_nearly_touching_are_two(tmp_path: Path) -> None:
    """A fifth of an inch apart they are one thing at first."""
    pieces = [scrap(box(-5, -2, -0.1, 2)), scrap(box(0.1, -2, 5, 2), colour=(40, 90, 150))]
    found = reading(photographed(tmp_path, pieces, loose()))
    assert [s.outline.area for s in found.scraps] == pytest.approx([19.6, 19.6], rel=0.03)


def test_scraps_side_by_side_are_one_row(tmp_path: Path) -> None:
    """The left one lies a little lower, and is read first all the same."""
    left, right = box(-5, 1.0, -1, 3.0), box(1, 1.4, 5, 3.4)
    below = affinity.translate(box(0, 0, 3, 2), -6, -2.5)
    pieces = [scrap(o, colour=c) for o, c in zip(
        (right, below, left), ((40, 90, 150), (70, 110, 60), (150, 40, 50)), strict=True
    )]  # fmt: skip
    found = reading(photographed(tmp_path, pieces, loose()))
    reds = [s.swatches[0].rgb[0] for s in found.scraps]
    assert reds == pytest.approx([150, 40, 70], abs=16)


def test_a_square_that_is_not_read_is_told(tmp_path: Path) -> None:
    six = [*PLACES, (0.0, 6.0)]
    whole = photographed(tmp_path, [scrap(RECTANGLE)], loose(six))
    assert not any("not read" in note for note in reading(whole).notes)
    over = affinity.translate(box(-2, -1.5, 2, 1.5), 7.2, 5.6)
    hidden = photographed(tmp_path, [scrap(RECTANGLE), scrap(over)], loose(six))
    assert any("not read" in note for note in reading(hidden).notes)


def test_a_cropped_picture_is_told_and_teaches_no_lens(tmp_path: Path) -> None:
    path = photographed(tmp_path, [scrap(RECTANGLE)], loose())
    with Image.open(path) as image:
        exif = image.getexif()
        inner = exif.get_ifd(0x8769)
        inner[0xA002], inner[0xA003] = image.size
        image.save(tmp_path / "whole.jpg", exif=exif, quality=92)
        image.resize((1200, 900)).save(tmp_path / "smaller.jpg", exif=exif, quality=92)
        image.crop((0, 0, 1600, 1000)).save(tmp_path / "cropped.jpg", exif=exif, quality=92)
    for name in ("whole.jpg", "smaller.jpg"):
        found = reading(tmp_path / name)
        assert found.lens is not None
        assert not any("cropped" in note for note in found.notes)
    found = reading(tmp_path / "cropped.jpg", lens=reading(tmp_path / "whole.jpg").lens)
    assert found.lens is None
    assert not found.lens_known
    assert any("cropped" in note for note in found.notes)
    assert not any("does not name its camera" in note for note in found.notes)


@pytest.mark.parametrize("contrast", [0.0, 0.3])
def test_a_cameras_tone_curve_is_undone_by_the_grey_patch(tmp_path: Path, contrast: float) -> None:
    """A firm S-curve darkens and dyes deeper; the patches tell, the colour comes out the same."""
    from tests.render.colours import encode_table, linear

    colour = (150, 90, 60)
    curve = encode_table(contrast)
    steps = np.rint(linear(np.arange(256, dtype=np.uint8)) * 65535).astype(int)
    path = photographed(
        tmp_path, [scrap(RECTANGLE, colour=colour)], loose(),
        change=lambda image: np.asarray(curve[steps][image]), view=camera(0.0),
    )  # fmt: skip
    seen = reading(path).scraps[0].swatches[0].rgb
    assert seen == pytest.approx(colour, abs=9)


@pytest.mark.parametrize(("white", "exposure", "off"), [
    (220, 0.9, 4),  # greyish paper, well exposed: what the camera gave is nearly true
    (238, 0.9, 4),
    (238, 0.45, 9),  # half the light: 20 L* too dark as the camera gave it
])  # fmt: skip
def test_squares_without_grey_patches_never_make_cloth_lighter_than_it_is(
    tmp_path: Path, white: int, exposure: float, off: int
) -> None:
    """The paper's shade is not known, so colours are corrected only as far as paper is white."""
    squares = SquareSet("4x4_50", (0, 1, 2, 3), 1.0)
    papers = tuple(
        replace(plain_square(squares, number, place, 17.0 * number), white=(white,) * 3)
        for number, place in enumerate(PLACES[:4])
    )
    pieces = [scrap(box(-5, -3, -1, 2)), scrap(box(1, -3, 5, 2), colour=(190, 185, 120))]
    found = reading(
        photographed(tmp_path, pieces, papers, light=Light(exposure=exposure)), squares=squares
    )
    for one, true in zip(found.scraps, [(150, 40, 50), (190, 185, 120)], strict=True):
        lighter = one.swatches[0].lab[0] - float(srgb_to_lab(true)[0])
        assert -off < lighter < 1.5
    assert any("no grey patches" in note for note in found.notes)


def test_a_print_much_like_the_table_is_less_sure_and_told(tmp_path: Path) -> None:
    """The doubt holds what the motifs' colours hide of the edge, and the note names the scrap."""
    pieces = [scrap(box(-6, -4, -1, 2), "floral"), scrap(box(2, -3, 6, 1))]
    alike = reading(photographed(tmp_path, pieces, loose(), colour=(240, 235, 220)))
    (note,) = [note for note in alike.notes if "guessed" in note]
    assert "scrap 1 " in note
    assert 2 * alike.scraps[1].uncertainty < alike.scraps[0].uncertainty < 0.75
    assert shape_error(alike.scraps[0].outline, pieces[0].outline) < alike.scraps[0].uncertainty
    plain = reading(photographed(tmp_path, pieces, loose(), colour=(70, 90, 70)))
    assert not any("guessed" in note for note in plain.notes)
    assert plain.scraps[0].uncertainty < 0.06


def test_a_narrow_bent_strip_is_measured_and_a_crease_is_told(tmp_path: Path) -> None:
    """Both are half an inch wide or less; of the crease the edge is hard to see."""
    arc = Point(0, -3).buffer(4.25).difference(Point(0, -3).buffer(3.75)) & box(-4.5, -0.5, 4.5, 2)
    assert isinstance(arc, Polygon)
    crease = LineString([(-6, 3), (-2.5, 3.8), (0.5, 3.2), (4, 4.4)]).buffer(0.2)
    pieces = [scrap(arc), scrap(crease, colour=(180, 176, 169))]
    found = reading(photographed(tmp_path, pieces, loose()))
    (strip,) = found.scraps
    assert strip.outline.area == pytest.approx(arc.area, rel=0.05)
    assert [told.reason for told in found.left_out if "crease" in told.reason]
