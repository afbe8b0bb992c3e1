"""How wrong an outline may be: what is stated holds for what is done to it."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import Polygon, box

from scrapstore.photo.outline.uncertainty import (
    EdgeSigns,
    edge_signs,
    edge_uncertainty,
    geometry_uncertainty,
    outline_uncertainty,
    sign_uncertainty,
)
from scrapstore.photo.scale.pose import CameraPose, estimate_pose
from tests.render.light import Light
from tests.support.cameras import (
    BELIEVED,
    LOOSE,
    SHAPE,
    SPREAD,
    UNKNOWN,
    drawn,
    opencv_image,
    seen,
)
from tests.support.cameras import camera as camera_over
from tests.support.photographed import camera, loose, photographed, reading, scrap, shape_error

RECTANGLE = np.array([[2, 1], [10, 1], [10, 6], [2, 6]], float)


def solved(
    rng: np.random.Generator, noise: float = 0.3, squares: np.ndarray = SPREAD
) -> tuple[CameraPose, np.ndarray]:
    """A solution from noisy corners, and the rectangle where that solution takes it to lie."""
    view = camera_over(rng.uniform(0, 20), rng.uniform(0, 360), k1=rng.uniform(-0.05, 0.05))
    solution = estimate_pose(seen(view, squares, noise, rng), LOOSE, 1.0, UNKNOWN, SHAPE)
    assert solution is not None
    return solution, solution.view.to_table(view.to_image(RECTANGLE))


def out_of_shape(outline: np.ndarray) -> float:
    """How far the worst corner is off the true rectangle laid best upon it (Kabsch, by SVD)."""
    a, b = outline - outline.mean(axis=0), RECTANGLE - RECTANGLE.mean(axis=0)
    u, _, vt = np.linalg.svd(b.T @ a)
    turn = u @ np.diag([1, np.sign(np.linalg.det(u @ vt))]) @ vt
    return float(np.linalg.norm(b @ turn - a, axis=1).max())


@pytest.mark.parametrize("squares", [SPREAD, SPREAD[:3]], ids=["five squares", "three squares"])
def test_camera_and_squares_bend_an_outline_no_more_than_stated(squares: np.ndarray) -> None:
    """Of 60 noisy solutions about 95 % must hold; 9 in 10 leaves room for chance."""
    rng = np.random.default_rng(3)
    tried = [solved(rng, squares=squares) for _ in range(60)]
    errors = [out_of_shape(outline) for _, outline in tried]
    stated = [geometry_uncertainty(outline, solution) for solution, outline in tried]
    held = np.mean(np.array(errors) <= np.array(stated))
    assert held >= 0.9
    # Nor is so much stated that it would always hold.
    assert np.median(stated) < 6 * np.median(errors)


def test_one_length_in_twenty_is_off_by_more_than_stated() -> None:
    """Pictures by cv2.projectPoints, of cameras whose lens is drawn from what is believed of it.

    Two points are an outline whose shape is one length; of its error each of them has half. Stated
    is what holds 95 times in 100. Of four lengths in each of 60 photos chance moves that share by
    two in a hundred; by the normal law half of what is stated would hold 67 times, twice it always.
    """
    rng = np.random.default_rng(12)
    held = []
    for _ in range(60):
        view = drawn(rng)
        solution = estimate_pose(
            seen(view, SPREAD, 0.45, rng, opencv_image), LOOSE, 1.0, BELIEVED, SHAPE
        )
        assert solution is not None
        for ends in rng.uniform([-10, -7], [10, 7], (4, 2, 2)):
            told = solution.view.to_table(opencv_image(view, ends))
            error = np.linalg.norm(told[1] - told[0]) - np.linalg.norm(ends[1] - ends[0])
            held.append(abs(error) / 2 <= geometry_uncertainty(told, solution))
    assert 0.9 < np.mean(held) < 0.985


def test_fewer_squares_leave_more_doubt() -> None:
    many, outline = solved(np.random.default_rng(1))
    few, other = solved(np.random.default_rng(1), squares=SPREAD[:2])
    assert geometry_uncertainty(outline, many) < geometry_uncertainty(other, few)


def test_a_shift_or_a_turn_of_the_whole_scrap_is_no_error() -> None:
    """A camera moved along the table shows the same shapes elsewhere on it."""
    solution, _ = solved(np.random.default_rng(2))
    principal_errors = np.zeros((1, solution.principal_errors.shape[1]))
    # Along the table's own x axis: the same in the camera's frame is the rotation's first column.
    principal_errors[0, 3:6] = 0.5 * solution.view.rotation[:, 0]
    moved = replace(solution, principal_errors=principal_errors)
    assert geometry_uncertainty(RECTANGLE, moved) == pytest.approx(0, abs=1e-6)
    principal_errors[0, 3:6] = 0.5 * solution.view.rotation[:, 2]  # nearer: all is larger
    assert (
        geometry_uncertainty(RECTANGLE, replace(solution, principal_errors=principal_errors)) > 0.05
    )


@settings(max_examples=50, deadline=None)
@given(
    st.floats(20, 300),
    st.tuples(
        st.floats(0, 1), st.floats(0, 1), st.integers(0, 12), st.floats(0, 1), st.floats(0, 9)
    ),
    st.integers(0, 4), st.integers(0, 3),
)  # fmt: skip
def test_coarser_pictures_and_worse_signs_are_less_sure(
    pixels_per_inch: float, signs: tuple[float, float, int, float, float], which: int, more: int
) -> None:
    best = EdgeSigns(*signs)
    worse = EdgeSigns(*(value + more * (which == k) for k, value in enumerate(signs)))  # type: ignore[arg-type]
    by_signs, by_worse = sign_uncertainty(best), sign_uncertainty(worse)
    assert 0 <= by_signs <= by_worse
    sure = edge_uncertainty(pixels_per_inch, by_signs)
    assert sure <= edge_uncertainty(pixels_per_inch / 2, by_signs)
    assert sure >= by_signs


def test_the_signs_of_an_edge_are_what_they_are_by_geometry() -> None:
    """A square of 4 in with a notch 0.4 in wide and 0.3 deep, a tongue 0.2 wide and 0.5 long."""
    plain = box(0, 0, 4, 4)
    cut = plain.difference(box(1, 3.7, 1.4, 4)).union(box(4, 2, 4.5, 2.2))
    odd = Polygon(shapely.get_coordinates(cut))
    edge = np.array(odd.exterior.segmentize(0.05).coords)[:-1]
    contrast = np.where(np.arange(len(edge)) < 20, 0.1, 0.9)
    seen = edge_signs(odd, edge + np.array([0.0, 0.02]), contrast, apart=0.1, patch=0.3)
    assert (seen.apart, seen.patch) == (0.1, 0.3)
    assert seen.odd_corners == 6, "four of the notch, two at the end of the tongue"
    assert seen.unseen == pytest.approx(1.0, abs=0.05)
    assert seen.strayed == pytest.approx(0.02)
    edge = np.array(plain.exterior.segmentize(0.05).coords)[:-1]
    best = edge_signs(plain, edge, np.ones(320), apart=0, patch=0)
    assert best == EdgeSigns(0, 0, 0, pytest.approx(0, abs=1e-6), 0)  # type: ignore[arg-type]


def test_a_thread_that_was_taken_off_is_no_doubt() -> None:
    plain = box(0, 0, 4, 4)
    edge = np.array(plain.exterior.segmentize(0.05).coords)[:-1]
    edge[100:103] += 0.1
    assert edge_signs(plain, edge, np.ones(len(edge)), apart=0, patch=0).strayed == pytest.approx(
        0, abs=1e-6
    )
    edge[100:110] += 0.1
    assert edge_signs(plain, edge, np.ones(len(edge)), apart=0, patch=0).strayed == pytest.approx(
        0.1, abs=0.01
    )


def test_straight_down_focal_length_and_height_make_up_for_each_other() -> None:
    """Then neither is known well, but shapes are: the doubt of a tilted view is no smaller."""
    level, tilted = (
        estimate_pose(
            seen(camera_over(tilt, 40.0), SPREAD, 0.1, np.random.default_rng(5)),
            LOOSE, 1.0, UNKNOWN, SHAPE,
        )
        for tilt in (0.5, 15.0)
    )  # fmt: skip
    assert level is not None
    assert tilted is not None
    doubts = [geometry_uncertainty(RECTANGLE, pose) for pose in (level, tilted)]
    assert doubts[0] < 4 * doubts[1]


def test_coarser_pictures_add_to_the_doubt_what_they_add_to_the_error(tmp_path: Path) -> None:
    """The same scraps at 57 and at 28 pixels an inch, against their true outlines.

    Both add up in squares. What is stated grows by no less than the worst error of the four, and
    by no more than four times as much: else nobody would heed it.
    """
    shapes = [  # the largest first
        affinity.translate(affinity.rotate(box(-2.5, -2, 2.5, 2), 12), -5, 0),
        affinity.translate(affinity.rotate(box(-1.5, -1.5, 1.5, 1.5), 40), 4.5, 0),
        affinity.translate(affinity.rotate(box(-2, -1, 2, 1), -7), 0, 5.5),
        affinity.translate(affinity.rotate(box(-1, -1.5, 1, 1.5), 5), 0.5, -2.5),
    ]
    pieces = [scrap(shape) for shape in shapes]
    soft = Light(blur=0.8, noise=0.01)

    def seen_at(wide: int) -> tuple[float, float]:
        path = photographed(tmp_path, pieces, loose(), view=camera(wide=wide), light=soft)
        found = sorted(reading(path).scraps, key=lambda each: -each.outline.area)
        errors = [shape_error(a.outline, b) for a, b in zip(found, shapes, strict=True)]
        return max(errors), float(np.median([each.uncertainty for each in found]))

    (fine_error, fine_stated), (coarse_error, coarse_stated) = seen_at(1600), seen_at(800)
    error = np.sqrt(coarse_error**2 - fine_error**2)
    stated = np.sqrt(coarse_stated**2 - fine_stated**2)
    assert error < stated < 4 * error


def test_the_two_add_up_in_squares() -> None:
    solution, outline = solved(np.random.default_rng(4))
    whole = outline_uncertainty(outline, solution, 120.0, 0.05)
    parts = geometry_uncertainty(outline, solution), edge_uncertainty(120.0, 0.05)
    assert whole == pytest.approx(np.hypot(*parts))
    assert whole > max(parts)
