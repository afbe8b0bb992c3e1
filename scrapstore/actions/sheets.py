"""Cutting sheets for a match: gathers what the report draws, and writes it to a folder."""

import io
from pathlib import Path

from shapely import affinity, box

from scrapstore.actions.from_hand import Shortage
from scrapstore.actions.match import Cut, MatchResult
from scrapstore.actions.project import cut_sizes, finishes_as
from scrapstore.actions.strip_words import buy_text, hand_text, letters, short_text, strip_text
from scrapstore.colour import family
from scrapstore.report import (
    ClothPicture,
    CuttingReport,
    PieceLine,
    RoleShort,
    ScrapSheet,
    SheetPiece,
    StripPicture,
    StripSource,
    write_sheets,
)
from scrapstore.settings import Settings
from scrapstore.shapes import label_in
from scrapstore.store import CutOutImage, Scrap, Store
from scrapstore.units import Units, format_cut, format_exact, format_length, format_size
from scrapstore.yardage import RolePlan

__all__ = ["cutting_report", "make_sheets"]

_PHOTO_PIXELS = 420


def make_sheets(store: Store, result: MatchResult, settings: Settings, folder: Path) -> list[Path]:
    """Write the sheets of `result` into `folder`; return the files, the page with all of it first.

    Raises SheetError when the folder cannot be written.
    """
    return write_sheets(cutting_report(store, result, settings), folder)


def cutting_report(store: Store, result: MatchResult, settings: Settings) -> CuttingReport:
    """Return what the sheets show."""
    units, project = settings.units, result.project
    letter = letters(result)
    supplies = {supply.need: supply for supply in result.supplies}
    lines = tuple(
        PieceLine(
            letter=letter[piece.name],
            name=piece.name,
            role=piece.role,
            label=finishes_as(piece, project.seam_allowance, units),
            cut_size=tuple(
                _measure(name, exact, units, settings.ruler_step)
                for name, exact in cut_sizes(piece, project.seam_allowance)
            ),
            wanted=supplies[piece.name].wanted,
            ready=supplies[piece.name].ready,
            scraps=supplies[piece.name].scraps,
            yardage=supplies[piece.name].short,
            at_most=supplies[piece.name].at_most,
        )
        for piece in project.pieces
    )  # fmt: skip
    return CuttingReport(
        project=project.name,
        finished=_finished(result, units),
        lines=lines,
        sheets=tuple(_sheet(store, cut, letter, settings) for cut in result.cuts),
        ready_lines=tuple(
            f"{use.count} × {letter[use.need]} {use.need}: {label_in(use.lot, units)}"
            + (f", {use.lot.fabric.name}" if use.lot.fabric else "")
            + (f" (kept in {use.lot.place})" if use.lot.place else "")
            for use in result.ready
        ),
        short=tuple(_short(shortage, letter, units) for shortage in result.shortages),
        notes=result.notes,
        units=units,
        ruler_step=settings.ruler_step,
    )


def _finished(result: MatchResult, units: Units) -> str:
    size = result.project.cushion
    seam = format_length(result.project.seam_allowance, units, 1 / 32)
    if size is None:
        return f"seam allowance {seam}"
    wide, tall = (format_length(side, units) for side in size)
    return f"finishes at {wide} × {tall}, seam allowance {seam}"


def _measure(name: str, exact: float, units: Units, step: float) -> str:
    """Return one cut size: the mark to cut at, and the exact size where it was rounded up."""
    shown = format_cut(exact, units, step)
    if not format_length(exact, units, min(step, 1 / 64)).startswith("~"):
        return f"{name} {shown}"
    return f"{name} {shown} (rounded up from {format_exact(exact, units)})"


def _sheet(store: Store, cut: Cut, letter: dict[str, str], settings: Settings) -> ScrapSheet:
    scrap, units = cut.scrap, settings.units
    turn = -(scrap.grain_deg or 0.0)
    one_way = bool(scrap.fabric and scrap.fabric.one_way_print)
    if not one_way:
        # Either way round will do; the nearer one looks as the scrap was measured.
        turn = (turn + 90) % 180 - 90
    cut_out = store.cut_out(scrap)
    notes = []
    if cut.grain_assumed:
        notes.append(
            "The lengthwise grain of this scrap is not known: the drawing takes it along the lower "
            "ruler. Check it before cutting."
        )
    if one_way:
        notes.append("One-way print: keep the arrow's direction.")
    turned_deg = round(turn, 1) % 360
    if turned_deg:
        left = turned_deg < 180
        way = f"{turned_deg:g}° counter-clockwise" if left else f"{360 - turned_deg:g}° clockwise"
        notes.append(
            f"The drawing is turned {way} against the outline as it was typed or measured, so that "
            "the lengthwise grain lies level."
        )
    turned = [
        SheetPiece(letter[p.kind], affinity.rotate(p.outline, turn, origin=(0, 0)))
        for p in cut.placements
    ]
    # Numbered as one reads a cut: row by row from below, left to right.
    turned.sort(key=lambda p: (p.letter, round(p.outline.bounds[1] * 4), p.outline.bounds[0]))
    return ScrapSheet(
        scrap_id=scrap.id,
        title=scrap.title,
        place=scrap.place,
        size=format_size(*scrap.sides, units),
        outline=affinity.rotate(scrap.outline, turn, origin=(0, 0)),
        region=affinity.rotate(cut.region, turn, origin=(0, 0)),
        flaws=tuple(affinity.rotate(flaw, turn, origin=(0, 0)) for flaw in scrap.flaws),
        grain_known=not cut.grain_assumed,
        one_way=one_way,
        swatches=tuple((s.rgb, s.share, family(s.rgb)) for s in scrap.swatches),
        reads_as=" ".join(filter(None, (scrap.shown_value, scrap.shown_family or "no colour yet"))),
        pieces=tuple(turned),
        photo=_thumbnail(store, scrap, cut_out),
        cloth=cut_out and ClothPicture(cut_out.data, cut_out.box, turn),
        notes=tuple(notes),
    )


def _thumbnail(store: Store, scrap: Scrap, cut_out: CutOutImage | None) -> bytes | None:
    """Return a small JPEG of the scrap, else of its photo; None without, or when it is gone."""
    data = cut_out.data if cut_out is not None else None
    if cut_out is None and scrap.photo is not None:
        data = store.picture(scrap.photo.file_name)
    if data is None:
        return None
    from PIL import Image, ImageOps, UnidentifiedImageError

    try:
        with Image.open(io.BytesIO(data)) as image:
            image.draft("RGB", (_PHOTO_PIXELS, _PHOTO_PIXELS))
            upright = ImageOps.exif_transpose(image).convert("RGB")
    except (OSError, UnidentifiedImageError, Image.DecompressionBombError):
        return None
    upright.thumbnail((_PHOTO_PIXELS, _PHOTO_PIXELS))
    buffer = io.BytesIO()
    upright.save(buffer, "JPEG", quality=80)
    return buffer.getvalue()


def _short(shortage: Shortage, letter: dict[str, str], units: Units) -> RoleShort:
    sources = [
        StripSource(hand_text(one, letter, units), _pictures(one.plan, letter, units))
        for one in shortage.on_hand
    ]
    if shortage.buy:
        text = " ".join([short_text(shortage, letter, units), *shortage.plan.too_long])
        sources.append(StripSource(text, _pictures(shortage.plan, letter, units)))
    wanting = ", ".join(
        f"{count} × {letter[name]} {name}" for name, count in shortage.pieces.items()
    )
    return RoleShort(
        role=shortage.role,
        buy=buy_text(shortage, units),
        wanting=f"Still to cut: {wanting}.",
        sources=tuple(sources),
    )


def _pictures(plan: RolePlan, letter: dict[str, str], units: Units) -> tuple[StripPicture, ...]:
    pictures = []
    for strip in plan.strips:
        title, text = strip_text(strip, plan, letter, units)
        rest = strip.rest
        pictures.append(
            StripPicture(
                title=title,
                text=text,
                width=plan.strip_length,
                height=strip.width,
                pieces=tuple(
                    SheetPiece(letter[run.piece], outline)
                    for run in strip.all_runs
                    for outline in run.outlines
                ),
                narrower=tuple(
                    box(rest.start, narrow.low, rest.end, narrow.low + narrow.width)
                    for narrow in rest.strips
                )
                if rest
                else (),
            )
        )
    return tuple(pictures)
