"""The conditions of a role hold for lengths at hand and for what is bought."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import box

from scrapstore.actions.match import match_project
from scrapstore.json_output.match import match_out
from scrapstore.matching import RoleRule
from scrapstore.planning.allocate import Shortage, allocate_lengths
from scrapstore.planning.purchases import Shop
from scrapstore.planning.result import MatchResult
from scrapstore.planning.strip_cuts import strip_cuttings
from scrapstore.report.answer_text import can_make
from scrapstore.report.yardage_text import buy_text, role_words
from scrapstore.settings import Settings
from scrapstore.store import Fabric, NewFabric, NewScrap, NewYardage, Store, Yardage, open_store
from scrapstore.yardage import StripPiece
from tests.support.pad import write_pad


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with open_store(tmp_path / "store") as store:
        yield store


def lengths(store: Store, *named: tuple[str, float]) -> None:
    """Dark blue lengths, 40 in wide; a name given twice is one fabric."""
    with store.change("test") as writer:
        fabrics: dict[str, Fabric] = {}
        for name, inches in named:
            if name not in fabrics:
                new = NewFabric(name=name, family="blue", value="dark", usable_width=40.0)
                fabrics[name] = writer.add_fabric(new)
            writer.add_yardage(NewYardage(fabric=fabrics[name], length=inches))


def matched(store: Store, folder: Path, count: int, rules: str) -> MatchResult:
    rules = f'families = ["blue", "green"]\nvalues = ["dark"]\n{rules}'
    file = write_pad(folder, count, rules=rules)
    return match_project(store, file, settings=Settings(), why=False)


def of_fabrics(shortage: Shortage) -> Counter[str]:
    given = Counter[str]()
    for hand in shortage.on_hand:
        given[hand.yardage.fabric.name] += sum(hand.plan.pieces.values())
    return given


def test_what_is_bought_keeps_the_most_of_one_fabric(store: Store, tmp_path: Path) -> None:
    """16 squares, four of a fabric: four fabrics, one strip of each."""
    result = matched(store, tmp_path, 16, "max_per_fabric = 4")
    (shortage,) = result.shortages
    (purchase,) = shortage.purchases
    assert (purchase.fabrics, purchase.plan.pieces) == (4, {"square": 4})
    assert buy_text(shortage, "in") == "1/8 yd each of 4 different fabrics"
    said = role_words(shortage, result.project.letters, "in", strip_cuttings(result)[0])
    assert said[0].startswith("Buy 1/8 yd each of 4 fabrics for 4 A from each: it takes 2 1/2 in")
    assert said[-1] == "The cloth must be blue or green and be dark."
    assert result.notes == ()
    (out,) = match_out(result).yardage
    assert out.buy == {"square": 16}
    assert [(one.fabrics, one.pieces, one.buy_yards) for one in out.purchases] == [
        (4, {"square": 4}, 0.125)
    ]
    assert out.cloth is not None
    assert (out.cloth.families, out.cloth.values) == (["blue", "green"], ["dark"])


def test_what_is_bought_makes_up_the_fabrics_that_are_asked_for(
    store: Store, tmp_path: Path
) -> None:
    """Four of five fabrics are not there: 14 pieces go round as 4, 4, 3, 3."""
    with store.change("test") as writer:
        fabric = writer.add_fabric(NewFabric(name="drill", family="blue", value="dark"))
        writer.add_scrap(NewScrap(outline=box(0, 0, 5, 5), fabric=fabric))
    (shortage,) = matched(store, tmp_path, 18, "min_fabrics = 5").shortages
    bought = [(one.fabrics, one.plan.pieces["square"]) for one in shortage.purchases]
    assert bought == [(2, 4), (2, 3)]
    assert shortage.fabrics_to_buy == 4
    assert shortage.other_than == ("drill",)
    assert shortage.unmet == ()


def test_lengths_of_as_many_fabrics_as_asked_for_are_taken(store: Store, tmp_path: Path) -> None:
    """Each of them is enough; three are asked for, and all give about as much."""
    lengths(store, ("drill", 18), ("twill", 18), ("duck", 18), ("drill", 18))
    result = matched(store, tmp_path, 16, "min_fabrics = 3")
    (shortage,) = result.shortages
    assert sorted(of_fabrics(shortage).values()) == [5, 5, 6]
    assert len(of_fabrics(shortage)) == 3
    assert not shortage.buy
    assert result.notes == ()


def test_all_pieces_come_before_even_shares(store: Store, tmp_path: Path) -> None:
    """Two of three lengths give one square each: the third must give the rest."""
    lengths(store, ("drill", 18), ("twill", 3.6), ("duck", 3.6))
    with store.change("test") as writer:
        for length in writer.yardage():
            if length.length < 4:
                writer.update_yardage(replace(length, usable_width=3.0))
    (shortage,) = matched(store, tmp_path, 16, "min_fabrics = 3").shortages
    assert of_fabrics(shortage) == {"drill": 14, "twill": 1, "duck": 1}
    assert not shortage.buy


def test_fabrics_that_are_asked_for_and_not_there_are_bought(store: Store, tmp_path: Path) -> None:
    """The two lengths would be enough; a square is left for a third fabric, and that for the next
    match to cut.
    """
    lengths(store, ("drill", 18), ("twill", 18))
    result = matched(store, tmp_path, 16, "min_fabrics = 3")
    (shortage,) = result.shortages
    assert sorted(of_fabrics(shortage).values()) == [7, 8]
    (purchase,) = shortage.purchases
    assert (purchase.fabrics, purchase.plan.pieces) == (1, {"square": 1})
    assert result.notes == ()
    said = role_words(shortage, {"square": "A"}, "in", strip_cuttings(result)[0])
    assert "not be drill or twill" in said[-1]
    lengths(store, ("duck", 36 * purchase.plan.buy_yards))
    (shortage,) = (again := matched(store, tmp_path, 16, "min_fabrics = 3")).shortages
    assert (again.notes, shortage.buy, len(of_fabrics(shortage))) == ((), False, 3)


def test_a_condition_that_is_not_kept_is_said(store: Store, tmp_path: Path) -> None:
    with store.change("test") as writer:
        drill = writer.add_fabric(NewFabric(name="drill", family="blue", value="dark"))
        writer.add_scrap(NewScrap(outline=box(0, 0, 6, 6), fabric=drill))
    result = matched(store, tmp_path, 4, "min_fabrics = 3")
    (note,) = result.notes
    assert note.startswith("top: asks for at least 3 different fabrics; this plan shows 1")
    assert can_make(result, "in").startswith(
        "You can make this now, though a condition is not kept (see below): all 4 pieces"
    )
    few = matched(store, tmp_path, 50, 'max_per_fabric = 4\nfabrics = ["drill", "twill", "duck"]')
    assert any("12 more fabrics are needed, and only 2 more may be used" in n for n in few.notes)


def test_lengths_and_what_is_bought_share_the_most_of_one_fabric(
    store: Store, tmp_path: Path
) -> None:
    lengths(store, ("drill", 18), ("twill", 18))
    result = matched(store, tmp_path, 16, "max_per_fabric = 6")
    (shortage,) = result.shortages
    assert sorted(of_fabrics(shortage).values()) == [6, 6]
    (purchase,) = shortage.purchases
    assert (purchase.fabrics, purchase.plan.pieces) == (1, {"square": 4})
    said = role_words(shortage, {"square": "A"}, "in", strip_cuttings(result)[0])
    assert "not be drill or twill" in said[-1]


def a_length(number: int, fabric: str, inches: float) -> Yardage:
    then = datetime(2025, 3, 1, tzinfo=UTC)
    cloth = Fabric(id=ord(fabric), name=fabric, usable_width=12.0, created=then)
    return Yardage(id=number, fabric=cloth, length=inches, created=then)


@settings(max_examples=12, deadline=None)
@given(
    stock=st.lists(st.tuples(st.sampled_from("abc"), st.sampled_from([3.5, 6.0, 9.0])), max_size=4),
    counts=st.lists(st.integers(1, 3), min_size=1, max_size=2),
    sets=st.sampled_from([None, 2]),
    at_least=st.sampled_from([None, 2, 4]),
    at_most=st.sampled_from([None, 4, 5]),
    used=st.sampled_from([{}, {"a": 2}]),
)
def test_conditions_hold_over_all_cloth(
    stock: list[tuple[str, float]],
    counts: list[int],
    sets: int | None,
    at_least: int | None,
    at_most: int | None,
    used: dict[str, int],
) -> None:
    """Counted fabric by fabric, each that is bought as one of its own."""
    pieces = [
        StripPiece(f"square {side}", box(0, 0, side, side), (sets or 1) * count, role="top")
        for side, count in zip((2.0, 2.5), counts, strict=False)
    ]
    rule = RoleRule("top", same_fabric_sets=sets, min_fabrics=at_least, max_per_fabric=at_most)
    (shortage,) = allocate_lengths(
        pieces, {"top": rule}, [a_length(n, *one) for n, one in enumerate(stock, 1)],
        {"top": 40.0}, {"top": Counter(used)}, usual_width=40.0, shop=Shop(),
    )  # fmt: skip
    per_fabric: dict[str, Counter[str]] = {name: Counter() for name in used}
    for hand in shortage.on_hand:
        per_fabric.setdefault(hand.yardage.fabric.name, Counter()).update(hand.plan.pieces)
    first = 0
    for at, one in enumerate(shortage.purchases if shortage.buy else ()):
        first = first if one.further else at
        for again in range(one.fabrics):
            own = per_fabric.setdefault(f"bought {first} {again}", Counter())
            own.update({name: n * one.count for name, n in one.plan.pieces.items()})
    assert sum(per_fabric.values(), Counter()) == {piece.name: piece.count for piece in pieces}
    for name, own in per_fabric.items():
        assert all(count % (sets or 1) == 0 for count in own.values())
        assert at_most is None or own.total() + used.get(name, 0) <= at_most
    if at_least and len(used) + sum(counts) < at_least:  # more fabrics than sets
        assert "different fabrics" in shortage.unmet[0]
    else:
        assert shortage.unmet == ()
