"""``piles``: the store's scraps in so many piles, for sorting a bin by hand."""

from typing import TYPE_CHECKING, Annotated

import typer

from scrapstore.cli import options as o
from scrapstore.cli.base import Call, command
from scrapstore.cli.colour_blocks import block_table
from scrapstore.cli.contact_sheet import SheetOption, show_colours
from scrapstore.cli.filters import ScrapFilters
from scrapstore.cli.tables import Shown, stack
from scrapstore.units import format_area

if TYPE_CHECKING:
    from scrapstore.actions.piles import Piled

__all__ = ["app"]


app = typer.Typer()


@command(app, "piles")
def piles(
    call: Call,
    count: Annotated[int, o.number_argument("N", "How many piles.")],
    *,
    sheet: SheetOption,
    seed: Annotated[
        int, o.number_option("--variant", "Another number tries another start.", least=0)
    ] = 0,
    filters: ScrapFilters,
) -> None:
    """Sort scraps into N piles that look alike, whatever one would call their colours.

    Scraps are alike when little of their colours must be changed to turn one into the other.
    Filters combine. A scrap without a photo counts with its family's colour.
    """
    from scrapstore.actions.piles import pile_scraps, piles_sheet
    from scrapstore.json_output.colours import piles_out

    only = filters.read(call)
    show_colours(
        call, sheet, lambda store: pile_scraps(store, count, only, seed=seed), piles_out, _text,
        piles_sheet,
    )  # fmt: skip


def _text(call: Call, piled: "Piled", colour: bool) -> Shown:
    from scrapstore.store.scrap_colours import called

    if not piled.piles and not piled.unseen:
        return o.no_scraps(call)
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
    parts: list[Shown] = []
    if rows:
        parts.append(
            block_table(
                ("pile", "colours", "scraps", "area", "on top", "under it"),
                rows,
                colours if colour else None,
                right=("pile", "scraps", "area"),
            )
        )
    if 0 < len(piled.piles) < piled.asked:
        parts.append(
            f"{piled.asked} piles were asked for; only {len(piled.piles)} scraps differ in colour."
        )
    if piled.by_family:
        numbers = ", ".join(str(one.scrap.id) for one in piled.by_family)
        parts.append(f"By the family you typed, for there is no photo: {numbers}.")
    if piled.unseen:
        numbers = ", ".join(str(one.scrap.id) for one in piled.unseen)
        parts.append(f"In no pile, as neither photo nor family gives a colour: {numbers}.")
    return stack(*parts)
