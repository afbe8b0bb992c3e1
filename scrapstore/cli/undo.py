"""``undo``: take back the last changes of the store."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Annotated, Final

import typer

from scrapstore.cli import options as o
from scrapstore.cli.base import Call, command
from scrapstore.cli.confirm_measured import at_terminal
from scrapstore.errors import NotFoundError, StoreError

if TYPE_CHECKING:
    from scrapstore.store import Change, Store

__all__ = ["app"]

_EACH: Final = 1000
"""Rows of one change looked at; a change may hold every scrap there is."""
_CUT: Final = (
    "Cloth already cut stays cut. If it is cut, correct the record instead: scrap edit, scrap add."
)

app = typer.Typer()


@command(app, "undo")
def undo(
    call: Call,
    to: Annotated[
        int | None,
        o.number_option("--to", "Take back all changes down to this number of history."),
    ] = None,
    yes: Annotated[bool, typer.Option("--yes", help="Take it back without asking.")] = False,
) -> None:
    """Take back the last change, so that the store holds what it held before; again goes further.

    You are shown what it takes back, and asked. The history keeps both: what was done, and that it
    was taken back. Cloth that is cut stays cut: then correct the record instead.
    """
    from scrapstore.actions.undo import changes_to_undo, undo_changes
    from scrapstore.json_output.stock import undo_out

    each = None if call.json else _EACH
    with call.open_store() as store:
        shown = changes_to_undo(store, to=to, each=each)
        if not yes:
            _say(call, shown)
            if not at_terminal():
                msg = "nothing was taken back, as there is no terminal to ask; to do it, add --yes"
                raise StoreError(msg)
            shown = _confirmed(call, store, shown, each)
        taken = undo_changes(store, shown) if shown else ()
    cut_note = [_CUT] if yes and _cuts(taken) else []
    lines = [f"Took back {_line(change)}" for change in taken] or ["Nothing was taken back."]
    call.show(undo_out(taken), lambda: "\n".join(lines + cut_note))


def _say(call: Call, shown: "Sequence[Change]") -> None:
    for change in shown:
        call.say(f"Takes back {_line(change)}")
    if _cuts(shown):
        call.say(_CUT)


def _cuts(changes: "Sequence[Change]") -> bool:
    from scrapstore.report.history_text import is_cutting

    return any(map(is_cutting, changes))


def _confirmed(
    call: Call, store: "Store", shown: "tuple[Change, ...]", each: int | None
) -> "tuple[Change, ...]":
    """Return what shall be taken back of what was `shown` or lies further back; () for nothing."""
    from scrapstore.actions.undo import changes_to_undo

    while True:
        try:
            answer = typer.prompt(
                "Take it back: yes, further back, or stop?", default="stop", err=True
            )
        except typer.Abort:  # Ctrl-C, or the end of what is typed
            call.say("\nstopped; nothing was taken back")
            raise KeyboardInterrupt from None
        word = answer.strip().lower()
        if word in ("yes", "y"):
            return shown
        if word in ("stop", "s", "no", "n"):
            return ()
        if word not in ("further back", "further", "f"):
            call.say("answer yes, further back, or stop")
            continue
        try:
            more = changes_to_undo(store, steps=len(shown) + 1, each=each)
        except NotFoundError:
            more = ()
        if len(more) <= len(shown):
            call.say("there is nothing further back")
            continue
        _say(call, more[len(shown) :])
        shown = (*shown, more[-1])


def _line(change: "Change") -> str:
    from scrapstore.report.history_text import visit_words

    return f"no. {change.id} ({_when(change.at.astimezone())}): {visit_words(change)}."


def _when(at: datetime) -> str:
    days = {0: "today", 1: "yesterday"}
    day = (datetime.now().astimezone().date() - at.date()) / timedelta(days=1)
    return f"{days.get(int(day), f'{at:%Y-%m-%d}')} {at:%H:%M}"
