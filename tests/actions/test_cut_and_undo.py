"""Two jobs from beginning to end, worked by hand: a second cushion, and a slipped ruler."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from shapely import box

from scrapstore.actions.cut import book_cut, look_at_cut
from scrapstore.actions.match import match_project
from scrapstore.actions.undo import changes_to_undo, undo_changes
from scrapstore.planning.after_cutting import Spoilt
from scrapstore.planning.cut_request import CutRequest
from scrapstore.stock_entry.ready_cut import cut_rectangle
from scrapstore.store import NewFabric, NewScrap, StockFilter, Store
from tests.actions.test_cut import SETTINGS, booked, kept, project, red, store
from tests.support.kept_plans import keep
from tests.support.stores import tables

__all__ = ["store"]  # the fixture


def undo(store: Store) -> str:
    """Take back the last change; return what it was."""
    (change,) = undo_changes(store, changes_to_undo(store))
    return change.what


def plain(store: Store) -> dict[Any, Any]:
    """Every row but those of the history."""
    return tables(store.database)


def test_the_second_cushion(store: Store, tmp_path: Path) -> None:
    """Sixteen 5 in squares: ready are 5 light and 8 dark; the 3 that lack come from an offcut.

    The first cushion took two 5 1/2 × 8 from a light scrap of 16 × 11 and left 16 × 5 1/2. Four
    dark squares of 4 3/4 are too small: 4.8536 is the least. 88 − 75 = 13 sq in are waste.
    """
    with store.change("test") as writer:
        sail = writer.add_fabric(NewFabric(name="old sail", family="white", value="light"))
        navy = writer.add_fabric(NewFabric(name="pilot cloth", family="blue", value="dark"))
        writer.add_scrap(NewScrap(outline=box(0, 0, 16, 11), fabric=sail, grain_deg=0.0))
    kept(store, project(tmp_path, "first", ("white", "5", "7 1/2", 2)), "first")
    (offcut,) = booked(store, "first").offcuts
    after_first = plain(store)
    with store.change("test") as writer:
        for fabric, size, count in ((sail, 5.0, 5), (navy, 5.0, 8), (navy, 4.75, 4)):
            pieces = cut_rectangle(size, size, count=count, seam_allowance=0.25)
            writer.add_ready_cut(replace(pieces, fabric=fabric))
    with store.read() as reader:
        small, light, dark = sorted(reader.ready_cut(), key=lambda lot: (lot.cut.area, lot.count))
    file = project(
        tmp_path, "second", ("white", "4 1/2", "4 1/2", 8), ("blue", "4 1/2", "4 1/2", 8)
    )
    result = match_project(store, file, settings=SETTINGS)
    assert {use.lot.id: use.count for use in result.ready} == {light.id: 5, dark.id: 8}
    assert [(cut.scrap.id, cut.counts) for cut in result.cuts] == [
        (offcut.id, {"white 4 1/2 x 4 1/2": 3})
    ]
    assert not any(shortage.buy for shortage in result.shortages)
    before = plain(store)
    keep(store, result, "second")
    done = booked(store, "second")
    assert done.preview.cuts[0].waste_area == pytest.approx(13.0)
    assert (done.offcuts, [lot.count for lot in done.lots]) == ((), [3])
    with store.read() as reader:
        assert [lot.id for lot in reader.ready_cut()] == [small.id]
    assert (undo(store), undo(store)) == ("cut", "plan keep")
    assert plain(store) == before
    with store.read() as reader:
        assert reader.scrap(offcut.id).status == "available"
        assert sorted(lot.count for lot in reader.ready_cut()) == [4, 5, 8]
    assert undo(store) == "test"
    assert plain(store) == after_first


def test_a_slipped_ruler_and_two_undos(store: Store, tmp_path: Path) -> None:
    """The offcut of 3 × 7 is too narrow by 1/2, the same red of 4 × 9 1/2 gives the square.

    It leaves 4 × 6, and 1/2 × 3 1/2 of waste; the set from one fabric holds. Two undos bring both
    scraps back in the record.
    """
    red(store, (10, 7), (4, 9.5))
    file = project(tmp_path, "four", ("red", "3", "3", 4), more="same_fabric_sets = 4")
    kept(store, file, "four")
    planned = plain(store)
    booked(store, "four", CutRequest(spoilt={"A3": Spoilt(0.25, "right")}))
    spoilt = plain(store)
    preview = look_at_cut(store, "four", CutRequest(again=True), SETTINGS)
    done = book_cut(store, preview, SETTINGS)
    assert [one.sides for one in done.offcuts] == [pytest.approx((4.0, 6.0))]
    assert preview.cuts[0].waste_area == pytest.approx(1.75)
    assert undo(store) == "cut"
    assert plain(store) == spoilt
    assert undo(store) == "cut"
    assert plain(store) == planned
    with store.read() as reader:
        scraps = reader.scraps(StockFilter(statuses=()))
    assert [(scrap.id, scrap.status) for scrap in scraps] == [(1, "set aside"), (2, "available")]
