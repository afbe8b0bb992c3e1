"""The top of a matched project in its own cloth: the right part of each photo, and its words."""

import io
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from shapely import Point, box

from scrapstore.actions.match import match_project
from scrapstore.designs import make_design
from scrapstore.errors import PlanError
from scrapstore.planning.result import MatchResult
from scrapstore.projects import design_text
from scrapstore.report.cutting_report import make_sheets
from scrapstore.report.plan_picture import top_of, write_top
from scrapstore.settings import Settings
from scrapstore.shapes import cut_shape, make_shape
from scrapstore.store import NewFabric, NewReadyCut, NewScrap, NewYardage, Store, open_store
from tests.support.pad import write_pad
from tests.support.pdf_reading import page_words

SETTINGS = Settings()
BOX = (0.0, 0.0, 12.0, 9.0)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with open_store(tmp_path / "store") as store:
        yield store


def in_scrap(seen: np.ndarray) -> np.ndarray:
    """The point of the scrap that has a colour: redder to the right, greener upwards."""
    return np.array([(seen[0] - 40) / 15, (seen[1] - 40) / 20])


def gradient() -> bytes:
    y, x = (np.indices((360, 480)) + 0.5) / 40
    pixels = np.stack([40 + 15 * x, 40 + 20 * (9 - y), np.full(x.shape, 90.0)], axis=-1)
    content = io.BytesIO()
    Image.fromarray(pixels.round().astype(np.uint8)).save(content, "JPEG", quality=95)
    return content.getvalue()


def photographed(store: Store, *, grain_deg: float = 0.0, name: str = "shaded lawn") -> None:
    """A scrap of 12 × 9 in with the photo, typed at any angle of its grain."""
    picture = store.keep_cut_out(gradient(), BOX)
    with store.change("test") as writer:
        lawn = writer.add_fabric(NewFabric(name=name, family="green", value="medium"))
        writer.add_scrap(
            NewScrap(outline=box(*BOX), fabric=lawn, grain_deg=grain_deg, cut_out=picture)
        )


def matched(store: Store, folder: Path, design: str = "squares", **sizes: Any) -> MatchResult:
    made = make_design(design, seam=0.25, mark=0.125, **{"piece": 2.0, **sizes})
    file = folder / "cushion.toml"
    file.write_text(design_text(made, 0.25), encoding="utf-8")
    return match_project(store, file, settings=SETTINGS)


@pytest.mark.parametrize(
    ("design", "sizes", "grain_deg"),
    [
        ("squares", {"rows": 2, "columns": 2}, 25.0),
        ("squares", {"rows": 2, "columns": 2}, 90.0),
        ("star", {"a_side": 1, "piece": 1.25}, 25.0),
    ],
)
def test_every_piece_has_the_colour_that_its_photo_has_there(
    store: Store, tmp_path: Path, design: str, sizes: dict[str, float], grain_deg: float
) -> None:
    """Compared with where the match placed the piece of that label.

    Its middle comes from the middle there. What lies towards a corner comes from as far off the
    middle, and is finished cloth: 1/4 in inside what is cut.
    """
    photographed(store, grain_deg=grain_deg)
    result = matched(store, tmp_path, design, **sizes)
    file = write_top(store, result, tmp_path / "top.png", SETTINGS)
    pixels = np.asarray(Image.open(file).convert("RGB")).astype(float)
    assert result.project.design is not None
    west, south, east, north = result.project.design.outline.bounds
    scale = 2 * 480 / max(east - west, north - south)
    at = {piece.label: p.outline for cut in result.cuts for p, piece in cut.labelled}
    assert at
    for spot, place in zip(result.project.design.pieces, result.places, strict=True):
        if place.label not in at:
            continue

        def seen(point: np.ndarray) -> np.ndarray:
            x, y = 48 + (point[0] - west) * scale, 116 + (north - point[1]) * scale
            return in_scrap(pixels[int(y) - 2 : int(y) + 3, int(x) - 2 : int(x) + 3].mean((0, 1)))

        centre = np.array(spot.outline.centroid.coords[0])
        middle = np.array(at[place.label].centroid.coords[0])
        assert np.allclose(seen(centre), middle, atol=0.2)
        finished = at[place.label].buffer(-0.25, join_style="mitre").buffer(0.1)
        for corner in spot.outline.exterior.coords[:-1]:
            part = 0.7 * (np.array(corner) - centre)
            found = seen(centre + part)
            assert np.hypot(*(found - middle)) == pytest.approx(np.hypot(*part), abs=0.25)
            assert finished.contains(Point(found))


def test_every_cloth_has_a_word(store: Store, tmp_path: Path) -> None:
    """Two squares of a typed scrap, one ready cut, two of a length, the rest to be bought."""
    square = make_shape("square", side=2.0)
    with store.change("test") as writer:
        dots = writer.add_fabric(NewFabric(name="Navy dot", family="blue", value="dark"))
        linen = writer.add_fabric(NewFabric(name="linen", family="white", usable_width=5.5))
        writer.add_scrap(NewScrap(outline=box(0, 0, 5.5, 3), family="red", value="medium"))
        writer.add_yardage(NewYardage(fabric=linen, length=3.6))
        writer.add_ready_cut(
            NewReadyCut(kind="square", label=square.label, measures=dict(square.measures),
                        cut=cut_shape(square, 0.25), count=1, fabric=dots)
        )  # fmt: skip
    top = top_of(store, matched(store, tmp_path, rows=2, columns=3))
    words = sorted((patch.word, patch.label[:1]) for patch in top.patches)
    assert words == [
        ("Navy dot (dark blue)", "A"), ("linen (white)", "A"), ("linen (white)", "A"),
        ("medium red, scrap 1", "A"), ("medium red, scrap 1", "A"), ("to buy: any cloth", "A"),
    ]  # fmt: skip
    assert top.pictures == {}


def test_ready_cut_pieces_and_lengths_look_like_a_scrap_of_their_fabric(
    store: Store, tmp_path: Path
) -> None:
    photographed(store)
    with store.change("test") as writer:
        plum = writer.add_fabric(NewFabric(name="plum", family="purple"))
        writer.add_scrap(NewScrap(outline=box(0, 0, 1, 1), fabric=plum, family="red"))
        writer.add_yardage(NewYardage(fabric=plum, length=20.0))
    file = write_pad(tmp_path, 2, rules='fabrics = ["plum"]', rows=1)
    top = top_of(store, match_project(store, file, settings=SETTINGS))
    assert [patch.word for patch in top.patches] == ["plum (red)"] * 2


def test_a_project_without_a_design_says_how_to_get_positions(store: Store, tmp_path: Path) -> None:
    photographed(store)
    result = match_project(store, write_pad(tmp_path, 2), settings=SETTINGS)
    with pytest.raises(PlanError, match=r"^Bench pad: .*\(scrapstore design start\)"):
        write_top(store, result, tmp_path / "top.png", SETTINGS)
    pages = make_sheets(store, result, SETTINGS, tmp_path / "sheets")
    assert ">The top<" not in pages[0].read_text(encoding="utf-8")


def test_sheets_begin_with_the_top_and_its_labels(store: Store, tmp_path: Path) -> None:
    """On the web page before the pieces, in the PDF before what is to be fetched."""
    photographed(store)
    result = matched(store, tmp_path, rows=2, columns=2)
    page, *_ = make_sheets(store, result, SETTINGS, tmp_path / "sheets")
    text = page.read_text(encoding="utf-8")
    before = text[: text.index(">The pieces<")]
    printed = " ".join(page_words((tmp_path / "sheets" / "cutting-sheets.pdf").read_bytes()))
    first = printed[: printed.index("What to fetch")].split()
    for label in ("A1", "A2", "A3", "A4"):
        assert f">{label}</text>" in before
        assert label in first
    assert "4 A: shaded lawn (medium green)" in before
