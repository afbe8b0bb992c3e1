"""Arrangements drawn in their own cloth: each piece shows the part of the scrap it is cut from."""

from pathlib import Path

import pytest
from PIL import Image
from shapely import Polygon, affinity, box

from scrapstore.actions.arrange import arrange_project
from scrapstore.designs import make_design
from scrapstore.planning.arranging.result import Arranged, ArrangeWish
from scrapstore.projects import design_text
from scrapstore.report.arrangement_sheet import sheet_drawing, way_patches, write_arrangements
from scrapstore.report.painting import Area, TextLine
from scrapstore.settings import Settings
from scrapstore.store import NewScrap, Scrap, StockFilter, Store, open_store

SETTINGS = Settings()
GRAINS = (0.0, 30.0, 90.0)
FAMILIES = ("red", "blue", "yellow")


@pytest.fixture
def store(tmp_path: Path) -> Store:
    """Three scraps with room for eight squares of 2 in each, their grain turned."""
    store = open_store(tmp_path / "store", make=True)
    with store.change("test") as writer:
        for grain, family in zip(GRAINS, FAMILIES, strict=True):
            shape = affinity.rotate(box(0, 0, 8.2, 4.2), grain, origin=(0, 0))
            assert isinstance(shape, Polygon)
            writer.add_scrap(
                NewScrap(outline=shape, grain_deg=grain, margin=0.0, family=family, value="medium")
            )
    return store


@pytest.fixture
def arranged(store: Store, tmp_path: Path) -> Arranged:
    design = make_design("squares", piece=1.5, rows=3, columns=4, border=1.0, seam=0.25, mark=0.125)
    file = tmp_path / "grid.toml"
    file.write_text(design_text(design, 0.25), encoding="utf-8")
    return arrange_project(store, file, ArrangeWish(count=4), SETTINGS)


def scraps_of(store: Store) -> dict[int, Scrap]:
    with store.read() as reader:
        return {scrap.id: scrap for scrap in reader.scraps(StockFilter(statuses=()))}


def test_each_piece_shows_what_is_cut_for_it(store: Store, arranged: Arranged) -> None:
    """By geometry: its finished outline lies in its own cut outline, a seam from every edge."""
    for way in arranged.ways:
        patches = {one.position: one for one in way_patches(arranged, way, scraps_of(store))}
        assert len(patches) == 12 + 4
        for place, piece in zip(arranged.job.top.places, way.pieces, strict=True):
            patch, cut = patches[place.position], arranged.own_placement(piece)
            assert patch.to_scrap is not None
            assert cut is not None
            shown = affinity.affine_transform(patch.outline, patch.to_scrap)
            assert shown.symmetric_difference(
                cut.outline.buffer(-0.25, join_style="mitre")
            ).area == pytest.approx(0, abs=1e-6)


def test_the_sheet_has_a_tile_for_each_way_and_a_word_for_every_colour(
    store: Store, arranged: Arranged
) -> None:
    ways = [*enumerate(arranged.ways, 1)]
    drawing = sheet_drawing(arranged, ways, scraps_of(store), {})
    words = [part.text for part in drawing.parts if isinstance(part, TextLine)]
    for number, way in ways:
        assert f"{number}   {', '.join(way.arrangement.schemes)}" in words
    for family in FAMILIES:
        assert any(f"medium {family}" in word for word in words)
    assert "border, not arranged" in words
    grey = sheet_drawing(arranged, ways, scraps_of(store), {}, grey=True)
    fills = {part.fill for part in grey.parts if isinstance(part, Area) and part.fill}
    assert fills
    assert all(max(fill) - min(fill) <= 1 for fill in fills)


@pytest.mark.parametrize("name", ["sheet.png", "sheet.svg", "sheet.html", "sheet.pdf"])
def test_it_is_written_as_its_ending_says(
    store: Store, arranged: Arranged, tmp_path: Path, name: str
) -> None:
    ways = [*enumerate(arranged.ways, 1)]
    file = write_arrangements(store, arranged, ways, tmp_path / name, SETTINGS)
    content = file.read_bytes()
    start = {"png": b"\x89PNG", "svg": b"<svg", "html": b"<!doctype", "pdf": b"%PDF"}
    assert content.lower().startswith(start[name.rpartition(".")[2]].lower())
    if name.endswith("png"):
        with Image.open(file) as image:
            assert min(image.size) > 500
