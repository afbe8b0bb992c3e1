"""Camera and squares from corners alone: against a simulated camera and against OpenCV."""

import cv2
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scrapstore.photo.forms import LensProfile
from scrapstore.photo.picture.metadata import Shot
from scrapstore.photo.scale.checks import refuse_pose
from scrapstore.photo.scale.detect import FoundSquare
from scrapstore.photo.scale.lens import LensPrior, View, lens_key, prior_for
from scrapstore.photo.scale.pose import CameraPose, estimate_pose
from scrapstore.photo.squares import OUR_PRINT
from tests.support.cameras import (
    BELIEVED,
    CENTRE,
    CORNERS,
    LOOSE,
    SHAPE,
    SPREAD,
    UNKNOWN,
    camera,
    drawn,
    opencv_image,
    seen,
)


def worst_length_error(view: View, solution: CameraPose, reach: float = 11.0) -> float:
    """95th percentile error of lengths up to 10 in anywhere on the table, inches."""
    rng = np.random.default_rng(0)
    a = rng.uniform([-reach, -8], [reach, 8], (400, 2))
    b = np.clip(a + rng.uniform(-7, 7, (400, 2)), [-reach, -8], [reach, 8])
    true = np.linalg.norm(a - b, axis=1)
    told = np.linalg.norm(
        solution.view.to_table(view.to_image(a)) - solution.view.to_table(view.to_image(b)), axis=1
    )
    return float(np.percentile(np.abs(told - true), 95))


@settings(max_examples=25, deadline=None)
@given(
    st.floats(0, 30), st.floats(0, 360), st.floats(16, 32), st.floats(-0.08, 0.08),
    st.lists(st.tuples(st.floats(-10, 10), st.floats(-7, 7)), min_size=1, max_size=20),
)  # fmt: skip
def test_the_way_into_the_picture_and_back_is_the_identity(
    tilt: float, towards: float, height: float, k1: float, points: list[tuple[float, float]]
) -> None:
    view = camera(tilt, towards, height, k1)
    table = np.array(points)
    assert view.to_table(view.to_image(table)) == pytest.approx(table, abs=1e-6)


def test_the_camera_is_opencv_s() -> None:
    """Against cv2.projectPoints with the same pose and distortion."""
    view = camera(18, 70, k1=-0.06)
    table = np.random.default_rng(1).uniform(-10, 10, (50, 2))
    matrix = np.array([[view.focal, 0, CENTRE[0]], [0, view.focal, CENTRE[1]], [0, 0, 1]])
    solid = np.column_stack([table, np.zeros(50)])
    theirs, _ = cv2.projectPoints(solid, view.rvec, view.tvec, matrix, np.array([view.k1, 0, 0, 0]))
    assert view.to_image(table) == pytest.approx(theirs.reshape(-1, 2), abs=1e-8)


@pytest.mark.parametrize(
    ("k1", "limit"), [(0.0, 0.015), (0.03, 0.015), (0.08, 0.03), (-0.08, 0.03)]
)
def test_five_loose_squares_give_lengths_to_a_hundredth_of_an_inch(k1: float, limit: float) -> None:
    """Median over photos; corner noise 0.25 pixels, 24 in above, tilt to 20°."""
    rng = np.random.default_rng(2)
    errors = []
    for _ in range(7):
        view = camera(rng.uniform(0, 20), rng.uniform(0, 360), k1=k1)
        solution = estimate_pose(seen(view, SPREAD, 0.25, rng), LOOSE, 1.0, UNKNOWN, SHAPE)
        assert solution is not None
        errors.append(worst_length_error(view, solution))
    assert float(np.median(errors)) < limit


def test_pose_agrees_with_solvepnp_on_the_same_points() -> None:
    """With places and lens known there is nothing to estimate but the pose: OpenCV's is ours."""
    rng = np.random.default_rng(3)
    view = camera(15, 40)
    places = np.array([[x, y, 0.0] for x, y in OUR_PRINT.layout.values()])
    found = seen(view, places, 0.1, rng)
    exact = LensPrior(0.74, 1e-6, 0.0, 1e-6, known=True)
    solution = estimate_pose(found, OUR_PRINT, 1.0, exact, SHAPE)
    assert solution is not None
    assert solution.card
    matrix = np.array([[view.focal, 0, CENTRE[0]], [0, view.focal, CENTRE[1]], [0, 0, 1]])
    table = np.concatenate([CORNERS + p[:2] for p in places])
    solid = np.column_stack([table, np.zeros(len(table))])
    _, rvec, tvec = cv2.solvePnP(solid, np.concatenate([s.corners for s in found]), matrix, None)
    # The frames differ by a motion on the table; distances from the camera do not.
    height = -(solution.view.rotation.T @ solution.view.tvec)[2]
    rotation = np.asarray(cv2.Rodrigues(rvec)[0])
    assert height == pytest.approx(float(-(rotation.T @ np.ravel(tvec))[2]), abs=0.01)


def test_focal_length_and_distortion_agree_with_calibratecamera() -> None:
    """One tilted view of a card, strongly bent lens: OpenCV's calibration finds the same."""
    rng = np.random.default_rng(4)
    view = camera(25, 100, height=9.0, k1=-0.08)
    places = np.array([[x - 3, y - 2, 0.0] for x, y in OUR_PRINT.layout.values()])
    found = seen(view, places, 0.05, rng)
    solution = estimate_pose(
        found, OUR_PRINT, 1.0, LensPrior(0.8, 0.5, 0.0, 0.5, known=False), SHAPE
    )
    assert solution is not None
    table = np.concatenate([CORNERS + p[:2] for p in places])
    solid = np.column_stack([table, np.zeros(len(table))]).astype(np.float32)
    imaged = np.concatenate([s.corners for s in found]).astype(np.float32)
    guess = np.array([[3200.0, 0, CENTRE[0]], [0, 3200.0, CENTRE[1]], [0, 0, 1]])
    flags = (
        cv2.CALIB_USE_INTRINSIC_GUESS | cv2.CALIB_FIX_PRINCIPAL_POINT | cv2.CALIB_FIX_ASPECT_RATIO
        | cv2.CALIB_ZERO_TANGENT_DIST | cv2.CALIB_FIX_K2 | cv2.CALIB_FIX_K3
    )  # fmt: skip
    _, matrix, bend, _, _ = cv2.calibrateCamera(
        [solid], [imaged], (4000, 3000), guess, np.zeros(5), flags=flags
    )
    assert solution.view.focal == pytest.approx(float(matrix[0, 0]), rel=0.01)
    assert solution.view.k1 == pytest.approx(float(np.ravel(bend)[0]), abs=0.01)


def test_a_bent_square_is_dropped() -> None:
    rng = np.random.default_rng(5)
    view = camera(10, 200)
    found = list(seen(view, SPREAD, 0.1, rng))
    bent = found[2].corners + np.array([[0, 0], [9, 4], [0, 0], [-6, 5]])
    found[2] = FoundSquare(2, bent, 0.1, 0.8)
    solution = estimate_pose(tuple(found), LOOSE, 1.0, UNKNOWN, SHAPE)
    assert solution is not None
    assert solution.dropped == 1
    assert worst_length_error(view, solution) < 0.04


def test_stated_errors_of_the_lens_hold() -> None:
    """k1 lies within two of its standard deviations nearly always."""
    rng = np.random.default_rng(6)
    inside = 0
    for _ in range(20):
        view = camera(rng.uniform(0, 25), rng.uniform(0, 360), k1=rng.uniform(-0.08, 0.08))
        solution = estimate_pose(seen(view, SPREAD, 0.2, rng), LOOSE, 1.0, UNKNOWN, SHAPE)
        assert solution is not None
        sigma = float(np.sqrt(np.sum(solution.principal_errors[:, 7] ** 2)))
        inside += abs(solution.view.k1 - view.k1) < 2 * sigma
    assert inside >= 18


@pytest.mark.parametrize("noise", [0.45, 0.9])
def test_stated_errors_of_lengths_are_as_large_as_those_made(noise: float) -> None:
    """Pictures by cv2.projectPoints, their corners moved by noise of which the solver is not told.

    In units of what is stated the errors' root mean square is 1, within the chance that thirty
    photos leave and what the solver holds back in telling the noise from forty numbers.
    """
    rng = np.random.default_rng(9)
    scores = []
    for _ in range(30):
        view = drawn(rng)
        found = seen(view, SPREAD, noise, rng, opencv_image)
        solution = estimate_pose(found, LOOSE, 1.0, BELIEVED, SHAPE)
        assert solution is not None
        ends = rng.uniform([-10, -7], [10, 7], (20, 2, 2)).reshape(-1, 2)
        imaged = opencv_image(view, ends)

        def lengths(points: np.ndarray) -> np.ndarray:
            return np.asarray(np.linalg.norm(points[::2] - points[1::2], axis=1))

        told = lengths(solution.view.to_table(imaged))
        views = solution.perturbed_views(0.05)
        moved = [(lengths(v.to_table(imaged)) - told) / 0.05 for v in views]
        scores.append((told - lengths(ends)) / np.sqrt(np.sum(np.square(moved), axis=0)))
    assert 0.7 < float(np.sqrt(np.mean(np.square(scores)))) < 1.4


def test_the_lens_is_found_again_by_camera_and_focal_length() -> None:
    shot = Shot("Fernglas F-1", None, 4.25, 26.0, None)
    key = lens_key(shot, 4000, 3000)
    assert key == lens_key(shot, 3000, 4000)
    assert key is not None
    assert key != lens_key(shot, 4000, 2250)
    lens = LensProfile(key, 0.75, 0.04, 0.01, 0.005)
    assert prior_for(shot, 3000, 4000, [lens]).known
    assert not prior_for(Shot("Other"), 3000, 4000, lens).known
    # 26 mm on a diagonal of 43.27 mm, 4:3: 26 / 43.27 × 1.25 long sides.
    assert prior_for(shot, 4000, 3000, None).focal == pytest.approx(0.7512, abs=1e-3)


def test_a_view_from_too_far_is_refused() -> None:
    """At 200 in, 2,960 pixels of focal length leave 15 to the inch; at 100 in there are 30."""
    rng = np.random.default_rng(8)
    codes = []
    for height in (100.0, 200.0):
        found = seen(camera(5, 30, height=height), SPREAD, 0.05, rng)
        solution = estimate_pose(found, LOOSE, 1.0, UNKNOWN, SHAPE)
        assert solution is not None
        refusal = refuse_pose(solution, LOOSE, 1.0, SHAPE)
        codes.append(None if refusal is None else refusal.code)
    assert codes == [None, "too small"]
