"""Roles that are provided for in part elsewhere, and needs that count more than others."""

from collections import Counter

import pytest
from shapely import Polygon, box

from scrapstore.matching import Answer, Need, RoleRule, ScrapStock, faults, match

SQUARE = box(0, 0, 2, 2)


def cloth(fabric: str, wide: float, number: int = 1) -> ScrapStock:
    return ScrapStock(id=number, fabric=fabric, region=box(0, 0, wide, 2))


def want(count: int, name: str = "square", outline: Polygon = SQUARE, weight: float = 1) -> Need:
    return Need(name, "top", outline, count, (0.0,), weight=weight)


def answer(scraps: list[ScrapStock], needs: list[Need], rule: RoleRule) -> Answer:
    found = match(scraps, [], needs, {"top": rule}, effort=0.3)
    assert faults(found, scraps, [], needs, {"top": rule}) == []
    return found


@pytest.mark.parametrize(
    ("fabric", "wanted", "covered", "rule"),
    [
        # 8 × 2 gives four squares. At most 5 of one fabric, 3 are there: 2 more of it, 4 of others.
        ("red", 9, 2, {"max_per_fabric": 5}),
        ("blue", 9, 4, {"max_per_fabric": 5}),
        # Three fabrics, one is there. Of four that lack, two must stay for the two other fabrics;
        # blue is one of them, and one stays for the third.
        ("red", 4, 2, {"min_fabrics": 3}),
        ("blue", 4, 3, {"min_fabrics": 3}),
        ("red", 9, 4, {"min_fabrics": 3}),
        # In sets of two: a set must stay for the other fabric.
        ("red", 4, 2, {"min_fabrics": 2, "same_fabric_sets": 2}),
        ("blue", 4, 4, {"min_fabrics": 2, "same_fabric_sets": 2}),
    ],
)
def test_conditions_hold_for_what_is_there_and_what_comes_together(
    fabric: str, wanted: int, covered: int, rule: dict[str, int]
) -> None:
    role = RoleRule("top", taken=Counter({"red": 3}), **rule)  # type: ignore[arg-type]
    found = answer([cloth(fabric, 8)], [want(wanted)], role)
    assert found.supplies[0].scraps == covered
    assert found.supplies[0].at_most >= covered
    assert found.unmet == ()


def test_a_role_that_nothing_is_there_of_leaves_room_for_other_fabrics() -> None:
    """Four of three fabrics, red gives two; without `taken` it gives all four and that is said."""
    scraps, needs = [cloth("red", 8)], [want(4)]
    begun = answer(scraps, needs, RoleRule("top", min_fabrics=3, taken={}))
    assert (begun.supplies[0].scraps, begun.unmet) == (2, ())
    alone = answer(scraps, needs, RoleRule("top", min_fabrics=3))
    assert alone.supplies[0].scraps == 4
    assert len(alone.unmet) == 1


def test_the_second_opinion_refuses_what_leaves_too_few_for_other_fabrics() -> None:
    scraps, needs = [cloth("red", 8)], [want(4)]
    alone = answer(scraps, needs, RoleRule("top"))
    for rule in ({"min_fabrics": 3}, {"max_per_fabric": 5}):
        begun = RoleRule("top", taken={"red": 3}, **rule)  # type: ignore[arg-type]
        assert faults(alone, scraps, [], needs, {"top": begun})


def test_what_counts_more_comes_first_and_the_rest_takes_what_is_left() -> None:
    """On 5 × 2 one square leaves 3 × 2 for three bricks of 1 × 2; by area alone five bricks win.

    Both cover all 10 sq in where one square is had, and so do the five bricks: what weighs decides.
    """
    scraps = [cloth("red", 5)]
    brick = box(0, 0, 1, 2)
    for square, bricks in ((100.0, 1.0), (1.0, 100.0)):
        needs = [want(1, weight=square), want(5, "brick", brick, weight=bricks)]
        found = answer(scraps, needs, RoleRule("top"))
        counts = {supply.need: supply.scraps for supply in found.supplies}
        expected = {"square": 1, "brick": 3} if square > bricks else {"square": 0, "brick": 5}
        assert counts == expected
