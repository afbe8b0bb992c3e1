"""The change of light across the table, as the table itself shows it, taken out of its colours."""

from typing import Final

import cv2
import numpy as np

from scrapstore.photo.arrays import Field, Floats, Mask
from scrapstore.photo.segmentation import tuning
from scrapstore.photo.segmentation.colour_model import cluster, weighted

__all__ = ["in_even_light", "in_local_light"]

_LIGHT_NODES: Final = 65  # along each side


def in_even_light(features: Field, table: Mask) -> Field:
    """Return features (rows × columns × 3) without the wide changes of light.

    `table`: where the table is seen. It may be of several colours, patterned or a mat on a desk:
    each has a level of its own, and light the same slopes on all.
    """
    places = np.argwhere(table)
    if not len(places):
        return features
    places = places[:: max(1, len(places) // tuning.LIGHT_PLACES)]
    far = np.array(table.shape) / 2
    found = _slopes(
        _terms(*(places / far - 1).T), features[places[:, 0], places[:, 1]].astype(np.float64)
    )
    # Light changes slowly: it is put together at a few places.
    down, across = np.meshgrid(*[np.linspace(-1, 1, _LIGHT_NODES)] * 2, indexing="ij")
    coarse = (_terms(down.ravel(), across.ravel()) @ found).reshape(*down.shape, 3)
    rows, columns = table.shape
    grow = np.array(
        [[(columns - 1) / (_LIGHT_NODES - 1), 0, 0], [0, (rows - 1) / (_LIGHT_NODES - 1), 0]]
    )
    light = cv2.warpAffine(
        coarse.astype(np.float32), grow, (columns, rows), flags=cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    )  # fmt: skip
    return np.asarray(features - light, np.float32)


def _terms(down: Floats, across: Floats) -> Floats:
    """Return the terms of a curved slope (n × 5) at places from -1 to 1."""
    return np.column_stack([across, down, across**2, across * down, down**2])


def _slopes(terms: Floats, colours: Floats) -> Floats:
    """Return how each channel changes with each term (terms × 3), whatever colours lie there."""
    # Light changes brightness most: at first the table's colours are told apart by their tints.
    levels = _levels_of(colours * np.array([0, 1, 1]))
    for _ in range(tuning.LIGHT_ROUNDS):
        columns = np.hstack([levels, terms])
        # A little pull towards evenness keeps what hardly shows at zero.
        pull = np.diag([1e-6] * levels.shape[1] + [tuning.EVENNESS] * terms.shape[1]) * len(terms)
        weight = np.ones(len(terms))
        for _ in range(3):  # again with less weight on what fits badly: what lies on the table
            held = columns.T * weight
            solved = np.linalg.solve(held @ columns + pull, held @ colours)
            off = np.linalg.norm(weighted(np.asarray(colours - columns @ solved, "f4")), axis=1)
            weight = 1 / (1 + (off / (1.5 * np.median(off) + 1e-3)) ** 2)
        found = solved[levels.shape[1] :]
        levels = _levels_of(colours - terms @ found)
    return np.asarray(found)


def _levels_of(colours: Floats) -> Floats:
    """Return which of a few colours each one is: n × k, 1 or 0."""
    some = np.ascontiguousarray(weighted(np.asarray(colours, np.float32)))
    labels, _ = cluster(some, tuning.LIGHT_LEVELS)
    return np.asarray(labels[:, None] == np.unique(labels), np.float64)


def in_local_light(features: Field, table: Mask, scale: float) -> Field:
    """Return how features differ from the table near by, which shadows, lamps and wear change.

    `scale`: pixels an inch.
    """
    if not table.any():
        return features
    features = features - features[table].mean(axis=0)
    step = tuning.LOCAL_STEP
    size = (max(1, table.shape[1] // step), max(1, table.shape[0] // step))
    weight = table.astype(np.float32)
    held, known = (
        cv2.GaussianBlur(
            cv2.resize(each, size, interpolation=cv2.INTER_AREA),
            (0, 0),
            tuning.LOCAL_REACH * scale / step,
        )
        for each in (features * weight[..., None], weight)
    )
    local = held / (known + tuning.LOCAL_PRIOR)[..., None]
    return np.asarray(features - cv2.resize(local, table.shape[::-1]), np.float32)
