"""Where camera and squares are: one least-squares solution for everything at once.

Unknown are the camera's pose over the table (6), its focal length and distortion (2, with what is
already believed of them as two more observations) and, for loose squares, each one's place and turn
on the table (3 each). Every corner gives two equations. The first square fixes the frame, its side
the scale. Squares that are still in one card have fixed places instead.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final

import cv2
import numpy as np
from scipy.optimize import OptimizeResult, least_squares

from scrapstore.photo.arrays import Floats
from scrapstore.photo.scale import tuning
from scrapstore.photo.scale.detect import FoundSquare
from scrapstore.photo.scale.frames import rotated
from scrapstore.photo.scale.lens import LensPrior, View
from scrapstore.photo.squares import SquareSet

__all__ = ["CameraPose", "estimate_pose"]


@dataclass(frozen=True, eq=False)
class CameraPose:
    """The solved table.

    `view`: camera and lens. `places`: for each used square x, y (inches) and turn (radians) of its
    centre on the table. `squares`: those used; `dropped`: found, but not lying flat like the rest.
    `card`: the squares are one rigid card. `residual`: root mean square of the corners' errors,
    pixels. `principal_errors`: k × p, for each principal error of the solution (one standard
    deviation) how it moves the camera's parameters (rvec, tvec, log focal, k1).
    """

    view: View
    places: Floats
    squares: tuple[FoundSquare, ...]
    dropped: int
    card: bool
    residual: float
    principal_errors: Floats

    def perturbed_views(self, part: float) -> tuple[View, ...]:
        """Return the view moved by this part of a standard deviation along each principal error.

        Straight down, focal length and height are hardly told apart, and moved far along a straight
        line they would not make up for each other: a small part shows what the errors do.
        """
        return tuple(
            _view(_packed(self.view) + part * row, self.view.centre)
            for row in self.principal_errors
        )


@dataclass(frozen=True, eq=False)
class _Problem:
    """What is given: the squares found, their true side, what is believed of the lens."""

    found: tuple[FoundSquare, ...]
    side: float
    prior: LensPrior
    long_side: int

    @cached_property
    def seen(self) -> Floats:
        """Corners in the picture, n × 4 × 2."""
        return np.stack([square.corners for square in self.found])

    def expected_sigma(self) -> Floats:
        """Return the expected error of each square's corners, pixels, n × 1 × 1."""
        sigmas = [
            np.hypot(max(tuning.CORNER_SIGMA, s.noise), tuning.PRINT_SIGMA * s.side)
            for s in self.found
        ]
        return np.array(sigmas)[:, None, None]

    def corner_errors(self, view: View, places: Floats) -> Floats:
        """Return expected less seen corners, pixels."""
        expected = view.to_image(_corners_on_table(places, self.side).reshape(-1, 2))
        return np.asarray(expected.reshape(self.seen.shape) - self.seen)

    def slopes(self, view: View, places: Floats) -> tuple[Floats, Floats]:
        """Return how the corners move, pixels (n × 4 × 2), with each unknown (last axis).

        First with the camera's eight as `_packed` has them, then with each square's own x, y and
        turn. OpenCV's derivatives: its k1 is the one of `View`.
        """
        corners = _corners_on_table(places, self.side)
        points = np.concatenate([corners.reshape(-1, 2), np.zeros((corners.size // 2, 1))], axis=1)
        focal, (x, y) = view.focal, view.centre
        matrix = np.array([[focal, 0, x], [0, focal, y], [0, 0, 1.0]])
        lens = np.array([view.k1, 0, 0, 0])
        moved = cv2.projectPoints(points, view.rvec, view.tvec, matrix, lens)[1]
        moved = moved.reshape(*corners.shape, -1)
        camera = np.concatenate(
            [moved[..., :6], focal * (moved[..., 6:7] + moved[..., 7:8]), moved[..., 10:11]],
            axis=-1,
        )
        # A point of the table moves in the picture as the camera's shift moves it, turned.
        shift = (moved[..., 3:6] @ view.rotation)[..., :2]
        arm = corners - places[:, None, :2]
        turn = shift[..., 1] * arm[..., :1] - shift[..., 0] * arm[..., 1:]
        return camera, np.concatenate([shift, turn[..., None]], axis=-1)


_Unpack = Callable[[Floats], tuple[View, Floats]]
"""From the vector of unknowns to the view and the squares' places."""


def estimate_pose(
    found: tuple[FoundSquare, ...], squares: SquareSet, side: float, prior: LensPrior,
    shape: tuple[int, int],
) -> CameraPose | None:  # fmt: skip
    """Return camera, lens and squares' places, or None when nothing fits.

    `side`: true side of the squares, inches. `shape`: height and width of the picture.
    """
    height, width = shape
    centre = ((width - 1) / 2, (height - 1) / 2)
    long_side = max(shape)
    start = _first_guess(found, side, prior.focal * long_side, centre)
    if start is None:
        return None
    pose = _solve_loose(found, side, prior, long_side, start)
    if pose is None:
        return None
    keep = _lying_flat(pose, found, side)
    if len(keep) < len(found):
        kept = tuple(found[k] for k in keep)
        start = _first_guess(kept, side, prior.focal * long_side, centre) or start
        pose = _solve_loose(kept, side, prior, long_side, start)
        if pose is None:
            return None
        pose = replace(pose, dropped=len(found) - len(kept))
    card = _as_card(pose, squares, side)
    if card is not None:
        rigid = _solve_card(pose, card, side, prior, long_side)
        pose = rigid or pose
    return _upright(pose)


def _template(side: float) -> Floats:
    """Corners of a square about its centre: clockwise from the top left, y up."""
    half = side / 2
    return np.array([[-half, half], [half, half], [half, -half], [-half, -half]])


def _corners_on_table(places: Floats, side: float) -> Floats:
    """Return n × 4 × 2 corners of squares at `places` (n × 3)."""
    cos, sin = np.cos(places[:, 2]), np.sin(places[:, 2])
    turn = np.stack([np.stack([cos, -sin], -1), np.stack([sin, cos], -1)], -2)
    turned = np.einsum("nij,kj->nki", turn, _template(side))
    return np.asarray(turned + places[:, None, :2])


def _packed(view: View) -> Floats:
    return np.concatenate([view.rvec, view.tvec, [np.log(view.focal), view.k1]])


def _view(camera: Floats, centre: tuple[float, float]) -> View:
    return View(camera[:3], camera[3:6], float(np.exp(camera[6])), float(camera[7]), centre)


def _first_guess(
    found: tuple[FoundSquare, ...], side: float, focal: float, centre: tuple[float, float]
) -> View | None:
    """Return the pose, of those each square alone suggests, that makes all squares square."""
    matrix = np.array([[focal, 0, centre[0]], [0, focal, centre[1]], [0, 0, 1.0]])
    points = np.column_stack([_template(side), np.zeros(4)])
    best: tuple[float, View] | None = None
    for square in found:
        count, rvecs, tvecs, _ = cv2.solvePnPGeneric(
            points, square.corners, matrix, None, flags=cv2.SOLVEPNP_IPPE_SQUARE
        )
        for k in range(int(count)):
            view = View(
                np.asarray(rvecs[k], float).ravel(), np.asarray(tvecs[k], float).ravel(),
                focal, 0.0, centre,
            )  # fmt: skip
            if view.rotation[2, 2] >= 0:
                continue  # seen from below the table
            cost = _squareness_error(view, found, side)
            if best is None or cost < best[0]:
                best = (cost, view)
    return None if best is None else best[1]


def _squareness_error(view: View, found: tuple[FoundSquare, ...], side: float) -> float:
    flat = view.to_table(np.concatenate([square.corners for square in found])).reshape(-1, 4, 2)
    if not np.isfinite(flat).all():
        return float("inf")
    sides = np.linalg.norm(flat - np.roll(flat, 1, axis=1), axis=2)
    diagonals = np.linalg.norm(flat[:, :2] - flat[:, 2:], axis=2) / np.sqrt(2)
    return float(
        np.median(np.abs(np.concatenate([sides, diagonals], axis=1) / side - 1), axis=1).sum()
    )


def _solve_loose(
    found: tuple[FoundSquare, ...], side: float, prior: LensPrior, long_side: int, start: View
) -> CameraPose | None:
    if not prior.known:
        # Most cameras straighten their pictures themselves. Loose squares say so when one does not
        # (the robust loss lets them), and without this belief a curled sheet passes for a lens.
        prior = replace(prior, k1_sigma=prior.k1_sigma / tuning.K1_SIGMA_LOOSE)
    problem = _Problem(found, side, prior, long_side)
    places = _rough_places(start, problem.seen)
    # The frame: the first square lies at the table's origin, unturned.
    start, places = _reframed(start, places, places[0])

    def unpack(x: Floats) -> tuple[View, Floats]:
        rest = x[8:].reshape(-1, 3)
        return _view(x[:8], start.centre), np.vstack([np.zeros(3), rest])

    x0 = np.concatenate([_packed(start), places[1:].ravel()])
    return _fit(x0, unpack, problem, card=False)


def _solve_card(
    loose: CameraPose, layout: Floats, side: float, prior: LensPrior, long_side: int
) -> CameraPose | None:
    fixed = np.column_stack([layout, np.zeros(len(layout))])
    # Move the loose solution's frame onto the card's.
    view = _moved(loose.view, loose.places[0, 2], loose.places[0, :2], layout[0])

    def unpack(x: Floats) -> tuple[View, Floats]:
        return _view(x, view.centre), fixed

    problem = _Problem(loose.squares, side, prior, long_side)
    pose = _fit(_packed(view), unpack, problem, card=True)
    return None if pose is None else replace(pose, dropped=loose.dropped)


def _fit(start: Floats, unpack: _Unpack, problem: _Problem, *, card: bool) -> CameraPose | None:
    """Solve twice: the first fit shows how accurate the corners are."""
    sigma = problem.expected_sigma()
    fit = _least_squares(start, unpack, problem, sigma, 1e-6)
    if fit is None:
        return None
    view, places = unpack(fit.x)
    # The corners' own scatter about the fit; what few equations say of it is not taken whole.
    error = problem.corner_errors(view, places) / sigma
    freedom = error.size - len(start) + 2
    few = tuning.LEAST_FREEDOM
    ratio = np.sqrt((np.sum(error**2) + few) / (max(freedom, 0) + few))
    sigma = sigma * float(np.clip(ratio, *tuning.SIGMA_RATIO))
    fit = _least_squares(fit.x, unpack, problem, sigma) or fit
    view, places = unpack(fit.x)
    error = problem.corner_errors(view, places)
    residual = float(np.sqrt(np.mean(error**2) * 2))
    return CameraPose(view, places, problem.found, 0, card, residual, _spread_of_camera(fit.jac))


def _spread_of_camera(jacobian: Floats) -> Floats:
    """Return the principal errors (8 × 8) of the camera's parameters, the squares' places free."""
    values, vectors = np.linalg.eigh(jacobian.T @ jacobian)
    deviations = (vectors / np.sqrt(np.maximum(values, 1e-12)))[:8]
    # Only the camera's part matters here, and eight errors make up all of it.
    size, ways = np.linalg.eigh(deviations @ deviations.T)[:2]
    return np.asarray((ways * np.sqrt(np.maximum(size, 0))).T)


def _least_squares(
    start: Floats, unpack: _Unpack, problem: _Problem, sigma: Floats, tolerance: float = 1e-8
) -> OptimizeResult | None:
    prior, focal = problem.prior, float(np.log(problem.prior.focal * problem.long_side))

    def residuals(x: Floats) -> Floats:
        errors = problem.corner_errors(*unpack(x)) / sigma
        prior_errors = [(x[6] - focal) / prior.focal_sigma, (x[7] - prior.k1) / prior.k1_sigma]
        whole = np.concatenate([errors.ravel(), np.array(prior_errors)])
        return np.asarray(np.nan_to_num(whole, nan=1e6))

    def jacobian(x: Floats) -> Floats:
        camera, places = problem.slopes(*unpack(x))
        slopes = np.zeros((camera.size // 8 + 2, len(x)))
        slopes[:-2, :8] = (camera / sigma[..., None]).reshape(-1, 8)
        # A square's place moves its own corners only; the first square's is fixed.
        for square in range((len(x) - 8) // 3):
            rows, columns = slice(8 * square + 8, 8 * square + 16), 8 + 3 * square
            own = places[square + 1] / sigma[square + 1, ..., None]
            slopes[rows, columns : columns + 3] = own.reshape(8, 3)
        slopes[-2, 6], slopes[-1, 7] = 1 / prior.focal_sigma, 1 / prior.k1_sigma
        return np.asarray(np.nan_to_num(slopes))

    try:
        fit = least_squares(
            residuals,
            start,
            jac=jacobian,
            loss="soft_l1",
            f_scale=tuning.ROBUST_SCALE,
            x_scale="jac",
            max_nfev=40,
            ftol=tolerance,
            xtol=tolerance,
            gtol=tolerance,
        )
    except (ValueError, np.linalg.LinAlgError):
        return None
    sane = np.isfinite(fit.x).all() and abs(fit.x[6] - focal) < 3 and abs(fit.x[7]) < 1
    return fit if sane else None


def _rough_places(view: View, seen: Floats) -> Floats:
    flat = view.to_table(seen.reshape(-1, 2)).reshape(-1, 4, 2)
    top = flat[:, 1] - flat[:, 0] + flat[:, 2] - flat[:, 3]
    return np.column_stack([flat.mean(axis=1), np.arctan2(top[:, 1], top[:, 0])])


def _moved(view: View, turn: float, old: Floats, new: Floats) -> View:
    """Return the view in a frame where what lies turned by `turn` at `old` is upright at `new`."""
    spin = np.array([[np.cos(turn), -np.sin(turn), 0], [np.sin(turn), np.cos(turn), 0], [0, 0, 1]])
    rotation = view.rotation @ spin
    shift = np.array([*old, 0.0]) - spin @ np.array([*new, 0.0])
    tvec = view.rotation @ shift + view.tvec
    return View(
        np.asarray(cv2.Rodrigues(rotation)[0], float).ravel(),
        tvec,
        view.focal,
        view.k1,
        view.centre,
    )


def _reframed(view: View, places: Floats, frame: Floats) -> tuple[View, Floats]:
    """Return view and places as seen from `frame`: a place and a turn, x, y, radians."""
    moved = _moved(view, frame[2], frame[:2], np.zeros(2))
    shifted = rotated(places[:, :2] - frame[:2], -frame[2])
    return moved, np.column_stack([shifted, places[:, 2] - frame[2]])


_SMALL_PART: Final = 0.05  # of an error, where what it does is linear


def _upright(pose: CameraPose) -> CameraPose:
    """Turn the table's frame so that its x runs as the picture's rows do at its centre."""
    view = pose.view
    ends = view.to_table(np.array(view.centre) + np.array([[-8.0, 0.0], [8.0, 0.0]]))
    way = ends[1] - ends[0]
    turn = float(np.arctan2(way[1], way[0]))
    if not np.isfinite(turn):
        return pose
    moved, places = _reframed(view, pose.places, np.array([0.0, 0.0, turn]))
    # The errors' directions turn with the frame; to first order that is what this does.
    turned = [_moved(v, turn, np.zeros(2), np.zeros(2)) for v in pose.perturbed_views(_SMALL_PART)]
    principal_errors = (np.array([_packed(v) for v in turned]) - _packed(moved)) / _SMALL_PART
    return replace(pose, view=moved, places=places, principal_errors=principal_errors)


def _lying_flat(pose: CameraPose, found: tuple[FoundSquare, ...], side: float) -> list[int]:
    """Return which squares lie flat: bent or false ones stand out once three are known."""
    everyone = list(range(len(found)))
    if len(found) < 3:
        return everyone
    expected = pose.view.to_image(_corners_on_table(pose.places, side).reshape(-1, 2))
    seen = np.stack([square.corners for square in found])
    errors = np.sqrt(np.mean((expected.reshape(seen.shape) - seen) ** 2, axis=(1, 2)) * 2)
    pixels, part = tuning.BENT_LEAST
    least = [max(pixels, part * square.side) for square in found]
    limit = np.maximum(tuning.BENT_RATIO * np.median(errors), least)
    keep = [k for k in everyone if errors[k] <= limit[k]]
    return keep if len(keep) >= 2 else everyone


def _as_card(pose: CameraPose, squares: SquareSet, side: float) -> Floats | None:
    """Return the layout's places of the used squares when they lie as on the uncut card."""
    ids = [square.id for square in pose.squares]
    if len(ids) < 2 or len(set(ids)) < len(ids) or not set(ids) <= set(squares.layout):
        return None
    scale = side / squares.side
    layout = np.array([squares.layout[number] for number in ids]) * scale
    places = pose.places
    turns = np.unwrap(places[:, 2])
    turn = float(np.mean(turns))
    if np.abs(turns - turn).max() > np.radians(tuning.CARD_TURN_DEG):
        return None
    flat = rotated(places[:, :2] - places[:, :2].mean(axis=0), -turn)
    stray = flat - (layout - layout.mean(axis=0))
    most = tuning.CARD_STRAY * side * (1 + tuning.CARD_STRAY_MORE * len(ids))
    return layout if np.abs(stray).max() < most else None
