"""Fits what a stated uncertainty makes of the signs of an edge, and checks it on other cloth.

Run by hand, on folders in which tests.benchmarks.photo_cloth and tests.benchmarks.photo_measure
kept their photos::

    python -m tests.benchmarks.photo_doubt FOLDER …

The quantile of 95 % of the logarithm of an outline's largest error is taken to be linear in the
terms of `EdgeSigns`, with no weight below 0 (quantile regression: Koenker and Bassett,
Econometrica 46, 1978; solved as a linear programme). Half of the photos fit, half check; the
weights printed last are of all, patterned tables apart. They stand in
`scrapstore/photo/outline/tuning.py`.
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
from scrapstore.photo.outline.tuning import MOST_HIDDEN
from scrapstore.photo.outline.uncertainty import edge_uncertainty, geometry_uncertainty
from scrapstore.photo.picture import decode_photo
from scrapstore.photo.scale import CameraPose, read_scale
from scrapstore.photo.segmentation import segment_scraps
from tests.benchmarks.photo_cloth.tables import PATTERNED
from tests.benchmarks.photo_measure import boundary_error, fitted

QUANTILE = 0.95
LEAST_ERROR = 0.005  # in: smaller ones are of no matter
PULL = 0.3  # on each weight, in scraps: a sign that tells little is left out

Array = NDArray[np.float64]


def observed(path: Path) -> list[tuple[EdgeSigns, float, float, str]]:
    """Of each scrap found: its signs, error, the camera's part of the doubt, the table."""
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
        signs = edge_signs(one.outline, one.edge, one.contrast, one.segment.widest_patch)
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
        [[0.0], np.full(signs - 1, PULL), np.full(count, QUANTILE), np.full(count, 1 - QUANTILE)]
    )
    bounds = [(None, None)] + [(0, None)] * (signs - 1 + 2 * count)
    sides = np.hstack([terms, np.eye(count), -np.eye(count)])
    logs = np.log(np.maximum(errors, LEAST_ERROR))
    solved = linprog(price, A_eq=sides, b_eq=logs, bounds=bounds)
    return np.asarray(solved.x, np.float64)[:signs]


def said(name: str, terms: Array, errors: Array, others: Array, most: Array, weights: Array) -> str:
    """Return how often the doubt by these weights holds, and how large it is.

    `most`: logarithm of what no doubt is above.
    """
    stated = np.hypot(np.exp(np.minimum(terms @ weights, most)), others)
    return (
        f"{name:24} {len(errors):4} scraps, error {np.median(errors):.3f}, holds in "
        f"{np.mean(errors <= stated):6.1%}, stated {np.median(stated):.3f}, 95 % "
        f"{np.percentile(stated, 95):.3f}"
    )


def main() -> None:
    """Read, fit, check, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folders", type=Path, nargs="+")
    given = parser.parse_args()
    paths = [path for folder in given.folders for path in sorted(folder.glob("*.jpg"))]
    paths = [path for path in paths if path.with_suffix(".truth").exists()]
    rows = [(number, row) for number, path in enumerate(paths) for row in observed(path)]
    terms = np.array([row[0].terms() for _, row in rows])
    most = np.log([MOST_HIDDEN + row[0].bitten + row[0].bumped for _, row in rows])
    errors, others = (np.array([row[k] for _, row in rows]) for k in (1, 2))
    tables = np.array([row[3] for _, row in rows])
    check = np.array([number % 2 == 1 for number, _ in rows])
    plain = ~np.isin(tables, PATTERNED)
    weights = fit(terms[~check & plain], errors[~check & plain])
    for name, chosen in (("fitted", ~check & plain), ("checked", check & plain)):
        print(said(name, terms[chosen], errors[chosen], others[chosen], most[chosen], weights))
    weights = fit(terms[plain], errors[plain])
    for table in sorted(set(tables)):
        chosen = tables == table
        print(said(table, terms[chosen], errors[chosen], others[chosen], most[chosen], weights))
    print("weights of all:", np.round(weights, 3).tolist())


if __name__ == "__main__":
    main()
