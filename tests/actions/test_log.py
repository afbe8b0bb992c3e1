"""Logging photos: what goes in, what is skipped, what is refused."""

import shutil
import tracemalloc
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from scrapstore.actions.log import log_photos
from scrapstore.actions.store import back_up_store, look_over_store
from scrapstore.errors import PhotoError, ScrapstoreError, StoreError
from scrapstore.photo.picture import photos_in
from scrapstore.photo.segmentation import cloth_pixels
from scrapstore.settings import Settings
from scrapstore.shapes.typed_outlines import typed_rectangle
from scrapstore.stock_entry.notes import Noted, ToMeasure
from scrapstore.stock_entry.size_list import TypedScrap, read_size_list
from scrapstore.store import NewFabric, NewScrap, StockFilter, Store, open_store
from tests.render.samples import SAMPLES, Sample, photograph
from tests.support.processes import run_at_once

TYPED = TypedScrap(scrap=NewScrap(outline=typed_rectangle("9 x 22").outline, place="bin 2"))
BLUE, TABLE = (40, 70, 160), (200, 180, 150)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with open_store(tmp_path / "store") as store:
        yield store


@pytest.fixture
def photos(tmp_path: Path) -> Path:
    folder = tmp_path / "photos"
    folder.mkdir()
    return folder


def picture(
    path: Path, cloth: tuple[int, int, int] = BLUE, size: tuple[int, int] = (64, 48)
) -> Path:
    """A scrap of one colour in the middle of a table."""
    width, height = size
    pixels = np.full((height, width, 3), TABLE, dtype=np.uint8)
    pixels[height // 4 : -height // 4, width // 4 : -width // 4] = cloth
    Image.fromarray(pixels).save(path)
    return path


def test_a_photo_goes_in(store: Store, photos: Path) -> None:
    """Its scrap has the typed size and the colours of the cloth, not of the table."""
    result = log_photos(store, [picture(photos / "navy.png")], Settings(), typed=TYPED)
    (scrap,) = result.logged[0].scraps
    assert (scrap.long_side, scrap.short_side, scrap.place) == (22, 9, "bin 2")
    assert scrap.family == "blue"
    assert scrap.accents == ()
    assert np.allclose(scrap.swatches[0].rgb, BLUE, atol=3)
    assert scrap.photo is not None
    assert (scrap.photo.width, scrap.photo.height) == (64, 48)
    assert scrap.photo.original_name == "navy.png"
    assert (store.photo_folder / scrap.photo.file_name).is_file()
    assert look_over_store(store).faults == ()


def test_of_a_photo_without_colour_only_what_was_typed_goes_in(store: Store, photos: Path) -> None:
    Image.new("L", (64, 48), 120).save(photos / "old.jpg")
    (one,) = log_photos(store, [photos], Settings(), typed=TYPED).logged
    (scrap,) = one.scraps
    assert (scrap.swatches, scrap.family, scrap.value) == ((), None, None)
    assert scrap.outline.equals(TYPED.scrap.outline)
    assert any("no colour" in note for note in one.notes)


def test_the_rest_of_a_folder_goes_in(store: Store, photos: Path) -> None:
    """Broken, empty, giant and other files are refused by name; lists are no photos."""
    for number in range(3):
        picture(photos / f"good{number}.png", (40, 70, 100 + 50 * number))
    whole = (photos / "good0.png").read_bytes()
    (photos / "broken.png").write_bytes(whole[: len(whole) // 2])
    (photos / "empty.jpg").touch()
    (photos / "letter.jpg").write_text("Dear quilter")
    with (photos / "giant.jpg").open("wb") as stream:
        stream.truncate(2_000_000_000)  # two gigabytes of nothing, which take no room
    (photos / "notes.txt").write_text("bin 2 is full")
    (photos / "project.toml").write_text("name = 'Star'")
    (photos / ".hidden").touch()
    (photos / "Thumbs.db").touch()
    (photos / "within").mkdir()
    tracemalloc.start()
    result = log_photos(store, [photos], Settings(), typed=TYPED)
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert [one.path.name for one in result.logged] == ["good0.png", "good1.png", "good2.png"]
    refused = {one.path.name: one.reason for one in result.refused}
    assert refused.keys() == {
        "broken.png",
        "empty.jpg",
        "letter.jpg",
        "giant.jpg",
        "notes.txt",
    }
    assert all(reason.startswith(name) for name, reason in refused.items())
    assert "empty" in refused["empty.jpg"]
    assert most < 200_000_000
    with store.read() as reader:
        assert len(reader.photos()) == 3


def test_the_same_photo_is_noticed_by_its_content(store: Store, photos: Path) -> None:
    """Under another name too; --again adds another scrap on the same photo."""
    picture(photos / "a.png")
    log_photos(store, [photos], Settings(), typed=TYPED)
    shutil.copy(photos / "a.png", photos / "b.png")
    result = log_photos(store, [photos], Settings(), typed=TYPED)
    assert [(one.path.name, one.scraps) for one in result.skipped] == [
        ("a.png", (1,)),
        ("b.png", (1,)),
    ]
    result = log_photos(store, [photos / "b.png"], Settings(), typed=TYPED, again=True)
    assert result.logged[0].scraps[0].id == 2
    with store.read() as reader:
        assert len(reader.photos()) == 1
        assert reader.scraps_on_photo(1) == (1, 2)


def test_the_same_picture_without_its_place_data_is_noticed(store: Store, photos: Path) -> None:
    """Other bytes in the file, the same stored copy."""
    picture(photos / "a.jpg")
    exif = Image.Exif()
    exif.get_ifd(0x8825)[2] = (51.0, 30.0, 0.0)  # GPSLatitude
    data = (photos / "a.jpg").read_bytes()
    segment = b"Exif\0\0" + exif.tobytes().removeprefix(b"Exif\0\0")
    marked = data[:2] + b"\xff\xe1" + (len(segment) + 2).to_bytes(2, "big") + segment + data[2:]
    (photos / "b.jpg").write_bytes(marked)
    result = log_photos(store, [photos], Settings(), typed=TYPED)
    assert [one.path.name for one in result.logged] == ["a.jpg"]
    assert [(one.path.name, one.scraps) for one in result.skipped] == [("b.jpg", (1,))]
    (stored,) = store.photo_folder.iterdir()
    assert b"Exif" not in stored.read_bytes()


@pytest.mark.parametrize("harm", ["lost", "emptied", "one bit"])
def test_a_lost_or_damaged_photo_file_comes_back(
    store: Store, photos: Path, tmp_path: Path, harm: str
) -> None:
    """It is noticed by its hash, told where it is copied or used, and logged again put right."""
    path = picture(photos / "navy.png")
    (scrap,) = log_photos(store, [path], Settings(), typed=TYPED).logged[0].scraps
    assert scrap.photo is not None
    stored = store.photo_folder / scrap.photo.file_name
    whole = stored.read_bytes()
    if harm == "lost":
        stored.unlink()
    else:
        stored.write_bytes(b"" if harm == "emptied" else whole[:-1] + bytes([whole[-1] ^ 1]))
    (fault,) = look_over_store(store).faults
    assert stored.name in fault
    copy = back_up_store(store, tmp_path / "copy")
    assert [stored.name in fault for fault in copy.faults] == [True]
    assert store.picture(stored.name) is None
    log_photos(store, [path], Settings(), typed=TYPED)
    assert look_over_store(store).faults == ()
    assert back_up_store(store, tmp_path / "second copy").faults == ()
    assert store.picture(stored.name) == whole


def test_a_damaged_picture_is_told_once(tmp_path: Path) -> None:
    said: list[str] = []
    with open_store(tmp_path, notify=said.append) as store:
        name = store.keep_photo(b"picture", ".jpg")
        (store.photo_folder / name).write_bytes(b"pictures")
        assert store.picture(name) is None
        assert store.picture(name) is None
    assert len(said) == 2  # of the new store, and of the picture
    assert name in said[1]
    assert "log its photo again" in said[1]


def test_a_list_beside_the_photos(store: Store, photos: Path) -> None:
    """Each photo with a size of its own; what the list does not hold is as typed on the call."""
    for name in ("a.png", "b.png", "c.png", "d.png"):
        picture(photos / name, (40, 70, 40 * (ord(name[0]) - 96)))
    (photos / "scraps.toml").write_text(
        '["a.png"]\nstrip = "2 1/2 x 40"\ngrain = "first"\nfabric = "Deck stripe"\none_way = true\n'
        'place = "tin"\nmargin = "0"\n'
        '["b.png"]\nprecut = "fat quarter"\n'
        '["c.png"]\nsize = "nine by ten"\n'
        '["gone.png"]\nsize = "9 x 9"\n'
    )
    result = log_photos(store, [photos], Settings(), typed=TYPED, make_fabrics=True)
    scraps = {one.path.name: one.scraps[0] for one in result.logged}
    assert scraps.keys() == {"a.png", "b.png", "d.png"}
    a, b, d = scraps.values()
    assert (a.short_side, a.long_side, a.grain_deg, a.margin) == (2.5, 40, 0, 0)
    assert a.place == "tin"
    assert a.fabric is not None
    assert a.fabric.one_way_print
    assert (b.short_side, b.margin) == (17.5, 0)
    assert (d.short_side, d.margin) == (9, 0)
    assert [path.name for path in result.as_listed] == ["a.png", "b.png"]
    refused = {one.path.name: one.reason for one in result.refused}
    assert "is listed and not there" in refused["gone.png"]
    assert "c.png: scraps.toml: size: cannot read" in refused["c.png"]


def test_what_is_typed_goes_before_an_entry_that_is_measured() -> None:
    """For the photo and for single scraps on it; what is not typed stays."""
    entry = ToMeasure(
        all_scraps=Noted(fields={"place": "tin", "note": "old"}),
        scraps={2: Noted(fields={"place": "box", "name": "end"})},
    )
    typed = ToMeasure(
        all_scraps=Noted(fields={"place": "bin 2"}),
        scraps={3: Noted(fields={"name": "third"})},
        leave_out=frozenset({4}),
    )
    now = entry.but(typed)
    assert now.of(1).fields == {"place": "bin 2", "note": "old"}
    assert now.of(3).fields == {"place": "bin 2", "note": "old", "name": "third"}
    assert now.leave_out == {4}
    assert now.of(2).fields == {"place": "bin 2", "note": "old", "name": "end"}


@pytest.mark.parametrize(
    ("entry", "why"),
    [
        ("fabric = 'Navy dot'", "no size was typed; give one of size, strip"),
        ("size = '9 x 9'\nstrip = '2 x 40'", "more than one size"),
        ("sise = '9 x 9'", "key 'sise' is not known; did you mean size"),
        ("size = 9", "write a text in quotes"),
        ("size = '9 x 9'\none_way = 'yes'", "write true or false"),
        ("size = '9 x 9'\ngrain = 'up'", "grain: cannot read 'up'"),
        ("size = '9 x 9'\nmargin = 'wide'", "margin: cannot read 'wide'"),
        ("precut = 'bun'", "precut: 'bun' is not known"),
    ],
)
def test_a_slip_in_the_list_is_told_with_its_key(photos: Path, entry: str, why: str) -> None:
    """And stands for its photo alone."""
    file = photos / "scraps.toml"
    file.write_text(f'["a.png"]\n{entry}\n["b.png"]\nsize = "9 x 22"\n')
    found = read_size_list(file, Settings())
    assert isinstance(found["a.png"], ScrapstoreError)
    assert why in str(found["a.png"])
    assert isinstance(found["b.png"], TypedScrap)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("[a.png", r"line 1: cannot read '\[a.png': a bracket is opened and not closed"),
        ("size = '9 x 9'", "'size' is not a table"),
    ],
)
def test_a_list_that_is_none_stops_everything(
    store: Store, photos: Path, text: str, why: str
) -> None:
    """Nothing goes in by guess."""
    picture(photos / "a.png")
    (photos / "scraps.toml").write_text(text)
    with pytest.raises(StoreError, match=why):
        log_photos(store, [photos], Settings(), typed=TYPED)


def test_without_a_size_a_photo_is_refused(store: Store, photos: Path) -> None:
    """The sentence says both ways to give one."""
    result = log_photos(store, [picture(photos / "a.png")], Settings())
    assert "give --size (or another), or list it in scraps.toml" in result.refused[0].reason


def test_fabrics_are_looked_up_or_made(store: Store, photos: Path) -> None:
    """Unknown ones are refused unless they may be made."""
    typed = TypedScrap(scrap=TYPED.scrap, fabric=NewFabric(name="Navy dot"))
    picture(photos / "a.png")
    result = log_photos(store, [photos], Settings(), typed=typed)
    assert "no fabric is called 'Navy dot'" in result.refused[0].reason
    result = log_photos(store, [photos], Settings(), typed=typed, make_fabrics=True)
    assert result.logged[0].scraps[0].fabric is not None


def test_an_empty_folder(photos: Path) -> None:
    """A sentence of its own."""
    with pytest.raises(PhotoError, match="no photos in this folder"):
        photos_in([photos])


def test_progress_is_told(store: Store, photos: Path) -> None:
    """From nothing to all."""
    for number in range(3):
        picture(photos / f"{number}.png", (40, 70, 100 + 50 * number))
    told: list[tuple[int, int]] = []
    log_photos(
        store, [photos], Settings(), typed=TYPED, advance=lambda done, of: told.append((done, of))
    )
    assert told == [(0, 3), (1, 3), (2, 3), (3, 3)]


def log_in_a_process(folder: str, photos: str) -> tuple[int, int]:
    """In a process of its own: how many were logged and skipped."""
    with open_store(folder) as store:
        result = log_photos(store, [Path(photos)], Settings(), typed=TYPED)
    return len(result.logged), len(result.skipped)


def test_two_processes_log_the_same_folder(tmp_path: Path, photos: Path) -> None:
    """Each photo goes in once, by whichever comes first."""
    for number in range(12):
        picture(photos / f"{number:02}.png", (40, 70, 60 + 15 * number))
    first, second = run_at_once(log_in_a_process, [(str(tmp_path / "s"), str(photos))] * 2)
    assert first[0] + second[0] == 12
    assert first[1] + second[1] == 12
    with open_store(tmp_path / "s") as store, store.read() as reader:
        assert len(reader.photos()) == 12
        assert len(reader.scraps(StockFilter(statuses=()))) == 12


@pytest.mark.parametrize("sample", SAMPLES, ids=[sample.name for sample in SAMPLES])
def test_cloth_is_told_from_the_table(sample: Sample) -> None:
    """Of a scrap alone most of what is taken for cloth lies in one patch round the middle."""
    pixels = photograph(sample, 600).image
    found = cloth_pixels(pixels)
    rim = np.concatenate([pixels[:8].reshape(-1, 3), pixels[-8:].reshape(-1, 3)])
    share = len(found) / (pixels.size / 3)
    assert 0.02 < share < 0.7
    distance = np.linalg.norm(np.median(found, axis=0) - np.median(rim, axis=0))
    assert distance > 25


@pytest.mark.parametrize("size", [(1, 1), (3, 200), (12, 9), (500, 20)])
def test_cloth_in_pictures_of_any_size(size: tuple[int, int]) -> None:
    """Tiny and narrow pictures still give some pixels."""
    pixels = np.full((size[1], size[0], 3), 90, dtype=np.uint8)
    assert len(cloth_pixels(pixels)) > 0


def test_cloth_that_leaves_the_picture_on_three_sides() -> None:
    """The table shows along one side only; the cloth is found all the same."""
    pixels = np.full((120, 160, 3), BLUE, dtype=np.uint8)
    pixels[:, :12] = TABLE
    found = cloth_pixels(pixels)
    assert np.allclose(np.median(found, axis=0), BLUE)
