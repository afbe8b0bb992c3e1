"""``families``: the store by colour family; learning from what the user corrected."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

import typer

from scrapstore.cli import options as o
from scrapstore.cli.base import Call, command

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.console import RenderableType
    from rich.text import Text

    from scrapstore.actions.families import Grouped, Learned
    from scrapstore.store import StockFilter
    from scrapstore.store.scrap_colours import Coloured

__all__ = [
    "NO_SCRAPS",
    "SHEET",
    "checked_sheet",
    "doubt_line",
    "register",
    "scrap_rows",
    "told_sheet",
]

NO_SCRAPS = (
    "There is no such scrap. If the store has none at all yet: scrapstore log PHOTO, or scrap add."
)

DOUBT = "A question mark: the photo leaves doubt about the family."

_WARMTHS: Final = ("warm", "cool")

SHEET = Annotated[
    Path | None,
    typer.Option(
        "--sheet",
        metavar="FILE",
        help="Write a contact sheet: FILE.html to read and print, .png or .svg for a picture.",
    ),
]


def register(app: typer.Typer) -> None:
    """Add the command to `app`."""
    command(app, "families")(families)


def families(
    call: Call,
    sheet: SHEET = None,
    scraps: Annotated[
        bool, typer.Option("--scraps", help="List every scrap, along the hue circle.")
    ] = False,
    learn: Annotated[
        bool,
        typer.Option("--learn", help="Show which families would change by your corrections."),
    ] = False,
    forget: Annotated[
        bool,
        typer.Option(
            "--forget", help="Show which families and accents would go back to the photos'."
        ),
    ] = False,
    apply: Annotated[
        bool, typer.Option("--apply", help="With --learn or --forget: make these changes.")
    ] = False,
    keep: Annotated[bool, typer.Option("--keep", hidden=True)] = False,
    wanted: o.FAMILIES = None,
    fabrics: o.FABRICS = None,
    places: o.PLACES = None,
    at_least: o.AT_LEAST = None,
    statuses: o.STATUSES = None,
    from_projects: o.FROM_PROJECTS = None,
    values: o.VALUES = None,
) -> None:
    """Group scraps by colour family, with values and warm and cool. Filters combine.

    With --learn, scraps that look like those whose family you corrected would take your word;
    --forget takes that back. Nothing changes without --apply, and what you corrected yourself never
    changes.
    """
    from scrapstore.errors import UsageError

    if learn and forget:
        raise UsageError("--learn and --forget are opposites; give one of the two")
    apply = apply or keep  # its earlier name
    if apply and not (learn or forget):
        raise UsageError("--apply makes what was learned hold; write families --learn --apply")
    if (learn or forget) and (sheet is not None or scraps):
        msg = "--learn and --forget show changes only; leave --sheet and --scraps for another call"
        raise UsageError(msg)
    only = o.stock_filter(
        call,
        families=wanted,
        values=values,
        fabrics=fabrics,
        places=places,
        from_projects=from_projects,
        statuses=statuses,
        at_least=at_least,
    )
    if learn or forget:
        _learn(call, only, forget=forget, apply=apply)
    else:
        _group(call, only, sheet, list_scraps=scraps)


def _group(call: Call, only: "StockFilter", sheet: Path | None, *, list_scraps: bool) -> None:
    from scrapstore.actions.families import group_by_family
    from scrapstore.cli.colour_blocks import show_with_blocks
    from scrapstore.cli.progress import progress_bar
    from scrapstore.json_output.colours import families_out

    checked_sheet(sheet)
    with call.open_store() as store:
        grouped = group_by_family(store, only)
        if sheet is not None:
            from scrapstore.actions.contact_sheets import families_sheet

            with progress_bar("scraps cut out") as advance:
                families_sheet(store, grouped, call.settings, sheet, advance)
    text = _scraps_text if list_scraps else _families_text
    show_with_blocks(call, families_out(grouped), lambda colour: text(call, grouped, colour))
    told_sheet(call, sheet)


def _learn(call: Call, only: "StockFilter", *, forget: bool, apply: bool) -> None:
    from scrapstore.actions.families import forget_families, keep_learned, learn_families
    from scrapstore.json_output.colours import learned_out

    what = "families forget" if forget else "families learn"
    with call.open_store() as store:
        learned = forget_families(store, only) if forget else learn_families(store, only)
        kept = keep_learned(store, learned, what=what) if apply and learned else ()
    call.show(learned_out(learned, kept), lambda: _learned_text(learned, forget=forget))
    if apply and learned:
        call.say(f"Changed: {_count(len(kept))}.")
        if len(kept) < len(learned):
            left = _count(len(learned) - len(kept))
            call.say(f"Left alone: {left}; a kept plan holds them, or they were changed meanwhile.")
    elif learned:
        call.say("Nothing is changed yet; add --apply to change it.")


def checked_sheet(sheet: Path | None) -> None:
    """Refuse a contact sheet that cannot be written, before any work is done."""
    if sheet is not None:
        from scrapstore.report import checked_sheet_path

        checked_sheet_path(sheet)


def told_sheet(call: Call, sheet: Path | None) -> None:
    """Say where the contact sheet lies, if one was written."""
    if sheet is not None:
        call.say(f"Contact sheet: {sheet.resolve()}")


def _families_text(call: Call, grouped: "Grouped", colour: bool) -> "RenderableType":
    from rich.text import Text

    from scrapstore.cli.colour_blocks import block_table
    from scrapstore.cli.tables import stack
    from scrapstore.store import VALUES
    from scrapstore.units import format_area

    if not grouped.families:
        return Text(NO_SCRAPS)
    rows = [
        (
            family.word or "none yet",
            str(len(family.members)),
            format_area(family.area, call.units) if family.members else "",
            *(str(family.values.get(word, 0) or "") for word in VALUES),
            *(str(family.warmths.get(word, 0) or "") for word in _WARMTHS),
            str(len(family.holding) or ""),
        )
        for family in grouped.families
    ]
    colours = [
        [(family.typical_rgb, 1.0)] if family.typical_rgb else [] for family in grouped.families
    ]
    columns = ("family", "scraps", "area", *VALUES, *_WARMTHS, "as accent")
    area = format_area(sum(one.scrap.area for one in grouped.members), call.units)
    return stack(
        block_table(columns, rows, colours if colour else None, right=columns[1:]),
        Text(f"{_count(len(grouped.members))}, {area} in all"),
        Text("as accent: scraps of other families that have it on them too."),
    )


def _scraps_text(call: Call, grouped: "Grouped", colour: bool) -> "RenderableType":
    from rich.text import Text

    from scrapstore.cli.colour_blocks import block_table
    from scrapstore.cli.tables import stack

    members = grouped.members
    if not members:
        return Text(NO_SCRAPS)
    columns, rows, colours = scrap_rows(call, members)
    return stack(
        block_table(columns, rows, colours if colour else None, right=("no.", "size")),
        Text(_count(len(members))),
        *doubt_line(members),
    )


def doubt_line(scraps: "Sequence[Coloured]") -> "list[Text]":
    """Return what a question mark means, where one of `scraps` has it."""
    from rich.text import Text

    return [Text(DOUBT)] if any(one.family_words.endswith("?") for one in scraps) else []


def scrap_rows(
    call: Call, scraps: "tuple[Coloured, ...]"
) -> tuple[
    tuple[str, ...],
    list[tuple[str, ...]],
    list[list[tuple[tuple[int, int, int], float]]],
]:
    """Return the columns and rows of a table of scraps told by colour, and each row's colours."""
    from scrapstore.store.scrap_colours import called

    rows: list[tuple[str, ...]] = []
    for one in scraps:
        accents = [word for word in one.scrap.accents if word != one.family]
        rows.append(
            (
                str(one.scrap.id),
                ", ".join(filter(None, (one.family_words, one.value))) or "none yet",
                ", ".join(accents),
                o.sides_text(call, one.scrap.sides),
                ", ".join(filter(None, (called(one.scrap), one.scrap.place))),
            )
        )
    columns = ("no.", "family", "accents", "size", "what and where")
    return columns, rows, [[(s.rgb, s.share) for s in one.scrap.swatches] for one in scraps]


def _learned_text(learned: "tuple[Learned, ...]", *, forget: bool) -> "RenderableType":
    from rich.text import Text

    from scrapstore.cli.tables import table
    from scrapstore.store.scrap_colours import called

    if not learned:
        return Text(
            "Nothing to take back: each scrap is as its photo reads, or as you said."
            if forget
            else "Your corrections change no other scrap. Words learned before, if any: --forget."
        )
    return table(
        ("no.", "what", "is", "would be", "sure", "because"),
        [
            (
                str(one.scrap.id),
                called(one.scrap),
                _with(one.was, one.scrap.accents) if forget else one.was or "",
                _with(one.now, one.accents) if forget else one.now,
                f"{one.confidence:.0%}",
                f"looks like {', '.join(f'#{number}' for number in one.like)}"
                if one.like
                else "so its photo reads",
            )
            for one in learned
        ],
        right=("no.", "sure"),
    )


def _with(family: str | None, accents: "Sequence[str]") -> str:
    others = ", ".join(word for word in accents if word != family)
    return " with ".join(filter(None, (family, others)))


def _count(count: int) -> str:
    return f"{count} scrap{'' if count == 1 else 's'}"
