"""The sewing order on paper or on a screen: each batch with its pictures and its words."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from scrapstore.designs.sewing import Batch
from scrapstore.planning.sewing import SewingPlan
from scrapstore.report.painting import Drawing, paint_svg, svg_drawing
from scrapstore.report.pdf.lettering import text_width
from scrapstore.report.pdf.pages import BODY, NOTE, SMALL, TITLE, Pages
from scrapstore.report.pdf.painting import put_text
from scrapstore.report.plan_picture import Top
from scrapstore.report.printed_file import write_sheet
from scrapstore.report.sewing_picture import places_drawing, step_drawing
from scrapstore.report.sewing_text import (
    SEWING_CAUTIONS,
    batch_words,
    count_line,
    how_to_sew,
    join_words,
    letter_line,
    made_words,
    measure_words,
    nest_line,
    seam_test_line,
    set_in_lines,
)
from scrapstore.report.templating import drawn, templates
from scrapstore.settings import Settings

__all__ = ["write_sewing_sheet"]

_NAME: Final = 16.0
_MOST: Final = 96
"""Joins of a batch that are listed; of more, the pictures say all."""
_COLUMNS: Final = 3
_READING: Final = (
    "Left: the two parts of the first seam of a batch, laid as they are sewn; dots are pins, "
    "rings the points where a seam that is set in turns, and the arrow points to the part that the "
    "allowances are pressed to. Right: where the seams of the batch lie on the top, by their "
    "numbers, each with its own arrow."
)


@dataclass(frozen=True)
class _Step:
    """One batch; `joins` are number, first and second part, and the part it is pressed to."""

    title: str
    words: str
    measure: str
    step: Drawing
    places: Drawing
    joins: tuple[tuple[str, str, str, str], ...]


def write_sewing_sheet(sewing: SewingPlan, cloth: Top, settings: Settings, file: Path) -> Path:
    """Write the sheet to `file`; return where it is. Raises as `write_sheet` does."""
    steps = [_step(sewing, batch, cloth, settings) for batch in sewing.order.batches]
    return write_sheet(
        file, lambda: _html(sewing, steps, settings), lambda: _pdf(sewing, steps, settings)
    )


def _step(sewing: SewingPlan, batch: Batch, cloth: Top, settings: Settings) -> _Step:
    units, mark = settings.units, settings.mark
    seam = sewing.project.seam_allowance
    joins = [join_words(sewing, sewing.order.join(number)) for number in batch.joins]
    title, _, words = batch_words(sewing, batch, units, mark).partition(": ")
    return _Step(
        title=f"{title}: {made_words(batch)}",
        words=f"{words[0].upper()}{words[1:]}",
        measure=f"Then measure: {measure_words(batch.sides, seam, units, mark)}.",
        step=step_drawing(sewing, batch, cloth),
        places=places_drawing(sewing, batch),
        joins=tuple(joins) if len(joins) <= _MOST else (),
    )


def _before(sewing: SewingPlan, settings: Settings) -> Iterator[str]:
    """Yield what is read before the first seam."""
    yield count_line(sewing)
    yield seam_test_line(sewing.project.seam_allowance, settings.units)
    yield from set_in_lines(sewing, settings.units, settings.mark)
    yield nest_line(sewing)
    yield letter_line(sewing)
    yield how_to_sew()
    yield _READING


def _html(sewing: SewingPlan, steps: list[_Step], settings: Settings) -> bytes:
    shown = [
        {
            "step": one,
            "parts": drawn(paint_svg(one.step, f"step-{number}", title=one.title)),
            "places": drawn(paint_svg(one.places, f"places-{number}", title=one.title)),
        }
        for number, one in enumerate(steps, 1)
    ]
    page = templates().get_template("sewing.html").render(
        title=f"Sewing: {sewing.project.name}", before=list(_before(sewing, settings)),
        steps=shown, cautions=SEWING_CAUTIONS,
    )  # fmt: skip
    return page.encode()


def _pdf(sewing: SewingPlan, steps: list[_Step], settings: Settings) -> bytes:
    title = f"Sewing: {sewing.project.name}"
    pages = Pages(settings.page, title, title)
    pages.words(title, _NAME, bold=True)
    for text in _before(sewing, settings):
        pages.words(text)
        pages.y -= 3
    pages.heading("Take care")
    for text in SEWING_CAUTIONS:
        pages.words(text, SMALL)
    for number, step in enumerate(steps, 1):
        _put_step(pages, step, number)
    return pages.finished()


def _put_step(pages: Pages, step: _Step, number: int) -> None:
    """Put a batch: its heading, its words and its pictures stay together."""
    high = max(step.step.height, step.places.height)
    words = pages.height(step.words, pages.width) + pages.height(step.measure, pages.width)
    if pages.room < high + words + 3 * TITLE:
        pages.turn()
    pages.heading(step.title)
    pages.words(step.words)
    box = pages.tick(pages.left, pages.y - BODY)
    pages.words(step.measure, x=box, bold=True)
    pages.drawing(svg_drawing(step.step, f"step-{number}"), pages.left, pages.y)
    right = pages.right - step.places.width
    pages.drawing(svg_drawing(step.places, f"places-{number}"), right, pages.y)
    pages.y -= high
    _put_joins(pages, step)


def _put_joins(pages: Pages, step: _Step) -> None:
    """Put the joins in columns with boxes to tick; as many columns as their words allow."""
    lines = [f"{number}: {one} + {other}, {press}" for number, one, other, press in step.joins]
    if not lines:
        return
    room = max(text_width(line, NOTE) for line in lines) + 2.5 * NOTE
    columns = max(1, min(_COLUMNS, int(pages.width // room)))
    wide = pages.width / columns
    for start in range(0, len(lines), columns):
        if pages.room < 1.4 * NOTE:
            pages.turn()
        for column, line in enumerate(lines[start : start + columns]):
            x = pages.tick(pages.left + column * wide, pages.y - NOTE, NOTE)
            put_text(pages.canvas, line, x, pages.y - NOTE, NOTE)
        pages.y -= 1.4 * NOTE
