"""``finish``: from a quilted top to a cover: sizes, back and binding."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scrapstore.cli import options as o
from scrapstore.cli.base import Call, command
from scrapstore.cli.filters import StockFilters
from scrapstore.cli.finish_options import OutlineOptions, hem_of, measures_of, start_of
from scrapstore.cli.tables import Shown, stack, table
from scrapstore.errors import UsageError
from scrapstore.sentences import several

if TYPE_CHECKING:
    from collections.abc import Sequence

    from scrapstore.report.finish_text import FinishWords

__all__ = ["app"]

app = typer.Typer()


@command(app, "finish")
def finish(
    call: Call,
    outline: OutlineOptions,
    filters: StockFilters,
    name: Annotated[
        str | None,
        typer.Argument(metavar="[PROJECT.toml|PLAN]", help="The project file, or a kept plan."),
    ] = None,
    measured: Annotated[
        str | None,
        o.text_option(
            "--measured", "The quilted top as measured before trimming.", metavar="'W x H'"
        ),
    ] = None,
    trim: Annotated[
        str | None,
        o.text_option(
            "--trim", "Trim to this (else as its points and the seam ask).", metavar="'W x H'"
        ),
    ] = None,
    strip: Annotated[
        list[str] | None,
        typer.Option(
            "--strip",
            metavar="NUMBER",
            help="Binding strips as listed, such as 3-7 (else all that are available); may be "
            "repeated.",
        ),
    ] = None,
    finished_width: Annotated[
        str | None,
        o.text_option("--finished-width", "How wide the binding finishes.", metavar="LENGTH"),
    ] = None,
    seam: Annotated[
        str | None,
        o.text_option("--seam", "The seam of the binding, also of its joins.", metavar="LENGTH"),
    ] = None,
    bias: Annotated[
        bool, typer.Option("--bias", help="Strips that lack are cut on the bias.")
    ] = False,
    clearance: Annotated[
        str,
        o.text_option("--clearance", "How far off corners joins should be.", metavar="LENGTH"),
    ] = "2 in",
    hem: Annotated[
        list[str] | None,
        typer.Option(
            "--hem",
            metavar="'SIDE: FROM to TO'",
            help="Lapped hems of the back, which joins keep off, from the corner before them, such "
            "as '2: 7 to 11'; may be repeated. Those of a project's back are known.",
        ),
    ] = None,
    start: Annotated[
        str | None,
        o.text_option(
            "--start",
            "Rate this start, such as 'side 1, 3 in' (else the best is chosen).",
            metavar="'SIDE, LENGTH'",
        ),
    ] = None,
    picture: Annotated[
        Path | None,
        typer.Option(
            "--picture",
            metavar="FILE",
            help="Draw the edge and its joins: FILE.png, .jpg, .svg, .html or .pdf.",
        ),
    ] = None,
    sheet: Annotated[
        Path | None,
        typer.Option(
            "--sheet",
            metavar="FILE",
            help="Write all of it with the order of work, .html or .pdf, to print.",
        ),
    ] = None,
    set_aside: Annotated[
        bool, typer.Option("--set-aside", help="Set the strips aside for the kept plan.")
    ] = False,
    done: Annotated[
        bool,
        typer.Option("--done", help="It is bound: use up the strips set aside for the kept plan."),
    ] = False,
) -> None:
    """Tell how a quilted top is finished: trim, back, form, and whether the binding reaches.

    Name a project file or a kept plan, and measure the quilted top; or give a trimmed top by
    --size, --hexagon or --sides for the binding alone. From your binding strips it says, before
    the first stitch, which to join in which order, which ends to recut, and where to start so that
    no join lands on a corner. Where they are short it says what to cut in addition. Corner 1 is
    where the first side begins, clockwise. Nothing is changed but by --set-aside and --done.
    """
    if done:
        _done(call, name)
        return
    typed_outline = outline.read(call, name)
    if picture is not None:
        from scrapstore.report.picture_file import checked_picture_path

        checked_picture_path(picture)
    if sheet is not None:
        from scrapstore.report.printed_file import checked_sheet

        checked_sheet(sheet)
    numbers = o.number_list(strip or ())
    only = filters.read(call)
    from scrapstore.actions.finish import BindingAsked, TopAsked, keep_strips, plan_finish
    from scrapstore.actions.plan import project_or_plan
    from scrapstore.cli.finish_words import finish_sheet, finish_words
    from scrapstore.finishing import BindingWish
    from scrapstore.json_output.finish import finish_out
    from scrapstore.planning.back_sources import back_hems
    from scrapstore.planning.finish_needs import (
        BindingChanges,
        as_asked,
        project_sizes,
        strips_width,
    )
    from scrapstore.report.finish_sheet import write_finish_sheet

    measures = measures_of(call, measured, "--measured")
    trimmed = measures_of(call, trim, "--trim")
    wish = BindingChanges(
        seam=None if seam is None else call.length(seam, field="--seam"),
        finished_width=None
        if finished_width is None
        else call.length(finished_width, field="--finished-width"),
        bias=bias,
    )
    top = None
    hems: tuple[tuple[float, float], ...] = ()
    if typed_outline is None:
        named = project_or_plan(call.open_store, name or "", call.settings)
        project = as_asked(named.project, wish)
        sizes = project_sizes(project, call.settings, measured=measures, trim=trimmed)
        top = TopAsked(project=project, named=named, sizes=sizes)
        edge, binding, hems = sizes.trimmed, project.binding, back_hems(project, sizes)
    else:
        if measures or trimmed:
            raise UsageError("--measured and --trim go with a project or a kept plan")
        edge, binding = typed_outline, wish.of(BindingWish())
    asked = None
    if binding is not None:
        asked = BindingAsked(
            outline=edge,
            seam=binding.seam,
            finished_width=binding.finished_width,
            clearance=call.length(clearance, field="--clearance", zero=True),
            strip_width=strips_width(binding),
            hems=(*hems, *(hem_of(call, text, edge) for text in hem or ())),
            bias=binding.bias,
            start=start_of(call, start, edge),
        )
    elif start or hem or strip or bias or picture:
        msg = "--start, --hem, --strip, --bias and --picture go with a binding"
        raise UsageError(f"{msg}; this cover is turned")
    result = call.in_store(plan_finish, asked, top, only, numbers, call.settings, picture)
    kept = call.in_store(keep_strips, result, call.settings) if set_aside else None
    words = finish_words(call, result, name or "")
    if sheet is not None:
        sheet = write_finish_sheet(finish_sheet(call, result, words), sheet)
    call.show(lambda: finish_out(result, sheet), lambda: _text(words))
    for what, file in (("Picture", result.picture), ("Sheet", sheet)):
        if file is not None:
            call.say(f"{what}: {file}")
    if kept is not None:
        call.say(
            f"Set aside for {kept.name!r}: {_strips(kept.binding_ids)}. When it is bound: "
            f"scrapstore finish {kept.name!r} --done"
        )


def _done(call: Call, name: str | None) -> None:
    from scrapstore.actions.finish import use_up_strips
    from scrapstore.json_output.finish import SewnBindingOut

    if others := [option for option in call.typed if option != "--done"]:
        raise UsageError(f"--done: takes the kept plan alone; leave out {several(others)}")
    if name is None:
        raise UsageError("--done: name the kept plan that is bound")
    sewn = call.in_store(use_up_strips, name)
    rests = [strip.id for strip in sewn.rests]
    left = [f"{strip.id} ({call.shown(strip.length)})" for strip in sewn.rests]
    call.show(
        SewnBindingOut(plan=sewn.plan.name, used=list(sewn.used), rests=rests),
        lambda: (
            f"Used up for {sewn.plan.name!r}: {_strips(sewn.used)}. "
            + (
                f"Left of them, and in the store: {', '.join(left)}."
                if left
                else "Nothing is left."
            )
        ),
    )


def _strips(numbers: "Sequence[int]") -> str:
    many = "" if len(numbers) == 1 else "s"
    return f"binding strip{many} {several([str(number) for number in numbers])}"


def _text(words: "FinishWords") -> Shown:
    from rich.text import Text

    none = "None of them gives any length."
    parts: list[Shown] = [*words.first]
    if words.order:
        shown = table(words.columns, words.rows, right=("strip",), none=none)
        parts += [f"\n{words.order}", shown, "", *words.notes]
    parts += ["", *words.cautions]
    return stack(*(Text(one) if isinstance(one, str) else one for one in parts))
