"""Measured scraps on a terminal: the table of what was found, and the question what to keep."""

import sys
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

from scrapstore.cli import options as o
from scrapstore.cli.base import Call
from scrapstore.cli.tables import table
from scrapstore.errors import ShapeError, UsageError
from scrapstore.printable import printable
from scrapstore.units import format_cut

if TYPE_CHECKING:
    from scrapstore.photo import MeasuredScrap
    from scrapstore.stock_entry.measured import Chooser, Draft
    from scrapstore.stock_entry.notes import ToMeasure
    from scrapstore.store import NewFabric

__all__ = ["at_terminal", "confirm_on_terminal", "numbers_kept", "typed_notes", "uncertainty_text"]


def at_terminal() -> bool:
    """Tell whether somebody sits at a terminal."""
    return sys.stdin.isatty() and sys.stderr.isatty()


def typed_notes(
    call: Call,
    paths: Sequence[Path],
    *,
    fields: Mapping[str, Any],
    fabric: "NewFabric | None",
    grain: str | None,
    leave_out: str | None,
    typed: Iterable[str],
) -> "ToMeasure":
    """Return what was typed on the call for photos to be measured.

    Raises UsageError when scraps are named by number and there is more than one photo, ShapeError
    and LengthError for a size that cannot be read.
    """
    from scrapstore.photo.picture import photos_in
    from scrapstore.stock_entry.notes import Noted, ToMeasure
    from scrapstore.stock_entry.size_list import listed_numbers
    from scrapstore.stock_entry.sizes import typed_size
    from scrapstore.store import row_number

    scraps: dict[int, Noted] = {}
    for text in typed:
        said, colon, size = text.partition(":")
        number = row_number(said)
        if not colon or number is None:
            msg = f"--typed: cannot read {text!r}; write the number and the size: '3: 9 x 6'"
            raise ShapeError(msg)
        typed_as = typed_size({"size": size}, None, call.settings, default_unit=call.units)
        scraps[number] = Noted(typed=typed_as)
    without = listed_numbers(leave_out or "", field="--leave-out")
    if (scraps or without) and len(photos_in(paths)) > 1:
        msg = "numbers of scraps are those of one photo; log it alone, or list it in scraps.toml"
        raise UsageError(msg)
    return ToMeasure(
        all_scraps=Noted(fields=fields, fabric=fabric, grain=grain),
        scraps=scraps,
        leave_out=without,
    )


def confirm_on_terminal(call: Call, shown: set[tuple[Path, str]]) -> "Chooser":
    """Return what shows a measured photo on the terminal and asks which scraps to keep.

    All of it is on standard error: standard output is for the result. The sentences about a photo
    that are said before the question go into `shown`.
    """

    def choose(draft: "Draft") -> tuple[int, ...]:
        from rich.console import Console

        console = Console(
            stderr=True, highlight=False, markup=False, emoji=False, color_system=None
        )
        console.print(printable(f"{draft.path.name}:"))
        console.print(_table(call, draft))
        for sentence in draft.notes:
            call.say(sentence)
            shown.add((draft.path, sentence))
        call.say(f"Outlines and numbers are drawn in {draft.picture}")
        while True:
            try:
                answer = typer.prompt("Keep all, none, or leave out which (such as 2,4)?",
                                      default="all", err=True)  # fmt: skip
            except typer.Abort:  # Ctrl-C, or the end of what is typed
                call.say(f"\nstopped; nothing of {draft.path.name} was logged")
                raise KeyboardInterrupt from None
            try:
                return numbers_kept(answer, draft.offered)
            except UsageError as error:
                call.say(str(error))

    return choose


def numbers_kept(answer: str, offered: Sequence[int]) -> tuple[int, ...]:
    """Return the numbers that an answer keeps: ``all``, ``none``, or which to leave out.

    Raises UsageError for an answer that says neither.
    """
    from scrapstore.stock_entry.size_list import listed_numbers

    plain = answer.strip().lower().removeprefix("leave out").strip()
    if plain in ("all", "keep all", "yes", "y"):
        return tuple(offered)
    if plain in ("none", "no", "n"):
        return ()
    without = listed_numbers(plain, field="answer")
    strange = sorted(without - set(offered))
    if strange or not without:
        msg = f"there is no number {strange[0]} to leave out" if strange else "nothing was said"
        raise UsageError(f"{msg}; answer all, none, or numbers such as 2,4")
    return tuple(number for number in offered if number not in without)


def uncertainty_text(call: Call, inches: float) -> str:
    """Return how far an outline may be off, rounded up to 1/64 in or 1 mm; nothing for none."""
    return format_cut(inches, call.units, 1 / 64) if inches else ""


def _table(call: Call, draft: "Draft") -> Any:

    rows = [
        _row(call, number, draft.reading.scraps[number - 1], draft.said.of(number).typed)
        for number in draft.offered
    ]
    columns = ("no.", "size", "±", "family", "accents", "value", "grain, as a guess")
    return table(columns, rows, right=("no.", "size"))


def _row(call: Call, number: int, scrap: "MeasuredScrap", typed: Any) -> tuple[str, ...]:
    from scrapstore.colour import reads_as, tint_words, tints
    from scrapstore.shapes import bounding_sides, sides_as_drawn

    read = reads_as(scrap.swatches)
    outline = scrap.outline if typed is None else typed.outline
    sides = sides_as_drawn(*bounding_sides(outline), outline.bounds)
    grain = scrap.grain_suggestion_deg
    return (
        str(number),
        o.sides_text(call, sides),
        "typed" if typed is not None else uncertainty_text(call, scrap.uncertainty),
        ", ".join(
            filter(None, (read.family, tint_words(tints([read.family], [read.lead_lab])[0])))
        ),
        ", ".join(read.accents),
        read.value,
        "" if grain is None else f"{grain:.0f}° along the longest edge",
    )
