"""How wrong an outline may be: what is stated holds for what is done to it."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scrapstore.photo.solve import Solution, solve
from scrapstore.photo.uncertainty import (
    edge_uncertainty,
    geometry_uncertainty,
    outline_uncertainty,
)
from tests.support.cameras import LOOSE, SHAPE, SPREAD, UNKNOWN, camera, seen

RECTANGLE = np.array([[2, 1], [10, 1], [10, 6], [2, 6]], float)
SEEN = np.ones(100)


def solved(
    rng: np.random.Generator, noise: float = 0.3, squares: np.ndarray = SPREAD
) -> tuple[Solution, np.ndarray]:
    """A solution from noisy corners, and the rectangle where that solution takes it to lie."""
    view = camera(rng.uniform(0, 20), rng.uniform(0, 360), k1=rng.uniform(-0.05, 0.05))
    solution = solve(seen(view, squares, noise, rng), LOOSE, 1.0, UNKNOWN, SHAPE)
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


def test_fewer_squares_leave_more_doubt() -> None:
    many, outline = solved(np.random.default_rng(1))
    few, other = solved(np.random.default_rng(1), squares=SPREAD[:2])
    assert geometry_uncertainty(outline, many) < geometry_uncertainty(other, few)


def test_a_shift_or_a_turn_of_the_whole_scrap_is_no_error() -> None:
    """A camera moved along the table shows the same shapes elsewhere on it."""
    solution, _ = solved(np.random.default_rng(2))
    spread = np.zeros((1, solution.spread.shape[1]))
    # Along the table's own x axis: the same in the camera's frame is the rotation's first column.
    spread[0, 3:6] = 0.5 * solution.view.rotation[:, 0]
    moved = replace(solution, spread=spread)
    assert geometry_uncertainty(RECTANGLE, moved) == pytest.approx(0, abs=1e-6)
    spread[0, 3:6] = 0.5 * solution.view.rotation[:, 2]  # nearer: all is larger
    assert geometry_uncertainty(RECTANGLE, replace(solution, spread=spread)) > 0.05


@settings(max_examples=50, deadline=None)
@given(st.floats(20, 300), st.floats(0, 1), st.floats(0.01, 0.5))
def test_coarser_pictures_and_fainter_edges_are_less_sure(
    pixels_per_inch: float, faint: float, more: float
) -> None:
    def contrast(part: float) -> np.ndarray:
        return np.where(np.arange(1000) < 1000 * min(part, 1.0), 0.02, 0.6)

    sure = edge_uncertainty(pixels_per_inch, contrast(faint))
    assert sure <= edge_uncertainty(pixels_per_inch / 2, contrast(faint))
    assert sure <= edge_uncertainty(pixels_per_inch, contrast(faint + more))
    # Cloth frays however well it is seen; an edge that is not seen may be more than an inch off.
    assert 0.09 < edge_uncertainty(1e6, SEEN) + 1e-9 < 0.0901
    assert edge_uncertainty(1e6, np.zeros(100)) > 1


def test_the_two_add_up_in_squares() -> None:
    solution, outline = solved(np.random.default_rng(4))
    whole = outline_uncertainty(outline, solution, 120.0, SEEN)
    parts = geometry_uncertainty(outline, solution), edge_uncertainty(120.0, SEEN)
    assert whole == pytest.approx(np.hypot(*parts))
    assert whole > max(parts)
