"""Pieced from two: the parts cover the piece with the allowance between, and lie on the scraps."""

import pytest
from shapely import Polygon, affinity, box
from shapely.ops import unary_union

from scrapstore.matching import Need, RoleRule, ScrapStock, match, pieced_from_two

ROLES = {"star": RoleRule("star")}
LONG = [Need("strip", "star", box(0, 0, 8, 2), 1, (0.0,))]
ALLOWANCE = 0.25


def cloth(number: int, region: Polygon, fabric: str | None = None) -> ScrapStock:
    return ScrapStock(id=number, region=region, fabric=fabric)


def pieced(scraps: list[ScrapStock], needs: list[Need] = LONG) -> list[tuple[int, int]]:
    """Return the scraps of each way found, after looking the geometry through."""
    answer = match(scraps, [], needs, ROLES, effort=0.2)
    ways = pieced_from_two(answer, scraps, needs, ROLES, ALLOWANCE)
    region = {scrap.id: scrap.region for scrap in scraps}
    for way in ways:
        outline = next(need.outline for need in needs if need.name == way.need)
        one, other = way.parts
        assert unary_union([one, other]).symmetric_difference(outline).area < 1e-9
        # What both parts have is the band of twice the allowance along the seam.
        band = one.intersection(other)
        turned = affinity.rotate(band, -way.seam_deg, origin=(0, 0))
        assert turned.bounds[3] - turned.bounds[1] == pytest.approx(2 * ALLOWANCE)
        for scrap_id, part, placement in zip(way.scrap_ids, way.parts, way.placements, strict=True):
            assert placement.outline.area == pytest.approx(part.area)
            assert region[scrap_id].buffer(1e-5).contains(placement.outline)
        if way.scrap_ids[0] == way.scrap_ids[1]:
            first, second = (placement.outline for placement in way.placements)
            assert first.intersection(second).area < 1e-5
    return [way.scrap_ids for way in ways]


def strips(length: float, *fabrics: str) -> list[ScrapStock]:
    return [cloth(i, box(0, 0, length, 2.1), fabric) for i, fabric in enumerate(fabrics)]


def test_two_short_strips_of_one_fabric_give_a_long_one() -> None:
    """8 in from two of 4 1/4 in: half and the allowance."""
    (way,) = pieced(strips(4.3, "sail", "sail"))
    assert sorted(way) == [0, 1]


def test_without_the_allowance_they_give_none() -> None:
    assert pieced(strips(4.1, "sail", "sail")) == []


def test_two_fabrics_are_not_sewn_to_one_piece() -> None:
    assert pieced(strips(4.3, "sail", "drill")) == []


def test_one_scrap_of_another_shape_gives_both_parts() -> None:
    assert pieced([cloth(1, box(0, 0, 4.5, 4.2))]) == [(1, 1)]


def test_the_grain_of_the_whole_is_kept() -> None:
    """The parts lie on their side only where the piece might."""
    tall = [cloth(1, box(0, 0, 2.1, 4.3), "sail"), cloth(2, box(0, 0, 2.1, 4.3), "sail")]
    assert pieced(tall) == []
    assert pieced(tall, [Need("strip", "star", box(0, 0, 8, 2), 1, (0.0, 90.0))]) != []
