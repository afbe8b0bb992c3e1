"""Proven limits and aims: against every combination, and never below what a plan reaches."""

import itertools

import pytest
from shapely import affinity, box

from scrapstore.errors import UsageError
from scrapstore.matching import (
    Need,
    RoleRule,
    ScrapStock,
    checked_aims,
    faults,
    kind_on,
    match,
)
from scrapstore.matching.aims import LARGE, ruler_cuts, scrap_costs
from scrapstore.matching.limits import limit_each, limit_together
from scrapstore.matching.patterns import Pattern
from scrapstore.matching.screen import screen
from scrapstore.packing import Layout, Placement, fill, verify
from tests.support.stock import OBLONG, SQUARE, random_stock


@pytest.mark.parametrize("seed", range(10))
def test_random_plans_keep_every_condition_and_stay_below_the_limits(seed: int) -> None:
    """`faults` and `verify` share no code with the choice and the packer."""
    scraps, ready, needs, roles = random_stock(1000 + seed, 5)
    answer = match(scraps, ready, needs, roles, effort=0.5)
    assert faults(answer, scraps, ready, needs, roles) == []
    by_id = {scrap.id: scrap for scrap in scraps}
    for use in answer.scrap_uses:
        scrap = by_id[use.scrap_id]
        kinds = [k for n in needs if (k := kind_on(n, scrap)) is not None]
        area = sum(p.outline.area for p in use.placements)
        assert verify(scrap.region, kinds, Layout(use.placements, area, float("inf"))) == []
    assert answer.together.covered <= answer.together.at_most <= answer.together.wanted
    assert answer.together.area <= answer.together.area_at_most + 1e-6


@pytest.mark.parametrize("seed", range(25))
def test_screening_turns_away_no_scrap_that_gives_a_piece(seed: int) -> None:
    scraps, _, needs, roles = random_stock(seed, 6)
    screened = screen(scraps, needs, roles)
    through = {
        (scrap.id, need.name)
        for scrap, row in zip(screened.scraps, screened.may, strict=True)
        for need, may in zip(needs, row, strict=True)
        if may
    }
    for scrap, need in itertools.product(scraps, needs):
        kind = kind_on(need, scrap)
        if kind is not None and roles[need.role].allows(scrap):
            gives = fill(scrap.region, [kind], rows_only=True).placements
            assert not gives or (scrap.id, need.name) in through


def test_needs_that_share_a_scrap_are_limited_together() -> None:
    """5 × 4 in of cloth gives five squares of 2 in or three oblongs of 2 × 3, not both."""
    scraps = [ScrapStock(id=1, region=box(0, 0, 5, 4))]
    needs = [Need("square", "star", SQUARE, 9, (0.0,)), Need("oblong", "star", OBLONG, 9, (0.0,))]
    roles = {"star": RoleRule("star")}
    screened = screen(scraps, needs, roles)
    each = limit_each(screened.most, screened, [], needs, roles)
    assert each == [5, 3]
    both = limit_together(screened.most, each, screened, [], needs, roles, [4.0, 6.0])
    assert both == pytest.approx(20, rel=1e-4)


def test_sets_and_shares_of_one_fabric_lower_the_limit() -> None:
    """Scraps that hold 6, 6 and 4 squares: in fours from a fabric, 4 each, or no more than 3."""
    sizes = ((6, 4), (6, 4), (4, 4))
    scraps = [
        ScrapStock(id=i, fabric=f"cloth {i}", region=box(0, 0, *size))
        for i, size in enumerate(sizes)
    ]
    needs = [Need("square", "star", SQUARE, 20, (0.0,))]
    for rule, limit in (
        (RoleRule("star"), 16),
        (RoleRule("star", same_fabric_sets=4), 12),
        (RoleRule("star", max_per_fabric=3), 9),
    ):
        screened = screen(scraps, needs, {"star": rule})
        assert limit_each(screened.most, screened, [], needs, {"star": rule}) == [limit]


def test_an_interrupt_keeps_the_best_plan_so_far() -> None:
    scraps = [ScrapStock(id=i, region=box(0, 0, 4.2, 2.1)) for i in range(30)]
    needs = [Need("square", "star", SQUARE, 60, (0.0,))]

    def stop(looked: int, _of: int, _covered: int | None) -> None:
        if looked == 8:
            raise KeyboardInterrupt

    answer = match(scraps, [], needs, {"star": RoleRule("star")}, progress=stop)
    assert answer.stopped
    assert answer.supplies[0].scraps == 16
    assert answer.supplies[0].at_most == 60


def test_aims_are_read_and_wrong_ones_told() -> None:
    assert checked_aims([]) == ("cover", "whole", "scraps", "cuts")
    assert checked_aims(["cover", "cuts"]) == ("cover", "cuts", "whole", "scraps")
    for words, told in ((["scraps"], "put cover first"), (["cover", "thrift"], "'thrift' is none"),
                        (["cover", "whole", "whole"], "twice; put some of cover, whole"),
                        (["whole", "cover"], "'whole' before 'cover'")):  # fmt: skip
        with pytest.raises(UsageError, match=told):
            checked_aims(words)


def test_large_scraps_cost_their_area_and_small_ones_more_than_in_proportion() -> None:
    """One of 24 sq in costs more than two of 20 and less than four of 18; a large one, 60 and more,
    is held whole before any of that counts."""
    (large, give), (small, _) = scrap_costs("whole", [18, 20, 24, LARGE, 169])
    assert give == 0
    assert large == [0, 0, 0, 6000, 16900]
    assert 2 * small[1] < small[2] < 4 * small[0]
    assert small[3:] == [0, 0]
    assert scrap_costs("scraps", [5, 500])[0][0] == [1, 1]


def test_pieces_side_by_side_share_their_cuts() -> None:
    """A row of three squares: four cuts across and two along; apart and askew, twelve."""
    row = Pattern(1, tuple(Placement("s", box(2 * i, 0, 2 * i + 2, 2)) for i in range(3)))
    assert ruler_cuts(row) == 6
    askew = [affinity.rotate(box(5 * i, 0, 5 * i + 2, 2), 7 + 9 * i) for i in range(3)]
    assert ruler_cuts(Pattern(1, tuple(Placement("s", shape) for shape in askew))) == 12
