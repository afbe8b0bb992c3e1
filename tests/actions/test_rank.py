"""Ranking: what of a project cannot be cut, and what the share is of."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from shapely import box

from scrapstore.actions.rank import rank_projects
from scrapstore.json_output.rank import ranking_out
from scrapstore.settings import Settings
from scrapstore.store import NewScrap, Store, open_store

SETTINGS = Settings()
PIECE = """
[[pieces]]
name = "{name}"
shape = "rectangle"
width = "{width}"
height = "{height}"
count = {count}
role = "top"
grain = {{ edges = [1], along = "crosswise" }}
"""


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with open_store(tmp_path / "store") as opened:
        yield opened


def test_a_piece_that_no_fabric_gives_is_named_and_the_project_comes_last(
    store: Store, tmp_path: Path
) -> None:
    """A border of 60 in across a fabric of 40 in; the rest of it is half covered by a scrap."""
    with store.change("test") as writer:
        writer.add_scrap(NewScrap(outline=box(0, 0, 10, 10), grain_deg=0.0))
    folder = tmp_path / "projects"
    folder.mkdir()
    head = 'format = 1\nname = "Pad"\n[roles.top]\n'
    block = PIECE.format(name="block", width=4, height=4, count=2)
    border = PIECE.format(name="border", width=60, height=2, count=2)
    (folder / "a.toml").write_text(head + block + border, encoding="utf-8")
    large = PIECE.format(name="large", width=12, height=12, count=2)
    (folder / "b.toml").write_text(head + large, encoding="utf-8")
    ranked, faulty = rank_projects(store, folder, settings=SETTINGS)
    assert not faulty
    first, last = ranking_out(ranked, faulty).projects
    assert (first.file, first.share, first.cannot) == ("b.toml", 0, [])
    assert last.file == "a.toml"
    (said,) = last.cannot
    assert said.startswith("border: at least 60 1/2 in long")
    area = 2 * 4.5 * 4.5
    assert last.share == pytest.approx(area / (area + 2 * 60.5 * 2.5))
