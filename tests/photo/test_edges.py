"""The exact edge: pictures in which it is known to a fraction of a pixel."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import erf
from shapely import affinity
from shapely.geometry import Point, Polygon, box

from scrapstore.photo.outline.edges import (
    Edge,
    EdgeFinder,
    _best_path,
    _between_samples,
    profiles,
)
from scrapstore.photo.scale import RectifiedImage, View
from scrapstore.photo.segmentation import ColourModel, Palette, log_opponent

PER_INCH = 40.0
SIDE = 320  # pixels of the picture; the table's origin is in its middle
CLOTH, TABLE = (150, 40, 50), (208, 204, 196)
Rgb = tuple[int, int, int]


def to_light(rgb: Rgb) -> np.ndarray:
    """IEC 61966-2-1, written again."""
    share = np.array(rgb) / 255
    return np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)


def to_srgb(light: np.ndarray) -> np.ndarray:
    share = np.where(light <= 0.0031308, light * 12.92, 1.055 * light ** (1 / 2.4) - 0.055)
    return np.asarray(np.rint(share * 255), np.uint8)


def picture(
    shape: Polygon, cloth: Rgb = CLOTH, table: Rgb = TABLE, blur: float = 0.7
) -> np.ndarray:
    """Cloth on a table through a lens that blurs: light mixes by erf(distance / blur √2).

    `blur`: standard deviation, pixels. Exact along straight edges, away from corners.
    """
    rows, columns = np.mgrid[:SIDE, :SIDE]
    x, y = (columns - SIDE / 2) / PER_INCH, (SIDE / 2 - rows) / PER_INCH
    points = shapely.points(x, y)
    depth = shapely.distance(points, shape.boundary) * PER_INCH
    depth = np.where(shapely.contains(shape, points), depth, -depth)
    share = (1 + erf(depth / (blur * np.sqrt(2)))) / 2
    return to_srgb(share[..., None] * to_light(cloth) + (1 - share[..., None]) * to_light(table))


def finder(pixels: np.ndarray, cloth: Rgb = CLOTH, table: Rgb = TABLE) -> EdgeFinder:
    """Everything that is known of the picture but where the edge is: seen straight from above."""
    height = 20.0
    # Half a turn about x: the camera looks down.
    view = View(
        np.array([np.pi, 0, 0]), np.array([0, 0, height]), PER_INCH * height, 0.0,
        (SIDE / 2, SIDE / 2),
    )  # fmt: skip

    def palette(rgb: Rgb) -> Palette:
        return Palette(log_opponent(np.array([[rgb]], np.uint8))[0], np.ones(1))

    scale, half = 10.0, SIDE / 2 / PER_INCH
    size = int(2 * half * scale) + 1
    image = np.full((size, size, 3), table, np.uint8)
    rectified = RectifiedImage(image, np.ones((size, size), bool), scale, -half, half)
    plain = Palette(np.zeros((1, 3), np.float32), np.ones(1))
    model = ColourModel(palette(cloth), plain, palette(table))
    return EdgeFinder(pixels, view, rectified, model, log_opponent(image))


def found(shape: Polygon, rough: Polygon, **options: float) -> Edge:
    edge = finder(picture(shape, **options)).refine(ring_of(rough), 0.14)  # type: ignore[arg-type]
    assert edge is not None
    return edge


def ring_of(shape: Polygon) -> np.ndarray:
    return np.asarray(shapely.geometry.polygon.orient(shape).exterior.coords)[:-1]


def off(points: np.ndarray, shape: Polygon, corners: float = 0.25) -> np.ndarray:
    """Distances to the true edge, pixels, of the points that are not within `corners` of one."""
    at = np.array([Point(place) for place in points])
    near = shapely.distance(at, shapely.MultiPoint(ring_of(shape))) < corners
    return np.asarray(shapely.distance(at[~near], shape.boundary) * PER_INCH)


def test_a_straight_edge_is_found_to_half_a_pixel_and_mostly_to_a_tenth() -> None:
    """Wherever it lies between the pixels, however turned, and however far the first guess is.

    Where all profiles of a side see the same, as along the rows of pixels, the path may be a sample
    off everywhere.
    """
    rng = np.random.default_rng(4)
    found_off = []
    for turn_deg in [0, 45, 90, *rng.uniform(0, 90, 37)]:
        right, up = rng.uniform(0, 1, 2) / PER_INCH
        rough, blur = rng.uniform(-0.06, 0.06), rng.uniform(0.4, 0.8)
        shape, guess = (
            affinity.translate(affinity.rotate(box(-w, -h, w, h), turn_deg), right, up)
            for w, h in ((2, 1.5), (2 + rough, 1.5 + rough))
        )
        edge = found(shape, guess, blur=blur)
        away = off(edge.points, shape)
        assert np.percentile(away, 95) < 0.6
        assert edge.contrast.mean() > 0.5
        found_off.append(np.median(away))
    assert np.mean(np.array(found_off) < 0.1) >= 0.9


def test_half_way_is_half_of_the_light_not_half_of_the_srgb_value() -> None:
    """Of black and white, sRGB 128 is a fifth of the light: 0.8 blurs from where half of it is."""
    shape = box(-2, -1.5, 2, 1.5)
    pixels = picture(shape, (25, 25, 25), (235, 235, 235), blur=1.0)
    edge = finder(pixels, (25, 25, 25), (235, 235, 235)).refine(ring_of(shape), 0.14)
    assert edge is not None
    assert np.median(off(edge.points, shape)) < 0.06


def test_a_circle_is_found_all_round() -> None:
    shape = Point(0.01, -0.004).buffer(2, quad_segs=90)
    edge = found(shape, shape.buffer(0.04))
    at = np.hypot(*(edge.points - (0.01, -0.004)).T)
    assert np.abs(at - 2).max() * PER_INCH < 0.3


def test_a_hole_is_traced_clockwise_and_its_normals_point_into_it() -> None:
    hole = box(-1.5, -1, 1.5, 1)
    pixels = picture(Polygon(ring_of(box(-3.5, -3.5, 3.5, 3.5)), [ring_of(hole)]))
    edge = finder(pixels).refine(ring_of(hole.buffer(0.04, join_style="mitre"))[::-1], 0.14)
    assert edge is not None
    assert np.median(off(edge.points, hole)) < 0.06


def test_cloth_of_the_tables_colour_has_an_edge_without_contrast() -> None:
    shape, cloth = box(-2, -1.5, 2, 1.5), (206, 203, 195)
    edge = finder(picture(shape, cloth), cloth).refine(ring_of(shape), 0.14)
    assert edge is not None
    assert edge.contrast.max() < 0.12


def test_a_ring_too_short_for_profiles_has_no_edge() -> None:
    assert finder(picture(box(-1, -1, 1, 1))).refine(ring_of(box(0, 0, 0.1, 0.1)), 0.14) is None


@pytest.mark.parametrize("inside", [0.1, 0.5, 0.9])
def test_the_share_of_places_that_are_scrap(inside: float) -> None:
    shape = box(-2, -2, 2, 2)
    y = np.linspace(-1, 1, 200)
    x = np.where(np.arange(200) < inside * 200, 1.5, 2.5)
    share = finder(picture(shape)).scrap_share(np.column_stack([x, y]))
    assert share == pytest.approx(inside)


@pytest.mark.parametrize(
    ("colour", "cloth"), [((235, 225, 80), 1.0), (TABLE, 0.0), ((188, 184, 177), 0.0)],
    ids=["motif", "table", "table in shadow"],
)  # fmt: skip
def test_what_is_no_table_is_cloth_if_in_none_of_the_scraps_main_colours(
    colour: Rgb, cloth: float
) -> None:
    """The shadow is the table's light times 0.8."""
    shape = box(-2, -2, 2, 2)
    pixels = picture(shape)
    pixels[100:220, 220:239] = colour
    places = np.column_stack([np.full(50, 1.7), np.linspace(-1, 1, 50)])
    looked = finder(pixels).knowing_beside(ring_of(shape))
    assert looked.scrap_share(places) == 0
    assert looked.cloth_share(places) == cloth


@given(st.floats(-0.5, 0.5), st.floats(0.4, 0.9))
@settings(max_examples=40, deadline=None)
def test_between_samples_a_blurred_step_is_where_half_its_light_is(at: float, blur: float) -> None:
    """The closed form of a step through a Gaussian; seven samples either side of the path."""
    samples = np.arange(14) - 6.5
    share = (1 - erf((samples - at) / (blur * np.sqrt(2)))) / 2
    light = share[:, None] * to_light(CLOTH) + (1 - share[:, None]) * to_light(TABLE)
    seen = log_opponent(to_srgb(light)[None])
    (place,) = _between_samples(seen, np.array([7]))
    assert place - 6.5 == pytest.approx(at, abs=0.06)


def test_the_path_closes_and_does_not_follow_a_single_odd_profile() -> None:
    """Costs of 80 profiles whose edge moves slowly; one of them shows it four samples off."""
    samples = np.arange(20)
    true = np.rint(10 + 3 * np.sin(np.arange(80) / 80 * 2 * np.pi)).astype(int)
    shown = true.copy()
    shown[40] += 4
    cost_in = np.where(samples >= shown[:, None], 0.3, 0.0).astype(np.float32)
    cost_out = np.where(samples < shown[:, None], 0.3, 0.0).astype(np.float32)
    none = np.zeros((80, 21), np.float32)
    path = _best_path(cost_in, cost_out, none, np.full(80, 1.0))
    assert np.abs(path - true).max() <= 1
    loose = _best_path(cost_in, cost_out, none, np.full(80, 0.01))
    assert np.array_equal(loose, np.minimum(shown, true + 3)), "three samples a profile at most"


def test_of_a_small_ring_no_other_closed_path_is_cheaper() -> None:
    """Every path of six profiles of four samples, counted out."""
    rng = np.random.default_rng(5)
    for _ in range(20):
        cost_in, cost_out = rng.uniform(0, 0.35, (2, 6, 4)).astype(np.float32)
        steps = rng.uniform(0, 0.05, (6, 5)).astype(np.float32)
        stiff = np.full(6, 0.08)

        def price(path: np.ndarray, a=cost_in, b=cost_out, s=steps) -> np.ndarray:  # type: ignore[no-untyped-def]
            inner = np.arange(4) < path[..., None]
            sides = np.where(inner, a, b).sum(axis=(-1, -2))
            sharp = 2.0 * np.take_along_axis(s, path.reshape(-1, 6).T, 1).sum(axis=0)
            jumps = np.abs(path - np.roll(path, 1, axis=-1)).astype(float)
            far = np.where(jumps > 3, np.inf, 0.08 * jumps**1.5).sum(axis=-1)
            return np.asarray(sides - sharp.reshape(sides.shape) + far)

        every = np.stack(np.meshgrid(*[np.arange(5)] * 6, indexing="ij"), -1).reshape(-1, 6)
        found = _best_path(cost_in, cost_out, steps, stiff)
        assert price(found[None])[0] <= price(every).min() + 0.08


def test_profiles_stand_square_to_their_side_and_point_outwards() -> None:
    points, normals, turns = profiles(ring_of(box(0, 0, 4, 2)), 0.05)
    assert len(points) == 240
    assert np.hypot(*normals.T) == pytest.approx(np.ones(240))
    assert turns.sum() == 4
    assert shapely.distance(shapely.points(points), box(0, 0, 4, 2).boundary).max() < 1e-9
    assert not shapely.contains(box(0, 0, 4, 2), shapely.points(points + 0.01 * normals)).any()
