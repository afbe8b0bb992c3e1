"""Booking what was cut: the stories of the guide, worked by hand, and what must not happen."""

from collections.abc import Iterator
from pathlib import Path

import pytest
import shapely
from shapely import box

from scrapstore.actions.cut import CutResult, book_cut, look_at_cut
from scrapstore.actions.match import match_project
from scrapstore.actions.plan import finish_kept, release_kept, show_plan
from scrapstore.actions.scrap import edit_scraps, reinstate_scraps, retire_scraps
from scrapstore.actions.undo import changes_to_undo, undo_changes
from scrapstore.errors import PlanError, StoreError, UsageError
from scrapstore.planning.after_cutting import Spoilt
from scrapstore.planning.cut_request import CutRequest
from scrapstore.settings import Settings
from scrapstore.shapes.typed_outlines import typed_rectangle
from scrapstore.store import (
    NewFabric,
    NewScrap,
    NewYardage,
    Scrap,
    StockFilter,
    Store,
    open_store,
)
from tests.support.kept_plans import keep

SETTINGS = Settings()
PROJECT = """
format = 1
name = "{name}"
seam_allowance = "1/4"
{roles}
{pieces}
"""
ROLE = """
[roles.{role}]
families = ["{family}"]
{more}
"""
PIECE = """
[[pieces]]
name = "{name}"
shape = "rectangle"
width = "{wide}"
height = "{tall}"
count = {count}
role = "{role}"
"""


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with open_store(tmp_path / "store") as store:
        yield store


def project(folder: Path, name: str, *pieces: tuple[str, str, str, int], more: str = "") -> Path:
    """A project with a role for each family: pieces of (family, finished sizes, how many)."""
    families = dict.fromkeys(piece[0] for piece in pieces)
    file = folder / f"{name}.toml"
    file.write_text(
        PROJECT.format(
            name=name,
            roles="".join(ROLE.format(role=f, family=f, more=more) for f in families),
            pieces="".join(
                PIECE.format(name=f"{family} {wide} x {tall}", wide=wide, tall=tall, count=count,
                             role=family)
                for family, wide, tall, count in pieces
            ),
        ),
        encoding="utf-8",
    )  # fmt: skip
    return file


def kept(store: Store, file: Path, name: str) -> None:
    keep(store, match_project(store, file, settings=SETTINGS), name)


def booked(store: Store, name: str, request: CutRequest | None = None) -> CutResult:
    preview = look_at_cut(store, name, request or CutRequest(), SETTINGS)
    return book_cut(store, preview, SETTINGS)


def available(store: Store) -> dict[int, Scrap]:
    with store.read() as reader:
        return {scrap.id: scrap for scrap in reader.scraps()}


def red(store: Store, *sizes: tuple[float, float]) -> None:
    with store.change("test") as writer:
        drill = writer.add_fabric(NewFabric(name="red drill", family="red"))
        for wide, tall in sizes:
            writer.add_scrap(
                NewScrap(outline=box(0, 0, wide, tall), fabric=drill, grain_deg=0.0, place="tin")
            )


def test_an_offcut_comes_back_by_itself_and_serves_the_second_project(
    store: Store, tmp_path: Path
) -> None:
    """16 × 11 gives two 5 1/2 × 8; the rest of 16 × 5 1/2 gives three of 5 × 5 for the next.

    88 − 75 = 13 sq in of it are waste.
    """
    with store.change("test") as writer:
        sail = writer.add_fabric(NewFabric(name="old sail", family="white", value="light"))
        writer.add_scrap(
            NewScrap(outline=box(0, 0, 16, 11), fabric=sail, grain_deg=0.0, place="loft")
        )
    kept(store, project(tmp_path, "first", ("white", "5", "7 1/2", 2)), "first")
    first = booked(store, "first")
    (offcut,) = first.offcuts
    assert offcut.sides == pytest.approx((16.0, 5.5))
    assert (offcut.fabric and offcut.fabric.name, offcut.place) == ("old sail", "loft")
    assert (offcut.grain_deg, offcut.parent_id, offcut.status) == (0.0, 1, "available")
    (lot,) = first.lots
    assert (lot.count, lot.status, lot.set_aside_for) == (2, "set aside", "first")
    assert lot.sides == pytest.approx((5.5, 8.0))
    kept(store, project(tmp_path, "second", ("white", "4 1/2", "4 1/2", 3)), "second")
    second = booked(store, "second")
    assert [lot.count for lot in second.lots] == [3]
    assert second.offcuts == ()
    assert second.preview.cuts[0].waste_area == pytest.approx(13.0)
    assert available(store) == {}
    assert finish_kept(store, "first", ["1 A"]).ready_ids == (lot.id,)
    with store.read() as reader:
        assert [(one.count, one.status) for one in reader.ready_cut()] == [(1, "available")]


def test_a_slipped_ruler(store: Store, tmp_path: Path) -> None:
    """70 = 3 × 12.25 + 11.375 + 0.875 + 21; the spoilt square is a scrap of 3 1/4 × 3 1/2."""
    red(store, (10, 7))
    kept(store, project(tmp_path, "four", ("red", "3", "3", 4)), "four")
    done = booked(store, "four", CutRequest(spoilt={"A3": Spoilt(0.25, "right")}))
    assert done.spoilt["A3"].sides == pytest.approx((3.25, 3.5))
    assert done.spoilt["A3"].note == "spoilt: A3 of four"
    assert [one.sides for one in done.offcuts] == [pytest.approx((3.0, 7.0))]
    assert [lot.count for lot in done.lots] == [3]
    assert done.preview.cuts[0].waste_area == pytest.approx(0.875)
    pieces = show_plan(store, "four").pieces
    assert {label: one.state for label, one in pieces.items()} == {
        "A1": "cut", "A2": "cut", "A3": "spoilt", "A4": "cut",
    }  # fmt: skip
    assert pieces["A3"].scrap_id == done.spoilt["A3"].id
    with pytest.raises(PlanError, match=r"nothing you have gives A3\. Buy 1/8 yd of red drill"):
        look_at_cut(store, "four", CutRequest(), SETTINGS)


def test_a_spoilt_piece_of_unknown_size_may_be_off_by_a_seam(store: Store, tmp_path: Path) -> None:
    red(store, (10, 7))
    kept(store, project(tmp_path, "four", ("red", "3", "3", 4)), "four")
    spoilt = booked(store, "four", CutRequest(spoilt={"A3": Spoilt()})).spoilt["A3"]
    assert spoilt.sides == pytest.approx((3.5, 3.5))
    assert spoilt.uncertainty == 0.25
    assert spoilt.note == "spoilt: A3 of four; measure it"


def test_one_scrap_at_a_time(store: Store, tmp_path: Path) -> None:
    """What is not cut yet stays set aside; the pieces come into one lot; release frees the rest."""
    red(store, (7, 3.5), (7, 3.5))
    kept(store, project(tmp_path, "four", ("red", "3", "3", 4)), "four")
    first = booked(store, "four", CutRequest(scraps=[2]))
    assert [source.scrap and source.scrap.id for source in first.preview.later] == [1]
    with pytest.raises(UsageError, match=r"scrap 2 is not still to be cut for this plan; .*: 1"):
        look_at_cut(store, "four", CutRequest(scraps=[2]), SETTINGS)
    second = booked(store, "four")
    assert [lot.id for lot in second.lots] == [lot.id for lot in first.lots]
    assert [lot.count for lot in second.lots] == [4]
    release_kept(store, "four")
    with store.read() as reader:
        assert [(lot.count, lot.status) for lot in reader.ready_cut()] == [(4, "available")]
        assert reader.scraps() == ()


def test_a_piece_that_was_not_cut_can_be_sought_again(store: Store, tmp_path: Path) -> None:
    red(store, (7, 3.5))
    kept(store, project(tmp_path, "two", ("red", "3", "3", 2)), "two")
    done = booked(store, "two", CutRequest(not_cut=["A2"]))
    assert [one.sides for one in done.offcuts] == [pytest.approx((3.5, 3.5))]
    assert show_plan(store, "two").pieces["A2"].state == "not cut"


def test_a_scrap_of_which_nothing_was_cut_is_free_as_it_was(store: Store, tmp_path: Path) -> None:
    """Not used up, with no offcut that is its double; its pieces are sought again."""
    red(store, (7, 3.5), (7, 3.5))
    kept(store, project(tmp_path, "four", ("red", "3", "3", 4)), "four")
    (first, _) = look_at_cut(store, "four", CutRequest(), SETTINGS).cuts
    done = booked(store, "four", CutRequest(not_cut=first.source.labels))
    assert [cut.untouched for cut in done.preview.cuts] == [True, False]
    assert (done.offcuts, done.preview.cuts[0].waste_area) == ((), 0.0)
    (free,) = available(store).values()
    assert first.source.scrap is not None
    assert (free.id, free.status, free.sides) == (first.source.scrap.id, "available", (7.0, 3.5))
    assert show_plan(store, "four").scrap_ids == ()
    again = look_at_cut(store, "four", CutRequest(again=True), SETTINGS)
    assert [cut.source.cloth.id for cut in again.cuts] == [free.id]
    release_kept(store, "four")
    assert store.check().faults == ()


def test_an_offcut_may_be_left_out_or_put_right(store: Store, tmp_path: Path) -> None:
    """Two squares off each end of 12 × 3 1/2 leave 5 × 3 1/2, which turns out 4 1/2 × 3."""
    red(store, (12, 3.5))
    kept(store, project(tmp_path, "two", ("red", "3", "3", 2)), "two")
    preview = look_at_cut(store, "two", CutRequest(), SETTINGS)
    (letter,) = [one.letter for cut in preview.cuts for one in cut.offcuts]
    typed = look_at_cut(store, "two", CutRequest(typed={letter: typed_rectangle("4 1/2 x 3")}),
                        SETTINGS)  # fmt: skip
    ((offcut,),) = [cut.offcuts for cut in typed.cuts]
    assert (offcut.size, offcut.scrap.grain_deg) == ((4.5, 3.0), 0.0)
    without = look_at_cut(store, "two", CutRequest(leave_out=[letter]), SETTINGS)
    assert without.cuts[0].waste_area == pytest.approx(5 * 3.5)
    with pytest.raises(UsageError, match=r"no offcut is called 'q'; there are a"):
        look_at_cut(store, "two", CutRequest(leave_out=["q"]), SETTINGS)
    assert book_cut(store, without, SETTINGS).offcuts == ()


def test_an_offcut_keeps_its_picture_and_what_is_true_of_it(store: Store, tmp_path: Path) -> None:
    """A photo part, a flaw, the margin of an old edge; a part inside has only fresh edges."""
    picture = store.keep_cut_out(b"jpeg", (0.0, 0.0, 12.0, 9.0))
    with store.change("test") as writer:
        writer.add_scrap(
            NewScrap(
                outline=box(0, 0, 12, 9), family="red", value="dark", grain_deg=90.0, margin=0.25,
                uncertainty=0.125, cut_out=picture, flaws=(box(10.5, 1, 11, 2),), name="flag",
                corrected=("family",), accents=("white",), from_project="Pennants",
            )
        )  # fmt: skip
    kept(store, project(tmp_path, "two", ("red", "3", "7 1/2", 2)), "two")
    done = booked(store, "two")
    whole = shapely.union_all([one.outline for one in done.offcuts])
    assert whole.difference(box(0, 0, 12, 9)).area < 1e-6
    for one in done.offcuts:
        assert (one.cut_out, one.grain_deg, one.name) == (picture, 90.0, "flag")
        assert (one.shown_family, one.value, one.accents) == ("red", "dark", ("white",))
        assert (one.from_project, one.corrected) == ("Pennants", ("family",))
        assert (one.margin, one.uncertainty) == (0.25, 0.125)
    holding = [one for one in done.offcuts if one.outline.intersects(box(10.6, 1.1, 10.9, 1.9))]
    assert [flaw.area for one in holding for flaw in one.flaws] == [pytest.approx(0.5)]


def test_only_the_old_edges_of_an_offcut_have_a_margin(store: Store, tmp_path: Path) -> None:
    """12 1/2 × 4 with 1/4 in kept free: 12 × 3 1/2 of it give two squares and 5 × 3 1/2.

    That is what is left of 5 1/4 once the quarter inch is kept from the old end alone.
    """
    with store.change("test") as writer:
        writer.add_scrap(
            NewScrap(outline=box(0, 0, 12.5, 4), family="red", grain_deg=0.0, margin=0.25)
        )
    kept(store, project(tmp_path, "two", ("red", "3", "3", 2)), "two")
    (offcut,) = booked(store, "two").offcuts
    assert offcut.old_edges is not None
    assert offcut.old_edges.length < offcut.outline.length - 3.4
    assert offcut.old_edges.difference(box(0, 0, 12.5, 4).boundary.buffer(1e-5)).is_empty
    file = project(tmp_path, "bar", ("red", "4 1/2", "3", 1))
    result = match_project(store, file, settings=SETTINGS)
    assert [cut.scrap.id for cut in result.cuts] == [offcut.id]
    keep(store, result, "bar")
    with store.read() as reader:
        assert reader.scrap(offcut.id).old_edges == offcut.old_edges


def test_lengths_get_shorter_and_what_is_left_of_a_strip_is_a_scrap(
    store: Store, tmp_path: Path
) -> None:
    """Of 18 in × 40: an inch for the end and a strip of 4 1/2; eight squares leave 4 × 4 1/2."""
    with store.change("test") as writer:
        drill = writer.add_fabric(NewFabric(name="drill", family="blue", usable_width=40.0))
        writer.add_yardage(NewYardage(fabric=drill, length=18.0, place="shelf"))
    kept(store, project(tmp_path, "eight", ("blue", "4", "4", 8)), "eight")
    done = booked(store, "eight")
    with store.read() as reader:
        (length,) = reader.yardage()
        assert (length.length, length.left) == (12.5, 12.5)
    assert [one.sides for one in done.offcuts] == [pytest.approx((4.0, 4.5))]
    (offcut,) = done.offcuts
    assert (offcut.grain_deg, offcut.place, offcut.from_project) == (90.0, "shelf", "eight")
    assert [lot.count for lot in done.lots] == [8]


def test_what_changed_since_the_picture_is_not_booked(store: Store, tmp_path: Path) -> None:
    """Nothing of it: neither the pieces nor the offcuts."""
    red(store, (7, 3.5), (7, 3.5))
    kept(store, project(tmp_path, "four", ("red", "3", "3", 4)), "four")
    preview = look_at_cut(store, "four", CutRequest(), SETTINGS)
    booked(store, "four", CutRequest(scraps=[1]))
    with pytest.raises(PlanError, match="'four' or its cloth was changed or cut meanwhile"):
        book_cut(store, preview, SETTINGS)
    with store.read() as reader:
        aside = reader.ready_cut(StockFilter(statuses=("set aside",)))
    assert [lot.count for lot in aside] == [2]


def test_a_scrap_that_was_cut_to_nothing_comes_back_by_undo_alone(
    store: Store, tmp_path: Path
) -> None:
    """It has no offcut in its place, and its cloth is in the pieces."""
    red(store, (7, 3.5))
    kept(store, project(tmp_path, "two", ("red", "3", "3", 2)), "two")
    assert booked(store, "two").offcuts == ()
    cut_up = "scrap 1 was cut up for a plan. If it was not, take that back in the record: undo"
    with pytest.raises(StoreError, match=cut_up):
        reinstate_scraps(store, [1])
    with pytest.raises(StoreError, match=cut_up):
        edit_scraps(store, [1], {"status": "available"})
    retire_scraps(store, [1])  # which it is already
    undo_changes(store, changes_to_undo(store))
    with store.read() as reader:
        assert reader.scrap(1).status == "set aside"


@pytest.mark.parametrize(
    ("request_", "said"),
    [
        (CutRequest(spoilt={"B9": Spoilt()}), "no piece that is still to be cut is called 'B9'"),
        (CutRequest(not_cut=["A1"], spoilt={"a1": Spoilt()}), "both spoilt and not cut"),
        (
            CutRequest(lengths=[4]),
            "length 4 is not still to be cut for this plan; .*: none",
        ),
        (CutRequest(strips=["A9"]), "no piece that is still to be cut is called 'A9'"),
    ],
)
def test_what_does_not_fit_the_plan_is_refused(
    store: Store, tmp_path: Path, request_: CutRequest, said: str
) -> None:
    red(store, (7, 3.5))
    kept(store, project(tmp_path, "two", ("red", "3", "3", 2)), "two")
    with pytest.raises(UsageError, match=said):
        look_at_cut(store, "two", request_, SETTINGS)
    assert available(store) == {}


def test_more_left_over_than_there_was_is_refused(store: Store, tmp_path: Path) -> None:
    red(store, (7, 3.5))
    kept(store, project(tmp_path, "two", ("red", "3", "3", 2)), "two")
    booked(store, "two")
    for left, said in (
        (["3 A"], "1 too many"),
        (["1 Z"], "is no piece of this plan"),
        (["A7"], "no piece that was cut is called 'a7'"),
        (["1 A", "A1", "A2"], "1 too many"),
    ):
        with pytest.raises(UsageError, match=said):
            finish_kept(store, "two", left)
    finish_kept(store, "two", ["A1", "a1"])
    with store.read() as reader:
        assert [lot.count for lot in reader.ready_cut()] == [1]
