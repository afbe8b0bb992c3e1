"""Adding, editing and retiring, as the command line does it."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from shapely import box

from scrapstore.actions.binding import add_binding_strips
from scrapstore.actions.fabric import (
    add_fabric,
    edit_fabrics,
    list_fabrics,
    retire_fabrics,
    show_fabric,
)
from scrapstore.actions.ready import add_ready_cut
from scrapstore.actions.scrap import (
    add_scraps,
    edit_scraps,
    list_scraps,
    reinstate_scraps,
    retire_scraps,
    show_scrap,
)
from scrapstore.actions.stock import BINDING, READY_CUT, YARDAGE, edit_stock, list_stock, set_status
from scrapstore.actions.store import back_up_store, look_over_store
from scrapstore.actions.yardage import add_yardage, edit_yardage
from scrapstore.colour import reads_as, swatch
from scrapstore.errors import LengthError, NotFoundError, ShapeError, StoreError
from scrapstore.stock_entry.read_fields import slope_of
from scrapstore.stock_entry.ready_cut import cut_rectangle, finished_shape, ready_cut_of
from scrapstore.stock_entry.words import known_family, known_status, known_value
from scrapstore.store import NewBindingStrip, NewFabric, NewScrap, StockFilter, Store, open_store
from tests.support.stores import a_fabric, tables


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with open_store(tmp_path / "store") as store:
        yield store


def test_no_length_is_longer_than_a_bolt(store: Store) -> None:
    """100 yards; a slip of the unit is guessed."""
    with pytest.raises(LengthError, match=r"length: 9000 in is more.*3600 in; did you mean cm"):
        add_yardage(store, fabric="drill", length=9000.0, make_fabric=True)
    with pytest.raises(LengthError, match="width: 300 in"):
        add_yardage(store, fabric="drill", length=9.0, usable_width=300.0, make_fabric=True)
    kept = add_yardage(store, fabric="drill", length=900.0, make_fabric=True)
    with pytest.raises(LengthError, match="check the unit"):
        edit_yardage(store, [kept.id], {"length": 90000.0})
    with pytest.raises(LengthError, match="width: 900 in"):
        add_fabric(store, NewFabric(name="twill", usable_width=900.0))
    with pytest.raises(LengthError, match="width: 900 in"):
        edit_fabrics(store, ["drill"], {"usable_width": 900.0})
    with pytest.raises(LengthError, match="length: 40000 in"):
        add_binding_strips(store, NewBindingStrip(width=2.5, length=40000.0))
    with pytest.raises(ShapeError, match="larger than any scrap"):
        add_ready_cut(store, cut_rectangle(200, 3, count=1, seam_allowance=0.25))


def test_several_scraps_in_one_visit(store: Store) -> None:
    """Added, edited and retired together, each visit one change in the history."""
    new = NewScrap(outline=box(0, 0, 9, 22))
    added = add_scraps(store, new, count=4, fabric="Navy dot", make_fabric=True)
    assert [scrap.id for scrap in added] == [1, 2, 3, 4]
    edited = edit_scraps(store, [2, 4, 2], {"place": "bin 2", "family": "blue", "note": "ironed"})
    assert [(scrap.id, scrap.place, scrap.family) for scrap in edited] == [
        (2, "bin 2", "blue"),
        (4, "bin 2", "blue"),
    ]
    retire_scraps(store, [1])
    assert [scrap.id for scrap in list_scraps(store, StockFilter())] == [2, 3, 4]
    reinstate_scraps(store, [1])
    assert len(list_scraps(store, StockFilter())) == 4
    with store.read() as reader:
        whats = [change.what for change in reader.history()]
    assert whats == ["scrap reinstate", "scrap retire", "scrap edit", "scrap add"]


def test_one_wrong_number_changes_nothing(store: Store) -> None:
    """An edit of several is all or none."""
    add_scraps(store, NewScrap(outline=box(0, 0, 9, 22)), count=2)
    before = tables(store.database)
    with pytest.raises(NotFoundError, match="number 7"):
        edit_scraps(store, [1, 2, 7], {"place": "bin 2"})
    with pytest.raises(StoreError, match="nothing to change"):
        edit_scraps(store, [1], {})
    assert tables(store.database) == before


def test_an_unknown_fabric_is_refused_or_made(store: Store) -> None:
    """A slip of the finger shall not become a fabric unless asked for."""
    new = NewScrap(outline=box(0, 0, 9, 22))
    with pytest.raises(NotFoundError, match="--new-fabrics"):
        add_scraps(store, new, fabric="Navy dto")
    assert list_fabrics(store) == ()
    (scrap,) = add_scraps(store, new, fabric="Navy dot", make_fabric=True)
    assert scrap.fabric is not None
    retire_fabrics(store, ["Navy dot"])
    with pytest.raises(StoreError, match="is retired"):
        add_scraps(store, new, fabric="navy dot")


def test_set_aside_for_a_project(store: Store) -> None:
    """The promise and the status go together, both ways."""
    add_scraps(store, NewScrap(outline=box(0, 0, 9, 22)))
    (scrap,) = edit_scraps(store, [1], {"set_aside_for": "bench 1"})
    assert (scrap.status, scrap.set_aside_for) == ("set aside", "bench 1")
    (scrap,) = edit_scraps(store, [1], {"status": "available"})
    assert (scrap.status, scrap.set_aside_for) == ("available", None)


def test_the_users_word_wins_over_the_photo(store: Store) -> None:
    """It is noted as a correction; taking it back brings the photo's reading again."""
    swatches = (swatch((30, 60, 150), 0.9), swatch((240, 240, 235), 0.1))
    reading = reads_as(swatches)
    new = NewScrap(outline=box(0, 0, 9, 22), swatches=swatches, family=reading.family)
    add_scraps(store, new)
    (scrap,) = edit_scraps(store, [1], {"family": "purple", "value": "light"})
    assert (scrap.family, scrap.value, scrap.corrected) == ("purple", "light", ("family", "value"))
    (scrap,) = edit_scraps(store, [1], {"family": None, "accents": None})
    assert (scrap.family, scrap.accents) == (reading.family, reading.accents)
    assert scrap.corrected == ("value",)


def test_offcuts_know_their_parent(store: Store) -> None:
    """And the parent its offcuts; a parent that is not there is refused."""
    add_scraps(store, NewScrap(outline=box(0, 0, 9, 22)))
    add_scraps(store, NewScrap(outline=box(0, 0, 4, 9), parent_id=1), parent_used_up=True)
    assert [scrap.id for scrap in show_scrap(store, 1).offcuts] == [2]
    with pytest.raises(NotFoundError, match="no scrap has the number 8"):
        add_scraps(store, NewScrap(outline=box(0, 0, 4, 9), parent_id=8))


def test_offcuts_have_their_parents_cloth(store: Store) -> None:
    """What they do not say themselves; a colour said wins over the parent's picture."""
    swatches = (swatch((40, 70, 160), 1.0),)
    whole = NewScrap(
        outline=box(0, 0, 9, 22), grain_deg=90.0, place="tin", from_project="Star",
        swatches=swatches, family="blue", accents=("white",), value="dark", name="sleeve",
        margin=0.5, note="torn", status="used up", corrected=("accents",),
    )  # fmt: skip
    (parent,) = add_scraps(store, whole, fabric="navy dot", make_fabric=True)
    (offcut,) = add_scraps(store, NewScrap(outline=box(0, 0, 4, 9), parent_id=parent.id))
    for field in ("fabric", "grain_deg", "place", "from_project", "swatches", "family", "accents",
                  "value", "corrected"):  # fmt: skip
        assert getattr(offcut, field) == getattr(parent, field), field
    assert (offcut.name, offcut.margin, offcut.note, offcut.status) == (None, 0, None, "available")
    other = NewScrap(outline=box(0, 0, 4, 4), parent_id=parent.id, family="purple", place="shelf")
    (own,) = add_scraps(store, other, own=("fabric", "grain_deg", "family", "place"))
    assert (own.fabric, own.grain_deg, own.family, own.place) == (None, None, "purple", "shelf")
    assert own.corrected == ("accents", "family")


def test_no_cloth_counts_twice_as_scrap_and_offcut(store: Store) -> None:
    offcut = NewScrap(outline=box(0, 0, 9, 11), parent_id=1)
    add_scraps(store, NewScrap(outline=box(0, 0, 9, 22)))
    with pytest.raises(StoreError, match=r"scrap 1 is still in the store.*--parent-used-up"):
        add_scraps(store, offcut)
    assert len(list_scraps(store, StockFilter())) == 1
    add_scraps(store, offcut, parent_used_up=True)
    assert show_scrap(store, 1).scrap.status == "used up"
    with pytest.raises(StoreError, match=r"was 198 sq in.*would be 297 sq in"):
        add_scraps(store, offcut, count=2)
    cut_up = r"scrap 1 was cut up.*\(scraps 2\).*Retire those"
    with pytest.raises(StoreError, match=cut_up):
        reinstate_scraps(store, [1])
    for changes in ({"status": "available"}, {"set_aside_for": "bench"}):
        with pytest.raises(StoreError, match=cut_up):
            edit_scraps(store, [1], changes)
    retire_scraps(store, [2])
    reinstate_scraps(store, [1])
    assert [scrap.id for scrap in list_scraps(store, StockFilter())] == [1]


def test_fabrics(store: Store) -> None:
    """Listed by family and value, renamed one at a time, retired and brought back."""
    add_fabric(store, a_fabric())
    add_fabric(store, NewFabric(name="Sail canvas", family="white"))
    assert [one.name for one in list_fabrics(store, families=["blue"], values=["dark"])] == [
        "Navy dot"
    ]
    edit_fabrics(store, ["navy dot", "sail canvas"], {"washed": False})
    assert {one.washed for one in list_fabrics(store)} == {False}
    with pytest.raises(StoreError, match="one fabric at a time"):
        edit_fabrics(store, ["navy dot", "sail canvas"], {"name": "Both"})
    edit_fabrics(store, ["navy dot"], {"name": "Navy spot"})
    retire_fabrics(store, ["navy spot"])
    assert [one.name for one in list_fabrics(store)] == ["Sail canvas"]
    retire_fabrics(store, ["navy spot"], back=True)
    assert [one.name for one in list_fabrics(store)] == ["Navy spot", "Sail canvas"]


def test_what_there_is_of_a_fabric(store: Store) -> None:
    """Scraps, lengths, pieces and strips together."""
    add_scraps(store, NewScrap(outline=box(0, 0, 9, 22)), fabric="Navy dot", make_fabric=True)
    add_yardage(store, fabric="Navy dot", length=27)
    pieces = cut_rectangle(5, 5, count=40, seam_allowance=0.25)
    add_ready_cut(store, pieces, fabric="Navy dot")
    add_binding_strips(store, NewBindingStrip(width=2.5, length=40), count=2, fabric="Navy dot")
    detail = show_fabric(store, "NAVY DOT")
    held = (detail.scraps, detail.yardage, detail.ready_cut, detail.binding)
    assert [len(part) for part in held] == [1, 1, 1, 2]


def test_yardage_pieces_and_strips_are_edited_alike(store: Store) -> None:
    """Several at once, with status and promise."""
    add_yardage(store, fabric="Navy dot", length=27, make_fabric=True)
    add_binding_strips(store, NewBindingStrip(width=2.5, length=40), count=3)
    add_ready_cut(store, cut_rectangle(5, 5, count=40, seam_allowance=0.25))
    (length,) = edit_stock(store, YARDAGE, [1], {"length": 18.0, "set_aside_for": "bench 1"})
    assert (length.length, length.status) == (18, "set aside")
    strips = set_status(store, BINDING, [1, 3], "used up", what="retire")
    assert [strip.status for strip in strips] == ["used up"] * 2
    assert [strip.id for strip in list_stock(store, BINDING, StockFilter())] == [2]
    (pieces,) = edit_stock(store, READY_CUT, [1], {"count": 0, "fabric": "navy dot"})
    assert (pieces.count, pieces.fabric and pieces.fabric.name) == (0, "Navy dot")


@pytest.mark.parametrize("nothing", [None, ""])
def test_yardage_stays_of_a_fabric(store: Store, nothing: str | None) -> None:
    """Pieces and scraps may be of no fabric that is known; a length may not."""
    add_yardage(store, fabric="Navy dot", length=27, make_fabric=True)
    with pytest.raises(StoreError, match="a length of a fabric; name another"):
        edit_yardage(store, [1], {"fabric": nothing})


def test_ready_cut_pieces_by_shape_or_by_cut_size() -> None:
    """A 60° diamond of 3 in is cut 3.098 in high (3 × √3/2 + 1/2); a 5 in square finishes 4 1/2."""
    diamond = ready_cut_of(finished_shape("60 diamond", "3"), count=6, seam_allowance=0.25)
    assert diamond.kind == "diamond-60"
    height = diamond.cut.bounds[3] - diamond.cut.bounds[1]
    assert height == pytest.approx(3 * 3**0.5 / 2 + 0.5)
    square = cut_rectangle(5, 5, count=1, seam_allowance=0.25)
    assert (square.kind, square.measures["side"]) == ("square", 4.5)
    assert finished_shape("rectangle", "2 x 4 1/2").measures["height"] == 4.5
    assert finished_shape("hexagon", "height=3").measures["side"] == pytest.approx(3**0.5)
    with pytest.raises(ShapeError, match="leaves nothing"):
        cut_rectangle(0.5, 5, count=1, seam_allowance=0.25)
    with pytest.raises(ShapeError, match="does not fit; give side"):
        finished_shape("square", "2 x 3 x 4")
    with pytest.raises(ShapeError, match="--corners"):
        finished_shape("polygon", "3")


def test_slopes_of_strip_ends() -> None:
    """As drawn, as said, or in degrees."""
    assert [slope_of(text) for text in ("straight", "/", "\\", "left", "30°")] == [
        0,
        45,
        -45,
        -45,
        30,
    ]
    for text in ("steep", "90", "nan"):
        with pytest.raises(ShapeError, match="slope: cannot read"):
            slope_of(text)


def test_words_are_checked_and_suggested() -> None:
    """Near ones first, else the whole list."""
    assert (known_family(" Navy "), known_value("DARK"), known_status("set-aside")) == (
        "blue",
        "dark",
        "set aside",
    )
    with pytest.raises(StoreError, match="did you mean purple"):
        known_family("pruple")
    with pytest.raises(StoreError, match="use one of light, medium, dark"):
        known_value("xyz")
    with pytest.raises(StoreError, match="did you mean used up"):
        known_status("used")


def test_a_store_looked_over(store: Store) -> None:
    """Missing and spare photo files are told; the rest is counted."""
    from tests.support.stores import a_photo

    with store.change("test") as writer:
        writer.add_photo(a_photo())
    store.keep_photo(b"nobody's", ".jpg")
    report = look_over_store(store)
    assert report.counts["photos"] == 1
    assert report.spare_photos == 1
    assert report.photo_bytes == len(b"nobody's")
    assert [fault for fault in report.faults if "is missing" in fault]
    assert len(report.faults) == 1


def test_a_whole_copy_is_a_store(store: Store, tmp_path: Path) -> None:
    """Records, history and photos; nothing half-made is left beside it."""
    add_scraps(store, NewScrap(outline=box(0, 0, 9, 22)))
    name = store.keep_photo(b"picture", ".jpg")
    with store.change("test") as writer:
        from scrapstore.store import NewPhoto

        writer.add_photo(NewPhoto(sha256="aa", file_name=name, width=1, height=1))
    copy = back_up_store(store, tmp_path / "safe" / "copy").path
    with open_store(copy) as other:
        assert tables(other.database) == tables(store.database)
        assert (other.photo_folder / name).read_bytes() == b"picture"
        assert look_over_store(other).faults == ()
    assert [path.name for path in (tmp_path / "safe").iterdir()] == ["copy"]
    with pytest.raises(StoreError, match="is there already"):
        back_up_store(store, tmp_path / "safe" / "copy")


def test_copies_of_the_records_pile_up_beside_the_store(store: Store) -> None:
    """Two at once do not collide."""
    first, second = back_up_store(store).path, back_up_store(store).path
    assert first != second
    assert look_over_store(store).backups == tuple(sorted((first.name, second.name)))
