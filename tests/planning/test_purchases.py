"""What is bought of one fabric: a length off the bolt, or fat quarters and eighths if cheaper."""

from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import box

from scrapstore.matching import RoleRule
from scrapstore.planning.allocate import allocate_lengths
from scrapstore.planning.purchases import Purchase, Shop, shop_of
from scrapstore.report.yardage_text import buy_text, short_text
from scrapstore.settings import Settings, overridden
from scrapstore.yardage import StripPiece, plan_role
from tests.planning.test_role_conditions import a_length

SHOP = Shop()


def squares(side: float, count: int) -> list[StripPiece]:
    return [StripPiece("square", box(0, 0, side, side), count, (0.0,), role="top")]


def bought(purchases: tuple[Purchase, ...]) -> list[tuple[str, int, dict[str, int]]]:
    return [(one.plan.bought_as, one.count, dict(one.plan.pieces)) for one in purchases]


def test_a_fat_quarter_where_it_is_less_cloth() -> None:
    """Four of 8 1/2 in: a strip and the straightening are 3/8 yd; a fat quarter holds 2 × 2."""
    (one,) = SHOP.purchases("top", squares(8.5, 4), 40)
    assert bought((one,)) == [("fat quarter", 1, {"square": 4})]
    assert one.instead is not None
    assert (one.instead.yards, one.instead.cost) == (3 / 8, None)
    (length,) = replace(SHOP, precuts=False).purchases("top", squares(8.5, 4), 40)
    assert (length.plan.bought_as, length.plan.buy_yards) == ("length", 3 / 8)


def test_as_much_cloth_is_bought_off_the_bolt() -> None:
    """Four of 8 in are 1/4 yd: so is a fat quarter, and a length is simpler."""
    assert bought(SHOP.purchases("top", squares(8, 4), 40)) == [("length", 1, {"square": 4})]


def test_a_fat_eighth_where_it_is_enough() -> None:
    """Four of 5 in from 8 1/2 × 20 in; off the bolt 5 + 1 in would be 1/4 yd."""
    assert bought(SHOP.purchases("top", squares(5, 4), 40)) == [("fat eighth", 1, {"square": 4})]


def test_prices_decide_where_they_are_known() -> None:
    """A quarter dearer than 3/8 yd at 12.00 is not bought; at 2.00 two are, beside 1/2 yd."""
    dear = replace(SHOP, price_inch=12 / 36, prices={"fat quarter": 4.6, "fat eighth": 9.0})
    assert bought(dear.purchases("top", squares(8.5, 4), 40))[0][0] == "length"
    cheap = replace(dear, prices={"fat quarter": 2.0, "fat eighth": 9.0})
    (one,) = cheap.purchases("top", squares(8.5, 8), 40)
    assert bought((one,)) == [("fat quarter", 2, {"square": 4})]
    assert one.instead is not None
    assert (one.instead.yards, one.instead.cost, one.instead.precuts_cost) == (1 / 2, 6.0, 4.0)


def test_a_precut_without_a_price_counts_as_that_much_off_the_bolt() -> None:
    priced = replace(SHOP, price_inch=12 / 36)
    (one,) = priced.purchases("top", squares(8.5, 4), 40)
    assert one.instead is not None
    assert (one.instead.precuts_cost, one.instead.cost) == (3.0, 4.5)


# docsbay.net "Number of Squares from a Fat Quarter"; quilterscache.com math charts (2002), for
# 18 × 22 in without a loss.
@pytest.mark.parametrize(
    ("side", "count"), [(2, 99), (3.5, 30), (4.5, 16), (5.5, 12), (6, 9), (6.5, 6)]
)
def test_the_chart_of_fat_quarters(side: float, count: int) -> None:
    """As many as the chart says need one fat quarter, one more needs a second cloth."""
    shop = Shop(precut_straightening=0, price_inch=100.0, prices={"fat quarter": 1.0})
    one = shop.purchases("top", squares(side, count), 44)
    assert bought(one) == [("fat quarter", 1, {"square": count})]
    more = shop.purchases("top", squares(side, count + 1), 44)
    assert sum(each.times for each in more) == 2


sizes = st.integers(4, 30).map(lambda n: n / 2)
lists = st.lists(st.tuples(sizes, sizes, st.integers(1, 9)), min_size=1, max_size=3)


@settings(max_examples=15)
@given(lists, st.sampled_from([0.0, 0.05]), st.booleans())
def test_precuts_give_all_and_cost_less_than_the_bolt(
    wanted: list[tuple[float, float, int]], shrinkage: float, priced: bool
) -> None:
    """Every piece, each precut no larger than what is left of it, and never dearer."""
    pieces = [StripPiece(f"p{n}", box(0, 0, w, h), c) for n, (w, h, c) in enumerate(wanted)]
    shop = replace(SHOP, shrinkage=shrinkage)
    if priced:
        shop = replace(shop, price_inch=0.3, prices={"fat quarter": 2.2, "fat eighth": 1.5})
    found = shop.purchases("r", pieces, 40)
    given_pieces: Counter[str] = Counter()
    for one in found:
        given_pieces.update({name: n * one.count for name, n in one.plan.pieces.items()})
        if one.plan.bought_as != "length":
            tall = {"fat quarter": 18, "fat eighth": 9}[one.plan.bought_as]
            assert one.plan.needed <= tall + 1e-9
            wide = sum(strip.width * strip.times for strip in one.plan.strips)
            room = 20 if one.plan.along_grain else tall * (1 - shrinkage) - 0.5
            assert wide <= room + 1e-9
    assert given_pieces == {piece.name: piece.count for piece in pieces}
    bolt = shop.purchases("r", pieces, 40, by_length=True)
    assert shop.cost(found) <= shop.cost(bolt)


def test_shrinkage_and_straightening_come_on_top() -> None:
    """By hand: (4 1/2 + 0.35) / 0.97 = 5 in, so 1/4 yd where 4 1/2 in alone would be 1/8 yd."""
    pieces = squares(4.5, 8)
    plan = plan_role("top", pieces, 40, straightening=0.35, shrinkage=0.03)
    assert plan.needed == pytest.approx(5.0)
    assert (plan.length, plan.buy_yards) == (4.5, 0.25)
    assert plan_role("top", pieces, 40, straightening=0).buy_yards == 0.125


def test_centimetres_are_bought_and_paid_by_the_metre() -> None:
    """Four of 8 1/2 in: 9 1/2 in are 30 cm, at 10.00 a metre 3.00; a fat quarter is 25 cm, 2.50."""
    shop = replace(SHOP, units="cm", mark=1 / 25.4, price_inch=10 / (100 / 2.54))
    (one,) = shop.purchases("top", squares(8.5, 4), 40)
    assert (one.plan.bought_as, one.plan.buy_cm) == ("fat quarter", 25)
    assert one.instead is not None
    assert one.instead.cm == 30
    assert one.instead.cost == pytest.approx(3.0)
    assert one.instead.precuts_cost == pytest.approx(2.5)


def test_the_shops_own_step_counts() -> None:
    """4 1/2 + 1 in: 1/4 yd, by half yards 1/2 yd; by 10 cm 20 cm, by 25 cm 25 cm."""
    pieces = squares(4.5, 8)
    assert plan_role("top", pieces, 40).buy_yards == 1 / 4
    assert plan_role("top", pieces, 40, shop_step=18.0).buy_yards == 1 / 2
    assert plan_role("top", pieces, 40, units="cm").buy_cm == 20
    assert plan_role("top", pieces, 40, units="cm", shop_step=25 / 2.54).buy_cm == 25


def test_settings_describe_the_shop() -> None:
    given_settings = overridden(
        Settings(),
        {
            "washing_shrinkage": "3",
            "shop_step": "1/4 yd",
            "price_metre": "10",
            "fat_quarters": "never",
        },
    )
    shop = shop_of(given_settings)
    assert (shop.shrinkage, shop.step, shop.precuts) == (0.03, 9.0, False)
    assert shop.price_inch == pytest.approx(0.254)


def test_cloth_that_is_not_washed_counts_as_shorter() -> None:
    """A strip of 9 in and 1 in to straighten from 10 1/4 in: not if washing takes 3 %."""
    for washed, covers in ((True, 4), (None, 0)):
        length = replace(a_length(1, "d", 10.25), usable_width=40.0)
        length = replace(length, fabric=replace(length.fabric, washed=washed))
        (shortage,) = allocate_lengths(
            squares(9, 4), {"top": RoleRule("top")}, [length], {"top": 40.0}, {"top": Counter()},
            usual_width=40.0, shop=replace(SHOP, shrinkage=0.03),
        )  # fmt: skip
        assert sum(hand.plan.pieces["square"] for hand in shortage.on_hand) == covers


def test_purchases_in_words() -> None:
    """What to buy, what it gives, why, and what is lost on the way."""
    (shortage,) = allocate_lengths(
        squares(8.5, 4), {"top": RoleRule("top")}, [], {"top": 40.0}, {"top": Counter()},
        usual_width=40.0, shop=SHOP,
    )  # fmt: skip
    assert buy_text(shortage, "in") == "1 fat quarter"
    assert short_text(shortage, shortage.purchases[0], {"square": "A"}, "in") == (
        "Buy 1 fat quarter for 4 A: strips take 17 in of it, and 1/2 in is kept for squaring it "
        "up; usable width 20 in. That is less cloth than 3/8 yd off the bolt."
    )
    (shortage,) = allocate_lengths(
        squares(4.5, 8), {"top": RoleRule("top")}, [], {"top": 40.0}, {"top": Counter()},
        usual_width=40.0, shop=replace(SHOP, shrinkage=0.03),
    )  # fmt: skip
    assert short_text(shortage, shortage.purchases[0], {"square": "A"}, "in") == (
        "Buy 1/4 yd for 8 A: it takes 4 1/2 in, and 1 in is kept for straightening the end, "
        "3 % for shrinkage, 5 11/16 in in all; usable width 40 in."
    )
