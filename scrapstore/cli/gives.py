"""``gives``: which pieces scraps give for what is open."""

from collections.abc import Callable, Sequence
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scrapstore.cli.base import Call, command
from scrapstore.cli.options import number_list
from scrapstore.cli.progress import match_progress
from scrapstore.cli.tables import Shown, stack, table
from scrapstore.errors import ScrapstoreError

if TYPE_CHECKING:
    from scrapstore.actions.gives import GivesResult, Open
    from scrapstore.report.given_text import GivenPieces
    from scrapstore.store import Store

__all__ = ["app", "say_what_new_scraps_give"]


app = typer.Typer()


@command(app, "gives")
def gives(
    call: Call,
    numbers: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="NUMBER",
            help="Scraps as listed; 3-7 means 3 to 7 (else those logged or added last).",
        ),
    ] = None,
    projects: Annotated[
        list[Path] | None,
        typer.Option(
            "--for",
            metavar="PROJECT.toml",
            help="Also for this project, before all else; may be repeated.",
        ),
    ] = None,
    sheets: Annotated[
        Path | None,
        typer.Option("--sheets", metavar="FOLDER", help="Where to write cutting sheets."),
    ] = None,
    keep: Annotated[
        str | None,
        typer.Option("--keep", metavar="NAME", help="Keep it as a plan; see plan."),
    ] = None,
) -> None:
    """Tell which pieces scraps give now, while they lie on the table.

    Cloth goes first to the projects named with --for, then to kept plans that leave pieces to
    fabric you would have to buy, then to your stock list: sizes you always keep (settings set
    stock_list FILE). Nothing is cut or set aside unless --keep keeps it.
    """
    if sheets is not None:
        from scrapstore.report.folder import check_folder

        check_folder(sheets)
    wanted = number_list(numbers or ())
    with call.open_store() as store:
        from scrapstore.actions.gives import what_is_open
        from scrapstore.json_output.gives import gives_out

        opened = what_is_open(store, projects or (), call.settings)
        result = _asked(call, store, wanted, opened, stoppable=keep is None)
        page = plan = None
        if sheets is not None and result.answer is not None:
            from scrapstore.report.cutting_report import make_sheets

            page = make_sheets(store, result.answer, call.settings, sheets)[0]
        if keep is not None and result.answer is not None:
            from scrapstore.actions.plan import keep_answer
            from scrapstore.json_output.match import match_document

            document = match_document(result.answer)
            plan = keep_answer(store, result.answer, document, keep, call.settings)
    call.show(lambda: gives_out(result), lambda: _text(result))
    if plan is not None:
        from scrapstore.cli.match import kept_line

        call.say(kept_line(plan, call))
    if page is not None:
        call.say(
            f"Cutting sheets: open {page.resolve()} in a browser, "
            "or print cutting-sheets.pdf beside it."
        )
    elif plan is None and result.answer is not None:
        call.say("How to cut them: --sheets FOLDER draws it. To cut them: --keep NAME, then cut.")


def _asked(
    call: Call, store: "Store", numbers: Sequence[int], opened: "Open", *, stoppable: bool
) -> "GivesResult":
    """Return what the scraps give, with progress shown."""
    from scrapstore.actions.gives import what_scraps_give
    from scrapstore.workers import workers

    def stopping() -> None:
        call.say("Stopped: this is the best so far.")

    stop: Callable[[], None] | None = stopping if stoppable else None
    with workers() as pool, match_progress() as advance:
        return what_scraps_give(
            store, numbers, opened, settings=call.settings, stopping=stop,
            pack_all=pool.pack_all, map_all=pool.map, progress=advance,
        )  # fmt: skip


def say_what_new_scraps_give(call: Call, numbers: Sequence[int]) -> None:
    """Say in brief what scraps just logged give; nothing when nothing is open.

    They are in the store whatever happens here, so what goes wrong is said and no more.
    """
    from scrapstore.report.given_text import given_lines
    from scrapstore.store import plans

    try:
        with call.open_store() as store:
            with store.read() as reader:
                if call.settings.stock_file is None and not plans(reader):
                    return
            from scrapstore.actions.gives import what_is_open

            opened = what_is_open(store, (), call.settings)
            if not opened.wanted:
                return
            result = _asked(call, store, numbers, opened, stoppable=True)
    except ScrapstoreError as error:
        call.say(f"What they give for what is open was not found out: {error}")
        return
    for line in given_lines(numbers, opened.wanted, _listed(result)):
        call.say(line)
    if result.given:
        call.say(f"More: scrapstore gives {' '.join(map(str, numbers))}")


def _listed(result: "GivesResult") -> list["GivenPieces"]:
    return [(one.scrap.id, one.piece.name, one.wanted, one.count) for one in result.given]


def _text(result: "GivesResult") -> Shown:
    from scrapstore.report.given_text import given_lines, pieces_for

    given = _listed(result)
    scraps = {scrap.id: scrap for scrap in result.scraps}
    lines = given_lines(list(scraps), result.open.wanted, given)
    rows = [
        (str(number), scraps[number].title, scraps[number].place or "", pieces, wanted.called)
        for number, own in groupby(given, key=lambda one: one[0])
        for wanted, pieces in pieces_for(own)
    ]
    parts: list[Shown] = list(lines)
    if rows:
        parts += ["", table(("scrap", "what", "place", "pieces", "for"), rows, right=("scrap",))]
    notes = (*result.open.left_out, *(result.answer.notes if result.answer else ()))
    if notes:
        parts += ["\nMind:", *(f"  {note}" for note in notes)]
    return stack(*parts)
