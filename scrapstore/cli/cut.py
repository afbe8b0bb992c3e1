"""``cut``: book what was cut of a kept plan."""

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scrapstore.cli import options as o
from scrapstore.cli.base import Call, command
from scrapstore.cli.tables import Shown, stack, table
from scrapstore.errors import LengthError, PlanError, ShapeError, UsageError
from scrapstore.units import format_area, format_cut

if TYPE_CHECKING:
    from scrapstore.actions.cut import CutPreview, CutResult
    from scrapstore.planning.cut_request import CutRequest, PlannedCut
    from scrapstore.planning.cut_sources import CutSource
    from scrapstore.store import NewScrap, Store

__all__ = ["app"]

_BEFORE = (
    "Pressed? Squared up? Then cut. Mind the blade: close the rotary cutter after each cut; the "
    "makers' instructions come first."
)


app = typer.Typer()


@command(app, "cut")
def cut(
    call: Call,
    name: Annotated[str, typer.Argument(metavar="PLAN", help="Its name or number.")],
    scraps: Annotated[
        list[str] | None,
        typer.Option("--scrap", metavar="NUMBER", help="Only this scrap; may be repeated."),
    ] = None,
    lengths: Annotated[
        list[str] | None,
        typer.Option("--length", metavar="NUMBER", help="Only strips of this length."),
    ] = None,
    strips: Annotated[
        list[str] | None,
        typer.Option("--strip", metavar="LABEL", help="Only the strip that gives this piece."),
    ] = None,
    spoilt: Annotated[
        list[str] | None,
        typer.Option(
            "--spoilt",
            metavar="'LABEL …'",
            help="Pieces that were spoilt: 'A3, B1'; 'A3 1/4 right' is 1/4 short at its right edge "
            "as drawn.",
        ),
    ] = None,
    not_cut: Annotated[
        list[str] | None,
        typer.Option("--not", metavar="LABELS", help="Pieces that were not cut: 'C2, C5'."),
    ] = None,
    leave_out: Annotated[
        list[str] | None,
        typer.Option("--leave-out", metavar="LETTERS", help="Offcuts not worth keeping: 'a, c'."),
    ] = None,
    offcuts: Annotated[
        list[str] | None,
        typer.Option(
            "--offcut",
            metavar="'LETTER: W x H'",
            help="What an offcut really measures: 'a: 9 x 3'.",
        ),
    ] = None,
    again: Annotated[
        bool,
        typer.Option("--again", help="Only pieces that were spoilt or not cut, from other cloth."),
    ] = False,
    yes: Annotated[bool, typer.Option("--yes", help="Book it without asking.")] = False,
    previews: Annotated[
        Path | None,
        typer.Option(
            "--previews", metavar="FOLDER", help="Where the picture goes (else in the store)."
        ),
    ] = None,
) -> None:
    """Book what was cut of a kept plan: all that is left of it, or what you name.

    Pieces become ready-cut pieces set aside for the project, a scrap is used up, lengths get
    shorter, and what the cuts leave of a scrap goes back into the store as an offcut, unless it is
    nowhere as wide as the setting smallest_offcut. A picture shows it first; nothing is booked
    before a yes. For pieces that were spoilt or not cut, the next best place is sought: first the
    offcuts of the same fabric, then the store, then yardage. A piece that is booked as cut and was
    spoilt since is said in a call of its own.
    """  # fmt: skip
    from scrapstore.actions.cut import book_cut, look_at_cut
    from scrapstore.cli.confirm_measured import at_terminal
    from scrapstore.cli.cut_words import labels_in, letters_in, spoilt_in, typed_offcuts
    from scrapstore.json_output.cut import cut_out
    from scrapstore.planning.cut_request import CutRequest

    request = CutRequest(
        scraps=o.number_list(scraps or ()),
        lengths=o.number_list(lengths or ()),
        strips=labels_in(strips or (), field="--strip"),
        spoilt=spoilt_in(spoilt or (), call.settings),
        not_cut=labels_in(not_cut or (), field="--not"),
        leave_out=letters_in(leave_out or ()),
        typed=typed_offcuts(offcuts or (), call.settings),
        again=again,
        units=call.units,
    )
    booked = None
    with call.open_store() as store:
        preview = look_at_cut(store, name, request, call.settings)
        if previews is None:
            store.refuse_read_only()
        folder = previews or store.folder / "previews"
        picture = _draw(call, preview, folder)
        if not yes and at_terminal():
            agreed = _asked(call, store, preview, folder)
            if agreed is None and not call.json:
                raise PlanError("nothing is booked")
            preview, yes = agreed or preview, agreed is not None
        if yes:
            booked = book_cut(store, preview, call.settings)
        call.show(
            lambda: cut_out(preview, booked, picture),
            lambda: (
                _preview_text(call, preview, picture)
                if booked is None
                else _booked_text(call, booked)
            ),
        )
        if booked is not None:
            _seek_again(call, store, booked)
    if booked is None:
        raise PlanError("nothing is booked; when it is cut so, give the same command with --yes")


def _seek_again(call: Call, store: "Store", booked: "CutResult") -> None:
    """Say where pieces that were spoilt or not cut are best cut once more, and draw it."""
    from scrapstore.actions.cut import look_at_cut
    from scrapstore.planning.cut_request import CutRequest
    from scrapstore.report.cutting_report import make_sheets

    if not booked.lost:
        return
    name = booked.preview.plan.name
    try:
        preview = look_at_cut(store, name, CutRequest(again=True), call.settings)
    except PlanError as error:
        call.say(f"To cut once more: {error}")
        return
    for cut in preview.cuts:
        place = f", kept in {cut.source.cloth.place}" if cut.source.cloth.place else ""
        cloth = _called(call, cut.source)
        call.say(f"Best cut once more: {_gives(cut)} from {cloth}{place}")
    for sentence in preview.advice:
        call.say(sentence)
    folder = store.folder / "previews" / f"again-{preview.plan.id}"
    for number, answer in enumerate(preview.replacements, start=1):
        files = make_sheets(store, answer, preview.settings, folder / f"{number}")
        call.say(f"How to cut it: open {files[0]} in a browser")
    call.say(f"When it is cut: cut {name!r} --again")


def _draw(call: Call, preview: "CutPreview", folder: Path) -> Path | None:
    """Draw what is cut; nothing where pieces were only spoilt since."""
    from scrapstore.report.after_cut_picture import after_cut_picture
    from scrapstore.store.files import write_whole

    if not preview.cuts:
        return None
    picture = folder / f"cut-{preview.plan.id}.png"
    write_whole(picture, after_cut_picture(preview.cuts, call.units))
    return picture


def _asked(call: Call, store: "Store", preview: "CutPreview", folder: Path) -> "CutPreview | None":
    """Show what would be booked and ask, until it is agreed or broken off."""
    from rich.console import Console

    from scrapstore.actions.cut import look_at_cut
    from scrapstore.cli.cut_words import amended

    console = Console(stderr=True, highlight=False, markup=False, emoji=False, color_system=None)
    shown = True
    while True:
        if shown:
            console.print(_preview_text(call, preview, _draw(call, preview, folder)))
        try:
            answer = typer.prompt(
                "Is it cut so? yes, no, or what went otherwise "
                "(spoilt A3 1/4 right; not C2; only 4; without a; a: 9 x 3)",
                default="no", err=True,
            )  # fmt: skip
        except typer.Abort:  # Ctrl-C, or the end of what is typed
            call.say("\nstopped; nothing is booked")
            raise KeyboardInterrupt from None
        if answer.strip().lower() in ("yes", "y"):
            return preview
        if answer.strip().lower() in ("no", "n", "none"):
            return None
        shown = False
        try:
            request: CutRequest = amended(preview.request, answer, call.settings)
            preview = look_at_cut(store, preview.plan.name, request, call.settings)
            shown = True
        except (LengthError, ShapeError, UsageError) as error:
            call.say(str(error))


def _preview_text(call: Call, preview: "CutPreview", picture: Path | None) -> Shown:
    if picture is None:
        return f"Of {preview.plan.name!r}, cut already: {_spoilt_text(call, preview.spoilt_since)}"
    fetch = table(
        ("fetch", "from", "pieces"),
        [(_called(call, one), one.cloth.place or "", _pieces(one)) for one in preview.fetched],
    )
    left = table(
        ("cut", "gives", "what stays of it", "waste"),
        [(_called(call, one.source), _gives(one), _stays(call, one), _area(call, one.waste_area))
         for one in preview.cuts],
        right=("waste",),
    )  # fmt: skip
    parts: list[Shown] = [
        f"To fetch for {preview.plan.name!r}, by place, largest pieces first:",
        fetch,
        f"{_BEFORE}\n",
        left,
        _together(call, preview),
        f"Drawn in {picture}",
    ]
    return stack(*parts)


def _together(call: Call, preview: "CutPreview") -> str:
    pieces = sum(len(after.pieces) for cut in preview.cuts for after in cut.after)
    kept = sum(one.kept for cut in preview.cuts for one in cut.offcuts)
    smallest = format_cut(preview.settings.smallest_offcut, call.units)
    later = sum(len(source.labels) for source in preview.later)
    words = (
        f"Together {_count(pieces, 'piece')}; {_count(kept, 'offcut')} "
        f"{'goes' if kept == 1 else 'go'} back into the store. Waste is what is nowhere {smallest} "
        "wide (setting smallest_offcut)."
    )
    return words + (f" Still to cut after it: {_count(later, 'piece')}." if later else "")


def _called(call: Call, source: "CutSource") -> str:
    if source.scrap is not None:
        scrap = source.scrap
        return f"scrap {scrap.id} {scrap.title}, {o.sides_text(call, scrap.sides)}"
    if source.ready is not None:
        from scrapstore.shapes import label_in

        taken, lot = _count(source.ready.taken, "piece"), source.ready.lot
        return f"{taken} of ready-cut no. {lot.id}, {label_in(lot, call.units)}"
    assert source.length is not None
    inches = format_cut(source.inches, call.units, 1 / 16)
    return f"{inches} of length {source.length.id} {source.length.fabric.name}"


def _pieces(source: "CutSource") -> str:
    """Return the labels, runs of them short."""
    from scrapstore.report.ruler_words import labels_text

    if source.ready is not None:
        return f"{source.ready.count} {source.ready.need} {source.ready.cut_up}".rstrip()
    return labels_text(source.labels)


def _gives(cut: "PlannedCut") -> str:
    from scrapstore.report.ruler_words import labels_text

    words = [] if cut.source.ready is None else [_pieces(cut.source)]
    for after in cut.after:
        words += [labels_text([piece.label for piece in after.pieces])] if after.pieces else []
        words += [f"{label} spoilt" for label in after.spoilt]
        words += [f"{label} not cut" for label in after.not_cut]
    return ", ".join(words)


def _stays(call: Call, cut: "PlannedCut") -> str:
    if cut.untouched:
        return "all of it, and free again"
    words = []
    for one in cut.offcuts:
        size = o.outline_text(call, one.typed or one.outline, one.size)
        words.append(f"{one.letter}: {size}" + ("" if one.kept else " (left out)"))
    return "; ".join(words) or "nothing"


def _area(call: Call, inches: float) -> str:
    return format_area(inches, call.units) if inches > 0 else ""


def _count(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"


def _spoilt_text(call: Call, spoilt: "Mapping[str, NewScrap]") -> str:
    from scrapstore.sentences import several

    sizes = [f"{label}, {o.sides_text(call, _sides(one))}" for label, one in spoilt.items()]
    return f"{several(sizes)}: spoilt, so no longer a ready-cut piece but a scrap."


def _sides(scrap: "NewScrap") -> tuple[float, float]:
    left, bottom, right, top = scrap.outline.bounds
    return right - left, top - bottom


def _booked_text(call: Call, booked: "CutResult") -> Shown:
    from scrapstore.shapes import label_in

    preview = booked.preview
    if not preview.cuts:
        numbers = ", ".join(f"scrap {one.id}" for one in booked.spoilt.values())
        return f"Booked of {preview.plan.name!r}: {_spoilt_text(call, booked.spoilt)} ({numbers})"
    pieces = table(
        ("ready no.", "pieces", "fabric"),
        [(str(lot.id), f"{lot.count} × {label_in(lot, call.units)}",
          lot.fabric.name if lot.fabric else "")
         for lot in booked.lots],
        right=("ready no.",),
    )  # fmt: skip
    scraps = table(
        ("scrap", "what", "size", "place"),
        [(str(one.id), f"offcut of {one.parent_id}" if one.parent_id else "from yardage",
          o.outline_text(call, one.outline, one.sides), one.place or "")
         for one in booked.offcuts]
        + [(str(one.id), f"{label}, spoilt", o.outline_text(call, one.outline, one.sides),
            one.place or "")
           for label, one in booked.spoilt.items()],
        right=("scrap",),
    )  # fmt: skip
    return stack(
        f"Booked of {preview.plan.name!r}; set aside for it now:", pieces, scraps,
        _together(call, preview),
    )  # fmt: skip
