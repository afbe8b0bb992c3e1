"""The whole match: conditions kept, counts right, nothing promised that cannot be cut."""

import itertools
import math
from dataclasses import replace

import pytest
from shapely import Polygon, affinity, box

from scrapstore.matching import (
    Need,
    ReadyStock,
    RoleRule,
    ScrapStock,
    congruent,
    faults,
    match,
)
from scrapstore.matching.patterns import kind_on
from scrapstore.matching.screen import min_width
from scrapstore.packing import Layout, verify
from tests.support.stock import SQUARE, random_stock

STAR = {"star": RoleRule("star")}


def squares(wanted: int) -> list[Need]:
    return [Need("square", "star", SQUARE, wanted, (0.0,))]


@pytest.mark.parametrize("seed", range(25))
def test_random_plans_pass_both_second_opinions(seed: int) -> None:
    scraps, ready, needs, roles = random_stock(seed, 12)
    answer = match(scraps, ready, needs, roles, seconds_per_scrap=0.02, effort=0.3)
    assert faults(answer, scraps, ready, needs, roles) == []
    by_id = {scrap.id: scrap for scrap in scraps}
    for use in answer.scrap_uses:
        scrap = by_id[use.scrap_id]
        kinds = [kind for need in needs if (kind := kind_on(need, scrap))]
        layout = Layout(use.placements, sum(p.outline.area for p in use.placements), float("inf"))
        assert verify(scrap.region, kinds, layout) == []


def test_the_same_stock_and_seed_give_the_same_plan() -> None:
    scraps, ready, needs, roles = random_stock(3, 10)
    plans = [
        match(scraps, ready, needs, roles, seconds_per_scrap=0.02, effort=1.0, seed=7)
        for _ in range(2)
    ]
    assert plans[0] == plans[1]


def test_a_scrap_that_yields_everything_leaves_nothing_short() -> None:
    """A 6 × 4 in scrap yields six 2 in squares by plain division."""
    scraps = [ScrapStock(id=1, region=box(0, 0, 6, 4))]
    answer = match(scraps, [], squares(6), STAR)
    (supply,) = answer.supplies
    assert (supply.scraps, supply.short, supply.at_most) == (6, 0, 6)


def test_what_no_scrap_gives_is_short_and_the_bound_says_at_most() -> None:
    """A 5 × 3 in scrap yields two 2 in squares: one row of two, and the rest is too narrow."""
    answer = match([ScrapStock(id=1, region=box(0, 0, 5, 3))], [], squares(6), STAR)
    (supply,) = answer.supplies
    assert (supply.scraps, supply.short) == (2, 4)
    assert 2 <= supply.at_most <= 3


def test_proving_brings_the_limit_down_to_the_truth() -> None:
    """By area three squares of 2 in could lie on 3.9 by 3.9 in; each covers the middle, so one."""
    scrap = ScrapStock(id=1, region=box(0, 0, 3.9, 3.9))
    loose, tight = (
        match([scrap], [], squares(4), {"star": RoleRule("star")}, prove=work) for work in (0, 1.0)
    )
    assert (loose.together.covered, loose.together.at_most) == (1, 3)
    assert (tight.together.covered, tight.together.at_most) == (1, 1)
    assert [supply.at_most for supply in tight.supplies] == [1]


def test_an_empty_store_leaves_everything_short() -> None:
    answer = match([], [], squares(6), STAR)
    assert [s.short for s in answer.supplies] == [6]
    assert [s.at_most for s in answer.supplies] == [0]
    assert answer.scrap_uses == ()


def test_a_role_takes_only_cloth_that_keeps_its_conditions() -> None:
    good = ScrapStock(
        id=1, region=box(0, 0, 5, 5), fabric="deck stripe",
        families=frozenset({"blue", "white"}), value="dark",
    )  # fmt: skip
    rule = RoleRule("star", frozenset({"blue"}), frozenset({"dark"}), frozenset({"deck stripe"}))
    wrong = [
        replace(good, id=2, families=frozenset({"red"})),
        replace(good, id=3, value="light"),
        replace(good, id=4, fabric="apron drill"),
        replace(good, id=5, fabric=None),
    ]
    answer = match([*wrong, good], [], squares(30), {"star": rule})
    assert [use.scrap_id for use in answer.scrap_uses] == [1]


def test_a_role_of_some_fibres_takes_no_other_cloth_and_none_of_unknown_fibre() -> None:
    """Capitals and blanks round the word do not matter; a cloth that says nothing is not taken."""
    rule = RoleRule("star", fibres=frozenset({"Cotton", "linen"}))
    fibres = ("cotton", " LINEN", "polyester", None)
    scraps = [ScrapStock(id=i, region=box(0, 0, 2, 2), fibre=f) for i, f in enumerate(fibres)]
    ready = [ReadyStock(id=i, outline=SQUARE, count=1, fibre=f) for i, f in enumerate(fibres)]
    answer = match(scraps, ready, squares(9), {"star": rule})
    assert [use.scrap_id for use in answer.scrap_uses] == [0, 1]
    assert sorted(stack for stack, _ in answer.ready_uses) == [0, 1]
    assert faults(answer, scraps, ready, squares(9), {"star": rule}) == []
    other = replace(rule, fibres=frozenset({"polyester"}))
    assert "not ['polyester']" in " ".join(
        faults(answer, scraps, ready, squares(9), {"star": other})
    )


def test_a_role_of_some_scraps_takes_no_other_cloth() -> None:
    """Nor a ready-cut lot that has the number of one of the scraps."""
    rule = RoleRule("star", scraps=frozenset({2, 4}))
    scraps = [ScrapStock(id=i, region=box(0, 0, 2, 2)) for i in (1, 2, 3, 4)]
    ready = [ReadyStock(id=2, outline=SQUARE, count=1)]
    answer = match(scraps, ready, squares(9), {"star": rule})
    assert [use.scrap_id for use in answer.scrap_uses] == [2, 4]
    assert answer.ready_uses == {}
    assert answer.supplies[0].at_most == answer.supplies[0].scraps
    assert faults(answer, scraps, ready, squares(9), {"star": rule}) == []
    for others in ({2, 3}, {4, 5}):
        other = replace(rule, scraps=frozenset(others))
        assert "is not one of the scraps" in faults(answer, scraps, ready, squares(9),
                                                    {"star": other})[0]  # fmt: skip
    free = match(scraps[1:2], ready, squares(9), {"star": RoleRule("star")})
    assert free.ready_uses  # which the check sees, too
    (told,) = faults(free, scraps, ready, squares(9), {"star": rule})
    assert "cloth 2 is not one of the scraps [2, 4]" in told


def test_unknown_grain_gives_no_piece_whose_rule_asks_for_it() -> None:
    scrap = ScrapStock(id=1, region=box(0, 0, 5, 5), grain_known=False)
    need = replace(squares(4)[0], needs_grain=True)
    assert match([scrap], [], [need], STAR).scrap_uses == ()
    known = replace(scrap, grain_known=True)
    assert match([known], [], [need], STAR).supplies[0].scraps == 4


def test_a_directed_piece_may_turn_half_round_on_cloth_without_a_one_way_print() -> None:
    need = replace(squares(1)[0], one_way=True, rotations_deg=(90.0,))
    plain = ScrapStock(id=1, region=box(0, 0, 5, 5))
    on_plain, on_print = kind_on(need, plain), kind_on(need, replace(plain, one_way=True))
    assert on_plain is not None
    assert on_print is not None
    assert set(on_plain.rotations_deg) == {90.0, 270.0}
    assert on_print.rotations_deg == (90.0,)


def test_only_cloth_alike_on_both_sides_gives_a_handed_piece_turned_over() -> None:
    """The region is the mirror image of the piece, with a hair to spare: flipped or not at all."""
    piece = Polygon([(0, 0), (4, 0), (3, 2), (0, 2)])
    region = affinity.scale(piece, -1.01, 1.01)
    need = Need("half", "star", piece, 1, (0.0, 180.0))
    scrap = ScrapStock(id=1, region=region)
    assert match([scrap], [], [need], STAR).supplies[0].scraps == 0
    assert match([replace(scrap, sides_alike=True)], [], [need], STAR).supplies[0].scraps == 1


@pytest.mark.parametrize("alike", [False, True])
def test_every_piece_has_an_edge_on_the_grain_turned_over_or_not(alike: bool) -> None:
    """A 60° diamond and a half triangle (edges at 0°, 90°, 120°), each with two rotations.

    The directions of the placed edges are worked out from their corners alone.
    """
    diamond = Polygon([(0, 0), (2, 0), (3, 3**0.5), (1, 3**0.5)])
    half = Polygon([(0, 0), (1.5, 0), (0, 1.5 * 3**0.5)])
    scrap = ScrapStock(id=1, region=box(0, 0, 7.3, 6.1), sides_alike=alike)
    for outline, rotations in ((diamond, (0.0, 30.0, 90.0, 120.0)), (half, (0.0, 60.0, 150.0))):
        need = Need("piece", "star", outline, 40, rotations, mirror=alike)
        (use,) = match([scrap], [], [need], STAR, effort=0.3).scrap_uses
        assert len(use.placements) > 4
        for placement in use.placements:
            ring = list(placement.outline.exterior.coords)
            angles = [
                math.degrees(math.atan2(b[1] - a[1], b[0] - a[0])) % 90
                for a, b in itertools.pairwise(ring)
            ]
            assert min(min(angle, 90 - angle) for angle in angles) < 1e-6


def test_ready_cut_pieces_serve_when_size_and_hand_agree() -> None:
    turned = affinity.translate(affinity.rotate(SQUARE, 33), 5, 5)
    ready = [
        ReadyStock(id=1, outline=turned, count=2),
        ReadyStock(id=2, outline=box(0, 0, 2.25, 2), count=9),
    ]
    answer = match([], ready, squares(6), STAR)
    assert answer.ready_uses == {(1, "square"): 2}


def test_ready_cut_pieces_with_other_tips_serve_where_they_sew_as_the_same_piece() -> None:
    pointed = Polygon([(0, 0), (4, 0), (0, 4)])
    trimmed = Polygon([(0, 0), (3.6, 0), (3.6, 0.4), (0.4, 3.6), (0, 3.6)])
    need = Need("half", "star", trimmed, 3, (0.0,), sews_as=(pointed, trimmed))
    ready = [ReadyStock(id=1, outline=affinity.rotate(pointed, 50), count=2)]
    assert match([], ready, [need], STAR).ready_uses == {(1, "half"): 2}
    assert match([], ready, [replace(need, sews_as=())], STAR).ready_uses == {}


def test_a_mirrored_piece_is_congruent_only_when_turned_over() -> None:
    piece = Polygon([(0, 0), (4, 0), (3, 2), (0, 2)])
    flipped = affinity.scale(piece, -1, 1)
    assert congruent(piece, affinity.rotate(piece, 70), mirror=False)
    assert not congruent(piece, flipped, mirror=False)
    assert congruent(piece, flipped, mirror=True)


@pytest.mark.parametrize(
    ("shape", "width"),
    [
        (box(0, 0, 9, 2.5), 2.5),
        (affinity.rotate(box(0, 0, 9, 2.5), 37), 2.5),
        (Polygon([(0, 0), (4, 0), (2, 12**0.5)]), 12**0.5),
        (Polygon(), 0.0),
    ],
    ids=["oblong", "turned oblong", "equilateral triangle of side 4", "nothing"],
)
def test_the_least_width_of_plain_shapes(shape: Polygon, width: float) -> None:
    assert min_width(shape) == pytest.approx(width)


def test_the_second_opinion_sees_every_kind_of_fault() -> None:
    scraps = [ScrapStock(id=1, region=box(0, 0, 6, 4), families=frozenset({"blue"}))]
    ready = [ReadyStock(id=1, outline=SQUARE, count=1, families=frozenset({"blue"}))]
    needs, rule = squares(7), RoleRule("star", families=frozenset({"blue"}))
    answer = match(scraps, ready, needs, {"star": rule})
    assert faults(answer, scraps, ready, needs, {"star": rule}) == []

    def told(changed: object, rules: RoleRule = rule) -> str:
        return " ".join(faults(changed, scraps, ready, needs, {"star": rules}))  # type: ignore[arg-type]

    use = answer.scrap_uses[0]
    twice = replace(answer, scrap_uses=(use, use))
    assert "used twice" in told(twice)
    fewer = replace(answer, scrap_uses=(replace(use, placements=use.placements[1:]),))
    assert "its pieces say" in told(fewer)
    assert "holds 1" in told(replace(answer, ready_uses={(1, "square"): 2}))
    assert "not on offer" in told(replace(answer, ready_uses={(9, "square"): 1}))
    assert "not frozenset({'red'})" in told(answer, replace(rule, families=frozenset({"red"})))
    assert "not frozenset({'dark'})" in told(answer, replace(rule, values=frozenset({"dark"})))
    assert "named fabrics" in told(answer, replace(rule, fabrics=frozenset({"x"})))
    assert "not in sets of 4" in told(answer, replace(rule, same_fabric_sets=4))
    assert "star: 6 from" in told(answer, replace(rule, max_per_fabric=5))
    assert "does not say so" in told(answer, replace(rule, min_fabrics=3))
    low = replace(answer, supplies=(replace(answer.supplies[0], at_most=2),))
    assert "at most 2" in told(low)


CORNER = Polygon([(0, 0), (3.875, 0), (0, 3.875)])
QUARTERS = (0.0, 90.0, 180.0, 270.0)


def corners(wanted: int, outline: Polygon = CORNER, **rules: object) -> list[Need]:
    """Triangles with an edge on the straight grain: turned by quarters."""
    return [replace(Need("corner", "star", outline, wanted, QUARTERS), **rules)]  # type: ignore[arg-type]


def test_a_ready_cut_square_serves_as_two_half_square_triangles() -> None:
    """3 7/8 in squares: for five triangles three of them, one half left over."""
    ready = [ReadyStock(id=1, outline=affinity.rotate(box(0, 0, 3.875, 3.875), 20), count=4)]
    answer = match([], ready, corners(5), STAR)
    assert (answer.ready_uses, answer.ready_parts) == ({(1, "corner"): 5}, {(1, "corner"): 2})
    assert answer.supplies[0].at_most == 5
    assert faults(answer, [], ready, corners(5), STAR) == []
    assert match([], ready, corners(99), STAR).together.covered == 8
    fewer = [replace(ready[0], count=2)]
    assert "gives up 3" in " ".join(faults(answer, [], fewer, corners(5), STAR))


@pytest.mark.parametrize(
    ("ready", "piece", "each"),
    [
        (box(0, 0, 5.25, 5.25), Polygon([(0, 0), (5.207, 0), (2.6035, 2.6035)]), 4),
        (box(0, 0, 3, 5), Polygon([(0, 0), (3, 0), (0, 5)]), 2),
        (box(0, 0, 3, 5), Polygon([(0, 0), (3, 0), (3, 5)]), 2),
        (box(0, 0, 3.8, 3.8), CORNER, 0),
        (box(0, 0, 4.1, 4.1), CORNER, 0),
        (box(0, 0, 5.48, 5.48), Polygon([(0, 0), (3.875, 0), (0, 3.875)]), 0),
    ],
    ids=["quarter-square", "half rectangle", "other hand", "too small", "too large", "on the bias"],
)
def test_what_diagonals_give(ready: Polygon, piece: Polygon, each: int) -> None:
    stock = [ReadyStock(id=1, outline=ready, count=1)]
    needs = corners(9, piece)
    answer = match([], stock, needs, STAR)
    assert answer.together.covered == each
    assert faults(answer, [], stock, needs, STAR) == []


def test_a_square_is_cut_up_only_where_the_conditions_are_kept() -> None:
    ready = [
        ReadyStock(id=1, outline=box(0, 0, 3.875, 3.875), count=1, families=frozenset({"red"}))
    ]
    rule = {"star": RoleRule("star", frozenset({"blue"}))}
    assert match([], ready, corners(2), rule).ready_uses == {}
    assert match([], ready, corners(2, needs_grain=True), STAR).ready_uses == {}
    limited = {"star": RoleRule("star", max_per_fabric=1)}
    assert match([], ready, corners(2), limited).ready_uses == {(1, "corner"): 1}
    bias = corners(2, rotations_deg=(45.0,))
    assert match([], ready, bias, STAR).ready_uses == {}


def test_the_second_opinion_sees_triangles_that_are_not_the_piece() -> None:
    ready = [ReadyStock(id=1, outline=box(0, 0, 3.875, 3.875), count=1)]
    answer = match([], ready, corners(2), STAR)
    assert faults(answer, [], ready, corners(2), STAR) == []
    for needs, stock in (
        (corners(2, rotations_deg=(45.0,)), ready),
        (corners(2, needs_grain=True), ready),
        (corners(2), [replace(ready[0], outline=box(0, 0, 3.5, 3.875))]),
    ):
        assert faults(answer, [], stock, needs, STAR) != []
    in_four = replace(answer, ready_parts={(1, "corner"): 4})
    assert "not the piece" in " ".join(faults(in_four, [], ready, corners(2), STAR))
