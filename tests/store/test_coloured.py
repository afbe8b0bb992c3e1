"""The quick reading of colours says what the whole scraps say."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from scrapstore.store import (
    ColouredScrap,
    NewFabric,
    StockFilter,
    Store,
    coloured_scraps,
    open_store,
)
from tests.support.coloured_store import CLOTHS, a_read_scrap
from tests.support.stores import a_fabric, a_photo, a_scrap


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with open_store(tmp_path / "store") as store:
        yield store


def fill(store: Store) -> None:
    """Every cloth, one with every field, one with nothing but an outline, one used up."""
    with store.change("fill") as writer:
        fabric = writer.add_fabric(a_fabric())
        photo = writer.add_photo(a_photo())
        plain = writer.add_fabric(NewFabric(name="calico"))
        for name in CLOTHS:
            writer.add_scrap(replace(a_read_scrap(name), fabric=plain))
        writer.add_scrap(a_scrap(fabric, photo))
        writer.add_scrap(replace(a_scrap(fabric), swatches=(), family=None, value=None, accents=()))
        writer.add_scrap(replace(a_read_scrap("red"), status="used up"))


def as_the_whole_scrap_says(store: Store, only: StockFilter) -> list[ColouredScrap]:
    with store.read() as reader:
        return [
            ColouredScrap(
                id=scrap.id,
                name=scrap.name,
                fabric=scrap.fabric.name if scrap.fabric else None,
                place=scrap.place,
                area=scrap.area,
                sides=scrap.sides,
                swatches=scrap.swatches,
                family=scrap.family,
                accents=scrap.accents,
                value=scrap.value,
                corrected=scrap.corrected,
                fabric_family=scrap.fabric.family if scrap.fabric else None,
                fabric_value=scrap.fabric.value if scrap.fabric else None,
            )
            for scrap in reader.scraps(only)
        ]


@pytest.mark.parametrize(
    "only",
    [
        StockFilter(),
        StockFilter(statuses=()),
        StockFilter(statuses=("used up",)),
        StockFilter(families=("pink",)),
        StockFilter(values=("dark",), fabrics=("navy DOT",)),
        StockFilter(ids=(2, 3), statuses=()),
        StockFilter(at_least=(5, 8), statuses=()),
    ],
)
def test_it_is_what_the_whole_scraps_say(store: Store, only: StockFilter) -> None:
    fill(store)
    with store.read() as reader:
        found = coloured_scraps(reader, only)
    assert list(found) == as_the_whole_scrap_says(store, only)
    assert found


def test_an_empty_store_has_none(store: Store) -> None:
    with store.read() as reader:
        assert coloured_scraps(reader) == ()
