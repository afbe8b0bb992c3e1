"""``history``: what was changed, newest first."""

import json
from typing import TYPE_CHECKING, Annotated, Any

import typer

from scrapstore.cli import options as o
from scrapstore.cli.base import Call, command
from scrapstore.cli.tables import Shown, table
from scrapstore.errors import UsageError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from scrapstore.store import Change, ChangedRow

__all__ = ["app"]

_WIDEST = 40
_EACH, _MORE = 1000, 25  # rows of one change looked at; a change may hold every scrap there is
_NAMED = ("name", "label", "original_name")
_NO_CHANGES = "Nothing of that was ever changed. To begin: scrapstore log PHOTO, or scrap add."
_UNTOLD = ("file_name", "sha256")


app = typer.Typer()


@command(app, "history")
def history(
    call: Call,
    of: Annotated[
        str | None,
        typer.Argument(
            metavar="WHAT", help="One thing, such as 'scrap 12', 'fabric 3' or 'ready 2'."
        ),
    ] = None,
    most: Annotated[
        int,
        o.number_option("--most", "How many changes at most.", most=1_000_000),
    ] = 20,
    details: Annotated[
        bool, typer.Option("--details", help="Every field, before and after.")
    ] = False,
) -> None:
    """Show what was changed and when, newest first: a line for each visit to the store."""
    from scrapstore.json_output.stock import history_out

    kind, number = _thing(of)
    with call.open_store() as store, store.read() as reader:
        each = None if call.json else _MORE if details else _EACH
        changes = reader.history(most=most, kind=kind, number=number, each=each)
    call.show(
        lambda: history_out(changes),
        lambda: _details(changes) if details else _lines(changes),
    )


def _thing(text: str | None) -> tuple[Any, int | None]:
    from scrapstore.store import row_number

    if text is None:
        return None, None
    kinds = {
        "scrap": "scrap",
        "fabric": "fabric",
        "photo": "photo",
        "yardage": "yardage",
        "ready": "ready-cut",
        "ready-cut": "ready-cut",
        "binding": "binding",
        "batting": "notion",
        "form": "notion",
        "zip": "notion",
        "crumbs": "crumbs",
        "plan": "plan",
        "lens": "lens",
    }
    word, _, typed = text.strip().lower().partition(" ")
    number = row_number(typed)
    if word not in kinds or (typed and number is None):
        msg = f"history: cannot read {text!r}; write a kind ({', '.join(kinds)}) and its number"
        raise UsageError(msg)
    return kinds[word], number


def _when(change: "Change") -> str:
    return change.at.astimezone().strftime("%Y-%m-%d %H:%M")


def _lines(changes: "tuple[Change, ...]") -> Shown:
    from scrapstore.report.history_text import taken_back, visit_words

    rows = [
        (str(change.id), _when(change), f"{visit_words(change)}{taken_back(change)}")
        for change in changes
    ]
    return table(("no.", "when", "what"), rows, right=("no.",), none=_NO_CHANGES)


def _details(changes: "tuple[Change, ...]") -> Shown:
    from scrapstore.report.history_text import thing_words

    rows = []
    for change in changes:
        for at, row in enumerate(change.rows):
            first = (str(change.id), _when(change), _what(change)) if at == 0 else ("", "", "")
            rows.append((*first, thing_words(row), _difference(row)))
        if change.more:
            rows.append(("", "", "", f"and {change.more:,} more", "all of them with --json"))
    columns = ("no.", "when", "what", "thing", "before → after")
    return table(columns, rows, right=("no.",), none=_NO_CHANGES)


def _what(change: "Change") -> str:
    from scrapstore.report.history_text import taken_back

    return f"{change.what}{taken_back(change)}"


def _difference(row: "ChangedRow") -> str:
    if row.before is None:
        named = [str(row.after[key]) for key in _NAMED if row.after and row.after.get(key)]
        return "added" + (f": {named[0]}" if named else "")
    if row.after is None:
        return "taken out"
    return "; ".join(_changed_fields(row.before, row.after))


def _changed_fields(before: Any, after: Any) -> "Iterator[str]":
    from scrapstore.report.history_text import field_name

    for key in after:
        old, new = before.get(key), after[key]
        if old != new and key not in _UNTOLD:
            yield f"{field_name(key)}: {_short(old)} → {_short(new)}"


def _short(value: Any) -> str:
    if value in (None, "", []):
        return "–"
    if isinstance(value, dict) and "coordinates" in value:
        return "outline"
    text = value if isinstance(value, str) else json.dumps(value)
    return text if len(text) <= _WIDEST else text[: _WIDEST - 1] + "…"
