"""Strips of lengths cut over several visits, for several roles: no inch is lost or taken twice."""

from pathlib import Path

import pytest
from shapely import box

from scrapstore.actions.cut import look_at_cut
from scrapstore.actions.match import match_project
from scrapstore.actions.plan import answer_again, finish_kept, release_kept, show_plan
from scrapstore.planning.cut_request import CutRequest
from scrapstore.shapes import cut_shape, make_shape
from scrapstore.store import NewFabric, NewReadyCut, NewScrap, NewYardage, StockFilter, Store
from tests.actions.test_cut import SETTINGS, booked, kept, project, store
from tests.support.kept_plans import keep

__all__ = ["store"]  # the fixture

TWO_ROLES = """
format = 1
name = "two roles"
seam_allowance = "1/4"
[roles.sky]
families = ["blue"]
[roles.sea]
families = ["blue"]
[[pieces]]
name = "sky"
shape = "rectangle"
width = "4"
height = "4"
count = 20
role = "sky"
[[pieces]]
name = "sea"
shape = "rectangle"
width = "2 1/2"
height = "5"
count = 20
role = "sea"
"""


def length(store: Store, inches: float, wide: float = 40.0) -> int:
    with store.change("test") as writer:
        drill = writer.add_fabric(NewFabric(name="drill", family="blue", usable_width=wide))
        return writer.add_yardage(NewYardage(fabric=drill, length=inches)).id


def held(store: Store, name: str) -> dict[int, float]:
    return dict(show_plan(store, name).yardage)


@pytest.mark.parametrize("backwards", [False, True])
def test_strip_by_strip_for_two_roles(store: Store, tmp_path: Path, *, backwards: bool) -> None:
    """What the plan holds goes down with every strip to nothing, and the length by as much."""
    number = length(store, 36.0)
    file = tmp_path / "two.toml"
    file.write_text(TWO_ROLES, encoding="utf-8")
    keep(store, match_project(store, file, settings=SETTINGS), "two")
    whole = held(store, "two")[number]
    later = look_at_cut(store, "two", CutRequest(), SETTINGS).cuts
    strips = [cut.source for cut in later]
    assert len(strips) > 3
    assert sum(strip.inches for strip in strips) == pytest.approx(whole)
    taken = 0.0
    for strip in reversed(strips) if backwards else strips:
        booked(store, "two", CutRequest(strips=[strip.labels[0]]))
        taken += strip.inches
        with store.read() as reader:
            now = reader.yardage_length(number)
        assert now.length == pytest.approx(36.0 - taken)
        assert held(store, "two").get(number, 0.0) == pytest.approx(whole - taken)
        assert now.left == pytest.approx(36.0 - whole)  # for others, all the time
    assert held(store, "two") == {}
    finish_kept(store, "two")
    with store.read() as reader:
        assert reader.yardage_length(number).left == pytest.approx(36.0 - whole)


def test_a_strip_that_was_not_cut_takes_nothing_off(store: Store, tmp_path: Path) -> None:
    """The second of two strips: its inches are free again, and the sheets know the length."""
    number = length(store, 18.0)
    kept(store, project(tmp_path, "ten", ("blue", "4", "4", 10)), "ten")
    first, second = look_at_cut(store, "ten", CutRequest(), SETTINGS).cuts
    booked(store, "ten", CutRequest(not_cut=second.source.labels))
    with store.read() as reader:
        now = reader.yardage_length(number)
    assert (now.length, now.left) == (18.0 - first.source.inches,) * 2
    assert held(store, "ten") == {}
    _, result, _ = answer_again(store, "ten", SETTINGS)
    assert result is not None
    assert [hand.yardage.length for one in result.shortages for hand in one.on_hand] == [18.0]


def test_strips_along_the_grain_leave_the_rest_beside_them(store: Store, tmp_path: Path) -> None:
    """Seven of 3 × 11 and eight of 5 × 5 1/2 lie side by side on 41 of 43 in."""
    length(store, 12.5, wide=43.0)
    pieces = (("blue", "2 1/2", "10 1/2", 7), ("blue", "4 1/2", "5", 8))
    kept(store, project(tmp_path, "long", *pieces), "long")
    (cut,) = look_at_cut(store, "long", CutRequest(), SETTINGS).cuts
    assert cut.source.along_grain
    assert len(cut.source.labels) == 15
    done = booked(store, "long")
    (rest,) = done.offcuts
    left, bottom, right, top = rest.outline.bounds
    assert rest.grain_deg == 0.0
    assert top - bottom == pytest.approx(2.0)
    made = 7 * 3 * 11 + 8 * 5 * 5.5
    end = cut.source.inches - (right - left)  # squared up, or beyond the pieces
    assert 43 * end + made + rest.area + cut.waste_area == pytest.approx(43 * cut.source.inches)
    assert held(store, "long") == {}


def test_a_release_after_part_was_cut_frees_the_rest_of_all(store: Store, tmp_path: Path) -> None:
    """Scraps not cut, inches not cut, ready-cut pieces counted off, and what was cut already."""
    number = length(store, 18.0)
    square = make_shape("square", side=3)
    with store.change("test") as writer:
        red = writer.add_fabric(NewFabric(name="red drill", family="red"))
        for _ in range(2):
            writer.add_scrap(NewScrap(outline=box(0, 0, 7, 3.5), fabric=red, grain_deg=0.0))
        writer.add_ready_cut(
            NewReadyCut(kind="square", label=square.label, measures=dict(square.measures),
                        cut=cut_shape(square, 0.25), count=9, family="green")
        )  # fmt: skip
    pieces = (("red", "3", "3", 4), ("blue", "3", "3", 3), ("green", "3", "3", 5))
    kept(store, project(tmp_path, "all", *pieces), "all")
    booked(store, "all", CutRequest(scraps=[1]))
    release_kept(store, "all")
    with store.read() as reader:
        assert [scrap.id for scrap in reader.scraps()] == [2]
        assert reader.yardage_length(number).left == 18.0
        lots = [(lot.family or "red", lot.count) for lot in reader.ready_cut()]
        assert sorted(lots) == [("green", 9), ("red", 2)]
        assert reader.ready_cut(StockFilter(statuses=("set aside",))) == ()
    assert store.check().faults == ()
