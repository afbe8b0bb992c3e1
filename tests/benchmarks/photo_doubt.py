"""Fits what a stated uncertainty makes of the signs of an edge, and checks it on other cloth.

Run by hand, on folders in which tests.benchmarks.photo_cloth and tests.benchmarks.photo_measure
kept their photos, those of one half of the cloths apart from those of the other::

    python -m tests.benchmarks.photo_doubt --fit EVEN MEASURE --check ODD

A quantile of an outline's largest error is taken to be linear in the terms of `EdgeSigns`, with no
weight below 0 (quantile regression: Koenker and Bassett, Econometrica 46, 1978; solved as a linear
programme). What camera and squares add to the doubt comes on top, so that the quantile of 91 %
holds 95 times in 100. The weights printed stand in `scrapstore/photo/outline/tuning.py`. Patterned
tables take no part.
"""

import argparse
import pickle
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog
from shapely import affinity

from scrapstore.photo import OUR_PRINT, Refusal
from scrapstore.photo.outline import EdgeSigns, edge_signs, trace_scraps
from scrapstore.photo.outline.uncertainty import edge_uncertainty, geometry_uncertainty
from scrapstore.photo.picture import decode_photo
from scrapstore.photo.scale import CameraPose, read_scale
from scrapstore.photo.segmentation import segment_scraps
from tests.benchmarks.photo_cloth.tables import PATTERNED
from tests.benchmarks.photo_measure import boundary_error, fitted

QUANTILE = 0.91

Array = NDArray[np.float64]
Row = tuple[EdgeSigns, float, float, str]
"""Of a scrap: its signs, its error, the camera's part of the doubt, the table."""


def observed(path: Path) -> list[Row]:
    """Return what is seen of each scrap found in a photo."""
    truth = pickle.loads(path.with_suffix(".truth").read_bytes())  # noqa: S301 - our own file
    photo = decode_photo(path)
    scale = read_scale(photo, OUR_PRINT, 1.0, None)
    if isinstance(scale, Refusal):
        return []
    traced, _ = trace_scraps(segment_scraps(photo.pixels, scale))
    motion = _to_truth(scale.pose, truth)
    found = []
    for one in traced:
        placed = affinity.affine_transform(one.outline, motion)
        true = max(truth.scraps, key=lambda t: placed.intersection(t.outline).area)
        if placed.intersection(true.outline).area < 0.5 * placed.union(true.outline).area:
            continue
        error = boundary_error(fitted(placed, true.outline), true.outline)
        ring = np.asarray(one.outline.exterior.coords)[:-1]
        signs = edge_signs(
            one.outline, one.edge, one.contrast,
            apart=one.segment.apart, patch=one.segment.widest_patch,
        )  # fmt: skip
        inch = float(scale.pose.view.pixels_per_inch(ring.mean(axis=0)[None])[0])
        other = np.hypot(geometry_uncertainty(ring, scale.pose), edge_uncertainty(inch, 0.0))
        found.append((signs, error, float(other), truth.table))
    return found


def _to_truth(pose: CameraPose, truth: Any) -> list[float]:
    """Return the rigid motion onto the truth's table that brings the squares' corners nearest."""
    own = np.array([[-0.5, 0.5], [0.5, 0.5], [0.5, -0.5], [-0.5, -0.5]])
    turned = [own @ _turn(-turn) + (x, y) for x, y, turn in pose.places]
    true = {square.id: square.corners for square in truth.squares}
    a, b = np.vstack(turned), np.vstack([true[square.id] for square in pose.squares])
    ca, cb = a - a.mean(0), b - b.mean(0)
    turn = np.arctan2(np.sum(ca[:, 0] * cb[:, 1] - ca[:, 1] * cb[:, 0]), np.sum(ca * cb))
    shift = b.mean(0) - _turn(turn) @ a.mean(0)
    return [*_turn(turn).ravel(), *shift]


def _turn(radians: float) -> Array:
    c, s = np.cos(radians), np.sin(radians)
    return np.array([[c, -s], [s, c]])


def fit(terms: Array, errors: Array) -> Array:
    """Return the weights of the terms, the first free, the others not below 0."""
    count, signs = terms.shape
    price = np.concatenate(
        [np.zeros(signs), np.full(count, QUANTILE), np.full(count, 1 - QUANTILE)]
    )
    bounds = [(None, None)] + [(0, None)] * (signs - 1 + 2 * count)
    sides = np.hstack([terms, np.eye(count), -np.eye(count)])
    solved = linprog(price, A_eq=sides, b_eq=errors, bounds=bounds)
    return np.asarray(solved.x, np.float64)[:signs]


def said(name: str, rows: list[Row], weights: Array) -> str:
    """Return how often the doubt by these weights holds, and how large it is."""
    terms = np.array([signs.terms() for signs, _, _, _ in rows])
    errors, others = (np.array([row[k] for row in rows]) for k in (1, 2))
    stated = np.hypot(np.maximum(terms @ weights, 0), others)
    return (
        f"{name:24} {len(errors):4} scraps, error {np.median(errors):.3f}, holds in "
        f"{np.mean(errors <= stated):6.1%}, stated {np.median(stated):.3f}, 95 % "
        f"{np.percentile(stated, 95):.3f}"
    )


def rows_in(folders: list[Path]) -> list[Row]:
    """Return what is observed on all photos of plain tables in the folders."""
    paths = [path for folder in folders for path in sorted(folder.glob("*.jpg"))]
    found = [row for path in paths if path.with_suffix(".truth").exists() for row in observed(path)]
    return [row for row in found if row[3] not in PATTERNED]


def main() -> None:
    """Read, fit, check, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--fit", type=Path, nargs="+", required=True)
    parser.add_argument("--check", type=Path, nargs="+", required=True)
    given = parser.parse_args()
    fitted_on, checked = rows_in(given.fit), rows_in(given.check)
    terms = np.array([signs.terms() for signs, _, _, _ in fitted_on])
    weights = fit(terms, np.array([error for _, error, _, _ in fitted_on]))
    print(said("fitted", fitted_on, weights))
    print(said("checked", checked, weights))
    for table in sorted({table for _, _, _, table in checked}):
        print(said(table, [row for row in checked if row[3] == table], weights))
    print("weights:", np.round(weights, 3).tolist())


if __name__ == "__main__":
    main()
