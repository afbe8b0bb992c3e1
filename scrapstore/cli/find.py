"""``find``: scraps like a colour, a photo or a scrap; scraps that go with one."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scrapstore.cli import options as o
from scrapstore.cli.base import Call, command
from scrapstore.cli.families import (
    NO_SCRAPS,
    SHEET,
    checked_sheet,
    doubt_line,
    scrap_rows,
    told_sheet,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.console import RenderableType

    from scrapstore.actions.find import Found, GoesWith, Wanted
    from scrapstore.store import StockFilter

__all__ = ["register"]


def register(app: typer.Typer) -> None:
    """Add the command to `app`."""
    command(app, "find")(find)


def find(
    call: Call,
    like: Annotated[
        str | None,
        typer.Option(
            "--like",
            metavar="WHAT",
            help="A photo of one scrap, a scrap's number, or a colour: blue, '#2a6f77'.",
        ),
    ] = None,
    anywhere: Annotated[
        bool,
        typer.Option(
            "--anywhere", help="With --like: the colour anywhere on a scrap, as an accent too."
        ),
    ] = False,
    goes_with: Annotated[
        int | None,
        typer.Option("--goes-with", metavar="NUMBER", help="Scraps that go with this one."),
    ] = None,
    most: Annotated[
        int | None,
        typer.Option(
            "--most", metavar="N", help="At most so many (12; for --goes-with 6 a suggestion)."
        ),
    ] = None,
    sheet: SHEET = None,
    families: o.FAMILIES = None,
    fabrics: o.FABRICS = None,
    places: o.PLACES = None,
    at_least: o.AT_LEAST = None,
    statuses: o.STATUSES = None,
    from_projects: o.FROM_PROJECTS = None,
    values: o.VALUES = None,
) -> None:
    """Find scraps by colour difference, or scraps that go with one. Filters combine.

    --like lists whole cloths, the nearest in colour first. --goes-with suggests neighbouring and
    opposite hues, hues a third of the wheel apart, and its own family from light to dark.
    """
    from scrapstore.errors import UsageError

    if (like is None) == (goes_with is None):
        raise UsageError("find: give one of --like WHAT and --goes-with NUMBER")
    if anywhere and like is None:
        raise UsageError("find: --anywhere belongs to --like")
    checked_sheet(sheet)
    only = o.stock_filter(
        call,
        families=families,
        values=values,
        fabrics=fabrics,
        places=places,
        from_projects=from_projects,
        statuses=statuses,
        at_least=at_least,
    )
    if like is not None:
        _like(call, like, only, 12 if most is None else most, sheet, anywhere=anywhere)
    elif goes_with is not None:
        _goes_with(call, goes_with, only, 6 if most is None else most, sheet)
    told_sheet(call, sheet)


def _like(
    call: Call, like: str, only: "StockFilter", most: int, sheet: Path | None, *, anywhere: bool
) -> None:
    from scrapstore.actions.find import find_like
    from scrapstore.cli.colour_blocks import show_with_blocks
    from scrapstore.cli.progress import progress_bar
    from scrapstore.json_output.colours import found_out

    with call.open_store() as store:
        wanted, found = find_like(store, like, only, most=most, anywhere=anywhere)
        if sheet is not None:
            from scrapstore.actions.contact_sheets import found_sheet

            with progress_bar("scraps cut out") as advance:
                found_sheet(store, wanted, found, call.settings, sheet, advance)
    show_with_blocks(
        call, found_out(wanted, found), lambda colour: _found_text(call, wanted, found, colour)
    )


def _goes_with(call: Call, number: int, only: "StockFilter", most: int, sheet: Path | None) -> None:
    from scrapstore.actions.find import goes_with
    from scrapstore.cli.colour_blocks import show_with_blocks
    from scrapstore.cli.progress import progress_bar
    from scrapstore.json_output.colours import goes_with_out

    with call.open_store() as store:
        answer = goes_with(store, number, only, most=most)
        if sheet is not None:
            from scrapstore.actions.contact_sheets import goes_with_sheet

            with progress_bar("scraps cut out") as advance:
                goes_with_sheet(store, answer, call.settings, sheet, advance)
    show_with_blocks(
        call, goes_with_out(answer), lambda colour: _goes_with_text(call, answer, colour)
    )


def _found_text(
    call: Call, wanted: "Wanted", found: "Sequence[Found]", colour: bool
) -> "RenderableType":
    from rich.text import Text

    from scrapstore.actions.find import in_words
    from scrapstore.cli.colour_blocks import block_table, blocks
    from scrapstore.cli.tables import stack

    columns, rows, colours = scrap_rows(call, tuple(one.one for one in found))
    rows = [(in_words(one.distance), *row) for one, row in zip(found, rows, strict=True)]
    head = Text(f"Like {wanted.said} ({wanted.words})")
    if colour:
        head = blocks([(s.rgb, s.share) for s in wanted.swatches]) + Text(" ") + head
    if not found:
        return stack(head, Text(f"No scrap with a photo to compare. {NO_SCRAPS}"))
    return stack(
        head,
        Text(""),
        block_table(
            ("how near", *columns),
            rows,
            colours if colour else None,
            right=("no.", "size"),
        ),
        *doubt_line([one.one for one in found]),
    )


def _goes_with_text(call: Call, answer: "GoesWith", colour: bool) -> "RenderableType":
    from rich.text import Text

    from scrapstore.cli.colour_blocks import block_table
    from scrapstore.cli.tables import stack
    from scrapstore.colour import HUELESS
    from scrapstore.store.scrap_colours import called

    start = answer.start
    words = " ".join(filter(None, (start.value, start.family)))
    parts: list[RenderableType] = [
        Text(f"What goes with scrap {start.scrap.id}: {called(start.scrap)}, {words}")
    ]
    if not start.photographed:
        parts.append(Text("It has no photo: it counts with the usual colour of its family."))
    for one in answer.together:
        columns, rows, colours = scrap_rows(call, one.members)
        parts += [
            Text(f"\n{one.relation.capitalize()}: {one.reason}"),
            block_table(columns, rows, colours if colour else None, right=("no.", "size")),
        ]
    if not answer.together:
        plain = start.family in HUELESS
        parts.append(
            Text(
                "It has no hue to go by, and no other scrap of its family lies a step lighter or "
                "darker."
                if plain
                else "No other scrap here goes with it."
            )
        )
    parts += doubt_line([one for each in answer.together for one in each.members])
    return stack(*parts)
