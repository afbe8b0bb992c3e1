"""Cutting sheets of a match: gathers from the store what they show, and writes them."""

import re
from collections.abc import Sequence
from pathlib import Path
from typing import Final

from scrapstore.planning.allocate import Shortage
from scrapstore.planning.result import MatchResult, ReadyUse, ScrapCut
from scrapstore.planning.strip_cuts import RoleCuttings, StripCuttings, strip_cuttings
from scrapstore.report.answer_text import can_make, limit_words
from scrapstore.report.cloth_pictures import cloth_picture, plain_rgb, small_photo
from scrapstore.report.forms import (
    ClothDrawing,
    CuttingReport,
    Fetch,
    PieceLine,
    RoleShort,
    ScrapSheet,
    StripPicture,
    StripSource,
)
from scrapstore.report.page import write_sheets
from scrapstore.report.piece_text import cut_sizes, finishes_as
from scrapstore.report.plan_picture import labelled_top
from scrapstore.report.templates_needed import project_templates
from scrapstore.report.yardage_text import (
    buy_text,
    cloth_words,
    hand_text,
    short_text,
    strip_text,
)
from scrapstore.settings import Settings
from scrapstore.shapes import label_in
from scrapstore.store import Scrap, Store
from scrapstore.units import Units, format_length, format_size, format_typed
from scrapstore.yardage import RolePlan

__all__ = ["cutting_report", "make_sheets"]

_PHOTO_PIXELS: Final = 420
_PICTURE_PIXELS: Final = 900


def make_sheets(store: Store, result: MatchResult, settings: Settings, folder: Path) -> list[Path]:
    """Write the sheets of `result` into `folder`; return the files, the page with all of it first.

    Raises SheetError when the folder cannot be written.
    """
    return write_sheets(cutting_report(store, result, settings), folder)


def cutting_report(store: Store, result: MatchResult, settings: Settings) -> CuttingReport:
    """Return what the sheets show."""
    units, project = settings.units, result.project
    letter = result.project.letters
    supplies = {supply.need: supply for supply in result.supplies}
    lines = tuple(
        PieceLine(
            letter=letter[piece.name],
            name=piece.name,
            role=piece.role,
            label=_in_words(finishes_as(piece, project.seam_allowance, units)),
            finished=piece.shape.outline,
            cut_size=cut_sizes(piece, project.seam_allowance, units, settings.ruler_step),
            wanted=supplies[piece.name].wanted,
            ready=supplies[piece.name].ready,
            scraps=supplies[piece.name].scraps,
            yardage=supplies[piece.name].short,
        )
        for piece in project.pieces
    )  # fmt: skip
    return CuttingReport(
        project=project.name,
        finished=_in_words(_finished(result, units)),
        answer=can_make(result, units),
        limit=limit_words(result),
        lines=lines,
        sheets=tuple(_sheet(store, cut, settings) for cut in result.cuts),
        ready_lines=tuple(
            _ready_text(use, letter, units)
            + (f" (kept in {use.lot.place})" if use.lot.place else "")
            for use in result.ready
        ),
        short=tuple(
            _short(shortage, cuttings, letter, units)
            for shortage, cuttings in zip(result.shortages, strip_cuttings(result), strict=True)
        ),
        notes=result.notes,
        units=units,
        paper=settings.page,
        fetch=_fetch(result, letter, units),
        templates=project_templates(result, lines),
        top=labelled_top(store, result) if result.places else None,
    )


def _ready_text(use: ReadyUse, letter: dict[str, str], units: Units) -> str:
    return (
        f"{use.count} × {letter[use.need]} {use.need}: {label_in(use.lot, units)}"
        + (f", {use.cut_up}" if use.cut_up else "")
        + (f", {use.lot.fabric.name}" if use.lot.fabric else "")
    )


def _fetch(result: MatchResult, letter: dict[str, str], units: Units) -> tuple[Fetch, ...]:
    """Return what to fetch in the order of places, what has none last; large scraps first."""
    scraps = [
        Fetch(
            cut.scrap.place or "",
            f"scrap {cut.scrap.id}: {format_size(*cut.scrap.sides, units)}, {_reads_as(cut.scrap)}"
            + (f", {cut.scrap.title}" if cut.scrap.name or cut.scrap.fabric else ""),
        )
        for cut in sorted(result.cuts, key=lambda cut: -cut.scrap.outline.area)
    ]
    lengths = {hand.yardage.id: hand.yardage for one in result.shortages for hand in one.on_hand}
    found = [
        *scraps,
        *(
            Fetch(
                one.place or "",
                f"length {one.id}: {format_length(one.length, units)} of {one.fabric.name}",
            )
            for one in lengths.values()
        ),
        *(
            Fetch(use.lot.place or "", f"ready-cut: {_ready_text(use, letter, units)}", cloth=False)
            for use in result.ready
        ),
    ]
    return tuple(sorted(found, key=lambda one: (not one.place, one.place.casefold())))


def _reads_as(scrap: Scrap) -> str:
    return " ".join(filter(None, (scrap.shown_value, scrap.shown_family or "no colour yet")))


def _finished(result: MatchResult, units: Units) -> str:
    size = result.project.cushion
    seam = format_typed(result.project.seam_allowance, units)
    if size is None:
        return f"seam allowance {seam}"
    wide, tall = (format_typed(side, units) for side in size)
    return f"finishes at {wide} × {tall}, seam allowance {seam}"


def _sheet(store: Store, cut: ScrapCut, settings: Settings) -> ScrapSheet:
    scrap, units = cut.scrap, settings.units
    one_way = bool(scrap.fabric and scrap.fabric.one_way_print)
    picture = cloth_picture(store, scrap, _PICTURE_PIXELS)
    notes = []
    if cut.grain_assumed:
        notes.append(
            "The lengthwise grain of this scrap is not known: the drawing takes it along the lower "
            "ruler. Check it before cutting."
        )
    if one_way:
        notes.append("One-way print: keep the arrow's direction.")
    if picture is None and scrap.shown_family is not None:
        notes.append("The cloth is drawn in plain colour, without its print.")
    turned_deg = round(-cut.cutting.frame.turn_deg, 1) % 360
    if turned_deg:
        left = turned_deg < 180
        way = f"{turned_deg:g}° counter-clockwise" if left else f"{360 - turned_deg:g}° clockwise"
        notes.append(
            f"The drawing is turned {way} against the outline as it was typed or measured, so that "
            "the lengthwise grain lies level."
        )
    heads = 0 if cut.grain_assumed else 1 if one_way else 2
    return ScrapSheet(
        scrap_id=scrap.id,
        title=scrap.title if scrap.name or scrap.fabric else "",
        place=scrap.place,
        size=format_size(*scrap.sides, units),
        reads_as=_reads_as(scrap),
        cutting=cut.cutting,
        cloth=ClothDrawing(
            region=cut.cutting.frame.drawn(cut.region),
            flaws=tuple(cut.cutting.frame.drawn(flaw) for flaw in scrap.flaws),
            colour=plain_rgb(scrap),
            picture=picture,
            grain_heads=heads,
        ),
        grain_known=not cut.grain_assumed,
        photo=None if picture else small_photo(store, scrap, _PHOTO_PIXELS),
        notes=tuple(notes),
    )


def _in_words(text: str) -> str:
    """Return a text for paper, where the sign for a length between two marks is a word."""
    return re.sub(r"~(?=\d)", "about ", text)


def _short(
    shortage: Shortage, cuttings: RoleCuttings, letter: dict[str, str], units: Units
) -> RoleShort:
    sources = [
        StripSource(
            _in_words(hand_text(one, letter, units)), _pictures(one.plan, plans, letter, units)
        )
        for one, plans in zip(shortage.on_hand, cuttings.on_hand, strict=True)
    ]
    if shortage.buy:
        for one, plans in zip(shortage.purchases, cuttings.bought, strict=True):
            words = (
                short_text(shortage, one, letter, units),
                *one.plan.too_long,
                cloth_words(shortage),
            )
            text = _in_words(" ".join(filter(None, words)))
            sources.append(StripSource(text, _pictures(one.plan, plans, letter, units)))
    wanting = ", ".join(
        f"{count} × {letter[name]} {name}" for name, count in shortage.pieces.items()
    )
    return RoleShort(
        role=shortage.role,
        buy=buy_text(shortage, units),
        wanting=f"Still to cut: {wanting}.",
        sources=tuple(sources),
    )


def _pictures(
    plan: RolePlan, cuttings: Sequence[StripCuttings], letter: dict[str, str], units: Units
) -> tuple[StripPicture, ...]:
    return tuple(
        StripPicture(
            *strip_text(strip, plan, letter, units, alike),
            alike[0],
            along_grain=plan.along_grain,
            alike=tuple(piece.label for one in alike[1:] for piece in one.pieces),
        )
        for strip, alike in zip(plan.strips, cuttings, strict=True)
    )
