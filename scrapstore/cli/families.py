"""``families``: the store by colour family; learning from what the user corrected."""

from typing import TYPE_CHECKING, Annotated, Final

import typer

from scrapstore.cli import options as o
from scrapstore.cli.base import Call, command
from scrapstore.cli.colour_blocks import block_table
from scrapstore.cli.contact_sheet import (
    SheetOption,
    doubt_line,
    scrap_rows,
    show_colours,
)
from scrapstore.cli.filters import ScrapFilters
from scrapstore.cli.tables import Shown, stack, table
from scrapstore.errors import UsageError
from scrapstore.units import format_area

if TYPE_CHECKING:
    from collections.abc import Sequence

    from scrapstore.actions.families import Grouped, Learned
    from scrapstore.store import StockFilter

__all__ = ["app"]

_WARMTHS: Final = ("warm", "cool")

app = typer.Typer()


@command(app, "families")
def families(
    call: Call,
    *,
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
    sheet: SheetOption,
    filters: ScrapFilters,
) -> None:
    """Group scraps by colour family, with values and warm and cool. Filters combine.

    With --learn, scraps that look like those whose family you corrected would take your word;
    --forget takes that back. Nothing changes without --apply, and what you corrected yourself never
    changes.
    """
    if learn and forget:
        raise UsageError("--learn and --forget are opposites; give one of the two")
    if apply and not (learn or forget):
        raise UsageError("--apply makes what was learned hold; write families --learn --apply")
    if (learn or forget) and (sheet.sheet is not None or scraps):
        msg = "--learn and --forget show changes only; leave --sheet and --scraps for another call"
        raise UsageError(msg)
    only = filters.read(call)
    if learn or forget:
        _learn(call, only, forget=forget, apply=apply)
        return
    from scrapstore.actions.families import families_sheet, group_by_family
    from scrapstore.json_output.colours import families_out

    text = _scraps_text if scraps else _families_text
    show_colours(
        call, sheet, lambda store: group_by_family(store, only), families_out, text, families_sheet
    )


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


def _families_text(call: Call, grouped: "Grouped", colour: bool) -> Shown:

    from scrapstore.store import VALUES

    if not grouped.families:
        return o.no_scraps(call)
    rows = [
        (
            family.word or "none yet",
            str(len(family.members)),
            format_area(family.area, call.units) if family.members else "",
            *(str(family.values.get(word, 0) or "") for word in VALUES),
            *(str(family.warmths.get(word, 0) or "") for word in _WARMTHS),
            str(len(family.holding) or ""),
            str(len(family.tinted) or ""),
        )
        for family in grouped.families
    ]
    colours = [
        [(family.typical_rgb, 1.0)] if family.typical_rgb else [] for family in grouped.families
    ]
    columns = ("family", "scraps", "area", *VALUES, *_WARMTHS, "accent", "tint")
    area = format_area(sum(one.scrap.area for one in grouped.members), call.units)
    return stack(
        block_table(columns, rows, colours if colour else None, right=columns[1:]),
        f"{_count(len(grouped.members))}, together {area}",
        "accent: scraps of other families that have it on them too.",
        *(
            ["tint: greys, whites and blacks that are a little of it; a softer answer."]
            if any(family.tinted for family in grouped.families)
            else []
        ),
    )


def _scraps_text(call: Call, grouped: "Grouped", colour: bool) -> Shown:

    members = grouped.members
    if not members:
        return o.no_scraps(call)
    columns, rows, colours = scrap_rows(call, members)
    return stack(
        block_table(columns, rows, colours if colour else None, right=("no.", "size")),
        _count(len(members)),
        *doubt_line(members),
    )


def _learned_text(learned: "tuple[Learned, ...]", *, forget: bool) -> Shown:

    from scrapstore.store.scrap_colours import called

    if not learned:
        return (
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
