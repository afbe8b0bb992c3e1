"""Scraps that lie close together are measured one by one; a scrap narrow somewhere stays whole."""

from pathlib import Path

import pytest
from shapely import affinity
from shapely.geometry import Polygon, box

from tests.support.photographed import loose, photographed, reading, scrap

RED, BLUE, GREEN = (150, 40, 50), (40, 90, 150), (70, 110, 60)


def _areas(path: Path) -> list[float]:
    return sorted(s.outline.area for s in reading(path).scraps)


@pytest.mark.parametrize("gap", [0.08, 0.12, 0.18, 0.28])
def test_scraps_of_one_cloth_close_to_each_other_are_two(tmp_path: Path, gap: float) -> None:
    """Along three inches of a longer one's edge."""
    pieces = [scrap(box(-5, 0, 3, 2)), scrap(box(-2, -3 - gap, 1, -gap))]
    assert _areas(photographed(tmp_path, pieces, loose())) == pytest.approx([9, 16], rel=0.03)


@pytest.mark.parametrize("table", ["mat", "carpet"])
def test_a_heap_of_neighbours_is_taken_apart(tmp_path: Path, table: str) -> None:
    """Corner to corner and edge to edge, a tenth of an inch between."""
    outlines = [
        box(-5, 0, -1.1, 3),
        box(-1, 0.5, 2, 3.5),
        affinity.rotate(box(2.5, 1, 4.5, 3), 45),
        Polygon([(-4.5, -0.1), (-0.5, -0.1), (-2.5, -3)]),
        box(-0.4, -3, 3, 0.4),
    ]
    colours = [RED, BLUE, RED, GREEN, RED]
    pieces = [scrap(o, colour=c) for o, c in zip(outlines, colours, strict=True)]
    found = _areas(photographed(tmp_path, pieces, loose(), table=table, colour=None))
    assert found == pytest.approx(sorted(o.area for o in outlines), rel=0.03)


def test_scraps_of_two_cloths_that_touch_at_a_corner_are_two(tmp_path: Path) -> None:
    tilted = affinity.rotate(box(0, -1.5, 3, 1.5), 45, origin=(0, 0))
    pieces = [scrap(box(-5, -2, 0, 2)), scrap(affinity.translate(tilted, 1.05, 0), colour=BLUE)]
    assert tilted.bounds[0] == pytest.approx(-1.06, abs=0.01)
    assert _areas(photographed(tmp_path, pieces, loose())) == pytest.approx([9, 20], rel=0.03)


@pytest.mark.parametrize("neck", [0.15, 0.25])
def test_a_scrap_that_is_narrow_somewhere_stays_whole(tmp_path: Path, neck: float) -> None:
    upper = [(5, 2), (1, 2), (1, 1), (0, neck / 2), (-1, 1), (-1, 2), (-5, 2)]
    whole = Polygon([*upper, *((x, -y) for x, y in reversed(upper))])
    found = _areas(photographed(tmp_path, [scrap(whole)], loose()))
    assert found == pytest.approx([whole.area], rel=0.02)


@pytest.mark.parametrize("gap", [0.12, 0.22, 0.3])
def test_pieces_of_one_size_in_rows_are_told_apart_or_asked_about(
    tmp_path: Path, gap: float
) -> None:
    """A line as narrow as the first, in the table's colour, may be printed right across."""
    at = [-4.6 + i * (3 + gap) for i in range(3)]
    pieces = [scrap(box(x, y, x + 3, y + 3)) for x in at for y in at[:2]]
    found = reading(photographed(tmp_path, pieces, loose()))
    asked = [note for note in found.notes if "may be several" in note]
    if len(found.scraps) == 6 or gap > 0.25:
        assert [s.outline.area for s in found.scraps] == pytest.approx([9] * 6, rel=0.03)
        assert not asked
    else:
        # No less than the six pieces, no more than they and what lies between them.
        total = sum(s.outline.area for s in found.scraps)
        assert 0.97 * 54 < total < 1.01 * (9 + 2 * gap) * (6 + gap)
        assert len(asked) == len(found.scraps)


def test_small_scraps_beside_others_are_not_lost(tmp_path: Path) -> None:
    """An inch square, and a strip half an inch wide."""
    outlines = [box(-5, -1.5, -2, 1.5), box(-1.8, -0.5, -0.8, 0.5), box(-0.6, -1.5, 2.4, 1.5),
                box(-5, 1.68, -2, 2.2)]  # fmt: skip
    pieces = [scrap(o, colour=c) for o, c in zip(outlines, (RED, RED, RED, BLUE), strict=True)]
    found = _areas(photographed(tmp_path, pieces, loose()))
    assert found == pytest.approx(sorted(o.area for o in outlines), rel=0.05)
