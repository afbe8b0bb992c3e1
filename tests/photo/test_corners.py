"""Outlines from rings of points: polygons with known corners, checked with shapely."""

from collections.abc import Callable

import numpy as np
import pytest
import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import LinearRing, Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from scrapstore.photo.outline.corners import ClothShares, fit_polygon
from scrapstore.photo.outline.rings import signed_area, simplify_ring
from scrapstore.photo.outline.slivers import remove_slivers
from scrapstore.photo.outline.tuning import TOLERANCE

SQUARE = box(0, 0, 4, 4)
L_SHAPE = Polygon([(0, 0), (6, 0), (6, 2), (2, 2), (2, 5), (0, 5)])
KITE = Polygon([(0, -3), (2, 0), (0, 1.5), (-2, 0)])
SHAPES = {"square": SQUARE, "L": L_SHAPE, "kite": KITE}


def points_on(shape: BaseGeometry, noise: float = 0.0, step: float = 0.05) -> np.ndarray:
    """Points every `step` inches along the outline, as tracing gives them; corners left out."""
    assert isinstance(shape, Polygon)
    ring = shapely.geometry.polygon.orient(shape).exterior
    places = np.arange(0.37 * step, ring.length, step)
    points = shapely.get_coordinates(shapely.line_interpolate_point(ring, places))
    return points + np.random.default_rng(3).normal(0, noise, points.shape)


def corners_of(shape: Polygon) -> np.ndarray:
    return np.asarray(shape.exterior.coords)[:-1]


def fitted(points: np.ndarray, **options: bool | ClothShares) -> Polygon:
    found = fit_polygon(points, **options)  # type: ignore[arg-type]
    assert found is not None
    return found


def off(found: Polygon, true: BaseGeometry) -> float:
    """How far two outlines are apart anywhere, inches (shapely's Hausdorff distance)."""
    return float(shapely.hausdorff_distance(found.boundary, true.boundary, densify=0.02))


@st.composite
def convex(draw: st.DrawFn) -> Polygon:
    """Polygons of three to seven corners on an ellipse, every side and turn plain to see."""
    count = draw(st.integers(3, 7))
    gaps = np.array([draw(st.floats(1.0, 1.6)) for _ in range(count)])
    angles = np.cumsum(gaps) / gaps.sum() * 2 * np.pi
    wide, high = draw(st.floats(2.0, 4.0)), draw(st.floats(2.0, 4.0))
    shape = Polygon(np.column_stack([wide * np.cos(angles), high * np.sin(angles)]))
    return affinity.rotate(shape, draw(st.floats(0, 360)))


@given(convex())
@settings(max_examples=40, deadline=None)
def test_straight_sides_give_their_corners_back(shape: Polygon) -> None:
    found = fitted(points_on(shape))
    assert len(corners_of(found)) == len(corners_of(shape))
    assert off(found, shape) < 0.004


@given(convex(), st.floats(0.001, 0.004))
@example(
    Polygon(
        [
            (0.1925, 2.2581),
            (-2.7918, -1.4862),
            (-0.7636, -3.1641),
            (1.7756, -1.3457),
            (2.4075, 2.2372),
        ]
    ),
    0.00390625,
)  # a blunt corner, whose break the noise puts two points past it
@settings(max_examples=40, deadline=None)
def test_noise_along_the_edge_is_averaged_out(shape: Polygon, noise: float) -> None:
    """To the tolerance, and at corners, where two lines cross, to twice that."""
    assert off(fitted(points_on(shape, noise)), shape) < 2 * TOLERANCE


@pytest.mark.parametrize(("name", "half_deg"), [("square", 45), ("L", 45), ("kite", 33.69)])
def test_corners_that_the_lens_rounded_are_sharp_again(name: str, half_deg: float) -> None:
    """A circle of radius r in a corner of twice this angle ends r (1 / sin - 1) before its tip."""
    shape = SHAPES[name]
    rounded = shape.buffer(-0.04).buffer(0.08).buffer(-0.04)
    lost = 0.04 * (1 / np.sin(np.radians(half_deg)) - 1)
    assert off(rounded, shape) == pytest.approx(lost, rel=0.02)
    found = fitted(points_on(rounded))
    assert len(corners_of(found)) == len(corners_of(shape))
    assert off(found, shape) < 0.004


def test_a_corner_that_is_cut_off_stays_cut_off() -> None:
    cut = Polygon([(0, 0), (4, 0), (4, 3.2), (3.2, 4), (0, 4)])
    found = fitted(points_on(cut))
    assert len(corners_of(found)) == 5
    assert off(found, cut) < 0.004


def test_a_horn_stays_where_it_is_cloth() -> None:
    """Its sides bend in towards it: straight edges on either side would meet before its end."""
    ring = shapely.get_coordinates(SQUARE.exterior.segmentize(0.02))[:-1]
    near = np.exp(-np.linalg.norm(ring - (4, 4), axis=1) / 0.12)
    horned = Polygon(ring + 0.15 * near[:, None] * np.sqrt([0.5, 0.5]))
    tip = Point(4 + 0.15 / np.sqrt(2), 4 + 0.15 / np.sqrt(2))
    seen = points_on(horned, step=0.03)
    as_cloth, as_table = (
        fit_polygon(seen, ClothShares(cloth, cloth)) for cloth in (lambda _: 1.0, lambda _: 0.0)
    )
    assert as_cloth is not None
    assert as_cloth.exterior.distance(tip) < 0.03
    assert as_table is not None
    assert as_table.exterior.distance(tip) > 0.05


def test_straight_edges_go_on_to_a_tip_that_is_cloth_if_not_in_the_scraps_colours() -> None:
    tip = Polygon([(0, 0), (5, 0), (0, 2)])
    seen = points_on(tip.difference(box(4.6, 0, 5, 1)))

    def share(value: float) -> Callable[[np.ndarray], float]:
        return lambda _: value

    assert off(fitted(seen, shares=ClothShares(share(0), share(1))), tip) < 0.01
    assert off(fitted(seen, shares=ClothShares(share(0), share(0))), tip) > 0.35


@pytest.mark.parametrize("radius", [1.0, 3.0])
def test_a_curve_is_followed_by_few_corners(radius: float) -> None:
    """A chord as far inside as the tolerance spans 2 √(2 r t); more corners are not needed."""
    circle = Point(0, 0).buffer(radius, quad_segs=200)
    found = fitted(points_on(circle))
    assert off(found, circle) < 1.6 * TOLERANCE
    needed = 2 * np.pi * radius / (2 * np.sqrt(2 * radius * TOLERANCE))
    assert needed / 2 < len(corners_of(found)) < 3 * needed


@given(st.sampled_from(list(SHAPES.values())), st.floats(0, 360), st.floats(-20, 20))
@settings(max_examples=40, deadline=None)
def test_where_and_how_the_ring_lies_does_not_matter(
    shape: Polygon, turn_deg: float, shift: float
) -> None:
    def moved(one: Polygon) -> Polygon:
        return affinity.translate(affinity.rotate(one, turn_deg, origin=(0, 0)), shift, -shift)

    points = points_on(shape, 0.003)
    elsewhere = shapely.get_coordinates(moved(Polygon(points)).exterior)[:-1]
    # The lines are fitted in single precision.
    assert off(fitted(elsewhere), moved(fitted(points))) < 2e-4


@given(st.sampled_from(list(SHAPES.values())), st.integers(0, 300))
@settings(max_examples=40, deadline=None)
def test_where_the_ring_begins_does_not_matter(shape: Polygon, first: int) -> None:
    points = points_on(shape, 0.003)
    again = fitted(np.roll(points, first, axis=0))
    assert off(again, fitted(points)) < 0.01


def test_a_hole_runs_clockwise_and_has_the_same_outline() -> None:
    hole = fitted(points_on(L_SHAPE)[::-1])
    assert signed_area(corners_of(hole)) < 0
    assert off(hole, L_SHAPE) < 0.004


def test_a_thread_on_a_straight_edge_goes_and_a_notch_stays_if_it_is_the_cloths() -> None:
    bump = SQUARE.union(box(1.8, 4, 2.0, 4.3))
    assert off(fitted(points_on(bump)), SQUARE) < 0.01
    notched = SQUARE.difference(box(1.8, 3.6, 2.1, 4))
    assert off(fitted(points_on(notched), notches=True), notched) < 0.05
    assert off(fitted(points_on(notched), notches=False), SQUARE) < 0.01


def test_loops_where_profiles_crossed_are_left_out() -> None:
    points = points_on(SQUARE)
    points[[20, 21]] = points[[21, 20]]
    assert not LinearRing(points).is_simple
    assert off(fitted(points), SQUARE) < 0.02


@pytest.mark.parametrize("points", [np.zeros((10, 2)), points_on(SQUARE)[:5]])
def test_no_outline_of_points_that_enclose_nothing(points: np.ndarray) -> None:
    assert fit_polygon(points) is None


def test_what_sticks_out_and_is_no_scrap_is_taken_off() -> None:
    threaded = SQUARE.union(box(1.98, 4, 2.02, 4.5))
    points = points_on(threaded, step=0.02)
    bare = remove_slivers(points, lambda _: 0.0)
    assert bare[:, 1].max() == pytest.approx(4, abs=0.03)
    assert len(remove_slivers(points, lambda _: 1.0)) == len(points), "a sharp corner stays"
    # A hole is left alone.
    assert len(remove_slivers(points[::-1], lambda _: 0.0)) == len(points)


@st.composite
def wavy(draw: st.DrawFn) -> np.ndarray:
    angles = np.linspace(0, 2 * np.pi, draw(st.integers(40, 200)), endpoint=False)
    radius = np.full(len(angles), 3.0)
    for k in range(1, 6):
        radius += draw(st.floats(-0.3, 0.3)) / k * np.cos(k * angles + draw(st.floats(0, 6)))
    return np.column_stack([radius * np.cos(angles), radius * np.sin(angles)])


@given(wavy(), st.floats(0.005, 0.2))
@settings(max_examples=60, deadline=None)
def test_a_simpler_ring_stays_within_the_tolerance(ring: np.ndarray, tolerance: float) -> None:
    simple = simplify_ring(ring, tolerance)
    assert len(simple) <= len(ring)
    apart = shapely.hausdorff_distance(LinearRing(simple), LinearRing(ring))
    assert apart <= tolerance + 1e-9


@pytest.mark.parametrize("tolerance", [0.01, TOLERANCE, 0.1])
def test_the_same_corners_are_left_as_shapely_leaves(tolerance: float) -> None:
    """Of the two halves between the places farthest apart, on twenty ragged rings."""
    rng = np.random.default_rng(0)
    angles = np.linspace(0, 2 * np.pi, 150, endpoint=False)
    for _ in range(20):
        waves = sum(rng.normal(0, 0.6 / k) * np.cos(k * angles + rng.uniform(0, 6)) for k in (1, 3))
        radius = 3 + waves + rng.normal(0, 0.02, len(angles))
        ring = np.column_stack([radius * np.cos(angles), radius * np.sin(angles)])
        ring = np.roll(ring, -np.linalg.norm(ring - ring.mean(axis=0), axis=1).argmax(), axis=0)
        far = np.linalg.norm(ring - ring[0], axis=1).argmax()
        halves = (ring[: far + 1], np.vstack([ring[far:], ring[:1]]))
        left = [
            np.asarray(shapely.LineString(half).simplify(tolerance, preserve_topology=False).coords)
            for half in halves
        ]
        expected = np.vstack([half[:-1] for half in left])
        assert np.array_equal(simplify_ring(ring, tolerance), expected)


@given(wavy())
@settings(max_examples=30, deadline=None)
def test_the_signed_area_is_twice_shapelys(ring: np.ndarray) -> None:
    assert signed_area(ring) == pytest.approx(2 * Polygon(ring).area)
    assert signed_area(ring[::-1]) == pytest.approx(-2 * Polygon(ring).area)
