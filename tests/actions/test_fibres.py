"""A role that asks for fibres: scraps, ready-cut pieces and yardage of others are left alone."""

from pathlib import Path

import pytest
from shapely import box

from scrapstore.actions.match import match_project
from scrapstore.planning.result import MatchResult
from scrapstore.settings import Settings
from scrapstore.store import NewFabric, NewReadyCut, NewScrap, NewYardage, open_store

PROJECT = """
format = 1
name = "Bench pad"

[roles.top]
fibres = [{fibres}]

[[pieces]]
name = "square"
shape = "square"
side = "2"
count = 30
role = "top"
"""


@pytest.fixture
def matched(tmp_path: Path) -> MatchResult:
    """Cotton and linen of each kind of cloth, asked for Linen; and a scrap of nobody knows what."""
    return match(tmp_path, '"Linen"')


def match(folder: Path, fibres: str) -> MatchResult:
    file = folder / "pad.toml"
    file.write_text(PROJECT.format(fibres=fibres), encoding="utf-8")
    with open_store(folder / "store") as store:
        with store.change("test") as writer:
            for fibre in ("cotton", "linen"):
                cloth = writer.add_fabric(NewFabric(name=fibre, fibre=fibre, usable_width=40.0))
                writer.add_scrap(NewScrap(outline=box(0, 0, 6, 6), fabric=cloth, margin=0.0))
                square = NewReadyCut(
                    kind="square", label="square", cut=box(0, 0, 2.5, 2.5), count=2, fabric=cloth
                )
                writer.add_ready_cut(square)
                writer.add_yardage(NewYardage(fabric=cloth, length=4.0))
            writer.add_scrap(NewScrap(outline=box(0, 0, 6, 6), margin=0.0))
        return match_project(store, file, settings=Settings())


def test_only_cloth_of_the_fibre_is_taken(matched: MatchResult) -> None:
    """In any capitals; what is not known to be linen is not taken for it."""
    assert [cut.scrap.fabric and cut.scrap.fabric.name for cut in matched.cuts] == ["linen"]
    assert [use.lot.fabric and use.lot.fabric.name for use in matched.ready] == ["linen"]
    (shortage,) = matched.shortages
    assert [hand.yardage.fabric.name for hand in shortage.on_hand] == ["linen"]
    assert matched.notes == ()


def test_a_fibre_that_no_fabric_has_is_told(tmp_path: Path) -> None:
    found = match(tmp_path, '"coton"')
    assert (found.cuts, found.ready) == ((), ())
    assert found.notes == ("top: no fabric here is of coton; did you mean cotton?",)
