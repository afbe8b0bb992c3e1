"""Bags of crumbs for roles with scrappy fill: offered by colour, and nothing counted."""

import re
from pathlib import Path

import pytest

from scrapstore.actions.match import match_project
from scrapstore.settings import Settings
from scrapstore.store import NewCrumbs, NewFabric, open_store
from tests.support.pad import write_pad


@pytest.mark.parametrize(
    ("rules", "named"),
    [
        ('families = ["blue"]', ["2", "1"]),  # the heaviest first
        ('families = ["blue"]\nvalues = ["dark"]', ["1"]),
        ('families = ["green"]', []),
        ('fabrics = ["linen"]', ["3"]),
        ('fibres = ["Flax"]', ["3"]),
        ("", ["2", "1", "3"]),
    ],
)
def test_the_bags_that_a_role_allows_are_named_and_no_piece_is_counted(
    tmp_path: Path, rules: str, named: list[str]
) -> None:
    with open_store(tmp_path / "store") as store:
        with store.change("begin") as writer:
            linen = writer.add_fabric(NewFabric(name="linen", fibre="flax", family="red"))
            writer.add_crumbs(NewCrumbs(grams=120, family="blue", value="dark", place="tin"))
            writer.add_crumbs(NewCrumbs(grams=300, family="blue"))
            writer.add_crumbs(NewCrumbs(fabric=linen))
            writer.add_crumbs(NewCrumbs(grams=900, family="blue", status="used up"))
        file = write_pad(tmp_path, 4, rules=f'{rules}\nfill = "scrappy"')
        result = match_project(store, file, settings=Settings(), why=False)
    (note,) = [one for one in result.notes if "scrappy fill" in one]
    assert re.findall(r"bag (\d+)", note) == named
    assert ("bag 1 (4.2 oz, blue, in tin)" in note) == ("1" in named)
    assert result.together.covered == 0


def test_a_role_without_fill_hears_of_no_bags(tmp_path: Path) -> None:
    with open_store(tmp_path / "store") as store:
        with store.change("begin") as writer:
            writer.add_crumbs(NewCrumbs(grams=120, family="blue"))
        result = match_project(store, write_pad(tmp_path, 4), settings=Settings(), why=False)
    assert not any("bag" in note for note in result.notes)
