"""``piles``: the store's scraps in so many piles, for sorting a bin by hand."""

from typing import TYPE_CHECKING, Annotated

import typer

from scrapstore.cli import options as o
from scrapstore.cli.base import Call, command
from scrapstore.cli.families import NO_SCRAPS, SHEET, checked_sheet, told_sheet

if TYPE_CHECKING:
    from rich.console import RenderableType

    from scrapstore.actions.piles import Piled

__all__ = ["register"]


def register(app: typer.Typer) -> None:
    """Add the command to `app`."""
    command(app, "piles")(piles)


def piles(
    call: Call,
    count: Annotated[int, typer.Argument(metavar="N", help="How many piles.")],
    sheet: SHEET = None,
    seed: Annotated[
        int,
        typer.Option("--variant", metavar="N", min=0, help="Another number tries another start."),
    ] = 0,
    families: o.FAMILIES = None,
    fabrics: o.FABRICS = None,
    places: o.PLACES = None,
    at_least: o.AT_LEAST = None,
    statuses: o.STATUSES = None,
    from_projects: o.FROM_PROJECTS = None,
    values: o.VALUES = None,
) -> None:
    """Sort scraps into N piles that look alike, whatever one would call their colours.

    Scraps are alike when little of their colours must be changed to turn one into the other.
    Filters combine. A scrap without a photo counts with its family's colour.
    """
    from scrapstore.actions.piles import pile_scraps
    from scrapstore.cli.colour_blocks import show_with_blocks
    from scrapstore.cli.progress import progress_bar
    from scrapstore.json_output.colours import piles_out

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
    with call.open_store() as store:
        piled = pile_scraps(store, count, only, seed=seed)
        if sheet is not None:
            from scrapstore.actions.contact_sheets import piles_sheet

            with progress_bar("scraps cut out") as advance:
                piles_sheet(store, piled, call.settings, sheet, advance)
    show_with_blocks(call, piles_out(piled), lambda colour: _text(call, piled, colour))
    told_sheet(call, sheet)


def _text(call: Call, piled: "Piled", colour: bool) -> "RenderableType":
    from rich.text import Text

    from scrapstore.cli.colour_blocks import block_table
    from scrapstore.cli.tables import stack
    from scrapstore.store.scrap_colours import called
    from scrapstore.units import format_area

    if not piled.piles and not piled.unseen:
        return Text(NO_SCRAPS)
    rows = [
        (
            str(pile.number),
            pile.words,
            str(len(pile.members)),
            format_area(pile.area, call.units),
            f"#{pile.members[0].scrap.id} {called(pile.members[0].scrap)}",
            ", ".join(str(one.scrap.id) for one in pile.members[1:]),
        )
        for pile in piled.piles
    ]
    colours = [[(s.rgb, s.share) for s in p.members[0].scrap.swatches] for p in piled.piles]
    parts: list[RenderableType] = [
        block_table(
            ("pile", "colours", "scraps", "area", "on top", "under it"),
            rows,
            colours if colour else None,
            right=("pile", "scraps", "area"),
        )
    ]
    if 0 < len(piled.piles) < piled.asked:
        parts.append(
            Text(
                f"{piled.asked} piles were asked for; only {len(piled.piles)} scraps differ in "
                "colour."
            )
        )
    if piled.by_family:
        numbers = ", ".join(str(one.scrap.id) for one in piled.by_family)
        parts.append(Text(f"By the family you typed, for there is no photo: {numbers}."))
    if piled.unseen:
        numbers = ", ".join(str(one.scrap.id) for one in piled.unseen)
        parts.append(Text(f"In no pile, for neither photo nor family tells a colour: {numbers}."))
    return stack(*parts)
