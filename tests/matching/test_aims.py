"""The aims after "cover", where nothing is short: beside exact answers and plain cases."""

import pytest
from shapely import box

from scrapstore.matching import Aim, Need, RoleRule, ScrapStock, match
from scrapstore.packing import usable_region
from tests.support.big_store import scraps
from tests.support.exact_match import ROLES, least_cost, small_store
from tests.support.stock import SQUARE

FEWEST: tuple[Aim, ...] = ("cover", "scraps")


def test_two_kinds_share_a_scrap_though_nothing_is_short() -> None:
    """Scraps of 6 × 4 in: a square of 2 1/2 and a rectangle of 2 1/2 × 2 lie on one."""
    stock = [ScrapStock(id=i, region=box(0, 0, 6, 4)) for i in (1, 2)]
    needs = [
        Need("square", "star", box(0, 0, 2.5, 2.5), 1, (0.0,)),
        Need("oblong", "star", box(0, 0, 2.5, 2), 1, (0.0, 90.0)),
    ]
    answer = match(stock, [], needs, ROLES, aims=FEWEST)
    assert [len(use.placements) for use in answer.scrap_uses] == [2]


@pytest.mark.parametrize("seed", [3, 9, 17])
def test_as_few_scraps_as_can_be_are_cut_into(seed: int) -> None:
    store = small_store(seed, large=False)
    answer = match(store.stock(), [], store.needs(), ROLES, aims=FEWEST)
    assert answer.together.covered == answer.together.wanted
    assert len(answer.scrap_uses) == least_cost(store, [1] * len(store.scraps))


@pytest.mark.parametrize("seed", [1002, 1008, 1038, 1053])
def test_as_much_of_the_large_scraps_as_can_be_stays_whole(seed: int) -> None:
    """Large is 60 sq in and more; the least area of such scraps to cut into is known exactly."""
    store = small_store(seed, large=True)
    stock = store.stock()
    costs = [round(4 * s.region.area) if s.region.area >= 60 else 0 for s in stock]
    answer = match(stock, [], store.needs(), ROLES)
    assert answer.together.covered == answer.together.wanted
    assert sum(costs[use.scrap_id] for use in answer.scrap_uses) == least_cost(store, costs)


@pytest.mark.parametrize("cut", [2.5, 3.0])
def test_twelve_squares_come_from_small_scraps_and_not_from_one_large(cut: float) -> None:
    """Usable 6 × 3 in of thirty scraps, two squares each; three scraps of 13 × 13 stay whole.

    Squares of 3 in are an exact fit.
    """
    stock = [
        ScrapStock(id=i, region=box(0, 0, 6, 3) if i < 30 else box(0, 0, 12.75, 12.75))
        for i in range(33)
    ]
    needs = [Need("square", "star", box(0, 0, cut, cut), 12, (0.0,))]
    answer = match(stock, [], needs, ROLES)
    assert answer.supplies[0].scraps == 12
    assert len(answer.scrap_uses) == 6
    assert all(use.scrap_id < 30 for use in answer.scrap_uses)


def test_small_pieces_come_out_of_the_smallest_third_of_many_scraps() -> None:
    stock = [
        ScrapStock(
            id=number,
            region=usable_region(new.outline, new.flaws, new.margin),
            true_area=new.outline.area,
        )
        for number, new in enumerate(scraps(150, 5))
    ]
    needs = [Need("square", "star", SQUARE, 14, (0.0,))]
    roles = {"star": RoleRule("star")}
    smallest = sorted(stock, key=lambda s: s.area)[:50]
    assert match(smallest, [], needs, roles).together.covered == 14
    answer = match(stock, [], needs, roles)
    assert answer.together.covered == 14
    assert {use.scrap_id for use in answer.scrap_uses} <= {s.id for s in smallest}
