"""Working forms come back from the store as they went in, to the last bit."""

from collections.abc import Iterator
from dataclasses import fields, replace
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, box

from scrapstore.errors import NotFoundError, ShapeError, StoreError
from scrapstore.store import (
    BindingStrip,
    Fabric,
    NewScrap,
    ReadyCut,
    Scrap,
    Store,
    StoredPhoto,
    Yardage,
    open_store,
)
from tests.support.stores import a_fabric, a_length, a_photo, a_scrap, a_strip, some_pieces


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    """A store for the whole file; each test brings its own rows."""
    with open_store(tmp_path_factory.mktemp("store")) as store:
        yield store


def _told(new: Any) -> dict[str, Any]:
    """What the caller told: the fields of the form without number and working-outs."""
    return {field.name: getattr(new, field.name) for field in fields(new)}


def test_every_form_comes_back_whole(tmp_path: Path) -> None:
    """Every field of every kind, through a closed and reopened store."""
    with open_store(tmp_path) as store, store.change("test") as writer:
        fabric = writer.add_fabric(a_fabric())
        photo = writer.add_photo(
            replace(
                a_photo(),
                original_name="IMG 1.jpg",
                camera="Tern 3",
                focal_length_mm=4.25,
                taken=datetime(2026, 5, 16, 10, 5),  # a camera's clock has no zone
            )
        )
        added = [
            fabric,
            photo,
            writer.add_scrap(a_scrap(fabric, photo)),
            writer.add_yardage(a_length(fabric)),
            writer.add_ready_cut(some_pieces(fabric)),
            writer.add_binding_strip(a_strip(fabric)),
        ]
    with open_store(tmp_path) as store, store.read() as reader:
        found = [
            reader.fabric("Navy dot"),
            reader.find_photo(sha256=photo.sha256),
            reader.scrap(1),
            reader.yardage_length(1),
            reader.ready_cut_lot(1),
            reader.binding_strip(1),
        ]
    assert found == added
    kinds = (Fabric, StoredPhoto, Scrap, Yardage, ReadyCut, BindingStrip)
    assert [type(one) for one in found] == list(kinds)
    sent = [
        a_fabric(),
        None,
        a_scrap(fabric, photo),
        a_length(fabric),
        some_pieces(fabric),
        a_strip(fabric),
    ]
    for one, new in zip(found, sent, strict=True):
        if new is not None:
            for name, value in _told(new).items():
                kept = getattr(one, name)
                same = kept.equals(value) if isinstance(value, Polygon) else kept == value
                assert same, name


coordinate = st.floats(0.015625, 60, allow_nan=False)


@settings(max_examples=60)
@given(st.lists(st.tuples(coordinate, coordinate), min_size=3, max_size=12), st.data())
def test_outlines_keep_every_bit(
    store: Store, points: list[tuple[float, float]], data: st.DataObject
) -> None:
    """Coordinates that are no fractions of the trade's come back unchanged."""
    hull = shapely.convex_hull(shapely.MultiPoint(points))
    if not isinstance(hull, Polygon) or hull.area < 1e-6:
        return
    outline = shapely.geometry.polygon.orient(hull)
    grain = data.draw(st.none() | st.floats(0, 360, exclude_max=True))
    with store.change("test") as writer:
        scrap = writer.add_scrap(NewScrap(outline=outline, grain_deg=grain))
    with store.read() as reader:
        found = reader.scrap(scrap.id)
    assert found.outline.exterior.coords[:] == outline.exterior.coords[:]
    assert found.grain_deg == grain
    assert found.area == outline.area


def test_outlines_are_kept_counter_clockwise(store: Store) -> None:
    """Whichever way round they were given."""
    clockwise = Polygon([(0, 0), (0, 5), (5, 5), (5, 0)])
    with store.change("test") as writer:
        scrap = writer.add_scrap(NewScrap(outline=clockwise))
    assert scrap.outline.exterior.is_ccw
    assert scrap.outline.equals(clockwise)


@pytest.mark.parametrize(
    ("outline", "why"),
    [
        (Polygon(), "encloses nothing"),
        (Polygon([(0, 0), (1, 0), (2, 0)]), "encloses nothing"),
        (Polygon([(0, 0), (4, 4), (4, 0), (0, 4)]), "crosses itself|encloses nothing"),
        (Polygon([(0, 0), (5, 0), (0, 4), (3, 4)]), "crosses itself"),
        (Polygon([(0, 0), (float("inf"), 0), (0, 4)]), "encloses nothing|not a number"),
    ],
)
def test_an_outline_that_is_none_is_refused(store: Store, outline: Polygon, why: str) -> None:
    """With a sentence, before anything is written."""
    with pytest.raises(ShapeError, match=why), store.change("test") as writer:
        writer.add_scrap(NewScrap(outline=outline))


def test_moments_are_kept_in_utc(store: Store) -> None:
    """Aware on the way out; the zone they came in with does not matter."""
    with store.change("test") as writer:
        scrap = writer.add_scrap(NewScrap(outline=box(0, 0, 1, 1)))
    assert scrap.created.tzinfo is UTC
    assert abs(scrap.created - datetime.now(timezone(timedelta(hours=9)))) < timedelta(minutes=1)


def test_names_of_fabrics(store: Store) -> None:
    """Found in any capitals, not given twice, near ones suggested, never empty."""
    with store.change("test") as writer:
        writer.add_fabric(a_fabric("Deck stripe"))
    with store.read() as reader:
        assert reader.fabric(" deck STRIPE ").name == "Deck stripe"
        with pytest.raises(NotFoundError, match="did you mean 'Deck stripe'"):
            reader.fabric("deck strip")
    again = pytest.raises(StoreError, match="called 'DECK STRIPE' already")
    with again, store.change("test") as writer:
        writer.add_fabric(a_fabric("DECK STRIPE"))
    with pytest.raises(StoreError, match="needs a name"), store.change("test") as writer:
        writer.add_fabric(a_fabric("  "))


def test_what_is_not_there_is_told_by_its_number(store: Store) -> None:
    """Reading and changing alike."""
    with store.read() as reader:
        for get in (
            reader.scrap,
            reader.yardage_length,
            reader.ready_cut_lot,
            reader.binding_strip,
        ):
            with pytest.raises(NotFoundError, match="has the number 4711"):
                get(4711)
    with store.change("test") as writer:
        scrap = writer.add_scrap(NewScrap(outline=box(0, 0, 1, 1)))
    gone = pytest.raises(NotFoundError, match="4711 of scraps is gone")
    with gone, store.change("test") as writer:
        writer.update_scrap(replace(scrap, id=4711))


def test_a_fabric_with_blanks_about_its_name_is_found(tmp_path: Path) -> None:
    """As a borrowed store may have one: by its bare word, in any capitals."""
    with open_store(tmp_path) as store, store.change("fabric add") as writer:
        assert writer.add_fabric(a_fabric("Navy dot ")).name == "Navy dot "
        assert writer.fabric("navy DOT").name == "Navy dot "
