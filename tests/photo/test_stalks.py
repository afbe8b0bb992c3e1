"""Parts of a scrap too narrow to be measured: whether one hangs on an outline, by geometry."""

from pathlib import Path

import numpy as np
import pytest
import shapely
from shapely import affinity
from shapely.geometry import LineString, Polygon, box
from shapely.geometry.base import BaseGeometry

from scrapstore.photo.outline.stalks import has_stalk
from tests.support.photographed import loose, photographed, reading, scrap

BODY = box(-2, -1.5, 2, 1.5)


def stalked(cloth: BaseGeometry) -> bool:
    ring = np.asarray(shapely.geometry.polygon.orient(BODY).exterior.coords)[:-1]
    return has_stalk(ring, lambda p: np.asarray(shapely.contains_xy(cloth, p[:, 0], p[:, 1])))


@pytest.mark.parametrize("wide", [0.15, 0.2, 0.3])
@pytest.mark.parametrize("turn_deg", [0, 30, 270])
def test_a_stalk_is_seen_wherever_it_hangs_on(wide: float, turn_deg: float) -> None:
    stalk = affinity.rotate(box(0, -wide / 2, 4, wide / 2), turn_deg, origin=(0, 0))
    assert stalked(BODY.union(stalk))


@pytest.mark.parametrize(
    "cloth",
    [
        BODY,
        BODY.union(LineString([(1, 1), (1, 4)]).buffer(0.015)),  # a thread
        BODY.union(box(2.15, -1.5, 6, 1.5)),  # another scrap beside it
        BODY.union(box(-2, 1.5, 2, 1.6)),  # the outline is a little small
        box(-9, -9, 9, 9),  # all alike
    ],
    ids=["nothing", "thread", "neighbour", "narrow outline", "alike"],
)
def test_what_is_no_stalk(cloth: BaseGeometry) -> None:
    assert not stalked(cloth)


def test_a_narrow_part_that_is_left_out_is_told(tmp_path: Path) -> None:
    """A strip 0.2 in wide and 2 in long on the second scrap; loose threads are none."""
    strip = affinity.translate(BODY, 3.5).union(box(5, -0.1, 7.7, 0.1))
    assert isinstance(strip, Polygon)
    found = reading(
        photographed(tmp_path, [scrap(affinity.translate(BODY, -4)), scrap(strip)], loose())
    )
    (note,) = [note for note in found.notes if "narrow part" in note]
    assert "scrap 2 " in note
    assert found.scraps[1].outline.area == pytest.approx(BODY.area, rel=0.02)
