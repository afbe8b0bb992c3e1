"""Near misses to the ruler's mark, and the change that helps most."""

from dataclasses import replace

import pytest
from shapely import Polygon, affinity, box

from scrapstore.matching import (
    Need,
    ReadyStock,
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
    assert [(m.scrap_id, m.reason, m.lacking, m.off_grain) for m in misses] == [
        (1, "narrow", 0.375, False), (2, "narrow", 0.875, False),
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
    quarter = box(0, 0, 17.5, 20)
    changes = helpful_changes(answer, scraps, needs, BLUE, fat_quarters={"star": quarter})
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


STRIP = [Need("strip", "star", box(0, 0, 8, 2), 1, (0.0,))]


@pytest.mark.parametrize(
    ("region", "told"),
    [
        (box(0, 0, 7.5, 2.2), [("short", 0.5, False)]),
        (box(0, 0, 9, 1.8), [("narrow", 0.25, False)]),
        (box(0, 0, 7.9, 1.8), [("small", 0.25, False)]),
        (affinity.rotate(box(0, 0, 9, 2.2), 90), [("shape", None, True)]),
        (affinity.rotate(box(0, 0, 9, 1.8), 90), []),
    ],
    ids=["too short", "too narrow", "both", "off the grain", "off the grain too narrow as well"],
)
def test_the_reason_is_the_true_one(
    region: Polygon, told: list[tuple[str, float | None, bool]]
) -> None:
    scraps = [cloth(1, region)]
    misses = nearest_misses(match(scraps, [], STRIP, BLUE), scraps, STRIP, BLUE)
    assert [(m.reason, m.lacking, m.off_grain) for m in misses] == told


def test_unknown_grain_is_told_as_such_with_the_direction_that_would_do() -> None:
    """A strip that must lie lengthwise: it would lie along one side of 9 × 2.5 in."""
    scraps = [
        replace(cloth(1, box(0, 0, 9, 2.5)), grain_known=False),
        replace(cloth(2, box(0, 0, 2.5, 9)), grain_known=False),
        replace(cloth(3, box(0, 0, 9, 9)), grain_known=False),
    ]
    need = [replace(STRIP[0], needs_grain=True, rotations_deg=(0.0, 180.0))]
    answer = match(scraps, [], need, BLUE)
    misses = {m.scrap_id: m for m in nearest_misses(answer, scraps, need, BLUE)}
    assert {m.reason for m in misses.values()} == {"grain"}
    assert {i: m.grain_deg for i, m in misses.items()} == {1: (0.0,), 2: (90.0,), 3: (0.0, 90.0)}


def test_a_scrap_that_a_condition_keeps_out_is_told_so_and_not_called_too_small() -> None:
    fabric = [
        ScrapStock(id=i, fabric="sail", families=frozenset({"blue"}), region=box(0, 0, 2, 2))
        for i in (1, 2)
    ]
    needs = [Need("square", "star", SQUARE, 4, (0.0,))]
    for rule, reason in (
        (replace(BLUE["star"], max_per_fabric=1), "share"),
        (replace(BLUE["star"], same_fabric_sets=3), "set"),
    ):
        answer = match(fabric, [], needs, {"star": rule})
        misses = nearest_misses(answer, fabric, needs, {"star": rule})
        assert {m.reason for m in misses} == {reason}


def test_ready_cut_pieces_count_towards_the_share_of_a_fabric() -> None:
    """Two of the fabric are ready-cut and two is all that it may give."""
    ready = [
        ReadyStock(
            id=1, fabric="sail", families=frozenset({"blue"}), value="dark", outline=SQUARE, count=2
        )
    ]
    scraps = [
        ScrapStock(
            id=1, fabric="sail", families=frozenset({"blue"}), value="light", region=box(0, 0, 8, 2)
        )
    ]
    rule = RoleRule("star", frozenset({"blue"}), frozenset({"dark"}), max_per_fabric=2)
    needs = [Need("square", "star", SQUARE, 6, (0.0,))]
    answer = match(scraps, ready, needs, {"star": rule})
    assert answer.together.covered == 2
    assert helpful_changes(answer, scraps, needs, {"star": rule}, ready=ready) == ()


def test_the_nearest_of_many_are_told_in_order() -> None:
    """Twenty scraps lack from 1/8 to 1 3/4 in; long ones lack no less for their area."""
    scraps = [cloth(i, box(0, 0, 3 + i, 2 - i / 12)) for i in range(20, 0, -1)]
    needs = [Need("square", "star", SQUARE, 2, (0.0,))]
    misses = nearest_misses(match(scraps, [], needs, BLUE), scraps, needs, BLUE)
    assert [(m.scrap_id, m.lacking) for m in misses] == [(1, 0.125), (2, 0.25), (3, 0.25)]


def test_small_area_is_as_far_from_a_piece_as_small_width() -> None:
    """Of two scraps as wide as the piece the longer is nearer, and both are before a narrow one."""
    scraps = [cloth(i, box(0, 0, 1 + i / 40, 2)) for i in range(30)]
    scraps += [cloth(100 + i, box(0, 0, 8, 0.9)) for i in range(30)]
    needs = [Need("square", "star", box(0, 0, 2, 2), 1, (0.0,))]
    misses = nearest_misses(match(scraps, [], needs, BLUE), scraps, needs, BLUE)
    assert [(m.scrap_id, m.lacking) for m in misses] == [(25, 0.375), (26, 0.375), (27, 0.375)]
