"""Pieces that were spoilt are sought once more: where, in which order, on which terms."""

from dataclasses import replace
from pathlib import Path

import pytest
from shapely import box

from scrapstore.actions.cut import CutPreview, book_cut, look_at_cut
from scrapstore.actions.plan import finish_kept, release_kept, show_plan
from scrapstore.actions.undo import changes_to_undo, undo_changes
from scrapstore.errors import NotFoundError, PlanError, UsageError
from scrapstore.planning.after_cutting import Spoilt
from scrapstore.planning.cut_request import CutRequest
from scrapstore.shapes import cut_shape, make_shape
from scrapstore.store import (
    NewFabric,
    NewReadyCut,
    NewScrap,
    NewYardage,
    StockFilter,
    Store,
    Writer,
)
from tests.actions.test_cut import SETTINGS, booked, kept, project, red, store

__all__ = ["store"]  # the fixture

AGAIN = CutRequest(again=True)
SQUARE = make_shape("square", side=3)


def again(store: Store, name: str) -> CutPreview:
    return look_at_cut(store, name, AGAIN, SETTINGS)


def cloths(preview: CutPreview) -> list[tuple[str, int]]:
    return [(type(cut.source.cloth).__name__, cut.source.cloth.id) for cut in preview.cuts]


def scrap(writer: Writer, fabric: str, wide: float, tall: float, family: str = "red") -> int:
    try:
        cloth = writer.fabric(fabric)
    except NotFoundError:
        cloth = writer.add_fabric(NewFabric(name=fabric, family=family))
    made = NewScrap(outline=box(0, 0, wide, tall), fabric=cloth, grain_deg=0.0)
    return writer.add_scrap(made).id


def test_the_same_fabric_gives_it_where_the_offcut_is_too_narrow(
    store: Store, tmp_path: Path
) -> None:
    """A set of four from one fabric: 4 × 9 1/2 of it leaves 4 × 6 and wastes 1/2 × 3 1/2."""
    red(store, (10, 7), (4, 9.5))
    file = project(tmp_path, "four", ("red", "3", "3", 4), more="same_fabric_sets = 4")
    kept(store, file, "four")
    booked(store, "four", CutRequest(scraps=[1], spoilt={"A3": Spoilt(0.25, "right")}))
    preview = look_at_cut(store, "four", CutRequest(), SETTINGS)
    assert (cloths(preview), preview.cuts[0].source.labels) == ([("Scrap", 2)], ("A3",))
    done = book_cut(store, preview, SETTINGS)
    assert [one.sides for one in done.offcuts] == [pytest.approx((4.0, 6.0))]
    assert preview.cuts[0].waste_area == pytest.approx(1.75)
    assert [lot.count for lot in done.lots] == [4]
    assert {one.state for one in show_plan(store, "four").pieces.values()} == {"cut"}
    with pytest.raises(PlanError, match="all of 'four' is cut"):
        look_at_cut(store, "four", CutRequest(), SETTINGS)


def test_an_offcut_of_the_same_cloth_comes_first(store: Store, tmp_path: Path) -> None:
    """12 × 7 1/4 gives four and leaves 5 × 7 1/4, though another scrap is nearer in size."""
    red(store, (12, 7.25))
    kept(store, project(tmp_path, "four", ("red", "3", "3", 4)), "four")
    with store.change("test") as writer:
        scrap(writer, "rust linen", 3.5, 3.5)
    done = booked(store, "four", CutRequest(spoilt={"A1": Spoilt()}))
    preview = again(store, "four")
    (cut,) = preview.cuts
    assert cut.source.scrap is not None
    assert cut.source.scrap.id in {one.id for one in done.offcuts}
    assert cut.source.labels == ("A1",)


def lose_one(store: Store, folder: Path, more: str, *others: str) -> None:
    """Keep and cut a plan of two squares from two fabrics, and lose the one of red drill."""
    with store.change("test") as writer:
        numbers = [scrap(writer, "red drill", 3.5, 3.5), scrap(writer, "rust linen", 3.5, 3.5)]
    kept(store, project(folder, "two", ("red", "3", "3", 2), more=more), "two")
    with store.change("test") as writer:
        for fabric in others:
            scrap(writer, fabric, 3.5, 3.5)
    plan = look_at_cut(store, "two", CutRequest(), SETTINGS)
    (label,) = [
        cut.source.labels[0]
        for cut in plan.cuts
        if cut.source.scrap and cut.source.scrap.id == numbers[0]
    ]
    booked(store, "two", CutRequest(spoilt={label: Spoilt(0.25, "top")}))


def test_another_fabric_must_keep_the_conditions_of_the_role(store: Store, tmp_path: Path) -> None:
    """Two fabrics at least: rust is in the plan already, so only the poppy scrap (4) will do."""
    lose_one(store, tmp_path, "min_fabrics = 2", "rust linen", "poppy cotton")
    assert cloths(again(store, "two")) == [("Scrap", 4)]


def test_no_fabric_gives_more_than_it_may(store: Store, tmp_path: Path) -> None:
    lose_one(store, tmp_path, "max_per_fabric = 1", "rust linen", "poppy cotton")
    assert cloths(again(store, "two")) == [("Scrap", 4)]


def test_what_nothing_gives_is_to_be_bought(store: Store, tmp_path: Path) -> None:
    lose_one(store, tmp_path, "max_per_fabric = 1", "rust linen")
    with pytest.raises(PlanError, match=r"nothing you have gives A\d. Buy 1/8 yd of red drill"):
        again(store, "two")


def test_ready_cut_pieces_and_yardage_serve_too(store: Store, tmp_path: Path) -> None:
    """The ready-cut square of the same fabric; when it is gone, a strip off the length."""
    lose_one(store, tmp_path, "")
    with store.change("test") as writer:
        drill = writer.fabric("red drill")
        length = writer.add_yardage(NewYardage(fabric=drill, length=9.0))
        pieces = NewReadyCut(kind="square", label=SQUARE.label, measures=dict(SQUARE.measures),
                             cut=cut_shape(SQUARE, 0.25), count=2, fabric=drill)  # fmt: skip
        lot = writer.add_ready_cut(pieces)
    assert cloths(again(store, "two")) == [("ReadyCut", lot.id)]
    with store.change("test") as writer:
        writer.update_ready_cut(replace(lot, status="used up"))
    preview = again(store, "two")
    assert cloths(preview) == [("Yardage", length.id)]
    done = book_cut(store, preview, SETTINGS)
    with store.read() as reader:
        assert reader.yardage_length(length.id).length == 9.0 - 1.0 - 3.5
    assert [one.parent_id for one in done.offcuts] == [None]


def test_ready_cut_pieces_are_counted_off_their_lot(store: Store, tmp_path: Path) -> None:
    lose_one(store, tmp_path, "")
    with store.change("test") as writer:
        pieces = NewReadyCut(kind="square", label=SQUARE.label, measures=dict(SQUARE.measures),
                             cut=cut_shape(SQUARE, 0.25), count=2, family="red")  # fmt: skip
        lot = writer.add_ready_cut(pieces)
    book_cut(store, again(store, "two"), SETTINGS)
    with store.read() as reader:
        assert reader.ready_cut_lot(lot.id).count == 1
        aside = reader.ready_cut(StockFilter(statuses=("set aside",)))
        assert sum(one.count for one in aside) == 2


def test_cloth_that_goes_meanwhile_is_not_booked(store: Store, tmp_path: Path) -> None:
    lose_one(store, tmp_path, "", "poppy cotton")
    preview = again(store, "two")
    ((_, number),) = cloths(preview)
    with store.change("test") as writer:
        writer.update_scrap(replace(writer.scrap(number), outline=box(0, 0, 3, 3)))
    with pytest.raises(PlanError, match="changed or cut meanwhile; nothing was booked"):
        book_cut(store, preview, SETTINGS)


def test_squares_that_are_cut_corner_to_corner_become_triangles(
    store: Store, tmp_path: Path
) -> None:
    """Three triangles from two ready-cut squares of 3 7/8 in: the fourth is spare."""
    side = 3.875
    with store.change("test") as writer:
        writer.add_ready_cut(
            NewReadyCut(kind="square", label="square", cut=box(0, 0, side, side), count=5,
                        family="red")
        )  # fmt: skip
    file = tmp_path / "three.toml"
    file.write_text(
        'format = 1\nname = "three"\n[roles.red]\nfamilies = ["red"]\n[[pieces]]\nname = "hst"\n'
        'shape = "half-square triangle"\nshort_side = "3"\ncount = 3\nrole = "red"\n'
        'tips = "pointed"\n',
        encoding="utf-8",
    )
    kept(store, file, "three")
    done = booked(store, "three")
    assert sorted((lot.kind, lot.count, lot.status) for lot in done.lots) == [
        ("half-square-triangle", 1, "available"), ("half-square-triangle", 3, "set aside"),
    ]  # fmt: skip
    with store.read() as reader:
        squares = [
            lot for lot in reader.ready_cut(StockFilter(statuses=())) if lot.kind == "square"
        ]
        assert sorted((lot.count, lot.status) for lot in squares) == [
            (0, "used up"), (3, "available"),
        ]  # fmt: skip
    with pytest.raises(PlanError, match="all of 'three' is cut"):
        look_at_cut(store, "three", CutRequest(), SETTINGS)


def test_a_piece_that_was_spoilt_after_it_was_booked(store: Store, tmp_path: Path) -> None:
    """One square of four comes out of its lot as a scrap of 3 1/4 × 3 1/2, and is sought again."""
    red(store, (10, 7), (4, 9.5))
    kept(store, project(tmp_path, "four", ("red", "3", "3", 4)), "four")
    booked(store, "four", CutRequest(scraps=[1]))
    spoilt = CutRequest(spoilt={"a3": Spoilt(0.25, "right")})
    preview = look_at_cut(store, "four", spoilt, SETTINGS)
    assert preview.cuts == ()
    done = book_cut(store, preview, SETTINGS)
    assert done.lost
    made = done.spoilt["A3"]
    assert made.sides == pytest.approx((3.25, 3.5))
    assert made.parent_id == 1
    assert (made.fabric and made.fabric.name, made.place) == ("red drill", "tin")
    with store.read() as reader:
        (lot,) = reader.ready_cut(StockFilter(statuses=("set aside",)))
    assert lot.count == 3
    assert show_plan(store, "four").pieces["A3"].state == "spoilt"
    book_cut(store, again(store, "four"), SETTINGS)
    assert show_plan(store, "four").pieces["A3"].state == "cut"
    with pytest.raises(PlanError, match="changed or cut meanwhile"):
        book_cut(store, preview, SETTINGS)
    finish_kept(store, "four")
    assert store.check().faults == ()


def test_all_pieces_of_a_lot_may_be_spoilt_since(store: Store, tmp_path: Path) -> None:
    red(store, (7, 3.5))
    kept(store, project(tmp_path, "two", ("red", "3", "3", 2)), "two")
    booked(store, "two")
    done = booked(store, "two", CutRequest(spoilt={"A1": Spoilt(), "A2": Spoilt()}))
    assert [one.note for one in done.spoilt.values()] == [
        "spoilt: A1 of two; measure it", "spoilt: A2 of two; measure it",
    ]  # fmt: skip
    with store.read() as reader:
        (lot,) = reader.ready_cut(StockFilter(statuses=()))
    assert (lot.count, lot.status) == (0, "used up")
    undo_changes(store, changes_to_undo(store))
    assert {one.state for one in show_plan(store, "two").pieces.values()} == {"cut"}
    release_kept(store, "two")
    assert store.check().faults == ()


def test_spoilt_since_is_said_alone(store: Store, tmp_path: Path) -> None:
    red(store, (7, 3.5), (7, 3.5))
    kept(store, project(tmp_path, "four", ("red", "3", "3", 4)), "four")
    booked(store, "four", CutRequest(strips=["A1"]))
    said = {"A1": Spoilt(), "A3": Spoilt()}
    for request in (CutRequest(spoilt=said), CutRequest(spoilt={"A1": Spoilt()}, not_cut=["A3"])):
        with pytest.raises(UsageError, match="A1 is booked as cut already; say in a call of its"):
            look_at_cut(store, "four", request, SETTINGS)
