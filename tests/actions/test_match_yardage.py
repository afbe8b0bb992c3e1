"""What a match takes from yardage at hand, and what it says to buy."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from shapely import box

from scrapstore.actions.match import match_project
from scrapstore.json_output.match import match_out
from scrapstore.planning.strip_cuts import strip_cuttings
from scrapstore.report.yardage_text import buy_text, role_words
from scrapstore.settings import Settings
from scrapstore.store import NewFabric, NewScrap, NewYardage, Store, open_store
from tests.support.pad import write_pad

SETTINGS = Settings()


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with open_store(tmp_path / "store") as store:
        yield store


def pad(folder: Path, count: int) -> Path:
    return write_pad(folder, count, rules='families = ["blue"]')


def test_what_is_short_becomes_strips_and_a_length_to_buy(store: Store, tmp_path: Path) -> None:
    """40 squares of 2 1/2 in from 40 in: 16 to a strip, so 3 strips, 7 1/2 in of fabric."""
    result = match_project(store, pad(tmp_path, 40), settings=SETTINGS)
    (shortage,) = result.shortages
    assert [(s.width, s.times) for s in shortage.plan.strips] == [(2.5, 2), (2.5, 1)]
    assert shortage.plan.length == 7.5
    assert buy_text(shortage, "in") == "1/4 yd"
    assert buy_text(shortage, "cm") == "30 cm"


def test_a_length_at_hand_that_is_enough_need_not_be_bought(store: Store, tmp_path: Path) -> None:
    with store.change("test") as writer:
        cloth = writer.add_fabric(NewFabric(name="blue drill", family="blue", usable_width=40.0))
        other = writer.add_fabric(NewFabric(name="red drill", family="red", usable_width=40.0))
        writer.add_yardage(NewYardage(fabric=cloth, length=8.0))
        writer.add_yardage(NewYardage(fabric=cloth, length=9.0, place="shelf"))
        writer.add_yardage(NewYardage(fabric=other, length=99.0))
    result = match_project(store, pad(tmp_path, 40), settings=SETTINGS)
    (shortage,) = result.shortages
    assert [(h.yardage.length, h.takes) for h in shortage.on_hand] == [(9.0, 8.5)]
    assert not shortage.buy
    assert buy_text(shortage, "in") == "nothing: what you have is enough"
    assert role_words(shortage, result.project.letters, "in", strip_cuttings(result)[0])[0] == (
        "You have 9 in of blue drill (length 2, kept in shelf): it covers 40 A and takes 8 1/2 in, "
        "1 in of it for straightening the end."
    )


def test_the_length_to_buy_follows_the_width_of_the_named_fabric(
    store: Store, tmp_path: Path
) -> None:
    """30 squares of 4 in from 36 in: 9 a strip, 4 strips, 16 in and 1 in to straighten: 1/2 yd."""
    file = write_pad(tmp_path, 30, rules='fabrics = ["rose"]')
    file.write_text(file.read_text("utf-8").replace('"2"', '"3 1/2"'), encoding="utf-8")
    with store.change("test") as writer:
        writer.add_fabric(NewFabric(name="rose", usable_width=36.0))
    (shortage,) = match_project(store, file, settings=SETTINGS).shortages
    assert shortage.plan.usable_width == 36.0
    assert shortage.plan.length == 16.0
    assert buy_text(shortage, "in") == "1/2 yd"


TWO_ROLES = """
format = 1
name = "Bench pad"
[roles.top]
[roles.edge]
[[pieces]]
name = "square"
shape = "square"
side = "4 1/2"
count = 24
role = "top"
[[pieces]]
name = "band"
shape = "square"
side = "2"
count = 16
role = "edge"
"""


def test_what_is_at_hand_covers_a_part_and_the_rest_is_bought(store: Store, tmp_path: Path) -> None:
    """24 squares of 5 in want three strips; 11 1/2 in straightened is two: 16 squares, 8 to buy."""
    with store.change("test") as writer:
        cloth = writer.add_fabric(NewFabric(name="blue drill", family="blue", usable_width=40.0))
        writer.add_yardage(NewYardage(fabric=cloth, length=12.5))
    file = pad(tmp_path, 24)
    file.write_text(file.read_text("utf-8").replace('"2"', '"4 1/2"'), encoding="utf-8")
    result = match_project(store, file, settings=SETTINGS)
    (shortage,) = result.shortages
    (hand,) = shortage.on_hand
    assert hand.plan.pieces == {"square": 16}
    assert shortage.plan.pieces == {"square": 8}
    assert buy_text(shortage, "in") == "1/4 yd"
    said = role_words(shortage, result.project.letters, "in", strip_cuttings(result)[0])
    assert said[0].startswith("You have 12 1/2 in of blue drill (length 1): it covers 16 A")
    assert said[2].startswith("Buy 1/4 yd for the rest, 8 A:")
    assert said[3] == (
        "Cut 1 strip 5 in × WOF, and straighten the left end: it gives 8 A square. "
        "Cut 1: 5 in right of the left end: gives A17. Cut 2 to 7: Each 5 in right of the cut "
        "before: gives A18 to A24."
    )
    out = match_out(result).yardage[0]
    assert (out.pieces, out.buy, out.on_hand[0].covers) == (
        {"square": 24}, {"square": 8}, {"square": 16},
    )  # fmt: skip
    assert out.must_buy
    assert not out.on_hand[0].enough
    assert out.instructions == list(said)


def test_no_length_is_promised_twice(store: Store, tmp_path: Path) -> None:
    """16 in: three strips of 5 in for the one role leave none of 2 1/2 in for the other."""
    file = tmp_path / "two.toml"
    file.write_text(TWO_ROLES, encoding="utf-8")
    with store.change("test") as writer:
        cloth = writer.add_fabric(NewFabric(name="blue drill", family="blue", usable_width=40.0))
        length = writer.add_yardage(NewYardage(fabric=cloth, length=16.0))
    top, edge = match_project(store, file, settings=SETTINGS).shortages
    assert (top.buy, edge.buy) == (False, True)
    assert not edge.on_hand
    with store.change("test") as writer:
        writer.update_yardage(replace(length, length=18.5))
    top, edge = match_project(store, file, settings=SETTINGS).shortages
    assert (top.buy, edge.buy) == (False, False)
    assert (top.on_hand[0].takes, edge.on_hand[0].before, edge.on_hand[0].takes) == (16, 16, 2.5)


def test_lengths_keep_the_conditions_of_a_role(store: Store, tmp_path: Path) -> None:
    """At most ten of one fabric, in sets of five: two lengths of it still give ten together."""
    rules = 'families = ["blue"]\nmax_per_fabric = 10\nsame_fabric_sets = 5'
    file = write_pad(tmp_path, 20, rules=rules)
    with store.change("test") as writer:
        for name, long in (("drill", 5.0), ("drill", 5.0), ("duck", 3.6)):
            known = [fabric for fabric in writer.fabrics() if fabric.name == name]
            cloth = known[0] if known else writer.add_fabric(
                NewFabric(name=name, family="blue", usable_width=20.0)
            )  # fmt: skip
            writer.add_yardage(NewYardage(fabric=cloth, length=long))
    (shortage,) = match_project(store, file, settings=SETTINGS).shortages
    given = {"drill": 0, "duck": 0}
    for hand in shortage.on_hand:
        given[hand.yardage.fabric.name] += hand.plan.pieces["square"]
    assert given == {"drill": 10, "duck": 5}
    assert shortage.plan.pieces == {"square": 5}


def test_the_piece_that_would_cost_a_strip_of_its_own_is_cut_first(
    store: Store, tmp_path: Path
) -> None:
    """4 × 4 in of cloth: four squares of 2 in, or one rectangle of 4 × 3 3/4 in, an inch less.

    With the straightening a strip of 3 3/4 in is more than an eighth of a yard, one of 2 in is not.
    """
    file = tmp_path / "strips.toml"
    file.write_text(
        """
format = 1
name = "Strips"
seam_allowance = "0"
[roles.top]
[[pieces]]
name = "large"
shape = "rectangle"
width = "4"
height = "3 3/4"
count = 1
role = "top"
[[pieces]]
name = "small"
shape = "square"
side = "2"
count = 4
role = "top"
""",
        encoding="utf-8",
    )
    with store.change("test") as writer:
        writer.add_scrap(NewScrap(outline=box(0, 0, 4, 4), family="blue", value="dark"))
    result = match_project(store, file, settings=SETTINGS)
    assert {supply.need: supply.short for supply in result.supplies} == {"large": 0, "small": 4}
    (shortage,) = result.shortages
    assert shortage.plan.buy_yards == 1 / 8
