"""What ``families``, ``find`` and ``piles`` share: an answer in colour, with a contact sheet."""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, TypeVar

import typer

from scrapstore.cli import options as o
from scrapstore.cli.base import Call, bundle
from scrapstore.cli.colour_blocks import show_with_blocks
from scrapstore.cli.progress import progress_bar
from scrapstore.cli.tables import Shown

if TYPE_CHECKING:
    from pydantic import BaseModel

    from scrapstore.settings import Settings
    from scrapstore.store import Store
    from scrapstore.store.scrap_colours import Coloured

__all__ = ["SheetOption", "doubt_line", "scrap_rows", "show_colours"]


_DOUBT = "A question mark: the photo leaves doubt about the family."
_Answer = TypeVar("_Answer")


@bundle
class SheetOption:
    """Whether a contact sheet is wanted, and where."""

    sheet: Annotated[
        Path | None,
        typer.Option(
            "--sheet",
            metavar="FILE",
            help="Write a contact sheet: FILE.html to read and print, .png or .svg for a picture.",
        ),
    ] = None


def show_colours(
    call: Call,
    wanted: SheetOption,
    ask: "Callable[[Store], _Answer]",
    document: "Callable[[_Answer], BaseModel]",
    text: "Callable[[Call, _Answer, bool], Shown]",
    write_sheet: "Callable[[Store, _Answer, Settings, Path, Callable[[int, int], None]], Path]",
) -> None:
    """Ask the store, write the contact sheet if it is wanted, and print the answer.

    `text` is given whether the terminal shows colours; `write_sheet` writes the contact sheet.
    """
    file = wanted.sheet
    if file is not None:  # one that cannot be written is refused before any work is done
        from scrapstore.report.contact_page import checked_sheet_path

        checked_sheet_path(file)
    with call.open_store() as store:
        answer = ask(store)
        if file is not None:
            with progress_bar("scraps cut out") as advance:
                write_sheet(store, answer, call.settings, file, advance)
    show_with_blocks(call, document(answer), lambda colour: text(call, answer, colour))
    if file is not None:
        call.say(f"Contact sheet: {file.resolve()}")


def doubt_line(scraps: "Sequence[Coloured]") -> list[str]:
    """Return what a question mark means, where one of `scraps` has it."""
    return [_DOUBT] if any(one.family_words.endswith("?") for one in scraps) else []


def scrap_rows(
    call: Call, scraps: "tuple[Coloured, ...]"
) -> tuple[
    tuple[str, ...],
    list[tuple[str, ...]],
    list[list[tuple[tuple[int, int, int], float]]],
]:
    """Return columns and rows of a table of scraps with their colours, and each row's colours."""
    from scrapstore.store.scrap_colours import called

    rows: list[tuple[str, ...]] = []
    for one in scraps:
        accents = [word for word in one.scrap.accents if word != one.family]
        rows.append(
            (
                str(one.scrap.id),
                one.looks or "none yet",
                ", ".join(accents),
                o.sides_text(call, one.scrap.sides),
                ", ".join(filter(None, (called(one.scrap), one.scrap.place))),
            )
        )
    columns = ("no.", "family", "accents", "size", "what and where")
    return columns, rows, [[(s.rgb, s.share) for s in one.scrap.swatches] for one in scraps]
