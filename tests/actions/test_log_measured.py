"""Logging by measuring: what is kept, what is typed instead, one transaction a photo."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from shapely import Polygon, affinity, box

from scrapstore.actions.log import log_photos
from scrapstore.actions.match import match_project
from scrapstore.actions.scrap import add_scraps, edit_scraps, list_scraps
from scrapstore.actions.store import back_up_store, look_over_store
from scrapstore.errors import PhotoError, ScrapstoreError
from scrapstore.settings import Settings
from scrapstore.shapes.typed_outlines import typed_rectangle
from scrapstore.stock_entry.measured import Draft, Measuring
from scrapstore.stock_entry.notes import Noted, ToMeasure
from scrapstore.stock_entry.size_list import read_size_list
from scrapstore.store import NewFabric, NewScrap, StockFilter, Store, Writer, open_store
from tests.render.arrange import Options, render_no_scale, render_scene
from tests.render.scene import RenderedPhoto
from tests.support.kept_plans import keep
from tests.support.pad import write_pad
from tests.support.photographed import loose, photographed
from tests.support.photographed import scrap as piece

SCENE = Options(scraps=3, width=2016, height=1512, camera_height=20, tilt_deg=5, k1=0.0,
                table="plain", cloths=("solid",))  # fmt: skip


@pytest.fixture(scope="module")
def rendered() -> RenderedPhoto:
    return render_scene(11, SCENE)


@pytest.fixture
def photo(tmp_path: Path, rendered: RenderedPhoto) -> Path:
    folder = tmp_path / "photos"
    folder.mkdir()
    rendered.save_jpeg(folder / "table.jpg")
    return folder / "table.jpg"


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with open_store(tmp_path / "store") as store:
        yield store


def stored(store: Store) -> tuple[int, int]:
    """Photos and scraps."""
    with store.read() as reader:
        return len(reader.photos()), len(reader.scraps(StockFilter(statuses=())))


def test_trimmings_of_one_photo_are_from_the_project_of_a_plan(
    store: Store, photo: Path, tmp_path: Path
) -> None:
    """Its name in any capitals stands for the project's; any other name stays, and lists know both.

    All scraps of the photo are marked, in one change.
    """
    add_scraps(store, NewScrap(outline=box(0, 0, 5, 5)))
    file = write_pad(tmp_path, 4, name="Bench pad")
    keep(store, match_project(store, file, settings=Settings(), why=False), "by the window")
    for name, again, project in (
        ("By the window", False, "Bench pad"), ("another", True, "another"),
    ):  # fmt: skip
        result = log_photos(
            store, [photo], Settings(), again=again,
            measuring=Measuring(
                previews=tmp_path / "p",
                said=ToMeasure(all_scraps=Noted(fields={"from_project": name})),
            ),
        )  # fmt: skip
        (logged,) = result.logged
        assert [scrap.from_project for scrap in logged.scraps] == [project] * 3
        with store.read() as reader:
            (change,) = reader.history(most=1)
        assert {row.row_id for row in change.rows if row.kind == "scrap"} == {
            scrap.id for scrap in logged.scraps
        }
        for asked in (name, project):
            found = list_scraps(store, StockFilter(from_projects=(asked,)))
            assert found == logged.scraps
    edited = edit_scraps(store, [logged.scraps[0].id], {"from_project": "by the window"})
    assert edited[0].from_project == "Bench pad"
    (added,) = add_scraps(store, NewScrap(outline=box(0, 0, 1, 1), from_project="by the window"))
    assert added.from_project == "Bench pad"


def test_a_photo_goes_in_measured(
    store: Store, photo: Path, tmp_path: Path, rendered: RenderedPhoto
) -> None:
    """Every scrap with its true area, its uncertainty and the photo; the grain is left unknown."""
    said = ToMeasure(all_scraps=Noted(fields={"place": "tin"}, fabric=NewFabric(name="Sheet")))
    result = log_photos(
        store, [photo], Settings(), make_fabrics=True,
        measuring=Measuring(previews=tmp_path / "p", said=said),
    )  # fmt: skip
    assert result.refused == ()
    (logged,) = result.logged
    # The truth of the renderer, which shares no code with the measuring.
    true = sorted(scrap.outline.area for scrap in rendered.truth.scraps)
    assert sorted(scrap.area for scrap in logged.scraps) == pytest.approx(true, rel=0.02)
    for scrap in logged.scraps:
        assert 0 < scrap.uncertainty < 0.25
        assert (scrap.place, scrap.grain_deg, scrap.margin) == ("tin", None, 0.125)
        assert scrap.fabric is not None
        assert scrap.fabric.name == "Sheet"
        assert scrap.photo is not None
        assert scrap.swatches
        picture = store.cut_out(scrap)
        assert picture is not None
        covered = box(*picture.box)
        assert covered.contains(scrap.outline)
        assert covered.area < 1.3 * scrap.outline.envelope.area
    assert logged.preview is not None
    assert logged.preview.is_file()
    assert look_over_store(store).faults == ()
    again = log_photos(store, [photo], Settings(), measuring=Measuring(previews=tmp_path / "p"))
    assert [one.scraps for one in again.skipped] == [(1, 2, 3)]


def test_some_left_out_one_typed_grain_taken(store: Store, photo: Path, tmp_path: Path) -> None:
    """What the list says of single scraps and what is answered both hold."""
    (photo.parent / "scraps.toml").write_text(
        '["table.jpg"]\nmeasure = true\nplace = "tin"\nleave_out = "1"\n'
        '["table.jpg".scraps.2]\nname = "typed"\nsize = "9 x 6"\ngrain = "first"\n'
        '["table.jpg".scraps.3]\nname = "measured"\ngrain = "30"\nplace = "box"\n'
    )
    offered: list[tuple[int, ...]] = []

    def choose(draft: Draft) -> tuple[int, ...]:
        offered.append(draft.offered)
        return draft.offered

    result = log_photos(
        store, [photo.parent], Settings(),
        measuring=Measuring(previews=tmp_path / "p", choose=choose),
    )  # fmt: skip
    assert offered == [(2, 3)]
    typed, measured = result.logged[0].scraps
    assert typed.outline.equals(typed_rectangle("9 x 6").outline)
    assert (typed.name, typed.uncertainty, typed.grain_deg, typed.place) == ("typed", 0, 0, "tin")
    assert typed.swatches
    assert typed.cut_out is None, "what was typed lies in no known way in the photo"
    assert measured.cut_out is not None
    assert (measured.name, measured.grain_deg, measured.place) == ("measured", 30, "box")
    assert measured.uncertainty > 0


def test_a_picture_goes_only_where_the_outline_goes(
    store: Store, photo: Path, tmp_path: Path
) -> None:
    """Put right by a trifle the outline still fits its picture; typed anew it does not."""
    log_photos(store, [photo], Settings(), measuring=Measuring(previews=tmp_path / "p"))
    with store.read() as reader:
        first, second, third = reader.scraps()
    nearly = affinity.scale(first.outline, 1.002, 1.002)
    (edited,) = edit_scraps(store, [first.id], {"outline": nearly, "place": "tin"})
    assert edited.cut_out == first.cut_out
    (typed,) = edit_scraps(store, [second.id], {"outline": box(0, 0, 4, 3)})
    assert typed.cut_out is None
    (moved,) = edit_scraps(store, [third.id], {"place": "tin"})
    assert moved.cut_out == third.cut_out
    half = third.outline.intersection(box(0, 0, third.outline.bounds[2] / 2, 99))
    assert isinstance(half, Polygon)
    (offcut,) = add_scraps(
        store,
        NewScrap(outline=half, cut_out=third.cut_out, parent_id=third.id),
        parent_used_up=True,
    )
    assert store.cut_out(offcut) == store.cut_out(third)
    # The history still names the picture that was let go, so it is neither spare nor left behind.
    report = look_over_store(store)
    assert (report.spare_photos, report.faults) == (0, ())
    with open_store(back_up_store(store, tmp_path / "copy").path) as copy:
        assert second.cut_out is not None
        assert (copy.photo_folder / second.cut_out.file_name).is_file()
        assert look_over_store(copy).faults == ()
    assert third.cut_out is not None
    (store.photo_folder / third.cut_out.file_name).unlink()
    assert store.cut_out(third) is None
    (fault,) = look_over_store(store).faults
    assert third.cut_out.file_name in fault


def test_none_kept_stores_nothing(store: Store, photo: Path, tmp_path: Path) -> None:
    result = log_photos(
        store, [photo], Settings(), measuring=Measuring(previews=tmp_path, choose=lambda _: ())
    )
    assert result.logged[0].scraps == ()
    assert stored(store) == (0, 0)


def test_nobody_to_ask_stops_before_anything(store: Store, photo: Path, tmp_path: Path) -> None:
    with pytest.raises(PhotoError, match=r"no terminal to ask.*--yes.*nothing was stored"):
        log_photos(store, [photo], Settings(), measuring=Measuring(previews=tmp_path, choose=None))
    assert stored(store) == (0, 0)


def test_a_failure_on_the_last_scrap_leaves_nothing(
    store: Store, photo: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The photo and all its scraps are one transaction."""
    add, calls = Writer.add_scrap, []

    def fail_third(self: Writer, scrap: object) -> object:
        calls.append(scrap)
        if len(calls) == 3:
            raise KeyboardInterrupt
        return add(self, scrap)  # type: ignore[arg-type]

    monkeypatch.setattr(Writer, "add_scrap", fail_third)
    result = log_photos(store, [photo], Settings(), measuring=Measuring(previews=tmp_path))
    assert len(calls) == 3
    assert (result.logged, result.left) == ((), (photo,))
    assert stored(store) == (0, 0)


def test_refusals_are_named_and_the_rest_goes_in(store: Store, photo: Path, tmp_path: Path) -> None:
    """Without a scale there is no record, and the sentence says how to type the size."""
    for seed in (1, 2):
        render_no_scale(seed, width=1200, height=900).save_jpeg(photo.parent / f"none{seed}.jpg")
    (photo.parent / "broken.jpg").write_bytes(photo.read_bytes()[:5000])
    result = log_photos(store, [photo.parent], Settings(), measuring=Measuring(previews=tmp_path))
    assert [one.path.name for one in result.logged] == ["table.jpg"]
    refused = {one.path.name: one.reason for one in result.refused}
    assert refused.keys() == {"broken.jpg", "none1.jpg", "none2.jpg"}
    assert all(reason.startswith(name) for name, reason in refused.items())
    assert "type its size with --size" in refused["none1.jpg"]
    assert stored(store) == (1, 3)


def test_a_number_that_was_not_measured(store: Store, photo: Path, tmp_path: Path) -> None:
    measuring = Measuring(previews=tmp_path, said=ToMeasure(leave_out=frozenset({7})))
    result = log_photos(store, [photo], Settings(), measuring=measuring)
    assert "there is no scrap 7, 3 were measured" in result.refused[0].reason
    assert stored(store) == (0, 0)


@pytest.mark.parametrize(
    ("entry", "why"),
    [
        ("measure = false", "add measure = true"),
        ("measure = true\nsize = '9 x 6'", "key 'size' is not known"),
        ("measure = true\nleave_out = 'two'", "leave_out: cannot read 'two'"),
        ("measure = true\nscraps.first.name = 'x'", "scraps: 'first' will not do"),
        ("measure = true\nscraps.2.size = 'wide'", "scraps.2: size: 'wide' is not two lengths"),
        ("measure = true\nscraps = 'all'", "tables of their own"),
    ],
)
def test_slips_in_a_list_of_photos_to_measure(tmp_path: Path, entry: str, why: str) -> None:
    (tmp_path / "scraps.toml").write_text(f'["a.jpg"]\n{entry}\n')
    found = read_size_list(tmp_path / "scraps.toml", Settings())["a.jpg"]
    assert isinstance(found, ScrapstoreError)
    assert why in str(found)


def test_of_a_refused_photo_a_preview_shows_what_the_sentence_speaks_of(
    store: Store, tmp_path: Path
) -> None:
    pieces = [piece(box(-15.5, -2, -9.5, 2)), piece(box(-16, -9, -11, -6), colour=(40, 90, 150))]
    path = photographed(tmp_path, pieces, loose())
    measuring = Measuring(previews=tmp_path / "previews")
    (refused,) = log_photos(store, [path], Settings(), measuring=measuring).refused
    (drawn,) = (tmp_path / "previews").iterdir()
    assert "A and B in the preview: a scrap reaches beyond the edge" in refused.reason
    assert str(drawn) in refused.reason
    assert "type its size with --size" in refused.reason


def test_each_scrap_says_its_number_in_the_preview(store: Store, tmp_path: Path) -> None:
    """Sentences about the photo name scraps by it, and the store has numbers of its own."""
    add_scraps(store, NewScrap(outline=box(0, 0, 5, 5)))
    pieces = [piece(box(x, -2, x + 3, 2)) for x in (-8, -2, 4)]
    path = photographed(tmp_path, pieces, loose())
    said = ToMeasure(leave_out=frozenset({2}))
    measuring = Measuring(previews=tmp_path / "previews", said=said)
    (done,) = log_photos(store, [path], Settings(), measuring=measuring).logged
    assert [scrap.id for scrap in done.scraps] == [2, 3]
    assert done.numbers == (1, 3)


def test_a_hole_is_told_and_filled_where_it_is_print(store: Store, tmp_path: Path) -> None:
    """Filled, the scrap keeps its frame: grain, picture and uncertainty stay."""
    whole = box(-3, -2.5, 3, 2.5)
    ring = Polygon(whole.exterior.coords, [box(-0.8, -0.6, 0.9, 0.8).exterior.coords])
    path = photographed(tmp_path, [piece(ring)], loose())
    said = ToMeasure(all_scraps=Noted(grain="suggested"))
    measuring = Measuring(previews=tmp_path / "previews", said=said)
    (done,) = log_photos(store, [path], Settings(), measuring=measuring).logged
    (note,) = [one for one in done.notes if " hole " in one]
    assert note.startswith("scrap 1 has a hole of 1 11/16 × 1 3/8 in, ")
    assert "scrap edit NUMBER --fill-holes" in note
    assert "number in the store" in note
    (before,) = done.scraps
    (after,) = edit_scraps(store, [before.id], {}, fill_holes=True)
    assert (len(before.outline.interiors), len(after.outline.interiors)) == (1, 0)
    assert after.outline.exterior.equals(before.outline.exterior)
    assert before.cut_out is not None
    assert (after.cut_out, after.grain_deg, after.uncertainty) == (
        before.cut_out,
        before.grain_deg,
        before.uncertainty,
    )
    with pytest.raises(ScrapstoreError, match="no hole to fill"):
        edit_scraps(store, [before.id], {}, fill_holes=True)
    with pytest.raises(ScrapstoreError, match="typed size has no holes"):
        edit_scraps(store, [before.id], {"outline": whole}, fill_holes=True)


def test_of_what_is_typed_or_left_out_no_doubt_is_told(store: Store, tmp_path: Path) -> None:
    """There is nothing to look at, when the measured outline is not kept."""
    pieces = [piece(box(-6, -4, -1, 2), "floral"), piece(box(2, -3, 6, 1))]
    path = photographed(tmp_path, pieces, loose(), colour=(240, 235, 220))
    typed = ToMeasure(scraps={1: Noted(typed=typed_rectangle("6 x 5"))})
    for said, doubted in (
        (ToMeasure(), True), (typed, False), (ToMeasure(leave_out=frozenset({1})), False),
    ):  # fmt: skip
        measuring = Measuring(previews=tmp_path / "previews", said=said)
        (done,) = log_photos(store, [path], Settings(), again=True, measuring=measuring).logged
        assert any("guessed" in one for one in done.notes) == doubted


def test_of_a_typed_size_no_hole_is_told(store: Store, tmp_path: Path) -> None:
    ring = Polygon(
        box(-3, -2.5, 3, 2.5).exterior.coords, [box(-0.8, -0.6, 0.9, 0.8).exterior.coords]
    )
    path = photographed(tmp_path, [piece(ring)], loose())
    said = ToMeasure(scraps={1: Noted(typed=typed_rectangle("6 x 5"))})
    measuring = Measuring(previews=tmp_path / "previews", said=said)
    (done,) = log_photos(store, [path], Settings(), measuring=measuring).logged
    assert not any(" hole " in one for one in done.notes)
