"""The sewing order on paper: every batch with its words and pictures, and the cloth as it lies."""

import io
import re
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest
from PIL import Image
from pypdf import PdfReader
from shapely import box

from scrapstore.designs import make_design
from scrapstore.planning.sewing import SewingPlan, plan_sewing
from scrapstore.projects import design_text, read_project
from scrapstore.report.forms import ClothPicture, Rgb
from scrapstore.report.painting import Area, TextLine, paint_pixels
from scrapstore.report.plan_picture import Top
from scrapstore.report.sewing_picture import places_drawing, plain_cloth, step_drawing
from scrapstore.report.sewing_sheet import write_sewing_sheet
from scrapstore.report.top_picture import Patch
from scrapstore.settings import Settings

RED: Rgb = (200, 20, 20)
BLUE: Rgb = (20, 20, 200)


def sewing(name: str = "squares", *, piece: float, rows: int = 2, columns: int = 2) -> SewingPlan:
    grid = {} if name == "eight-point-star" else {"rows": rows, "columns": columns}
    design = make_design(name, seam=0.25, mark=0.125, piece=piece, **grid)  # type: ignore[arg-type]
    return plan_sewing(read_project(design_text(design, 0.25)))


def two_coloured(top: SewingPlan) -> Top:
    """Cloth under the whole top: red in its left half, blue in its right."""
    west, south, east, north = top.design.outline.bounds
    pixels = np.full((400, 400, 3), RED, np.uint8)
    pixels[:, 200:] = BLUE
    content = io.BytesIO()
    Image.fromarray(pixels).save(content, "JPEG", quality=95)
    patches = tuple(
        Patch(one.position, one.outline, (255, 255, 255), "cloth", "", 7, (1, 0, 0, 1, 0, 0))
        for one in top.design.pieces
    )
    return Top(patches, {7: ClothPicture(content.getvalue(), (west, south, east, north))})


def share(pixels: npt.NDArray[np.uint8], colour: Rgb) -> float:
    return float(np.mean(np.abs(pixels.astype(int) - colour).max(axis=-1) < 40))


@pytest.mark.parametrize(("rows", "columns"), [(1, 2), (2, 1)])
def test_cloth_stays_in_its_piece_when_the_parts_are_turned(rows: int, columns: int) -> None:
    """Of two squares the first is left. Upright seam: one is red. Level seam: both are half red."""
    top = sewing(rows=rows, columns=columns, piece=4)
    (batch,) = top.order.batches
    drawing = step_drawing(top, batch, two_coloured(top))
    image = np.asarray(paint_pixels(drawing, 1.0))
    middle = image.shape[1] // 2
    left, right = image[:, :middle], image[:, middle:]
    if columns == 2:
        assert share(left, RED) > 0.5
        assert share(right, BLUE) > 0.5
        assert share(left, BLUE) < 0.01
        return
    # Row 1 is above; laid left of row 2 it is turned a quarter, its left edge down.
    half = image.shape[0] // 2
    for side in (left, right):
        above, below = side[:half], side[half:]
        colours = [RED, BLUE] if share(above, RED) > share(above, BLUE) else [BLUE, RED]
        assert share(above, colours[0]) > 0.5
        assert share(below, colours[1]) > 0.5


def test_pins_and_the_arrow_are_drawn() -> None:
    top = sewing("pinwheels", rows=2, columns=2, piece=4)
    for batch in top.order.batches:
        join = top.order.join(batch.joins[0])
        drawing = step_drawing(top, batch, plain_cloth(top))
        areas = [part for part in drawing.parts if isinstance(part, Area)]
        red = [part.shape for part in areas if part.fill == (168, 40, 40)]
        round_ones = [dot for dot in red if abs(dot.area / dot.envelope.area - 0.78) < 0.02]
        assert len(round_ones) == 2 * len(join.meets)
        (arrow,) = [part.shape for part in areas if part.fill == (26, 26, 26)]
        # The tip is the corner that is alone at its end.
        xs = sorted(x for x, _ in arrow.exterior.coords[:-1])
        to_left = xs[1] - xs[0] > xs[2] - xs[1]
        assert to_left == join.press_to_first


def test_a_turn_is_ringed() -> None:
    top = sewing("eight-point-star", piece=2)
    batch = next(b for b in top.order.batches if top.order.join(b.joins[0]).bends)
    drawing = step_drawing(top, batch, plain_cloth(top))
    rings = [p for p in drawing.parts if isinstance(p, Area) and p.fill is None and p.edge == 1.4]
    assert len(rings) == 2 * len(top.order.join(batch.joins[0]).bends)


def test_places_have_the_numbers_of_their_seams() -> None:
    top = sewing(rows=3, columns=3, piece=2)
    for batch in top.order.batches:
        drawing = places_drawing(top, batch)
        numbers = {part.text: part for part in drawing.parts if isinstance(part, TextLine)}
        assert set(numbers) == {str(number) for number in batch.joins}
        west, _, _, north = top.design.outline.bounds
        scale = 190 / 6
        for number, part in numbers.items():
            made = top.order.join(int(number)).pieces
            on_top = [box(*top.design.pieces[piece].outline.bounds).buffer(0.01) for piece in made]
            x, y = west + (part.x - 12) / scale, north - (part.y - 0.36 * part.size - 12) / scale
            assert any(one.bounds[0] < x < one.bounds[2] and one.bounds[1] < y < one.bounds[3]
                       for one in on_top)  # fmt: skip


@pytest.mark.parametrize("ending", ["html", "pdf"])
def test_the_sheet_has_every_batch_and_every_seam(tmp_path: Path, ending: str) -> None:
    top = sewing("pinwheels", rows=2, columns=2, piece=4)
    file = write_sewing_sheet(top, plain_cloth(top), Settings(), tmp_path / f"sheet.{ending}")
    if ending == "pdf":
        text = " ".join(page.extract_text() for page in PdfReader(file).pages)
    else:
        text = file.read_text(encoding="utf-8")
        assert text.count("<svg") == 2 * len(top.order.batches)
    flat = re.sub(r"\s+", " ", text)
    for batch in top.order.batches:
        assert f"Batch {batch.number}: " in flat
    for join in top.order.joins:
        assert f"{join.number}: {top.part_name(join.first)} + {top.part_name(join.second)}" in flat
    for words in ("Seam test: sew three strips", "Iron: it burns", "makers of your machine"):
        assert words in flat
