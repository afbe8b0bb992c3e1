"""Tips that a rough outline has lost: where the cloth goes on, known by geometry."""

import numpy as np
import pytest
import shapely
from shapely.geometry import LineString, Polygon, box
from shapely.geometry.base import BaseGeometry

from scrapstore.photo.outline.tips import with_tips

STEP = 0.01
TRIANGLE = Polygon([(0, 0), (4, 0), (0, 1.5)])  # 20.6° at (4, 0)
HORNED = box(0, 0, 3, 2).union(Polygon([(2.8, 2), (3, 1.8), (3.16, 2.12)]))  # 36° at its end


def grown(rough: BaseGeometry, cloth: BaseGeometry) -> np.ndarray:
    assert isinstance(rough, Polygon)
    ring = np.asarray(shapely.geometry.polygon.orient(rough).exterior.coords)[:-1]

    def is_scrap(places: np.ndarray) -> np.ndarray:
        return np.asarray(shapely.contains_xy(cloth, places[:, 0], places[:, 1]))

    return with_tips(ring, is_scrap, STEP)


def nearest(ring: np.ndarray, place: tuple[float, float]) -> float:
    return float(np.linalg.norm(ring - place, axis=1).min())


@pytest.mark.parametrize(
    ("cloth", "rough", "tip"),
    [
        (TRIANGLE, Polygon([(0, 0), (3.7, 0.02), (0, 1.5)]), (4, 0)),
        (HORNED, box(0, 0, 3, 2), (3.16, 2.12)),
    ],
    ids=["triangle", "horn"],
)
def test_a_blunted_corner_is_moved_out_to_the_tip(
    cloth: Polygon, rough: Polygon, tip: tuple[float, float]
) -> None:
    """To where the cloth is no wider than a thread of 0.03 in: so far from the end of 20.6°."""
    found = nearest(grown(rough, cloth), tip)
    assert found < 0.03 / (2 * np.tan(np.radians(10.3))) + 2 * STEP
    assert found < 0.6 * nearest(np.asarray(rough.exterior.coords), tip)


@pytest.mark.parametrize(
    "beside",
    [
        LineString([(3, 2), (3.4, 2.5)]).buffer(0.012),  # a thread at the corner
        LineString([(2, 3), (4, 1)]).buffer(0.3),  # other cloth across it
        Polygon(),
    ],
    ids=["thread", "other cloth", "nothing"],
)
def test_a_corner_stays_where_the_cloth_ends_there(beside: BaseGeometry) -> None:
    corners = np.asarray(box(0, 0, 3, 2).exterior.coords)
    found = grown(box(0, 0, 3, 2), box(0, 0, 3, 2).union(beside))
    assert max(nearest(found, tuple(corner)) for corner in corners) < 1e-9


def test_corners_into_the_scrap_stay() -> None:
    cloth = box(0, 0, 4, 4).difference(box(2, 2, 4, 4))
    found = grown(cloth, box(-9, -9, 9, 9))
    assert nearest(found, (2, 2)) < 1e-9
