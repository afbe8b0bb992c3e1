"""A lens that loose squares taught is kept, used for card photos, and can be forgotten."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from shapely import Polygon, affinity, box

from scrapstore.actions.lens import forget_one, kept_profiles, list_lenses
from scrapstore.actions.log import Logged, log_photos
from scrapstore.actions.undo import changes_to_undo, undo_changes
from scrapstore.errors import NotFoundError
from scrapstore.settings import Settings
from scrapstore.stock_entry.measured import Measuring
from scrapstore.store import Store, open_store
from tests.render.camera import over_table
from tests.render.printed import Paper, card, loose_cell
from tests.render.prints import make_cloth
from tests.render.scene import Piece, Scene, render
from tests.render.tables import make_table
from tests.support.stores import contents

FAR = affinity.rotate(box(3, -6.5, 10.5, -1.5), 4)
"""A scrap in a corner of the picture, where a bent lens moves things most; the card lies across."""
K1 = 0.06
LOOSE = tuple(
    loose_cell(k, place, 31.0 * k)
    for k, place in enumerate([(-9.5, -6), (1.2, -6.4), (-9, 6), (9.5, 6.2), (0.2, 1.5)])
)


def photographed(
    path: Path, papers: tuple[Paper, ...], *, seed: int = 0, model: str = "T-1"
) -> Path:
    camera = over_table(
        width=2016, height=1512, focal=26 / 36 * 2016, camera_height=20, tilt_deg=7.0 + seed,
        tilt_towards_deg=70.0, k1=K1,
    )  # fmt: skip
    piece = Piece(FAR, make_cloth("solid", 1, [(150, 40, 50)]))
    scene = Scene(camera, make_table("plain", 2, (208, 204, 196)), pieces=(piece,), papers=papers)
    render(scene).save_jpeg(path, model=model)
    return path


@pytest.fixture(scope="module")
def photos(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("photos")
    whole = (card((-6.5, 4.5), 3.0),)
    return {
        "loose": photographed(folder / "loose.jpg", LOOSE),
        "again": photographed(folder / "loose-again.jpg", LOOSE, seed=1),
        "card": photographed(folder / "card.jpg", whole),
        "other": photographed(folder / "other-camera.jpg", whole, model="T-2"),
    }


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with open_store(tmp_path / "store") as store:
        yield store


def logged(store: Store, *paths: Path, **options: object) -> tuple[Logged, ...]:
    measuring = Measuring(previews=store.folder / "previews", **options)  # type: ignore[arg-type]
    result = log_photos(store, paths, Settings(), measuring=measuring, again=True)
    assert result.refused == ()
    return result.logged


def wrong_by(outline: Polygon) -> float:
    """How far an outline is from the truth of the renderer, inches, however it is turned."""
    return min(
        affinity.translate(
            affinity.rotate(outline, turn / 10, origin="centroid"),
            FAR.centroid.x - outline.centroid.x,
            FAR.centroid.y - outline.centroid.y,
        ).hausdorff_distance(FAR)
        for turn in range(-120, 121)
    )


def test_a_card_photo_is_truer_once_the_lens_is_known(
    store: Store, photos: dict[str, Path]
) -> None:
    """Before, it says that the lens is not known, and states the larger uncertainty."""
    (unknown,) = logged(store, photos["card"])
    assert any("the lens is not known" in note for note in unknown.notes)
    assert any("one photo of this camera" in note for note in unknown.notes)
    assert list_lenses(store) == ()
    taught, known = logged(store, photos["loose"], photos["card"])
    assert any("taught the lens Sample T-1, 5.42 mm" in note for note in taught.notes)
    assert not any("lens" in note for note in known.notes)
    (before,), (after,) = unknown.scraps, known.scraps
    assert after.uncertainty < before.uncertainty
    assert wrong_by(after.outline) < wrong_by(before.outline)
    assert wrong_by(after.outline) < after.uncertainty
    assert wrong_by(before.outline) < before.uncertainty
    (elsewhere,) = logged(store, photos["other"])
    assert any("the lens is not known" in note for note in elsewhere.notes)


def test_what_is_kept(store: Store, photos: dict[str, Path]) -> None:
    """The lens within its own error, the photo that taught it, the history of it."""
    logged(store, photos["loose"])
    (lens,) = list_lenses(store)
    assert lens.k1 == pytest.approx(K1, abs=3 * lens.k1_sigma)
    assert lens.focal == pytest.approx(26 / 36, rel=3 * lens.focal_sigma)
    assert lens.photo is not None
    assert lens.photo.original_name == "loose.jpg"
    assert [profile.key for profile in kept_profiles(store)] == [lens.name]
    logged(store, photos["again"])
    assert list_lenses(store) == (lens,), "what was learned first stays"
    with store.read() as reader:
        (change,) = reader.history(kind="lens")
        assert reader.counts()["lenses"] == 1
    assert change.what == "log"
    assert {"photo", "scrap", "lens"} == {row.kind for row in change.rows}


def test_forgotten_and_learned_anew(store: Store, photos: dict[str, Path]) -> None:
    logged(store, photos["loose"])
    (lens,) = list_lenses(store)
    with pytest.raises(NotFoundError, match=r"no lens has the number 7; kept: 1 \(Sample T-1"):
        forget_one(store, 7)
    assert forget_one(store, lens.id) == lens
    assert list_lenses(store) == ()
    with store.read() as reader:
        (row,) = reader.history(most=1)[0].rows
        assert row.after is None
        assert row.before is not None
        assert row.before["name"] == lens.name
    logged(store, photos["again"])
    (anew,) = list_lenses(store)
    assert anew.photo is not None
    assert anew.photo.original_name == "loose-again.jpg"


def test_a_photo_of_which_nothing_is_kept_teaches_nothing(
    store: Store, photos: dict[str, Path]
) -> None:
    """Nothing at all is stored of it, its lens neither."""
    logged(store, photos["loose"], choose=lambda _: ())
    assert list_lenses(store) == ()
    with store.read() as reader:
        assert reader.photos() == ()


def test_a_measured_photo_and_the_lens_it_taught_are_taken_back(
    store: Store, photos: dict[str, Path]
) -> None:
    """Forgetting the lens first, then the log; logged again, all of it is there again."""
    empty = contents(store.database)
    (first,) = logged(store, photos["loose"])
    held = contents(store.database)
    forget_one(store, 1)
    undo_changes(store, changes_to_undo(store))
    assert contents(store.database) == held
    undo_changes(store, changes_to_undo(store))
    assert contents(store.database) == empty
    (again,) = logged(store, photos["loose"])
    assert [scrap.outline for scrap in again.scraps] == [scrap.outline for scrap in first.scraps]
    assert len(list_lenses(store)) == 1
