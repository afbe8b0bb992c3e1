"""The shopping list: what is bought together, panels, binding, prices; what is spoken for."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime

import pytest
from shapely import box

from scrapstore.finishing import FinishNeeds
from scrapstore.matching import RoleRule, Totals
from scrapstore.planning.allocate import Shortage, allocate_lengths
from scrapstore.planning.purchases import Shop
from scrapstore.planning.result import MatchResult
from scrapstore.planning.shopping import ShoppingFor, ShoppingList, shopping_list
from scrapstore.planning.spoken_for import left_after
from scrapstore.projects import Project
from scrapstore.store import BindingStrip, Notion, NotionKind
from scrapstore.yardage import StripPiece
from tests.planning.test_role_conditions import a_length

SHOP = Shop()
LINEN = RoleRule("cream", fabrics=frozenset({"Cream linen"}))


def shortage(side: float, count: int, rule: RoleRule = LINEN, shop: Shop = SHOP) -> Shortage:
    pieces = [StripPiece("square", box(0, 0, side, side), count, (0.0,), role=rule.name)]
    (found,) = allocate_lengths(
        pieces, {rule.name: rule}, [], {rule.name: 40.0}, {rule.name: Counter()},
        usual_width=40.0, shop=shop,
    )  # fmt: skip
    return found


def wanted(
    name: str, *short: Shortage, needs: FinishNeeds | None = None, plan: str | None = None
) -> ShoppingFor:
    project = Project(
        name=name, seam_allowance=0.25, usable_width=40.0, roles={}, pieces=(), tips="pointed"
    )
    result = MatchResult(
        project=project, supplies=(), ready=(), cuts=(), shortages=short, notes=(),
        scraps_in_store=0, scraps_looked_at=0, seed=0, together=Totals(0, 0, 0, 0.0, 0.0),
    )  # fmt: skip
    return ShoppingFor(name, result, needs or FinishNeeds(), plan)


def lines(found: ShoppingList) -> list[tuple[list[str], float]]:
    return [
        (
            [part.project for part in line.parts],
            line.together.yards
            if line.together
            else sum(part.shortage.buy_yards for part in line.parts),
        )
        for line in found.fabrics
    ]


def test_what_takes_less_from_one_length_is_bought_together() -> None:
    """9 + 4 1/2 in of strips and 1 in are 14 1/2 in: 1/2 yd, where 3/8 and 1/4 yd were bought."""
    found = shopping_list([wanted("a", shortage(4.5, 16)), wanted("b", shortage(4.5, 8))], SHOP)
    assert lines(found) == [(["a", "b"], 0.5)]


def test_what_takes_as_much_is_bought_apart() -> None:
    """8 and 8 in of strips, each 1/4 yd with its straightening: 17 in together are 1/2 yd too."""
    found = shopping_list([wanted("a", shortage(4, 20)), wanted("b", shortage(4, 20))], SHOP)
    assert lines(found) == [(["a"], 0.25), (["b"], 0.25)]


def test_of_three_only_those_are_put_together_that_save() -> None:
    """8 and 9 in save 1/8 yd: 18 in with the straightening. 8 more in would take 1/4 yd more."""
    three = [
        wanted("a", shortage(4, 20)),
        wanted("b", shortage(4.5, 16)),
        wanted("c", shortage(4, 20)),
    ]
    assert lines(shopping_list(three, SHOP)) == [(["a", "b"], 0.5), (["c"], 0.25)]


@pytest.mark.parametrize(
    ("one", "other", "together"),
    [
        (LINEN, replace(LINEN, name="plain"), True),
        (RoleRule("sky", frozenset({"blue"})), RoleRule("sky", frozenset({"blue"})), True),
        (RoleRule("sky", frozenset({"blue"})), RoleRule("sea", frozenset({"blue"})), False),
        (RoleRule("sky", frozenset({"blue"})), RoleRule("sky", frozenset({"red"})), False),
        (RoleRule("sky"), RoleRule("sky", scraps=frozenset({3})), False),
    ],
)
def test_one_cloth_is_a_named_fabric_or_the_same_wish(
    one: RoleRule, other: RoleRule, *, together: bool
) -> None:
    some = [wanted("a", shortage(4.5, 16, one)), wanted("b", shortage(4.5, 8, other))]
    assert (len(shopping_list(some, SHOP).fabrics) == 1) is together


def test_a_fat_quarter_gives_way_to_one_length_but_not_in_a_kept_plan() -> None:
    """At 9.00 a yard, a quarter at 3.00: four of 8 1/2 in are 3.00, 16 of 4 1/2 in 3/8 yd, 3.38.

    Together 8 1/2 + 9 + 1 in are 18 1/2 in, 5/8 yd, 5.63. The sheets of a kept plan do not change.
    """
    shop = replace(SHOP, price_inch=0.25, prices={"fat quarter": 3.0, "fat eighth": 9.0})
    four, more = shortage(8.5, 4, shop=shop), shortage(4.5, 16, shop=shop)
    assert four.plan.bought_as == "fat quarter"
    found = shopping_list([wanted("a", four), wanted("b", more)], shop)
    assert lines(found) == [(["a", "b"], 5 / 8)]
    kept = shopping_list([wanted("a", four, plan="a"), wanted("b", more)], shop)
    assert lines(kept) == [(["a"], 0.25), (["b"], 3 / 8)]


def test_all_fabric_has_a_price() -> None:
    """3/8 yd at 12.00 a yard and a backing of 22 in, 3/4 yd: 13.50."""
    shop = replace(SHOP, price_inch=12 / 36)
    needs = FinishNeeds(backing=(22.0, 22.0), batting=(22.0, 22.0))
    found = shopping_list([wanted("a", shortage(4.5, 16, shop=shop), needs=needs)], shop)
    assert found.price == pytest.approx(13.5)
    assert shopping_list([wanted("a", shortage(4.5, 16))], SHOP).price is None


def test_a_wide_backing_is_pieced_from_panels_the_shorter_way() -> None:
    """66 × 50 in from 40 in: two panels are 79 in across, so 50 in twice or 66 in twice."""
    (line,) = shopping_list([wanted("a", needs=FinishNeeds(backing=(66.0, 50.0)))], SHOP).finishing
    assert line.length is not None
    assert (line.panels, line.length.used, line.length.needed) == (2, 100.0, 101.0)


def a_strip(number: int, length: float, width: float = 2.25) -> BindingStrip:
    made = datetime(2026, 1, 1, tzinfo=UTC)
    return BindingStrip(id=number, created=made, length=length, width=width)


def test_binding_on_hand_counts_once_and_only_where_it_is_wide_enough() -> None:
    """74 in round; 30 in give 27 3/4. The rest, 46 1/4 in, is two strips of 37 3/4 in."""
    needs = FinishNeeds(binding_length=74.0, strip_width=2.25, binding_strips=2)
    strips = [a_strip(1, 30.0), a_strip(2, 60.0, 1.5)]
    both = [wanted("a", needs=needs), wanted("b", needs=needs)]
    one, other = shopping_list(both, SHOP, strips=strips).finishing
    assert (one.on_hand, one.strips) == (27.75, 2)
    assert one.length is not None
    assert one.length.used == 4.5
    assert (other.on_hand, other.strips) == (0.0, 2)
    (enough,) = shopping_list(both[:1], SHOP, strips=[a_strip(1, 80.0)]).finishing
    assert enough.length is None
    bound = replace(both[0], bound=True)
    (held,) = shopping_list([bound], SHOP, strips=strips).finishing
    assert (held.on_hand, held.buy) == (74.0, False)


def test_lengths_at_hand_that_binding_or_backing_could_come_from_are_named() -> None:
    """74 in round are two strips of 2 1/4 in across 40 in, 4 1/2 in of a length, not of 4 in.

    A backing of 20 × 22 in takes 20 in of a length, its other side across; 1 in is straightened.
    """
    needs = FinishNeeds(
        backing=(20.0, 22.0), binding_length=74.0, strip_width=2.25, binding_strips=2
    )
    lengths = [
        replace(a_length(n, "d", inches), usable_width=40.0)
        for n, inches in enumerate((9.0, 4.0, 21.0), 1)
    ]
    found = shopping_list([wanted("a", needs=needs)], SHOP, lengths).finishing
    instead = {line.kind: [(one.yardage.id, one.takes) for one in line.lengths] for line in found}
    assert instead == {"backing": [(3, 20.0)], "binding": [(1, 4.5), (3, 4.5)]}


def test_bias_strips_come_from_a_square() -> None:
    """144 in of 2 1/4 in are 324 sq in: a square of 18 in, and 3 in more (common practice)."""
    needs = FinishNeeds(binding_length=144.0, strip_width=2.25, binding_strips=4, bias=True)
    (line,) = shopping_list([wanted("a", needs=needs)], SHOP).finishing
    assert line.length is not None
    assert line.length.used == pytest.approx(21.0)


def a_notion(number: int, kind: NotionKind, *sides: float, count: int = 1) -> Notion:
    length, width = (*sides, None)[:2]
    made = datetime(2026, 1, 1, tzinfo=UTC)
    assert length is not None
    return Notion(id=number, created=made, kind=kind, length=length, width=width, count=count)


def test_batting_form_and_zip_of_the_store_serve_one_project_each() -> None:
    """The smallest batting, the nearest form, a zip that fits, else a longer one; each once."""
    needs = FinishNeeds(batting=(22.5, 20.0), form=(19.0, 19.0), zip_length=16.5)
    store = [
        a_notion(1, "batting", 40.0, 36.0), a_notion(2, "batting", 20.0, 24.0),
        a_notion(3, "form", 20.0, 20.0), a_notion(4, "form", 18.5, 19.0, count=2),
        a_notion(5, "zip", 16.0), a_notion(6, "zip", 18.0),
    ]  # fmt: skip
    both = [wanted("a", needs=needs), wanted("b", needs=needs)]
    found = shopping_list(both, SHOP, notions=store).finishing
    assert [(one.project, one.kind, one.have_ids, one.buy) for one in found] == [
        ("a", "batting", [2], False), ("a", "form", [4], False), ("a", "zip", [5], False),
        ("b", "batting", [1], False), ("b", "form", [4], False), ("b", "zip", [6], False),
    ]  # fmt: skip
    third = shopping_list([*both, wanted("c", needs=needs)], SHOP, notions=store).finishing[6:]
    assert [(one.kind, one.have_ids) for one in third] == [
        ("batting", []), ("form", [3]), ("zip", []),
    ]  # fmt: skip


def test_two_pieces_of_batting_are_on_hand_for_one_cover_as_finish_says() -> None:
    """Two of 12 × 23 in side by side cover 22 1/2 × 20 in; one alone does not."""
    needs = FinishNeeds(batting=(22.5, 20.0))
    pieces = [a_notion(1, "batting", 23.0, 12.0, count=2)]
    (line,) = shopping_list([wanted("a", needs=needs)], SHOP, notions=pieces).finishing
    assert (line.have_ids, line.buy) == ([1, 1], False)
    (lone,) = shopping_list(
        [wanted("a", needs=needs)], SHOP, notions=[replace(pieces[0], count=1)]
    ).finishing
    assert (lone.have_ids, lone.buy) == ([], True)


def test_a_length_that_came_since_a_plan_was_kept_is_shown() -> None:
    rule = RoleRule("cream", fabrics=frozenset({"d"}))
    lengths = [replace(a_length(1, "d", long), id=n) for n, long in ((1, 9.0), (2, 11.0))]

    def here(plan: str | None) -> Sequence[int]:
        some = wanted("a", shortage(4.5, 16, rule), plan=plan)
        return [one.yardage.id for one in shopping_list([some], SHOP, lengths).here]

    assert here("a") == [2]
    assert here(None) == []


def test_what_one_project_takes_is_not_offered_to_the_next() -> None:
    """Inches of a length count as promised to it."""
    length = replace(a_length(1, "d", 12.0), usable_width=40.0)
    (found,) = allocate_lengths(
        [StripPiece("square", box(0, 0, 4, 4), 10, (0.0,), role="top")], {"top": RoleRule("top")},
        [length], {"top": 40.0}, {"top": Counter()}, usual_width=40.0, shop=SHOP,
    )  # fmt: skip
    assert found.on_hand[0].takes == 5.0
    _, _, (left,) = left_after([wanted("first", found).result], (), (), [length])
    assert (left.left, left.promised[0].plan) == (7.0, "first")
