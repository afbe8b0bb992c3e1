"""What the scraps lie on: one surface or two, in uneven light, with printed lines."""

import numpy as np
import pytest
from scipy import ndimage
from shapely.geometry import Polygon

from scrapstore.photo.outline.trace import is_crease
from scrapstore.photo.scale.rectify import RectifiedImage
from scrapstore.photo.segmentation.background_model import fit_background, foreground_labels
from scrapstore.photo.segmentation.candidates import Candidate, find_candidates
from scrapstore.photo.segmentation.scraps import _is_printed_square

SCALE = 30.0
ROWS, COLUMNS = 480, 720
BLUE, GREY, WHITE = (40, 70, 130), (95, 95, 98), (225, 222, 215)
Rgb = tuple[int, int, int]


def painted(mat: Rgb, desk: Rgb, falls_to: float = 1.0) -> np.ndarray:
    """A mat on a desk, the light falling off to the right, a little noise."""
    image = np.empty((ROWS, COLUMNS, 3))
    image[:] = desk
    image[110:400, :500] = mat
    # Light adds up in linear light; 2.2 is near enough to the standard's curve for a test.
    fall = np.linspace(1, falls_to, COLUMNS)[None, :, None] ** (1 / 2.2)
    noise = np.random.default_rng(0).normal(0, 1.5, image.shape)
    return np.clip(image * fall + noise, 0, 255).astype(np.uint8)


def table(image: np.ndarray, seen: np.ndarray | None = None) -> RectifiedImage:
    whole = np.ones(image.shape[:2], bool) if seen is None else seen
    return RectifiedImage(image, whole, SCALE, 0.0, ROWS / SCALE)


def papers(*places: tuple[int, int]) -> np.ndarray:
    """Squares of 1.2 in at these places (row, column)."""
    mask = np.zeros((ROWS, COLUMNS), bool)
    for row, column in places:
        mask[row - 18 : row + 19, column - 18 : column + 19] = True
    return mask


def things(flat: RectifiedImage, paper: np.ndarray) -> list[Candidate]:
    surface = fit_background(flat, paper)
    return find_candidates(foreground_labels(flat, surface, paper), flat)


@pytest.mark.parametrize("falls_to", [1.0, 0.45])
def test_squares_may_lie_on_two_surfaces(falls_to: float) -> None:
    """Two on the mat and two on the desk: no colour between theirs is taken for the surface."""
    image = painted(BLUE, GREY, falls_to)
    image[180:330, 380:550] = WHITE  # lies on both
    flat = table(image)
    (found,) = things(flat, papers((200, 60), (340, 180), (60, 600), (420, 640)))
    assert np.count_nonzero(found.mask) == pytest.approx(150 * 170, rel=0.03)
    assert not found.leaves(flat)


@pytest.mark.parametrize("falls_to", [1.0, 0.45])
def test_squares_on_one_surface_in_uneven_light(falls_to: float) -> None:
    image = painted(BLUE, BLUE, falls_to)
    image[180:330, 280:450] = WHITE
    (found,) = things(table(image), papers((80, 100), (400, 120), (90, 600), (390, 620)))
    assert np.count_nonzero(found.mask) == pytest.approx(150 * 170, rel=0.03)


def test_a_printed_line_to_the_rim_does_not_make_a_scrap_leave_the_picture() -> None:
    image = painted(BLUE, BLUE)
    image[200:300, 10:160] = WHITE
    flat = table(image)
    mask = np.zeros((ROWS, COLUMNS), bool)
    mask[200:300, :160] = True  # as a rough look has it: with the surface between scrap and rim
    window = (slice(190, 310), slice(0, 170))
    thing = Candidate(window, mask[window])
    alike = np.all(np.abs(image.astype(int) - BLUE) < 12, axis=2)
    assert thing.leaves(flat)
    assert not thing.leaves(flat, alike)
    alike[240:243] = False  # a line of the mat, a tenth of an inch wide
    assert not thing.leaves(flat, alike)
    alike[215:285] = False  # the scrap itself reaches the rim
    assert thing.leaves(flat, alike)


def test_what_reaches_into_the_unseen_leaves_the_picture() -> None:
    seen = np.ones((ROWS, COLUMNS), bool)
    seen[:, :100] = False
    flat = table(painted(BLUE, BLUE), seen)
    window = (slice(50, 150), slice(90, 200))
    mask = np.zeros((100, 110), bool)
    mask[20:80, 20:100] = True
    assert not Candidate(window, mask).leaves(flat)
    mask[40:60, 11:20] = True
    assert Candidate(window, mask).leaves(flat)


def test_a_thing_in_a_wider_window_is_the_same() -> None:
    flat = table(painted(BLUE, BLUE))
    window = (slice(3, 43), slice(700, 715))
    mask = np.zeros((40, 15), bool)
    mask[5:30, 3:12] = True
    wide = Candidate(window, mask).widened(0.5, flat)
    assert wide.window == (slice(0, 58), slice(685, 720))  # cut at the table's edge
    assert ndimage.center_of_mass(wide.mask) == pytest.approx(
        np.add(ndimage.center_of_mass(mask), (3 - 0, 700 - 685))
    )
    assert wide.mask.sum() == mask.sum()


GREEN = (20, 92, 76)
FOUR_SQUARES = ((80, 100), (400, 120), (90, 600), (390, 620))


def lit(image: np.ndarray, colour: Rgb, row: int, column: int, inches: float) -> np.ndarray:
    """The same with a lamp mirrored in it: light of this colour that fades out over so far."""
    down, right = np.mgrid[:ROWS, :COLUMNS].astype(float)
    away = ((down - row) ** 2 + (right - column) ** 2) / (inches * SCALE) ** 2
    light = (image / 255) ** 2.2 + (np.array(colour) / 255) ** 2.2 * np.exp(-away)[..., None]
    return np.asarray(np.clip(255 * light ** (1 / 2.2), 0, 255), np.uint8)


@pytest.mark.parametrize("lamp", [(28, 22, 19), (57, 45, 39), (76, 60, 52)])
def test_a_lamp_mirrored_in_a_mat_is_not_cloth(lamp: Rgb) -> None:
    """It passes softly into the mat; the scraps that lie round it are found one by one."""
    image = lit(painted(GREEN, GREEN), lamp, row=250, column=400, inches=3.0)
    for rows, columns in (((130, 210), (330, 450)), ((300, 390), (300, 400))):
        image[slice(*rows), slice(*columns)] = WHITE
    found = things(table(image), papers(*FOUR_SQUARES))
    # A first look, to a quarter of an inch or so; the exact edge comes later.
    areas = sorted(np.count_nonzero(thing.mask) for thing in found)
    assert areas == pytest.approx([90 * 100, 80 * 120], rel=0.15)


@pytest.mark.parametrize("lighter", [14, 20, 30])
def test_cloth_little_lighter_than_the_mat_keeps_its_edge(lighter: int) -> None:
    """Its edge is a step, however small, and the surface does not creep over it."""
    image = painted(GREY, GREY)
    image[180:330, 280:450] += np.uint8(lighter)
    (found,) = things(table(image), papers(*FOUR_SQUARES))
    assert np.count_nonzero(found.mask) == pytest.approx(150 * 170, rel=0.05)


def shaded(
    image: np.ndarray, rows: slice, columns: slice, first: float, last: float, blur: float
) -> np.ndarray:
    """The same with cloth that reflects `first` of the table's light at its left, `last` right.

    `blur`: of the picture, pixels.
    """
    width = columns.stop - columns.start
    laid = image.astype(float)
    laid[rows, columns] *= np.linspace(first, last, width)[None, :, None] ** (1 / 2.2)
    laid = ndimage.gaussian_filter(laid, (blur, blur, 0))
    laid += np.random.default_rng(1).normal(0, 1.2, laid.shape)
    return np.asarray(np.clip(laid, 0, 255), np.uint8)


@pytest.mark.parametrize("blur", [1.5, 2.5, 3.5])
@pytest.mark.parametrize(("grey", "first", "last"), [
    (204, 0.8, 0.3), (204, 0.82, 0.4), (118, 1.16, 2.2), (118, 0.8, 0.35), (60, 1.16, 2.5),
])  # fmt: skip
def test_shaded_cloth_keeps_the_edge_that_is_nearly_the_tables_colour(
    grey: int, first: float, last: float, blur: float
) -> None:
    """It goes on changing inside, as a reflection does; but it begins with a step."""
    bare = painted((grey, grey, grey), (grey, grey, grey))
    image = shaded(bare, slice(140, 330), slice(200, 500), first, last, blur)
    (found,) = things(table(image), papers(*FOUR_SQUARES))
    assert np.count_nonzero(found.mask) == pytest.approx(190 * 300, rel=0.05)


@pytest.mark.parametrize("blur", [1.5, 2.5])
def test_cloth_that_a_reflection_touches_is_not_taken_up_with_it(blur: float) -> None:
    bare = lit(painted((118, 118, 118), (118, 118, 118)), (90, 90, 90), 330, 330, inches=2.0)
    image = shaded(bare, slice(150, 280), slice(270, 400), 1.25, 1.25, blur)
    (found,) = things(table(image), papers(*FOUR_SQUARES))
    assert np.count_nonzero(found.mask) == pytest.approx(130 * 130, rel=0.1)


def test_cloth_out_of_focus_and_near_the_tables_colour_is_no_reflection() -> None:
    """It passes softly into the table, but ends too near its colour to be one."""
    image = shaded(painted((118,) * 3, (118,) * 3), slice(150, 280), slice(270, 400), 0.75, 0.75, 4)
    (found,) = things(table(image), papers(*FOUR_SQUARES))
    assert np.count_nonzero(found.mask) == pytest.approx(130 * 130, rel=0.15)


@pytest.mark.parametrize(("ring", "edge", "crease"), [
    ([(0, 0), (6, 0), (6, 0.5), (0, 0.5)], 0.3, False),  # a straight strip
    ([(0, 0), (4, 0), (4, 3), (3.6, 3), (3.6, 0.4), (0, 0.4)], 0.5, True),
    ([(0, 0), (4, 0), (4, 3), (3.6, 3), (3.6, 0.4), (0, 0.4)], 0.68, False),  # plain to see
    ([(0, 0), (4, 0), (4, 4), (2.5, 4), (2.5, 1.5), (0, 1.5)], 0.3, False),  # too wide
])  # fmt: skip
def test_something_narrow_and_crooked_is_a_crease_unless_its_edge_is_plain(
    ring: list[tuple[float, float]], edge: float, crease: bool
) -> None:
    contrast = np.where(np.arange(200) < 80, edge, 0.9)
    assert is_crease(Polygon(ring), contrast) == crease


def test_a_pale_triangle_among_dark_bits_is_not_an_unread_square() -> None:
    """A code lies within its paper; the first look at a scrap may take in much of a dark mat."""
    image = painted(BLUE, BLUE)
    paper = image[100:145, 100:145]
    paper[:] = WHITE
    paper[9:36, 9:36] = 15
    for row, column in np.argwhere(np.eye(4) + np.eye(4)[::-1]):
        paper[13 + 5 * row : 18 + 5 * row, 13 + 5 * column : 18 + 5 * column] = WHITE
    down, right = np.mgrid[:ROWS, :COLUMNS]
    triangle = (down < 344) & (down - 300 > np.abs(right - 400))
    image[triangle] = WHITE
    around = ndimage.binary_dilation(triangle, iterations=3)
    flat, sheet = table(image), (45 / SCALE) ** 2
    everywhere = (slice(0, ROWS), slice(0, COLUMNS))
    square = (down >= 100) & (down < 145) & (right >= 100) & (right < 145)
    folded = square & (down - 100 > right - 100)
    assert _is_printed_square(Candidate(everywhere, square), flat, sheet)
    assert _is_printed_square(Candidate(everywhere, folded), flat, sheet)
    assert not _is_printed_square(Candidate(everywhere, around), flat, sheet)
