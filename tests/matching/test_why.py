"""Near misses to the ruler's mark, and the change that helps most."""

from dataclasses import replace

import pytest
from shapely import Polygon, affinity, box

from scrapstore.matching import (
    Need,
    RoleRule,
    ScrapStock,
    helpful_changes,
    match,
    nearest_misses,
    pieced_from_two,
)
from tests.support.stock import SQUARE

BLUE = {"star": RoleRule("star", families=frozenset({"blue"}))}


def cloth(number: int, region: Polygon, family: str = "blue") -> ScrapStock:
    return ScrapStock(id=number, region=region, families=frozenset({family}))


def test_a_near_miss_is_told_to_the_eighth() -> None:
    """For a 2 in square: 1.65 in wide lacks 0.35, so 3/8; 1.2 lacks 7/8; red cloth is no miss."""
    scraps = [
        cloth(1, box(0, 0, 9, 1.65)), cloth(2, box(0, 0, 9, 1.2)),
        cloth(3, box(0, 0, 9, 1.9), "red"),
    ]  # fmt: skip
    needs = [Need("square", "star", SQUARE, 2, (0.0,))]
    answer = match(scraps, [], needs, BLUE)
    misses = nearest_misses(answer, scraps, needs, BLUE)
    assert [(m.scrap_id, m.lacking, m.off_grain) for m in misses] == [
        (1, 0.375, False), (2, 0.875, False),
    ]  # fmt: skip


def test_a_piece_that_fits_off_the_grain_or_with_trimmed_tips_is_told() -> None:
    scraps = [cloth(1, affinity.rotate(box(0, 0, 2.1, 2.1), 45))]
    pointed = Polygon([(0, 0), (4, 0), (0, 4)])
    trimmed = Polygon([(0, 0), (3.4, 0), (3.4, 0.6), (0.6, 3.4), (0, 3.4)])
    square = [Need("square", "star", SQUARE, 1, (0.0,))]
    (miss,) = nearest_misses(match(scraps, [], square, BLUE), scraps, square, BLUE)
    assert miss.off_grain
    half = [Need("half", "star", pointed, 1, (0.0,), sews_as=(pointed, trimmed))]
    scraps = [cloth(1, trimmed.buffer(0.05, join_style="mitre"))]
    (miss,) = nearest_misses(match(scraps, [], half, BLUE), scraps, half, BLUE)
    assert miss.trimmed


def test_the_single_change_that_covers_most_comes_first() -> None:
    """Red cloth would give four squares, a fat quarter all nine that are short."""
    scraps = [cloth(1, box(0, 0, 2, 2)), cloth(2, box(0, 0, 4, 4), "red")]
    needs = [Need("square", "star", SQUARE, 10, (0.0,))]
    answer = match(scraps, [], needs, BLUE)
    changes = helpful_changes(answer, scraps, needs, BLUE)
    assert [(c.what, c.more) for c in changes] == [
        ("one fat quarter bought", 9), ("red allowed", 4),
    ]  # fmt: skip


def test_nothing_short_needs_no_why() -> None:
    scraps, needs = [cloth(1, box(0, 0, 2, 2))], [Need("square", "star", SQUARE, 1, (0.0,))]
    answer = match(scraps, [], needs, BLUE)
    assert nearest_misses(answer, scraps, needs, BLUE) == ()
    assert helpful_changes(answer, scraps, needs, BLUE) == ()


@pytest.mark.parametrize("kept", [False, True])
def test_a_scrap_in_use_is_no_near_miss(kept: bool) -> None:
    scraps = [cloth(1, box(0, 0, 2, 2))]
    needs = [Need("square", "star", SQUARE, 1 + kept, (0.0,))]
    answer = match(scraps, [], needs, BLUE)
    assert nearest_misses(answer, scraps, needs, BLUE) == ()


def test_a_set_that_no_fabric_can_fill_is_told_as_such() -> None:
    """Each cloth gives three squares; sets of four from one are what keeps them from being used."""
    scraps = [cloth(number, box(0, 0, 6, 2)) for number in (1, 2)]
    rules = {"star": RoleRule("star", frozenset({"blue"}), same_fabric_sets=4)}
    needs = [Need("square", "star", SQUARE, 4, (0.0,))]
    answer = match(scraps, [], needs, rules)
    assert answer.together.covered == 0
    changes = helpful_changes(answer, scraps, needs, rules)
    assert ("sets of 4 no longer from one fabric", 4) in [(c.what, c.more) for c in changes]
    # A whole square lies on either: nothing has to be pieced.
    assert pieced_from_two(answer, scraps, needs, rules, 0.25) == ()


def test_a_fabric_whose_share_is_used_up_promises_no_more() -> None:
    """Two squares of one fabric at most: the same fabric in red gives none besides."""
    scraps = [
        ScrapStock(id=1, fabric="sail", families=frozenset({"blue"}), region=box(0, 0, 4, 2)),
        ScrapStock(id=2, fabric="sail", families=frozenset({"red"}), region=box(0, 0, 8, 2)),
        ScrapStock(id=3, fabric="flag", families=frozenset({"red"}), region=box(0, 0, 2, 2)),
    ]
    rules = {"star": RoleRule("star", frozenset({"blue"}), max_per_fabric=2)}
    needs = [Need("square", "star", SQUARE, 9, (0.0,))]
    answer = match(scraps, [], needs, rules)
    assert answer.together.covered == 2
    told = {c.what: c.more for c in helpful_changes(answer, scraps, needs, rules)}
    allowed = {"star": replace(rules["star"], families=frozenset({"blue", "red"}))}
    assert told["red allowed"] == match(scraps, [], needs, allowed).together.covered - 2 == 1
