"""``stocktake``: what lies in a place, beside what the store says."""

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scrapstore.cli import options as o
from scrapstore.cli.base import Call, command
from scrapstore.cli.confirm_measured import at_terminal
from scrapstore.cli.tables import Shown, stack, table
from scrapstore.errors import StoreError, UsageError

if TYPE_CHECKING:
    from scrapstore.actions.stocktake import Stocktake
    from scrapstore.store import Scrap

__all__ = ["app"]


app = typer.Typer()


@command(app, "stocktake")
def stocktake(
    call: Call,
    place: Annotated[str, typer.Argument(metavar="PLACE", help="As scraps have it: 'blue tin'.")],
    there: Annotated[
        str | None,
        typer.Option("--there", metavar="NUMBERS", help="What is there: '3,5,7-9'; '' is nothing."),
    ] = None,
    photos: Annotated[
        list[Path] | None,
        typer.Option(
            "--photo", metavar="PHOTO", help="What is there, by its labels; may be repeated."
        ),
    ] = None,
    yes: Annotated[
        bool, typer.Option("--yes", help="Record what is there as there without asking.")
    ] = False,
) -> None:
    """Go through a place: tick what is there, and see what is not, and what belongs elsewhere.

    Without --there and --photo it lists what should be there and asks for numbers. What turned up
    though it is recorded elsewhere, or as used up, is put right on a yes, in one change that undo
    takes back. What is missing stays recorded: look for it, then move or retire it.
    """
    from scrapstore.actions import stocktake as actions
    from scrapstore.json_output.stocktake import stocktake_out

    with call.open_store() as store:
        ticked = o.number_list([there or ""])
        if photos:
            ticked += actions.ticked_in_photos(store, photos)
        elif there is None:
            expected = actions.expected_in(store, place)
            if not at_terminal():
                msg = "stocktake: nothing says what is there; give --there NUMBERS or --photo PHOTO"
                raise UsageError(msg)
            _list_expected(call, place, expected)
            ticked = _ask_numbers(call)
        taken = actions.take_stock(store, place, ticked)
        change = bool(taken.to_change) and (yes or (at_terminal() and _agreed(call, taken)))
        changed = actions.put_right(store, taken) if change else ()
    call.show(lambda: stocktake_out(taken, changed), lambda: _text(call, taken, changed))
    if taken.to_change and not changed:
        msg = "nothing was changed"
        if not at_terminal():
            msg += ", as there is no terminal to ask; to record what is there, add --yes"
        raise StoreError(msg)


def _list_expected(call: Call, place: str, expected: "Iterable[Scrap]") -> None:
    for scrap in expected:
        call.say(f"  {_line(call, scrap)}")
    call.say(f"This is what is recorded in {place}. Which are there?")


def _ask_numbers(call: Call) -> list[int]:
    """Ask for numbers until an empty line; all may stand on one."""
    ticked: list[int] = []
    while True:
        try:
            answer = typer.prompt("Numbers (nothing more: Enter)", default="", show_default=False,
                                  err=True)  # fmt: skip
        except typer.Abort:  # Ctrl-C, or the end of what is typed
            call.say("\nstopped; nothing was changed")
            raise KeyboardInterrupt from None
        if not answer.strip():
            return ticked
        try:
            ticked += o.number_list([answer])
        except UsageError as error:
            call.say(str(error))


def _agreed(call: Call, taken: "Stocktake") -> bool:
    for sentence in _offers(call, taken):
        call.say(sentence)
    try:
        answer = typer.prompt("Record this: yes or no?", default="no", err=True)
    except typer.Abort:
        call.say("\nstopped; nothing was changed")
        raise KeyboardInterrupt from None
    return answer.strip().lower() in ("yes", "y")


def _offers(call: Call, taken: "Stocktake") -> Iterable[str]:
    for scrap in taken.elsewhere:
        came = f"from {scrap.place}" if scrap.place else "which has no place noted"
        yield f"Move to {taken.place}, {came}: {_line(call, scrap)}"
    for scrap in taken.used_up:
        yield f"Bring back, recorded as used up, into {taken.place}: {_line(call, scrap)}"


def _line(call: Call, scrap: "Scrap") -> str:
    words = (o.sides_text(call, scrap.sides), scrap.shown_family or "", scrap.title)
    return f"no. {scrap.id}: {', '.join(word for word in words if word)}"


def _text(call: Call, taken: "Stocktake", changed: "tuple[Scrap, ...]") -> Shown:
    parts = (
        ("here", taken.here, "as recorded"),
        ("not here", taken.missing, "recorded here"),
        ("elsewhere", taken.elsewhere, ""),
        ("used up", taken.used_up, ""),
    )
    now = {scrap.id for scrap in changed}
    rows: list[tuple[str, ...]] = []
    for word, scraps, what in parts:
        for scrap in scraps:
            said = what or (f"recorded in {scrap.place}" if scrap.place else "no place noted")
            if scrap.status == "used up":
                said = "recorded as used up"
            if scrap.id in now:
                said += f"; now in {taken.place}"
            size = o.sides_text(call, scrap.sides)
            rows.append((word, str(scrap.id), size, scrap.title, said))
    rows += [("cut up", str(number), "", "", reason) for number, reason in taken.cut_up]
    rows += [("unknown", str(number), "", "", "no scrap has it") for number in taken.unknown]
    count = f"{taken.place}: {len(taken.here)} here, {len(taken.missing)} not here"
    more = (
        (len(taken.elsewhere), "recorded elsewhere"), (len(taken.used_up), "used up"),
        (len(taken.cut_up), "cut up"), (len(taken.unknown), "unknown"),
    )  # fmt: skip
    count += "".join(f", {number} {word}" for number, word in more if number)
    lines = [count]
    if taken.missing:
        lines.append("Look for what is not here; then scrap edit NUMBER --place, or scrap retire.")
    return stack(table(("", "no.", "size", "what", ""), rows, right=("no.", "size")), *lines)
